"""`groundlint brief`: the job briefing of a plan as a page, and its drawing."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from groundlint.commands.common import (
    EPILOG,
    WORD,
    UsageError,
    as_of,
    book_options,
    day_option,
    given_values,
    keep_between_runs,
    version,
)
from groundlint.commands.outputs import BRIEFING, DRAWING, Output
from groundlint.commands.settings import GATES, SettingsFinder

if TYPE_CHECKING:
    from groundlint.commands.common import Subcommands
    from groundlint.commands.many import Desk

DESCRIPTION = """\
Writes the job briefing of one plan: one HTML page that opens from disk, needs no network and no script, and prints on
letter and A4 paper; or, to a file that ends in .docx, the same page as a Word document, for a crew that must edit it.
The page carries the review; a plan that is broken or not shown says so at its head, and the exit status is that of
`groundlint review`."""


def add(commands: Subcommands) -> None:
    """The command's arguments."""
    brief = commands.add_parser(
        "brief",
        help="the job briefing: a page to read and print",
        description=DESCRIPTION,
        epilog=EPILOG,
    )
    brief.add_argument(
        "plan",
        metavar="PLAN",
        help="a plan (.tpg, Markdown with fenced plans, or a Word document), or - for standard input",
    )
    brief.add_argument(
        "-o",
        "--output",
        metavar="FILE",
        help="where to write the page: FILE.html, or FILE.docx, which can be edited; - for standard output",
    )
    brief.add_argument("--drawing", metavar="FILE.svg", help="write the drawing alone; - for standard output")
    brief.add_argument(
        "--step",
        metavar="N",
        help="with --drawing: as things stand after step N, numbered as on the page (8, or 8.3 in a routine)",
    )
    brief.add_argument(
        "--for",
        dest="reader",
        choices=("all", "crew", "engineer"),
        default="all",
        help="crew: what is taken along (job, drawing, step sheet, ground register); engineer: findings, exposure and "
        "the calculation record (default: all)",
    )
    day_option(brief)
    book_options(brief)
    brief.add_argument("--gate", choices=GATES, help="lowest level that fails (default: warning)")
    brief.add_argument(
        "--given",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        help="value for a name that the plan leaves open, such as fault=6.8kA",
    )
    brief.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Write the page, the drawing or both; the status of the review."""
    from groundlint.commands.many import Desk, Wanted
    from groundlint.commands.review import task_of
    from groundlint.report.brief import brief_document, brief_html, drawing_svg
    from groundlint.report.brief.computed import electrical_of, limit_of
    from groundlint.report.brief.page import UnknownStepError
    from groundlint.text import Severity

    if args.output is None and args.drawing is None:
        raise UsageError(
            "brief: say where to write the page: -o FILE.html (or --drawing FILE.svg for the drawing alone)"
        )
    if args.step is not None and args.drawing is None:
        raise UsageError("brief: --step goes with --drawing FILE.svg")
    if args.output == args.drawing:
        raise UsageError(f"brief: the page and the drawing would both go to {args.output}")
    for kind, name in ((BRIEFING, args.output), (DRAWING, args.drawing)):
        kind.check([_file(name)])
    path = None if args.plan == "-" else Path(args.plan)
    if path is not None and path.is_dir():
        raise UsageError(f"{args.plan}: this is a folder; brief takes one plan")
    keep_between_runs(args)
    task = task_of(args, path, SettingsFinder().of(path.parent if path is not None else Path()))
    desk = Desk(Wanted(tuple(given_values(args.given).items()), as_of=as_of(args)))
    review = desk.reviewed(task)
    assert review.trace is not None
    electrical = electrical_of(review.trace, limit_of(_settings(desk)))
    gate = Severity[task.gate.upper()]
    if args.drawing is not None:
        try:
            drawing = drawing_svg(review, args.step, electrical)
        except UnknownStepError as error:
            raise UsageError(f"{args.plan}: no step {error} in this plan") from None
        _write(DRAWING, args.drawing, drawing)
    if args.output is not None:
        if Path(args.output).suffix.lower() == WORD:
            try:
                made = brief_document(review, version(), electrical, gate, args.reader)
            except ImportError:
                raise UsageError(f"{args.output}: to write Word documents, install `groundlint[word]`") from None
            _write(BRIEFING, args.output, made)
        else:
            _write(BRIEFING, args.output, brief_html(review, version(), electrical, gate, args.reader))
    status = review.status(gate)
    if status:
        came_to = "not read whole" if review.plan.unread else review.word(gate)
        print(f"{args.plan}: {came_to}; `groundlint review` lists the findings", file=sys.stderr)
    return status


def _settings(desk: Desk) -> list[tuple[str, str | float]]:
    """Settings of the books in use; the later book's, where two set the same."""
    from groundlint.rulebook.core import Quantity

    return [
        (name, one.value.si if isinstance(one.value, Quantity) else one.value.word)
        for book in desk.books()
        for name, one in book.settings.items()
    ]


def _file(name: str | None) -> Path | None:
    return Path(name) if name not in (None, "-") else None


def _write(kind: Output, name: str, made: str | bytes) -> None:
    file = _file(name)
    if file is not None:
        kind.write(file, made)
    else:
        assert isinstance(made, str)
        sys.stdout.write(made)
