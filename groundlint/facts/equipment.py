"""Facts about equipment: its tests and inspections, detectors, sticks, rods, bars, leads, vehicles and mats."""

from __future__ import annotations

from typing import Any

from groundlint.facts.answers import Answer, Lines, any_of, by_steps, only_if, said, settled, where_stated, word
from groundlint.facts.catalogue import fact
from groundlint.facts.points import is_grounded
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import (
    Bar,
    Conductor,
    Detector,
    Equipment,
    Lead,
    Mat,
    Person,
    PointRef,
    Rod,
    Stick,
    Structure,
    Thing,
    Vehicle,
)
from groundlint.values import Gap, Unknown

DAY = 86400.0


def sort_of(thing: Thing) -> str:
    """What the declaration of a piece of equipment begins with: ``lead``."""
    return type(thing).__name__.lower()


# ---- all equipment ----


@fact("inspected", "equipment", lines=by_steps("inspect"), meaning="a step before this one looks it over")
def inspected(case: PlanTrace, at: int, equipment: Equipment) -> bool:
    return bool(case.timeline.inspected(at, equipment))


@fact("test-stated", "equipment", timed=False, lines=where_stated("tested"),
      meaning="the plan gives the date of its last test, or when the next is due")  # fmt: skip
def test_stated(_case: PlanTrace, _at: int, equipment: Equipment) -> Answer:
    stated = equipment.tested is not None or equipment.due is not None
    write = f"{sort_of(equipment)} {equipment} tested 2026-01-15"
    return only_if(stated, f"when {equipment} was last tested", write, equipment.span)


@fact("time-since-test", "equipment", returns="time", timed=False, unit="h", lines=where_stated("tested"),
      meaning="time from its last test to the date of the plan")  # fmt: skip
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
    return (dated - equipment.tested).days * DAY


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
    return settled(
        case.timeline.proven(at, detector),
        lambda: Gap(f"whether {detector} is proven", f"prove {detector} on T1", detector.span),
    )


@fact("tests-since-proof", "detector", returns="number", lines=by_steps("prove"),
      meaning="how many tests were made with it since it was last proven")  # fmt: skip
def tests_since_proof(case: PlanTrace, at: int, detector: Detector) -> float:
    return float(case.timeline.tests_since_proof(at, detector))


def _range_gap(detector: Detector) -> Unknown:
    write = f"detector {detector} for 5 kV to 40 kV"
    return Unknown.of(f"the voltages that detector {detector} is for", write, detector.span)


@fact("lowest", "detector", returns="voltage", timed=False, unit="kV", lines=where_stated("range"),
      meaning="the lowest voltage between phases that it is for")  # fmt: skip
def lowest(_case: PlanTrace, _at: int, detector: Detector) -> float | Unknown:
    return _range_gap(detector) if detector.lowest is None else detector.lowest


@fact("highest", "detector", returns="voltage", timed=False, unit="kV", lines=where_stated("range"),
      meaning="the highest voltage between phases that it is for")  # fmt: skip
def highest(_case: PlanTrace, _at: int, detector: Detector) -> float | Unknown:
    return _range_gap(detector) if detector.highest is None else detector.highest


@fact(
    "range-stated", "detector", timed=False, lines=where_stated("range"), meaning="the plan gives its range of voltage"
)
def range_stated(_case: PlanTrace, _at: int, detector: Detector) -> Answer:
    return _range_gap(detector) if detector.lowest is None or detector.highest is None else True


@fact("detecting", "detector", returns=("contact", "proximity"), timed=False, lines=where_stated("detecting"),
      meaning="how it detects")  # fmt: skip
def detecting(_case: PlanTrace, _at: int, detector: Detector) -> str | Unknown:
    fact_ = f"how detector {detector} detects"
    found: str | Unknown = said(detector.detecting, fact_, f"detector {detector} contact", detector.span)
    return found


@fact("length", "stick", returns="length", timed=False, unit="ft", lines=where_stated("length"),
      meaning="its insulating length")  # fmt: skip
