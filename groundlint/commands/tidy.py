"""`groundlint tidy`: canonical layout of plans, of those in Markdown procedures, and of the files of rulebooks."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from groundlint.commands.common import BROKEN, FAILED, OK, TEXTS, UsageError, problem_text, read_source, write_back
from groundlint.rulebook.shipped import FILES as BOOKS

if TYPE_CHECKING:
    from groundlint.commands.common import Subcommands
    from groundlint.text import Diagnostic, Source


def add(commands: Subcommands) -> None:
    """The command's arguments."""
    tidy = commands.add_parser(
        "tidy",
        help="canonical layout, comments kept",
        description="Prints plans, files of rulebooks, and Markdown procedures with their plans, in canonical layout.",
        formatter_class=argparse.HelpFormatter,
    )
    tidy.add_argument(
        "files",
        nargs="+",
        metavar="FILE",
        help="plans, Markdown procedures, files of rulebooks, or - for a plan on standard input",
    )
    how = tidy.add_mutually_exclusive_group()
    how.add_argument(
        "--check", action="store_true", help="change nothing; status 1 if a file is not in canonical layout"
    )
    how.add_argument("--write", action="store_true", help="write the files back")
    tidy.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Lay the files out, or check that they are; the exit status."""
    statuses = []
    for name in args.files:
        try:
            statuses.append(_tidy(name, args))
        except UsageError as error:  # what is wrong with one file hides no other
            print(f"groundlint: {error}", file=sys.stderr)
            statuses.append(FAILED)
    return max(statuses)


def _tidy(name: str, args: argparse.Namespace) -> int:
    path = None if name == "-" else Path(name)
    if path is not None and path.is_dir():
        raise UsageError(f"{name}: this is a folder; name the files in it")
    if path is not None and path.suffix.lower() not in (*TEXTS, *BOOKS):
        raise UsageError(f"{name}: what can be laid out ends in {', '.join((*TEXTS, *BOOKS))}")
    source, problems = read_source(path)
    text, wrong = _laid_out(source, path)
    if problems or wrong:
        for problem in (*problems, *wrong):
            print(problem_text(problem), file=sys.stderr)
        return FAILED
    if args.check:
        if text == source.text:
            return OK
        print(f"{source.name}: not in canonical layout")
        return BROKEN
    if args.write and path is not None:
        if why := write_back(path, source.text, text):
            raise UsageError(f"{source.name}: {why}")
    else:
        sys.stdout.write(text)
    return OK


def _laid_out(source: Source, path: Path | None) -> tuple[str, tuple[Diagnostic, ...]]:
    """A text in canonical layout, and what is wrong with it, so that it can't be laid out."""
    if path is not None and path.suffix.lower() in BOOKS:
        from groundlint.rulebook.layout import lay_out
        from groundlint.rulebook.tidy import tidied

        layout = lay_out(source)
        return tidied(layout), layout.problems
    from groundlint.language.layout import laid_out
    from groundlint.language.reader import read_statements

    read = read_statements(source)
    return laid_out(source, read), read.diagnostics
