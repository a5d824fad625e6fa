"""Quantities as rules write them: a bare number, or a number and a unit of the one table of units."""

from __future__ import annotations

from groundlint.rulebook.core import Quantity
from groundlint.rulebook.grammar import MistakeError
from groundlint.rulebook.layout import mistake
from groundlint.text import Span
from groundlint.values import units


def read_quantity(text: str, span: Span) -> Quantity:
    """``15 ft`` as a quantity in SI; raises `MistakeError` for an unknown unit."""
    try:
        return Quantity(float(text), "number", text)
    except ValueError:
        pass
    found = units.parse_quantity(text)
    if isinstance(found, units.UnitProblem):
        raise MistakeError(mistake("unknown-unit", span, found.message))
    return Quantity(found.si, found.dimension, text)
