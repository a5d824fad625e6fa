"""Places as screens count them: how wide a text is, and marks that fall under the right words."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from groundlint.text.source import Span

TAB = 4
"""Columns between tab stops, as Markdown has them."""
LONGEST, BEFORE = 200, 40
"""Letters shown of a line; of a longer one, how many stand before what is marked."""


def width(text: str, column: int = 0) -> int:
    """Screen columns a text takes from ``column`` on: tabs to the next stop, wide letters two, combining marks none."""
    if text.isascii() and "\t" not in text:
        return len(text)
    from unicodedata import combining, east_asian_width  # a table that most plans never need

    at = column
    for letter in text:
        if letter == "\t":
            at += TAB - at % TAB
        elif not combining(letter) and letter not in "\u200c\u200d\ufe0e\ufe0f":
            at += 2 if east_asian_width(letter) in "WF" else 1
    return at - column


def marked_line(span: Span, mark: str = "^") -> tuple[str, str]:
    """The line that a span begins on, tabs made blanks, and a line of marks that stands under the words of the span.

    A span that goes on past the line is marked to its end; an empty one gets a single mark. Of a long line only what
    stands around the span is shown.
    """
    source = span.source
    line, column = source.position(span.start)
    text, start = source.line_text(line), column - 1
    if len(text) > LONGEST:
        cut = max(0, start - BEFORE)
        rest = text[cut : cut + LONGEST]
        text = f"{'…' if cut else ''}{rest}{'…' if cut + LONGEST < len(text) else ''}"
        start += bool(cut) - cut
    marked = text[start : start + max(0, span.end - span.start)]
    margin = width(text[:start])
    return _untabbed(text), " " * margin + mark * max(1, width(marked, margin))


def _untabbed(text: str) -> str:
    if "\t" not in text:
        return text
    pieces: list[str] = []
    at = 0
    for piece in text.split("\t"):
        at += width(piece, at)
        gap = TAB - at % TAB
        pieces.append(piece + " " * gap)
        at += gap
    return "".join(pieces)[: -gap or None]
