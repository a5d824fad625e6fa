"""`groundlint new`: a plan to begin with."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from groundlint.commands.common import OK, WORD, UsageError
from groundlint.commands.outputs import PLAN

if TYPE_CHECKING:
    from groundlint.commands.common import Subcommands

EPILOG = """\
The plan has the steps in their order and no fact of the site. What is lacking, `groundlint review --ask FILE`
lists, each with the line where it goes and a text to paste there. Replace the names (P1, Line1, Feed, SW1,
Lineman1 stand for yours), the document's number, and the words in quotes, in the title and in `work`.
"""


def add(commands: Subcommands) -> None:
    """The command's arguments."""
    from groundlint.drafting.choices import ACCESS, METHODS, WORDS

    new = commands.add_parser(
        "new",
        help="a plan to begin with",
        description="Prints a plan to begin with: the order of the steps for a method, without the facts of the site.",
        epilog=EPILOG,
    )
    for option, dest, choices, first in (
        ("--method", "method", METHODS, "single-point"),
        ("--from", "access", ACCESS, "pole"),
        ("--words", "words", WORDS, "grounding"),
    ):
        listed = "; ".join(f"{name}: {meaning}" for name, meaning in choices.items())
        new.add_argument(option, dest=dest, choices=choices, default=first, help=f"{listed} (default: {first})")
    new.add_argument(
        "-o",
        "--output",
        type=Path,
        metavar="FILE",
        help="where to write it: FILE.tpg, FILE.md, or FILE.docx, which has the style Plan and a page for its writer",
    )
    new.add_argument("--language", action="store_true", help="print every statement that a plan may have, and end")
    new.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print or write the plan; the exit status."""
    from groundlint.drafting.skeleton import NoSuchPlanError, begun, skeleton

    if args.language:
        from groundlint.language.reference import reference_page

        sys.stdout.write(reference_page())
        return OK
    file: Path | None = args.output
    form = file.suffix.lower() if file is not None else ""
    PLAN.check([file])
    try:
        text = skeleton(args.method, args.access, args.words, markdown=form == ".md")
        head, made = begun(args.method, args.access, args.words)
    except NoSuchPlanError as error:
        raise UsageError(f"--method {args.method} --from {args.access}: {error}") from None
    if file is None:
        sys.stdout.write(text)
        return OK
    try:
        if form == WORD:
            from groundlint.drafting.document import document

            PLAN.write(file, document(head.in_parts(made)))
        else:
            PLAN.write(file, text)
    except ImportError:
        raise UsageError(f"{file}: to write Word documents, install `groundlint[word]`") from None
    from shlex import quote

    print(f"{file}: next, `groundlint review --ask {quote(str(file))}` lists what to fill in", file=sys.stderr)
    return OK
