"""Facts about live parts near the work: the distance to keep, whether they are covered, what may reach them."""

from __future__ import annotations

from groundlint.facts.answers import Answer, any_of, at_line, by_change, where_stated
from groundlint.facts.catalogue import Event, fact
from groundlint.facts.isolation import gap_from, neighbour_gap, neighbour_voltage
from groundlint.facts.leads import structure_of_lead
from groundlint.facts.people import gloved
from groundlint.facts.plan_facts import altitude, voltage
from groundlint.facts.rubber import glove_voltage
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Conductor, Lead, LooseWire, Neighbour, Person, Plan, PointRef, Structure
from groundlint.values import Bounds, Unknown
from groundlint.values.bounds import ends, gaps_of

_APPROACH = "minimum approach distance"


def _approach(case: PlanTrace, at: int, volts: float | Unknown) -> float | Bounds | Unknown:
    """Metres, phase to ground, of 29 CFR 1910.269 Tables R-3 to R-7; 0 where the rule says to avoid contact.

    Where the altitude is not stated, from that of low land to that of the highest altitude of Table R-5: an ordinary
    stick is long enough at both.
    """
    from groundlint.electrical.physics.approach import TABLE_R5, AvoidContact, minimum_approach

    height = altitude.compute(case, at, case.plan)
    if isinstance(volts, Unknown):
        return volts | height if isinstance(height, Unknown) else volts
    found = minimum_approach(volts, None)
    if isinstance(found, AvoidContact):  # needs no altitude
        return 0.0
    heights = (0.0, TABLE_R5[-1][0]) if isinstance(height, Unknown) else (height,)
    metres: list[float] = []
    for one in heights:
        found = minimum_approach(volts, one)
        if isinstance(found, Unknown):
            return found
        metres.append(0.0 if isinstance(found, AvoidContact) else found.metres)
    return Bounds.of(metres[0], metres[-1], height.gaps) if isinstance(height, Unknown) else metres[0]


@fact(
    "approach-distance",
    "plan",
    returns="length",
    timed=False,
    unit="ft",
    lines=at_line("voltage", "voltage of the line"),
    meaning=f"{_APPROACH} at the line's voltage, phase to ground, by 29 CFR 1910.269 Tables R-3 to R-7",
)
def approach_of_plan(case: PlanTrace, at: int, plan: Plan) -> float | Bounds | Unknown:
    return _approach(case, at, voltage.compute(case, at, plan))


@fact(
    "approach-distance",
    "neighbour",
    returns="length",
    timed=False,
    unit="ft",
    lines=where_stated("voltage"),
    meaning=f"{_APPROACH} at its voltage, phase to ground; zero up to 300 V, where contact is avoided",
)
def approach_of_neighbour(case: PlanTrace, at: int, neighbour: Neighbour) -> float | Bounds | Unknown:
    return _approach(case, at, neighbour_voltage.compute(case, at, neighbour))


@fact("covered", "neighbour", lines=by_change("covered"), meaning="it is covered")
def covered(case: PlanTrace, at: int, neighbour: Neighbour) -> Answer:
    if case.timeline.covered(at, neighbour):
        return True
    if neighbour.bare or case.timeline.changed_by(at, "covered", neighbour) is not None:
        return False
    return Unknown.of(f"whether {neighbour} is covered", f"cover {neighbour}", neighbour.span)


@fact(
    "gloved-for",
    "person",
    "neighbour",
    lines=by_change("gloves", "worn"),
    meaning="the person is in place in rubber gloves of a class for its voltage, and reaches it, wood or nothing",
)
def gloved_for(case: PlanTrace, at: int, person: Person, neighbour: Neighbour) -> Answer:
    reach = case.reach(at, person)
    if reach is None or isinstance(reach, Unknown):
        return False if reach is None else reach
    for point in reach:
        wood = point.sort == "pole" and point.structure is not None and point.structure.material == "wood"
        if point.thing is not neighbour and not wood:
            return False
    if gloved.compute(case, at, person) is not True:
        return False
    volts: float | Unknown = neighbour_voltage.compute(case, at, neighbour)
    least: float | Unknown = glove_voltage.compute(case, at, person)
    if isinstance(volts, Unknown) or isinstance(least, Unknown):
        return Unknown(gaps_of(volts, least))
    return volts <= least


