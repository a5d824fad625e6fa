"""Quantities as a plan writes them: a number and a unit out of a fixed table, never a unit expression.

A general unit parser is wrong here. It takes ``9**9**9 V`` for arithmetic, ``15 ft 6 in`` for an area, ``1 a`` for a
year, ``1 pu`` for an atomic mass, and ``12 cycles`` of a 60 Hz current for a time 2 pi too long. So a number is split
from its unit by one pattern and the unit is looked up. The table is held against pint in the tests.

SI factors: BIPM, The International System of Units, 9th ed., 2019; customary units: NIST SP 811 (2008), Appendix B.8
(both from memory): 1 ft = 0.3048 m and 1 lb = 0.45359237 kg exactly; 1 cmil is the area of a circle 0.001 in across.

**Case.** A spelling is taken in any case where no other reading could be meant (``KV``, ``Ft``, ``HZ``). It must be
exact where m and M, or a single letter, decide (``mA``, ``MVA``, ``s``): ``ma`` is refused with a suggestion.

**Numbers** are ``12``, ``12.47``, ``1.2e3``, ``-10``, and fractions as sizes are written, ``5/8`` and ``1 1/2``. A
comma is refused, since it marks thousands in one tradition and the decimal in another; so is ``.5``, whose point is
easily lost. Digits are 0 to 9 only.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import lru_cache
from math import pi
from typing import TYPE_CHECKING, Literal, NamedTuple

from groundlint.text.near import nearest

if TYPE_CHECKING:
    from collections.abc import Iterable


class Unit(NamedTuple):
    """A unit: its main spelling, its dimension, and SI value = (number + shift) x numerator / denominator.

    The parts are whole numbers (the shift in hundredths) but for the areas of circles, so that a decimal converts to
    the float nearest to its true value: 180 in and 15 ft are the same, and a limit in one holds for the other.
    """

    spelling: str
    dimension: str
    numerator: int | float
    denominator: int = 1
    shift: int = 0

    @property
    def factor(self) -> float:
        """SI units to one of these."""
        return self.numerator / self.denominator


POUND_FORCE = (45359237 * 980665, 10**13)
CIRCULAR_MIL = pi / 4 * 2.54e-5**2
LARGEST = 1e15
"""An SI value this large is a slip of the pen, and would make infinities of squares and products further on."""
LONGEST = 24
"""No spelling of a unit, and no sensible number, has more characters."""
POWERS = tuple(10**n for n in range(2 * LONGEST))

SI_UNIT: dict[str, str] = {
    "length": "m",
    "current": "A",
    "voltage": "V",
    "resistance": "ohm",
    "resistivity": "ohm m",
    "resistance-per-length": "ohm/m",
    "time": "s",
    "cycles": "cycles",
    "power": "VA",
    "frequency": "Hz",
    "area": "m2",
    "angle": "rad",
    "temperature": "K",
    "mass": "kg",
    "torque": "N m",
    "number": "",
}
"""The unit that ``Quantity.si`` counts in, by dimension. ``cycles`` is a count of periods, ``number`` has none."""

# Dimension, then for each unit: numerator, denominator, spellings that must be exact, spellings taken in any case. The
# first is the main one. They stand in plain form, into which `_plain` brings what is written: one blank between words
# where a hyphen, a point or a middle dot may stand too, `ohm` for its sign, `2` for a square.
_Row = tuple[int | float, int, str, str]
_TABLE: dict[str, tuple[_Row, ...]] = {
    "length": (
        (1, 1, "m", "metre metres meter meters"),
        (1000, 1, "", "km kilometre kilometres kilometer kilometers"),
        (1, 100, "", "cm centimetre centimetres centimeter centimeters"),
        (1, 1000, "mm", "millimetre millimetres millimeter millimeters"),
        (3048, 10**4, "", "ft foot feet"),
        (254, 10**4, "", "in inch inches"),
        (1609344, 1000, "mi Mi", "mile miles"),
    ),
    "current": (
        (1, 1, "A", "amp amps ampere amperes"),
        (1000, 1, "", "kA kiloampere kiloamperes"),
        (1, 1000, "mA", "milliamp milliamps milliampere milliamperes"),
    ),
    "voltage": (
        (1, 1, "V", "volt volts"),
        (1000, 1, "", "kV kilovolt kilovolts"),
        (1, 1000, "mV", "millivolt millivolts"),
    ),
    "resistance": (
        (1, 1, "", "ohm ohms"),
        (1000, 1, "", "kohm kilohm kilohms"),
        (1, 1000, "mohm mohms", "milliohm milliohms"),
        (1, 10**6, "", "microohm microohms micro_ohm micro_ohms"),
    ),
    "resistivity": (
        (1, 1, "", "ohm_m ohms_m ohm_metre ohm_metres ohm_meter ohm_meters"),
        (1, 100, "", "ohm_cm ohms_cm"),
    ),
    "resistance-per-length": (
        (1000, 1609344, "", "ohm/mi ohm/mile ohms/mi ohms/mile"),
        (1, 1000, "", "ohm/km ohms/km"),
        (1, 1, "ohm/m ohms/m", ""),
        (10, 3048, "", "ohm/kft ohms/kft"),
    ),
    "time": (
        (1, 1, "s", "sec secs second seconds"),
        (1, 1000, "ms", "millisecond milliseconds"),
        (60, 1, "", "min minute minutes"),
        (3600, 1, "h", "hr hrs hour hours"),
        (86400, 1, "", "days day"),
    ),
    "cycles": ((1, 1, "", "cycles cycle"),),
    "power": (
        (1, 1, "VA", "volt_ampere volt_amperes"),
        (1000, 1, "", "kVA"),
        (10**6, 1, "MVA", ""),
        (1, 1, "W", "watt watts"),
        (1000, 1, "", "kW kilowatt kilowatts"),
        (10**6, 1, "MW", "megawatt megawatts"),
    ),
    "frequency": ((1, 1, "", "Hz hertz"),),
    "area": (
        (1, 1, "m2", ""),
        (1, 10**6, "mm2 sq_mm", ""),
        (1000 * CIRCULAR_MIL, 1, "", "kcmil MCM"),
        (CIRCULAR_MIL, 1, "", "cmil"),
    ),
    "angle": ((pi, 180, "", "deg degree degrees °"),),
    "temperature": (
        (1, 1, "C °C degC deg_C", ""),
        (5, 9, "F °F degF deg_F", ""),
    ),
    "mass": (
        (1, 1, "", "kg kilogram kilograms"),
        (45359237, 10**8, "", "lb lbs pound pounds"),
    ),
    "torque": (
        (1, 1, "N_m Nm", ""),
        (3048 * POUND_FORCE[0], 10**4 * POUND_FORCE[1], "", "ft_lb lb_ft ft_lbf lbf_ft"),
        (254 * POUND_FORCE[0], 10**4 * POUND_FORCE[1], "", "in_lb lb_in in_lbf lbf_in"),
    ),
    "number": ((1, 100, "", "percent %"),),
}


_SHIFT = {"C": 27315, "F": 45967}
"""Hundredths of a degree from absolute zero to the zero of the scale."""
ZERO_CELSIUS = _SHIFT["C"] / 100
"""0 C in K."""


def _spellings() -> tuple[dict[str, Unit], dict[str, Unit]]:
    """Units by exact spelling, and by spelling in lower case for those taken in any case; both in plain form."""
    exact: dict[str, Unit] = {}
    folded: dict[str, Unit] = {}
    for dimension, rows in _TABLE.items():
        for numerator, denominator, strict, free in rows:
            words = [word.replace("_", " ") for word in f"{strict} {free}".split()]
            unit = Unit(words[0], dimension, numerator, denominator, _SHIFT.get(words[0], 0))
            for place, word in enumerate(words):
                exact[word] = unit
                if place >= len(strict.split()):
                    folded[word.lower()] = unit
    return exact, folded


UNITS, _FOLDED = _spellings()
"""Every accepted spelling in plain form with its unit. Built once; not to be changed."""

_REFUSED: dict[str, str] = {
    "pu": "per unit says nothing without its base; write volts, amperes or ohms",
    "p.u.": "per unit says nothing without its base; write volts, amperes or ohms",
    "per unit": "per unit says nothing without its base; write volts, amperes or ohms",
    "awg": "AWG is a wire size, not a unit of measure, and cannot stand here",
    "mils": "a mil is a thousandth of an inch to some and a millimetre to others; write in or mm",
    "mil": "a mil is a thousandth of an inch to some and a millimetre to others; write in or mm",
}
_MARKS = {"'": "ft", "′": "ft", "’": "ft", '"': "in", "″": "in", "”": "in", "''": "in"}

ProblemKind = Literal["no-unit", "unknown-unit", "bad-number"]


class UnitProblem(NamedTuple):
    """Why a text is not a quantity.

    ``unit`` is the unit as written (the number for no unit, the whole text for a bad number), ``nearest`` the
    accepted spelling that may have been meant, ``why`` a clause of its own where there is more to say.
    """

    kind: ProblemKind
    unit: str
    nearest: str | None = None
    why: str = ""

    @property
    def message(self) -> str:
        """A sentence for a person, without its full stop."""
        shown = self.unit if len(self.unit) <= 40 else self.unit[:37] + "..."
        match self.kind:
            case "no-unit":
                return f"{shown} has no unit"
            case "bad-number":
                return f"{shown} is not a number that can be read" + (f": {self.why}" if self.why else "")
            case "unknown-unit":
                more = f"; {self.why}" if self.why else f"; perhaps {self.nearest} is meant" if self.nearest else ""
                return f"{shown} is not a known unit{more}"


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value in SI (``SI_UNIT[dimension]``) with its dimension and the words it was written in.

    Two are equal if value and dimension are, however written.
    """

    si: float
    dimension: str
    text: str = field(default="", compare=False)

    def to(self, unit: str) -> float:
        """The number in an accepted unit; ValueError for one not known or of another dimension."""
        found = find_unit(unit)
        if found is None or found.dimension != self.dimension:
            raise ValueError(f"{unit!r} is not a unit of {self.dimension}")
        return self.si * found.denominator / found.numerator - found.shift / 100


