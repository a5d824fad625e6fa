"""Books found on a search path, checked, merged, and kept compiled by content.

A compiled book is kept by a digest of everything it was made from; where it is, neither the grammar nor the checker is
imported.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from groundlint.facts.catalogue import Catalogue
from groundlint.rulebook.model import Rulebook
from groundlint.text import Diagnostic, Severity, Source
from groundlint.text.files import read_file, reason
from groundlint.text.near import nearest
from groundlint.text.store import compiled, digest, keep_compiled

if TYPE_CHECKING:
    from groundlint.rulebook.books import Book

MOST_BYTES = 10_000_000
"""Of one file of a book; those that come with the package have a hundredth."""

_ADOPT = re.compile(rb"^[ ]+(?:adopt|take[ ]+[a-z0-9,\s-]+?\sfrom)\s+([a-z0-9-]+)", re.MULTILINE)


class _Raw(NamedTuple):
    """A book's files as bytes, by path as messages name it; and the books it adopts."""

    name: str
    files: tuple[tuple[str, bytes], ...]
    bases: tuple[tuple[str, bytes], ...]
    adopts: tuple[str, ...]


def available(search: Sequence[Path]) -> tuple[str, ...]:
    """Names of the books on a search path, sorted."""
    return tuple(sorted({entry.parent.name for folder in search for entry in folder.glob("*/book.book")}))


def shelf_of(search: Sequence[Path], name: str, texts: Mapping[str, str] | None = None) -> tuple[tuple[str, Path], ...]:
    """The folders of a book and of all that it adopts, by name, each book before those that adopt it. ``texts`` are as
    for `load_book`.

    What can't be found or read is left out: `load_book` says what is wrong with a book.
    """
    found: dict[str, Path] = {}
    path: list[str] = []

    def visit(wanted: str) -> None:
        folder = next((entry / wanted for entry in search if (entry / wanted / "book.book").is_file()), None)
        if wanted in found or wanted in path or folder is None:
            return
        path.append(wanted)
        with suppress(OSError):
            for match in _ADOPT.findall(_bytes(str(folder / "book.book"), texts or {})):
                visit(match.decode("ascii"))
        path.pop()
        found[wanted] = folder

    visit(name)
    return tuple(found.items())


def load_book(
    search: Sequence[Path], name: str, catalogue: Catalogue, texts: Mapping[str, str] | None = None
) -> tuple[Rulebook | None, tuple[Diagnostic, ...]]:
    """Load book ``name`` from the first folder of ``search`` that has it, with all that it adopts. ``texts`` are files
    by their paths that hold something else than what is written in them.

    With any diagnostic the book is not fit to review with; what could be read of it is still given, for the reference
    and the editor. ``None`` means that there is no such book. Kept compiled only if nothing is wrong.
    """
    raw, problems = _gather(search, name, texts or {})
    if name not in raw:
        return None, tuple(problems)
    key = _digest(raw, catalogue)
    kept = compiled(key, Rulebook) if not problems else None
    if kept is not None:
        return kept, ()
    book, found = _compile(raw, name, catalogue)
    problems += found
    if not problems and not texts:
        keep_compiled(key, book)
    return book, tuple(problems)


def _gather(search: Sequence[Path], name: str, texts: Mapping[str, str]) -> tuple[dict[str, _Raw], list[Diagnostic]]:
    """Every file of the book and of the books it adopts, each book before those that adopt it."""
    found: dict[str, _Raw] = {}
    problems: list[Diagnostic] = []
    path: list[str] = []

    def visit(wanted: str, source: Source | None, start: int) -> None:
        if wanted in found:
            return
        span = (source or Source("", "")).span(start, start + len(wanted) if source is not None else 0)
        if wanted in path:
            circle = " -> ".join((*path[path.index(wanted) :], wanted))
            problems.append(_grave("adopt-circle", span, f"books adopt each other in a circle: {circle}"))
            return
        folder = next((entry / wanted for entry in search if (entry / wanted / "book.book").is_file()), None)
        if folder is None:
            if any((entry / wanted).is_dir() for entry in search):
                why = f"the folder `{wanted}` holds no file `book.book`, which makes a rulebook of it"
            else:
                why = f"there is no book `{wanted}`{_nearest(wanted, available(search))}"
            problems.append(_grave("unknown-book", span, why))
            return
        try:
            raw = _read(wanted, folder, texts)
        except OSError as error:
            problems.append(_grave("unreadable-book", span, f"book `{wanted}`: {error.filename}: {reason(error)}"))
            return
        path.append(wanted)
        text = raw.files[0][1].decode("utf-8", "replace")
        for other in raw.adopts:
            visit(other, Source(raw.files[0][0], text), _place(text, other))
        path.pop()
        found[wanted] = raw

    visit(name, None, 0)
    return found, problems


