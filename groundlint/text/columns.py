"""Places as editors and screens count them: offsets of UTF-16 positions, and marks that fall under the right words."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from groundlint.text.source import Source, Span

TAB = 4
"""Columns between tab stops, as Markdown has them."""


def utf16_offset(source: Source, line: int, character: int) -> int:
    """Code point offset of a position in lines and UTF-16 code units from 0, as the Language Server Protocol counts.

    A position past the end of its line is the end of the line; one past the last line is the end of the text; one
    inside a surrogate pair is the start of the pair.
    """
    if line < 0:
        return 0
    if line >= len(source.line_starts):
        return len(source.text)
    start = source.line_starts[line]
    text = source.line_text(line + 1)
    if text.isascii():
        return start + max(0, min(character, len(text)))
    units = 0
    for place, letter in enumerate(text):
        units += 2 if ord(letter) > 0xFFFF else 1
        if units > character:
            return start + place
    return start + len(text)


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

    A span that goes on past the line is marked to its end; an empty one gets a single mark.
    """
    source = span.source
    line, column = source.position(span.start)
    text = source.line_text(line)
    before = text[: column - 1]
    marked = text[column - 1 : column - 1 + max(0, span.end - span.start)]
    margin = width(before)
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
