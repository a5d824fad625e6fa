"""What a plan states that the calculation takes in, each value in SI with the line it stands at."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from groundlint.plan.models import Lead, ParallelCircuit, Plan, Rod, Structure, SupplySource, Thing
from groundlint.text import Span
from groundlint.timeline import Timeline


class Input(NamedTuple):
    """A value as stated: of which thing (`kind` line, soil, source, circuit, structure, rod, lead), in SI with its
    unit, or in words where it is none."""

    kind: str
    thing: str
    quantity: str
    value: float | str
    unit: str
    span: Span


_Row = tuple[str, str, str]
_SOURCE: tuple[_Row, ...] = (
    ("three_phase", "three-phase fault current", "A"),
    ("to_ground", "fault current to ground", "A"),
    ("power", "fault power", "VA"),
    ("x_over_r", "X/R", ""),
    ("clearing", "clearing time", "s"),
    ("clearing_cycles", "clearing time", "cycles"),
    ("clears_from", "least current that clears in that time", "A"),
    ("relay", "relay", ""),
    ("pickup", "pickup", "A"),
    ("dial", "dial", ""),
    ("breaker", "breaker time", "s"),
    ("breaker_cycles", "breaker time", "cycles"),
)
_CIRCUIT: tuple[_Row, ...] = (
    ("distance", "distance", "m"),
    ("voltage", "voltage", "V"),
    ("current", "current", "A"),
    ("residual", "residual current", "A"),
    ("spacing", "spacing", ""),
    ("to_ground", "fault to ground", "A"),
    ("x_over_r", "X/R", ""),
    ("clearing", "clearing time", "s"),
    ("clearing_cycles", "clearing time", "cycles"),
)
_WIRE: tuple[_Row, ...] = (
    ("apart", "distance between subconductors", "m"),
    ("diameter", "diameter", "m"),
    ("resistance", "resistance", "ohm/m"),
    ("resistance_at", "temperature of the resistance", "C"),
    ("gmr", "geometric mean radius", "m"),
)
_STRUCTURE: tuple[_Row, ...] = (
    ("material", "material", ""),
    ("footing", "footing", "ohm"),
    ("pole_ground_resistance", "pole ground", "ohm"),
)
_LEAD: tuple[_Row, ...] = (
    ("size", "size", ""),
    ("metal", "metal", ""),
    ("length", "length", "m"),
    ("grade", "grade", ""),
    ("clamps_grade", "grade of clamps", ""),
)
_ROD: tuple[_Row, ...] = (("length", "length", "m"), ("diameter", "diameter", "m"))


def inputs_of(timeline: Timeline) -> tuple[Input, ...]:
    """All that is stated of what the calculation needs, in the order of the record."""
    return tuple(_all(timeline))


def _all(timeline: Timeline) -> Iterator[Input]:
    plan = timeline.plan
    yield from _line(plan)
    if plan.soil:
        span = plan.place("soil")
        names = (("resistivity", "ohm m"), ("depth of the upper layer", "m"), ("resistivity below", "ohm m"))
        for value, (quantity, unit) in zip(plan.soil, names, strict=False):
            yield Input("soil", "soil", quantity, value, unit, span)
    if plan.surface is not None:
        resistivity, thickness = plan.surface
        span = plan.place("surface")
        yield Input("soil", "surface layer", "resistivity", resistivity, "ohm m", span)
        if thickness is not None:
            yield Input("soil", "surface layer", "thickness", thickness, "m", span)
    route = plan.line.place("route") if plan.line is not None else plan.start
    for thing in plan.things:
        match thing:
            case SupplySource():
                yield from _source(thing)
            case ParallelCircuit():
                yield from _rows("circuit", thing, _CIRCUIT)
                yield from _never("circuit", thing, thing.never_clears)
            case Structure():
                yield from _rows("structure", thing, _STRUCTURE)
                if thing.span_after is not None:
                    yield Input("structure", thing.name, "span after", thing.span_after, "m", route)
            case Lead():
                yield from _rows("lead", thing, _LEAD)
            case Rod():
                yield from _rows("rod", thing, _ROD)
            case _:
                pass
    for action in (*plan.begins, *plan.actions):
        if action.kind == "set" and isinstance(rod := action.slots.get("rod"), Rod):
            for slot in ("distance", "depth"):
                length = action.slots.get(slot)
                if isinstance(length, float):
                    yield Input("rod", rod.name, f"{slot} as set", length, "m", action.span)


def _line(plan: Plan) -> Iterator[Input]:
    line = plan.line
    if line is None:
        return
    for attribute, unit in (("voltage", "V"), ("frequency", "Hz"), ("spacing", "")):
        value = getattr(line, attribute)
        if value is not None:
            yield Input("line", line.name, attribute, value, unit, line.place(attribute))
    for conductor in line.conductors:
        many = f"{conductor.bundle} x" if conductor.bundle > 1 else ""
        if words := " ".join(filter(None, (many, conductor.size, conductor.metal, conductor.stranding))):
            yield Input("line", conductor.name, "wire", words, "", line.place("wires"))
        for attribute, quantity, unit in _WIRE:
            value = getattr(conductor, attribute)
            if value is not None:
                yield Input("line", conductor.name, quantity, value, unit, line.place("wires"))
    if line.neutral_earthing is not None:
        neutral = str(line.neutral)
        yield Input("line", neutral, "grounding", line.neutral_earthing, "", line.place("neutral_earthing"))
    for shield in (line.shield or ()) if line.shield_insulated else ():
        yield Input("line", shield.name, "hung", "on insulators", "", line.place("shield"))


def _source(source: SupplySource) -> Iterator[Input]:
    place = "beyond" if source.beyond else "at"
    if source.at is not None:
        yield Input("source", source.name, "comes in", f"{place} {source.at}", "", source.span)
    yield from _rows("source", source, _SOURCE)
    for attribute, quantity in (("positive", "Z1"), ("zero", "Z0")):
        pair = getattr(source, attribute)
        if pair is not None:
            for part, name in zip(pair, ("resistance", "reactance"), strict=True):
                yield Input("source", source.name, f"{quantity} {name}", part, "ohm", _place(source, attribute))
    yield from _never("source", source, source.never_clears)


def _never(kind: str, thing: Thing, never: bool) -> Iterator[Input]:
    if never:
        yield Input(kind, thing.name, "clearing time", "never clears", "", _place(thing, "never_clears"))


_STATED_BY = {
    "clearing": "clears",
    "clearing_cycles": "clears",
    "never_clears": "clears",
    "clears_from": "clears",
    "pickup": "relay",
    "dial": "relay",
    "breaker": "relay",
    "breaker_cycles": "relay",
    "positive": "impedance",
    "zero": "impedance",
    "diameter": "across",
    "clamps_grade": "clamps",
}
"""The part of a statement that gives an attribute, where it goes by another name."""


def _place(thing: Thing, attribute: str) -> Span:
    return thing.place(attribute if attribute in thing.places else _STATED_BY.get(attribute, attribute))


def _rows(kind: str, thing: Thing, rows: tuple[_Row, ...]) -> Iterator[Input]:
    for attribute, quantity, unit in rows:
        value = getattr(thing, attribute)
        if value is not None:
            yield Input(kind, thing.name, quantity, value, unit, _place(thing, attribute))
