"""`groundlint review`: plans held against rulebooks."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from groundlint.commands.common import (
    BROKEN,
    EPILOG,
    FAILED,
    OK,
    WORD,
    UsageError,
    as_of,
    book_options,
    books_of,
    day_option,
    given_values,
    keep_between_runs,
    shown,
    use_colour,
    version,
)
from groundlint.commands.outputs import COMMENTED, REPORT
from groundlint.commands.settings import FORMATS, GATES, Settings, SettingsFinder
from groundlint.text.near import nearest

if TYPE_CHECKING:
    from groundlint.commands.common import Subcommands
    from groundlint.commands.many import Desk, Done, Task
    from groundlint.commands.walk import Found


def add(commands: Subcommands) -> None:
    """The command's arguments."""
    review = commands.add_parser(
        "review",
        help="hold plans against rulebooks",
        description="Reviews plans and prints findings by line.",
        epilog=EPILOG,
    )
    plans_argument(review)
    plan_options(review)
    colour_option(review)
    review.add_argument("--why", action="store_true", help="show what each finding rests on")
    review.add_argument(
        "--all",
        action="store_true",
        help="show each line where something is not shown too, and, where a statement was not read, what the rules say "
        "of the rest, which may be wrong",
    )
    review.add_argument(
        "--ask",
        action="store_true",
        help="print only what the plan does not state, all of it: where each goes, and a text to paste there",
    )
    review.add_argument(
        "--format",
        action="append",
        default=[],
        metavar="FORM[=FILE]",
        help=f"form of the report: {', '.join(FORMATS)}; may be given several times, one of them without a file",
    )
    review.add_argument(
        "--comments",
        type=Path,
        metavar="OUT.docx",
        help="write the Word document with each finding as a comment on its words; its text stays as it is",
    )
    review.add_argument(
        "--propose",
        action="store_true",
        help="with --comments: write the repairs that `groundlint mend` would make as tracked changes too",
    )
    review.set_defaults(run=run)


def plans_argument(parser: argparse.ArgumentParser) -> None:
    """The plans that a command is about."""
    parser.add_argument(
        "plans",
        nargs="+",
        metavar="PLAN",
        help="plan files (.tpg, Markdown with fenced plans, Word documents), folders, globs, or - for standard input",
    )


def plan_options(parser: argparse.ArgumentParser) -> None:
    """Options of every command that reviews plans."""
    review_options(parser)
    parser.add_argument(
        "--jobs", type=_jobs, metavar="N", help="processes to use (default: one a core where there are many plans)"
    )


def review_options(parser: argparse.ArgumentParser) -> None:
    """Options of every command that reviews one plan or several."""
    book_options(parser)
    parser.add_argument("--gate", choices=GATES, help="lowest level that fails (default: warning)")
    parser.add_argument(
        "--given",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        help="value for a name that the plan leaves open, such as fault=6.8kA",
    )
    day_option(parser)


def colour_option(parser: argparse.ArgumentParser) -> None:
    """The option of commands whose text for people may be coloured."""
    parser.add_argument(
        "--colour",
        "--color",
        choices=("auto", "always", "never"),
        default="auto",
        help="colour (default: on a terminal, unless NO_COLOR is set)",
    )


