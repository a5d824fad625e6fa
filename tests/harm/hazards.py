"""The oracle of harm: each hazard of ``HAZARDS.md`` is a function that looks at the world after a step and says who is
harmed by what. ``harms(plan)`` replays a plan and gathers them, each kind once for whoever or whatever it harms."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from harm_world import CHARGED, HAND, Joined, Node, Step, World

from groundlint.plan.models import Conductor, Person, Plan, PointRef, Structure, Switch, Vehicle


class Harm(NamedTuple):
    """Somebody or something is harmed: by what kind of hazard, at which action (counted from 0), and by what."""

    kind: str
    action: int
    who: str
    what: str


Found = Iterator[tuple[str, str]]  # who, and what harms
HAZARDS: dict[str, Callable[[World, Step], Found]] = {}
"""The hazards by name."""


def hazard(look: Callable[[World, Step], Found]) -> Callable[[World, Step], Found]:
    HAZARDS[look.__name__.replace("_", "-")] = look
    return look


def words(node: Node) -> str:
    kept = [str(part) for part in node[1:] if part is not None and part != "near"]
    return " ".join([*kept, node[0]] if isinstance(node[1], Structure) and node[0] != "wire" else kept)


APPROACH = ((300, 0.0), (750, 0.33), (5e3, 0.63), (15e3, 0.65), (36e3, 0.77), (46e3, 0.84), (72.5e3, 1.0))
"""V between phases up to, and the least distance to it in m: 29 CFR 1910.269 Table R-6, from memory."""
HIGHER = ((121e3, 1.13), (145e3, 1.30), (169e3, 1.46), (242e3, 2.01))
"""The same above 72.5 kV: Table R-7, phase to ground, from memory."""
ARM = 0.75
"""m that a hand goes beyond what is worked on: common practice, no source."""
BY_THE_WAY = frozenset(
    ("brief", "request", "receive", "release", "transfer", "note", "hold", "replan", "certify", "pause")
)
BY_THE_WAY |= {"inspect", "verify", "tag", "lock", "open", "block", "wait", "shock", "leave", "prove", "test"}
BY_THE_WAY |= {"cover", "barricade", "gloves-on", "disconnect", "discharge", "detach", "unbond", "dismount"}
BY_THE_WAY |= {"unbarricade"}
"""Steps that bring nobody nearer to anything."""


def low(w: World) -> bool:
    """Low voltage, at which gloves do for a stick."""
    return w.line is not None and w.line.voltage is not None and w.line.voltage <= 1000


def distance(volts: float | None) -> float:
    for limit, metres in (*APPROACH, *HIGHER):
        if (volts or 0) <= limit:
            return metres
    return 2.5


def phase_ends(w: World, ends: Iterable[object]) -> Iterator[Node]:
    for end in ends:
        node = w.settled(end.node)  # type: ignore[attr-defined]
        if w.is_phase(node):
            yield node


def bare(w: World, person: Person) -> bool:
    return person not in w.gloved


def omitted(w: World) -> bool:
    """Whether grounds may be left off: no contact, no induction, and nothing in the plan that says otherwise."""
    said = w.plan.no_grounds or ()
    return (
        any("no contact" in one.replace("-", " ") for one in said)
        and any("no induction" in one.replace("-", " ") for one in said)
        and not w.parallels
        and not any(one not in w.covered for one in w.neighbours)
        and all(w.apart(source) for source in w.sources)
    )


# --------------------------------------------------------------------------- clamps and hands
@hazard
def clamp_on_live(w: World, s: Step) -> Found:
    """A clamp goes on a live part, or on a phase that nothing has shown dead since it could last be live."""
    for end in s.on:
        node = w.settled(end.node)
        if node[0] == "neighbour":
            yield str(end.lead), f"clamp on {words(node)}, which is live"
        elif w.is_phase(node):
            if node in w.was.live:
                yield str(end.lead), f"clamp on {words(node)}, which a source still has a way to"
            elif node not in w.was.ground and not w.shown_dead(node, w.was) and not w.tried_on(node, w.was):
                yield str(end.lead), f"clamp on {words(node)}, which nobody tested"


@hazard
def hand_on_live(w: World, s: Step) -> Found:
    """A conductor that is live, or that nothing has shown dead, is in somebody's reach or is cut, joined or brushed."""
    if s.action.kind == "clean":
        for node in w.nodes(s.action.slots["point"]):
            if w.is_phase(node) and node in w.was.live:
                yield words(node), "is brushed while a source has a way to it"
            elif w.is_phase(node) and node not in w.was.ground and not w.tried_on(node, w.was):
                yield words(node), "is brushed, which nobody tested"
    for person in w.people:
        for node in w.hands(person):
            if w.is_phase(node):
                if node in w.state.live:
                    yield str(person), f"{words(node)} in reach, which a source has a way to"
                elif node not in w.state.ground and not w.shown_dead(node, w.state) and not w.tried_on(node, w.state):
                    yield str(person), f"{words(node)} in reach, which nobody tested"
    if s.action.kind in ("cut", "join"):
        point = s.action.slots["point"]
        if isinstance(point, PointRef) and point.thing in w.phases:
            sides = [("wire", point.structure, point.thing, side) for side in ("near", "far")]
            for node in sides if s.action.kind == "join" else sides[:1]:
                if node in w.was.live:
                    yield str(point), f"{s.action.kind} while a source has a way to it"
                elif node in w.was.wire and node not in w.was.ground and not w.shown_dead(node, w.was):
                    yield str(point), f"{s.action.kind}, not shown dead"
            for cable in w.plan.things:
                vaults = getattr(cable, "vaults", ())
                tested = any(n[0] == "wire" and n[1] is point.structure for n in w.tried)
                if point.structure in vaults and cable not in w.spiked and not tested:
                    yield str(point), f"{s.action.kind} in a vault, {cable} not shown dead there"


