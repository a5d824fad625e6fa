"""What stands behind a word: of the language by its reference, of a name by what it is and what was computed of it, of
a finding by its rule."""

from __future__ import annotations

import re
from collections.abc import Iterator

from lsprotocol import types as lsp

from groundlint.language.reference import entry
from groundlint.language.statements import Statement, Waive, clause_fields
from groundlint.serving.diagnostics import offsets
from groundlint.serving.document import Document
from groundlint.serving.jobs import Reviewed
from groundlint.serving.names import Use


def hover(document: Document, offset: int, reviewed: Reviewed | None, elsewhere: Use | None) -> lsp.Hover | None:
    """What is to be said at a place. ``reviewed`` is the review of this very text, if there is one yet; ``elsewhere``
    is where a file that the plan uses declares the name."""
    one = document.statement_at(offset)
    use = document.names.at(offset)
    said: list[str] = []
    start, end = offset, offset
    if use is not None:
        start, end = use.start, use.end
        said.append(_name(document, use, one, reviewed, elsewhere))
    elif one is not None:
        start, end, words = _word(one, offset)
        said.append(words)
    if reviewed is not None:
        said += _rules(document, offset, reviewed, one)
    said = [words for words in said if words]
    if not said:
        return None
    content = lsp.MarkupContent(lsp.MarkupKind.Markdown, "\n\n---\n\n".join(said))
    return lsp.Hover(content, document.lines.range(start, end))


def _name(document: Document, use: Use, one: Statement | None, reviewed: Reviewed | None, elsewhere: Use | None) -> str:
    declared = document.names.declared.get(use.key)
    where = ""
    if declared is not None:
        line = document.source.position(declared.start).line
        where = f", line {line}: {_as_written(document.source.line_text(line))}"
    declared = declared or elsewhere
    if declared is None:
        return f"`{use.key.name}` is declared nowhere"
    said = [f"`{use.key.name}`: {declared.kind}{where}"]
    if reviewed is not None and not use.key.space:
        if use.key.name in reviewed.things:
            said.append(reviewed.things[use.key.name])
        if one is not None and (use.key.name, one.span.start) in reviewed.people:
            said.append(reviewed.people[use.key.name, one.span.start])
    return "\n\n".join(said)


def _word(one: Statement, offset: int) -> tuple[int, int, str]:
    """A word of a statement: of the first the entry of the reference, of another what its clause says."""
    kind = str(one.kind)  # type: ignore[attr-defined]
    fields = clause_fields(type(one))  # type: ignore[arg-type]
    meanings = {field.name: str(field.metadata["doc"]) for field in fields.values()}
    clauses = [(span, name) for name, span in one.places.items() if name in meanings]
    for span, name in sorted(clauses, key=lambda clause: clause[0].end - clause[0].start):
        if span.start <= offset <= span.end and span.start > one.span.start:
            return span.start, span.end, f"{_as_written(span.text)}: {meanings[name]}"
    first = one.span.text.split()[0]
    if offset > one.span.start + len(first):
        return offset, offset, ""
    return one.span.start, one.span.start + len(first), entry(kind)


def _as_written(text: str) -> str:
    """Words of a plan as Markdown that shows them as they are, backquotes in them too (CommonMark 0.31, 6.1)."""
    longest = max((len(run) for run in re.findall("`+", text)), default=0)
    fence, space = "`" * (longest + 1), " " * (longest > 0)
    return f"{fence}{space}{' '.join(text.split())}{space}{fence}"


def _rules(document: Document, offset: int, reviewed: Reviewed, one: Statement | None) -> Iterator[str]:
    """The rules of what is found at a place, or that is waived there, each once."""
    slugs: dict[str, None] = {}
    for finding in reviewed.findings:
        if finding.place.path == document.name:
            start, end = offsets(document.source, finding.place)
            if start <= offset <= end:
                slugs[finding.rule] = None
    if isinstance(one, Waive):
        slugs[str(one.ident)] = None
    yield from (f"`{slug}`\n\n{reviewed.help[slug]}" for slug in slugs if slug in reviewed.help)
