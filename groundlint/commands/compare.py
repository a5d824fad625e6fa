"""`groundlint compare`: what a revision of plans gained and lost."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from groundlint.commands.common import (
    BROKEN,
    FAILED,
    OK,
    UNSHOWN,
    WORD,
    UsageError,
    as_of,
    given_values,
    keep_between_runs,
    read_source,
)
from groundlint.commands.many import Desk, Shelf, Task, Wanted
from groundlint.commands.review import colour_option, gather, plan_options, status_of
from groundlint.commands.settings import GATES, SettingsFinder
from groundlint.text.files import read_file

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
whatever the steps are called and wherever they stand. A plan without an old one is held against the rules whole. A plan
that is gone, or that an ignore file or `exclude` leaves out now, is worse, unless --gone-ok.

Settings are part of what is compared: where the gate was another, the stricter holds; where the books were others, both
are held against, and each plan has the values given in its own settings. What of them changed is printed."""


def add(commands: Subcommands) -> None:
    """The command's arguments."""
    compare = commands.add_parser(
        "compare",
        help="what a revision gained and lost",
        description="Compares plans by meaning: protections, steps, margins and findings, not lines of text.",
        epilog=EPILOG,
    )
    compare.add_argument(
        "plans",
        nargs="*",
        metavar="PLAN",
        help="the old plan and the new one, or two folders; with --since, plans or folders (default: all from here on)",
    )
    compare.add_argument("--since", metavar="REV", help="compare with the plans of a git revision, such as origin/main")
    compare.add_argument("--only-worse", action="store_true", help="fail only on what got worse, and print only that")
    compare.add_argument(
        "--gone-ok", action="store_true", help="a plan that is gone, or left out now, does not make it worse"
    )
    plan_options(compare)
    colour_option(compare)
    compare.set_defaults(run=run)


class Pair(NamedTuple):
    """A new plan with the old one and what held for that; None where it is new altogether. ``gate`` is the stricter of
    both; ``shelves`` are the books to judge by, the old ones too where they differ."""

    new: Task
    old: Task | None = None
    old_name: str = ""
    shelves: tuple[Shelf, ...] = ()
    only_worse: bool = False


class Compared(NamedTuple):
    """What came of a pair; ``verdict`` is empty where there is no old plan."""

    name: str
    status: int = 0
    text: str = ""
    failure: str = ""
    verdict: str = ""


class Side(NamedTuple):
    """The plans of one side, by the names under which they are paired; those left out; the settings files that hold."""

    tasks: dict[str, Task]
    left_out: tuple[str, ...] = ()
    settings: tuple[str, ...] = ()


def run(args: argparse.Namespace) -> int:
    """Compare the plans asked for; the exit status."""
    from tempfile import TemporaryDirectory

    with TemporaryDirectory(prefix="groundlint-") as tree:
        return _run(args, *(_since(args, Path(tree).resolve()) if args.since is not None else _two(args)))


def _run(args: argparse.Namespace, old: Side, new: Side, called: Callable[[str], str]) -> int:
    from groundlint.commands.many import processes, reviews
    from groundlint.commands.progress import Progress
    from groundlint.report.comparison import comparing_closing
    from groundlint.text.decode import visible_name

    moved = _moved(
        {name: _bytes(task.path) for name, task in old.tasks.items() if name not in new.tasks},
        {name: _bytes(task.path) for name, task in new.tasks.items() if name not in old.tasks},
    )
    taken = {name: name if name in old.tasks else moved.get(name) for name in new.tasks}
    shelves = _Shelves()
    pairs = []
    for name, task in new.tasks.items():
        there = taken[name]
        was = (old.tasks[there], called(there)) if there is not None else (None, "")
        pairs.append(shelves.pair(args, task, *was))
    gone = {called(name): _why_gone(name, new.left_out) for name in old.tasks if name not in set(taken.values())}
    keep_between_runs(args)
    desk = ComparingDesk(Wanted(tuple(given_values(args.given).items()), as_of=as_of(args)))
    desk.ready(shelf for pair in pairs for shelf in pair.shelves)
    done: list[Compared] = []
    with Progress(len(pairs)) as progress:
        for one in reviews(desk, pairs, processes(args.jobs, [pair.new.path for pair in pairs])):
            progress.clear()
            if one.failure:
                print(f"groundlint: {one.name}: {one.failure}", file=sys.stderr)
            sys.stdout.write(one.text)
            done.append(one)
            progress.step()
    lost = args.only_worse and gone and not args.gone_ok
    sys.stdout.writelines(f"{visible_name(name)}: {why}{_GONE if lost else ''}\n" for name, why in gone.items())
    failures = sum(bool(one.failure) for one in done)
    verdicts = [one.verdict for one in done if one.verdict]
    added = len(done) - failures - len(verdicts)
    sys.stdout.writelines(f"{line}\n" for line in shelves.changes)
    sys.stdout.write(comparing_closing(verdicts, added, len(gone), failures, new.settings))
    return FAILED if failures else status_of([*(one.status for one in done), BROKEN if lost else OK])


