"""Many plans reviewed at once, on every core: the books are made ready once in each process."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from pathlib import Path
from typing import TypeVar

from groundlint.findings.model import Review
from groundlint.reading.resolve import Opener
from groundlint.review import DEFAULT_BOOKS, Reviewer, load_rulebook
from groundlint.text import Source

Item = TypeVar("Item")
Answer = TypeVar("Answer")


COMPUTED = "electrical"
"""The default book that solves a plan's circuit, at ten times the others' time; fewer plans are held against it."""


def reviewer(computed: bool = False) -> Reviewer:
    """The default books but the one that computes, or all of them."""
    return reviewer_by(*(name for name in DEFAULT_BOOKS if computed or name != COMPUTED))


@cache
def reviewer_by(*names: str) -> Reviewer:
    """These books, made ready once; each must load."""
    books = []
    for name in names:
        book, problems = load_rulebook(name)
        assert book is not None, name
        assert not problems, [(one.span.source.name, one.span.line, one.message) for one in problems]
        books.append(book)
    return Reviewer(books)


def reviewed(text: str, name: str = "plan.tpg", at_home: Opener | None = None, *, computed: bool = False) -> Review:
    """A plan's text held against those books; ``at_home`` opens the files that it uses."""
    return reviewer(computed).review(Source(name, text), at_home)


def opener(folder: Path) -> Opener:
    """Opens files of a folder."""

    def open_one(name: str) -> Source | str:
        path = folder / name
        return Source(str(path), path.read_text(encoding="utf-8")) if path.is_file() else "no such file"

    return open_one


def on_every_core(work: Callable[[Item], Answer], items: Iterable[Item], chunk: int = 20) -> list[Answer]:
    """``work`` of each item, in order. It must be a function of a module. Where the tests are themselves spread over
    cores it is done here: the other cores are busy, and a process that has run many tests would be copied whole."""
    everything = list(items)
    if "PYTEST_XDIST_WORKER" in os.environ:
        return [work(item) for item in everything]
    cores = max(1, min(os.cpu_count() or 1, 4))
    with ProcessPoolExecutor(max_workers=cores) as pool:
        return list(pool.map(work, everything, chunksize=chunk))
