"""Facts about what a plan states twice: whether one statement can stand beside another, and whether a value is likely.

Each is about what is stated: where one of the two is not, nothing is contradicted, and other facts say what is missing.
The bounds of what is likely are common practice, no source: wide, so that only a slip of the unit lies outside.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import groupby

from groundlint.facts.answers import Answer, Lines, here, said, where_stated
from groundlint.facts.arrangement import distance
from groundlint.facts.catalogue import Event, fact
from groundlint.facts.equipment import DAY
from groundlint.facts.points import phase_points
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import (
    Action,
    Bar,
    Conductor,
    Equipment,
    Lead,
    Line,
    Neighbour,
    ParallelCircuit,
    Person,
    PointRef,
    Rod,
    Stick,
    Structure,
    SupplySource,
    Switch,
    Thing,
    Vehicle,
)
from groundlint.values import FALSE, TRUE, Gap, Unknown

LIKELY_FAULT = {"utility": (100.0, 100e3), "tie": (100.0, 100e3)}
"""A rms; a feed of less could hardly serve a line, one of more is in no network."""
LIKELY_BACKFEED = (1.0, 100e3)
MOST_TO_GROUND = 1.5
"""IG = 3 V/(2 Z1 + Z0) is below 3 V/(2 Z1), 1.5 times V/Z1, as Z0 is above zero (symmetrical components)."""
MOST_WITHOUT_GROUND = 1e3
"""A; without a grounded neutral only the line's capacitance drives a current to ground, some hundreds of amperes."""
FAULT_AND_POWER = 0.2
"""Share by which a fault current and a short-circuit power may differ: rounding, and the voltage they are taken at."""
LIKELY_LENGTH: dict[type[Thing], tuple[float, float]] = {Lead: (0.9, 60.0), Rod: (0.6, 12.0), Stick: (0.6, 12.0)}
LIKELY_SPAN = (1.0, 10e3)  # m; a run of spans may stand as one
NIGHT = 8 * 3600.0
"""s: what nobody is there for so long has a night in it, as far as days on which something is due go."""
SAME_VOLTAGE = 0.1  # as far apart as two names of one voltage class, 12 kV and 13.2 kV
NEAR = 3.048
"""10 ft in m, the distance at which unqualified people keep off by 29 CFR 1910.333(c)(3)(i) up to 50 kV to ground."""
NEAR_UP_TO, NEARER_A_VOLT = 50e3, 0.1016 / 10e3
"""V to ground, and m for each volt above it: 4 in for every 10 kV, by 29 CFR 1910.333(c)(3)(i)(A)(2)."""
LIKELY_VOLTAGE = (100.0, 1.2e6)  # V between phases


def _both(one: str, other: str) -> Callable[..., Lines]:
    """Where two values of a thing are stated."""

    def lines(_case: PlanTrace, _at: int, thing: Thing, *_others: object) -> Lines:
        return tuple((thing.place(name), f"{name.replace('_', ' ')} of {thing}") for name in (one, other))

    return lines


def _two(_case: PlanTrace, _at: int, one: Thing, other: Thing) -> Lines:
    return (one.place("between"), f"{one} declared"), (other.span, f"{other} declared")


# ---- sources and what opens them ----


def _toward(switch: Switch, seen: set[Switch]) -> set[Thing]:
    """What a switch stands between, and what open points between it and no structure do."""
    found = {*switch.sides}
    for side in switch.sides:
        if isinstance(side, Switch) and side not in seen and not any(isinstance(one, Structure) for one in side.sides):
            found |= _toward(side, seen | {side})
    return found


@fact(
    "apart-from",
    "switch",
    "source",
    timed=False,
    lines=_two,
    meaning="it is said to stand between the source, or its open point, and another structure than where that feeds in",
)
def apart_from(_case: PlanTrace, _at: int, switch: Switch, source: SupplySource) -> bool:
    if source.at is None or source not in _toward(switch, {switch}):
        return False
    return any(isinstance(side, Structure) and side is not source.at for side in switch.sides)


@fact(
    "feeds-in-at",
    "source",
    returns="structure",
    timed=False,
    lines=where_stated("located"),
    meaning="the structure at which it feeds in",
)
def feeds_in_at(_case: PlanTrace, _at: int, source: SupplySource) -> Structure | Unknown:
    place: Structure | Unknown = said(
        source.at, f"where source {source} feeds in", f"source {source} beyond 211", source.span
    )
    return place


