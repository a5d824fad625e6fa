"""How alike two answers are, for an instructor's eye: likeness says nothing of how it came about.

Plans are compared by what they do: their primitive steps, with every name put in the place of a number by kind and
order of first use, so that other names for leads, or declarations in another order, change nothing. What was handed out
is no likeness, and what most of a class writes is little of one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import combinations
from math import log2
from typing import NamedTuple

from groundlint.plan.models import Conductor, Plan, PointRef, Structure, Thing
from groundlint.values import Gap

RUN = 3
"""Steps in a row that are compared as one."""
MOST_STEPS = 5_000
"""Steps of a plan that are compared."""
LEAST_RUNS = 3
"""An answer with fewer runs of its own beside the handout's is like any other of few."""


class Alike(NamedTuple):
    """Two answers, by their places in the class, and their likeness, 0 to 1.

    ``weight`` is higher for what few others of the class have; ``renamed`` is whether equipment has other names.
    """

    one: int
    other: int
    likeness: float
    weight: float
    renamed: bool


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


def alike(plans: Sequence[Plan | None], least: float, handout: Plan) -> tuple[Alike, ...]:
    """The pairs of answers at least so alike, those first that have most in common of what few others have.

    Likeness is the share of runs that two answers have in common beside those of the handout (the Sørensen-Dice
    coefficient of the bags of runs). A run weighs log2((n + 1) / m) where m of n answers have it.
    """
    given = runs_of(steps_of(handout))
    own = {at: runs_of(steps_of(plan)) - given for at, plan in enumerate(plans) if plan is not None}
    bags = {at: bag for at, bag in own.items() if bag.total() >= LEAST_RUNS}
    names = {at: {thing.name for thing in plan.things} for at in bags if (plan := plans[at]) is not None}
    having = Counter(run for bag in bags.values() for run in bag)
    found = []
    for one, other in combinations(bags, 2):
        small, total = min(bags[one].total(), bags[other].total()), bags[one].total() + bags[other].total()
        if 2 * small < least * total:  # no more runs in common than the shorter has
            continue
        common = bags[one] & bags[other]
        value = 2 * common.total() / total
        if value >= least:
            weight = value * sum(times * log2((len(bags) + 1) / having[run]) for run, times in common.items())
            found.append(Alike(one, other, value, weight, names[one] != names[other]))
    return tuple(sorted(found, key=lambda pair: (-round(pair.weight, 6), not pair.renamed, pair.one, pair.other)))


__all__ = ["Alike", "alike", "runs_of", "steps_of"]
