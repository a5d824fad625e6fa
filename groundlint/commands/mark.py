"""`groundlint mark`: marks for student plans by a scheme, and for fault-finding answers by a key."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from groundlint.commands.common import (
    OK,
    UsageError,
    book_options,
    books_of,
    keep_between_runs,
    load_books,
    opener_in,
    read_source,
)
from groundlint.commands.outputs import MARKS
from groundlint.commands.settings import SettingsFinder
from groundlint.text.files import reason

if TYPE_CHECKING:
    from groundlint.commands.common import Subcommands
    from groundlint.findings.model import Review
    from groundlint.review import Reviewer
    from groundlint.rulebook.model import Rulebook
    from groundlint.teaching.classes import ClassView
    from groundlint.teaching.marking import Answer
    from groundlint.text import Source

MOST = 2_000
"""Answers marked at once."""
CLASS = ("marks.csv", "class.html", "class.txt")
"""Files for the class."""
PAGES = (".html", ".txt")
"""How the pages for an answer end."""

DESCRIPTION = """\
Marks whole plans by a mark scheme, or fault-finding answers by the key that `drill` wrote. Prints one table for the
class; with -o writes it as marks.csv, the class as class.html and class.txt, and a feedback page for each answer."""
EPILOG = """\
A mark scheme is a TOML file: a table [scheme], a table [task] that names the plan as it is handed out and a sound one,
and for each part of the job [stage.NAME.rules] with lines `rule = points` or
`rule = { points = 4, partial = 0.5, steps = ["test"], required = true }`.

exit status: 0 the answers are marked, whatever the marks; 3 it could not be done."""


def add(commands: Subcommands) -> None:
    """The command's arguments."""
    mark = commands.add_parser(
        "mark",
        help="mark student plans, or answers to an exercise",
        description=DESCRIPTION,
        epilog=EPILOG,
    )
    mark.add_argument("key", metavar="KEY", type=Path, help="a mark scheme, or the key of an exercise")
    mark.add_argument(
        "answers", nargs="+", metavar="ANSWER", help="files, or folders of them; every file is one answer"
    )
    book_options(mark)
    mark.add_argument("-o", "--out", type=Path, metavar="FOLDER", help="folder for the table and the pages")
    mark.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Mark the answers; the exit status."""
    from groundlint.text.toml import TomlText

    keep_between_runs(args)
    source, problems = read_source(args.key)
    toml = TomlText(source)
    if problems or toml.problems:
        raise UsageError(f"{source.name}: this is no mark scheme or key", (*problems, *toml.problems))
    named = _named(_files(args.answers, args.out))
    if args.out is not None:
        pages = [*CLASS, *(f"{name}{ending}" for name, _ in named for ending in PAGES)]
        MARKS.check((args.out / one for one in pages), read=[args.key, *(path for _, path in named)])
    answers = [_answer(name, path) for name, path in named]
    if not answers:
        raise UsageError("there is no answer to mark")
    view = _by_key(source, answers) if "drill" in toml.table else _by_scheme(args, source, toml, answers)
    if args.out is not None:
        _write(args.out, view)
    from groundlint.teaching.classes import table_text

    sys.stdout.write(table_text(view))
    return OK


def _by_key(source: Source, answers: Sequence[Answer]) -> ClassView:
    from groundlint.teaching.classes import class_view
    from groundlint.teaching.finding_faults import mark_faults, read_key

    key, problems = read_key(source)
    if key is None:
        raise UsageError(f"{source.name}: no answer can be marked by this key", problems)
    return class_view(f"Exercise {key.name}", [mark_faults(one, key) for one in answers])


def _by_scheme(args: argparse.Namespace, source: Source, toml: object, answers: Sequence[Answer]) -> ClassView:
    from groundlint.review import Reviewer
    from groundlint.teaching.aims import rules_by_slug
    from groundlint.teaching.classes import class_view
    from groundlint.teaching.likeness import alike
    from groundlint.teaching.marking import mark_plan
    from groundlint.teaching.scheme import books_named, read_scheme
    from groundlint.teaching.task import Task
    from groundlint.text.toml import TomlText

    assert isinstance(toml, TomlText)
    settings = SettingsFinder().of(args.key.parent)
    names, books_in = books_of(args, settings)
    if not args.book and books_named(toml):
        names = books_named(toml)
    books: list[Rulebook] = load_books(names, books_in)
    rules = rules_by_slug(books)
    scheme, problems = read_scheme(source, rules)
    if scheme is None:
        raise UsageError(f"{source.name}: no answer can be marked by this scheme", problems)
    reviewer = Reviewer(books)
    task = Task(*(_task(args.key.parent, name, reviewer) for name in (scheme.handout, scheme.sound)))
    wrong = task.wrong(worth.slug for stage in scheme.stages for worth in stage.rules)
    if wrong:
        raise UsageError(f"{source.name}: no answer can be marked by this scheme: {wrong}")
    marked = [mark_plan(one, scheme, task, reviewer, rules) for one in answers]
    return class_view(scheme.title, marked, alike([one.plan for one in marked], scheme.alike, task.handout.plan))


def _task(folder: Path, name: str, reviewer: Reviewer) -> Review:
    """The review of a plan of the task, which stands in the scheme's folder or below and can be read whole."""
    opener = opener_in(folder)
    source = opener(name)
    if isinstance(source, str):
        raise UsageError(f"{folder / name}: the plan of the task can't be read: {source}")
    review = reviewer.review(source, opener_in((folder / name).parent))
    if review.plan.unread:
        raise UsageError(f"{folder / name}: the plan of the task can't be read whole; `groundlint review` says why")
    return review