def stick_length(_case: PlanTrace, _at: int, stick: Stick) -> float | Unknown:
    found: float | Unknown = said(stick.length, f"the length of stick {stick}", f"stick {stick} 8 ft", stick.span)
    return found


# ---- rods ----


@fact("set", "rod", lines=by_steps("set"), meaning="it has been driven")
def rod_is_set(case: PlanTrace, at: int, rod: Rod) -> bool:
    return case.timeline.rod_set(at, rod) is not None


def _set_value(case: PlanTrace, at: int, rod: Rod, attribute: str, fact_: str, write: str) -> float | Unknown | None:
    found = case.timeline.rod_set(at, rod)
    if found is None:
        return None
    value = getattr(found, attribute)
    if isinstance(value, Gap):
        return Unknown((value,))
    return Unknown.of(f"{fact_} {rod}", write, case.actions[found.index].span) if value is None else float(value)


@fact("distance", "rod", returns="length", unit="ft", lines=by_steps("set"),
      meaning="how far from the structure it is set; none while it is not set")  # fmt: skip
def rod_distance(case: PlanTrace, at: int, rod: Rod) -> float | Unknown | None:
    return _set_value(
        case, at, rod, "distance", "the distance of rod", f"set {rod} at 212, 16 ft from the pole, 6 ft deep"
    )


@fact("depth", "rod", returns="length", unit="ft", lines=by_steps("set"),
      meaning="how much of it is in the soil; none while it is not set")  # fmt: skip
def rod_depth(case: PlanTrace, at: int, rod: Rod) -> float | Unknown | None:
    return _set_value(case, at, rod, "depth", "the depth of rod", f"set {rod} at 212, 16 ft from the pole, 6 ft deep")


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


@fact("structure", "rod", returns="structure", lines=by_steps("set"),
      meaning="the structure at which it is set; none while it is not")  # fmt: skip
def structure_of_rod(case: PlanTrace, at: int, rod: Rod) -> Structure | Unknown | None:
    return case.rod_structure(at, rod)


@fact("in-use", "rod", lines=by_steps("attach", "detach"), meaning="a lead or a bond is on it")
def rod_in_use(case: PlanTrace, at: int, rod: Rod) -> bool:
    return bool(case.leads_on(at, PointRef("rod", None, rod)))


@fact("barricaded", "thing", lines=by_steps("barricade", "unbarricade"), meaning="people are kept away from it")
def barricaded(case: PlanTrace, at: int, thing: Thing) -> bool:
    return case.timeline.barricaded(at, thing) is not None


@fact("barricade-distance", "thing", returns="length", unit="ft", lines=by_steps("barricade"),
      meaning="how far people are kept from it; none where it is not barricaded")  # fmt: skip
def barricade_distance(case: PlanTrace, at: int, thing: Thing) -> float | Unknown | None:
    found = case.timeline.barricaded(at, thing)
    if found is None:
        return None
    value = found.distance
    if isinstance(value, Gap):
        return Unknown((value,))
    if value is None:
        step = case.last(at, ("barricade",), thing)
        where = case.actions[step].span if step is not None else thing.span
        return Unknown.of(f"how far people are kept from {thing}", f"barricade {thing} 10 ft", where)
    return float(value)


# ---- bars ----


@fact("mounted", "bar", lines=by_steps("mount"), meaning="it is on a structure")
def mounted(case: PlanTrace, at: int, bar: Bar) -> bool:
    return case.timeline.mounted(at, bar) is not None


@fact("structure", "bar", returns="structure", lines=by_steps("mount"),
      meaning="the structure that it is on; none while it is not mounted")  # fmt: skip
def structure_of_bar(case: PlanTrace, at: int, bar: Bar) -> Structure | Unknown | None:
    return case.bar_structure(at, bar)


HEIGHTS = ("below-feet", "above-feet", "below", "above")