@hazard
def empty_test(w: World, s: Step) -> Found:
    """A phase that is not grounded is clamped or in reach on the word of a test that shows nothing.

    It was improvised, or with a detector that is not made for the voltage or was not proven before and after, or before
    a source was open, a conductor moved or the line was found live, or long ago.
    """
    for end in s.on:
        node = w.settled(end.node)
        loose = w.is_phase(node) and node not in w.was.ground and node not in w.was.live
        if loose and w.tried_on(node, w.was) and not w.shown_dead(node, w.was):
            yield str(end.lead), f"goes on {words(node)}, whose test shows nothing"
    for person in w.people:
        for node in w.hands(person):
            loose = w.is_phase(node) and node not in w.state.ground and node not in w.state.live
            if loose and w.tried_on(node, w.state) and not w.shown_dead(node, w.state):
                yield str(person), f"has {words(node)} in reach, whose test shows nothing"


@hazard
def by_hand(w: World, s: Step) -> Found:
    """A clamp on a phase is held in the hand, and no other lead at the place joins the phase to ground; at low voltage,
    in a hand without a glove, and so a detector."""
    if s.action.kind == "test" and low(w) and not w.gloved and w.means(s.action.slots)[0] == HAND:
        for node in w.nodes(s.action.slots["point"]):
            if w.is_phase(node) and node not in w.was.ground:
                yield words(node), "is tested with bare hands"
    for end, then in [*((end, w.was) for end in s.on), *((end, w.state) for end in s.off)]:
        node = w.settled(end.node)
        if w.is_phase(node) and end.means == HAND and not (low(w) and w.gloved):
            earthed = {then.local.get(one, one) for one in w.electrodes()} | {
                then.local.get(("bar", bar), ("bar", bar)) for bar in w.bars if ("bar", bar) in then.ground
            }
            if then.local.get(node, node) not in earthed:
                yield str(end.lead), f"clamp on {words(node)} by hand"


@hazard
def ground_end_by_hand(w: World, s: Step) -> Found:
    """A lead's ground end is held in the hand while its other end is on, and a phase with a clamp on it is joined, at
    the place, to what the lead joins: the hand is between that and soil, rod, vehicle or neutral."""
    if low(w):
        return
    for ends, then in ((s.on, w.state), (s.off, w.was)):
        for end in ends:
            node = w.settled(end.node)
            others = [*w.ends.get(end.lead, ()), *(one for bond in w.bonds if bond[0] is end.lead for one in bond[1:])]
            others += [one.node for one in ends if one is not end and one.lead is end.lead]
            if end.means == HAND and not w.is_phase(node) and any(w.settled(one) != node for one in others):
                joined = [*others, node]
                on = [one for one in sorted(w.clamped(), key=words) if w.is_phase(one)]
                on = [one for one in on if any(then.together(w.settled(this), one) for this in joined)]
                if on:
                    yield str(end.lead), f"at {words(node)} by hand, with leads on {words(on[0])}"


