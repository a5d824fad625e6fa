"""Quantities in words: none is written as nothing because it is small."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundlint.report.quantities import in_words, rounded
from groundlint.values import Bounds, Gap


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (0.0, "0"),
        (2.5e-5, "0.000025"),
        (-2.5e-7, "-0.00000025"),
        (0.123456, "0.123"),
        (12345.0, "12,300"),
        (1e6, "1,000,000"),
    ],
)
def test_rounded(value: float, words: str) -> None:
    assert rounded(value) == words


@given(st.floats(1e-12, 1e9))
def test_three_figures_whatever_the_size(value: float) -> None:
    reported = float(rounded(value).replace(",", ""))
    assert reported == pytest.approx(value, rel=0.006)
    assert "e" not in rounded(value)


def test_small_values_and_bounds() -> None:
    assert in_words(3.2e-8, "V") == "0.000032 mV"
    assert in_words(Bounds.of(3.2e-8, 4.0, (Gap("soil"),)), "V") == "0.000032 mV–4 V"