@fact("height", "bar", returns=HEIGHTS, lines=by_steps("mount"),
      meaning="where it is mounted: below or above the feet, or below or above a conductor; none while it is not")  # fmt: skip
def height(case: PlanTrace, at: int, bar: Bar) -> str | Unknown | None:
    found = case.timeline.mounted(at, bar)
    if found is None:
        return None
    if isinstance(found.height, Gap):
        return Unknown((found.height,))
    if found.height is None:
        where = case.actions[found.index].span
        return Unknown.of(f"the height of bar {bar}", f"mount {bar} at 212 below the feet", where)
    return word(found.height).replace("the-", "")


@fact("height-from", "bar", returns="conductor", lines=by_steps("mount"),
      meaning="the conductor that its height is relative to, or none")  # fmt: skip
def height_from(case: PlanTrace, at: int, bar: Bar) -> Conductor | Unknown | None:
    found = case.timeline.mounted(at, bar)
    conductor = found.conductor if found is not None else None
    if isinstance(conductor, Gap):
        return Unknown((conductor,))
    if isinstance(conductor, PointRef):
        conductor = conductor.thing
    return conductor if isinstance(conductor, Conductor) else None


@fact("below-feet", "bar", lines=by_steps("mount"), meaning="it is mounted below the feet of those who work there")
def below_feet(case: PlanTrace, at: int, bar: Bar) -> Answer:
    found = height.compute(case, at, bar)
    if found is None or isinstance(found, Unknown):
        return False if found is None else found
    if found in ("below-feet", "above-feet"):
        return bool(found == "below-feet")
    step = case.timeline.mounted(at, bar)  # below the neutral may still be above the feet
    where = case.actions[step.index].span if step is not None else bar.span
    return Unknown.of(f"whether bar {bar} is below the feet", f"mount {bar} at 212 below the feet", where)


@fact("below-feet-of", "bar", "person", lines=by_steps("mount"),
      meaning="it is mounted below the feet of that person, who is at its structure")  # fmt: skip
def below_feet_of(case: PlanTrace, at: int, bar: Bar, person: Person) -> Answer:
    stand = case.timeline.stand(at, person)
    if stand is None:
        return False
    here, there = case.bar_structure(at, bar), case.person_structure(at, person)
    if isinstance(here, Unknown):
        return here
    if isinstance(there, Unknown):
        return there
    if here is None or here is not there:
        return False
    found: Answer = below_feet.compute(case, at, bar)
    return found


# ---- leads ----


@fact("on", "lead", lines=by_steps("attach", "detach"), meaning="an end of it is on")
def on(case: PlanTrace, at: int, lead: Lead) -> bool:
    return bool(case.timeline.ends(at, lead))


@fact("fully-on", "lead", lines=by_steps("attach", "detach"), meaning="both its ends are on")
def fully_on(case: PlanTrace, at: int, lead: Lead) -> bool:
    return len(case.timeline.ends(at, lead)) >= 2


@fact(
    "floating", "lead", lines=by_steps("attach", "detach", "lift"), meaning="one end of it is on and the other is loose"
)
def floating(case: PlanTrace, at: int, lead: Lead) -> bool:
    return len(case.timeline.ends(at, lead)) == 1


@fact("ends", "lead", returns="number", lines=by_steps("attach", "detach"), meaning="how many of its ends are on")
def ends(case: PlanTrace, at: int, lead: Lead) -> float:
    return float(len(case.timeline.ends(at, lead)))


@fact(
    "lifted", "lead", lines=by_steps("lift", "restore"), meaning="an end of it is off for a test and not restored yet"
)
def lifted(case: PlanTrace, at: int, lead: Lead) -> bool:
    return case.timeline.lifted(at, lead) is not None


def _end(case: PlanTrace, at: int, lead: Lead, number: int) -> Any:
    found = case.timeline.ends(at, lead)
    if number >= len(found):
        return None
    return Unknown((found[number],)) if isinstance(found[number], Gap) else found[number]