def _jobs(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= 256:
        raise argparse.ArgumentTypeError(f"{text}: write a number from 1 to 256")
    return int(text)


def run(args: argparse.Namespace) -> int:
    """Review the plans asked for; the exit status."""
    from groundlint.commands.many import ReviewingDesk, Wanted, review_all
    from groundlint.commands.progress import Progress
    from groundlint.report.closing import closing
    from groundlint.text.decode import visible_name

    finder = SettingsFinder()
    outputs = outputs_of(args.format or finder.of(Path()).formats or ("text",))
    REPORT.check(outputs)
    of_text = [f"--{option}" for option in ("why", "all", "ask") if getattr(args, option)]
    if of_text and "text" not in outputs.values():
        raise UsageError(
            f"{of_text[0]} shapes the text for people, and no text is asked for: leave it out, "
            "or add `--format text=FILE`"
        )
    found, tasks, used = gather(args, args.plans, finder)
    _check_comments(args, tasks)
    printed = outputs.get(None) == "text"
    keep_between_runs(args)
    forms = set(outputs.values())
    wanted = Wanted(
        given=tuple(given_values(args.given).items()),
        text="text" in forms,
        why=args.why,
        everything=args.all,
        ask=args.ask,
        as_of=as_of(args),
        colour=printed and use_colour(args),
        entries=forms != {"text"},
        repairs=bool(forms & {"sarif", "json"}),
        notes=args.comments is not None,
        propose=args.propose,
    )
    desk = ReviewingDesk(wanted)
    if wanted.entries:  # reports for programs list the rules
        desk.ready(task.shelf for task in tasks)
    done: list[Done] = []
    with Progress(len(tasks)) as progress:
        for one in review_all(desk, tasks, args.jobs):
            progress.clear()
            if one.failure:
                print(f"groundlint: {one.name}: {one.failure}", file=sys.stderr)
            elif printed:
                sys.stdout.write(one.text)
            done.append(one)
            progress.step()
    for name, why in found.failures:
        print(f"groundlint: {visible_name(name)}: {why}", file=sys.stderr)
    failures = [(one.name, one.failure) for one in done if one.failure] + found.failures
    statuses = [one.status for one in done if not one.failure]
    status = FAILED if failures else status_of(statuses)
    words = [one.word for one in done if not one.failure]
    last = closing(words, len(failures), found.left_out, used, found.passed_over)
    if printed:
        sys.stdout.write(last)
    for file, form in outputs.items():
        if form != "text":
            write_report(file, _report(form, desk, done, failures, status))
        elif file is not None:
            write_report(file, "".join(one.text for one in done) + last)
    if args.comments is not None and not failures:
        _write_comments(args.comments, tasks[0], done[0])
    return status


def _check_comments(args: argparse.Namespace, tasks: Sequence[Task]) -> None:
    """`UsageError` where comments can't be written as asked for."""
    if args.comments is None:
        if args.propose:
            raise UsageError("--propose goes with --comments OUT.docx")
        return
    if len(tasks) != 1 or tasks[0].path is None or tasks[0].path.suffix.lower() != WORD:
        raise UsageError("--comments goes with one Word document (.docx)")
    COMMENTED.check([args.comments], "--comments ", into=tasks[0].path)


def _write_comments(out: Path, task: Task, done: Done) -> None:
    """A reviewed document with comments in it. `UsageError` if it can't be written, or has changed meanwhile."""
    from groundlint.commands.common import open_word
    from groundlint.commands.kept_reviews import of_source
    from groundlint.reading.word.comments import Comments, Note
    from groundlint.reading.word.opening import packed
    from groundlint.reading.word.proposals import Proposals
    from groundlint.reading.word.runs import Runs

    assert task.path is not None
    document = open_word(task.path, done.name)
    if of_source(document.source, document.problems) != done.read:
        raise UsageError(f"{task.path}: it was changed meanwhile; no comments were written")
    runs = Runs(document)
    Comments(runs).write([Note(*one) for one in done.notes])
    if done.mended is not None and done.mended != document.source.text:
        Proposals(runs).write(done.mended)
    COMMENTED.write(out, packed(document.package), into=task.path)
    proposed = ", with repairs as tracked changes" if done.mended not in (None, document.source.text) else ""
    print(f"{out}: {len(done.notes)} comment{'s' * (len(done.notes) != 1)} written{proposed}", file=sys.stderr)


def status_of(statuses: Sequence[int]) -> int:
    """The status of many reviews: a broken one before one not shown."""
    return BROKEN if BROKEN in statuses else max(statuses, default=OK)


def gather(
    args: argparse.Namespace, named: Sequence[str], finder: SettingsFinder, *, may_be_none: bool = False
) -> tuple[Found, list[Task], list[str]]:
    """The plans that names stand for, each with what holds for it, and the settings files that do."""
    from groundlint.commands.walk import find_plans

    found = find_plans(named, finder, may_be_none=may_be_none)
    files: dict[str, None] = {}
    tasks = []
    for path in found.plans:
        settings = finder.of(path.parent if path is not None else Path())
        if settings.file is not None:
            files[shown(settings.file)] = None
        tasks.append(task_of(args, path, settings))
    return found, tasks, list(files)


def task_of(args: argparse.Namespace, path: Path | None, settings: Settings) -> Task:
    """A plan with what holds for it."""
    from groundlint.commands.many import Task

    return Task(path, books_of(args, settings), args.gate or settings.gate or "warning", tuple(settings.given.items()))


def outputs_of(forms: Sequence[str]) -> dict[Path | None, str]:
    """The form of report for each file, None for standard output. `UsageError` for two at one place."""
    outputs: dict[Path | None, str] = {}
    for text in forms:
        form, sign, name = text.partition("=")
        if form not in FORMATS:
            near = nearest(form, FORMATS)
            hint = f"did you mean {near}?" if near else f"write one of {', '.join(FORMATS)}"
            raise UsageError(f"--format {text}: no such form of report; {hint}")
        if sign and not name:
            raise UsageError(f"--format {text}: write {form}=FILE")
        file = Path(name) if name and name != "-" else None
        if file in outputs or (file is not None and file.resolve() in [one.resolve() for one in outputs if one]):
            where = f"the file {file}" if file is not None else "standard output; give all but one a file, FORM=FILE"
            raise UsageError(f"--format {text}: two reports would go to {where}")
        outputs[file] = form
    return outputs


def write_report(file: Path | None, text: str) -> None:
    """A report to its file, or to standard output. `UsageError` if it can't be written."""
    if file is None:
        sys.stdout.write(text)
        return
    REPORT.write(file, text)


def _report(form: str, desk: Desk, done: Sequence[Done], failures: Sequence[tuple[str, str]], status: int) -> str:
    from groundlint.report.record import Failure, Run, rule_entries

    entries = tuple(one.entry for one in done if one.entry is not None)
    run = Run(version(), status, entries, tuple(Failure(*one) for one in failures), rule_entries(desk.books()))
    if form == "json":
        from groundlint.report.json import json_report

        return json_report(run)
    if form == "junit":
        from groundlint.report.junit import junit_report

        return junit_report(run)
    from groundlint.report.sarif import sarif_report

    return sarif_report(run, Path.cwd())
