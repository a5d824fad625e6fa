"""What several commands share: statuses, reading of files and books, options."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from groundlint.rulebook.model import Rulebook
    from groundlint.text import Diagnostic, Source

    Subcommands: TypeAlias = argparse._SubParsersAction[argparse.ArgumentParser]

OK, BROKEN, UNSHOWN, FAILED = 0, 1, 2, 3
"""Exit statuses: see `EPILOG`."""

SUFFIXES = (".tpg", ".md", ".markdown")

EPILOG = """\
exit status: 0 every rule at or above the gate is met, waived or not applicable; 1 one is broken, or a line could not be
read; 2 none is broken, but one is not shown; 3 it could not be done.

It checks what a plan says, not what is in the field, and defers to the employer's rules, local codes, a qualified
person's judgement and a licensed engineer's calculation."""


class UsageError(Exception):
    """Something that the user asked for can't be done; said in one line, status 3."""


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


def cache_folder(args: argparse.Namespace) -> Path | None:
    """Where to keep grammars and checked books between runs; None with ``--no-cache``."""
    if getattr(args, "no_cache", False):
        return None
    return kept_in()


def kept_in() -> Path:
    """The user's folder for what is kept between runs."""
    from platformdirs import user_cache_path

    return user_cache_path("groundlint", appauthor=False)


def load_books(args: argparse.Namespace) -> list[Rulebook]:
    """The rulebooks asked for. Problems are printed; any of them is a `UsageError`."""
    from groundlint.review import DEFAULT_BOOKS, load_rulebook

    for folder in args.books_in:
        if not folder.is_dir():
            raise UsageError(f"{folder}: no such folder of rulebooks")
    cache = cache_folder(args)
    found: list[Rulebook] = []
    failed = False
    for name in args.book or DEFAULT_BOOKS:
        book, problems = load_rulebook(name, args.books_in, cache)
        for problem in problems:
            failed = True
            print(problem_text(problem), file=sys.stderr)
        if book is not None:
            found.append(book)
    if len(found) > 1:
        from groundlint.rulebook.together import together

        for problem in together(found).problems:
            failed = True
            print(problem_text(problem), file=sys.stderr)
    if failed or not found:
        raise UsageError("a rulebook could not be read, so no plan was reviewed")
    return found


def problem_text(problem: Diagnostic) -> str:
    """A diagnostic in one line."""
    line, column = problem.span.position
    mend = f" ({problem.mend})" if problem.mend else ""
    name = problem.span.source.name
    place = f"{name}:{line}:{column}: " if name else ""
    return f"{place}{problem.severity.word}: {problem.message}{mend} [{problem.code}]"


def plan_files(given: Sequence[str]) -> Iterator[Path | None]:
    """Files to review; None for standard input. In folders: plans by their ending, Markdown only where it holds a
    plan."""
    seen: set[Path] = set()
    for name in given:
        if name == "-":
            yield None
            continue
        path = Path(name)
        if path.is_dir():
            found = [p for p in sorted(path.rglob("*")) if p.is_file() and p.suffix in SUFFIXES and is_plan(p, path)]
            if not found:
                raise UsageError(f"{name}: no plans in this folder")
        elif path.exists():
            found = [path]
        else:
            raise UsageError(f"{name}: no such file or folder")
        for file in found:
            if file not in seen:
                seen.add(file)
                yield file


def is_plan(path: Path, top: Path) -> bool:
    """Whether a file found below the folder ``top`` is a plan to review."""
    inside = path.relative_to(top).parts
    if any(
        part.startswith(".") or part in ("bases", "parts") for part in inside
    ):  # base plans of rule examples; files that plans use
        return False
    if path.suffix == ".tpg":
        return True
    try:
        text = path.read_bytes()
    except OSError:
        return True  # said when it is read
    return b"```tpg" in text or b"~~~tpg" in text


def read_source(path: Path | None) -> tuple[Source, tuple[Diagnostic, ...]]:
    """A file's text, and what is wrong with its bytes; None reads standard input. `UsageError` if it can't be read."""
    from groundlint.text.decode import SIZE_LIMIT, decode

    if path is None:
        return decode(sys.stdin.buffer.read(SIZE_LIMIT + 1), "<stdin>")
    try:
        with path.open("rb") as file:
            return decode(file.read(SIZE_LIMIT + 1), str(path))
    except OSError as error:
        raise UsageError(f"{path}: {error.strerror or error}") from None


def opener_in(folder: Path) -> Callable[[str], Source | str]:
    """What opens the files that a plan in ``folder`` uses: the source, or why it can't be had."""
    from groundlint.text.decode import SIZE_LIMIT, decode

    root = folder.resolve()

    def opener(name: str) -> Source | str:
        path = root / name
        try:
            if not path.resolve().is_relative_to(root):
                return "it lies outside the plan's own folder"
            with path.open("rb") as file:
                source, problems = decode(file.read(SIZE_LIMIT + 1), str(folder / name))
        except (OSError, ValueError) as error:
            return str(getattr(error, "strerror", None) or error).lower()
        return problems[0].message if problems else source

    return opener


def given_values(pairs: Sequence[str]) -> dict[str, str]:
    """The values of ``--given``."""
    found: dict[str, str] = {}
    for pair in pairs:
        name, sign, value = pair.partition("=")
        if not sign or not name.strip() or not value.strip():
            raise UsageError(f"--given {pair}: write NAME=VALUE, such as fault=6.8kA")
        found[name.strip()] = value.strip()
    return found


def use_colour(args: argparse.Namespace) -> bool:
    """Whether to colour what goes to standard output."""
    if args.colour != "auto":
        return bool(args.colour == "always")
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
