"""Positions as screens count them."""

from __future__ import annotations

import pytest

from groundlint.text import Source
from groundlint.text.columns import marked_line, width


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


def test_of_a_long_line_what_stands_around_the_mark_is_shown() -> None:
    text = f"{'a ' * 500}R1 {'b ' * 500}"
    line, marks = marked_line(Source("a", text).span(1000, 1002))
    assert line == f"…{'a ' * 20}R1 {'b ' * 78}b…"
    assert line[marks.index("^") : marks.rindex("^") + 1] == "R1"
    whole, under = marked_line(Source("a", text).span(0, len(text)))
    assert len(whole) == len(under) == 201
