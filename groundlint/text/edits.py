"""Edits of a text: stretches of it put in the place of others, and lines put in between its lines."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from groundlint.text.numbering import bare, order_of
from groundlint.text.source import Marks, Source, Span

_QUOTES = re.compile(r"(?:[ \t]*>)*")
_STEP_NUMBER = re.compile(r"([0-9.a-z]*(?:[0-9]|\.[a-z]))([a-y]?)\Z")


class Edit(NamedTuple):
    """Texts to stand in the place of stretches of one source that do not overlap; ``says`` it in words."""

    says: str
    pieces: tuple[tuple[Span, str], ...]

    @property
    def moves(self) -> bool:
        """Whether it takes a line from one place to another."""
        return any(not put for _, put in self.pieces)


def line_before(span: Span, lead: str, text: str) -> tuple[Span, str]:
    """A line of ``lead`` and ``text`` above the one that a span begins on."""
    source = span.source
    start = source.line_starts[span.line - 1]
    return source.span(start, start), f"{lead}{text}{_end_of_line(source)}"


def line_after(span: Span, lead: str, text: str) -> tuple[Span, str]:
    """A line of ``lead`` and ``text`` below the one that a span ends on."""
    source = span.source
    end = source.text.find("\n", span.end)
    if end < 0:
        end = len(source.text)
        return source.span(end, end), f"{_end_of_line(source)}{lead}{text}"
    return source.span(end + 1, end + 1), f"{lead}{text}{_end_of_line(source)}"


def whole_line(span: Span) -> Span:
    """The line that a span begins on, with its end."""
    source, line = span.source, span.line
    end = source.line_starts[line] if line < len(source.line_starts) else len(source.text)
    return source.span(source.line_starts[line - 1], end)


def lead_of(span: Span) -> str:
    """What stands on the line before a span: the indent, and the step's number if it has one."""
    return span.source.text[span.source.line_starts[span.line - 1] : span.start]


def lead_between(beside: str, above: str | None) -> str:
    """The indent of a new line between a numbered step and the next, with a number of its own: 7a after 7, 7b after
    7a, 7a.1 where there is a 7b; none where there is none between them."""
    match = _STEP_NUMBER.match(above) if above else None
    quotes = _QUOTES.match(beside)[0]  # type: ignore[index]
    number = beside[len(quotes) :]
    if not number.strip():
        return beside
    if match is None:
        return quotes + number[: len(number) - len(number.lstrip())]
    letter = chr(ord(match[2]) + 1) if match[2] else "a"
    mark = number.strip()[-1] if number.strip()[-1] in ".):" else ""
    mine, own, below = f"{match[1]}{letter}", order_of(match[0]), order_of(bare(number.strip()))
    if own < below <= order_of(mine):  # the number after it is taken
        mine = f"{match[0]}.1"
    if own < below <= order_of(mine):
        return quotes + number[: len(number) - len(number.lstrip())]
    return f"{quotes}{f'{mine}{mark}'.rjust(len(number.rstrip()))}{number[len(number.rstrip()) :]}"


def number_of(lead: str) -> str | None:
    """The number that stands in what `lead_between` gives, if one does."""
    return bare(lead.lstrip("> \t").rstrip()) or None


def edited(source: Source, edits: Iterable[Edit]) -> Source:
    """A source with edits made; pieces at one place come out in the order given."""
    text, at = [], 0
    pieces = sorted(
        (piece for edit in edits for piece in edit.pieces), key=lambda piece: (piece[0].start, piece[0].end)
    )
    for span, put in pieces:
        text += [source.text[at : span.start], put]
        at = span.end
    marks = source.marks and _moved(source.marks, pieces)
    return Source(source.name, "".join([*text, source.text[at:]]), marks)


def _moved(marks: Marks, pieces: Sequence[tuple[Span, str]]) -> Marks:
    """Where the stretches of a text are once it is edited: what is put in at an edge of the plan is part of it, and of
    no paragraph or number that begins there."""

    def moved(at: int, past: bool) -> int:
        by = 0
        for span, put in pieces:
            if span.end < at or (span.end == at and (past or span.start < at)):
                by += len(put) - (span.end - span.start)
            elif span.start < at:
                return span.start + by + len(put)
        return at + by

    return Marks(
        tuple((moved(start, False), moved(end, True)) for start, end in marks.plan),
        tuple(
            (first, last, number)
            for start, end, number in marks.unwritten
            if (first := moved(start, True)) < (last := moved(end, False))
        ),
        tuple(moved(start, True) for start in marks.paragraphs),
    )


def _end_of_line(source: Source) -> str:
    end = source.text.find("\n")
    return "\r\n" if end > 0 and source.text[end - 1] == "\r" else "\n"
