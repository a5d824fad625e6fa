"""`groundlint compare`: what a revision of plans gained and lost."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from groundlint.commands.common import FAILED, OK, UsageError, as_of, cache_folder, given_values
from groundlint.commands.many import Desk, Done, Task, Wanted
from groundlint.commands.review import gather, plan_options, status_of
from groundlint.commands.settings import SettingsFinder

if TYPE_CHECKING:
    from groundlint.commands.common import Subcommands
    from groundlint.commands.revisions import Revision
    from groundlint.findings.model import Review

EPILOG = """\
exit status: that of a review of the new plans; with --only-worse, 0 if no plan got worse, 1 if one did, 2 if all that
got worse is that something is no longer shown; 3 it could not be done.

A plan is worse if a finding at or above the gate is new or graver; and, whether a rule finds it or not, if what
protected somebody at a moment of the work (a lock, a tag, a test, a cover, a clearance, a ground and what it joins) is
not there at that moment any more, or a margin that the plan states is narrower. Moments are the same by what goes on,
whatever the steps are called and wherever they stand. A plan without an old one is held against the rules whole."""


def add(commands: Subcommands) -> None:
    """The command's arguments."""
    compare = commands.add_parser(
        "compare",
        help="what a revision gained and lost",
        description="Compares plans by meaning: protections, steps, margins and findings, not lines of text.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    compare.add_argument(
        "plans",
        nargs="*",
        metavar="PLAN",
        help="the old plan and the new one, or two folders; with --since, plans or folders (default: all from here on)",
    )
    compare.add_argument("--since", metavar="REV", help="compare with the plans of a git revision, such as origin/main")
    compare.add_argument("--only-worse", action="store_true", help="fail only on what got worse, and print only that")
    plan_options(compare)
    compare.set_defaults(run=run)


@dataclass(frozen=True)
class Pair(Task):
    """A new plan with the old one: a file, or a path in the revision; both None where it is new altogether."""

    old: Path | None = None
    old_in_revision: str | None = None
    only_worse: bool = False


@dataclass(frozen=True)
class Compared(Done):
    """What came of a pair; ``verdict`` is empty where there is no old plan."""

    verdict: str = ""


def run(args: argparse.Namespace) -> int:
    """Compare the plans asked for; the exit status."""
    from groundlint.commands.many import processes, review_all
    from groundlint.commands.progress import Progress
    from groundlint.language.reader import keep_grammar_in
    from groundlint.report.comparison import comparing_closing

    finder = SettingsFinder()
    cache = cache_folder(args)
    keep_grammar_in(cache)
    pairs, gone, revision, used = (_since if args.since is not None else _two)(args, finder)
    desk = ComparingDesk(Wanted(tuple(given_values(args.given).items()), cache, as_of=as_of(args)), revision)
    desk.ready(pairs)
    done: list[Compared] = []
    with Progress(len(pairs)) as progress:
        for one in review_all(desk, pairs, processes(args.jobs, pairs)):
            assert isinstance(one, Compared)
            progress.clear()
            if one.failure:
                print(f"groundlint: {one.name}: {one.failure}", file=sys.stderr)
            sys.stdout.write(one.text)
            done.append(one)
            progress.step()
    if revision is not None:
        revision.close()
    if not args.only_worse:
        sys.stdout.writelines(f"{name}: gone\n" for name in gone)
    failures = sum(bool(one.failure) for one in done)
    verdicts = [one.verdict for one in done if one.verdict]
    added = len(done) - failures - len(verdicts)
    sys.stdout.write(comparing_closing(verdicts, added, len(gone), failures, used))
    return FAILED if failures else status_of([one.status for one in done])


# ------------------------------------------------------------- which plans

_Gathered = tuple[list[Pair], list[str], "Revision | None", list[str]]


