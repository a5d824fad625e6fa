"""`groundlint draft`: from the head of a plan, the whole plan."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from groundlint.commands.common import (
    BROKEN,
    OK,
    UNSHOWN,
    WORD,
    UsageError,
    as_of,
    given_values,
    keep_between_runs,
    read_source,
)
from groundlint.commands.outputs import PLAN
from groundlint.commands.review import review_options

if TYPE_CHECKING:
    from groundlint.commands.common import Subcommands
    from groundlint.drafting.heads import Head
    from groundlint.drafting.job import Job
    from groundlint.drafting.policy import Choices

EPILOG = """\
A head is a plan without steps: line and route, each source and its open point, neighbours and parallel circuits or that
there are none, equipment, crew, method. It stays as written; no fact is added. What the steps need and the head does
not state is asked for, and there is no plan; what rules wait for is listed after it. A plan in which its own review
finds something broken is not printed: what is broken is, and what would change it.

What may be done in several ways is settled by a policy file: `--policy-example` prints one, with every choice.

exit status: that of `groundlint review` for the plan; 1 as well where a plan would be broken, 2 where the head does not
state what the steps need.
"""


def add(commands: Subcommands) -> None:
    """The command's arguments."""
    from groundlint.drafting.choices import ACCESS, METHODS

    draft = commands.add_parser(
        "draft",
        help="a whole plan from its head",
        description="Prints a plan: its head as written, and the steps from isolation to release.",
        epilog=EPILOG,
    )
    draft.add_argument(
        "head",
        nargs="?",
        metavar="HEAD",
        help="the head (.tpg, Markdown with fenced plans, or a Word document), or - for standard input",
    )
    draft.add_argument(
        "--at",
        action="append",
        default=[],
        metavar="STRUCTURE",
        help="where the work is, where the title does not name one structure of the route; may be given several times",
    )
    for option, dest, choices in (("--method", "method", METHODS), ("--from", "access", ACCESS)):
        listed = "; ".join(f"{name}: {meaning}" for name, meaning in choices.items())
        draft.add_argument(option, dest=dest, choices=choices, help=f"where the head does not say: {listed}")
    draft.add_argument(
        "--policy", type=Path, metavar="FILE", help="how the house does what may be done in several ways"
    )
    draft.add_argument("--policy-example", action="store_true", help="print a policy file with every choice, and end")
    draft.add_argument(
        "-o", "--output", type=Path, metavar="FILE", help="where to write it: FILE.tpg, FILE.md or FILE.docx"
    )
    review_options(draft)
    draft.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Draft the plan; the exit status."""
    from groundlint.commands.many import Desk, Wanted, opener_of
    from groundlint.commands.review import task_of
    from groundlint.commands.settings import SettingsFinder
    from groundlint.drafting.heads import Head, drafted
    from groundlint.drafting.site import NoSuchJobError
    from groundlint.reading import read_plan
    from groundlint.report.drafting import lacking_text, no_plan_text
    from groundlint.report.text import asks_text, broken_text, review_text
    from groundlint.text import Severity, Source
    from groundlint.text.decode import visible

    if args.policy_example:
        from groundlint.drafting.policy import example

        sys.stdout.write(example())
        return OK
    if args.head is None:
        raise UsageError("draft: name the head, or - for standard input")
    form = _form(args.output)
    choices = _choices(args.policy)
    path = None if args.head == "-" else Path(args.head)
    keep_between_runs(args)
    given = given_values(args.given)
    task = task_of(args, path, SettingsFinder().of(path.parent if path is not None else Path()))
    desk, opener = Desk(Wanted(tuple(given.items()), as_of=as_of(args))), opener_of(task)
    source, problems = read_source(path)
    result = read_plan(source, opener, given, dict(task.offered))
    if result.plan.unread or any(one.unread for one in problems):
        sys.stderr.write(visible(review_text(desk.review_of(task, source, problems, opener))))
        return BROKEN
    try:
        head = Head.of(source).with_method(args.method, args.access)
        plan = read_plan(head.source, opener, given, dict(task.offered)).plan
        made = drafted(plan, args.at, choices)
    except NoSuchJobError as error:
        raise UsageError(f"{source.name}: {error}") from None
    if made.lacks:
        sys.stderr.write(visible(lacking_text(plan, made.lacks)))
        return UNSHOWN
    text = head.text(made)
    review = desk.review_of(task, Source(source.name, text), problems, opener)
    gate = Severity[task.gate.upper()]
    status = review.status(gate)
    if status == BROKEN:
        lines = head.source.text.rstrip().count("\n") + 1
        sys.stderr.write(visible(no_plan_text(review, gate, lines)))
        return BROKEN
    if args.output is None:
        sys.stdout.write(text)
    else:
        _write(args.output, form, head, made)
    if review.findings:
        sys.stderr.write(visible(broken_text(review, Severity.NOTICE) + asks_text(review)))
    return status


def _form(file: Path | None) -> str:
    form = file.suffix.lower() if file is not None else ""
    PLAN.check([file])
    return form


def _choices(file: Path | None) -> Choices:
    from groundlint.drafting.policy import Choices, read_policy

    if file is None:
        return Choices()
    source, problems = read_source(file)
    choices, wrong = read_policy(source)
    if problems or wrong:
        raise UsageError(f"{file}: the policy can't be used, so nothing was drafted", (*problems, *wrong))
    return choices


def _write(file: Path, form: str, head: Head, made: Job) -> None:
    try:
        if form == WORD:
            from groundlint.drafting.document import document

            PLAN.write(file, document(head.in_parts(made)))
        else:
            PLAN.write(file, head.markdown(made) if form == ".md" else head.plain(made))
    except ImportError:
        raise UsageError(f"{file}: to write Word documents, install `groundlint[word]`") from None
