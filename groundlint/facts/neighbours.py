"""Facts about live parts near the work: the distance to keep, whether they are covered, what may reach them."""

from __future__ import annotations

from groundlint.facts.answers import Answer, any_of, at_line, by_change, where_stated
from groundlint.facts.catalogue import fact
from groundlint.facts.isolation import neighbour_gap, neighbour_voltage
from groundlint.facts.leads import structure_of_lead
from groundlint.facts.plan_facts import altitude, voltage
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Lead, LooseWire, Neighbour, Plan, Structure
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
