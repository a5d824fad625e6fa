"""What rules may ask of a replayed plan: the catalogue, and the trace that answers it.

The catalogue is made when it is first asked for: the interface in `catalogue` can be imported without the facts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from groundlint.facts.catalogue import Catalogue
    from groundlint.facts.trace import PlanTrace

    CATALOGUE: Catalogue

__all__ = ["CATALOGUE", "PlanTrace"]


def __getattr__(name: str) -> object:
    if name == "PlanTrace":
        from groundlint.facts.trace import PlanTrace

        return PlanTrace
    if name != "CATALOGUE":
        raise AttributeError(name)
    from groundlint.facts import (
        arrangement,
        cables,
        capacitors,
        citations,
        clamps,
        clearance,
        consistency,
        duty,
        equipment,
        exposure,
        grades,
        holding_open,
        isolation,
        leads,
        live_sides,
        neighbours,
        parts,
        people,
        plan_facts,
        points,
        rubber,
        steps,
        stringing,
        words,
    )
    from groundlint.facts.catalogue import Catalogue, facts_of
    from groundlint.facts.kinds import DIMENSIONS, KINDS, STEPS

    found = facts_of(
        plan_facts,
        clearance,
        isolation,
        holding_open,
        neighbours,
        parts,
        points,
        arrangement,
        equipment,
        capacitors,
        cables,
        leads,
        live_sides,
        people,
        rubber,
        steps,
        stringing,
        duty,
        exposure,
        grades,
        clamps,
        citations,
        consistency,
        words,
    )
    globals()["CATALOGUE"] = made = Catalogue.of(KINDS, STEPS, found, DIMENSIONS)
    return made
