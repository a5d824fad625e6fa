"""Facts about equipment: its tests and inspections, detectors, sticks, rods, bars, vehicles and mats."""

from __future__ import annotations

from typing import Any

from groundlint.facts.answers import Answer, Lines, any_of, by_change, by_steps, only_if, said, where_stated, word
from groundlint.facts.catalogue import fact
from groundlint.facts.points import is_grounded
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import (
    Bar,
    Conductor,
    Detector,
    Equipment,
    Mat,
    Person,
    PointRef,
    Rod,
    Rubber,
    Stick,
    Structure,
    Thing,
    Vehicle,
)
from groundlint.values import Gap, Unknown

DAY = 86400.0


def sort_of(thing: Thing) -> str:
    """What the declaration of a piece of equipment begins with: ``lead``."""
    return thing.sort if isinstance(thing, Rubber) else type(thing).__name__.lower()


# ---- all equipment ----


@fact("inspected", "equipment", lines=by_change("inspected"), meaning="a step before this one looks it over")
def inspected(case: PlanTrace, at: int, equipment: Equipment) -> bool:
    return bool(case.timeline.inspected(at, equipment))


@fact(
    "test-stated",
    "equipment",
    timed=False,
    lines=where_stated("tested"),
    meaning="the plan gives the date of its last test, or when the next is due",
)
def tests_stated(_case: PlanTrace, _at: int, equipment: Equipment) -> Answer:
    stated = equipment.tested is not None or equipment.due is not None
    write = f"{sort_of(equipment)} {equipment} tested 2026-01-15"
    return only_if(stated, f"when {equipment} was last tested", write, equipment.span)


@fact(
    "time-since-test",
    "equipment",
    returns="time",
    timed=False,
    unit="days",
    lines=where_stated("tested"),
    meaning="time from its last test to the date of the plan",
)
def time_since_test(case: PlanTrace, _at: int, equipment: Equipment) -> float | Unknown:
    missing: Unknown | None = None
    if equipment.tested is None:
        write = f"{sort_of(equipment)} {equipment} tested 2026-01-15"
        missing = Unknown.of(f"when {equipment} was last tested", write, equipment.span)
    dated = case.plan.dated
    if dated is None:
        undated = Unknown.of("the plan's date", "document LP-0417 dated 2026-03-02", case.plan.place("document"))
        missing = undated if missing is None else missing | undated
    if missing is not None or dated is None or equipment.tested is None:
        return missing or Unknown.of("the dates")
    days = (dated - equipment.tested).days
    if days < 0:  # a test that is yet to come shows nothing of today
        fact_ = f"a test of {equipment} before the plan's date"
        return Unknown.of(fact_, f"{sort_of(equipment)} {equipment} tested {dated}", equipment.place("tested"))
    return days * DAY


@fact(
    "overdue",
    "equipment",
    timed=False,
    lines=where_stated("due"),
    meaning="its next test was due before the plan's date",
)
def overdue(case: PlanTrace, _at: int, equipment: Equipment) -> Answer:
    if equipment.due is None:
        write = f"{sort_of(equipment)} {equipment} due 2026-12-31"
        return Unknown.of(f"when the next test of {equipment} is due", write, equipment.span)
    if case.plan.dated is None:
        return Unknown.of("the plan's date", "document LP-0417 dated 2026-03-02", case.plan.place("document"))
    return equipment.due < case.plan.dated


@fact("used", "equipment", timed=False, meaning="a step other than its inspection names it")
def used(case: PlanTrace, _at: int, equipment: Equipment) -> Answer:
    return case.used(equipment)


# ---- detectors and sticks ----


@fact("proven", "detector", lines=by_steps("prove"), meaning="it was proven, and no proof has failed since")
def proven(case: PlanTrace, at: int, detector: Detector) -> Answer:
    if case.timeline.proven(at, detector):
        return True
    return _half_proof(case, at, detector) or False


def _half_proof(case: PlanTrace, at: int, detector: Detector) -> Unknown | None:
    """What the last step that proves a detector leaves unsaid: a proof on nothing named may be one or not."""
    step = case.last(at, ("prove",), detector)
    if step is None or step == case.timeline.last_proof(at, detector):
        return None
    gaps = tuple(value for value in case.actions[step].slots.values() if isinstance(value, Gap))
    return Unknown(gaps or (Gap(f"what {detector} is proven on", f"prove {detector} on T1", case.actions[step].span),))