@fact(
    "coverer",
    "step",
    returns="person",
    lines=lambda _case, _at, step: ((step.span, step.label),),
    meaning="who covers or uncovers by hand: who is named, or else one in gloves, of those up there if any; else none",
)
def coverer(case: PlanTrace, at: int, step: Event) -> Person | Unknown | None:
    near, who, stick = step.slots.get("neighbour"), step.slots.get("operator"), step.slots.get("stick")
    if isinstance(who, Person) or not isinstance(near, Neighbour) or not isinstance(stick, Unknown):
        return who if isinstance(who, Person) else None
    up = [one for one in case.people if _up_at(case, at, one, near) is not False]
    worn = [one for one in up or case.people if gloved.compute(case, at, one) is True]
    volts = neighbour_voltage.compute(case, at, near)

    def fit(one: Person) -> bool:
        least = glove_voltage.compute(case, at, one)
        return not isinstance(volts, Unknown) and not isinstance(least, Unknown) and volts <= least

    return next(filter(fit, worn), worn[0] if worn else stick)


def _up_at(case: PlanTrace, at: int, person: Person, near: Neighbour) -> Answer:
    """Whether the person is in place off the ground at the structure that the live part is near."""
    stand, here = case.stand_point(at, person), case.person_structure(at, person)
    if stand is None or here is None or (isinstance(stand, PointRef) and stand.sort == "earth"):
        return False
    return at_structure.compute(case, at, near, here) if isinstance(here, Structure) else here


@fact(
    "at-structure", "neighbour", "structure", timed=False, lines=where_stated("at"), meaning="it is near that structure"
)
def at_structure(_case: PlanTrace, _at: int, neighbour: Neighbour, structure: Structure) -> Answer:
    if neighbour.at is None and neighbour.gap_from is not None and neighbour.gap_from.structure is not None:
        return neighbour.gap_from.structure is structure
    if neighbour.at is None:
        write = f"neighbour {neighbour} at {structure}"
        return Unknown.of(f"which structure neighbour {neighbour} is near", write, neighbour.span)
    return neighbour.at is structure


@fact(
    "beside-a-conductor",
    "neighbour",
    timed=False,
    lines=where_stated("gap_from"),
    meaning="its distance is from a conductor of the line",
)
def beside_a_conductor(case: PlanTrace, at: int, neighbour: Neighbour) -> bool | Unknown:
    point: PointRef | Unknown = gap_from.compute(case, at, neighbour)
    return point if isinstance(point, Unknown) else isinstance(point.thing, Conductor)


@fact(
    "within-loose-end",
    "neighbour",
    lines=by_change("covered"),
    meaning="a lead's loose end, or a loose wire in hand, at its structure can come nearer than the approach distance",
)
def within_loose_end(case: PlanTrace, at: int, neighbour: Neighbour) -> Answer:
    return any_of(_can_reach(case, at, one, neighbour) for one in (*case.all(Lead), *case.all(LooseWire)))


def _loose_at(case: PlanTrace, at: int, wire: Lead | LooseWire) -> Structure | Unknown | None:
    """The structure at which a lead hangs by one end, or a wire is in hand; none where it is not loose."""
    if isinstance(wire, Lead):
        return structure_of_lead.compute(case, at, wire) if len(case.timeline.ends(at, wire)) == 1 else None
    held = case.timeline.held(at, wire)
    return None if held is None else case.person_structure(at, held.person)


def _can_reach(case: PlanTrace, at: int, lead: Lead | LooseWire, neighbour: Neighbour) -> Answer:
    here = _loose_at(case, at, lead)
    near: Answer = False
    if isinstance(here, Structure):
        near = at_structure.compute(case, at, neighbour, here)
    elif isinstance(here, Unknown):
        near = here
    if near is False:
        return False
    gap, keep = neighbour_gap.compute(case, at, neighbour), approach_of_neighbour.compute(case, at, neighbour)
    kind = "lead" if isinstance(lead, Lead) else "loose wire"
    long: float | Unknown = (
        Unknown.of(f"the length of {kind} {lead}", f"{kind} {lead} 25 ft", lead.span)
        if lead.length is None
        else lead.length
    )
    if isinstance(gap, Unknown) or isinstance(keep, Unknown) or isinstance(long, Unknown):
        return Unknown(gaps_of(*(value for value in (gap, keep, long) if isinstance(value, Unknown))))
    least, most = ends(keep)
    if gap >= long + most:
        return False
    return near if gap < long + least else Unknown(gaps_of(near, keep))