# ---------------------------------------------------------------- patterns
_JOINT = r"(?:[ \t]+|[-.·])"
_OHM = "(?:ohm|[\u03a9\u2126])"
_SQUARE = "(?:\\^?2|²)"
_END = r"(?![\w/^°·*'\"-]|\.\w)"


def _unit_pattern() -> str:
    # Longest first, so that `ohm` never cuts `ohm-m` short; a scoped flag keeps `mA` and `MVA` exact.
    def alternation(words: Iterable[str]) -> str:
        joined = "|".join(sorted(words, key=lambda word: (-len(word), word)))
        return joined.replace(" ", _JOINT).replace("ohm", _OHM).replace("2", _SQUARE)

    strict = [word for word, unit in UNITS.items() if _FOLDED.get(word.lower()) is not unit]
    free = [word for word, unit in UNITS.items() if _FOLDED.get(word.lower()) is unit]
    return f"(?:{alternation(strict)}|(?ai:{alternation(free)})){_END}"


_MINUS = "\u2212"
_SIGN = f"[-{_MINUS}]"
_MIXED = r"[0-9]+[ \t]+[0-9]+/[0-9]+|[0-9]+/[0-9]+"
NUMBER_PATTERN = rf"{_SIGN}?(?:{_MIXED}|[0-9]+(?:\.[0-9]+)?(?:[eE][-+]?[0-9]+)?)"
"""A number as a quantity has it: decimal, fraction, or whole number and fraction."""

