"""Facts about points: what they are, what they are joined to, and how they were tested and cleaned."""

from __future__ import annotations

from typing import Any

from groundlint.facts.answers import Answer, Lines, all_of, any_of, by_change, settled
from groundlint.facts.catalogue import fact
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Bar, Conductor, Neighbour, PointRef, Rod, Structure, SupplySource, Switch, Vehicle
from groundlint.values import TRUE, UNKNOWN, Gap, Unknown
from groundlint.world.logs import READING
from groundlint.world.network import plain

# ---- what a point is ----


@fact(
    "role",
    "point",
    returns=("phase", "neutral", "shield", "none"),
    timed=False,
    meaning="which conductor of the line it is, if it is one",
)
def role(_case: PlanTrace, _at: int, point: PointRef) -> str:
    return point.thing.role if isinstance(point.thing, Conductor) else "none"


@fact("phase", "point", timed=False, meaning="it is a phase conductor")
def phase(_case: PlanTrace, _at: int, point: PointRef) -> bool:
    return isinstance(point.thing, Conductor) and point.thing.role == "phase"


@fact("neutral", "point", timed=False, meaning="it is the neutral conductor")
def neutral(_case: PlanTrace, _at: int, point: PointRef) -> bool:
    return isinstance(point.thing, Conductor) and point.thing.role == "neutral"


@fact("shield", "point", timed=False, meaning="it is the shield wire")
def shield(_case: PlanTrace, _at: int, point: PointRef) -> bool:
    return isinstance(point.thing, Conductor) and point.thing.role == "shield"


@fact("phase", "conductor", timed=False, meaning="it is a phase conductor")
def conductor_phase(_case: PlanTrace, _at: int, conductor: Conductor) -> bool:
    return conductor.role == "phase"


@fact("neutral", "conductor", timed=False, meaning="it is the neutral conductor")
def conductor_neutral(_case: PlanTrace, _at: int, conductor: Conductor) -> bool:
    return conductor.role == "neutral"


@fact("shield", "conductor", timed=False, meaning="it is the shield wire")
def conductor_shield(_case: PlanTrace, _at: int, conductor: Conductor) -> bool:
    return conductor.role == "shield"


@fact("conductor", "point", returns="conductor", timed=False, meaning="the conductor that it is on, or none")
def conductor_of(_case: PlanTrace, _at: int, point: PointRef) -> Conductor | None:
    return point.thing if isinstance(point.thing, Conductor) else None


@fact("rod", "point", returns="rod", timed=False, meaning="the rod that it is, or none")
def rod_of(_case: PlanTrace, _at: int, point: PointRef) -> Rod | None:
    return point.thing if isinstance(point.thing, Rod) else None


@fact("bar", "point", returns="bar", timed=False, meaning="the bar that it is, or none")
def bar_of(_case: PlanTrace, _at: int, point: PointRef) -> Bar | None:
    return point.thing if isinstance(point.thing, Bar) else None


@fact("vehicle", "point", returns="vehicle", timed=False, meaning="the vehicle that it is, or none")
def vehicle_of(_case: PlanTrace, _at: int, point: PointRef) -> Vehicle | None:
    return point.thing if isinstance(point.thing, Vehicle) else None


@fact("switch", "point", returns="switch", timed=False, meaning="the open point that it is, or none")
def switch_of(_case: PlanTrace, _at: int, point: PointRef) -> Switch | None:
    return point.thing if isinstance(point.thing, Switch) else None


@fact("neighbour", "point", returns="neighbour", timed=False, meaning="the live neighbour that it is, or none")
def neighbour_of(_case: PlanTrace, _at: int, point: PointRef) -> Neighbour | None:
    return point.thing if isinstance(point.thing, Neighbour) else None


@fact("staying-live", "point", timed=False, meaning="it is a live part beside the line")
def staying_live(_case: PlanTrace, _at: int, point: PointRef) -> bool:
    return isinstance(point.thing, Neighbour)


