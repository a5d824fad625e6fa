"""Plans reviewed one after another, or spread over processes: the same results in the same order.

A process takes a plan's name and the settings that hold for it, and gives back what is to be printed and plain values;
what went wrong with one plan is part of its result and stops no other.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from copy import copy
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol, Self, TypeVar

from groundlint.commands.common import UsageError, load_books, opener_in, read_source
from groundlint.commands.kept_reviews import KeptReviews, Opened, of_source
from groundlint.text.store import keep_in, kept_in
from groundlint.words.faults import fault

if TYPE_CHECKING:
    from groundlint.findings.model import Review
    from groundlint.findings.repairs import Mended
    from groundlint.reading.resolve import Opener
    from groundlint.report.record import PlanEntry
    from groundlint.review import Reviewer
    from groundlint.rulebook.model import Rulebook
    from groundlint.text import Diagnostic, Source

WORTH = 24
"""Plans from which on more processes pay for their start."""

Shelf = tuple[tuple[str, ...], tuple[Path, ...]]
"""Names of rulebooks and the folders of one's own to look in."""


class Task(NamedTuple):
    """A plan to review, None for standard input, and what holds for it."""

    path: Path | None
    shelf: Shelf
    gate: str
    offered: tuple[tuple[str, str], ...] = ()


class Wanted(NamedTuple):
    """What every plan of a run shares: values given, and what is wanted of each review."""

    given: tuple[tuple[str, str], ...] = ()
    text: bool = True
    why: bool = False
    everything: bool = False
    ask: bool = False
    as_of: date | None = None
    colour: bool = False
    entries: bool = False
    repairs: bool = False
    notes: bool = False
    propose: bool = False


class Done(NamedTuple):
    """A plan's review: its name, its status, the text and the plain values asked for; or why there is none."""

    name: str
    status: int = 0
    text: str = ""
    entry: PlanEntry | None = None
    failure: str = ""
    word: str = ""
    read: bytes = b""
    """A digest of the plan as it was read."""
    opened: tuple[tuple[str, bytes], ...] = ()
    """The files that the plan uses, each with a digest of what came of it."""
    notes: tuple[tuple[int, int, str], ...] = ()
    """Each finding, to be written beside the stretch of the text that it is about."""
    mended: str | None = None
    """The text with every proven repair made."""


T_contra = TypeVar("T_contra", contravariant=True)
D_co = TypeVar("D_co", covariant=True)
T = TypeVar("T")
D = TypeVar("D")


class Works(Protocol[T_contra, D_co]):
    """A desk that makes something of each of several tasks, in one process or in many."""

    def bare(self) -> Self:
        """The same desk without what another process reads for itself."""
        ...

    def do(self, task: T_contra, /) -> D_co:
        """What is made of a task. Never raises for what is wrong with it."""
        ...


class Desk:
    """What reads plans and reviews them in one process: books are read once."""

    def __init__(self, wanted: Wanted) -> None:
        self.wanted = wanted
        self._reviewers: dict[Shelf, Reviewer] = {}

    def reviewer(self, shelf: Shelf) -> Reviewer:
        """The books made ready. `UsageError` if one can't be read."""
        found = self._reviewers.get(shelf)
        if found is None:
            from groundlint.review import Reviewer

            found = self._reviewers[shelf] = Reviewer(load_books(*shelf), self.wanted.as_of)
        return found

    def bare(self) -> Self:
        """The same desk without its books, to be sent to another process."""
        other = copy(self)
        other._reviewers = {}
        return other

    def ready(self, shelves: Iterable[Shelf]) -> None:
        """All the books that the tasks need, so that one that can't be read is reported before any plan is reviewed."""
        for shelf in dict.fromkeys(shelves):
            self.reviewer(shelf)

    def books(self) -> tuple[Rulebook, ...]:
        """Every book read."""
        return tuple(book for one in self._reviewers.values() for book in one.books)

    def reviewed(self, task: Task, name: str = "") -> Review:
        """The review of a plan, under its own name or another. `UsageError` if its file can't be read."""
        return self.review_of(task, *read_source(task.path, name), opener_of(task))

    def review_of(self, task: Task, source: Source, problems: Sequence[Diagnostic], opener: Opener) -> Review:
        """The review of a source with what holds for a task."""
        given, offered = dict(self.wanted.given), dict(task.offered)
        return self.reviewer(task.shelf).review(source, opener, given, problems, offered)

    def mended(self, task: Task, review: Review) -> Mended:
        """A plan that was reviewed, mended as far as it can be."""
        given, offered = dict(self.wanted.given), dict(task.offered)
        return self.reviewer(task.shelf).mended(review, opener_of(task), given, offered)

    def guarded(self, path: Path | None, work: Callable[[], D], made: Callable[..., D]) -> D:
        """What comes of work on a plan; where that fails, what is ``made`` of the plan's name and a ``failure``."""
        from groundlint.text.decode import visible_name

        name = visible_name(str(path)) if path is not None else "<stdin>"
        try:
            return work()
        except UsageError as error:
            return made(name, failure=str(error).removeprefix(f"{name}: "))
        except Exception as error:  # a fault of our own must not hide the other plans, nor pass for a review
            return made(name, failure=f"groundlint failed on it ({fault(error)}); please report this")