def _two(args: argparse.Namespace, finder: SettingsFinder) -> _Gathered:
    """Two plans, or the plans of two folders."""
    if len(args.plans) != 2:
        raise UsageError("compare wants the old plan and the new one, or --since REV")
    old, new = map(Path, args.plans)
    for path in (old, new):
        if not path.exists():
            raise UsageError(f"{path}: no such file or folder")
    if old.is_dir() != new.is_dir():
        raise UsageError(f"{old} and {new}: give two plans, or two folders")
    found, tasks, used = gather(args, [str(new)], finder)
    if found.failures:
        raise UsageError(": ".join(found.failures[0]))
    if not new.is_dir():
        return [_pair(task, old=old, only_worse=args.only_worse) for task in tasks], [], None, used
    from groundlint.commands.walk import find_plans

    before = {
        path.relative_to(old).as_posix(): path for path in find_plans([str(old)], finder).plans if path is not None
    }
    after = {task.path.relative_to(new).as_posix(): task for task in tasks if task.path is not None}
    moved = _moved(
        {name: _bytes(path) for name, path in before.items() if name not in after},
        {name: _bytes(task.path) for name, task in after.items() if name not in before},
    )
    taken = {name: name if name in before else moved.get(name) for name in after}
    pairs = [
        _pair(task, old=before[there] if (there := taken[name]) is not None else None, only_worse=args.only_worse)
        for name, task in after.items()
    ]
    return pairs, [str(before[name]) for name in before if name not in taken.values()], None, used


def _since(args: argparse.Namespace, finder: SettingsFinder) -> _Gathered:
    """Plans of the working tree beside those of a revision."""
    from groundlint.commands.revisions import Revision
    from groundlint.commands.walk import APART, SUFFIXES

    revision = Revision(args.since, Path())
    named = args.plans or ["."]
    there = [name for name in named if Path(name).exists()]
    within = []
    for name in named:
        path = revision.path_of(Path(name))
        if path is None:
            raise UsageError(f"{name}: not in this repository")
        within.append(path)
    found, tasks, used = gather(args, there, finder) if there else (None, [], [])
    if found is not None and found.failures:
        raise UsageError(": ".join(found.failures[0]))
    after: dict[str, Task] = {}
    for task in tasks:
        name = revision.path_of(task.path) if task.path is not None else None
        if name is None:
            raise UsageError(f"{task.path or '-'}: not in this repository")
        after[name] = task
    before = [
        name
        for name in revision.files(within)
        if name.endswith(SUFFIXES) and not any(part.startswith(".") or part in APART for part in name.split("/")[:-1])
    ]
    missing = [name for name in within if name not in after and not any(_below(one, name) for one in (*before, *after))]
    if missing:
        raise UsageError(f"{missing[0]}: no plans of this name, now or in {args.since}")
    known = set(before)
    gone = {
        name: data for name in before if name not in after and _holds_plan(name, data := revision.read(name) or b"")
    }
    moved = _moved(gone, {name: _bytes(task.path) for name, task in after.items() if name not in known})
    pairs = [
        _pair(task, in_revision=name if name in known else moved.get(name), only_worse=args.only_worse)
        for name, task in after.items()
    ]
    left_out = set() if found is None else {revision.path_of(Path(one.rstrip("/"))) for one in found.left_out}
    lost = [
        name
        for name in gone
        if name not in moved.values() and not any(out is not None and _below(name, out) for out in left_out)
    ]
    return pairs, lost, revision, used


def _below(name: str, folder: str) -> bool:
    return folder == "." or name == folder or name.startswith(f"{folder}/")


def _pair(task: Task, *, old: Path | None = None, in_revision: str | None = None, only_worse: bool = False) -> Pair:
    return Pair(task.path, task.shelf, task.gate, task.offered, old, in_revision, only_worse)


def _holds_plan(name: str, data: bytes) -> bool:
    return name.endswith(".tpg") or b"```tpg" in data or b"~~~tpg" in data