def _standing(case: PlanTrace, at: int, point: PointRef) -> Lines:
    stands = [case.timeline.stand(at, person) for person in case.people]
    on = [stand.index for stand in stands if stand is not None and stand.point == plain(point)]
    return by_change("bars", "rods", "parked")(case, at, point) or tuple(case.line_of(step) for step in on[:1])


@fact(
    "structure",
    "point",
    returns="structure",
    lines=_standing,
    meaning="the structure that it is at: of a bar, rod or vehicle where it is mounted, set or parked",
)
def structure_of_point(case: PlanTrace, at: int, point: PointRef) -> Structure | Unknown | None:
    if point.structure is not None:
        return point.structure
    thing = point.thing
    if isinstance(thing, Bar):
        return case.bar_structure(at, thing)
    if isinstance(thing, Rod):
        return case.rod_structure(at, thing)
    if isinstance(thing, Neighbour):
        if thing.at is None:
            fact_ = f"which structure neighbour {thing} is near"
            return Unknown.of(fact_, f"neighbour {thing} at 212", thing.span)
        return thing.at
    for person in case.people:  # a vehicle or mat is where somebody stands on it
        stand = case.timeline.stand(at, person)
        if stand is not None and isinstance(stand.point, PointRef) and stand.point.thing is thing:
            found = stand.structure
            if isinstance(found, Structure):
                return found
    write = f"enter L1 at 212 on {point}"
    if isinstance(thing, Vehicle):
        write = f"park {thing} at 212"
        parked = case.timeline.parked(at, thing)
        if parked is not None and parked[0] is not None:
            return parked[0]
    where = thing.span if thing is not None else None
    return Unknown.of(f"which structure {point} is at", write, where)


@fact("at-worksite", "point", lines=by_change("bars", "rods"), meaning="it is at a structure where somebody works")
def at_worksite(case: PlanTrace, at: int, point: PointRef) -> Answer:
    found = structure_of_point.compute(case, at, point)
    if found is None:
        return False
    return found if isinstance(found, Unknown) else case.worksite(found)


# ---- what it is joined to ----


def _hanging(case: PlanTrace, at: int, point: PointRef) -> set[int | None]:
    """The steps that put the leads and bonds on a point, and what it is itself on its structure or in the ground."""
    timeline = case.timeline
    leads = [timeline.end_index(at, lead, point) for lead in timeline.leads_on(at, point)]
    bonds = [bond.step for bond in timeline.bonds(at) if point in bond.points]
    return {*leads, *bonds, *(timeline.changed_by(at, log, point.thing) for log in ("rods", "bars"))}


def _lines(case: PlanTrace, steps: set[int | None]) -> Lines:
    return tuple(case.line_of(step) for step in sorted(step for step in steps if step is not None))


def joints(case: PlanTrace, at: int, point: PointRef, *_others: Any) -> Lines:
    """The lines that put the leads and bonds on a point."""
    return _lines(case, _hanging(case, at, point))


def attached(case: PlanTrace, at: int, structure: Structure, *_others: object) -> Lines:
    """The lines that put the leads and bonds on the conductors at a structure."""
    points = [PointRef("conductor", structure, conductor) for conductor in case.conductors]
    return _lines(case, set().union(*(_hanging(case, at, point) for point in points)))


def _joint_gap(one: PointRef, other: PointRef) -> Gap:
    return Gap(f"whether {one} is joined to {other}", "attach G1 to K1, then to 212 A by H1", None)


def is_joined(case: PlanTrace, at: int, one: PointRef, other: PointRef, *, local: bool) -> Answer:
    """Whether two points are one piece of metal, here or along the line too."""
    if one == other:
        return True
    return settled(case.timeline.joined(at, one, other, local=local), lambda: _joint_gap(one, other))


def is_grounded(case: PlanTrace, at: int, point: PointRef, *, local: bool) -> Answer:
    """Whether a point is joined to an electrode, here or along the line too."""
    return settled(
        case.timeline.grounded(at, point, local=local),
        lambda: Gap(f"whether {point} is grounded", f"attach G1 to R1, then to {point}", case.place(point)),
    )


