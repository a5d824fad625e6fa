"""`groundlint review`: plans held against rulebooks."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from groundlint.commands.common import (
    BROKEN,
    EPILOG,
    FAILED,
    OK,
    UsageError,
    book_options,
    cache_folder,
    given_values,
    load_books,
    opener_in,
    plan_files,
    read_source,
    use_colour,
)

if TYPE_CHECKING:
    from groundlint.commands.common import Subcommands
    from groundlint.findings.model import Review


def add(commands: Subcommands) -> None:
    """The command's arguments."""
    review = commands.add_parser(
        "review",
        help="hold plans against rulebooks",
        description="Reviews plans and prints findings by line.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    review.add_argument(
        "plans",
        nargs="+",
        metavar="PLAN",
        help="plan files (.tpg, or Markdown with fenced plans), folders, or - for standard input",
    )
    book_options(review)
    review.add_argument(
        "--gate",
        choices=("danger", "warning", "caution", "notice"),
        default="warning",
        help="lowest level that fails (default: warning)",
    )
    review.add_argument(
        "--given",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        help="value for a name that the plan leaves open, such as fault=6.8kA",
    )
    review.add_argument("--why", action="store_true", help="show what each finding rests on")
    review.add_argument("--format", choices=("text",), default="text", help="form of the report")
    review.add_argument(
        "--colour",
        "--color",
        choices=("auto", "always", "never"),
        default="auto",
        help="colour (default: on a terminal, unless NO_COLOR is set)",
    )
    review.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Review the plans asked for; the exit status."""
    from groundlint.language.reader import keep_grammar_in
    from groundlint.report.text import closing, review_text
    from groundlint.review import Reviewer
    from groundlint.text import Severity

    keep_grammar_in(cache_folder(args))
    given = given_values(args.given)
    files = list(plan_files(args.plans))
    reviewer = Reviewer(load_books(args))
    gate = Severity[args.gate.upper()]
    colour = use_colour(args)
    reviews: list[Review] = []
    statuses: list[int] = []
    failed = False
    for path in files:
        try:
            source, problems = read_source(path)
        except UsageError as error:
            print(f"groundlint: {error}", file=sys.stderr)
            failed = True
            continue
        review = reviewer.review(source, opener_in(path.parent if path is not None else Path()), given, problems)
        reviews.append(review)
        statuses.append(review.status(gate))
        sys.stdout.write(review_text(review, why=args.why, colour=colour))
    sys.stdout.write(closing(reviews, statuses))
    if failed:
        return FAILED
    return BROKEN if BROKEN in statuses else max(statuses, default=OK)
