"""Quantities in words: none is written as nothing because it is small."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundlint.values import Bounds, Gap
from groundlint.words.quantities import between, figures, in_words, quantity, rounded


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (0.0, "0"),
        (2.5e-5, "0.000025"),
        (-2.5e-7, "-0.00000025"),
        (0.123456, "0.123"),
        (12345.4, "12,345"),
        (1e6, "1,000,000"),
        (123456789.0, "123,000,000"),
    ],
)
def test_rounded(value: float, words: str) -> None:
    assert rounded(value) == words


@given(st.floats(1e-12, 1e9))
def test_three_figures_whatever_the_size(value: float) -> None:
    reported = float(rounded(value).replace(",", ""))
    assert reported == pytest.approx(value, rel=0.006)
    assert "e" not in rounded(value)


def test_one_of_a_unit_that_is_a_word() -> None:
    assert [quantity(days * 86400.0, "days", "time") for days in (1, 2, 1.5)] == ["1 day", "2 days", "1.5 days"]
    assert between(Bounds(86400.0, 2 * 86400.0, (Gap("x", "y", None),)), "days", "time") == "1 day to 2 days"


def test_small_values_and_bounds() -> None:
    assert in_words(3.2e-8, "V") == "0.000032 mV"
    assert in_words(Bounds.of(3.2e-8, 4.0, (Gap("soil"),)), "V") == "0.000032 mV–4 V"


@given(st.lists(st.floats(1e-6, 1e9), min_size=1, max_size=4))
def test_unlike_values_beside_each_other_are_written_unlike(values: list[float]) -> None:
    digits = figures(*values)
    unlike = {f"{value:.6g}" for value in values}
    assert len({rounded(value, digits) for value in values}) >= len(unlike)
    assert figures(7999.0, 8000.0) == figures(1.0, 2.0) == 3
    assert [rounded(one, figures(7.999, 8.0)) for one in (7.999, 8.0)] == ["7.999", "8"]