def is_electrode(case: PlanTrace, at: int, point: PointRef) -> Answer:
    """Whether a point is itself an electrode."""
    return settled(
        case.timeline.electrode(at, point),
        lambda: Gap(f"whether {point} is an electrode", "structure 212 wood pole with pole ground", case.place(point)),
    )


@fact("grounded", "point", lines=joints, meaning="it is joined to an electrode, here or along the line")
def grounded(case: PlanTrace, at: int, point: PointRef) -> Answer:
    return is_grounded(case, at, point, local=False)


@fact("grounded-here", "point", lines=joints, meaning="it is joined to an electrode at its own structure")
def grounded_here(case: PlanTrace, at: int, point: PointRef) -> Answer:
    return is_grounded(case, at, point, local=True)


@fact(
    "joined-to", "point", "point", lines=joints, meaning="it is one piece of metal with that point, along the line too"
)
def joined_to(case: PlanTrace, at: int, point: PointRef, other: PointRef) -> Answer:
    return is_joined(case, at, point, other, local=False)


@fact(
    "joined-here-to",
    "point",
    "point",
    lines=joints,
    meaning="it is joined to that point by leads, bonds and bars at one structure",
)
def joined_here_to(case: PlanTrace, at: int, point: PointRef, other: PointRef) -> Answer:
    return is_joined(case, at, point, other, local=True)


@fact("joined-by-leads-to", "bar", "bar", meaning="leads at one structure join it to that bar, be the pole as it may")
def joined_by_leads(case: PlanTrace, at: int, bar: Bar, other: Bar) -> Answer:
    READING.only(at)
    graphs = case.timeline.world.network.graphs
    ends = PointRef("bar", None, bar), PointRef("bar", None, other)
    if graphs.joined_besides(at, *ends, {("bar", bar)}):
        return True
    if not graphs.joined_besides(at, *ends, {("bar", bar)}, possibly=True):
        return False
    return Unknown.of(f"whether leads join {bar} to {other}", "", bar.span)


@fact(
    "on-neutral-alone",
    "point",
    lines=joints,
    meaning="leads join it to the neutral at its structure, and to no bar there but by way of the neutral",
)
def on_neutral_alone(case: PlanTrace, at: int, point: PointRef) -> Answer:
    READING.only(at)
    joined = case.timeline.world.network.graphs.joined_besides
    neutral = case.plan.line.neutral if case.plan.line is not None else None
    if point.structure is None or not isinstance(neutral, Conductor):
        return False
    wire = PointRef("conductor", point.structure, neutral)
    places = {PointRef("bar", None, bar): case.bar_structure(at, bar) for bar in case.all(Bar)}
    here = [bar for bar, place in places.items() if place is point.structure]
    perhaps = [bar for bar, place in places.items() if isinstance(place, Unknown)]

    def alone(bars: list[PointRef], hanging: bool, freed: bool) -> bool:
        return joined(at, point, wire, possibly=hanging) and not any(
            joined(at, point, bar, (), {wire}, possibly=freed) for bar in bars
        )

    if alone([*here, *perhaps], hanging=False, freed=True):
        return True
    if not alone(here, hanging=True, freed=False):
        return False
    return Unknown.of(f"what joins {point} to the bar but the neutral", "", point.structure.span)


@fact(
    "electrode", "point", lines=joints, meaning="it is itself an electrode: a set rod, a ground at a pole, a steel leg"
)
def electrode(case: PlanTrace, at: int, point: PointRef) -> Answer:
    return is_electrode(case, at, point)


@fact("feedable", "point", meaning="a source could reach it now: it is not isolated from every one")
def feedable(case: PlanTrace, at: int, point: PointRef) -> Answer:
    return settled(case.timeline.feeding(at, point), lambda: case.plan.source_gap)


