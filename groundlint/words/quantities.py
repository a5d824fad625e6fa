"""Quantities in words, by one rounding: three figures, whole numbers whole; stated ones as they are written."""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Final

from groundlint.text import Span
from groundlint.values import Unknown
from groundlint.values.bounds import Measure, ends
from groundlint.values.units import SI_UNIT, UNITS, Quantity, as_written

NOT_SHOWN: Final = "not shown"
FIGURES: Final = 3
MOST_FIGURES: Final = 6
"""To how many figures values that stand beside each other are written so that they can be told apart."""
WHOLE: Final = 1e7
"""Numbers up to this are never rounded to less than a whole one: a limit of 12,474 V is held against 12,471 V."""
SMALLER: Final = {"kA": "A", "A": "mA", "kV": "V", "V": "mV", "h": "min", "min": "s"}
"""The unit that people say instead where there is less than one."""
ONE_OF: Final = {"days": "day", "cycles": "cycle"}
"""The unit that people say of one where it is written as a word."""
MOST_FEET: Final = 20
"""Feet up to which inches are said too."""
_FOOT, _INCH = UNITS["ft"].factor, UNITS["in"].factor

_SCALES: Final[dict[str, tuple[tuple[float, str], ...]]] = {
    "A": ((1e3, "kA"), (1.0, "A"), (1e-3, "mA")),
    "V": ((1e3, "kV"), (1.0, "V"), (1e-3, "mV")),
    "VA": ((1e6, "MVA"), (1e3, "kVA")),
    "A2 s": ((1e6, "MA2 s"), (1e3, "kA2 s"), (1.0, "A2 s")),
    "ohm": ((1e6, "Mohm"), (1e3, "kohm"), (1.0, "ohm"), (1e-3, "mohm")),
    "m2": ((1e-6, "mm2"),),
    "%": ((1e-2, "%"),),
}
"""Factors and units to write a computed quantity of SI in, the largest first. A share is written in ``%``."""

_DERIVED: Final = {
    "volume": "m3",
    "speed": "m/s",
    "force": "N",
    "energy": "J",
    "heat": "A2 s",
    "charge": "C",
    "inductance": "H",
    "capacitance": "F",
}
"""SI units of what arithmetic can come to and the table of units has no unit of."""


def rounded(value: float, digits: int = FIGURES) -> str:
    """The number to so many significant digits, or to its whole part where that is longer; never with an exponent."""
    whole = len(f"{abs(value):.0f}") if abs(value) < WHOLE else 0
    return f"{Decimal(f'{value:.{max(digits, whole)}g}'):,f}"


def figures(*values: float) -> int:
    """To how many figures such values are written beside each other, so that unlike ones do not look alike."""
    unlike = {f"{value:.{MOST_FIGURES}g}" for value in values}
    digits = range(FIGURES, MOST_FIGURES)
    return next(
        (few for few in digits if len({rounded(float(one), few) for one in unlike}) == len(unlike)), MOST_FIGURES
    )


def in_words(value: Measure | Unknown, unit: str = "", feet: bool = False) -> str:
    """A computed quantity in SI, low to high, for a table or a drawing, in a unit that suits its size; ``feet`` is for
    lengths."""
    if isinstance(value, Unknown):
        return NOT_SHOWN
    low, high = ends(value)
    if math.isinf(low):
        return "without end"
    factor, word = _scale((high if math.isfinite(high) else low) or 1.0, unit, feet)
    last = _figures(high / factor, word)
    other, small = _scale(low, unit, feet) if low else (factor, word)
    small_end = small != word and low / factor < 0.01
    first = _figures(low / other, small) if small_end else _figures(low / factor, word)
    return f"{first} or more" if math.isinf(high) else _joined(first, last, word, "–")


def quantity(si: float, unit: str, dimension: str, digits: int = FIGURES) -> str:
    """An SI value in a unit of its dimension (in SI where it is empty) or a smaller one."""
    if math.isinf(si):
        return "an unlimited time" if dimension == "time" else "no limit"
    return between(si, unit, dimension, digits)


def between(value: Measure, unit: str, dimension: str, digits: int = FIGURES) -> str:
    """Bounds in SI, said in a unit: ``1.2 to 3.4 kA``, ``at least 20 V``; one value where they are
    written alike."""
    unit = unit or SI_UNIT.get(dimension) or _DERIVED.get(dimension, "")
    least, greatest = ends(value)
    most = least if math.isinf(greatest) else greatest
    while unit in SMALLER and 0 < abs(_in(most, unit, dimension)) < 1:
        unit = SMALLER[unit]
    low, high = (_figures(_in(end, unit, dimension), unit, digits) for end in (least, greatest))
    if math.isinf(greatest):
        return "(not known)" if least <= 0 else f"at least {low}"
    return f"at most {high}" if math.isinf(least) else _joined(low, high, unit, " to ")


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


def _scale(size: float, unit: str, feet: bool) -> tuple[float, str]:
    """Factor and unit to write a quantity of that size in."""
    if unit == "m":
        if size < (_FOOT if feet else 0.1):
            return (_INCH, "in") if feet else (1e-3, "mm")
        return (_FOOT, "ft") if feet else (1.0, "m")
    rows = _SCALES.get(unit, ((1.0, unit),))
    return next((row for row in rows if abs(size) >= row[0] * 0.9995), rows[-1])


def _in(si: float, unit: str, dimension: str) -> float:
    return Quantity(si, dimension).to(unit) if dimension in SI_UNIT and unit else si


def _figures(value: float, unit: str, digits: int = FIGURES) -> str:
    """Rounded, with the unit; feet with their inches, as a tape has them."""
    if math.isinf(value):
        return ""
    if unit == "ft" and value < MOST_FEET and value != round(value, 6) // 1:
        feet, inches = divmod(round(value * 12, 1), 12)
        return " ".join([f"{feet:.0f} ft"] * (feet > 0) + [f"{inches:.3g} in"] * (inches > 0)) or "0 ft"
    number = rounded(value, digits)
    return f"{number} {ONE_OF.get(unit, unit) if number == '1' else unit}".rstrip()


def _joined(low: str, high: str, unit: str, between: str) -> str:
    """The two ends, one where they are written alike."""
    if low == high:
        return low
    bare = low.removesuffix(f" {unit}") if high.endswith(f" {unit}") else low
    return f"{bare}{between}{high}"