@fact("first-point", "lead", returns="point", lines=by_steps("attach"),
      meaning="the point that its first end is on, of those that are on; none while it is off")  # fmt: skip
def first_point(case: PlanTrace, at: int, lead: Lead) -> PointRef | Unknown | None:
    found: PointRef | Unknown | None = _end(case, at, lead, 0)
    return found


@fact("second-point", "lead", returns="point", lines=by_steps("attach"),
      meaning="the point that its second end is on; none while fewer than two are")  # fmt: skip
def second_point(case: PlanTrace, at: int, lead: Lead) -> PointRef | Unknown | None:
    found: PointRef | Unknown | None = _end(case, at, lead, 1)
    return found


@fact("on-point", "lead", "point", lines=by_steps("attach"), meaning="an end of it is on that point")
def on_point(case: PlanTrace, at: int, lead: Lead, point: PointRef) -> bool:
    return point in case.timeline.ends(at, lead)


def _end_structures(case: PlanTrace, at: int, lead: Lead) -> list[Structure | Unknown]:
    found: list[Structure | Unknown] = []
    for end in case.timeline.ends(at, lead):
        if isinstance(end, PointRef):
            here = case.point_structure(at, end)
            if here is not None:
                found.append(here)
    return found


@fact("structure", "lead", returns="structure", lines=by_steps("attach"),
      meaning="the structure at which its ends are; none while it is off")  # fmt: skip
def structure_of_lead(case: PlanTrace, at: int, lead: Lead) -> Structure | Unknown | None:
    found = _end_structures(case, at, lead)
    known = [here for here in found if isinstance(here, Structure)]
    return known[0] if known else found[0] if found else None


@fact("personal", "lead", lines=by_steps("attach"),
      meaning="it joins a bar, or metal of the structure, to a conductor where people work")  # fmt: skip
def personal(case: PlanTrace, at: int, lead: Lead) -> Answer:
    both = case.timeline.ends(at, lead)
    if len(both) < 2:
        return False
    conductors = [end for end in both if end.sort == "conductor"]
    others = [end for end in both if end.sort in ("bar", "pole", "steel", "pole ground", "guy", "footing")]
    if not conductors or not others or conductors[0].structure is None:
        return False
    return case.worksite(conductors[0].structure)


@fact(
    "ganged-with",
    "lead",
    "lead",
    lines=by_steps("attach"),
    meaning="both its ends are on the points that the other is on",
)
def ganged_with(case: PlanTrace, at: int, lead: Lead, other: Lead) -> bool:
    one, two = case.timeline.ends(at, lead), case.timeline.ends(at, other)
    return lead is not other and len(one) == len(two) == 2 and set(one) == set(two)


@fact("length", "lead", returns="length", timed=False, unit="ft", lines=where_stated("length"), meaning="its length")
def lead_length(_case: PlanTrace, _at: int, lead: Lead) -> float | Unknown:
    write = f"lead {lead} 2/0 copper 25 ft grade 3"
    found: float | Unknown = said(lead.length, f"the length of lead {lead}", write, lead.span)
    return found


@fact("area", "lead", returns="area", timed=False, unit="kcmil", lines=where_stated("size"),
      meaning="cross-section of its cable")  # fmt: skip
def area(_case: PlanTrace, _at: int, lead: Lead) -> float | Unknown:
    write = f"lead {lead} 2/0 copper 25 ft grade 3"
    found: float | Unknown = said(lead.area, f"the size of lead {lead}", write, lead.span)
    return found


METALS = ("copper", "aluminium", "acsr", "aac")
ALUMINIUM_CONDUCTIVITY = 0.61
"""Of EC-grade aluminium against annealed copper: IEEE 80-2000 Table 1, from memory."""


@fact("metal", "lead", returns=METALS, timed=False, lines=where_stated("metal"), meaning="metal of its cable")
def metal(_case: PlanTrace, _at: int, lead: Lead) -> str | Unknown:
    write = f"lead {lead} 2/0 copper 25 ft grade 3"
    if lead.metal is None:
        return Unknown.of(f"the metal of lead {lead}", write, lead.span)
    return "aluminium" if lead.metal == "aluminum" else lead.metal


