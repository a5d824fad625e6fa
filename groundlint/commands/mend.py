"""`groundlint mend`: the edits that rules offer, made where they are proven to mend a plan."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from groundlint.commands.common import (
    BROKEN,
    FAILED,
    WORD,
    as_of,
    given_values,
    keep_between_runs,
    write_back,
)
from groundlint.commands.many import Desk, Task
from groundlint.commands.review import gather, plan_options, plans_argument, status_of

if TYPE_CHECKING:
    from groundlint.commands.common import Subcommands

EPILOG = """\
An edit is made only where the plan with it, reviewed again, has the finding no more and no new one. None takes a step
out, and none states a fact of the site: each is a proposal to whoever answers for the plan, who reads it as a diff.
Into a Word document `groundlint review PLAN --comments OUT.docx --propose` writes them, as tracked changes.

exit status: that of `groundlint review` for the plans as they then stand; 1 as well where a diff is printed that is not
written. So 0 says that there is nothing to mend and nothing at the gate is found."""


def add(commands: Subcommands) -> None:
    """The command's arguments."""
    mend = commands.add_parser(
        "mend",
        help="make the repairs that rules offer, each proven by a review",
        description="Prints a unified diff of the plans with every proven repair made; says what is left.",
        epilog=EPILOG,
    )
    plans_argument(mend)
    mend.add_argument(
        "--write", action="store_true", help="write the plans back; that of standard input goes to standard output"
    )
    plan_options(mend)
    mend.set_defaults(run=run)


class MendedPlan(NamedTuple):
    """A plan with its mended text beside the text as it was read; ``said`` is what was mended and what is left."""

    name: str
    status: int = 0
    failure: str = ""
    old: str = ""
    new: str = ""
    said: str = ""


def run(args: argparse.Namespace) -> int:
    """Mend the plans asked for; the exit status."""
    from groundlint.commands.many import Wanted, processes, reviews
    from groundlint.commands.progress import Progress
    from groundlint.commands.settings import SettingsFinder
    from groundlint.report.mending import diff_text
    from groundlint.text.decode import visible_name

    found, tasks, _ = gather(args, args.plans, SettingsFinder())
    for task in tasks:
        if task.path is not None and task.path.suffix.lower() == WORD:
            hint = "`groundlint review PLAN --comments OUT.docx --propose` writes repairs into it as tracked insertions"
            found.failures.append((str(task.path), f"a Word document has no diff; {hint}"))
    tasks = [task for task in tasks if task.path is None or task.path.suffix.lower() != WORD]
    keep_between_runs(args)
    desk = MendingDesk(Wanted(tuple(given_values(args.given).items()), as_of=as_of(args)))
    desk.ready(task.shelf for task in tasks)
    failures = list(found.failures)
    statuses = []
    with Progress(len(tasks)) as progress:
        for task, one in zip(
            tasks, reviews(desk, tasks, processes(args.jobs, [task.path for task in tasks])), strict=True
        ):
            progress.clear()
            status, failure = one.status, one.failure
            sys.stderr.write(one.said)
            if not failure and args.write:
                failure = _written(task.path, one)
            elif not failure and one.new != one.old:
                sys.stdout.write(diff_text(one.name, one.old, one.new))
                status = BROKEN
            if failure:
                failures.append((one.name, failure))
            else:
                statuses.append(status)
            progress.step()
    for name, why in failures:
        print(f"groundlint: {visible_name(name)}: {why}", file=sys.stderr)
    return FAILED if failures else status_of(statuses)


class MendingDesk(Desk):
    """Mends plans, in one process or several; what is written is written by the first."""

    def do(self, task: Task) -> MendedPlan:
        """One plan mended as far as it can be. Never raises for what is wrong with the plan."""
        return self.guarded(task.path, lambda: self._mended(task), MendedPlan)

    def _mended(self, task: Task) -> MendedPlan:
        from groundlint.report.mending import mended_text
        from groundlint.text import Severity
        from groundlint.text.decode import visible

        review = self.reviewed(task)
        gate, source = Severity[task.gate.upper()], review.plan.source
        if review.plan.unread:
            said = f"{source.name}: a line could not be read, so nothing is mended; `groundlint review` says which\n"
            return MendedPlan(source.name, review.status(gate), old=source.text, new=source.text, said=said)
        mended = self.mended(task, review)
        said = visible(mended_text(source.name, mended))
        return MendedPlan(
            source.name, mended.review.status(gate), old=source.text, new=mended.review.plan.source.text, said=said
        )


def _written(path: Path | None, plan: MendedPlan) -> str:
    if path is None:
        sys.stdout.write(plan.new)
        return ""
    return write_back(path, plan.old, plan.new)