_GONE = "; worse, since nothing is held against it any more (--gone-ok if it is meant to go)"


def _why_gone(name: str, left_out: Sequence[str]) -> str:
    return "left out now" if any(_below(name, one) for one in left_out) else "gone"


# ------------------------------------------------------------- which plans


def _two(args: argparse.Namespace) -> tuple[Side, Side, Callable[[str], str]]:
    """Two plans, or the plans of two folders."""
    if len(args.plans) != 2:
        raise UsageError("compare needs the old plan and the new one, or --since REV")
    old, new = map(Path, args.plans)
    for path in (old, new):
        if not path.exists():
            raise UsageError(f"{path}: no such file or folder")
    if old.is_dir() != new.is_dir():
        raise UsageError(f"{old} and {new}: give two plans, or two folders")
    finder = SettingsFinder()
    if not new.is_dir():
        before, after = _side(args, [old], finder, lambda _: ""), _side(args, [new], finder, lambda _: "")
        # settings are those of where the plan stands now: an old copy may lie anywhere
        task = after.tasks[""]._replace(path=old)
        return Side({"": task}, before.left_out), after, lambda _: str(old)
    return (
        _side(args, [old], finder, lambda path: path.relative_to(old).as_posix()),
        _side(args, [new], finder, lambda path: path.relative_to(new).as_posix()),
        lambda name: str(old / name),
    )


def _since(args: argparse.Namespace, tree: Path) -> tuple[Side, Side, Callable[[str], str]]:
    """Plans of a revision, laid out in a folder, beside those of the working tree."""
    from groundlint.commands.revisions import Revision

    revision = Revision(args.since, Path())
    revision.lay_out(tree)

    def inside(path: Path) -> str:
        found = revision.path_of(path)
        if found is None:
            raise UsageError(f"{path}: not in this repository")
        return found

    named = [Path(name) for name in args.plans or ["."]]
    within = [inside(path) for path in named]
    finder = SettingsFinder()
    new = _side(args, [path for path in named if path.exists()], finder, inside)
    folders = [_as_it_was(tree, revision, folder) for folder in args.books_in]
    then = argparse.Namespace(**{**vars(args), "books_in": folders})
    old = _side(
        then,
        [tree / name for name in within if (tree / name).exists()],
        SettingsFinder(tree, finder.of(revision.root.parent)),
        lambda path: path.relative_to(tree).as_posix(),
    )
    for name, path in zip(within, named, strict=True):
        if not any(_below(one, name) for one in (*old.tasks, *new.tasks)):
            raise UsageError(f"{path}: no plans of this name, now or in {args.since}")
    return old, new, lambda name: f"{args.since}:{name}"


def _as_it_was(tree: Path, revision: Revision, folder: Path) -> Path:
    name = revision.path_of(folder)
    return tree / name if name is not None and (tree / name).is_dir() else folder


def _side(
    args: argparse.Namespace, named: Sequence[Path], finder: SettingsFinder, name_of: Callable[[Path], str]
) -> Side:
    found, tasks, used = gather(args, [str(path) for path in named], finder, may_be_none=True)
    if found.failures:
        raise UsageError(": ".join(found.failures[0]))
    named_tasks = {name_of(task.path): task for task in tasks if task.path is not None}
    return Side(named_tasks, tuple(name_of(Path(one.rstrip("/"))) for one in found.left_out), tuple(used))


def _below(name: str, folder: str) -> bool:
    return folder == "." or name == folder or name.startswith(f"{folder}/")