UNIT_PATTERN = _unit_pattern()
"""Every accepted spelling of a unit, longest first, with a look-ahead that a word ends there. It carries its own case
rules: do not put it under an ignore-case flag."""

_FEET = r"(?ai:ft|feet|foot)"
_INCHES = r"(?ai:inches|inch|in)"
_INCH_NUMBER = rf"{_MIXED}|(?:[0-9]|1[01])(?:\.[0-9]+)?"
_COMPOUND = rf"[0-9]{{1,12}}[ \t]*{_FEET}[ \t]*-?[ \t]*(?:{_INCH_NUMBER})[ \t]*{_INCHES}"
QUANTITY_PATTERN = rf"(?:{_COMPOUND}{_END}|{NUMBER_PATTERN}[ \t]*{UNIT_PATTERN})"
"""A number with its unit, or feet and inches (``6 ft 4 in``). What it matches, `parse_quantity` reads, unless the
number is out of range."""


# ---------------------------------------------------------------- reading
def _plain(spelling: str) -> str:
    """The form of the table: the sign for ohm, squares and joints made plain, blanks single."""
    word = spelling.replace("\u03a9", "ohm").replace("\u2126", "ohm").replace("²", "2").replace("^2", "2")
    if re.fullmatch(r"[^\W\d_]+[-.·][^\W\d_]+", word):
        word = re.sub("[-.·]", " ", word)
    return " ".join(word.split())


def find_unit(spelling: str) -> Unit | None:
    """The unit of an accepted spelling, or None."""
    unit = UNITS.get(spelling)
    if unit is None and len(spelling) <= LONGEST:
        plain = _plain(spelling)
        unit = UNITS.get(plain) or _FOLDED.get(plain.lower())
    return unit


@lru_cache(maxsize=4096)
def parse_quantity(text: str) -> Quantity | UnitProblem:
    """Reads ``12.47 kV``, ``5/8 in``, ``6 ft 4 in``. Never raises and ends in time linear in the text.

    Texts repeat within and between plans, so the last few thousand results are kept.
    """
    number, _, word = text.partition(" ")
    unit = UNITS.get(word)
    if unit is None or len(number) > LONGEST:
        return _parse(text)
    whole, point, part = number.partition(".")  # most quantities are digits, a blank and a plain spelling
    digits = whole + part
    if not (whole and digits.isdecimal() and digits.isascii()) or unit.shift or (point and not part):
        return _parse(text)
    si = int(digits) * unit.numerator / (unit.denominator * POWERS[len(part)])
    return Quantity(si, unit.dimension, text) if si < LARGEST else _out_of_range(text)


