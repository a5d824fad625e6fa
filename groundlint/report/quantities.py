"""Quantities in words: computed ones to three figures in a unit that suits their size, stated ones as written."""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Final

from groundlint.plan.models import Lead, Plan, Rod, Stick
from groundlint.text import Span
from groundlint.values import Unknown
from groundlint.values.bounds import Measure, ends
from groundlint.values.units import UNITS, as_written

NOT_SHOWN: Final = "not shown"
_FOOT, _INCH = UNITS["ft"].factor, UNITS["in"].factor

_SCALES: dict[str, tuple[tuple[float, str], ...]] = {
    "A": ((1e3, "kA"), (1.0, "A"), (1e-3, "mA")),
    "V": ((1e3, "kV"), (1.0, "V"), (1e-3, "mV")),
    "VA": ((1e6, "MVA"), (1e3, "kVA")),
    "A2 s": ((1e6, "MA2 s"), (1e3, "kA2 s"), (1.0, "A2 s")),
    "ohm": ((1e6, "Mohm"), (1e3, "kohm"), (1.0, "ohm"), (1e-3, "mohm")),
    "m2": ((1e-6, "mm2"),),
    "%": ((1e-2, "%"),),
}
"""Factors and units to write a quantity of SI in, the largest first. A share is written in ``%``."""


def rounded(value: float, digits: int = 3) -> str:
    """The number to so many significant digits, without an exponent for the sizes that occur on a line."""
    if value == 0:
        return "0"
    text = f"{value:.{digits}g}"
    if abs(value) < 1:
        return f"{Decimal(text):f}"
    return f"{float(text):,.0f}" if "e" in text or abs(value) >= 10**digits else text


def _scale(size: float, unit: str, feet: bool) -> tuple[float, str]:
    """Factor and unit to write a quantity of that size in."""
    if unit == "m":
        if size < (_FOOT if feet else 0.1):
            return (_INCH, "in") if feet else (1e-3, "mm")
        return (_FOOT, "ft") if feet else (1.0, "m")
    rows = _SCALES.get(unit, ((1.0, unit),))
    return next((row for row in rows if abs(size) >= row[0] * 0.9995), rows[-1])


def in_words(value: Measure | Unknown, unit: str = "", feet: bool = False) -> str:
    """A quantity in SI, low to high, to three figures; `not shown` where it is not known. ``feet`` is for lengths."""
    if isinstance(value, Unknown):
        return NOT_SHOWN
    low, high = ends(value)
    if math.isinf(low):
        return "without end"
    size = high if math.isfinite(high) else low
    factor, word = _scale(size or 1.0, unit, feet)
    tail = f" {word}" if word else ""
    if math.isinf(high):
        return f"{rounded(low / factor)}{tail} or more"
    other, small = _scale(low, unit, feet) if low else (factor, word)
    if small != word and low / factor < 0.01:
        return f"{rounded(low / other)} {small}–{rounded(high / factor)}{tail}"
    first, last = rounded(low / factor), rounded(high / factor)
    return f"{first}{tail}" if first == last else f"{first}–{last}{tail}"


def stated(value: float, unit: str, where: Span | None, feet: bool = False) -> str:
    """A quantity that a plan states, in its own words: never rounded, since 14.96 ft is not 15 ft.

    ``where`` is the place that states it. One whose number stands elsewhere, as that of a `given` does, is written in a
    unit that suits it, with twelve figures at the most: past those a float has digits of its own.
    """
    written = as_written(where.text, value, unit) if where is not None else ""
    if written:
        return written
    factor, word = _scale(value or 1.0, unit, feet)
    return f"{value / factor:.12g} {word}".rstrip()


def in_feet(plan: Plan) -> bool:
    """Whether the plan writes its lengths of equipment in feet."""
    return any(
        unit in place.text
        for cls in (Rod, Lead, Stick)
        for thing in plan.of(cls)
        if (place := thing.places.get("length")) is not None
        for unit in ("ft", "foot", "feet")
    )
