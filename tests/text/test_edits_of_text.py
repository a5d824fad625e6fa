"""Lines put between the lines of a text, and stretches put in the place of others."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundlint.text import Source
from groundlint.text.edits import Edit, edited, lead_of, line_after, line_before


@pytest.mark.parametrize(
    ("text", "before", "after"),
    [
        ("a\n  b\nc\n", "a\n  x\n  b\nc\n", "a\n  b\n  x\nc\n"),
        ("a\r\n  b\r\nc\r\n", "a\r\n  x\r\n  b\r\nc\r\n", "a\r\n  b\r\n  x\r\nc\r\n"),
        ("  b", "  x\n  b", "  b\n  x"),
        ("  b # why\nc", "  x\n  b # why\nc", "  b # why\n  x\nc"),
    ],
)
def test_a_line_stands_above_or_below(text: str, before: str, after: str) -> None:
    source = Source("t", text)
    at = text.index("b")
    span = source.span(at, at + 1)
    assert lead_of(span) == "  "
    assert edited(source, [Edit("", (line_before(span, "  ", "x"),))]).text == before
    assert edited(source, [Edit("", (line_after(span, "  ", "x"),))]).text == after


def test_edits_at_one_place_come_in_the_order_given() -> None:
    source = Source("t", "b\n")
    first, second = (Edit("", (line_before(source.span(0, 1), "", text),)) for text in ("1", "2"))
    assert edited(source, [first, second]).text == "1\n2\nb\n"
    assert edited(source, [second, first]).text == "2\n1\nb\n"
    assert edited(source, []).text == "b\n"


@given(st.text(st.sampled_from("ab\n\r "), min_size=1), st.data())
def test_two_stretches_change_places(text: str, data: st.DataObject) -> None:
    cuts = sorted(data.draw(st.lists(st.integers(0, len(text)), min_size=4, max_size=4)))
    one, other = (cuts[0], cuts[1]), (cuts[2], cuts[3])
    source = Source("t", text)
    pieces = ((source.span(*one), text[slice(*other)]), (source.span(*other), text[slice(*one)]))
    want = text[: cuts[0]] + text[slice(*other)] + text[cuts[1] : cuts[2]] + text[slice(*one)] + text[cuts[3] :]
    assert edited(source, [Edit("", pieces)]).text == want
