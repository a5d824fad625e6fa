"""Files of books: what is wrong in them, what their words mean, and where a condition, a setting, a rule, a book or a
base plan that they name stands."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from lsprotocol import types as lsp

from groundlint.facts import CATALOGUE
from groundlint.report.record import Place
from groundlint.rulebook.grammar import KEYWORDS
from groundlint.rulebook.layout import EXAMPLES, Block, Layout, comment_start, lay_out
from groundlint.rulebook.load import MOST_BYTES, shelf_of
from groundlint.rulebook.reference import clause_meaning, word_meanings
from groundlint.serving.diagnostics import NAME, note, offsets
from groundlint.serving.document import Document
from groundlint.text import Source
from groundlint.text.files import read_file

_TOKEN = re.compile(
    r'(?P<string>"[^"\n]*")|(?P<keyword>[a-z][a-z0-9]*(?:-[a-z0-9]+)*(?![\w-]))|(?P<number>[0-9]+(?:\.[0-9]+)?)'
    r"|(?P<operator><=|>=|!=|[<>=+*/():,])"
)
_WORD = re.compile(r"[a-z][a-z0-9-]*")
_BRACES = re.compile(r"\{[^{}\n]*\}")
_OF_BOOKS = ("adopt", "from", "beside")


class Wrong(NamedTuple):
    """What is wrong in a file of a book; ``path`` is empty where the file could not be found."""

    path: str
    place: Place
    code: str
    message: str


class There(NamedTuple):
    """Where something stands: a stretch of a file."""

    path: str
    text: str
    start: int
    end: int


def wrong_in(path: Path, search: tuple[Path, ...], texts: Mapping[str, str]) -> tuple[Wrong, ...]:
    """What is wrong in the book that a file belongs to, and in those that it adopts."""
    from groundlint.report.record import place_of
    from groundlint.rulebook.load import load_book

    name = path.parent.name
    _, problems = load_book(search, name, CATALOGUE, texts)
    folders = dict(shelf_of(search, name, texts))
    found = []
    for problem in problems:
        book, _, file = problem.span.source.name.partition("/")
        full = str(folders[book] / file) if book in folders and file else ""
        mend = f"\nnext: {problem.mend}" if problem.mend else ""
        found.append(Wrong(full, place_of(problem.span), problem.code, problem.message + mend))
    return tuple(found)


def diagnostics(document: Document, wrong: tuple[Wrong, ...]) -> list[lsp.Diagnostic]:
    """What is wrong in a file, and whether more is in others of its book."""
    mine, others = [], []
    for one in wrong:
        if one.path != str(document.path):
            others.append(f"{one.place.path}:{one.place.line}: {one.message}")
            continue
        start, end = offsets(document.source, one.place)
        place = document.lines.range(start, end)
        mine.append(lsp.Diagnostic(place, one.message, lsp.DiagnosticSeverity.Error, one.code, source=NAME))
    if others:
        words = f"the book can't be used: {others[0]}" + (f", and {len(others) - 1} more" if len(others) > 1 else "")
        mine.insert(0, note(document, words, lsp.DiagnosticSeverity.Warning))
    return mine


# ---- words ----


def rule_tokens(document: Document) -> Iterator[tuple[int, int, str]]:
    """The kinds of a rule file's words."""
    layout = lay_out(document.source)
    words = {span.start for block in layout.blocks for span in (block.word_span, *(c.word_span for c in block.clauses))}
    heads = {block.head.start for block in layout.blocks}
    for number in range(1, len(document.source.line_starts) + 1):
        start, line = document.source.line_starts[number - 1], document.source.line_text(number)
        for found in _TOKEN.finditer(layout.clean, start, start + len(line)):
            kind = _kind(found, words, heads)
            if kind is not None:
                yield found.start(), found.end(), kind
        cut = comment_start(line)
        if cut < len(line) and layout.clean[start + cut] != line[cut]:
            yield start + cut, start + len(line), "comment"


def _kind(found: re.Match[str], words: set[int], heads: set[int]) -> str | None:
    """The kind of a token; None of a word of no kind, such as those of a citation."""
    kind = found.lastgroup
    if kind != "keyword":
        return kind
    if found.start() in heads:
        return "variable"
    if found.start() in words or found[0] in KEYWORDS:
        return "keyword"
    if found[0] in CATALOGUE.kinds:
        return "type"
    return "property" if found[0] in CATALOGUE.steps or CATALOGUE.named(found[0]) else None