@fact(
    "tests-since-proof",
    "detector",
    returns="number",
    lines=by_steps("prove"),
    meaning="how many tests were made with it since it was last proven",
)
def tests_since_proof(case: PlanTrace, at: int, detector: Detector) -> float | Unknown:
    half = _half_proof(case, at, detector)
    if half is not None:
        return half
    last = case.timeline.last_proof(at, detector)
    gap = next(
        (
            value
            for test in case.done(("test",), at)
            if (last or 0) <= test and isinstance(value := case.actions[test].slots.get("detector"), Gap)
        ),
        None,
    )
    return float(case.timeline.tests_since_proof(at, detector)) if gap is None else Unknown((gap,))


def _range_gap(detector: Detector) -> Unknown:
    write = f"detector {detector} for 5 kV to 40 kV"
    return Unknown.of(f"the voltages that detector {detector} is for", write, detector.span)


@fact(
    "lowest",
    "detector",
    returns="voltage",
    timed=False,
    unit="kV",
    lines=where_stated("range"),
    meaning="the lowest voltage between phases that it is for",
)
def lowest(_case: PlanTrace, _at: int, detector: Detector) -> float | Unknown:
    return _range_gap(detector) if detector.lowest is None else detector.lowest


@fact(
    "highest",
    "detector",
    returns="voltage",
    timed=False,
    unit="kV",
    lines=where_stated("range"),
    meaning="the highest voltage between phases that it is for",
)
def highest(_case: PlanTrace, _at: int, detector: Detector) -> float | Unknown:
    return _range_gap(detector) if detector.highest is None else detector.highest


@fact(
    "range-stated", "detector", timed=False, lines=where_stated("range"), meaning="the plan gives its range of voltage"
)
def range_stated(_case: PlanTrace, _at: int, detector: Detector) -> Answer:
    return _range_gap(detector) if detector.lowest is None or detector.highest is None else True


@fact(
    "detecting",
    "detector",
    returns=("contact", "proximity"),
    timed=False,
    lines=where_stated("detecting"),
    meaning="how it detects",
)
def detecting(_case: PlanTrace, _at: int, detector: Detector) -> str | Unknown:
    fact_ = f"how detector {detector} detects"
    found: str | Unknown = said(detector.detecting, fact_, f"detector {detector} contact", detector.span)
    return found


@fact(
    "length",
    "stick",
    returns="length",
    timed=False,
    unit="ft",
    lines=where_stated("length"),
    meaning="its insulating length",
)
def stick_length(_case: PlanTrace, _at: int, stick: Stick) -> float | Unknown:
    found: float | Unknown = said(stick.length, f"the length of stick {stick}", f"stick {stick} 8 ft", stick.span)
    return found


# ---- rods ----


@fact("set", "rod", lines=by_change("rods"), meaning="it has been driven")
def rod_is_set(case: PlanTrace, at: int, rod: Rod) -> bool:
    return case.timeline.rod_set(at, rod) is not None


def _set_value(case: PlanTrace, at: int, rod: Rod, attribute: str) -> float | Unknown | None:
    found = case.timeline.rod_set(at, rod)
    if found is None:
        return None
    value: float | None = getattr(found, attribute)
    write = f"set {rod} {'6 ft deep' if attribute == 'depth' else 'at 212, 16 ft from the pole'}"
    where = case.plan.step(found.index).span
    return Unknown.of(f"the {attribute} of rod {rod}", write, where) if value is None else value


@fact(
    "distance",
    "rod",
    returns="length",
    unit="ft",
    lines=by_change("rods"),
    meaning="how far from the structure it is set; none while it is not set",
)
def rod_distance(case: PlanTrace, at: int, rod: Rod) -> float | Unknown | None:
    return _set_value(case, at, rod, "distance")


@fact(
    "depth",
    "rod",
    returns="length",
    unit="ft",
    lines=by_change("rods"),
    meaning="how much of it is in the soil; none while it is not set",
)
def rod_depth(case: PlanTrace, at: int, rod: Rod) -> float | Unknown | None:
    return _set_value(case, at, rod, "depth")


@fact(
    "apart",
    "rod",
    "rod",
    returns="length",
    unit="ft",
    lines=by_change("rods"),
    meaning="how far it is set from the other; none while either is not set",
)
def rods_apart(case: PlanTrace, at: int, rod: Rod, other: Rod) -> float | Unknown | None:
    one, two = case.timeline.rod_set(at, rod), case.timeline.rod_set(at, other)
    if one is None or two is None or rod is other:
        return None
    said_ = {away.distance for away in one.away if away.rod is other}
    said_ |= {away.distance for away in two.away if away.rod is rod}
    if len(said_) == 1:
        return said_.pop()
    later = rod if one.index > two.index else other  # not stated, or stated twice and otherwise
    write = f"set {later} at 212, 7 ft from {other if later is rod else rod}"
    return Unknown.of(f"how far {rod} is from {other}", write, case.plan.step(max(one.index, two.index)).span)