@hazard
def line_end_first(w: World, s: Step) -> Found:
    """A lead hangs on a phase by one clamp while its other end is free, or is on nothing that is grounded."""
    touched = {id(end.lead): end.lead for end in (*s.on, *s.off)}
    for lead in touched.values():
        ends = [w.settled(node) for node in w.ends.get(lead, ())]
        ends += [w.settled(node) for bond in w.bonds if bond[0] is lead for node in bond[1:]]
        for node in ends:
            if w.is_phase(node) and node not in w.state.ground and not s.action.kind.startswith("lift"):
                alone = len(ends) == 1
                other = next((one for one in ends if one != node), None)
                if alone and s.off:
                    yield str(lead), f"hangs on {words(node)} with its other end off"
                elif s.on and (alone or (other is not None and not w.is_phase(other))):
                    yield str(lead), f"goes on {words(node)} before its ground end is on a ground"


@hazard
def stick_too_short(w: World, s: Step) -> Found:
    """A stick shorter than the approach distance, or none, on a phase that is not grounded yet."""
    least = distance(w.line.voltage if w.line else None)
    if low(w):
        return
    if s.action.kind == "test" and s.action.slots["point"] is not None:
        means, stick = w.means(s.action.slots)
        for node in w.nodes(s.action.slots["point"]):
            if w.is_phase(node) and node not in w.was.ground:
                if means == HAND:
                    yield words(node), "is tested from the hand"
                elif stick is not None and stick.length is not None and stick.length < least:
                    yield words(node), f"is tested with {stick}, {stick.length:.2f} m long"
    for end in s.on:
        node = w.settled(end.node)
        short = end.stick is not None and end.stick.length is not None and end.stick.length < least
        if short and w.is_phase(node) and node not in w.was.ground:
            yield words(node), f"is clamped with {end.stick}, {end.stick.length:.2f} m long"


# --------------------------------------------------------------------------- the zone
@hazard
def ungrounded_in_reach(w: World, s: Step) -> Found:
    """A phase in bare reach is joined to no ground, and grounds were not left off lawfully."""
    for person in w.people:
        if bare(w, person) and not omitted(w):
            for node in w.hands(person):
                if w.is_phase(node) and node not in w.state.ground:
                    yield str(person), f"{words(node)} in reach, not grounded"


@hazard
def ground_lost(w: World, s: Step) -> Found:
    """A phase that was grounded, and is in bare reach or has clamps on it still, is grounded no more."""
    lost = {node for node in w.was.ground - w.state.ground if w.is_phase(node)}
    if not lost:
        return
    for person in w.people:
        for node in w.hands(person):
            if node in lost and bare(w, person):
                yield str(person), f"{words(node)} in reach lost its ground"
    if s.off or s.action.kind in ("pull", "cut", "downed"):
        off = {w.settled(end.node) for end in s.off}
        for node in sorted(lost & w.clamped() - off, key=words):
            yield words(node), "lost its ground with clamps still on it"


@hazard
def two_potentials(w: World, s: Step) -> Found:
    """Two things that somebody touches, or could, are not joined at the place, and one of them could rise."""
    for person in w.people:
        if not bare(w, person) or not w.reached(person):
            continue
        things = [node for node in w.touches(person) if node[0] not in ("neighbour", "switch")]
        if omitted(w) and all(w.shown_dead(node, w.state) for node in things if w.is_phase(node)):
            continue
        for one, other in itertools.combinations(things, 2):
            sides = one[0] == other[0] == "wire" and one[1:3] == other[1:3]  # `open_unbridged` looks at these
            wood = {one[0], other[0]} == {"earth", "pole"}
            apart = rises(w, one) or rises(w, other) or led_down(w, one, other)
            if not sides and not wood and not w.state.together(one, other) and apart:
                yield str(person), f"{words(one)} and {words(other)} are not joined"
                break


def rises(w: World, node: Node) -> bool:
    """Whether a thing could come to another potential: a conductor, a switch's handle, and what a lead joins to one."""
    if node[0] in ("wire", "handle"):
        return True
    return any(one[0] == "wire" and w.state.together(node, one) for one in w.clamped())


