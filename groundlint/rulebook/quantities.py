"""Quantities as rules write them: a bare number, a number and a unit of the one table of units, or a wire size."""

from __future__ import annotations

import math

from groundlint.rulebook.core import Quantity
from groundlint.rulebook.grammar import MistakeError
from groundlint.rulebook.layout import mistake
from groundlint.text import Span
from groundlint.values import units
from groundlint.values.wire import WireSize, parse_wire


def read_quantity(text: str, span: Span) -> Quantity:
    """``15 ft`` as a quantity in SI, ``2/0 AWG`` as an area; raises `MistakeError` for an unknown unit."""
    try:
        return Quantity(float(text), "number", text)
    except ValueError:
        pass
    if "AWG" in text.upper() or "/0" in text:
        size = parse_wire(text)
        if isinstance(size, units.UnitProblem):
            raise MistakeError(mistake("unknown-unit", span, size.message))
        return Quantity(_as_printed(size), "area", size.text)
    found = units.parse_quantity(text)
    if isinstance(found, units.UnitProblem):
        raise MistakeError(mistake("unknown-unit", span, found.message))
    return Quantity(found.si, found.dimension, text)


def _as_printed(size: WireSize) -> float:
    """A gauge's area in m2, down to the three figures of kcmil that tables print: a lead said to be of 133 kcmil, or of
    67.4 mm2, is of 2/0 AWG."""
    place = 10.0 ** (math.floor(math.log10(size.kcmil)) - 2)
    return math.floor(size.kcmil / place) * place * units.UNITS["kcmil"].factor
