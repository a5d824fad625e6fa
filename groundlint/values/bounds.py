"""A quantity of which only bounds are known: what it rests on is assumed between a low and a high value, or missing.

Interval arithmetic (Moore, Interval Analysis, 1966, from memory) takes bounds through sums and products; a comparison
holds where it holds throughout, fails where it holds nowhere, and is otherwise unknown. So a rule comes out met where
the result is safe at both bounds, broken where it is at neither, and else not shown, naming what to state or measure.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from groundlint.values.truth import Gap, Unknown


@dataclass(frozen=True, slots=True)
class Bounds:
    """A quantity in SI from `low` to `high`, either of which may be infinite; `gaps` say what would narrow it."""

    low: float
    high: float
    gaps: tuple[Gap, ...]

    def __post_init__(self) -> None:
        if not self.gaps:
            raise ValueError("bounds must say what would narrow them")
        if not self.low <= self.high:
            raise ValueError("the low bound is above the high one, or not a number")

    @staticmethod
    def of(low: float, high: float, gaps: tuple[Gap, ...]) -> Bounds | float:
        """Bounds, or the one value that they leave."""
        return low if low == high else Bounds(low, high, gaps)

    def __neg__(self) -> Bounds:
        return Bounds(-self.high, -self.low, self.gaps)


Measure = float | Bounds
"""A quantity that is known, or known within bounds."""


def ends(value: Measure) -> tuple[float, float]:
    """The low and the high end of a quantity."""
    return (value.low, value.high) if isinstance(value, Bounds) else (value, value)


def compared(value: float) -> float:
    """A computed value to order others by, to four digits: of those that are alike the first is named, whatever the
    last digits on the machine at hand."""
    return float(f"{value:.4g}")


def gaps_of(*values: object) -> tuple[Gap, ...]:
    """What values that are unknown, or known within bounds, need; each gap once."""
    found = (gap for value in values if isinstance(value, (Unknown, Bounds)) for gap in value.gaps)
    return tuple(dict.fromkeys(found))


def combine(sign: str, left: Measure, right: Measure) -> Measure | None:
    """Two quantities joined by ``+ - * /``; None where the result has no bounds, as of a division by what may be 0."""
    (a, b), (c, d) = ends(left), ends(right)
    if sign == "+":
        low, high = a + c, b + d
    elif sign == "-":
        low, high = a - d, b - c
    elif sign == "/" and c <= 0 <= d:
        return None
    else:
        join = _product if sign == "*" else _quotient
        corners = [join(x, y) for x in (a, b) for y in (c, d)]
        low, high = min(corners), max(corners)
    if any(map(math.isnan, (a, b, c, d, low, high))):
        return None
    return Bounds.of(low, high, gaps_of(left, right))


def _product(one: float, other: float) -> float:
    """A product of bounds: nothing times a bound that is not known is nothing."""
    return 0.0 if one == 0 or other == 0 else one * other


def _quotient(one: float, other: float) -> float:
    """A quotient of bounds: whatever it is, divided by a bound that is not known it comes to nothing."""
    return 0.0 if math.isinf(other) else one / other