@fact(
    "stands-beside",
    "switch",
    returns="structure",
    timed=False,
    lines=where_stated("between"),
    meaning="the structure on one side of it, the first of those stated; none where both sides are something else",
)
def stands_beside(_case: PlanTrace, _at: int, switch: Switch) -> Structure | Unknown | None:
    if not switch.sides:
        return Unknown.of(f"what {switch} stands between", f"switch {switch} between 210 and 211", switch.span)
    return next((side for side in switch.sides if isinstance(side, Structure)), None)


def _outside(value: float | None, bounds: tuple[float, float]) -> bool:
    return value is not None and not bounds[0] <= value <= bounds[1]


@fact(
    "fault-unlikely",
    "source",
    timed=False,
    lines=where_stated("three_phase"),
    meaning="its current of three phases is one that no such source has, as where amperes are written for kiloamperes",
)
def fault_unlikely(_case: PlanTrace, _at: int, source: SupplySource) -> bool:
    return _outside(source.three_phase, LIKELY_FAULT.get(source.sort, LIKELY_BACKFEED))


@fact(
    "ground-fault-unlikely",
    "source",
    timed=False,
    lines=where_stated("to_ground"),
    meaning="its current to ground is one that no such source has; of a system not grounded solidly, none is too small",
)
def ground_fault_unlikely(_case: PlanTrace, _at: int, source: SupplySource) -> bool:
    least = LIKELY_BACKFEED[0] if source.system in (None, "solid") else 0.0
    return _outside(source.to_ground, (least, LIKELY_FAULT.get(source.sort, LIKELY_BACKFEED)[1]))


@fact(
    "ground-fault-impossible",
    "source",
    timed=False,
    lines=_both("three_phase", "to_ground"),
    meaning="its current to ground is more than 1.5 times that of three phases, which no network gives",
)
def ground_fault_impossible(_case: PlanTrace, _at: int, source: SupplySource) -> bool:
    if source.three_phase is None or source.to_ground is None:
        return False
    return source.to_ground > MOST_TO_GROUND * source.three_phase


@fact(
    "ground-fault-against-system",
    "source",
    timed=False,
    lines=_both("system", "to_ground"),
    meaning="its system is ungrounded, or grounded by a coil, beside a current to ground that no such system has",
)
def ground_fault_against_system(_case: PlanTrace, _at: int, source: SupplySource) -> bool:
    if source.system not in ("ungrounded", "resonant") or source.to_ground is None:
        return False
    return source.to_ground > MOST_WITHOUT_GROUND


@fact(
    "fault-against-power",
    "source",
    timed=False,
    lines=_both("three_phase", "power"),
    meaning="its fault current and its short-circuit power differ by more than a fifth at the line's voltage",
)
def fault_against_power(case: PlanTrace, _at: int, source: SupplySource) -> bool:
    volts = source.voltage or (case.plan.line.voltage if case.plan.line is not None else None)
    if source.three_phase is None or source.power is None or not volts:
        return False
    implied = source.power / (math.sqrt(3) * volts)
    return abs(implied - source.three_phase) > FAULT_AND_POWER * max(implied, source.three_phase)


# ---- values that are most often a slip of the unit ----


@fact(
    "length-unlikely",
    "equipment",
    timed=False,
    lines=where_stated("length"),
    meaning="it is a lead, rod or stick of a length that none has, as where inches are written for feet",
)
def length_unlikely(_case: PlanTrace, _at: int, equipment: Equipment) -> bool:
    bounds = LIKELY_LENGTH.get(type(equipment))
    return bounds is not None and _outside(getattr(equipment, "length", None), bounds)


@fact(
    "length",
    "equipment",
    returns="length",
    timed=False,
    unit="ft",
    lines=where_stated("length"),
    meaning="its length; none where such a thing has none",
)
def length(_case: PlanTrace, _at: int, equipment: Equipment) -> float | Unknown | None:
    if type(equipment) not in LIKELY_LENGTH:
        return None
    found: float | Unknown = said(
        getattr(equipment, "length", None), f"the length of {equipment}", f"{equipment} 8 ft", equipment.span
    )
    return found


