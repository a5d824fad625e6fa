"""What happened at each step, whatever the step was called: the changes that the replay left in its logs.

A step kind is a word of the plan; a happening is what the word did. ``attach G1 to 212 A``, ``restore G1 to 212 A`` and
``bond K1 to 212 A with G1`` all put an end of G1 on 212 A, and rules ask at that. Nothing here looks at the kind of a
step, so that a new kind needs no place here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any, NamedTuple, TypeVar

from groundlint.plan.models import Action, Conductor, Lead, Person, PointRef, Vehicle
from groundlint.timeline.timeline import Timeline
from groundlint.values import FALSE, TRUE, Gap
from groundlint.world.logs import Log, Logs
from groundlint.world.network import FAR, NEAR, plain
from groundlint.world.records import End
from groundlint.world.world import World

T = TypeVar("T")


class Part(NamedTuple):
    """A slot of a happening: its name, the kind of thing in it, the preposition that leads it in a rule; ``optional``:
    None where there is none, as a stick where it was done by hand."""

    name: str
    holds: str
    preposition: str | None = None
    optional: bool = False


class HappeningKind(NamedTuple):
    """A kind of happening: its name in rules, its slots, and its meaning in one line."""

    name: str
    parts: tuple[Part, ...]
    meaning: str


class Happening(NamedTuple):
    """Something that happened. A slot holds a thing, a `Gap` where the plan does not say, or None where there is
    none."""

    kind: str
    slots: dict[str, object]


_LEAD, _STICK = Part("lead", "lead"), Part("stick", "stick", "by", optional=True)
_ON, _OFF = Part("point", "point", "to"), Part("point", "point", "from")
_PERSON, _POINT = Part("person", "person"), Part("point", "point")
_FOR = Part("person", "person", "for")
_SOURCE = Part("source", "source")
_SWITCH = Part("switch", "switch")
_CIRCUIT = Part("circuit", "thing")

HAPPENINGS: tuple[HappeningKind, ...] = (
    HappeningKind("goes-on", (_LEAD, _ON, _STICK), "an end of a lead comes to be on a point"),
    HappeningKind("first-end-on", (_LEAD, _ON, _STICK), "the first end of a lead comes to be on a point"),
    HappeningKind(
        "second-end-on",
        (_LEAD, Part("other", "point", "from"), _ON, _STICK),
        "the second end of a lead comes to be on a point, with its first on another",
    ),
    HappeningKind("comes-off", (_LEAD, _OFF, _STICK), "an end of a lead comes off a point"),
    HappeningKind(
        "first-end-off",
        (_LEAD, _OFF, Part("other", "point", "on"), _STICK),
        "the first of a lead's two ends comes off a point, and the other is still on",
    ),
    HappeningKind("last-end-off", (_LEAD, _OFF, _STICK), "the last end of a lead comes off a point"),
    HappeningKind(
        "end-handled",
        (_LEAD, Part("point", "point", "at"), Part("other", "point", "with"), _STICK),
        "an end of a lead goes on a point or comes off it, while its other end is on another",
    ),
    HappeningKind("comes-into-reach", (_POINT, _FOR), "a point comes into somebody's reach"),
    HappeningKind("goes-out-of-reach", (_POINT, _FOR), "a point goes out of somebody's reach"),
    HappeningKind(
        "takes-place",
        (_PERSON, Part("structure", "structure", "at"), Part("stand", "point", "on")),
        "a person comes to be in place at a structure, from elsewhere or from another stand there",
    ),
    HappeningKind(
        "leaves-place", (_PERSON, Part("structure", "structure", "from")), "a person is no more in place at a structure"
    ),
    HappeningKind("gains-way", (_SOURCE, _ON), "a source comes to reach a phase conductor at a structure, or may"),
    HappeningKind("loses-way", (_SOURCE, _ON), "a source reaches a phase conductor at a structure no more"),
    HappeningKind("test-ends", (_POINT,), "the test that found a point dead holds no more"),
    HappeningKind("gains-electrode", (_POINT,), "a conductor at a structure comes to be grounded"),
    HappeningKind("loses-electrode", (_POINT,), "a conductor at a structure loses its last electrode"),
    HappeningKind("opens", (_SWITCH,), "an open point comes to be open"),
    HappeningKind("closes", (_SWITCH,), "an open point is open no more, or may be closed"),
    HappeningKind("tag-goes-on", (_SWITCH,), "a tag comes to be on an open point"),
    HappeningKind("tag-comes-off", (_SWITCH,), "an open point loses its tag"),
    HappeningKind("lock-goes-on", (_SWITCH,), "an open point comes to be locked"),
    HappeningKind("lock-comes-off", (_SWITCH,), "an open point loses its lock"),
    HappeningKind(
        "control-put-off", (_SWITCH,), "the remote and automatic control of an open point comes to be disabled"
    ),
    HappeningKind(
        "control-put-back", (_SWITCH,), "the remote and automatic control of an open point is disabled no more"
    ),
    HappeningKind("control-tagged", (_SWITCH,), "a tag comes to be where an open point is controlled from"),
    HappeningKind("control-untagged", (_SWITCH,), "an open point loses the tag where it is controlled from"),
    HappeningKind(
        "reclosing-put-off", (_CIRCUIT,), "the reclosing of a source or a live neighbour comes to be blocked"
    ),
    HappeningKind(
        "reclosing-put-back", (_CIRCUIT,), "the reclosing of a source or a live neighbour is blocked no more"
    ),
    HappeningKind("cover-goes-on", (Part("neighbour", "neighbour"),), "a live neighbour comes to be covered"),
    HappeningKind("cover-comes-off", (Part("neighbour", "neighbour"),), "a live neighbour loses its cover"),
    HappeningKind("barricade-goes-up", (Part("thing", "thing"),), "people come to be kept away from a thing"),
    HappeningKind("barricade-comes-down", (Part("thing", "thing"),), "a thing loses its barricade"),
    HappeningKind("vehicle-bonded", (Part("vehicle", "vehicle"),), "a vehicle comes to be grounded"),
    HappeningKind("vehicle-unbonded", (Part("vehicle", "vehicle"),), "a vehicle is grounded no more"),
    HappeningKind("gloved", (_PERSON,), "a person comes to wear rubber gloves"),
    HappeningKind("ungloved", (_PERSON,), "a person comes to wear rubber gloves no more"),
    HappeningKind("clearance-begins", (), "a clearance comes to be out"),
    HappeningKind("clearance-ends", (), "the last clearance is given back"),
    HappeningKind(
        "vehicle-arrives",
        (Part("vehicle", "vehicle"), Part("structure", "structure", "at")),
        "a vehicle comes to be at a structure",
    ),
    HappeningKind("time-passes", (), "a wait goes by"),
    HappeningKind("goes-unwatched", (), "nobody is there for a while: a pause, or a wait of four hours or more"),
)


def happenings(timeline: Timeline) -> tuple[tuple[Happening, ...], ...]:
    """What happened at each step, by the number of the action."""
    found: list[list[Happening]] = [[] for _ in timeline.actions]
    for index, happening in _all(timeline, timeline.world):
        found[index].append(happening)
    return tuple(map(tuple, found))


def _all(timeline: Timeline, world: World) -> Iterator[tuple[int, Happening]]:
    yield from _ends(timeline, world)
    yield from _bonds_without_a_lead(timeline)
    yield from _people(world)
    yield from _electrodes(timeline)
    yield from _ways(timeline, world)
    yield from _tests_and_time(world)
    yield from _protections(world)
    for vehicle, log in world.parked.by_key.items():
        for index, _, after in edges(log):
            gap = Gap(f"where {vehicle} is parked", f"park {vehicle} at 212", timeline.actions[index].span)
            where = (after[0] if after is not None else None) or gap
            yield index, Happening("vehicle-arrives", {"vehicle": vehicle, "structure": where})


def _tests_and_time(world: World) -> Iterator[tuple[int, Happening]]:
    for point, log in world.holds.by_key.items():
        for index, before, after in edges(log):
            if before and not after:
                yield index, Happening("test-ends", {"point": point})
    for index, _, _ in edges(world.waited):
        yield index, Happening("time-passes", {})
    for index, _, _ in edges(world.unwatched):
        yield index, Happening("goes-unwatched", {})


def _protections(world: World) -> Iterator[tuple[int, Happening]]:
    """What begins and ends with a thing whose log says so."""
    logs: tuple[tuple[str, str, str, Logs[Any, Any], Callable[[Any], bool]], ...] = (
        ("opens", "closes", "switch", world.switch, lambda state: state == "open"),
        ("tag-goes-on", "tag-comes-off", "switch", world.tagged, bool),
        ("lock-goes-on", "lock-comes-off", "switch", world.locked, bool),
        ("control-put-off", "control-put-back", "switch", world.disabled, bool),
        ("control-tagged", "control-untagged", "switch", world.control_tagged, bool),
        ("reclosing-put-off", "reclosing-put-back", "circuit", world.blocked, bool),
        ("cover-goes-on", "cover-comes-off", "neighbour", world.covered, bool),
        ("barricade-goes-up", "barricade-comes-down", "thing", world.barricades, lambda found: found is not None),
        ("gloved", "ungloved", "person", world.gloves, bool),
    )
    for begins, ends, slot, by_thing, holds in logs:
        for thing, log in by_thing.by_key.items():
            for index, before, after in edges(log):
                if holds(before) is not holds(after):
                    yield index, Happening(begins if holds(after) else ends, {slot: thing})
    for index, before, after in edges(world.clearance_of_all):
        was_out, is_out = (state in ("received", "unsettled") for state in (before, after))
        if was_out is not is_out:
            yield index, Happening("clearance-begins" if is_out else "clearance-ends", {})


def edges(log: Log[T]) -> Iterator[tuple[int, T | None, T | None]]:
    """Each change of a log with the action that made it: its number, the value before, the value after. What holds
    before the first action is no change."""
    before: T | None = None
    for position, value in zip(log.positions, log.values, strict=True):
        if position > 0 and value != before:
            yield position - 1, before, value
        before = value


# ---- leads and bonds ----


def _stick(action: Action) -> object:
    """The stick by which a step is done: None by hand, a `Gap` where the plan does not say."""
    if "stick" in action.slots:
        return action.slots["stick"]
    return Gap("whether it is done by hand or by stick", "by H1", action.span)


def _ends(timeline: Timeline, world: World) -> Iterator[tuple[int, Happening]]:
    for lead, log in world.ends.by_key.items():
        for index, before, after in edges(log):
            action = timeline.actions[index]
            stick = _stick(action)
            had, has = ([_whole(timeline, index, end) for end, _ in ends or ()] for ends in (before, after))
            named = {
                _whole(timeline, index, plain(value)) for value in action.slots.values() if isinstance(value, PointRef)
            }
            # of two ends that come off at one step, the one that the step names comes off first
            still = list(had)
            for end in sorted((end for end in had if end not in has), key=lambda end: end not in named):
                still.remove(end)
                yield from _comes_off(index, lead, end, still[0] if still else None, stick)
            for end in (end for end in has if end not in had):
                yield from _goes_on(index, lead, end, still[-1] if still else None, stick)
                still.append(end)


def _whole(timeline: Timeline, index: int, end: End) -> End:
    """The place of an end; where a conductor is not parted, either side of it there is the conductor itself."""
    if not isinstance(end, PointRef) or end.sort not in (NEAR, FAR) or not isinstance(end.thing, Conductor):
        return end
    if end.structure is None or timeline.parted(index, end):
        return end
    return PointRef("conductor", end.structure, end.thing)


def _goes_on(
    index: int, lead: object, end: object, other: object | None, stick: object
) -> Iterator[tuple[int, Happening]]:
    slots = {"lead": lead, "point": end, "stick": stick}
    yield index, Happening("goes-on", slots)
    yield index, Happening("first-end-on" if other is None else "second-end-on", {**slots, "other": other})
    if other is not None:
        yield index, Happening("end-handled", {**slots, "other": other})


def _comes_off(
    index: int, lead: object, end: object, other: object | None, stick: object
) -> Iterator[tuple[int, Happening]]:
    slots = {"lead": lead, "point": end, "stick": stick}
    yield index, Happening("comes-off", slots)
    yield index, Happening("last-end-off" if other is None else "first-end-off", {**slots, "other": other})
    if other is not None:
        yield index, Happening("end-handled", {**slots, "other": other})


def _bonds_without_a_lead(timeline: Timeline) -> Iterator[tuple[int, Happening]]:
    """A bond of which the plan names no lead is one all the same."""
    for joint in timeline.joints():
        key = joint.key
        if isinstance(key, Lead) or joint.first == 0 or not isinstance(key, tuple):
            continue
        if key[0] == "loose":
            key = key[1]
        if isinstance(key, Lead) or not isinstance(key, tuple) or key[0] not in ("bond", "lead not named"):
            continue
        on = timeline.actions[joint.first - 1]
        lead = _unnamed(on)
        ends = [
            _whole(timeline, joint.first - 1, end) if isinstance(end, PointRef) else joint.gap
            for end in (joint.one, joint.other)
        ]
        if key[0] == "lead not named":
            yield from _goes_on(joint.first - 1, lead, ends[0], None, _stick(on))
            continue
        yield from _goes_on(joint.first - 1, lead, ends[0], None, _stick(on))
        yield from _goes_on(joint.first - 1, lead, ends[1], ends[0], _stick(on))
        if joint.last < timeline.n:
            stick = _stick(timeline.actions[joint.last])
            yield from _comes_off(joint.last, lead, ends[0], ends[1], stick)
            yield from _comes_off(joint.last, lead, ends[1], None, stick)


def _unnamed(action: Action) -> Gap:
    named = action.slots.get("lead")
    return named if isinstance(named, Gap) else Gap("which lead is used", "bond T1 to K1 with G1", action.span)


# ---- people ----


def _people(world: World) -> Iterator[tuple[int, Happening]]:
    for person, log in world.stands.by_key.items():
        for index, before, after in edges(log):
            had = (before.reach if before else ()) or ()
            has = (after.reach if after else ()) or ()
            for point in (place for place in had if place not in has and isinstance(place, PointRef)):
                yield index, Happening("goes-out-of-reach", {"point": point, "person": person})
            if after is not None and after.reach is None and (before is None or before.reach is not None):
                gap = after.gaps[-1] if after.gaps else Gap(f"what {person} can reach", f"move {person} reaching A")
                yield index, Happening("comes-into-reach", {"point": gap, "person": person})
            for place in has:
                if place not in had:
                    yield index, Happening("comes-into-reach", {"point": place, "person": person})
            yield from _places(index, person, before, after)


def _places(index: int, person: Person, before: object, after: object) -> Iterator[tuple[int, Happening]]:
    here, there = (getattr(stand, "structure", None) for stand in (before, after))
    stood, stands = (getattr(stand, "point", None) for stand in (before, after))
    if before is not None and (after is None or here is not there):
        where = here or Gap(f"at which structure {person} is", f"enter {person} at 212")
        yield index, Happening("leaves-place", {"person": person, "structure": where})
    if after is not None and (before is None or here is not there or stood != stands):
        where = there or Gap(f"at which structure {person} is", f"enter {person} at 212")
        on = stands or Gap(f"what {person} stands on", f"enter {person} at 212 on the pole")
        yield index, Happening("takes-place", {"person": person, "structure": where, "stand": on})


# ---- what can be live, and what is grounded ----


def _electrodes(timeline: Timeline) -> Iterator[tuple[int, Happening]]:
    line = timeline.plan.line
    for structure in timeline.structures:
        for conductor in line.conductors if line is not None else ():
            parted = (structure, conductor) in timeline.world.network.through.by_key  # at some step, or at none
            for sort in ("conductor", NEAR, FAR) if parted else ("conductor",):
                point = PointRef(sort, structure, conductor)
                for at, one in _grounding(timeline, point, "gains-electrode", "loses-electrode", {"point": point}):
                    if timeline.whole(at + 1, point) == point:  # a side is a point of its own where they are parted
                        yield at, one
    for vehicle in timeline.plan.of(Vehicle):
        body = PointRef("vehicle", None, vehicle)
        yield from _grounding(timeline, body, "vehicle-bonded", "vehicle-unbonded", {"vehicle": vehicle})


def _grounding(
    timeline: Timeline, point: PointRef, begins: str, ends: str, slots: dict[str, object]
) -> Iterator[tuple[int, Happening]]:
    changes = sorted({0, *timeline.joint_changes(point, local=False)})
    known = [(position, timeline.world.network.how_grounded(position, point, local=False)) for position in changes]
    for (_, before), (position, after) in pairwise(known):
        if before is not TRUE and after is TRUE:
            yield position - 1, Happening(begins, slots)
        elif before is TRUE and after is not TRUE:
            yield position - 1, Happening(ends, slots)


def _ways(timeline: Timeline, world: World) -> Iterator[tuple[int, Happening]]:
    """Ways of sources to the phases, looked at where a switch, a cut or a joint along the line has changed."""
    points = [
        PointRef("conductor", structure, phase) for structure in timeline.structures for phase in world.network.phases
    ]
    changes = {position for log in world.feed.reach.by_key.values() for position in log.positions}
    changes.update(position for point in points for position in timeline.joint_changes(point, local=False))
    for source in world.feed.sources:
        for point in points:
            before = world.feed.way(0, source, point)[0] is not FALSE
            for position in sorted(changes - {0}):
                after = world.feed.way(position, source, point)[0] is not FALSE
                if after is not before:
                    slots = {"source": source, "point": point}
                    yield position - 1, Happening("gains-way" if after else "loses-way", slots)
                before = after


__all__ = ["HAPPENINGS", "Happening", "HappeningKind", "Part", "edges", "happenings"]
