"""Results kept by what a network is made of, so that a step that connects nothing costs nothing.

The key of a state is the set of elements that are connected, not their place in a list or the step they belong to: a
plan to which a lead is added in its last step keeps all that was solved for the steps before.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable, Iterable
from dataclasses import dataclass, field
from typing import Generic, TypeVar

import numpy as np

from groundlint.electrical.solver.layout import IntArray
from groundlint.electrical.solver.network import NotSolvable
from groundlint.electrical.solver.solution import Rows

T = TypeVar("T")


class Recent(Generic[T]):
    """The last `limit` things kept, by what they follow from, least recently used first out. For one thread alone."""

    def __init__(self, limit: int) -> None:
        self.limit = limit
        self._kept: OrderedDict[Hashable, T] = OrderedDict()

    def get(self, key: Hashable) -> T | None:
        """What is kept under a key, if it still is."""
        if key not in self._kept:
            return None
        self._kept.move_to_end(key)
        return self._kept[key]

    def put(self, key: Hashable, found: T) -> None:
        """Keep it, and drop the oldest past the limit."""
        self._kept[key] = found
        while len(self._kept) > self.limit:
            self._kept.popitem(last=False)

    def clear(self) -> None:
        """Drop everything."""
        self._kept.clear()


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """What one call solved: rows for its states, the names its columns have, and its own list of reasons."""

    names: tuple[str, ...]
    arms: tuple[tuple[str, int], ...]
    rows: Rows
    reasons: tuple[NotSolvable, ...]


@dataclass(frozen=True, slots=True)
class Record:
    """Results of one state: row `number` of what a call solved."""

    solved: Solved
    number: int


@dataclass(slots=True)
class SolutionCache:
    """The last `limit` states solved, with small numbers for what they are made of."""

    limit: int = 4096
    hits: int = 0
    misses: int = 0
    _records: Recent[Record] = field(init=False)
    _numbers: dict[Hashable, int] = field(default_factory=dict)
    _next: int = 0

    def __post_init__(self) -> None:
        self._records = Recent(self.limit)

    def number(self, content: Hashable) -> tuple[int, bool]:
        """A small number that stands for `content` in keys, and whether it is new; equal contents have equal
        numbers."""
        known = self._numbers.get(content)
        if known is not None:
            return known, False
        self._next += 1
        self._numbers[content] = self._next
        return self._next, True

    def get(self, key: Hashable) -> Record | None:
        """The record of a state, if it is kept."""
        record = self._records.get(key)
        if record is None:
            self.misses += 1
            return None
        self.hits += 1
        return record

    def put(self, key: Hashable, record: Record) -> None:
        """Keep a record."""
        self._records.put(key, record)

    def withdraw(self, contents: Iterable[Hashable]) -> None:
        """Take back the numbers of contents that turned out to be faulty."""
        for content in contents:
            self._numbers.pop(content, None)

    def forget_numbers(self) -> None:
        """Drop everything once the numbers outgrow the records they serve, so that a long session does not grow."""
        if len(self._numbers) > 64 * self.limit:
            self._records.clear()
            self._numbers.clear()


def place(solved: Solved, names: tuple[str, ...], arms: tuple[tuple[str, int], ...]) -> tuple[IntArray, IntArray]:
    """Where each of `names` and `arms` stands in what was solved, -1 where it has none of that name."""
    if solved.names == names and solved.arms == arms:
        return np.arange(len(names)), np.arange(len(arms))
    node_at = {name: number for number, name in enumerate(solved.names)}
    arm_at = {label: number for number, label in enumerate(solved.arms)}
    return (
        np.array([node_at.get(name, -1) for name in names], dtype=np.intp),
        np.array([arm_at.get(label, -1) for label in arms], dtype=np.intp),
    )
