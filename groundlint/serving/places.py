"""Places in a text as an editor counts them: lines that end as the protocol says, columns in the units agreed on."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable

from lsprotocol import types as lsp

Units = Callable[[str], int]
"""How many units of the agreed encoding a text takes."""

_LINE_END = re.compile(r"\r\n|\r|\n")


class Lines:
    """A text by lines. A line ends with LF, CRLF or CR and nothing else (LSP 3.17, text documents); a position past the
    end of its line is the end of the line, one past the last line the end of the text, and one within a character the
    start of it."""

    def __init__(self, text: str, units: Units) -> None:
        self.text = text
        self.units = units
        found = list(_LINE_END.finditer(text))
        self.starts = [0, *(end.end() for end in found)]
        self.ends = [*(end.start() for end in found), len(text)]

    def offset(self, position: lsp.Position) -> int:
        """The place of a position, in characters of the text."""
        if position.line < 0:
            return 0
        if position.line >= len(self.starts):
            return len(self.text)
        start, end = self.starts[position.line], self.ends[position.line]
        if self.text[start:end].isascii():
            return min(start + max(0, position.character), end)
        left = position.character
        for at in range(start, end):
            left -= self.units(self.text[at])
            if left < 0:
                return at
        return end

    def position(self, offset: int) -> lsp.Position:
        """The position of a place."""
        offset = max(0, min(offset, len(self.text)))
        line = bisect_right(self.starts, offset) - 1
        before = self.text[self.starts[line] : min(offset, self.ends[line])]
        return lsp.Position(line, len(before) if before.isascii() else self.units(before))

    def range(self, start: int, end: int) -> lsp.Range:
        """The range of a stretch."""
        return lsp.Range(self.position(start), self.position(end))

    def whole(self) -> lsp.Range:
        """The range of the text."""
        return self.range(0, len(self.text))

    def changed(self, change: lsp.TextDocumentContentChangeEvent) -> str:
        """The text with a change made in it."""
        if not isinstance(change, lsp.TextDocumentContentChangePartial):
            return change.text
        start, end = self.offset(change.range.start), self.offset(change.range.end)
        return f"{self.text[:start]}{change.text}{self.text[max(start, end) :]}"
