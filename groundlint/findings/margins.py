"""Margins: quantities of a plan of which more, or less, protects better, by name.

They are read off the plan's things and steps.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from typing import NamedTuple

from groundlint.findings.likeness import Label, value_key
from groundlint.plan.models import Detector, Lead, Plan, Rod, Stick, Thing


class Stated(NamedTuple):
    """An attribute of a thing, or a slot of a kind of step, that is a margin. ``unit`` is that of the value, SI."""

    owner: type[Thing] | str
    name: str
    words: str
    unit: str
    more_is_better: bool


STATED = (
    Stated(Lead, "area", "cross-section", "mm2", True),
    Stated(Lead, "length", "length", "m", False),  # voltage across the worker rises with it
    Stated(Rod, "length", "length", "m", True),
    Stated(Rod, "diameter", "diameter", "m", True),
    Stated(Stick, "length", "length", "m", True),
    Stated(Detector, "lowest", "lowest voltage shown", "V", False),
    Stated(Detector, "highest", "highest voltage", "V", True),
    Stated("set", "distance", "distance from the structure", "m", True),
    Stated("set", "depth", "depth", "m", True),
    Stated("barricade", "distance", "distance that people are kept", "m", True),
)
"""Margins stated. What the site gives (fault current, clearing time, soil) is none: a plan can't choose it."""

_SCALE = {"mm2": 1e6}


class Margin(NamedTuple):
    """A margin of one plan: its identity beside the other plan, its name, what it is of, its value in ``unit``."""

    key: Hashable
    words: str
    thing: str
    value: float
    unit: str
    more_is_better: bool


class MarginChange(NamedTuple):
    """A margin that is another in the new plan; ``thing`` as the new plan names it."""

    words: str
    thing: str
    old: float
    new: float
    unit: str
    narrower: bool


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
            value = getattr(thing, entry.name)
            if value is not None:
                key = (entry.owner.__name__, entry.name, label(thing))
                yield Margin(key, entry.words, str(thing), value * scale, entry.unit, entry.more_is_better)


def changed_margins(old: Iterator[Margin], new: Iterator[Margin]) -> tuple[MarginChange, ...]:
    """The margins of both that differ by more than a part in 10^9. Of several with one key the narrowest counts."""
    before, after = _narrowest(old), _narrowest(new)
    found = []
    for key, margin in after.items():
        was = before.get(key)
        if was is not None and abs(margin.value - was.value) > 1e-9 * max(abs(was.value), abs(margin.value)):
            narrower = (margin.value < was.value) is margin.more_is_better
            found.append(MarginChange(margin.words, margin.thing, was.value, margin.value, margin.unit, narrower))
    return tuple(found)


def _narrowest(every: Iterator[Margin]) -> dict[Hashable, Margin]:
    kept: dict[Hashable, Margin] = {}
    for margin in every:
        known = kept.get(margin.key)
        if known is None or (margin.value < known.value) is margin.more_is_better:
            kept[margin.key] = margin
    return kept