def led_down(w: World, one: Node, other: Node) -> bool:
    """Whether of two things one is soil, and the other metal that comes down from the neutral or a shield wire."""
    if "earth" not in (one[0], other[0]) or w.line is None:
        return False
    metal = one if other[0] == "earth" else other
    wires = [w.line.neutral] if w.many() and isinstance(w.line.neutral, Conductor) else []
    wires += w.line.shield or ()
    if metal[0] in ("pole ground", "steel"):
        return bool(wires)
    return metal[0] != "pole" and any(w.state.together(metal, down) for down in w.wires(wires))


@hazard
def open_unbridged(w: World, s: Step) -> Found:
    """The two sides of an open conductor, or of an open switch there, are in bare reach, no lead across."""
    for person, place in w.people.items():
        if bare(w, person):
            for switch in w.open:
                here = switch.hangs is place.structure and not switch.away
                if (not here and {*switch.sides} != {place.structure}) or w.live_behind(switch, place.structure):
                    continue  # of what is live, `too_near` says more
                for node in w.hands(person):
                    if w.is_phase(node) and node[1] is place.structure and not w.bridged(node):
                        yield str(person), f"{switch} is open with nothing across at {words(node)}"
            for node in w.hands(person):
                other = (*node[:3], "far")
                if node[3] == "near" and (node[1], node[2]) in w.cuts and not w.state.together(node, other):
                    yield str(person), f"{words(node)} is open with nothing across"


@hazard
def no_ground_between(w: World, s: Step) -> Found:
    """A source could come back to the place without passing a ground on the way, or at the place."""
    if omitted(w):
        return
    for person, place in w.people.items():
        at = place.structure
        working = s.action.kind == "work" and (s.action.slots.get("operator") in (None, person))
        working = working and not (place.stand is not None and place.stand.sort == "earth")
        if at is None or at.order is None or not (working or any(w.is_phase(node) for node in w.hands(person))):
            continue
        for source in w.sources:
            if source.at is None or source.at.order is None:
                continue
            low, high = sorted((source.at.order, at.order))
            way = [one for one in w.route if low <= (one.order or 0) <= high]
            if not any(grounded_here(w, one) for one in way):
                yield str(person), f"no ground between {at} and {source}"


def grounded_here(w: World, structure: Structure) -> bool:
    """Whether a lead at a structure joins a phase of it to ground."""
    on = w.clamped() & w.state.ground
    return any(node[1] is structure and w.is_phase(node) for node in on)


# --------------------------------------------------------------------------- sources
@hazard
def source_not_open(w: World, s: Step) -> Found:
    """People have a phase in reach, or work, while no open point stands between a source and the line."""
    busy = [person for person in w.people if any(w.is_phase(node) for node in w.hands(person))]
    if s.action.kind == "work":
        busy = list(w.people)
    for source in w.sources:
        if busy and source.located and not w.apart(source) and w.entries(source) and reaches_people(w, source, busy):
            yield str(busy[0]), f"{source} is not open"


def reaches_people(w: World, source: object, busy: list[Person]) -> bool:
    """Whether what a source feeds as the line stands comes to a place where somebody works."""
    places = {w.people[person].structure for person in busy}
    return any(node[0] == "wire" and node[1] in places for node in w.state.live) or None in places


@hazard
def wrong_side(w: World, s: Step) -> Found:
    """Somebody has a phase in reach, or a switch's parts, on the side of the open point that stays live."""
    for person in w.people:
        for node in w.hands(person):
            if w.is_phase(node) and node in w.state.live and w.open:
                yield str(person), f"{words(node)} lies on the live side of the open point"
        for point in w.reached(person):
            if point.sort == "switch" and isinstance(point.thing, Switch) and point.thing.sources and bare(w, person):
                yield str(person), f"the source's side of {point.thing} is in reach"


@hazard
def energized_occupied(w: World, s: Step) -> Found:
    """A source gains a way to a place where somebody is up, or to the line while somebody holds a clearance."""
    gained = {node for node in w.state.live - w.was.live if w.is_phase(node)}
    if not gained:
        return
    places = {node[1] for node in gained}
    for person, place in w.people.items():
        if place.structure in places and w.up(person):
            yield str(person), "a source gains a way to the place"
    if w.holders and s.action.kind == "close":
        yield ", ".join(str(one) for one in w.holders), "the line is energized while a clearance is held"


