"""A line on a terminal that says how far a long run has come. Elsewhere nothing is written."""

from __future__ import annotations

import os
import sys
from types import TracebackType

WIDTH = 24
"""Columns of the bar."""


class Progress:
    """Counts plans done. Other output is to be preceded by `clear`."""

    def __init__(self, total: int) -> None:
        self.total = total
        self.done = 0
        self.shown = total > 1 and sys.stderr.isatty() and os.environ.get("TERM") != "dumb"

    def __enter__(self) -> Progress:
        return self

    def __exit__(
        self, sort: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.clear()

    def step(self) -> None:
        """One more is done."""
        self.done += 1
        if self.shown:
            full = WIDTH * self.done // self.total
            bar = "#" * full + "." * (WIDTH - full)
            sys.stderr.write(f"\r[{bar}] {self.done} of {self.total} plans")
            sys.stderr.flush()

    def clear(self) -> None:
        """Takes the line away."""
        if self.shown and self.done:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()
