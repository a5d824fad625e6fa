"""Bytes to sources: what is taken, what is reported and where, and that no bytes raise."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundlint.text import Severity, Source
from groundlint.text.decode import SIZE_LIMIT, check, decode


def reported(data: bytes) -> list[tuple[str, int, int]]:
    """Codes with line and column."""
    _, diagnostics = decode(data, "a.tpg")
    return [(d.code, *d.span.position) for d in diagnostics]


@pytest.mark.parametrize(
    ("data", "text"),
    [
        (b"", ""),
        (b"rod R1\n", "rod R1\n"),
        (b"rod R1\r\nbar K1\r\n", "rod R1\r\nbar K1\r\n"),
        (b"\xef\xbb\xbfrod R1\n", "rod R1\n"),
        ("rod Jordspyd-Ø\t# 120 Ω m, 作業 👷\u200d♂️\n".encode(), "rod Jordspyd-Ø\t# 120 Ω m, 作業 👷\u200d♂️\n"),
    ],
)
def test_taken_as_it_is(data: bytes, text: str) -> None:
    source, diagnostics = decode(data, "a.tpg")
    assert (source.name, source.text, diagnostics) == ("a.tpg", text, ())


def test_bytes_that_are_not_utf8_are_reported_once_at_the_first() -> None:
    source, (diagnostic,) = decode("rod Ø\nbar Jörg Jürg\n".encode() + b"bar J\xf6rg J\xfcrg\n", "a.tpg")
    assert source.text.endswith("bar J\ufffdrg J\ufffdrg\n")
    assert diagnostic.span.position == (3, 6)
    assert diagnostic.span.text == "\ufffd"
    assert "0xF6" in diagnostic.message
    assert "1 more" in diagnostic.message
    assert (diagnostic.code, diagnostic.unread, diagnostic.severity) == ("not-utf-8", True, Severity.DANGER)


def test_a_replacement_character_that_was_there_is_not_counted() -> None:
    _, (diagnostic,) = decode("\ufffd\ufffd".encode() + b"\xff", "a.tpg")
    assert diagnostic.span.start == 2
    assert "more" not in diagnostic.message


@pytest.mark.parametrize("mark", ["\ufeff", ""])
@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_utf16_is_read_but_reported(encoding: str, mark: str) -> None:
    source, (diagnostic,) = decode(f"{mark}rod R1\n".encode(encoding), "a.tpg")
    assert source.text == "rod R1\n"
    assert "UTF-16" in diagnostic.message
    assert diagnostic.unread


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"rod R1\x00\n", [("control-character", 1, 7)]),
        (b"a\nb\x0cc\x1b\n", [("control-character", 2, 2)]),
        (b"rod R1\rbar K1\r\n", [("lone-carriage-return", 1, 7)]),
        ("G1\u200b G1\n".encode(), [("invisible-character", 1, 3)]),
        ("x\ufeff".encode(), [("invisible-character", 1, 2)]),
        ("open \u202e14WS\u202c\n".encode(), [("direction-character", 1, 6)]),
        ("a\u2028b\x85\n".encode(), [("control-character", 1, 2)]),
        (b"\x00\n\xff\n\r", [("control-character", 1, 1), ("not-utf-8", 2, 1), ("lone-carriage-return", 3, 1)]),
    ],
)
def test_what_does_not_show_is_reported_where_it_first_stands(
    data: bytes, expected: list[tuple[str, int, int]]
) -> None:
    assert reported(data) == expected


def test_how_many_more() -> None:
    _, (diagnostic,) = decode(b"\x00\x01\x02", "a.tpg")
    assert diagnostic.message == "the control character U+0000 stands here (2 more of this kind)"


def test_the_size_limit_is_exact_and_nothing_past_it_is_read() -> None:
    assert reported(b"x" * SIZE_LIMIT) == []
    source, (diagnostic,) = decode(b"x" * (SIZE_LIMIT + 1), "a.tpg")
    assert (source.text, diagnostic.code, diagnostic.unread) == ("", "file-too-large", True)
    assert "more than the 2,000,000 bytes" in diagnostic.message
    assert decode(b"four", "a.tpg", 3)[1][0].code == "file-too-large"


def test_text_from_an_editor_is_checked_alike() -> None:
    assert [d.code for d in check(Source("a.tpg", "rod\x00"))] == ["control-character"]
    assert [d.code for d in check(Source("a.tpg", "Ø" * 3), 5)] == ["file-too-large"]
    assert check(Source("a.tpg", "Ø" * 3), 6) == ()
    assert check(Source("a.tpg", "\ud800"), 6) == ()


@given(st.one_of(st.binary(max_size=60), st.text(max_size=40).map(lambda t: t.encode("utf-8", "surrogatepass"))))
def test_any_bytes_give_a_text_with_places_inside_it(data: bytes) -> None:
    source, diagnostics = decode(data, "a.tpg")
    starts = [d.span.start for d in diagnostics]
    assert starts == sorted(starts)
    for diagnostic in diagnostics:
        assert 0 <= diagnostic.span.start <= diagnostic.span.end <= len(source.text)
        assert diagnostic.unread
    if not diagnostics:
        assert data in (source.text.encode(), b"\xef\xbb\xbf" + source.text.encode())
