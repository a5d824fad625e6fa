"""The kinds of thing and of step that rules name, built from the plan's own classes and the steps' declarations."""

from __future__ import annotations

from groundlint import steps
from groundlint.facts.catalogue import KindOfThing, Slot, StepKind
from groundlint.plan import models
from groundlint.plan.models import Conductor, PointRef
from groundlint.timeline import HAPPENINGS

_K = KindOfThing
KINDS: tuple[KindOfThing, ...] = (
    _K("thing", (), "anything that the plan declares by name"),
    _K("line", ("thing",), "the line that is worked on"),
    _K("conductor", ("thing",), "a conductor of the line, over its whole length"),
    _K("phase", ("conductor",), "a phase conductor"),
    _K("neutral", ("conductor",), "the neutral conductor"),
    _K("shield", ("conductor",), "the shield wire"),
    _K("structure", ("thing",), "a pole or tower, or a vault of a cable"),
    _K("vault", ("structure",), "a vault or manhole of a cable"),
    _K("hazard", ("thing",), "what can put voltage on the line: a source, or a circuit beside it"),
    _K("source", ("hazard",), "what can energize the line, opened or not"),
    _K("parallel", ("hazard",), "a circuit beside the line, which induces voltage on it"),
    _K("neighbour", ("thing",), "a live part near the work"),
    _K("switch", ("thing",), "an open point: switch, breaker, fuse, jumper, elbow"),
    _K("capacitor", ("thing",), "a capacitor on the line, or a bank of them"),
    _K("cable", ("thing",), "a piece of the line that is cable"),
    _K("equipment", ("thing",), "what is inspected before use and tested from time to time"),
    _K("rod", ("equipment",), "a temporary ground rod"),
    _K("bar", ("equipment",), "a cluster bar"),
    _K("lead", ("equipment",), "a cable with a clamp on each end"),
    _K("detector", ("equipment",), "a voltage detector"),
    _K("tester", ("equipment",), "the instrument that proves a detector"),
    _K("stick", ("equipment",), "a live-line tool"),
    _K("rubber", ("equipment",), "insulating gloves, sleeves, blanket, line hose or cover"),
    _K("vehicle", ("equipment",), "a bucket truck, lift, crane, tensioner or trailer"),
    _K("loose-wire", ("thing",), "a conductor that is handled loose and is no ground"),
    _K("mat", ("thing",), "a conductive mat to stand on"),
    _K("person", ("thing",), "somebody of a crew"),
    _K("point", (), "a place that a lead can be on or a hand can touch, as far as the plan states or uses it"),
    _K("conductor-point", ("point",), "a conductor at a structure"),
    _K("phase-point", ("conductor-point",), "a phase conductor at a structure"),
    _K("neutral-point", ("conductor-point",), "the neutral at a structure"),
    _K("shield-point", ("conductor-point",), "the shield wire at a structure"),
    _K("rod-point", ("point",), "a rod, as what a lead goes on"),
    _K("bar-point", ("point",), "a cluster bar, as what a lead goes on"),
    _K("structure-point", ("point",), "metal or surface of a structure"),
    _K("pole-point", ("structure-point",), "the surface of a pole at the work"),
    _K("steel-point", ("structure-point",), "the steel of a structure"),
    _K("pole-ground-point", ("structure-point",), "the down-lead to a ground at a pole's butt"),
    _K("guy-point", ("structure-point",), "a structure's guy"),
    _K("footing-point", ("structure-point",), "a structure's footing"),
    _K("handle-point", ("structure-point",), "a switch handle on a structure"),
    _K("vehicle-point", ("point",), "a vehicle's metal"),
    _K("mat-point", ("point",), "a mat, as what a lead goes on"),
    _K("earth-point", ("point",), "the soil at a structure"),
    _K("neighbour-point", ("point",), "a live neighbour, as what a hand can reach"),
    _K("switch-point", ("point",), "a switch, as what a lead goes on or a hand can reach"),
)

POINT_KINDS: dict[str, str] = {
    "rod": "rod-point",
    "bar": "bar-point",
    "pole": "pole-point",
    "steel": "steel-point",
    "pole ground": "pole-ground-point",
    "guy": "guy-point",
    "footing": "footing-point",
    "handle": "handle-point",
    "vehicle": "vehicle-point",
    "mat": "mat-point",
    "earth": "earth-point",
    "neighbour": "neighbour-point",
    "switch": "switch-point",
}
"""The kind of a point by what it is; a conductor's goes by the conductor's role."""

CLASS_KINDS: dict[type, str] = {
    models.Line: "line",
    models.Structure: "structure",
    models.SupplySource: "source",
    models.ParallelCircuit: "parallel",
    models.Neighbour: "neighbour",
    models.Switch: "switch",
    models.Capacitor: "capacitor",
    models.Cable: "cable",
    models.Vault: "vault",
    models.Rod: "rod",
    models.Bar: "bar",
    models.Lead: "lead",
    models.Detector: "detector",
    models.Tester: "tester",
    models.Stick: "stick",
    models.Rubber: "rubber",
    models.LooseWire: "loose-wire",
    models.Vehicle: "vehicle",
    models.Equipment: "equipment",
    models.Mat: "mat",
    models.Person: "person",
    models.Plan: "plan",
}

NOT_THINGS = frozenset({"word", "flag", "text", "length", "time"})
"""What a slot may hold that is no thing: a rule reads those as facts of ``it``."""


def step_kind(kind: steps.StepKind) -> StepKind:
    """A kind of step with those of its slots that hold things and that one word can lead."""
    slots: list[Slot] = []
    for slot in kind.slots:
        led = {other.preposition for other in slots}
        if slot.holds not in NOT_THINGS and slot.preposition not in led and not slot.many:
            slots.append(Slot(slot.name, slot.holds, slot.preposition, slot.many, slot.optional))
    return StepKind(kind.name, tuple(slots), kind.meaning, happens=kind.happens)


STEPS: tuple[StepKind, ...] = (
    *(step_kind(kind) for kind in steps.KINDS.values()),
    *(
        StepKind(
            kind.name,
            tuple(Slot(part.name, part.holds, part.preposition, optional=part.optional) for part in kind.parts),
            kind.meaning,
            happening=True,
        )
        for kind in HAPPENINGS
    ),
)

DIMENSIONS = frozenset(
    {
        "length",
        "area",
        "time",
        "current",
        "voltage",
        "frequency",
        "resistance",
        "resistivity",
        "temperature",
        "heat",
        "number",
    }
)


def kind_of(thing: object) -> str:
    """The most particular kind of a thing, point or plan."""
    if isinstance(thing, PointRef):
        if isinstance(thing.thing, Conductor):  # the far side of a cut is the conductor too
            return f"{thing.thing.role}-point"
        return POINT_KINDS.get(thing.sort, "point")
    if isinstance(thing, Conductor):
        return thing.role
    for cls in type(thing).__mro__:
        found = CLASS_KINDS.get(cls)
        if found is not None:
            return found
    return "thing"