@fact("feedable-from", "point", "source", meaning="that source could reach it now")
def feedable_from(case: PlanTrace, at: int, point: PointRef, source: SupplySource) -> Answer:
    found, gaps = case.timeline.world.feed.way(at, source, point)
    return Unknown(gaps or (Gap(f"whether {source} reaches {point}"),)) if found is UNKNOWN else found is TRUE


@fact("occupied", "point", meaning="a lead is on it")
def occupied(case: PlanTrace, at: int, point: PointRef) -> Answer:
    return case.timeline.loaded(at, point)


# ---- tests, cleaning, cuts ----


@fact(
    "found-dead",
    "point",
    lines=by_change("tested"),
    meaning="a test or the spiking of its cable there found it dead, and nothing since could energize it",
)
def found_dead(case: PlanTrace, at: int, point: PointRef) -> Answer:
    timeline = case.timeline
    if timeline.holds(at, point):
        return True
    sides = _open_sides(case, at, point)
    if sides and all(timeline.holds(at, side) for side in sides):
        return True
    ended = timeline.expired_by(at, point)
    return False if ended is None else timeline.in_doubt(at, point) or _doubt_of_end(case, ended, point) or False


@fact(
    "found-live",
    "point",
    lines=by_change("tested"),
    meaning="its last test found it live",
)
def found_live(case: PlanTrace, at: int, point: PointRef) -> Answer:
    tested = case.timeline.tested(at, point)
    if tested is None:
        return False
    event = case.event(tested)
    return event.kind == "test" and event.slots.get("result") == "live"


def _open_sides(case: PlanTrace, at: int, point: PointRef) -> tuple[PointRef, ...]:
    """The two sides of a conductor that is open at a structure, where the point does not say which it means."""
    if point.sort != "conductor" or point.structure is None or not isinstance(point.thing, Conductor):
        return ()
    if not case.timeline.cut(at, point.structure, point.thing):
        return ()
    return PointRef("near side", *point[1:]), PointRef("far side", *point[1:])


def _doubt_of_end(case: PlanTrace, ended: int, point: PointRef) -> Unknown | None:
    """What leaves it open whether the step that ended a test could energize the point."""
    action = case.actions[ended]
    stated = (
        action.slots.get(slot) for slot in ("switch", "point", "first", "second", "lead", "bar", "structure", "time")
    )
    gaps = tuple(value for value in stated if isinstance(value, Gap))
    if gaps:
        return Unknown(gaps)
    if action.kind == "test":
        return None
    switch = action.slots.get("switch")
    if isinstance(switch, Switch):
        if len(switch.sides) >= 2:
            return None
        write = f"switch {switch} between West and 211"
        return Unknown.of(f"what stands on either side of {switch}", write, switch.span)
    fed = case.timeline.feeding(ended + 1, point)
    return fed if isinstance(fed, Unknown) else None


@fact(
    "tested",
    "point",
    lines=by_change("tested"),
    meaning="it has been tested for voltage, or its cable spiked there, whatever has happened since",
)
def tested(case: PlanTrace, at: int, point: PointRef) -> bool:
    if case.timeline.tested(at, point) is not None:
        return True
    sides = _open_sides(case, at, point)
    if sides:
        return all(case.timeline.tested(at, side) is not None for side in sides)
    if point.sort == "far side" and point.structure is not None and isinstance(point.thing, Conductor):
        # what the plan bridges before it cuts: while the conductor was whole, a test of it was a test of both sides
        whole = case.timeline.tested(at, PointRef("conductor", point.structure, point.thing))
        return whole is not None and not case.timeline.parted(whole, point)
    return False


@fact(
    "clean",
    "point",
    lines=by_change("cleaned"),
    meaning="it was brushed to bright metal and no clamp has come off since",
)
def clean(case: PlanTrace, at: int, point: PointRef) -> bool:
    return bool(case.timeline.clean(at, point))


_SIDES = ("near side", "far side")
_WHILE_METAL_DULLS = ("work", "wait", "move", "leave", "close")


