"""What several commands share: statuses, reading of files and books, options."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from groundlint.commands.settings import Settings
    from groundlint.reading.word.plan import Document
    from groundlint.rulebook.model import Rulebook
    from groundlint.text import Diagnostic, Source

    Subcommands: TypeAlias = argparse._SubParsersAction[argparse.ArgumentParser]

OK, BROKEN, UNSHOWN, FAILED = 0, 1, 2, 3
"""Exit statuses: see `EPILOG`."""

EPILOG = """\
exit status: 0 every rule at or above the gate is met, waived or not applicable; 1 one is broken, or a line could not be
read; 2 none is broken, but one is not shown; 3 it could not be done.

It checks what a plan says, not what is in the field, and defers to the employer's rules, local codes, a qualified
person's judgement and a licensed engineer's calculation."""


class UsageError(Exception):
    """Something that the user asked for can't be done; said in one line, after the ``problems`` behind it; status 3."""

    def __init__(self, message: str, problems: Sequence[Diagnostic] = ()) -> None:
        super().__init__(message)
        self.problems = tuple(problems)


def book_options(parser: argparse.ArgumentParser) -> None:
    """Options of every command that holds plans against rulebooks."""
    parser.add_argument(
        "--book", action="append", default=[], metavar="NAME", help="a rulebook to use; may be given several times"
    )
    parser.add_argument(
        "--books-in",
        action="append",
        default=[],
        metavar="FOLDER",
        type=Path,
        help="a folder that holds rulebooks of your own",
    )
    parser.add_argument("--no-cache", action="store_true", help="keep nothing between runs")


def keep_between_runs(args: argparse.Namespace) -> None:
    """Sets the folder where things are kept between runs; none with ``--no-cache``."""
    from groundlint.text.store import keep_in

    keep_in(None if args.no_cache else users_cache())


def day_option(parser: argparse.ArgumentParser) -> None:
    """The option of every command that reviews plans with their waivers."""
    parser.add_argument(
        "--as-of",
        type=_day,
        metavar="DATE",
        help="the day that waivers are held against, YYYY-MM-DD (default: today); all else goes by the plan's own date",
    )


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text}: write a day, such as 2026-12-31") from None


def whole_number(text: str) -> int:
    """An option's number."""
    try:
        return int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text}: write a number") from None


def as_of(args: argparse.Namespace) -> date:
    """The day that waivers are held against."""
    day: date | None = args.as_of
    return day if day is not None else today()


def today() -> date:
    """The day of the run."""
    return date.today()


def users_cache() -> Path:
    """The user's folder for what is kept between runs."""
    from platformdirs import user_cache_path

    return user_cache_path("groundlint", appauthor=False)


NO_RULES = "the book has no rule, so that no plan can be held against it"


def load_books(names: Sequence[str], books_in: Sequence[Path]) -> list[Rulebook]:
    """Rulebooks by name, kept between runs where a folder is set for that. Any problem in them is a `UsageError`."""
    from groundlint.review import load_rulebook
    from groundlint.text import Diagnostic, Severity, Source

    for folder in books_in:
        if not folder.is_dir():
            raise UsageError(f"{folder}: no such folder of rulebooks")
        if (folder / "book.book").is_file():
            above = shown(folder.resolve().parent)
            raise UsageError(f"{folder}: this is a rulebook itself; name the folder that it stands in, {above}")
    found: list[Rulebook] = []
    wrong: list[Diagnostic] = []
    for name in names:
        path = Path(name)
        if len(path.parts) > 1:
            write = f"--book {path.name} --books-in {path.parent}"
            raise UsageError(f"{name}: a rulebook is named without its folder; write {write}")
        book, problems = load_rulebook(name, books_in)
        wrong += problems
        if book is not None:
            found.append(book)
    wrong += [
        Diagnostic("no-rules", Source(book.head.name, "").span(0, 0), NO_RULES, Severity.DANGER, unread=True)
        for book in found
        if not book.rules
    ]
    if len(found) > 1:
        from groundlint.rulebook.together import together

        wrong += together(found).problems
    if wrong or not found:
        raise UsageError("a rulebook can't be used, so nothing was done", wrong)
    return found


def books_of(args: argparse.Namespace, settings: Settings) -> tuple[tuple[str, ...], tuple[Path, ...]]:
    """Names of the rulebooks to use and the folders to look in: what the command line says wins over the settings."""
    from groundlint.rulebook.shipped import DEFAULT_BOOKS

    return tuple(args.book) or settings.books or DEFAULT_BOOKS, (*args.books_in, *settings.books_in)


def problem_text(problem: Diagnostic) -> str:
    """A diagnostic in one line."""
    mend = f" ({problem.mend})" if problem.mend else ""
    place = f"{problem.span.address}: " if problem.span.source.name else ""
    return f"{place}{problem.severity.word}: {problem.message}{mend} [{problem.code}]"


