"""Wire sizes as they are written: American wire gauge (``2 AWG``, ``#2``, ``4/0``), ``336.4 kcmil``, ``95 mm2``.

A gauge number is a name, not a measure: a larger number is a smaller wire, and 4/0 is four noughts. So sizes are kept
apart from quantities and compared by area. Gauge n is 0.005 x 92^((36 - n) / 39) in across (ASTM B258, from memory),
1/0 being n = 0 and 4/0 n = -3; the other spellings are areas already. The area is that of the metal, nominal.
"""

from __future__ import annotations

import re
from functools import lru_cache
from math import pi
from typing import NamedTuple

from groundlint.values.units import UNITS, UnitProblem, find_unit, parse_quantity

STRANDED = ("acsr", "acss", "aac", "aaac")
"""Words for the metal of a wire that also say that it is stranded."""
METALS = ("copper", "aluminium", *STRANDED)
MAGNETIC = ("steel", "aluminium-clad-steel")
"""Metals of wires, and of no lead, whose resistance and inductance change with the current."""
SMALLEST_GAUGE = 40
LARGEST_AREA = 0.01
"""m2; several times the largest conductor strung, so that a slip of the pen is not taken for a wire."""


class WireSize(NamedTuple):
    """A wire size: area of metal in m2, and its main spelling (``2 AWG``, ``4/0 AWG``, ``336.4 kcmil``, ``95 mm2``)."""

    area: float
    text: str

    @property
    def kcmil(self) -> float:
        """Area in thousands of circular mils."""
        return self.area / UNITS["kcmil"].factor


_END = r"(?![\w/#-]|\.\w)"
_AUGHT = r"[0-9]/0|0{2,4}"
_AREA = r"(?:(?ai:kcmil|MCM|cmil)|mm(?:\^?2|²)|(?ai:sq)[ \t]+mm)"
_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_STRANDED = r"(?:3|7|19|37)[ \t]*(?:(?ai:no\.?)[ \t]*|#[ \t]?)[0-9]{1,2}"
WIRE_PATTERN = (
    rf"(?:#[ \t]?(?:{_AUGHT}|[0-9]{{1,2}})(?:[ \t]*(?ai:AWG))?"
    rf"|(?:{_AUGHT}|[0-9]{{1,2}})[ \t]*(?ai:AWG)"
    rf"|(?ai:AWG)[ \t]*(?:{_AUGHT}|[0-9]{{1,2}})"
    r"|[0-9]/0"
    rf"|{_STRANDED}(?:[ \t]*(?ai:AWG))?"
    rf"|{_NUMBER}/{_NUMBER}[ \t]*mm(?:\^?2|²)"
    rf"|{_NUMBER}[ \t]*{_AREA}){_END}"
)
"""A wire size, with a look-ahead that it ends there. Areas look like quantities too: where both can stand, a grammar
must prefer this. Not every match is a size that exists (``7/0``); `parse_wire` tells."""


def awg_area(gauge: int) -> float:
    """Area in m2 of a gauge number, 0 for 1/0 down to -3 for 4/0."""
    diameter: float = 0.005 * 92.0 ** ((36 - gauge) / 39) * 0.0254
    return pi / 4 * diameter * diameter


@lru_cache(maxsize=1024)
def parse_wire(text: str) -> WireSize | UnitProblem:
    """Reads a wire size. Never raises."""
    plain = " ".join(text.split())
    found = (
        re.fullmatch(rf"(?ai:#? ?({_AUGHT}|[0-9]+)( ?AWG)?|AWG ?({_AUGHT}|[0-9]+))", plain) if len(plain) < 24 else None
    )
    if found is not None:
        gauge = found[1] or found[3]
        if found[0].isdigit() and not gauge.startswith("00"):
            return UnitProblem("no-unit", plain, f"{gauge} AWG")
        return _gauge(text, gauge)
    # `7 no 8` is seven wires of 8 AWG, as shield wires are called (ASTM B416, from memory)
    if (many := re.fullmatch(r"([0-9]+) ?(?ai:no\.?|#) ?([0-9]{1,2})(?ai: ?AWG)?", plain)) is not None:
        strand = _gauge(text, many[2])
        if isinstance(strand, UnitProblem):
            return strand
        return WireSize(int(many[1]) * strand.area, f"{many[1]} no {many[2]}")
    # `95/15 mm2` names the areas of aluminium and steel (EN 50182, from memory); the first counts, as it does in kcmil
    both = re.fullmatch(rf"({_NUMBER})/{_NUMBER} ?(mm.*)", plain)
    if both is not None:
        whole = parse_wire(f"{both[1]} {both[2]}")
        return whole if isinstance(whole, UnitProblem) else WireSize(whole.area, plain)
    found = re.fullmatch(rf"({_NUMBER})(?![0-9.]) ?(.*)", plain)
    if found is None:
        return UnitProblem("bad-number", text, None, "a wire size is written such as 2/0, 2 AWG, 336.4 kcmil or 95 mm2")
    if not found[2]:
        return UnitProblem("no-unit", plain, f"{plain} kcmil")
    unit = find_unit(found[2])
    if unit is None or unit.dimension != "area" or unit.spelling == "m2":
        return UnitProblem("unknown-unit", found[2], None, "a wire size is in AWG, kcmil or mm2")
    quantity = parse_quantity(f"{found[1]} {unit.spelling}")
    if isinstance(quantity, UnitProblem) or not 0 < quantity.si <= LARGEST_AREA:
        return UnitProblem("bad-number", text, None, "no wire is of this size")
    return WireSize(quantity.si, quantity.text)


def _gauge(text: str, written: str) -> WireSize | UnitProblem:
    if "/" in written:
        noughts = int(written[0])
    elif written.strip("0"):
        if written[0] == "0":
            return UnitProblem("bad-number", text, None, "a nought in front could be meant for 1/0 or 2/0")
        number = int(written)
        if number > SMALLEST_GAUGE:
            return UnitProblem(
                "bad-number", text, None, f"wire gauges end at {SMALLEST_GAUGE}; larger wires are in kcmil"
            )
        return WireSize(awg_area(number), f"{number} AWG")
    else:
        noughts = len(written)
    if not 1 <= noughts <= 4:
        return UnitProblem("bad-number", text, None, "wire gauges go from 1/0 to 4/0; larger wires are in kcmil")
    return WireSize(awg_area(1 - noughts), f"{noughts}/0 AWG")