def _bytes(path: Path | None) -> bytes:
    try:
        return path.read_bytes() if path is not None else b""
    except OSError:
        return b""  # said when it is read as a plan


def _moved(old: dict[str, bytes], new: dict[str, bytes]) -> dict[str, str]:
    """Files of another name that are the same plan: by bytes, document number or title; the old by the new."""
    found: dict[str, str] = {}
    for mark in (_whole, _document, _title):
        before, after = _by_mark(old, mark, set(found.values())), _by_mark(new, mark, set(found))
        for key, names in after.items():
            theirs = before.get(key, ())
            if len(names) == len(theirs) == 1:
                found[names[0]] = theirs[0]
    return found


def _by_mark(files: dict[str, bytes], mark: Callable[[bytes], bytes], taken: set[str]) -> dict[bytes, list[str]]:
    found: dict[bytes, list[str]] = {}
    for name, data in files.items():
        key = mark(data)
        if key and name not in taken:
            found.setdefault(key, []).append(name)
    return found


def _whole(data: bytes) -> bytes:
    return data


def _document(data: bytes) -> bytes:
    found = re.search(rb"^[ \t>]*document[ \t]+(\S+)", data, re.MULTILINE | re.IGNORECASE)
    return found[1] if found else b""


def _title(data: bytes) -> bytes:
    found = re.search(rb'^[ \t>]*plan[ \t]+"([^"\n]+)"', data, re.MULTILINE | re.IGNORECASE)
    return found[1] if found else b""


# ------------------------------------------------------------- one pair


class ComparingDesk(Desk):
    """Reviews both plans of a pair against the same books, and compares."""

    def __init__(self, wanted: Wanted, revision: Revision | None = None) -> None:
        super().__init__(wanted)
        self.revision = revision

    def do(self, task: Task) -> Compared:
        """One pair compared. Never raises for what is wrong with a plan."""
        assert isinstance(task, Pair)
        return self.guarded(task, self._compared, Compared)

    def _compared(self, task: Pair) -> Compared:
        from groundlint.findings.compare import compare
        from groundlint.report.comparison import comparison_text, new_plan_text, verdict_of
        from groundlint.text import Severity

        name = str(task.path)
        gate = Severity[task.gate.upper()]
        if task.only_worse and self._untouched(task):
            return Compared(name, OK, verdict="the same")
        new = self.reviewed(task)
        old = self._old(task)
        if old is None:
            return Compared(name, new.status(gate), new_plan_text(new, gate))
        comparison = compare(old, new)
        verdict = verdict_of(comparison, gate)
        silent = verdict != "worse" if task.only_worse else verdict == "the same"
        text = "" if silent else comparison_text(comparison, gate, only_worse=task.only_worse)
        status = comparison.status(gate) if task.only_worse else new.status(gate)
        return Compared(name, status, text, verdict=verdict)

    def _old(self, task: Pair) -> Review | None:
        if task.old is not None:
            return self.reviewed(replace(task, path=task.old))
        if task.old_in_revision is None or self.revision is None:
            return None
        found = self.revision.source(task.old_in_revision)
        if found is None:
            raise UsageError(f"{task.old_in_revision}: it can't be read from {self.revision.name}")
        source, problems = found
        opener = self.revision.opener(task.old_in_revision.rpartition("/")[0])
        reviewer = self.reviewer(task.shelf)
        return reviewer.review(source, opener, dict(self.wanted.given), problems, dict(task.offered))

    def _untouched(self, task: Pair) -> bool:
        """Whether both are the same bytes, and use no other file: then nothing can have got worse."""
        assert task.path is not None
        new = _bytes(task.path)
        if task.old is not None:
            old: bytes | None = _bytes(task.old)
        else:
            old = self.revision.read(task.old_in_revision) if self.revision and task.old_in_revision else None
        return bool(new) and old == new and re.search(rb"^[ \t>]*use\b", new, re.MULTILINE | re.IGNORECASE) is None
