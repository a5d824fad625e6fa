"""A value that changes at some steps, kept as the changes alone.

Position ``at`` counts from 0 (before the first step) to n (the end). What step i does is seen from position i + 1.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Hashable
from sys import maxsize
from threading import local
from typing import Any, Generic, TypeVar

T = TypeVar("T")
K = TypeVar("K", bound=Hashable)

FOREVER = maxsize
"""Past every position."""


class Reading:
    """The positions, from ``since`` up to and not including ``until``, at which all that was read is the same.

    Whatever depends on the position narrows it: the logs do so themselves, what looks at the position in another way
    says so (`Readings.only`). What is worked out from that alone therefore holds at all of these positions.
    """

    __slots__ = ("since", "until")

    def __init__(self) -> None:
        self.since, self.until = 0, FOREVER

    def narrow(self, since: int, until: int) -> None:
        """What was read is known to be the same at these positions alone."""
        if since > self.since:
            self.since = since
        if until < self.until:
            self.until = until


class Readings:
    """One for each thread."""

    __slots__ = ("_thread",)

    def __init__(self) -> None:
        self._thread = local()  # not a class of its own made of it, which takes five times as long to ask

    def mine(self) -> Reading:
        """That of this thread."""
        try:
            found: Reading = self._thread.reading
        except AttributeError:
            found = self._thread.reading = Reading()
        return found

    def narrow(self, since: int, until: int) -> None:
        """What was read is known to be the same at these positions alone."""
        self.mine().narrow(since, until)

    def only(self, at: int) -> None:
        """What was read belongs to one position."""
        self.mine().narrow(at, at + 1)


READING = Readings()


NOTHING: list[Any] = []


class Signal(Generic[T]):
    """A value over the positions, worked out where it is asked and kept for as long as what it was read from stays.

    It shows one of its stretches, the one last asked for: ``value`` holds from ``since`` up to, not including,
    ``until``.
    """

    __slots__ = ("_kept", "_since", "since", "until", "value")

    def __init__(self) -> None:
        self.since = self.until = 0
        self.value: Any = None
        self._since: list[int] = NOTHING  # most are only ever asked for one stretch, and have no lists of their own
        self._kept: list[tuple[int, int, T]] = NOTHING

    def knows(self, at: int) -> bool:
        """Whether a stretch is known that holds a position; it is then shown."""
        if self.since <= at < self.until:
            return True
        index = bisect_right(self._since, at)
        if index and at < self._kept[index - 1][1]:
            self.since, self.until, self.value = self._kept[index - 1]
            return True
        return False

    def keep(self, since: int, until: int, value: T) -> None:
        """A value that holds from a position up to another."""
        if self.until:
            if self._since is NOTHING:
                self._since, self._kept = [self.since], [(self.since, self.until, self.value)]
            index = bisect_right(self._since, since)
            self._since.insert(index, since)
            self._kept.insert(index, (since, until, value))
        self.since, self.until, self.value = since, until, value

    def at(self, at: int, compute: Callable[..., T], *args: Any) -> Signal[T]:
        """Itself, showing the stretch of a position; ``compute(*args)`` is asked where it is not known yet."""
        if self.knows(at):
            return self
        reading = READING.mine()
        outer = reading.since, reading.until
        reading.since, reading.until = 0, FOREVER
        try:
            value = compute(*args)
            since, until = reading.since, reading.until
        finally:
            reading.since, reading.until = outer
        if not since <= at < until:  # it looked at other positions too
            since, until = at, at + 1
        self.keep(since, until, value)
        return self

    def read(self, at: int, compute: Callable[..., T], *args: Any) -> T:
        """The value at a position, for what is itself worked out from it."""
        self.at(at, compute, *args)
        READING.narrow(self.since, self.until)
        found: T = self.value
        return found


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
        index = self.index(position)
        return self.values[index - 1] if index else None

    def since(self, position: int) -> int | None:
        """The position from which on it has the value that it has at a position; None before the first."""
        index = self.index(position)
        return self.positions[index - 1] if index else None

    def index(self, position: int) -> int:
        """How many of its values begin at a position or before."""
        positions, reading = self.positions, READING.mine()
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
        if log is None:
            return None
        index = log.index(position)
        return log.values[index - 1] if index else None

    def last(self, key: K) -> T | None:
        """The key's newest value."""
        log = self.by_key.get(key)
        return log.last if log is not None else None

    def known(self) -> tuple[K, ...]:
        """Every key that ever had a value, in the order of their first."""
        return tuple(self.by_key)


__all__ = ["FOREVER", "READING", "Log", "Logs", "Signal", "before"]