@fact(
    "span-unlikely",
    "structure",
    timed=False,
    lines=where_stated("span_after"),
    meaning="the span that follows it has a length that none has, as where millimetres are written for metres",
)
def span_unlikely(_case: PlanTrace, _at: int, structure: Structure) -> bool:
    return _outside(structure.span_after, LIKELY_SPAN)


@fact(
    "span-after",
    "structure",
    returns="length",
    timed=False,
    unit="ft",
    lines=where_stated("span_after"),
    meaning="the length of the span that follows it on the route; none at its end",
)
def span_after(case: PlanTrace, _at: int, structure: Structure) -> float | Unknown | None:
    if structure in case.plan.route[-1:]:
        return None
    found: float | Unknown = said(
        structure.span_after, f"the span after {structure}", f"route {structure} (50 m)", structure.span
    )
    return found


@fact(
    "voltage-unlikely",
    "line",
    timed=False,
    lines=where_stated("voltage"),
    meaning="its voltage is one that no line has, as where volts are written for kilovolts",
)
def voltage_unlikely(_case: PlanTrace, _at: int, line: Line) -> bool:
    return _outside(line.voltage, LIKELY_VOLTAGE)


# ---- lengths and places ----


def _spot(case: PlanTrace, at: int, point: object) -> tuple[object, float | None, float | None]:
    """Structure, distance across and height of a point, in m; None where not stated."""
    if not isinstance(point, PointRef):
        return None, None, None
    if isinstance(point.thing, Conductor):
        return point.structure, point.thing.across, point.thing.height
    if isinstance(point.thing, Rod):
        found = case.timeline.rod_set(at, point.thing)
        return (found.structure, found.distance, 0.0) if found is not None else (None, None, None)
    if isinstance(point.thing, Vehicle):  # with whoever stands on it; else where it took its place
        stands = (case.timeline.stand(at, person) for person in case.people)
        here = (one.structure for one in stands if one is not None and one.point == point)
        return next(here, (case.timeline.parked(at, point.thing) or (None,))[0]), None, None
    if isinstance(point.thing, Bar) or point.sort == "pole ground":
        return case.point_structure(at, point), 0.0, None
    return point.structure, None, None


@fact(
    "shorter-than-its-way",
    "lead",
    lines=where_stated("length"),
    meaning="both its ends are on, farther apart, as stated, than it is long; two conductors are at one structure",
)
def shorter_than_its_way(case: PlanTrace, at: int, lead: Lead) -> bool:
    ends = case.timeline.ends(at, lead)
    if len(ends) != 2 or lead.length is None:
        return False
    (one, across, height), (other, away, top) = (_spot(case, at, end) for end in ends)
    if not isinstance(one, Structure) or not isinstance(other, Structure):
        return False
    if one is not other:
        return _spans_apart(case, at, ends, one, other) > lead.length
    sideways = 0.0 if across is None or away is None else abs(across - away)
    if 0.0 in (height, top) and across is not None and away is not None:  # a rod may be on either side of the pole
        sideways = abs(abs(across) - abs(away))
    return math.hypot(sideways, 0.0 if height is None or top is None else height - top) > lead.length


def _spans_apart(case: PlanTrace, at: int, ends: tuple[object, ...], one: Structure, other: Structure) -> float:
    """The least, in m, that two places at two structures are apart; a rod may stand off toward the other. 0 where the
    spans are not stated, and where the end that goes on last is on a conductor, of which rules ask more."""
    along: float | Unknown = distance.compute(case, at, one, other)
    last = ends[1]
    if isinstance(along, Unknown) or (isinstance(last, PointRef) and isinstance(last.thing, Conductor)):
        return 0.0
    rods = (
        case.timeline.rod_set(at, end.thing) for end in ends if isinstance(end, PointRef) and isinstance(end.thing, Rod)
    )
    return along - sum(found.distance or 0.0 for found in rods if found is not None)


def _near(volts: float) -> float:
    """How far off in m a circuit of this voltage between phases counts as near."""
    return NEAR + max(0.0, volts / math.sqrt(3) - NEAR_UP_TO) * NEARER_A_VOLT


