"""A value that changes at some steps, kept as the changes alone.

Position ``at`` counts from 0 (before the first step) to n (the end). What step i does is seen from position i + 1.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Hashable
from sys import maxsize
from threading import local
from typing import Any, Generic, NamedTuple, TypeVar

T = TypeVar("T")
K = TypeVar("K", bound=Hashable)

FOREVER = maxsize
"""Past every position."""


class Reading(local):
    """The positions, from ``since`` up to and not including ``until``, at which all that was read is the same.

    Whatever depends on the position narrows it: the logs do so themselves, what looks at the position in another way
    says so (`only`). What is worked out from that alone therefore holds at all of these positions.
    """

    since = 0
    until = FOREVER

    def narrow(self, since: int, until: int) -> None:
        """What was read is known to be the same at these positions alone."""
        if since > self.since:
            self.since = since
        if until < self.until:
            self.until = until

    def only(self, at: int) -> None:
        """What was read belongs to one position."""
        self.narrow(at, at + 1)


READING = Reading()


class Stretch(NamedTuple, Generic[T]):
    """A value and the positions at which it holds, ``until`` not included."""

    since: int
    until: int
    value: T


NEVER: Stretch[Any] = Stretch(0, 0, None)
NOTHING: list[Any] = []


class Signal(Generic[T]):
    """A value over the positions, worked out where it is asked and kept for as long as what it was read from stays."""

    __slots__ = ("_since", "_stretches", "now")

    def __init__(self) -> None:
        self.now: Stretch[Any] = NEVER  # the stretch last asked for
        self._since: list[int] = NOTHING  # most are only ever asked for one stretch, and have no lists of their own
        self._stretches: list[Stretch[T]] = NOTHING

    def find(self, at: int) -> Stretch[T] | None:
        """The stretch that is known to hold a position."""
        now = self.now
        if now.since <= at < now.until:
            return now
        index = bisect_right(self._since, at)
        if index and at < self._stretches[index - 1].until:
            self.now = self._stretches[index - 1]
            return self.now
        return None

    def keep(self, since: int, until: int, value: T) -> Stretch[T]:
        """A value that holds from a position up to another."""
        before = self.now
        self.now = Stretch(since, until, value)
        if before is NEVER:
            return self.now
        if self._since is NOTHING:
            self._since, self._stretches = [before.since], [before]
        index = bisect_right(self._since, since)
        self._since.insert(index, since)
        self._stretches.insert(index, self.now)
        return self.now

    def at(self, at: int, compute: Callable[..., T], *args: Any) -> Stretch[T]:
        """The stretch of a position; ``compute(*args)`` is asked where it is not known yet."""
        found = self.find(at)
        if found is not None:
            return found
        outer = READING.since, READING.until
        READING.since, READING.until = 0, FOREVER
        try:
            value = compute(*args)
            since, until = READING.since, READING.until
        finally:
            READING.since, READING.until = outer
        if not since <= at < until:  # it looked at other positions too
            since, until = at, at + 1
        return self.keep(since, until, value)

    def read(self, at: int, compute: Callable[..., T], *args: Any) -> T:
        """The value at a position, for what is itself worked out from it."""
        found = self.at(at, compute, *args)
        READING.narrow(found.since, found.until)
        return found.value


def before(positions: list[int], at: int) -> int:
    """How many of these positions, which rise, come before one."""
    index = bisect_left(positions, at)
    since = positions[index - 1] + 1 if index else 0
    READING.narrow(since, positions[index] + 1 if index < len(positions) else FOREVER)
    return index


class Log(Generic[T]):
    """Values by position; looked up in O(log changes)."""

    __slots__ = ("positions", "values")

    def __init__(self) -> None:
        self.positions: list[int] = []
        self.values: list[T] = []

    def put(self, position: int, value: T) -> None:
        """The value from a position on; positions never fall. The last of several at one position counts."""
        if self.positions and self.positions[-1] == position:
            self.values[-1] = value
        else:
            self.positions.append(position)
            self.values.append(value)

    def at(self, position: int) -> T | None:
        """The value at a position; None before the first."""
        index = self._index(position)
        return self.values[index - 1] if index else None

    def since(self, position: int) -> int | None:
        """The position from which on it has the value that it has at a position; None before the first."""
        index = self._index(position)
        return self.positions[index - 1] if index else None

    def _index(self, position: int) -> int:
        positions, reading = self.positions, READING
        index = bisect_right(positions, position)
        if index and positions[index - 1] > reading.since:
            reading.since = positions[index - 1]
        if index < len(positions) and positions[index] < reading.until:
            reading.until = positions[index]
        return index

    @property
    def last(self) -> T | None:
        """The newest value."""
        return self.values[-1] if self.values else None


class Logs(Generic[K, T]):
    """A log for each key."""

    __slots__ = ("by_key",)

    def __init__(self) -> None:
        self.by_key: dict[K, Log[T]] = {}

    def put(self, key: K, position: int, value: T) -> None:
        """The key's value from a position on."""
        log = self.by_key.get(key)
        if log is None:
            log = self.by_key[key] = Log()
        log.put(position, value)

    def at(self, key: K, position: int) -> T | None:
        """The key's value at a position; None before its first."""
        log = self.by_key.get(key)
        return log.at(position) if log is not None else None

    def last(self, key: K) -> T | None:
        """The key's newest value."""
        log = self.by_key.get(key)
        return log.last if log is not None else None

    def known(self) -> tuple[K, ...]:
        """Every key that ever had a value, in the order of their first."""
        return tuple(self.by_key)


__all__ = ["FOREVER", "READING", "Log", "Logs", "Signal", "Stretch", "before"]