def symbols(document: Document) -> list[lsp.DocumentSymbol]:
    """The rules and conditions of a file, and a book's own block."""
    found = []
    for block in lay_out(document.source).blocks:
        ends = [block.head.end, *(end for c in block.clauses for end in (c.body.end, *(e.span.end for e in c.lines)))]
        name = document.text[block.head.start : block.head.end].split("(")[0].split()
        place = document.lines.range(block.word_span.start, max(ends))
        kind = lsp.SymbolKind.Function if block.word == "condition" else lsp.SymbolKind.Class
        head = document.lines.range(block.word_span.start, block.word_span.end)
        found.append(lsp.DocumentSymbol(" ".join([block.word, *name[:1]]), kind, place, head))
    return found


def hover(document: Document, offset: int) -> lsp.Hover | None:
    """What a word means: a clause, or a word of the catalogue."""
    word = _word_at(document.text, offset)
    if word is None:
        return None
    layout = lay_out(document.source)
    said: list[str] = []
    for block in layout.blocks:
        for clause in block.clauses:
            if clause.word_span.start <= offset <= clause.word_span.end:
                meaning = clause_meaning(clause.word, block.word == "book")
                said = [f"`{clause.word}`: {meaning}"] if meaning else []
    said = said or word_meanings(word[0], CATALOGUE)
    if not said:
        return None
    content = lsp.MarkupContent(lsp.MarkupKind.Markdown, "\n\n".join(said))
    return lsp.Hover(content, document.lines.range(*word.span()))


def _word_at(text: str, offset: int) -> re.Match[str] | None:
    begin = text.rfind("\n", 0, offset) + 1
    end = text.find("\n", offset)
    words = _WORD.finditer(text, begin, end if end >= 0 else len(text))
    return next((word for word in words if word.start() <= offset <= word.end()), None)


# ---- definitions ----


def definition(document: Document, offset: int, search: tuple[Path, ...], texts: Mapping[str, str]) -> list[There]:
    """Where what is named at a place stands."""
    word = _word_at(document.text, offset)
    if word is None or document.path is None:
        return []
    folders = dict(shelf_of(search, document.path.parent.name, texts))
    before = document.text[: word.start()].split()[-2:]
    if before[-1:] and before[-1] in _OF_BOOKS and word[0] in folders:
        return [_whole(folders[word[0]] / "book.book", texts)]
    if before[-1:] == ["on"] and before[0] in EXAMPLES:
        base = document.path.parent / "bases" / f"{word[0]}.tpg"
        return [_whole(base, texts)] if base.is_file() else []
    return [
        There(str(path), text, start, end)
        for path, text in _files(folders.values(), texts)
        for name, _, start, end in declared_in(text)
        if name == word[0]
    ]


def declared(document: Document, search: tuple[Path, ...], texts: Mapping[str, str]) -> dict[str, list[str]]:
    """The names that a file of a book can use, by what they are: those that its book and the books it adopts declare,
    all books that are found, and the book's base plans."""
    if document.path is None:
        return {}
    folder = document.path.parent
    found: dict[str, list[str]] = {
        "book": sorted({book.parent.name for shelf in search for book in shelf.glob("*/book.book")} - {folder.name}),
        "base": sorted(base.stem for base in (folder / "bases").glob("*.tpg")),
    }
    for _, text in _files(dict(shelf_of(search, folder.name, texts)).values(), texts):
        for name, kind, _, _ in declared_in(text):
            found.setdefault(kind, []).append(name)
    return found


def _files(folders: Iterable[Path], texts: Mapping[str, str]) -> Iterator[tuple[Path, str]]:
    """The files of books with their texts."""
    for folder in folders:
        for path in sorted((folder / "book.book", *folder.glob("*.rule"))):
            yield path, _text(path, texts)


def references(
    document: Document, offset: int, search: tuple[Path, ...], texts: Mapping[str, str], declaration: bool
) -> list[There]:
    """Where a condition, a setting or a rule that is named at a place is named, in the book and in those it adopts;
    where it is declared as well, if asked."""
    word = _word_at(document.text, offset)
    if word is None or document.path is None:
        return []
    if word.start() not in named_in(document.text).get(word[0], ()):
        return []  # a word of a plan, or of a sentence
    files = list(_files(dict(shelf_of(search, document.path.parent.name, texts)).values(), texts))
    declared = {(path, start) for path, text in files for name, _, start, _ in declared_in(text) if name == word[0]}
    return [
        There(str(path), text, start, start + len(word[0]))
        for path, text in (files if declared else ())
        for start in named_in(text).get(word[0], ())
        if declaration or (path, start) not in declared
    ]