@fact(
    "near-unnamed",
    "parallel",
    timed=False,
    lines=where_stated("distance"),
    meaning="it runs within 10 ft of the line, more by its voltage, and the plan says that no live part is near there",
)
def near_unnamed(case: PlanTrace, _at: int, parallel: ParallelCircuit) -> Answer:
    off = parallel.distance
    if off is None or off >= _near(parallel.voltage or LIKELY_VOLTAGE[1]) or not case.plan.neighbours_complete:
        return False
    beside = [one.order for one in (parallel.first, parallel.last) if one is not None and one.order is not None]
    alike = (one for one in case.all(Neighbour) if _of_one_voltage(one.voltage, parallel.voltage))
    there = (one.at or (one.gap_from.structure if one.gap_from is not None else None) for one in alike)
    if any(
        place is None or place.order is None or not beside or min(beside) <= place.order <= max(beside)
        for place in there
    ):
        return False
    if parallel.voltage is None and off >= NEAR:
        return Unknown.of(f"the voltage of parallel {parallel}", "voltage 115 kV", parallel.span)
    return True


def _of_one_voltage(one: float | None, other: float | None) -> bool:
    """Whether two live parts may be of one circuit, by their voltages."""
    return one is None or other is None or math.isclose(one, other, rel_tol=SAME_VOLTAGE)


# ---- steps against what is known ----


@fact(
    "proving-on-dead",
    "step",
    lines=here,
    meaning="it proves a detector on a part of the line that is grounded, or that nothing can feed",
)
def proving_on_dead(case: PlanTrace, at: int, step: Event) -> bool:
    live = step.slots.get("live") if step.kind == "prove" else None
    if not isinstance(live, PointRef) or not isinstance(live.thing, Conductor):
        return False
    return case.timeline.grounded(at, live) is TRUE or case.timeline.feeding(at, live) is FALSE


@fact("covering-elsewhere", "step", lines=here, meaning="it covers a live part at a structure where that part is not")
def covering_elsewhere(_case: PlanTrace, _at: int, step: Event) -> bool:
    neighbour, structure = (step.slots.get(slot) for slot in ("neighbour", "structure"))
    if step.kind != "cover" or not isinstance(neighbour, Neighbour) or not isinstance(structure, Structure):
        return False
    there = neighbour.at or (neighbour.gap_from.structure if neighbour.gap_from is not None else None)
    return there is not None and there is not structure


# ---- dates and people ----


@fact(
    "tested-in-future",
    "equipment",
    timed=False,
    lines=_both("tested", "inspected"),
    meaning="it is said to have been tested or inspected on a day after the plan's date",
)
def tested_in_future(case: PlanTrace, _at: int, equipment: Equipment) -> bool:
    dated = case.plan.dated
    return dated is not None and any(day is not None and day > dated for day in (equipment.tested, equipment.inspected))


@fact(
    "past-due",
    "equipment",
    timed=False,
    lines=where_stated("due"),
    meaning="the day on which its next test is due is before the plan's date",
)
def past_due(case: PlanTrace, _at: int, equipment: Equipment) -> bool:
    dated = case.plan.dated
    return equipment.due is not None and dated is not None and equipment.due < dated


@fact(
    "time-past-due",
    "equipment",
    returns="time",
    timed=False,
    unit="days",
    lines=where_stated("due"),
    meaning="time from the day on which its next test was due to the date of the plan; none where that is not past",
)
def time_past_due(case: PlanTrace, _at: int, equipment: Equipment) -> float | None:
    dated, due = case.plan.dated, equipment.due
    return (dated - due).days * DAY if dated is not None and due is not None and due < dated else None


@fact(
    "due-mid-job",
    "equipment",
    timed=False,
    lines=where_stated("due"),
    meaning="its next test is due on the plan's date or after it, and before the day on which a step last names it",
)
def due_mid_job(case: PlanTrace, _at: int, equipment: Equipment) -> bool:
    due, dated = equipment.due, case.plan.dated
    if due is None or dated is None or due < dated:
        return False
    last = max((at for at, things in enumerate(case.names) if equipment in things), default=0)
    passed = 0
    for waits, steps in groupby(case.actions[:last], lambda step: step.kind in ("pause", "wait")):
        passed += _days(list(steps)) if waits else 0
    return (due - dated).days < passed