class _Shelves:
    """Pairs plans, with the stricter of the settings that held and those that hold; ``changes`` says what differs."""

    def __init__(self) -> None:
        self._changes: dict[str, None] = {}
        self._alike: dict[tuple[Shelf, Shelf], bool] = {}

    @property
    def changes(self) -> tuple[str, ...]:
        """A line for each setting that has changed, in the order found."""
        return tuple(self._changes)

    def pair(self, args: argparse.Namespace, task: Task, old: Task | None, old_name: str) -> Pair:
        """A plan with its old one."""
        gate, shelves = task.gate, [task.shelf]
        if old is not None:
            gate = max(task.gate, old.gate, key=GATES.index)
            if task.gate != old.gate:
                self._say(f"the gate was {old.gate} and is {task.gate}; held against {gate}")
            if not self._same(old.shelf, task.shelf):
                shelves.append(old.shelf)
                was, now = ", ".join(old.shelf[0]), ", ".join(task.shelf[0])
                what = f"the books were {was} and are {now}" if was != now else f"the books {now} read otherwise"
                self._say(f"{what}; held against both")
            before, after = dict(old.offered), dict(task.offered)
            for name in sorted(before.keys() | after.keys()):
                if before.get(name) != after.get(name):
                    self._say(
                        f"given {name} was {before.get(name, 'not stated')} and is {after.get(name, 'not stated')};"
                        " each side has its own"
                    )
        return Pair(task._replace(gate=gate), old, old_name, tuple(shelves), args.only_worse)

    def _same(self, one: Shelf, other: Shelf) -> bool:
        from groundlint.commands.revisions import same_files

        key = one, other
        if key not in self._alike:
            self._alike[key] = one == other or (one[0] == other[0] and same_files(one[1], other[1]))
        return self._alike[key]

    def _say(self, words: str) -> None:
        self._changes[f"settings changed: {words}"] = None


def _bytes(path: Path | None) -> bytes:
    """What stays the same in a plan that was moved: its bytes; of a Word document, its text."""
    try:
        if path is not None and path.suffix.lower() == WORD:
            return read_source(path)[0].text.encode("utf-8", "surrogatepass")
        return read_file(path) if path is not None else b""
    except (OSError, UsageError):
        return b""  # said when it is read as a plan


def _moved(old: dict[str, bytes], new: dict[str, bytes]) -> dict[str, str]:
    """Plans that have another name now, by new name: the same by bytes, document number or title."""
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

    def do(self, pair: Pair) -> Compared:
        """One pair compared. Never raises for what is wrong with a plan."""
        return self.guarded(pair.new.path, lambda: self._compared(pair), Compared)

    def _compared(self, pair: Pair) -> Compared:
        from groundlint.findings.compare import compare
        from groundlint.report.comparison import comparison_text, new_plan_text, verdict_of
        from groundlint.text import Severity
        from groundlint.text.decode import visible, visible_name

        name = visible_name(str(pair.new.path))
        gate = Severity[pair.new.gate.upper()]
        if pair.only_worse and self._untouched(pair):
            return Compared(name, OK, verdict="the same")
        new = self.reviewed(pair.new)
        if pair.old is None:
            return Compared(name, new.status(gate), visible(new_plan_text(new, gate)))
        found = [
            compare(self.reviewed(pair.old._replace(shelf=shelf), pair.old_name), self._by(pair.new, shelf, new))
            for shelf in pair.shelves
        ]
        comparison = min(found, key=lambda one: _GRAVITY.index(one.status(gate)))
        verdict = verdict_of(comparison, gate)
        silent = verdict != "worse" if pair.only_worse else verdict == "the same"
        text = "" if silent else comparison_text(comparison, gate, only_worse=pair.only_worse)
        if text and comparison is not found[0]:
            text += "  this is by the books as they were\n"
        status = comparison.status(gate) if pair.only_worse else new.status(gate)
        return Compared(name, status, visible(text), verdict=verdict)

    def _by(self, task: Task, shelf: Shelf, new: Review) -> Review:
        return new if shelf == task.shelf else self.reviewed(task._replace(shelf=shelf))

    def _untouched(self, pair: Pair) -> bool:
        """Whether both are the same bytes, held against the same, and use no other file: then nothing got worse."""
        if pair.old is None or len(pair.shelves) > 1 or pair.new.offered != pair.old.offered:
            return False
        if pair.new.path is None or pair.new.path.suffix.lower() == WORD:
            return False  # the same text may be struck through
        new, old = _bytes(pair.new.path), _bytes(pair.old.path)
        return bool(new) and old == new and re.search(rb"^[ \t>]*use\b", new, re.MULTILINE | re.IGNORECASE) is None


_GRAVITY = (BROKEN, UNSHOWN, OK)
