"""Facts about the other side of an open point: how near it is to a structure where people work, and if it is live."""

from __future__ import annotations

from groundlint.facts.answers import Answer, any_of, by_change, where_stated
from groundlint.facts.catalogue import fact
from groundlint.facts.consistency import feeding
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Capacitor, LooseWire, Person, Structure, SupplySource, Switch, Thing
from groundlint.values import Unknown
from groundlint.values.bounds import gaps_of
from groundlint.world.logs import Log


def how_far(switch: Switch, structure: Structure | str) -> Unknown:
    """What is not stated of an open point's place."""
    asked = f"how far {switch} hangs from {structure}"
    return Unknown.of(asked, f"{switch.sort} {switch} 60 ft from {structure}", switch.span)


@fact(
    "open-near",
    "switch",
    "structure",
    lines=where_stated("sides"),
    meaning="it is open and hangs there or in a span beside it, not before a capacitor short-circuited and grounded",
)
def open_near(case: PlanTrace, at: int, switch: Switch, structure: Structure) -> bool | Unknown:
    near: bool | Unknown = switch.hangs is structure
    if structure in switch.sides and not near:
        beside = all(isinstance(side, Structure) for side in switch.sides)
        # of one between a source and the structure, it may hang on this pole, or a mile away
        near = beside or (how_far(switch, structure) if switch.hangs is None else False)
    grounded = (case.timeline.discharged(at, one) is not None for one in switch.sides if isinstance(one, Capacitor))
    if near is False or any(grounded):
        return False
    position = case.timeline.switch_position(at, switch)
    if position is None:
        return Unknown.of(f"the position of {switch}", f"open {switch} and tag it", switch.place("position"))
    return near if position == "open" else False


@fact(
    "works-a-switch-there",
    "person",
    lines=by_change("stands"),
    meaning="while at the structure where the person is, the person opens or closes an open point that hangs there",
)
def works_a_switch_there(case: PlanTrace, at: int, person: Person) -> Answer:
    here = case.person_structure(at, person)
    if not isinstance(here, Structure):
        return here or False
    stay = case.timeline.stay(at, person)
    return any_of(_worked_by(case, switch, stay, here, person) for switch in case.all(Switch))


def _worked_by(case: PlanTrace, switch: Switch, stay: range, here: Structure, person: Person) -> Answer:
    """Whether a person opens or closes an open point of a structure in the course of a stay there."""
    away = switch.hangs is None and here in switch.sides  # it may hang here, or at the next
    if switch.hangs is not here and not away:
        return False
    found = list[Answer]()
    for index in (position - 1 for position in case.timeline.world.operated.by_key.get(switch, Log()).positions):
        if index in stay:
            action = case.actions[index]
            who = action.slots.get("operator") or action.slots.get("crew")
            gap = Unknown.of(f"who works {switch}", f"{action.kind} {switch} by {person}", action.span)
            found.append(who is person if isinstance(who, Person | str) else gap)
    worked = any_of(found)
    return how_far(switch, here) if away and worked is not False else worked


@fact(
    "live-side-near",
    "switch",
    "structure",
    lines=where_stated("sides"),
    meaning="it is open, hangs there or in a span beside it, and a source reaches its other side, or may",
)
def live_side_near(case: PlanTrace, at: int, switch: Switch, structure: Structure) -> Answer:
    near = open_near.compute(case, at, switch, structure)
    if near is not True:
        return near if isinstance(near, Unknown) else False
    if len(switch.sides) < 2:
        asked = f"what stands on either side of {switch}"
        return Unknown.of(asked, f"{switch.sort} {switch} between West and {structure}", switch.span)
    mine = structure if structure in switch.sides else None
    return _live(case, at, [side for side in switch.sides if side is not mine], {switch})


@fact(
    "live-parts-apart",
    "switch",
    timed=False,
    lines=where_stated("away"),
    meaning="the plan states how far its live parts are from a structure, and not that it hangs at one alone",
)
def live_parts_apart(_case: PlanTrace, _at: int, switch: Switch) -> bool:
    return bool(switch.away)


@fact(
    "live-on-a-side",
    "switch",
    lines=where_stated("sides"),
    meaning="a source reaches one of its sides or the other, or may",
)
def live_on_a_side(case: PlanTrace, at: int, switch: Switch) -> bool | Unknown:
    live = _live(case, at, [*switch.sides], {switch})
    if live is True or len(switch.sides) >= 2:
        return live
    asked = f"what stands on either side of {switch}"
    return Unknown.of(asked, f"{switch.sort} {switch} between West and 211", switch.span)


def _live(case: PlanTrace, at: int, sides: list[Thing], seen: set[Switch]) -> bool | Unknown:
    """Whether a source may reach one of some sides of an open point."""
    found: bool | Unknown = False
    for side in sides:
        now: bool | Unknown = isinstance(side, SupplySource)
        if isinstance(side, Structure):
            for source in (thing for thing in case.plan.things if isinstance(thing, SupplySource)):
                fed = feeding.compute(case, at, source, side)
                now = fed if fed is True or now is False else now
        elif isinstance(side, Switch) and side not in seen:
            position = case.timeline.switch_position(at, side)
            beyond = False if position == "open" else _live(case, at, [*side.sides], seen | {side})
            gap = Unknown.of(f"the position of {side}", f"open {side} and tag it", side.place("position"))
            now = gap if beyond is True and position is None else beyond
        if now is True:
            return True
        found = now if isinstance(now, Unknown) else found
    return found


@fact(
    "live-side-distance",
    "switch",
    "structure",
    returns="length",
    unit="ft",
    timed=False,
    lines=where_stated("away"),
    meaning="how far its live parts are from that structure, where it hangs or from the other end of its span",
)
def live_side_distance(_case: PlanTrace, _at: int, switch: Switch, structure: Structure) -> float | Unknown:
    if switch.hangs is structure and switch.away is not None:
        return switch.away
    if {*switch.sides} == {structure}:  # it stands in the conductors of the structure itself
        return 0.0
    ends = (side for side in switch.sides if isinstance(side, Structure))
    span = next((end.span_after for end in ends if end.order == switch.hop), None)
    if switch.hangs in switch.sides and switch.away is not None and span is not None:
        return max(span - switch.away, 0.0)
    return how_far(switch, structure)


def _wires(case: PlanTrace, at: int, person: Person) -> list[LooseWire]:
    held = ((wire, case.timeline.held(at, wire)) for wire in case.all(LooseWire))
    return [wire for wire, now in held if now is not None and now.person is person]


@fact(
    "wire-in-hand",
    "person",
    returns="length",
    unit="ft",
    lines=lambda case, at, person: tuple((wire.span, f"{wire} declared") for wire in _wires(case, at, person)),
    meaning="how long the longest loose wire is that the person has in hand; 0 where there is none",
)
def wire_in_hand(case: PlanTrace, at: int, person: Person) -> float | Unknown:
    lengths = [
        Unknown.of(f"the length of loose wire {wire}", f"loose wire {wire} 25 ft", wire.span)
        if wire.length is None
        else wire.length
        for wire in _wires(case, at, person)
    ]
    unknown = [one for one in lengths if isinstance(one, Unknown)]
    return (
        Unknown(gaps_of(*unknown)) if unknown else max((one for one in lengths if isinstance(one, float)), default=0.0)
    )


@fact("in-hand-of", "loose-wire", "person", lines=by_change("held"), meaning="that person has it in hand")
def in_hand_of(case: PlanTrace, at: int, wire: LooseWire, person: Person) -> bool:
    held = case.timeline.held(at, wire)
    return held is not None and held.person is person