@hazard
def energized_grounds(w: World, s: Step) -> Found:
    """A source gains a way to grounds that are on."""
    gained = {node for node in w.state.live - w.was.live if w.is_phase(node)}
    for node in sorted(gained & w.clamped(), key=words):
        if s.action.kind not in ("attach", "restore") or node not in {w.settled(end.node) for end in s.on}:
            yield words(node), "a source gains a way to it with a clamp on"


@hazard
def protection_ended(w: World, s: Step) -> Found:
    """A tag and lock, or a block of reclosing, comes off while somebody is up, or a lock while grounds are on."""
    up = [str(person) for person in w.people if w.up(person)]
    if s.action.kind == "unblock" and up:
        yield up[0], f"reclosing of {s.action.slots['circuit']} is put back"
    if s.action.kind == "enable" and up and s.action.slots["switch"] in w.open:
        yield up[0], f"the control of {s.action.slots['switch']} is put back"
    if s.action.kind == "untag":
        switch = s.action.slots["switch"]
        phases = [node for node in w.clamped() if w.is_phase(node)]
        if switch in w.open and getattr(switch, "sources", ()) and (up or phases):
            yield up[0] if up else words(phases[0]), f"the lock and tag of {switch} come off"


@hazard
def charged_capacitor(w: World, s: Step) -> Found:
    """A capacitor holds its charge while a phase is clamped or in reach, or is short-circuited too early or by hand."""
    if s.action.kind == "discharge":
        one = s.action.slots["capacitor"]
        if w.means(s.action.slots)[0] == HAND and not low(w):
            yield str(one), "short-circuited by hand"
        if one in w.stood and w.stood[one] < CHARGED:
            yield str(one), f"short-circuited {w.stood[one]:.0f} s after it was disconnected"
    near = [str(person) for person in w.people if any(w.is_phase(node) for node in w.hands(person))]
    near += [str(end.lead) for end in s.on if w.is_phase(w.settled(end.node))]
    for one, charge in w.charge.items():
        if near and charge != "discharged":
            yield near[0], f"{one} holds its charge"


# --------------------------------------------------------------------------- neighbours, vehicles, rods
@hazard
def too_near(w: World, s: Step) -> Found:
    """A bare live part is nearer than the approach distance and an arm to what somebody works on."""
    for person, place in w.people.items():
        if place.stand is not None and place.stand.sort == "earth":
            continue
        for one in w.neighbours:
            if one in w.covered or one.gap is None or (one.at is not None and one.at is not place.structure):
                continue
            at = one.gap_from
            here = place.structure if at is None or at.structure is None else at.structure
            if here is place.structure and one.gap < distance(one.voltage) + ARM:
                yield str(person), f"{one} is bare, {one.gap:.2f} m off"
            for wire, (holder, _) in w.in_hand.items():
                long = wire.length if holder is person and here is place.structure else None
                if long is not None and one.gap < distance(one.voltage) + long:
                    yield str(person), f"{wire} in hand can come to {one}, bare, {one.gap:.2f} m off"
        for switch in w.open:
            off = switch.away if switch.hangs is place.structure else None
            if off is None or w.line is None or not w.live_behind(switch, place.structure):
                continue
            if off < distance(w.line.voltage) + ARM:
                yield str(person), f"the live side of {switch} is {off:.2f} m off"
        for point in w.reached(person):
            if point.sort == "neighbour" and point.thing not in w.covered:
                yield str(person), f"{point.thing} is in reach"


@hazard
def strung_past_live(w: World, s: Step) -> Found:
    """A new conductor is pulled in past a bare live part, with no ground on it where it is handled, or without a
    tensioner; or where a phase hangs that nobody tested, or is down itself and nobody tested it."""
    if s.action.kind == "string":
        held_up = any(isinstance(one, Vehicle) and one.body == "tensioner" for one in w.plan.things)
        strung = {one.slots["point"] for one in w.plan.actions if one.kind == "string"}
        for node in w.nodes(s.action.slots["point"]):
            if not held_up:
                yield from (
                    (words(node), f"is pulled by hand past {one}") for one in w.neighbours if one not in w.covered
                )
            for other in w.wires(w.phases):
                fresh = any(other in w.nodes(point) for point in strung)
                hangs = other[1] is node[1] and not (fresh and other[1:3] not in w.cuts)
                if hangs and other not in w.was.ground and not w.tried_on(other, w.was) and not omitted(w):
                    yield words(node), f"is pulled in where {words(other)} hangs, which nobody tested"
        for node in w.nodes(s.action.slots["point"]):
            if not (node in w.clamped() and node in w.state.ground):
                for one in w.neighbours:
                    if one not in w.covered and (one.at is None or one.at is node[1]):
                        yield words(node), f"is strung past {one}"


