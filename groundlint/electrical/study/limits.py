"""How large a circuit is solved. Time and memory grow with the states of a circuit times the square of its elements, so
that past these limits nothing is computed, and every rule that rests on it is not shown.

The largest circuit of the examples has 5 sources, 9 structures and a tenth of the cells.
"""

from __future__ import annotations

from typing import Final

from groundlint.electrical.solver.network import CapacitiveCoupling, InducedEmf
from groundlint.electrical.study.circuit import Site
from groundlint.plan.models import Plan, Structure, SupplySource
from groundlint.values import Unknown

MOST_SOURCES: Final = 20
"""Sources of one line."""
MOST_STRUCTURES: Final = 100
"""Structures of one plan."""
MOST_CELLS: Final = 20_000_000
"""States of the circuit, times its elements squared, without what induces in them."""


def too_large(plan: Plan) -> Unknown | None:
    """Why a plan's circuit is not built, if so."""
    for words, found, most in (
        ("sources", len(plan.of(SupplySource)), MOST_SOURCES),
        ("structures", len(plan.of(Structure)), MOST_STRUCTURES),
    ):
        if found > most:
            return _beyond(f"this plan has {found} {words}, and circuits of up to {most} are solved", plan)
    return None


def too_many_states(site: Site, plan: Plan) -> Unknown | None:
    """Why a circuit that was built is not solved, if so."""
    states = len(site.states)
    elements = sum(not isinstance(one, InducedEmf | CapacitiveCoupling) for one in site.network.elements)
    if states * elements**2 <= MOST_CELLS:
        return None
    return _beyond(f"this circuit has {elements} elements and {states} states, more than are solved", plan)


def _beyond(words: str, plan: Plan) -> Unknown:
    return Unknown.of(f"a circuit that is small enough to solve: {words}", "", plan.start)


__all__ = ["MOST_CELLS", "MOST_SOURCES", "MOST_STRUCTURES", "too_large", "too_many_states"]
