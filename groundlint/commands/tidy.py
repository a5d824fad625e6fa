"""`groundlint tidy`: canonical layout of plans, and of those in Markdown procedures."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from groundlint.commands.common import BROKEN, FAILED, OK, UsageError, problem_text, read_source
from groundlint.commands.walk import TEXTS
from groundlint.text.files import write_file

if TYPE_CHECKING:
    from groundlint.commands.common import Subcommands


def add(commands: Subcommands) -> None:
    """The command's arguments."""
    tidy = commands.add_parser(
        "tidy",
        help="canonical layout, comments kept",
        description="Prints a plan in canonical layout; of a Markdown procedure, with its plan laid out.",
        formatter_class=argparse.HelpFormatter,
    )
    tidy.add_argument(
        "plans", nargs="+", metavar="PLAN", help="plan files or Markdown procedures, or - for standard input"
    )
    how = tidy.add_mutually_exclusive_group()
    how.add_argument(
        "--check", action="store_true", help="change nothing; status 1 if a plan is not in canonical layout"
    )
    how.add_argument("--write", action="store_true", help="write the plans back")
    tidy.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Lay the plans out, or check that they are; the exit status."""
    from groundlint.language.layout import laid_out
    from groundlint.language.reader import read_statements

    status = OK
    for name in args.plans:
        path = None if name == "-" else Path(name)
        if path is not None and path.suffix.lower() not in TEXTS:
            raise UsageError(f"{name}: what can be laid out ends in {', '.join(TEXTS)}")
        source, problems = read_source(path)
        read = read_statements(source)
        for problem in (*problems, *read.diagnostics):
            print(problem_text(problem), file=sys.stderr)
        if problems or read.diagnostics:
            status = FAILED
            continue
        text = laid_out(source, read)
        if args.check:
            if text != source.text:
                print(f"{source.name}: not in canonical layout")
                status = max(status, BROKEN)
        elif args.write and path is not None:
            if text != source.text:
                write_file(path, text)
        else:
            sys.stdout.write(text)
    return status