@hazard
def vehicle_unprotected(w: World, s: Step) -> Found:
    """A vehicle at a place of work, or a tensioner that pulls, is neither bonded to a ground nor barricaded; or
    somebody is on one that is not insulated, and it is not bonded."""
    people = {place.structure for place in w.people.values()}
    there: dict[Vehicle, Structure | None] = {one: at for one, at in w.parked.items() if at in people}
    for place in w.people.values():
        if place.stand is not None and isinstance(place.stand.thing, Vehicle):
            there[place.stand.thing] = place.structure
    if s.action.kind == "string":
        there |= {one: at for one, at in w.parked.items() if one.body == "tensioner"}
    moved = s.action.slots.get("vehicle") if s.action.kind == "park" else None
    if (
        moved in w.parked
        and w.parked[moved] is not s.action.slots.get("structure")
        and ("vehicle", moved) in w.clamped()
    ):
        yield str(moved), "is moved with its bond on"
    for vehicle in there:
        bonded = ("vehicle", vehicle) in w.state.ground and ("vehicle", vehicle) in w.clamped()
        if not bonded and vehicle not in w.barricaded:
            yield str(vehicle), "neither bonded nor barricaded"
    for person, place in w.people.items():
        under = place.stand.thing if place.stand is not None else None
        bare_boom = isinstance(under, Vehicle) and under.insulation == "uninsulated"
        if bare_boom and ("vehicle", under) not in w.state.ground:
            yield str(person), f"is on {under}, which is not bonded, inside its barricade"


@hazard
def beside_downed(w: World, s: Step) -> Found:
    """Somebody comes to stand, or stands while work goes on, on the ground or on a vehicle that is not insulated, where
    a phase is down that is not grounded there."""
    for person, place in w.people.items():
        came = s.action.kind in ("enter", "move") and s.action.slots["person"] is person
        vehicle = place.stand.thing if place.stand is not None and isinstance(place.stand.thing, Vehicle) else None
        low_down = (
            vehicle.insulation == "uninsulated" if vehicle else place.stand is not None and place.stand.sort == "earth"
        )
        if low_down and (came or s.action.kind == "work"):
            for structure, conductor in w.down:
                for side in ("near", "far"):
                    node = ("wire", structure, conductor, side)
                    if structure is place.structure and w.is_phase(node) and not grounded_there(w, node):
                        yield str(person), f"{words(node)} is down there and not grounded there"


def grounded_there(w: World, node: Node) -> bool:
    local = w.state.local
    return local.get(node, node) in {local.get(one, one) for one in w.electrodes()}


@hazard
def rod_unguarded(w: World, s: Step) -> Found:
    """Somebody is on the ground at a place where a rod carries leads and nothing keeps people from it."""
    for person, place in w.people.items():
        if place.stand is not None and place.stand.sort == "earth":
            for rod, at in w.rods.items():
                if at is place.structure and ("rod", rod) in w.clamped() and rod not in w.barricaded:
                    yield str(person), f"{rod} is not barricaded"


# --------------------------------------------------------------------------- going on
@hazard
def went_on_live(w: World, s: Step) -> Found:
    """A conductor was found live and not found dead since, and somebody goes on: clamps it, reaches it, works."""
    for node, step in w.found_live.items():
        if step >= s.index or any(t > step and w.state.wire.get(n) == w.state.wire.get(node) for t, n, _d in w.tests):
            continue
        if s.action.kind == "work" or (s.action.kind not in BY_THE_WAY and (s.on or touching(w, s, node))):
            yield words(node), f"was found live, and the next thing is to {s.action.kind}"


def touching(w: World, s: Step, node: Node) -> bool:
    person = s.action.slots.get("person")
    return isinstance(person, Person) and person in w.people and bool(w.hands(person))