@fact("copper-area", "lead", returns="area", timed=False, unit="kcmil", lines=where_stated("size"),
      meaning="cross-section of copper that conducts as well as its cable")  # fmt: skip
def copper_area(case: PlanTrace, at: int, lead: Lead) -> float | Unknown:
    size, of = area.compute(case, at, lead), metal.compute(case, at, lead)
    if isinstance(size, Unknown):
        return size | of if isinstance(of, Unknown) else size
    if isinstance(of, Unknown):
        return of
    if of == "copper":
        return float(size)
    if of in ("aluminium", "aac"):
        return ALUMINIUM_CONDUCTIVITY * float(size)
    return Unknown.of(f"how well lead {lead} conducts", f"lead {lead} 2/0 copper 25 ft grade 3", lead.span)


@fact("grade-stated", "lead", timed=False, lines=where_stated("grade"), meaning="the plan gives its grade of ASTM F855")
def grade_stated(_case: PlanTrace, _at: int, lead: Lead) -> Answer:
    write = f"lead {lead} 2/0 copper 25 ft grade 3"
    return only_if(lead.grade is not None, f"the grade of lead {lead}", write, lead.span)


GRADES = tuple(f"{number}{high}" for number in range(1, 8) for high in ("", "h"))


@fact("clamps-stated", "lead", timed=False, lines=where_stated("clamps"), meaning="the plan gives its type of clamp")
def clamps_stated(_case: PlanTrace, _at: int, lead: Lead) -> Answer:
    write = f"lead {lead} 2/0 copper 25 ft clamps C-type"
    return only_if(lead.clamps is not None, f"the clamps of lead {lead}", write, lead.span)


@fact("same-size", "lead", "lead", timed=False, lines=where_stated("size"),
      meaning="its size, metal and length are those of the other")  # fmt: skip
def same_size(case: PlanTrace, at: int, lead: Lead, other: Lead) -> Answer:
    pairs = [
        (area.compute(case, at, one), metal.compute(case, at, one), lead_length.compute(case, at, one))
        for one in (lead, other)
    ]
    unknown: Unknown | None = None
    for left, right in zip(*pairs, strict=True):
        for value in (left, right):
            if isinstance(value, Unknown):
                unknown = value if unknown is None else unknown | value
        if not isinstance(left, Unknown) and not isinstance(right, Unknown) and left != right:
            return False
    return True if unknown is None else unknown


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


@fact("bonded", "vehicle", lines=by_steps("bond", "unbond", "attach"), meaning="it is joined to an electrode")
def vehicle_bonded(case: PlanTrace, at: int, vehicle: Vehicle) -> Answer:
    return is_grounded(case, at, PointRef("vehicle", None, vehicle), local=False)


def _in_place(case: PlanTrace, at: int, *_things: Any) -> Lines:
    found = [case.last(at, ("enter", "move"), person) for person in case.timeline.people_in_place(at)]
    return tuple(case.line_of(step) for step in found if step is not None)


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
    there: list[Answer] = []
    for person in people:
        stand = case.timeline.stand(at, person)
        if stand is not None and isinstance(stand.point, PointRef):
            there.append(stand.point == point)
        there.append(case.reaches(at, person, point))
    if any_of(there) is True:
        return True
    return Unknown.of(f"where vehicle {vehicle} stands", f"bond {vehicle} to R1", vehicle.span)


@fact("bonded", "mat", lines=by_steps("bond", "unbond", "attach"), meaning="it is joined to something")
def mat_bonded(case: PlanTrace, at: int, mat: Mat) -> bool:
    point = PointRef("mat", None, mat)
    if case.leads_on(at, point):
        return True
    bond = case.last(at, ("bond", "unbond"), mat)
    return bond is not None and case.actions[bond].kind == "bond"
