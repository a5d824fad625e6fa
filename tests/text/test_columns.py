"""Positions as editors and screens count them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundlint.text import Source
from groundlint.text.columns import marked_line, utf16_offset, width

TEXT = "a\U0001f6a7b\r\n\u00d8x\n"


@pytest.mark.parametrize(
    ("line", "character", "offset"),
    [
        *[(0, 0, 0), (0, 1, 1), (0, 2, 1), (0, 3, 2), (0, 4, 3), (0, 9, 3)],
        *[(1, 0, 5), (1, 1, 6), (1, 7, 7), (2, 0, 8), (3, 0, 8), (-1, 5, 0), (0, -1, 0)],
    ],
)
def test_offset_of_an_editor_position(line: int, character: int, offset: int) -> None:
    assert utf16_offset(Source("a", TEXT), line, character) == offset


@given(st.text("ab\U0001f6a7Ø\n\t", max_size=30), st.integers(0, 30))
def test_there_and_back(text: str, offset: int) -> None:
    source = Source("a", text)
    offset = min(offset, len(text))
    line = source.position(offset).line - 1
    assert utf16_offset(source, line, source.utf16_column(offset)) == offset


@pytest.mark.parametrize(
    ("text", "columns"), [("", 0), ("abc", 3), ("\t", 4), ("ab\tc", 5), ("作業", 4), ("e\u0301", 1), ("Ø", 1)]
)
def test_width_on_a_screen(text: str, columns: int) -> None:
    assert width(text) == columns


@pytest.mark.parametrize(
    ("text", "start", "end", "expected"),
    [
        ("rod R1 R2", 4, 6, ("rod R1 R2", "    ^^")),
        ("\trod\tR1", 5, 7, ("    rod R1", "        ^^")),
        ("作業 R1", 3, 5, ("作業 R1", "     ^^")),
        ("rod R1\nbar", 4, 9, ("rod R1", "    ^^")),
        ("rod R1\n", 6, 6, ("rod R1", "      ^")),
        ("", 0, 0, ("", "^")),
        ("a\r\nb\tc\t", 5, 6, ("b   c   ", "    ^")),
    ],
)
def test_marks_stand_under_the_words(text: str, start: int, end: int, expected: tuple[str, str]) -> None:
    assert marked_line(Source("a", text).span(start, end)) == expected
