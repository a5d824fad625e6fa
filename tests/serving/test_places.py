"""Places in a text as editors count them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lsprotocol import types as lsp
from pygls.workspace import PositionCodec

from groundlint.serving.actions import replaced
from groundlint.serving.places import Lines

ENCODINGS = ("utf-8", "utf-16", "utf-32")
TEXTS = st.text(st.sampled_from("aé漢😋\t \n\r\u2028\x0b\x85\ud800"), max_size=30)


def lines(text: str, encoding: str = "utf-16") -> Lines:
    return Lines(text, PositionCodec(encoding).client_num_units)


@pytest.mark.parametrize(
    ("encoding", "character"),
    [("utf-8", 7), ("utf-16", 5), ("utf-32", 4)],
)
def test_a_character_past_the_basic_plane_counts_as_the_encoding_has_it(encoding: str, character: int) -> None:
    one = lines('x="😋"', encoding)  # the closing quote is the example of the protocol's own library
    assert one.position(4) == lsp.Position(0, character)
    assert one.offset(lsp.Position(0, character)) == 4
    assert one.offset(lsp.Position(0, character - 1)) == 3  # within the character


@given(TEXTS, st.sampled_from(ENCODINGS))
def test_a_place_is_found_again(text: str, encoding: str) -> None:
    one = lines(text, encoding)
    for offset in range(len(text) + 1):
        found = one.offset(one.position(offset))
        assert found == offset or text[offset - 1 : offset + 1] == "\r\n"  # no position lies within a line's end


@given(TEXTS, st.integers(0, 40), st.integers(0, 40), st.sampled_from(ENCODINGS))
def test_any_position_is_some_place(text: str, line: int, character: int, encoding: str) -> None:
    one = lines(text, encoding)
    assert 0 <= one.offset(lsp.Position(line, character)) <= len(text)
    assert one.offset(lsp.Position(len(one.starts), 0)) == len(text)


@given(TEXTS, TEXTS, st.data())
def test_a_change_is_made_where_it_says(text: str, put: str, data: st.DataObject) -> None:
    one = lines(text)
    ends = [at for at in range(len(text) + 1) if text[at - 1 : at + 1] != "\r\n"]
    start, end = sorted((data.draw(st.sampled_from(ends)), data.draw(st.sampled_from(ends))))
    change = lsp.TextDocumentContentChangePartial(one.range(start, end), put)
    assert one.changed(change) == text[:start] + put + text[end:]


def test_only_the_protocols_line_ends_end_a_line() -> None:
    assert lines("a\rb\r\nc\nd\u2028e\x0bf\x85g").starts == [0, 2, 5, 7]


@given(TEXTS, TEXTS)
def test_what_differs_is_replaced(old: str, new: str) -> None:
    text = old
    for start, end, put in replaced(old, new):
        text = f"{text[:start]}{put}{text[end:]}"
    assert text == new
