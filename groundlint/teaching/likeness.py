"""How alike two answers are, for an instructor's eye: likeness says nothing of how it came about.

Plans are compared by what they do: their primitive steps, with every name put in the place of a number by kind and
order of first use, so that other names for leads, or declarations in another order, change nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from groundlint.plan.models import Conductor, Plan, PointRef, Structure, Thing
from groundlint.values import Gap

RUN = 3
"""Steps in a row that are compared as one."""
MOST_STEPS = 5_000
"""Steps of a plan that are compared."""
LEAST_STEPS = 8
"""A plan of fewer steps is like any other of few."""


class Alike(NamedTuple):
    """Two answers, by their places in the class, and their likeness, 0 to 1."""

    one: int
    other: int
    likeness: float


def steps_of(plan: Plan) -> tuple[str, ...]:
    """The primitive steps of a plan in canonical words: names by kind and order of first use, lengths to the inch."""
    names: dict[Thing, str] = {}
    counts: Counter[str] = Counter()

    def name(thing: Thing) -> str:
        if thing not in names:
            if isinstance(thing, Structure | Conductor):
                names[thing] = thing.name  # of the site, which all answers have in common
            else:
                sort = type(thing).__name__.lower()
                counts[sort] += 1
                names[thing] = f"{sort}{counts[sort]}"
        return names[thing]

    def words(value: object) -> str:
        if isinstance(value, PointRef):
            parts = [value.sort, *(name(part) for part in (value.structure, value.thing) if part is not None)]
            return "/".join(parts)
        if isinstance(value, Thing):
            return name(value)
        if isinstance(value, Gap):
            return "?"
        if isinstance(value, tuple):
            return "+".join(sorted(words(one) for one in value))
        if isinstance(value, float):
            return f"{value / 0.0254:.0f}"
        return str(value)

    found = []
    for action in plan.actions[:MOST_STEPS]:
        said = [words(value) for slot, value in action.slots.items() if slot not in ("text", "purpose", "protection")]
        found.append(" ".join([action.kind, *said]))
    return tuple(found)


def runs_of(steps: Sequence[str]) -> Counter[str]:
    """Every run of a few steps, with how often it stands."""
    return Counter("\n".join(steps[at : at + RUN]) for at in range(max(0, len(steps) - RUN + 1)))


def likeness(one: Counter[str], other: Counter[str]) -> float:
    """The share of runs that two plans have in common, 0 to 1 (the Sørensen-Dice coefficient of the bags of runs)."""
    total = one.total() + other.total()
    return 2 * (one & other).total() / total if total else 0.0


def alike(plans: Sequence[Plan | None], least: float) -> tuple[Alike, ...]:
    """The pairs of answers at least so alike, the most alike first; plans of few steps are left out."""
    bags = [None if plan is None or len(plan.actions) < LEAST_STEPS else runs_of(steps_of(plan)) for plan in plans]
    found = []
    for one, first in enumerate(bags):
        for other in range(one + 1, len(bags)):
            second = bags[other]
            if first is None or second is None:
                continue
            small, large = sorted((first.total(), second.total()))
            if 2 * small < least * (small + large):  # no more runs in common than the shorter has
                continue
            value = likeness(first, second)
            if value >= least:
                found.append(Alike(one, other, value))
    return tuple(sorted(found, key=lambda pair: (-pair.likeness, pair.one, pair.other)))


__all__ = ["Alike", "alike", "likeness", "runs_of", "steps_of"]
