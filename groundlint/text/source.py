"""Source text and places in it.

Offsets are code points into ``Source.text``; lines and columns are counted from 1 for people. The editor protocols
count columns in UTF-16 code units from 0, which `Source.utf16_column` gives.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from typing import NamedTuple


class Position(NamedTuple):
    """A line and a column, both counted from 1, the column in code points."""

    line: int
    column: int


@dataclass(frozen=True, slots=True, eq=False)
class Source:
    """A named text with its table of line starts. Two sources are the same only if they are one object."""

    name: str
    text: str
    line_starts: tuple[int, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        starts = [0]
        find = self.text.find
        at = find("\n")
        while at >= 0:
            starts.append(at + 1)
            at = find("\n", at + 1)
        object.__setattr__(self, "line_starts", tuple(starts))

    def position(self, offset: int) -> Position:
        """Line and column of a code point offset; an offset past the end is the end."""
        offset = max(0, min(offset, len(self.text)))
        line = bisect_right(self.line_starts, offset)
        return Position(line, offset - self.line_starts[line - 1] + 1)

    def line_text(self, line: int) -> str:
        """The text of a line counted from 1, without its line end; empty past the end."""
        if not 1 <= line <= len(self.line_starts):
            return ""
        start = self.line_starts[line - 1]
        end = self.line_starts[line] - 1 if line < len(self.line_starts) else len(self.text)
        return self.text[start:end].rstrip("\r")

    def utf16_column(self, offset: int) -> int:
        """Column of an offset in UTF-16 code units, counted from 0."""
        line, column = self.position(offset)
        start = self.line_starts[line - 1]
        return len(self.text[start : start + column - 1].encode("utf-16-le", "surrogatepass")) // 2

    def span(self, start: int, end: int) -> Span:
        """The stretch from ``start`` up to but not including ``end``."""
        return Span(self, start, end)


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of one source: ``start`` up to but not including ``end``, in code points."""

    source: Source = field(repr=False)
    start: int
    end: int

    @property
    def position(self) -> Position:
        """Where it begins."""
        return self.source.position(self.start)

    @property
    def line(self) -> int:
        """The line it begins on, counted from 1."""
        return self.source.position(self.start).line

    @property
    def text(self) -> str:
        """The words themselves."""
        return self.source.text[self.start : self.end]

    def to(self, other: Span) -> Span:
        """From where this begins to where the other ends."""
        return Span(self.source, self.start, max(self.end, other.end))
