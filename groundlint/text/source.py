"""Source text and places in it.

Offsets are code points into ``Source.text``; lines and columns are counted from 1 for people. The editor protocols
count columns in UTF-16 code units from 0, which `Source.utf16_column` gives. `Source.called` says what people call a
place: a line, or a step of a document that shows no lines.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from typing import Final, NamedTuple

from groundlint.text.numbering import WRITTEN, bare


class Position(NamedTuple):
    """A line and a column, both counted from 1, the column in code points."""

    line: int
    column: int


class Marks(NamedTuple):
    """What is known of a text that was taken out of a document of another form. Offsets, in their order."""

    plan: tuple[tuple[int, int], ...]
    """The stretches that are the plan; all else is what stands around it."""
    unwritten: tuple[tuple[int, int, str], ...]
    """The stretches that stand in the text and nobody typed, as automatic numbers and indents do, each with the number
    that it shows, or nothing."""
    paragraphs: tuple[int, ...]
    """Where each paragraph begins."""


FIRST_WORDS = 32
"""Characters of a paragraph by which it is named beside its number, which no page shows."""
_TYPED_NUMBER = rf"\s*({WRITTEN})"


class Source:
    """A named text with its table of line starts. Two sources are the same only if they are one object.

    ``marks`` has what is known of one that is no file of its own, but was taken out of a document.
    """

    __slots__ = ("_called", "line_starts", "marks", "name", "text")

    def __init__(self, name: str, text: str, marks: Marks | None = None) -> None:
        self.name: Final = name
        self.text: Final = text
        self.marks: Final = marks
        starts = [0]
        find = text.find
        at = find("\n")
        while at >= 0:
            starts.append(at + 1)
            at = find("\n", at + 1)
        self.line_starts: Final = tuple(starts)
        self._called: Final = () if marks is None else tuple(_names_of_lines(self, marks))

    def __repr__(self) -> str:
        return f"Source({self.name!r})"

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

    def called(self, line: int) -> str:
        """What people call a line: ``line 27``; in a document that shows no lines, ``step 3`` or ``paragraph 14``."""
        if self.marks is None:
            return f"line {line}"
        return self._called[max(0, min(line, len(self._called)) - 1)]

    def wrote(self, offset: int) -> bool:
        """Whether somebody typed what stands at an offset: an automatic number nobody did."""
        if self.marks is None:
            return True
        at = bisect_right(self.marks.unwritten, offset, key=lambda one: one[0])
        return not at or offset >= self.marks.unwritten[at - 1][1]

    def utf16_column(self, offset: int) -> int:
        """Column of an offset in UTF-16 code units, counted from 0."""
        line, column = self.position(offset)
        start = self.line_starts[line - 1]
        return len(self.text[start : start + column - 1].encode("utf-16-le", "surrogatepass")) // 2

    def span(self, start: int, end: int) -> Span:
        """The stretch from ``start`` up to but not including ``end``."""
        return Span(self, start, end)


class Span(NamedTuple):
    """A stretch of one source: ``start`` up to but not including ``end``, in code points."""

    source: Source
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
    def called(self) -> str:
        """What people call the line it begins on."""
        return self.source.called(self.line)

    @property
    def address(self) -> str:
        """The file and the place in it, as text for people begins with."""
        line, column = self.position
        name = self.source.name
        return f"{name}:{line}:{column}" if self.source.marks is None else f"{name}: {self.called}"

    @property
    def text(self) -> str:
        """The words themselves."""
        return self.source.text[self.start : self.end]

    def to(self, other: Span) -> Span:
        """From where this begins to where the other ends."""
        return Span(self.source, self.start, max(self.end, other.end))


def _names_of_lines(source: Source, marks: Marks) -> list[str]:
    """Each line by the number of its step, which is the paragraph's for the lines of it that have none; else by its
    paragraph, with its first words. A number that several paragraphs have is given with the paragraph."""
    from textwrap import shorten  # only a document needs it

    automatic = {start: number for start, _, number in marks.unwritten if number}
    steps: list[tuple[str, int]] = []
    for start in source.line_starts:
        paragraph = bisect_right(marks.paragraphs, start)
        within = bisect_right(marks.plan, start, key=lambda one: one[0])
        number = automatic.get(start) or ""
        if not within or start >= marks.plan[within - 1][1]:
            number = ""
        elif not number:
            typed = re.compile(_TYPED_NUMBER).match(source.text, start)
            number = (
                bare(typed[1]) if typed else automatic.get(marks.paragraphs[paragraph - 1], "") if paragraph else ""
            )
        steps.append((number, paragraph))
    paragraphs: dict[str, set[int]] = {}
    for number, paragraph in steps:
        paragraphs.setdefault(number, set()).add(paragraph)
    named = []
    for line, (number, paragraph) in enumerate(steps, 1):
        if number:
            named.append(f"step {number}" + f" (paragraph {paragraph})" * (len(paragraphs[number]) > 1))
        else:
            begins = shorten(source.line_text(line)[:200], FIRST_WORDS, placeholder="...")
            named.append(f"paragraph {paragraph}" + f" ({begins})" * bool(begins))
    return named
