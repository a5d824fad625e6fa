"""A value that changes at some steps, kept as the changes alone.

Position ``at`` counts from 0 (before the first step) to n (the end). What step i does is seen from position i + 1.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Hashable
from typing import Generic, TypeVar

T = TypeVar("T")
K = TypeVar("K", bound=Hashable)


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
        index = bisect_right(self.positions, position)
        return self.values[index - 1] if index else None

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


__all__ = ["Log", "Logs"]