def may_be_renamed(document: Document, offset: int, search: tuple[Path, ...], texts: Mapping[str, str]) -> There | None:
    """The name at a place, where it is one that the book itself declares."""
    word = _word_at(document.text, offset)
    if word is None or document.path is None or isinstance(_own(document, word, search, texts), str):
        return None
    return There(str(document.path), document.text, *word.span())


def renamed(
    document: Document, offset: int, search: tuple[Path, ...], texts: Mapping[str, str], name: str
) -> list[There] | str:
    """Where a condition, a setting or a rule that the book declares is named, in it and in the books that adopt it, to
    have another name; why it can't have that one, as a text."""
    word = _word_at(document.text, offset)
    if word is None or document.path is None:
        return "no name of the book stands here"
    files = _own(document, word, search, texts)
    if isinstance(files, str):
        return files
    if not _WORD.fullmatch(name) or name in KEYWORDS or word_meanings(name, CATALOGUE):
        return f"{name} can't stand as a name here"
    if any(name in named_in(text) for text in files.values()):
        return f"{name} is in use already"
    old = word[0]
    found = [
        There(str(path), text, start, start + len(old))
        for path, text in files.items()
        for start in named_in(text).get(old, ())
    ]
    changed = dict(texts)
    for one in sorted(found, key=lambda one: -one.start):
        text = changed.get(one.path, one.text)
        changed[one.path] = text[: one.start] + name + text[one.end :]
    for path in {path.parent / "book.book": None for path in files}:
        if len(wrong_in(path, search, changed)) > len(wrong_in(path, search, texts)):
            return f"{name} can't stand as a name here"
    return found


def _own(
    document: Document, word: re.Match[str], search: tuple[Path, ...], texts: Mapping[str, str]
) -> dict[Path, str] | str:
    """The files in which a name at a place means what this book declares: its own and those of the books that adopt it;
    why it is no such name, as a text."""
    assert document.path is not None
    folder = document.path.parent
    if word.start() not in named_in(document.text).get(word[0], ()):
        return "no name of the book stands here"
    own = dict(_files([folder], texts))
    if not any(name == word[0] for text in own.values() for name, *_ in declared_in(text)):
        return f"{word[0]} is no condition, setting or rule that this book declares"
    for book in sorted({book.parent.name for shelf in search for book in shelf.glob("*/book.book")} - {folder.name}):
        folders = dict(shelf_of(search, book, texts))
        if folders.get(folder.name) == folder:
            own.update(_files([folders[book]], texts))
    return own


@lru_cache(maxsize=512)
def named_in(text: str) -> Mapping[str, tuple[int, ...]]:
    """Where each word stands in a file of a book: not in examples, comments and texts, but in the braces of these."""
    found: dict[str, list[int]] = {}
    clean = lay_out(Source("", text)).clean
    for token in _TOKEN.finditer(clean):
        if token.lastgroup == "keyword":
            found.setdefault(token[0], []).append(token.start())
        elif token.lastgroup == "string":
            for braces in _BRACES.finditer(clean, *token.span()):
                for word in _WORD.finditer(clean, *braces.span()):
                    found.setdefault(word[0], []).append(word.start())
    return {word: tuple(places) for word, places in found.items()}


def _whole(path: Path, texts: Mapping[str, str]) -> There:
    return There(str(path), _text(path, texts), 0, 0)


def _text(path: Path, texts: Mapping[str, str]) -> str:
    """A file as it is open, or as it is written; empty where it can't be read."""
    if str(path) in texts:
        return texts[str(path)]
    try:
        return read_file(path, MOST_BYTES).decode("utf-8-sig", "replace")
    except OSError:
        return ""


@lru_cache(maxsize=512)
def declared_in(text: str) -> tuple[tuple[str, str, int, int], ...]:
    """The rules, conditions and settings that a file of a book has: each name, which of them it is, and where it
    stands."""
    layout = lay_out(Source("", text))
    return tuple(found for block in layout.blocks for found in _declared(layout, block))


def _declared(layout: Layout, block: Block) -> Iterator[tuple[str, str, int, int]]:
    places = [(block.word, block.head.start)] if block.word in ("rule", "condition") else []
    places += [(clause.word, clause.body.start) for clause in block.clauses if clause.word == "setting"]
    for kind, start in places:
        found = _WORD.match(layout.source.text, start)
        if found is not None:
            yield found[0], kind, *found.span()