def read_source(path: Path | None, name: str = "") -> tuple[Source, tuple[Diagnostic, ...]]:
    """A file's text under its own name or another, and what is wrong with its bytes; None reads standard input.
    `UsageError` if it can't be read."""
    from groundlint.text.decode import SIZE_LIMIT, decode, visible_name
    from groundlint.text.files import read_file, reason

    if path is None:
        return decode(sys.stdin.buffer.read(SIZE_LIMIT + 1), "<stdin>")
    if path.suffix.lower() in OTHER_DOCUMENTS:
        raise UsageError(f"{path}: only .docx is read of word processors' files; save it as a Word document (.docx)")
    try:
        if path.suffix.lower() == WORD:
            document = open_word(path, visible_name(name or str(path)))
            return document.source, document.problems
        return decode(read_file(path, SIZE_LIMIT + 1), visible_name(name or str(path)))
    except OSError as error:
        raise UsageError(f"{path}: {reason(error)}") from None


def write_back(path: Path, old: str, new: str) -> str:
    """Writes a text back to the file that it was read from, with the byte order mark that is there; why it can't be,
    else empty. Only what was read is written over."""
    from groundlint.text.files import read_file, reason, write_file

    if new == old:
        return ""
    try:
        if not path.resolve().is_relative_to(path.parent.resolve()):
            return "it is a link that leads elsewhere; name the file itself"
        mark = "\ufeff" if read_file(path, 3) == b"\xef\xbb\xbf" else ""
        if read_source(path)[0].text != old:
            return "it was changed meanwhile, and is left as it is"
        write_file(path, mark + new)
    except (OSError, UsageError) as error:
        return f"it can't be written: {reason(error)}"
    return ""


WORD = ".docx"
"""How the name of a Word document ends."""
TEXTS = (".tpg", ".md", ".markdown")
"""How the names of files end that hold a plan as text."""
SUFFIXES = (*TEXTS, WORD)
"""How the names of files end that may hold a plan."""
OTHER_DOCUMENTS = (".doc", ".docm", ".dot", ".dotm", ".dotx", ".odt", ".rtf")


def open_word(path: Path, name: str) -> Document:
    """A Word document. `UsageError` if its content is not one that can be read, `OSError` if the file can't be."""
    from groundlint.reading.word.opening import MOST_FILE, NoDocumentError
    from groundlint.reading.word.plan import Document
    from groundlint.text.files import read_file

    data = read_file(path, MOST_FILE + 1)
    if len(data) > MOST_FILE:
        raise UsageError(f"{path}: the file has more than the {MOST_FILE:,} bytes that are read")
    try:
        return Document(data, name)
    except NoDocumentError as error:
        raise UsageError(f"{path}: {error}") from None


def opener_in(folder: Path) -> Callable[[str], Source | str]:
    """What opens the files that a plan in ``folder`` uses: the source, or why it can't be had."""
    from groundlint.text.decode import SIZE_LIMIT, decode, visible_name
    from groundlint.text.files import read_file, reason

    root = folder.resolve()

    def opener(name: str) -> Source | str:
        path = root / name
        try:
            if not path.resolve().is_relative_to(root):
                return "it lies outside the plan's own folder"
            source, problems = decode(read_file(path, SIZE_LIMIT + 1), visible_name(str(folder / name)))
        except (OSError, ValueError) as error:
            return reason(error).lower()
        return problems[0].message if problems else source

    return opener


def given_values(pairs: Sequence[str]) -> dict[str, str]:
    """The values of ``--given``."""
    found: dict[str, str] = {}
    for pair in pairs:
        name, sign, value = pair.partition("=")
        if not sign or not name.strip() or not value.strip():
            raise UsageError(f"--given {pair}: write NAME=VALUE, such as fault=6.8kA")
        if name.strip() in found:
            raise UsageError(f"--given {pair}: {name.strip()} is given twice")
        found[name.strip()] = value.strip()
    return found


def use_colour(args: argparse.Namespace) -> bool:
    """Whether to colour what goes to standard output."""
    if args.colour != "auto":
        return bool(args.colour == "always")
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def shown(path: Path) -> str:
    """A path as a person in the working folder would write it."""
    from groundlint.text.decode import visible_name

    try:
        return visible_name(str(path.relative_to(Path.cwd())))
    except (ValueError, OSError):
        return visible_name(str(path))


def version() -> str:
    """The version of this package, as installed."""
    from importlib.metadata import PackageNotFoundError
    from importlib.metadata import version as installed

    try:
        return installed("groundlint")
    except PackageNotFoundError:
        return "unknown"