@fact(
    "cleaned-just-before",
    "point",
    lines=by_change("cleaned"),
    meaning="it was cleaned, and no work, wait, move, leave or close has come since",
)
def cleaned_just_before(case: PlanTrace, at: int, point: PointRef) -> bool:
    cleaned = case.timeline.cleaned_at(at, point)
    return cleaned is not None and not case.happened(_WHILE_METAL_DULLS, cleaned, at)


@fact("cut", "point", lines=by_change("cut_at"), meaning="the conductor is cut or open there")
def cut(case: PlanTrace, at: int, point: PointRef) -> bool:
    if point.structure is None or not isinstance(point.thing, Conductor):
        return False
    return bool(case.timeline.cut(at, point.structure, point.thing))


def _cut_before(case: PlanTrace, _at: int, point: PointRef) -> Lines:
    return tuple(
        (action.span, f"{point} is cut by the part before")
        for action in case.plan.begins
        if action.slots.get("point") == point
    )


@fact("left-open", "point", timed=False, lines=_cut_before, meaning="its last cut is said to stay open")
def left_open(case: PlanTrace, _at: int, point: PointRef) -> bool:
    cuts = [step for step in case.actions if step.kind == "cut" and step.slots.get("point") == point]
    return bool(cuts) and cuts[-1].slots.get("left") is True


@fact(
    "downed",
    "point",
    lines=by_change("downed"),
    meaning="the conductor was found broken or down there, and is not joined again",
)
def downed(case: PlanTrace, at: int, point: PointRef) -> bool:
    whole = PointRef("conductor", point.structure, point.thing) if point.sort in _SIDES else point
    return case.timeline.downed(at, whole)


@fact("one-side", "point", timed=False, meaning="it is one of the two sides of an open conductor, named as such")
def one_side(_case: PlanTrace, _at: int, point: PointRef) -> bool:
    return point.sort in _SIDES


@fact("bridged", "point", lines=joints, meaning="a lead bridges the opening there")
def bridged(case: PlanTrace, at: int, point: PointRef) -> bool:
    if point.structure is None or not isinstance(point.thing, Conductor):
        return False
    return case.timeline.bridged(at, point.structure, point.thing)


def _reached_by(case: PlanTrace, at: int, point: PointRef) -> Lines:
    stands = [case.timeline.stand(at, person) for person in case.timeline.people_in_place(at)]
    return tuple(case.line_of(stand.index) for stand in stands if stand is not None and point in (stand.reach or ()))


@fact("in-reach", "point", lines=_reached_by, meaning="somebody in place can reach it")
def in_reach(case: PlanTrace, at: int, point: PointRef) -> Answer:
    return any_of(case.reaches(at, person, point) for person in case.timeline.people_in_place(at))


def phase_points(case: PlanTrace, structure: Structure) -> tuple[PointRef, ...] | Unknown:
    """The phase conductors at a structure, or `Unknown` where the phases are not stated."""
    found = case.phase_points(structure)
    if found:
        return found
    line = case.plan.line
    return Unknown.of("which phases the line has", "phases A B C", line.span if line is not None else case.plan.start)


@fact(
    "phases-grounded",
    "structure",
    lines=attached,
    meaning="every phase conductor here is joined to an electrode, here or along the line",
)
def phases_grounded(case: PlanTrace, at: int, structure: Structure) -> Answer:
    points = phase_points(case, structure)
    if isinstance(points, Unknown):
        return points
    return all_of(is_grounded(case, at, point, local=False) for point in points)


@fact(
    "phases-found-dead",
    "structure",
    lines=attached,
    meaning="a test here found every phase conductor dead, and nothing since could energize it",
)
def phases_found_dead(case: PlanTrace, at: int, structure: Structure) -> Answer:
    points = phase_points(case, structure)
    if isinstance(points, Unknown):
        return points
    return all_of(found_dead.compute(case, at, point) for point in points)