@fact("length", "rod", returns="length", timed=False, unit="ft", lines=where_stated("length"), meaning="its length")
def rod_length(_case: PlanTrace, _at: int, rod: Rod) -> float | Unknown:
    found: float | Unknown = said(rod.length, f"the length of rod {rod}", f"rod {rod} 6 ft x 5/8 in", rod.span)
    return found


@fact(
    "diameter", "rod", returns="length", timed=False, unit="in", lines=where_stated("diameter"), meaning="its diameter"
)
def rod_diameter(_case: PlanTrace, _at: int, rod: Rod) -> float | Unknown:
    found: float | Unknown = said(rod.diameter, f"the diameter of rod {rod}", f"rod {rod} 6 ft x 5/8 in", rod.span)
    return found


@fact(
    "structure",
    "rod",
    returns="structure",
    lines=by_change("rods"),
    meaning="the structure at which it is set; none while it is not",
)
def structure_of_rod(case: PlanTrace, at: int, rod: Rod) -> Structure | Unknown | None:
    return case.rod_structure(at, rod)


@fact("in-use", "rod", lines=by_change("hanging"), meaning="a lead or a bond is on it")
def rod_in_use(case: PlanTrace, at: int, rod: Rod) -> Answer:
    return _in_use(case, at, PointRef("rod", None, rod))


def _in_use(case: PlanTrace, at: int, point: PointRef) -> Answer:
    return True if case.timeline.bonded_by_no_lead(at, point) else case.timeline.loaded(at, point)


@fact("barricaded", "thing", lines=by_change("barricades"), meaning="people are kept away from it")
def barricaded(case: PlanTrace, at: int, thing: Thing) -> bool:
    return case.timeline.barricaded(at, thing) is not None


@fact(
    "barricade-distance",
    "thing",
    returns="length",
    unit="ft",
    lines=by_change("barricades"),
    meaning="how far people are kept from it; none where it is not barricaded",
)
def barricade_distance(case: PlanTrace, at: int, thing: Thing) -> float | Unknown | None:
    found = case.timeline.barricaded(at, thing)
    if found is None:
        return None
    if found.distance is None:
        where = case.plan.step(found.index).span
        return Unknown.of(f"how far people are kept from {thing}", f"barricade {thing} 10 ft", where)
    return found.distance


ARM = 1.22
"""4 ft in m: an arm's length and a lean; common practice, no source."""


@fact(
    "barricaded-at-arms-length",
    "thing",
    lines=by_change("barricades"),
    meaning="people are kept from it by no more, as stated, than the 4 ft that somebody reaches; else false",
)
def barricaded_close(case: PlanTrace, at: int, thing: Thing) -> bool:
    found = case.timeline.barricaded(at, thing)
    return found is not None and isinstance(found.distance, float) and found.distance <= ARM


# ---- bars ----


@fact("mounted", "bar", lines=by_change("bars"), meaning="it is on a structure")
def mounted(case: PlanTrace, at: int, bar: Bar) -> bool:
    return case.timeline.mounted(at, bar) is not None


@fact(
    "structure",
    "bar",
    returns="structure",
    lines=by_change("bars"),
    meaning="the structure that it is on; none while it is not mounted",
)
def structure_of_bar(case: PlanTrace, at: int, bar: Bar) -> Structure | Unknown | None:
    return case.bar_structure(at, bar)


HEIGHTS = ("below-feet", "above-feet", "below", "above")


@fact(
    "height",
    "bar",
    returns=HEIGHTS,
    lines=by_change("bars"),
    meaning="where it is mounted: below or above the feet, or a conductor; none while it is not",
)
def height(case: PlanTrace, at: int, bar: Bar) -> str | Unknown | None:
    found = case.timeline.mounted(at, bar)
    if found is None:
        return None
    if found.height is None:
        where = case.plan.step(found.index).span
        return Unknown.of(f"the height of bar {bar}", f"mount {bar} at 212 below the feet", where)
    return word(found.height).replace("the-", "")


@fact(
    "height-from",
    "bar",
    returns="conductor",
    lines=by_change("bars"),
    meaning="the conductor that its height is relative to, or none",
)
def height_from(case: PlanTrace, at: int, bar: Bar) -> Conductor | Unknown | None:
    found = case.timeline.mounted(at, bar)
    if found is None or found.conductor is not None:
        return found.conductor if found is not None else None
    of = height.compute(case, at, bar)
    if isinstance(of, Unknown):
        return of
    write = f"mount {bar} at 212 below N"
    where = case.plan.step(found.index).span
    return Unknown.of(f"what bar {bar} is {of}", write, where) if of in ("below", "above") else None


