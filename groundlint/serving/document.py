"""A text that is open in an editor, at one version of it, with what its reading gives."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path, PurePosixPath

from lsprotocol import types as lsp
from pygls.uris import from_fs_path, to_fs_path, urlparse

from groundlint.language.reader import Read, in_markdown, read_statements
from groundlint.language.statements import Routine, Statement
from groundlint.rulebook.shipped import FILES as RULE_FILES
from groundlint.serving.names import Names
from groundlint.serving.places import Lines, Units
from groundlint.text import Source
from groundlint.text.markdown import Fence, find_fences, mask

MARKDOWN = (".md", ".markdown")


@dataclass(frozen=True)
class Document:
    """One version of an open text. A new version is a new document, so that what was made of one is never taken for
    another's."""

    uri: str
    language: str
    version: int
    text: str
    units: Units = field(repr=False)

    @cached_property
    def path(self) -> Path | None:
        """The file that it belongs to; None where it is not saved yet."""
        found = to_fs_path(self.uri) if self.uri.startswith("file:") else None
        return Path(found) if found else None

    @cached_property
    def name(self) -> str:
        """What it is called in messages. Its ending says what it is, and where it has none, what the editor says."""
        if self.path is not None:
            return str(self.path)
        name = PurePosixPath(urlparse(self.uri)[2] or "plan").name
        known = (".tpg", *MARKDOWN, *RULE_FILES)
        return name if name.lower().endswith(known) else f"{name}.{'md' if self.language == 'markdown' else 'tpg'}"

    @property
    def of_rules(self) -> bool:
        """Whether it is a file of a book."""
        return self.name.lower().endswith(RULE_FILES)

    @cached_property
    def lines(self) -> Lines:
        """Its places."""
        return Lines(self.text, self.units)

    @cached_property
    def source(self) -> Source:
        """The text as the reader takes it."""
        return Source(self.name, self.text)

    @cached_property
    def read(self) -> Read:
        """Its statements."""
        return read_statements(self.source)

    @property
    def markdown(self) -> bool:
        """Whether it is a Markdown procedure."""
        return in_markdown(self.source)

    @cached_property
    def plan(self) -> str:
        """Its text with all that is no plan blanked."""
        return mask(self.text, self.fences) if self.markdown else self.text

    @cached_property
    def fences(self) -> tuple[Fence, ...]:
        """The fenced parts of a Markdown procedure."""
        return find_fences(self.text) if self.markdown else ()

    @cached_property
    def statements(self) -> Sequence[Statement]:
        """Its statements in order, those of routines among them."""
        return [
            one
            for top in self.read.text.statements
            for one in ((top, *top.body) if isinstance(top, Routine) else (top,))
        ]

    def statement_at(self, offset: int) -> Statement | None:
        """The statement that a place is in."""
        return next((one for one in self.statements if one.span.start <= offset <= one.span.end), None)

    @cached_property
    def names(self) -> Names:
        """Every name that it declares or uses, and where."""
        return Names(self.read.text.statements, self.source)

    def edit(self, pieces: Sequence[tuple[int, int, str]], versioned: bool) -> lsp.WorkspaceEdit:
        """Stretches of it put in the place of others; in this version alone, where the editor can tell versions."""
        edits = [lsp.TextEdit(self.lines.range(start, end), text) for start, end, text in pieces]
        if not versioned:
            return lsp.WorkspaceEdit(changes={self.uri: edits})
        of = lsp.OptionalVersionedTextDocumentIdentifier(self.uri, self.version)
        return lsp.WorkspaceEdit(document_changes=[lsp.TextDocumentEdit(of, edits)])


def uri_of(path: str) -> str:
    """The address of a file."""
    return from_fs_path(path) or ""


def open_texts(documents: Mapping[str, Document]) -> dict[str, str]:
    """The open texts by their files' paths: what is open is what holds, saved or not."""
    return {str(one.path): one.text for one in documents.values() if one.path is not None}