def _parse(text: str) -> Quantity | UnitProblem:
    """Any text, by the whole grammar."""
    found = re.fullmatch(rf"[ \t]*({NUMBER_PATTERN})[ \t]*(.*?)[ \t]*", text, re.DOTALL)
    if found is None:
        return _bad_number(text)
    number, word = found.groups()
    unit = find_unit(word)
    if unit is None:
        return _compound(text) or _unknown(text, number, word)
    value = _ratio(number)
    if value is None:
        return _out_of_range(text)
    above, below = value
    if unit.shift:
        above, below = above * 100 + unit.shift * below, below * 100
        if above < 0:
            return UnitProblem("bad-number", text, None, "it is below absolute zero")
    si = above * unit.numerator / (unit.denominator * below)
    return Quantity(si, unit.dimension, text) if -LARGEST < si < LARGEST else _out_of_range(text)


def as_written(text: str, si: float, unit: str) -> str:
    """The quantity in a text that comes to ``si`` in an SI ``unit``, in the words of the text; empty where none does.

    What a plan states is written again as its author wrote it: `5/8 in`, not 0.625 in or 0.0159 m.
    """
    for found in re.finditer(QUANTITY_PATTERN, text):
        read = parse_quantity(found[0])
        if isinstance(read, Quantity) and read.si == si and SI_UNIT[read.dimension] == unit:
            return " ".join(found[0].split())
    return ""


def _ratio(text: str) -> tuple[int, int] | None:
    """A number of `NUMBER_PATTERN` as a ratio of whole numbers; None for a division by zero or one out of range."""
    if len(text) > 2 * LONGEST:
        return None
    sign = -1 if text[0] in "-" + _MINUS else 1
    plain = text.lstrip("-" + _MINUS).lower()
    if "/" in plain:
        *whole, fraction = plain.split()
        above, below = map(int, fraction.split("/"))
        return (sign * (int(whole[0] if whole else 0) * below + above), below) if below else None
    digits, _, exponent = plain.partition("e")
    before, _, after = digits.partition(".")
    power = int(exponent or 0) - len(after)
    if abs(power) >= len(POWERS):
        return None
    value = sign * int(before + after)
    return (value * POWERS[power], 1) if power >= 0 else (value, POWERS[-power])


def _compound(text: str) -> Quantity | None:
    """Feet and inches, the inches under 12."""
    found = re.fullmatch(
        rf"[ \t]*([0-9]{{1,12}})[ \t]*{_FEET}[ \t]*-?[ \t]*({_INCH_NUMBER})[ \t]*{_INCHES}[ \t]*", text
    )
    inches = _ratio(found[2]) if found else None
    if found is None or inches is None or inches[0] >= 12 * inches[1]:
        return None
    si = (int(found[1]) * 12 * inches[1] + inches[0]) * 254 / (10**4 * inches[1])
    return Quantity(si, "length", text)


def _out_of_range(text: str) -> UnitProblem:
    return UnitProblem("bad-number", text, None, "it is out of range")


def _bad_number(text: str) -> UnitProblem:
    start = text.strip()
    if re.match(rf"{_SIGN}?[0-9]+,[0-9]", start):
        return UnitProblem("bad-number", text, None, "a comma may mark thousands or the decimal; write 1200 or 1.2")
    if re.match(rf"{_SIGN}?\.[0-9]", start):
        return UnitProblem(
            "bad-number", text, None, "a point with no digit before it is easily lost; write 0.5, not .5"
        )
    if re.match(rf"{_SIGN}?[0-9]+\.(?![0-9])", start):
        return UnitProblem("bad-number", text, None, "a digit belongs after the point")
    return UnitProblem("bad-number", text, None, "a quantity begins with a number, such as 25 ft")


def _unknown(text: str, number: str, word: str) -> UnitProblem:
    plain = " ".join(word.split())
    if not plain:
        return UnitProblem("no-unit", number)
    if plain[0] in ",." or plain[0].isdigit():
        return _bad_number(text)
    if plain in _MARKS:
        return UnitProblem("unknown-unit", plain, _MARKS[plain])
    why = _REFUSED.get(plain.lower(), "")
    return UnitProblem("unknown-unit", plain, None if why else nearest_unit(plain), why)


def nearest_unit(word: str) -> str | None:
    """The accepted spelling most like ``word``: the same letters in another case first; None if nothing is near."""
    if len(word) > LONGEST:
        return None
    near = nearest(word, UNITS).lower()
    return next((spelling for spelling in UNITS if spelling.lower() == near), None)
