"""Things and places in the words of a step sheet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from groundlint.plan.models import Action, PointRef, Thing
from groundlint.steps.kind import Say
from groundlint.values import Gap
from groundlint.words import rows

NOT_STATED = "not stated"
_SIDES = {"near side": "near side of", "far side": "far side of"}
_BY_HAND_IS_USUAL = ("rod", "bar", "pole ground", "vehicle", "mat", "guy", "steel", "footing")


def named(value: object) -> str:
    """What a slot holds."""
    if value is None:
        return "by hand"
    if isinstance(value, Gap):
        return NOT_STATED
    if isinstance(value, PointRef):
        return point_words(value)
    return str(value)


def point_words(point: PointRef) -> str:
    """A point as a crew names it: `212 A`, `R1`, `the pole of 212`."""
    if point.sort in _SIDES:
        return f"the {_SIDES[point.sort]} {point.structure} {point.thing}"
    if point.sort == "earth":
        return f"the ground at {point.structure}" if point.structure else "the ground"
    return str(point)


def listed(group: Iterable[Action], slot: str) -> str:
    """What the actions hold in a slot; conductors at one structure together."""
    found = [action.slots.get(slot) for action in group]
    wires = [v for v in found if isinstance(v, PointRef) and v.sort == "conductor" and v.structure is not None]
    if len(found) > 1 and len(wires) == len(found) and len({id(v.structure) for v in wires}) == 1:
        return f"{wires[0].structure} " + ", ".join(str(v.thing) for v in wires)
    return ", ".join(dict.fromkeys(named(value) for value in found))


def saying(words: str, slot: str, after: str = "") -> Say:
    """A sentence of fixed words around what the actions hold in one slot."""
    return lambda group, _: f"{words} {listed(group, slot)}{after}".strip()


def does_it(*actions: Action) -> str:
    """Who does a step, where it names somebody."""
    who = dict.fromkeys(str(one) for action in actions if isinstance(one := action.slots.get("operator"), Thing))
    return f", by {rows.listed(list(who))}" if who else ""


def by_means(action: Action, preposition: str = "by") -> str:
    """By which stick, or by hand. Where the plan does not say, that is said for conductors alone."""
    stick, point = action.slots.get("stick"), action.slots.get("point", action.slots.get("first"))
    if isinstance(stick, Thing):
        return f" {preposition} stick {stick}"
    if stick is None:
        return " by hand"
    unusual = not isinstance(point, PointRef) or point.sort not in _BY_HAND_IS_USUAL
    return " (by stick or by hand: not stated)" if unusual else ""


def stand_words(value: object) -> str:
    """What somebody stands on."""
    if not isinstance(value, PointRef):
        return f"standing place {NOT_STATED}"
    if value.sort == "earth":
        return "on the ground"
    if value.sort == "vehicle":
        return f"in {value.thing}"
    return f"on the {value.sort}" + (f" {value.thing}" if value.thing is not None else "")


def reach_words(value: object) -> str:
    """What somebody can reach."""
    if not isinstance(value, tuple):
        return NOT_STATED
    return ", ".join(_short(one) for one in value) or "nothing"


def _short(point: Any) -> str:
    """A point within reach: a conductor without its structure."""
    if not isinstance(point, PointRef):
        return NOT_STATED
    if point.sort in _SIDES:
        return f"{point.thing} ({point.sort})"
    return str(point.thing) if point.thing is not None else f"the {point.sort}"


def crew_or_person(group: Sequence[Action], crew: str, person: str) -> str:
    """Who holds something: a crew by its name, or a person."""
    slots = group[0].slots
    return (f"crew {slots[crew]}" if slots.get(crew) else "") or named(slots.get(person))