@hazard
def went_on_shock(w: World, s: Step) -> Found:
    """Somebody was shocked, and work, reach or leads go on before anybody has stopped to find out why."""
    if w.shocked is None:
        return
    if s.action.kind in ("hold", "replan") or (s.action.kind == "test" and s.action.slots.get("result") != "live"):
        w.shocked = None
    elif s.action.kind == "work" or s.on or (s.action.kind in ("enter", "move") and w.up(s.action.slots["person"])):
        yield "the crew", f"somebody was shocked, and the next thing is to {s.action.kind}"


# --------------------------------------------------------------------------- what flows
@hazard
def lead_melts(w: World, s: Step) -> Found:
    """A lead that alone joins a phase to the others melts in the fault of a source before it clears.

    Only what is certain: the three-phase current at the place, shared evenly by all places that have a set, and the
    least time that it can last; I2t of melting by Onderdonk's equation, from memory, from 40 C.
    """
    if not s.on or w.line is None or not w.line.voltage:
        return
    places = {node[1] for node in w.clamped() if w.is_phase(node)}
    for lead, (one, other) in list(w.lead_ends()):
        area, size = getattr(lead, "area", None), getattr(lead, "metal", None)
        if area is None or size not in (None, "copper"):
            continue
        if not parts_phases(w, lead, one, other):
            continue
        melts = area * MELTING
        for source in w.sources:
            current, time = (
                least_current(w, source, next(iter({n[1] for n in (one, other) if w.is_phase(n)}))),
                lasts(w, source),
            )
            if current is not None and time is not None and (current / len(places)) ** 2 * time > melts**2:
                yield (
                    str(lead),
                    f"melts when {source} comes back: {current / len(places) / 1e3:.1f} kA for {time:.2f} s",
                )


MELTING = 1973.5e6 * (0.683 / 33) ** 0.5
"""A s^0.5 for each m2 of copper: 1973.5 million circular mils in a square metre."""


@hazard
def over_limit(w: World, s: Step) -> Found:
    """Between a phase in bare reach and what else is touched lies one lead, across which the fault drives too much.

    Only what is certain: the lead's resistance at 20 C without its reactance, the least current and the least time; a
    body of 1000 ohm and Dalziel's limit for 50 kg, from memory.
    """
    if w.line is None or not w.line.voltage:
        return
    places = {node[1] for node in w.clamped() if w.is_phase(node)}
    for person in w.people:
        touched = [node for node in w.touches(person) if bare(w, person)]
        for lead, (one, other) in list(w.lead_ends()):
            area, length = getattr(lead, "area", None), getattr(lead, "length", None)
            if area is None or length is None or not parts_phases(w, lead, one, other):
                continue
            apart = without(w, lead)
            if len({apart.top(node) for node in touched if w.state.together(node, one)}) < 2:
                continue
            place = one[1] if w.is_phase(one) else other[1]
            for source in w.sources:
                current, time = least_current(w, source, place), lasts(w, source)
                if current is not None and time is not None:
                    volts = current / len(places) * COPPER * length / area
                    if volts > 116 / min(max(time, 0.03), 3.0) ** 0.5:
                        yield str(person), f"{volts:.0f} V along {lead} when {source} comes back for {time:.2f} s"


COPPER = 1.724e-8
"""ohm m at 20 C: IEC 60028, from memory."""


def without(w: World, lead: object) -> Joined:
    """What is joined to what at the places, with one lead off."""
    joined = Joined()
    for again, (one, other) in w.lead_ends():
        if again is not lead:
            joined.join(one, other)
    for one, other in w.metal():
        joined.join(one, other)
    return joined


def parts_phases(w: World, lead: object, one: Node, other: Node) -> bool:
    """Whether without the lead a phase that is joined to all the others through it is so no more."""
    if not (w.is_phase(one) or w.is_phase(other)):
        return False
    place = one[1] if w.is_phase(one) else other[1]
    phases = [node for node in w.wires(w.phases) if node[1] is place]
    if len({w.state.local.get(node, node) for node in phases}) != 1 or len(phases) < 3:
        return False
    joined = without(w, lead)
    return len({joined.top(node) for node in phases}) > 1