def _days(waits: Sequence[Action]) -> int:
    """How many days further the job is after waits in a row, at the least: by what each says, and by all together."""
    each, total = 0, 0.0
    for step in waits:
        time = step.slots.get("time")
        lasts = time if isinstance(time, (int, float)) else 0.0
        each += max(int(lasts // DAY), int(step.slots.get("text") == "overnight"))
        total += lasts
    return max(each, int(total // DAY), int(total >= NIGHT))


@fact(
    "test-grown-old",
    "equipment",
    timed=False,
    lines=where_stated("tested"),
    meaning="its last test, as stated, is more than two years before the plan's date; not so where no day is stated",
)
def grown_old(case: PlanTrace, _at: int, equipment: Equipment) -> bool:
    dated, tested = case.plan.dated, equipment.tested
    return (
        dated is not None
        and tested is not None
        and (dated.year - 2, dated.month, dated.day)
        > (
            tested.year,
            tested.month,
            tested.day,
        )
    )


@fact(
    "unqualified",
    "person",
    timed=False,
    lines=where_stated("qualified"),
    meaning="the person is stated to be no qualified person",
)
def unqualified(_case: PlanTrace, _at: int, person: Person) -> bool:
    return person.qualified is False


@fact(
    "leaving-out",
    "person",
    "point",
    lines=lambda _case, _at, _person, point: (
        ((point.structure.span, f"{point.structure} declared"),) if point.structure is not None else ()
    ),
    meaning="a guy or pole ground of the pole that the person touches, or of the handle's, is not counted in reach",
)
def leaving_out(case: PlanTrace, at: int, person: Person, point: PointRef) -> bool:
    stand, pole = case.timeline.stand(at, person), point.structure
    stated = pole is not None and (
        (point.sort == "guy" and pole.guyed) or (point.sort == "pole ground" and pole.pole_ground)
    )
    if not stated or stand is None or stand.point is None or not stand.reach or stand.structure is not point.structure:
        return False
    reach = (one for one in stand.reach if isinstance(one, PointRef))
    touched = (stand.point, *(one for one in reach if one.structure is pole))
    beside = {"pole", "steel", "guy", "pole ground"} | ({"handle"} if point.sort == "pole ground" else set())
    if all(one.sort not in beside for one in touched):
        return False  # the phases alone, from a bucket or the ground
    return case.reaches(at, person, point) is False


# ---- what is declared is owed ----


@fact(
    "feeding-reach-of",
    "source",
    "person",
    lines=lambda _case, _at, source, _person: ((source.span, f"{source} declared"),),
    meaning="it has a way, or may have one, to a phase that the person can reach; not asked of one that is not located",
)
def feeding_reach_of(case: PlanTrace, at: int, source: SupplySource, person: Person) -> bool | Unknown:
    reach = case.reach(at, person)
    if reach is None or not source.located:
        return False
    if isinstance(reach, Unknown):
        return reach
    return _feeding(case, at, source, (one for one in reach if _is_phase(one)))


def _is_phase(point: PointRef) -> bool:
    return isinstance(point.thing, Conductor) and point.thing.role == "phase"


def _feeding(case: PlanTrace, at: int, source: SupplySource, points: Iterable[PointRef]) -> bool | Unknown:
    found: bool | Unknown = False
    for point in points:
        passed, gaps = case.timeline.world.feed.way(at, source, point)
        if passed is TRUE:
            return True
        if passed is not FALSE:
            found = Unknown(gaps or (Gap(f"whether {source} can feed {point}", f"open what stands before {source}"),))
    return found


@fact(
    "feeding",
    "source",
    "structure",
    lines=lambda _case, _at, source, _structure: ((source.span, f"{source} declared"),),
    meaning="it has a way, or may have one, to a phase at that structure; not asked of one that is not located",
)
def feeding(case: PlanTrace, at: int, source: SupplySource, structure: Structure) -> bool | Unknown:
    points = phase_points(case, structure)
    if isinstance(points, Unknown):
        return points
    return _feeding(case, at, source, points) if source.located else False


@fact(
    "dealt-with",
    "thing",
    timed=False,
    meaning="a step names it or a point on it; so too an open point that is tagged before the plan begins",
)
def dealt_with(case: PlanTrace, _at: int, thing: Thing) -> bool:
    if isinstance(thing, Switch) and thing.position == "open" and thing.tagged:
        return True
    return thing in case.named_by_steps