# ------------------------------------------------------------------ answers
def _files(named: Sequence[str], out: Path | None) -> Iterator[Path]:
    """The files that are answers, each once: in folders every file that is not hidden, the folder of pages apart."""
    seen: set[Path] = set()
    for name in named:
        path = Path(name)
        if path.is_dir():
            found = [
                one
                for one in sorted(path.rglob("*"))
                if not one.is_dir()
                and not any(part.startswith(".") for part in one.relative_to(path).parts)
                and (out is None or not one.resolve().is_relative_to(out.resolve()) or out.resolve() == path.resolve())
            ]
            if not found:
                raise UsageError(f"{name}: no answers in this folder")
        elif path.exists():
            found = [path]
        else:
            raise UsageError(f"{name}: no such file or folder")
        for one in found:
            if one.resolve() not in seen:
                seen.add(one.resolve())
                if len(seen) > MOST:
                    raise UsageError(f"more than {MOST:,} answers; mark them in parts")
                yield one


def _named(files: Iterator[Path]) -> list[tuple[str, Path]]:
    """Each file with a name of its own for its page: its stem, with a number where another has that."""
    found: list[tuple[str, Path]] = []
    taken: set[str] = {"class", "marks"}
    for path in files:
        stem = "".join(mark if mark.isprintable() else "_" for mark in path.stem) or "answer"
        name, number = stem, 2
        while name.lower() in taken:
            name, number = f"{stem}-{number}", number + 1
        taken.add(name.lower())
        found.append((name, path))
    return found


def _answer(name: str, path: Path) -> Answer:
    """An answer; what can't be read has a reason in place of a text."""
    from groundlint.teaching.marking import Answer

    try:
        source, problems = read_source(path)
    except UsageError as error:
        return Answer(name, name, None, (), f"the file can't be read: {error}")
    bad = next((one.message for one in problems if one.unread), "")
    if bad and "\x00" in source.text:
        bad = "the file is not text"
    return Answer(name, name, source, problems, bad, opener_in(path.parent))


def _write(folder: Path, view: ClassView) -> None:
    from groundlint.teaching.classes import table_csv, table_text
    from groundlint.teaching.feedback import class_html, feedback_html, feedback_text

    files = list(zip(CLASS, (table_csv(view), class_html(view), table_text(view)), strict=True))
    for one in view.marked:
        pages = feedback_html(one, view.title), feedback_text(one, view.title)
        files += [(f"{one.name}{ending}", text) for ending, text in zip(PAGES, pages, strict=True)]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in files:
            MARKS.write(folder / name, text)
    except OSError as error:
        raise UsageError(f"{folder}: {reason(error)}") from None