class ReviewingDesk(Desk):
    """Reviews plans and says of each what is wanted."""

    def do(self, task: Task) -> Done:
        """One plan reviewed. Never raises for what is wrong with it."""
        return self.guarded(task.path, lambda: self._review(task), Done)

    def _review(self, task: Task) -> Done:
        from groundlint.text import Severity

        source, problems = read_source(task.path)
        opener, read = Opened(opener_of(task)), of_source(source, problems)
        review = self.review_of(task, source, problems, opener)
        gate = Severity[task.gate.upper()]
        text, entry = "", None
        if self.wanted.text:
            from groundlint.report.text import CODES, asks_text, review_text
            from groundlint.text.decode import visible

            wanted = self.wanted
            text = (
                asks_text(review, colour=wanted.colour, everything=wanted.everything)
                if wanted.ask
                else review_text(review, why=wanted.why, colour=wanted.colour, everything=wanted.everything)
            )
            text = visible(text, *(CODES if wanted.colour else ()))
        if self.wanted.entries:
            from groundlint.report.record import plan_entry

            given, offered = dict(self.wanted.given), dict(task.offered)
            by = self.reviewer(task.shelf)
            entry = plan_entry(review, gate, by.repairs(review, opener, given, offered) if self.wanted.repairs else ())
        notes, proposed = self._notes(task, review)
        name, status, word = review.plan.source.name, review.status(gate), review.word(gate)
        opened = tuple(opener.found.items())
        return Done(name, status, text, entry, "", word, read, opened, notes, proposed)

    def _notes(self, task: Task, review: Review) -> tuple[tuple[tuple[int, int, str], ...], str | None]:
        """What is to be written into a document: findings, and the text with repairs made."""
        if not self.wanted.notes:
            return (), None
        from groundlint.report.text import review_notes
        from groundlint.text.decode import visible

        said = review_notes(review, everything=self.wanted.everything)
        notes = tuple((span.start, span.end, visible(text).replace("\t", " ")) for span, text in said)
        mend = self.wanted.propose and not review.plan.unread
        return notes, self.mended(task, review).review.plan.source.text if mend else None


def opener_of(task: Task) -> Opener:
    """What opens the files that a plan uses, from the folder that it stands in."""
    return opener_in(task.path.parent if task.path is not None else Path())


def processes(asked: int | None, paths: Sequence[Path | None]) -> int:
    """How many processes to use: as many as asked, or as cores where there are plans enough."""
    if None in paths:
        return 1  # standard input is read here
    if asked is None:
        if len(paths) < WORTH:
            return 1
        cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
        asked = cores or 1
    return max(1, min(asked, len(paths)))


_DESK: Works[Any, Any] | None = None
"""The desk of this process, when it is one of several. A forked process has it, with its books, from its parent."""


def review_all(desk: ReviewingDesk, tasks: Sequence[Task], jobs: int | None) -> Iterator[Done]:
    """Each plan's review, in the order of the tasks: one that is kept, or a new one, made in so many processes.
    `UsageError` if a book can't be read, or a process ends before its time."""
    if kept_in() is None:
        desk.ready(task.shelf for task in tasks)
        yield from reviews(desk, tasks, processes(jobs, [task.path for task in tasks]))
        return
    kept = KeptReviews(desk.wanted)
    known = [kept.get(task) for task in tasks]
    rest = [task for task, done in zip(tasks, known, strict=True) if done is None]
    desk.ready(task.shelf for task in rest)
    made: list[tuple[Task, Done]] = []
    coming = reviews(desk, rest, processes(jobs, [task.path for task in rest]))
    for task, done in zip(tasks, known, strict=True):
        if done is None:
            made.append((task, next(coming)))
        yield done or made[-1][1]
    kept.put(made)


def reviews(desk: Works[T, D], tasks: Sequence[T], jobs: int) -> Iterator[D]:
    """What the desk makes of each task, in their order, in so many processes."""
    if jobs <= 1:
        for task in tasks:
            yield desk.do(task)
        return
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool

    global _DESK
    _DESK = desk
    chunk = max(1, min(16, len(tasks) // (4 * jobs)))
    pool = ProcessPoolExecutor(jobs, initializer=_start, initargs=(desk.bare(), kept_in()))
    try:
        yield from pool.map(_work, tasks, chunksize=chunk)
    except BrokenProcessPool:
        raise UsageError("a process that was reviewing plans has ended; nothing more was reviewed") from None
    finally:
        pool.shutdown(cancel_futures=True)
        _DESK = None


def _start(desk: Works[Any, Any], folder: Path | None) -> None:
    import signal

    global _DESK
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the first process gets it too, and ends this one
    if _DESK is None:
        keep_in(folder)
        _DESK = desk


def _work(task: Any) -> Any:
    assert _DESK is not None
    return _DESK.do(task)