def least_current(w: World, source: object, place: Structure) -> float | None:
    """The three-phase fault current at a place, A, with the line's impedance reckoned high."""
    three, at, volts = source.three_phase, source.at, w.line.voltage  # type: ignore[attr-defined,union-attr]
    if three is None or at is None or at.order is None or place.order is None or getattr(source, "voltage", None):
        return None
    low, high = sorted((at.order, place.order))
    metres = sum((one.span_after or 300.0) for one in w.route[low:high])
    return float(volts / 3**0.5 / (volts / 3**0.5 / three + OHMS * metres))


OHMS = 1e-3
"""ohm a metre of line: more than any wire in use has, small copper aside; common practice, no source."""


def lasts(w: World, source: object) -> float | None:
    """The least time in s that a fault from a source can last: what is stated, or the breaker alone."""
    hertz = (w.line.frequency if w.line else None) or 60.0
    times = []
    for seconds, cycles in (("clearing", "clearing_cycles"), ("breaker", "breaker_cycles")):
        if getattr(source, cycles, None) is not None:
            times.append(getattr(source, cycles) / hertz)
        elif getattr(source, seconds, None) is not None:
            times.append(getattr(source, seconds))
    return min(times, default=None)


# --------------------------------------------------------------------------- work and people
@hazard
def work_unprotected(w: World, s: Step) -> Found:
    """Work by nobody in place, or where the line is not opened, not shown dead or not grounded."""
    if s.action.kind != "work":
        return
    who, at = s.action.slots.get("operator"), s.action.slots.get("structure")
    if isinstance(who, Person) and who not in w.people:
        yield str(who), "works and is nowhere in place"
        return
    people = [who] if isinstance(who, Person) else list(w.people)
    if isinstance(at, Structure):
        people = [person for person in people if w.people[person].structure in (at, None)]
    if not people:
        yield "nobody", "is in place for the work"
        return
    if not w.sources and not w.open:
        yield str(people[0]), "nothing was opened"
    for place in {w.people[person].structure: None for person in people if w.people[person].structure is not None}:
        for node in w.wires(w.phases):
            if node[1] is not place:
                continue
            if node in w.state.live:
                yield str(people[0]), f"works while a source has a way to {words(node)}"
            elif node not in w.state.ground and not (omitted(w) and w.shown_dead(node, w.state)):
                yield str(people[0]), f"works while {words(node)} has no ground"


@hazard
def no_clearance(w: World, s: Step) -> Found:
    """Somebody reaches a phase or works while nobody holds the clearance that the plan speaks of."""
    if w.holders or not any(one.kind in ("request", "receive", "release") for one in w.plan.actions):
        return
    for person in w.people:
        if any(w.is_phase(node) for node in w.hands(person)) or (s.action.kind == "work" and w.up(person)):
            yield str(person), "no clearance is held"


@hazard
def person_left(w: World, s: Step) -> Found:
    """Somebody is still in place when the last clearance is given back, or when the plan ends."""
    last = s.index == len(w.plan.actions) - 1
    if last or (s.action.kind == "release" and not w.holders):
        for person in w.people:
            yield str(person), "is still in place"


@hazard
def ground_left(w: World, s: Step) -> Found:
    """A lead is still on a phase when the last clearance is given back, or when the plan ends.

    A part of a job may leave it on for the next, while somebody holds the clearance.
    """
    last = s.index == len(w.plan.actions) - 1
    if last or (s.action.kind == "release" and not w.holders):
        handed = {one.thing for one in w.plan.leaves} if w.holders else set()
        on = [*((lead, node) for lead, ends in w.ends.items() for node in ends)]
        on += [(lead, node) for lead, *ends in w.bonds for node in ends]
        nodes = {w.settled(node) for lead, node in on if lead not in handed}
        for node in sorted((node for node in nodes if w.is_phase(node)), key=words):
            yield words(node), "a lead is still on"


def harms(plan: Plan) -> list[Harm]:
    """Everything in a plan that hurts somebody, in the order of its steps."""
    world = World(plan)
    found: dict[tuple[str, str], Harm] = {}
    for index, action in enumerate(plan.actions):
        step = world.do(index, action)
        for kind, look in HAZARDS.items():
            for who, what in look(world, step):
                found.setdefault((kind, who), Harm(kind, index, who, what))
    return list(found.values())


__all__ = ["HAZARDS", "Conductor", "Harm", "harms"]