def _place(text: str, name: str) -> int:
    """Where a book file names another book."""
    match = re.search(rf"\b(?:adopt|from)\s+({re.escape(name)})(?![a-z0-9-])", text)
    return match.start(1) if match is not None else 0


def _nearest(word: str, among: Sequence[str]) -> str:
    close = nearest(word, among)
    if close:
        return f"; did you mean `{close}`?"
    return f"; there are {', '.join(f'`{book}`' for book in among)}" if among else ""


def _grave(code: str, span: object, message: str) -> Diagnostic:
    return Diagnostic(code, span, message, Severity.DANGER, unread=True)  # type: ignore[arg-type]


def _read(name: str, folder: Path, texts: Mapping[str, str]) -> _Raw:
    # through os, not pathlib: this is done at every start, and takes half the time for a book of many files
    def taken(path: str, said: str, ending: str) -> list[tuple[str, bytes]]:
        names = sorted(entry for entry in os.listdir(path) if entry.endswith(ending)) if os.path.isdir(path) else []
        return [(f"{said}/{entry}", _bytes(os.path.join(path, entry), texts)) for entry in names]

    home = str(folder)
    book = taken(home, name, "book.book")
    rules = taken(home, name, ".rule")
    bases = taken(f"{home}/bases", f"{name}/bases", ".tpg")
    adopts = tuple(dict.fromkeys(match.decode("ascii") for match in _ADOPT.findall(book[0][1])))
    return _Raw(name, (*book, *rules), tuple(bases), adopts)


def _bytes(path: str, texts: Mapping[str, str]) -> bytes:
    """What a file holds."""
    return texts[path].encode("utf-8", "surrogatepass") if path in texts else read_file(path, MOST_BYTES)


def _digest(raw: dict[str, _Raw], catalogue: Catalogue) -> bytes:
    files = (part for book in raw.values() for path, data in (*book.files, *book.bases) for part in (path, data))
    return digest("book", _own_signature(), catalogue.signature(), *files)


def _own_signature() -> str:
    """What changes when this package does, so that no other version's compiled book is taken for its own."""
    own = Path(__file__).parent
    parts = [getattr(sys.modules.get("groundlint"), "__version__", "")]
    for folder in (own, own.parent / "language"):
        with os.scandir(folder) as entries:
            parts += sorted(
                f"{entry.name} {entry.stat().st_size} {entry.stat().st_mtime_ns}"
                for entry in entries
                if entry.name.endswith((".py", ".lark"))
            )
    return "\n".join(parts)


def _compile(raw: dict[str, _Raw], name: str, catalogue: Catalogue) -> tuple[Rulebook, list[Diagnostic]]:
    from groundlint.rulebook.books import BookText, build

    problems: list[Diagnostic] = []
    books: dict[str, Book] = {}
    for book in raw.values():
        sources: list[Source] = []
        for path, data in book.files:
            text = _decode(path, data, problems)
            sources.append(Source(path, text))
        bases = {
            path.rsplit("/", 1)[-1].removesuffix(".tpg"): _decode(path, data, problems) for path, data in book.bases
        }
        texts = BookText(book.name, tuple(sources), bases)
        adopted = {other: books[other] for other in book.adopts if other in books}
        known = _BUILT.get(book.name)
        if known is None or known.raw != book or list(map(id, known.adopted)) != list(map(id, adopted.values())):
            if len(_BUILT) >= MOST_BUILT:
                _BUILT.clear()
            known = _BUILT[book.name] = _Built(book, tuple(adopted.values()), *build(texts, adopted, catalogue))
        books[book.name] = known.book
        problems += known.problems
    return books[name].finished(), problems


class _Built(NamedTuple):
    """A book as it was last put together, and of what."""

    raw: _Raw
    adopted: tuple[Book, ...]
    book: Book
    problems: list[Diagnostic]


MOST_BUILT = 32
_BUILT: dict[str, _Built] = {}
"""So that a book that is being written is checked again without those that it adopts."""


def _decode(path: str, data: bytes, problems: list[Diagnostic]) -> str:
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        text = data.decode("utf-8", "replace")
        source = Source(path, text)
        start = source.line_starts[min(line, len(source.line_starts)) - 1]
        problems.append(_grave("not-utf-8", source.span(start, start), f"line {line} is not UTF-8 text"))
        return text