@fact("below-feet", "bar", lines=by_change("bars"), meaning="it is mounted below the feet of those who work there")
def below_feet(case: PlanTrace, at: int, bar: Bar) -> Answer:
    found = height.compute(case, at, bar)
    if found is None or isinstance(found, Unknown):
        return False if found is None else found
    if found in ("below-feet", "above-feet"):
        return bool(found == "below-feet")
    step = case.timeline.mounted(at, bar)  # below the neutral may still be above the feet
    where = case.plan.step(step.index).span if step is not None else bar.span
    return Unknown.of(f"whether bar {bar} is below the feet", f"mount {bar} at 212 below the feet", where)


@fact(
    "below-feet-of",
    "bar",
    "person",
    lines=by_change("bars"),
    meaning="it is mounted below the feet of that person; false where the person is elsewhere",
)
def below_feet_of(case: PlanTrace, at: int, bar: Bar, person: Person) -> Answer:
    here, there = case.bar_structure(at, bar), case.person_structure(at, person)
    if here is None:
        return False
    if there is not None and here is not there:
        unknown = next((place for place in (here, there) if isinstance(place, Unknown)), None)
        return False if unknown is None else unknown
    found: Answer = below_feet.compute(case, at, bar)
    return found


# ---- vehicles and mats ----

BODIES = ("bucket-truck", "bucket", "lift", "platform", "crane", "digger", "pickup", "truck", "tensioner", "trailer")
BUCKETS = frozenset({"bucket-truck", "bucket", "lift", "platform"})


@fact("body", "vehicle", returns=BODIES, timed=False, lines=where_stated("body"), meaning="what kind of vehicle it is")
def body(_case: PlanTrace, _at: int, vehicle: Vehicle) -> str | Unknown:
    if vehicle.body is None:
        fact_ = f"what kind of vehicle {vehicle} is"
        return Unknown.of(fact_, f"vehicle {vehicle} bucket truck insulated", vehicle.span)
    return word(vehicle.body)


@fact("insulated", "vehicle", timed=False, lines=where_stated("insulation"), meaning="its boom is insulated")
def insulated(_case: PlanTrace, _at: int, vehicle: Vehicle) -> Answer:
    if vehicle.insulation is None:
        fact_ = f"whether the boom of {vehicle} is insulated"
        return Unknown.of(fact_, f"vehicle {vehicle} bucket truck insulated", vehicle.span)
    return vehicle.insulation == "insulated"


@fact("bonded", "vehicle", lines=by_change("hanging"), meaning="it is joined to an electrode")
def vehicle_bonded(case: PlanTrace, at: int, vehicle: Vehicle) -> Answer:
    return is_grounded(case, at, PointRef("vehicle", None, vehicle), local=False)


@fact(
    "parked-away",
    "vehicle",
    "structure",
    lines=by_change("parked"),
    meaning="a step has parked it at another structure",
)
def parked_away(case: PlanTrace, at: int, vehicle: Vehicle, structure: Structure) -> bool | Unknown:
    parked = case.timeline.parked(at, vehicle)
    if parked is None:
        return False
    if parked[0] is None:
        return Unknown.of(f"where vehicle {vehicle} stands", f"park {vehicle} at 212", vehicle.span)
    return parked[0] is not structure


def _in_place(case: PlanTrace, at: int, *_things: Any) -> Lines:
    stands = [case.timeline.stand(at, person) for person in case.timeline.people_in_place(at)]
    return tuple(case.line_of(stand.index) for stand in stands if stand is not None)


@fact(
    "in-work",
    "vehicle",
    lines=_in_place,
    meaning="while people are in place, it is at the work or somebody stands in it",
)
def in_work(case: PlanTrace, at: int, vehicle: Vehicle) -> Answer:
    people = case.timeline.people_in_place(at)
    if not people:
        return False
    point = PointRef("vehicle", None, vehicle)
    parked = case.timeline.parked(at, vehicle)
    there: list[Answer] = []
    for person in people:
        stand = case.timeline.stand(at, person)
        if stand is not None and isinstance(stand.point, PointRef):
            there.append(stand.point == point)
        there.append(case.reaches(at, person, point))
        if parked is not None and parked[0] is not None:
            here = case.person_structure(at, person)
            there.append(here if isinstance(here, Unknown) else here is parked[0])
    if any_of(there) is True:
        return True
    if (parked is not None and parked[0] is not None) or (parked is None and case.steps_naming(("park",), vehicle)):
        return any_of(there)  # where it stands is stated, or that it comes later
    return Unknown.of(f"where vehicle {vehicle} stands", f"park {vehicle} at 212", vehicle.span)


@fact("bonded", "mat", lines=by_change("hanging"), meaning="it is joined to something")
def mat_bonded(case: PlanTrace, at: int, mat: Mat) -> Answer:
    return _in_use(case, at, PointRef("mat", None, mat))
