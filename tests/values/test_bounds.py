"""Bounds: what is computed of them holds every value that could be meant, no more than needed, and never a NaN."""

from __future__ import annotations

import math
import operator
from fractions import Fraction
from itertools import product
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from groundlint.values import Bounds, Gap, Unknown
from groundlint.values.bounds import Measure, combine, ends, gaps_of

JOIN: dict[str, Any] = {"+": operator.add, "-": operator.sub, "*": operator.mul, "/": operator.truediv}
SIGNS = st.sampled_from(sorted(JOIN))
SOIL, CLAMP = Gap("the soil"), Gap("the clamp's contact")
FINITE = st.floats(-1e9, 1e9, allow_nan=False, allow_subnormal=False)
ANY = st.one_of(FINITE, st.sampled_from([0.0, -math.inf, math.inf]))
SMALL = st.integers(-4, 4)
SHARES = st.lists(st.floats(0, 1), min_size=1, max_size=5)


def measures(values: st.SearchStrategy[Any], gap: Gap) -> st.SearchStrategy[Any]:
    """A known quantity, or one within bounds."""
    pairs = st.tuples(values, values).map(sorted)
    return st.one_of(values.map(float), pairs.map(lambda pair: Bounds.of(float(pair[0]), float(pair[1]), (gap,))))


def within(value: Measure, share: float) -> float:
    """A finite value that a quantity could have."""
    low, high = (max(-1e12, min(1e12, end)) for end in ends(value))
    return min(high, max(low, low + share * (high - low)))


@given(SIGNS, measures(ANY, SOIL), measures(ANY, CLAMP), SHARES, SHARES)
@example("/", Bounds(1.0, math.inf, (SOIL,)), Bounds(5.0, math.inf, (CLAMP,)), [1.0], [0.0, 1.0])
@example("/", 1.0, Bounds(3.0, 49.0, (CLAMP,)), [0.0], [0.0, 0.5, 1.0])
@example("*", Bounds(0.0, 2.0, (SOIL,)), Bounds(3.0, math.inf, (CLAMP,)), [0.0, 1.0], [0.5, 1.0])
@example("-", Bounds(0.0, math.inf, (SOIL,)), Bounds(0.0, math.inf, (CLAMP,)), [0.0, 1.0], [0.0, 1.0])
def test_whatever_the_two_values_are_their_join_is_within(
    sign: str, one: Measure, other: Measure, first: list[float], second: list[float]
) -> None:
    found = combine(sign, one, other)
    if found is None:
        by_nothing = sign == "/" and ends(other)[0] <= 0 <= ends(other)[1]
        endless = sign in "+-" and all(any(map(math.isinf, ends(value))) for value in (one, other))
        assert by_nothing or endless
        return
    low, high = ends(found)
    assert low <= high
    for x, y in product((within(one, share) for share in first), (within(other, share) for share in second)):
        if all(a <= v <= b for v, (a, b) in ((x, ends(one)), (y, ends(other)))):
            assert low <= JOIN[sign](x, y) <= high  # to the last digit: rounding keeps order


@given(SIGNS, measures(SMALL, SOIL), measures(SMALL, CLAMP))
def test_the_join_is_no_wider_than_all_values_between_the_ends_make_it(sign: str, one: Measure, other: Measure) -> None:
    xs, ys = ([Fraction(n, 2) for n in range(int(2 * low), int(2 * high) + 1)] for low, high in map(ends, (one, other)))
    found = combine(sign, one, other)
    if sign == "/" and 0 in ys:
        assert found is None
        return
    every = [JOIN[sign](x, y) for x, y in product(xs, ys)]
    assert found is not None
    assert ends(found) == (float(min(every)), float(max(every)))
    assert isinstance(found, Bounds) == (len(set(every)) > 1)


@given(SIGNS, measures(ANY, SOIL), measures(ANY, CLAMP))
def test_what_is_joined_says_what_would_narrow_it(sign: str, one: Measure, other: Measure) -> None:
    found = combine(sign, one, other)
    if isinstance(found, Bounds):
        assert found.gaps == gaps_of(one, other)
        assert set(found.gaps) <= {SOIL, CLAMP}


@pytest.mark.parametrize("sign", JOIN)
@pytest.mark.parametrize("other", [0.0, 2.0, Bounds(0.0, 5.0, (CLAMP,)), Bounds(1.0, math.inf, (CLAMP,))])
def test_what_is_not_a_number_has_no_bounds(sign: str, other: Measure) -> None:
    assert combine(sign, math.nan, other) is None
    assert combine(sign, other, math.nan) is None


def test_a_difference_of_two_endless_values_has_no_bounds() -> None:
    assert combine("-", Bounds(1.0, math.inf, (SOIL,)), math.inf) is None
    assert combine("+", -math.inf, math.inf) is None


@given(FINITE, FINITE)
def test_a_negative_turns_the_bounds_round(one: float, other: float) -> None:
    low, high = sorted((one, other))
    bounds = Bounds(low, high, (SOIL,))
    turned = -bounds
    assert turned == Bounds(-high, -low, (SOIL,))
    assert -turned == bounds
    assert combine("-", 0.0, bounds) == Bounds.of(-high, -low, (SOIL,))


@pytest.mark.parametrize(
    ("low", "high", "gaps"), [(1.0, 2.0, ()), (2.0, 1.0, (SOIL,)), (math.nan, 1.0, (SOIL,)), (1.0, math.nan, (SOIL,))]
)
def test_bounds_are_in_order_and_say_what_would_narrow_them(low: float, high: float, gaps: tuple[Gap, ...]) -> None:
    with pytest.raises(ValueError, match="bound"):
        Bounds(low, high, gaps)


def test_bounds_that_meet_are_one_value() -> None:
    assert Bounds.of(3.0, 3.0, (SOIL,)) == 3.0
    assert Bounds.of(3.0, 4.0, (SOIL,)) == Bounds(3.0, 4.0, (SOIL,))
    assert ends(3.0) == (3.0, 3.0)


def test_each_gap_is_reported_once_and_in_order() -> None:
    assert gaps_of(Bounds(1.0, 2.0, (CLAMP, SOIL)), 4.0, Unknown((SOIL,)), None) == (CLAMP, SOIL)
