"""Margins: quantities of a plan of which more, or less, protects better, by name.

Those stated are read off the plan's things and steps. Those computed are facts of the catalogue, worst over the steps;
a plan that does not say enough to compute one has none, and one known within bounds counts at its worse end.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from math import inf, sqrt
from typing import Any, NamedTuple

from groundlint.findings.likeness import Label, value_key
from groundlint.plan.models import Detector, Lead, Plan, Rod, Stick, Thing
from groundlint.values import Unknown


def _graded(grade: str) -> float | None:
    """What a grade of ASTM F855 carries for 15 cycles, in A; None for what is no grade."""
    from groundlint.electrical.physics.f855 import Grade, find_grade

    found = find_grade(grade)
    return None if isinstance(found, Unknown) else found.withstand[0][1] if isinstance(found, Grade) else found.rms


def _rated(label: tuple[float, float]) -> float:
    """What a label's current for a time makes for 1 s, by the same heat."""
    return label[0] * sqrt(label[1])


class Stated(NamedTuple):
    """An attribute of a thing, or a slot of a kind of step, that is a margin. ``unit`` is that of the value, SI;
    ``of`` makes a quantity of what is stated, where that is not one already."""

    owner: type[Thing] | str
    name: str
    words: str
    unit: str
    more_is_better: bool
    of: Callable[[Any], float | None] = float


STATED = (
    Stated(Lead, "area", "cross-section", "mm2", True),
    Stated(Lead, "length", "length", "m", False),  # voltage across the worker rises with it
    Stated(Lead, "grade", "current of its grade", "A", True, _graded),
    Stated(Lead, "clamps_grade", "current of its clamps' grade", "A", True, _graded),
    Stated(Lead, "rated", "current on its label, for 1 s", "A", True, _rated),
    Stated(Rod, "length", "length", "m", True),
    Stated(Rod, "diameter", "diameter", "m", True),
    Stated(Stick, "length", "length", "m", True),
    Stated(Detector, "lowest", "lowest voltage shown", "V", False),
    Stated(Detector, "highest", "highest voltage", "V", True),
    Stated("set", "distance", "distance from the structure", "m", True),
    Stated("set", "depth", "depth", "m", True),
    Stated("barricade", "distance", "distance that people are kept", "m", True),
)
"""Margins stated. What the site gives (fault current, clearing time, soil) is no margin: a plan can't choose it."""


class Computed(NamedTuple):
    """A fact of a thing and a source that is a margin."""

    fact: str
    kind: str
    words: str
    unit: str
    more_is_better: bool


COMPUTED = (
    Computed("loading", "lead", "duty over rating", "", False),
    Computed("exposure", "person", "voltage across what is in reach", "V", False),
)
"""Margins computed, each against every source of the plan."""

LEAST = {True: 1e-3, False: 1e-9}
"""Relative difference from which a margin counts as changed: of one computed, and of one stated."""

_SCALE = {"mm2": 1e6}


class Margin(NamedTuple):
    """A margin of one plan: its identity beside the other plan, its name, what it is of, its value in ``unit``."""

    key: Hashable
    words: str
    thing: str
    value: float
    unit: str
    more_is_better: bool
    computed: bool = False


class MarginChange(NamedTuple):
    """A margin that has changed in the new plan; ``thing`` as the new plan names it."""

    words: str
    thing: str
    old: float
    new: float
    unit: str
    narrower: bool
    computed: bool = False


def margins(plan: Plan, label: Label) -> Iterator[Margin]:
    """Every margin that a plan states, things labelled as one with those of the other plan."""
    for entry in STATED:
        scale = _SCALE.get(entry.unit, 1.0)
        if isinstance(entry.owner, str):
            for action in plan.actions:
                value = action.slots.get(entry.name)
                if action.kind == entry.owner and isinstance(value, float):
                    thing = next((one for one in action.slots.values() if isinstance(one, Thing)), None)
                    key = (entry.owner, entry.name, value_key(thing, label))
                    yield Margin(key, entry.words, str(thing), value * scale, entry.unit, entry.more_is_better)
            continue
        for thing in plan.of(entry.owner):
            stated = getattr(thing, entry.name)
            value = None if stated is None else entry.of(stated)
            if value is not None:
                key = (entry.owner.__name__, entry.name, label(thing))
                yield Margin(key, entry.words, str(thing), value * scale, entry.unit, entry.more_is_better)


def computed_margins(plan: Plan, label: Label) -> Iterator[Margin]:
    """Every margin that can be computed of a plan: each thing against each source that may return."""
    from groundlint.facts import CATALOGUE, PlanTrace
    from groundlint.timeline import replay
    from groundlint.values.bounds import Bounds, ends

    trace = PlanTrace(replay(plan))
    for entry in COMPUTED:
        fact = CATALOGUE.match(entry.fact, entry.kind, "source")
        if fact is None:
            continue
        for thing in trace.domain(entry.kind):
            for source in trace.domain("source"):
                for at in range(trace.n + 1) if fact.timed else (trace.n,):
                    value = fact.compute(trace, at, thing, source)
                    if isinstance(value, float | Bounds):
                        worse = ends(value)[0 if entry.more_is_better else 1]
                        key = (entry.fact, label(thing), label(source))
                        words = f"{entry.words}, {source} returning"
                        yield Margin(key, words, str(thing), worse, entry.unit, entry.more_is_better, True)


def changed_margins(old: Iterator[Margin], new: Iterator[Margin]) -> tuple[MarginChange, ...]:
    """The margins of both that differ. Of several with one key the narrowest counts."""
    before, after = _narrowest(old), _narrowest(new)
    found = []
    for key, margin in after.items():
        was = before.get(key)
        if was is None or margin.value == was.value:
            continue
        least = LEAST[margin.computed] * max(abs(was.value), abs(margin.value))
        if inf in (abs(was.value), abs(margin.value)) or abs(margin.value - was.value) > least:
            narrower = (margin.value < was.value) is margin.more_is_better
            found.append(
                MarginChange(
                    margin.words, margin.thing, was.value, margin.value, margin.unit, narrower, margin.computed
                )
            )
    return tuple(found)


def _narrowest(every: Iterator[Margin]) -> dict[Hashable, Margin]:
    kept: dict[Hashable, Margin] = {}
    for margin in every:
        known = kept.get(margin.key)
        if known is None or (margin.value < known.value) is margin.more_is_better:
            kept[margin.key] = margin
    return kept
