"""Facts about leads: where their ends are, and what they are made of."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from groundlint.facts.answers import Answer, Lines, any_of, by_change, negated, only_if, said, where_stated
from groundlint.facts.catalogue import fact
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Lead, Plan, PointRef, Structure
from groundlint.values import Gap, Unknown
from groundlint.values.wire import METALS


@fact("on", "lead", lines=by_change("ends"), meaning="an end of it is on")
def on(case: PlanTrace, at: int, lead: Lead) -> bool:
    return bool(case.timeline.ends(at, lead))


@fact("fully-on", "lead", lines=by_change("ends"), meaning="both its ends are on")
def fully_on(case: PlanTrace, at: int, lead: Lead) -> bool:
    return len(case.timeline.ends(at, lead)) >= 2


@fact("floating", "lead", lines=by_change("ends"), meaning="one end of it is on and the other is loose")
def floating(case: PlanTrace, at: int, lead: Lead) -> bool:
    return len(case.timeline.ends(at, lead)) == 1


@fact("ends", "lead", returns="number", lines=by_change("ends"), meaning="how many of its ends are on")
def ends(case: PlanTrace, at: int, lead: Lead) -> float:
    return float(len(case.timeline.ends(at, lead)))


@fact("lifted", "lead", lines=by_change("lifted"), meaning="an end of it is off for a test and not restored yet")
def lifted(case: PlanTrace, at: int, lead: Lead) -> bool:
    return case.timeline.lifted(at, lead) is not None


def _end(case: PlanTrace, at: int, lead: Lead, number: int) -> Any:
    found = case.timeline.ends(at, lead)
    if number >= len(found):
        return None
    end = found[number]
    return Unknown((end,)) if isinstance(end, Gap) else end


@fact(
    "first-point",
    "lead",
    returns="point",
    lines=by_change("ends"),
    meaning="the point that its first end is on, of those that are on; none while it is off",
)
def first_point(case: PlanTrace, at: int, lead: Lead) -> PointRef | Unknown | None:
    found: PointRef | Unknown | None = _end(case, at, lead, 0)
    return found


@fact(
    "second-point",
    "lead",
    returns="point",
    lines=by_change("ends"),
    meaning="the point that its second end is on; none while fewer than two are",
)
def second_point(case: PlanTrace, at: int, lead: Lead) -> PointRef | Unknown | None:
    found: PointRef | Unknown | None = _end(case, at, lead, 1)
    return found


@fact("on-point", "lead", "point", lines=by_change("ends"), meaning="an end of it is on that point")
def on_point(case: PlanTrace, at: int, lead: Lead, point: PointRef) -> Answer:
    found = case.timeline.ends(at, lead)
    if point in found:
        return True
    gaps = tuple(end for end in found if isinstance(end, Gap))
    return Unknown(gaps) if gaps else False


def _end_structures(case: PlanTrace, at: int, lead: Lead) -> list[Structure | Unknown]:
    found: list[Structure | Unknown] = []
    for end in case.timeline.ends(at, lead):
        here = Unknown((end,)) if isinstance(end, Gap) else case.point_structure(at, end)
        if here is not None:
            found.append(here)
    return found


@fact(
    "structure",
    "lead",
    returns="structure",
    lines=by_change("ends"),
    meaning="the structure at which its ends are; none while it is off",
)
def structure_of_lead(case: PlanTrace, at: int, lead: Lead) -> Structure | Unknown | None:
    found = _end_structures(case, at, lead)
    known = [here for here in found if isinstance(here, Structure)]
    return known[0] if known else found[0] if found else None


@fact(
    "personal",
    "lead",
    lines=by_change("ends"),
    meaning="it joins a bar, or metal of the structure, to a conductor where people work, not only stand by",
)
def personal(case: PlanTrace, at: int, lead: Lead) -> Answer:
    both = case.timeline.ends(at, lead)
    if len(both) < 2:
        return False
    gaps = tuple(end for end in both if isinstance(end, Gap))
    points = [end for end in both if isinstance(end, PointRef)]
    wires = [end for end in points if end.sort == "conductor"]
    metal_ = [end for end in points if end.sort in ("bar", "pole", "steel", "pole ground", "guy", "footing")]
    if len(wires) + len(metal_) < len(points) or len(wires) > 1 or len(metal_) > 1:
        return False
    if gaps:
        return Unknown(gaps)
    if not wires or not metal_ or wires[0].structure is None:
        return False
    return case.worked_on(wires[0].structure)


@fact(
    "ganged-with",
    "lead",
    "lead",
    lines=by_change("ends"),
    meaning="both its ends are on the points that the other is on",
)
def ganged_with(case: PlanTrace, at: int, lead: Lead, other: Lead) -> Answer:
    one, two = case.timeline.ends(at, lead), case.timeline.ends(at, other)
    if lead is other or len(one) < 2 or len(two) < 2:
        return False
    gaps = tuple(end for end in (*one, *two) if isinstance(end, Gap))
    return Unknown(gaps) if gaps else set(one) == set(two)


@fact("length", "lead", returns="length", timed=False, unit="ft", lines=where_stated("length"), meaning="its length")
def lead_length(_case: PlanTrace, _at: int, lead: Lead) -> float | Unknown:
    write = f"lead {lead} 25 ft"
    found: float | Unknown = said(lead.length, f"the length of lead {lead}", write, lead.span)
    return found


@fact(
    "area",
    "lead",
    returns="area",
    timed=False,
    unit="kcmil",
    lines=where_stated("size"),
    meaning="cross-section of its cable",
)
def area(_case: PlanTrace, _at: int, lead: Lead) -> float | Unknown:
    write = f"lead {lead} 2/0 copper"
    found: float | Unknown = said(lead.area, f"the size of lead {lead}", write, lead.span)
    return found


ALUMINIUM_CONDUCTIVITY = 0.61
"""Of EC-grade aluminium against annealed copper: IEEE 80-2000 Table 1, from memory."""


@fact("metal", "lead", returns=METALS, timed=False, lines=where_stated("metal"), meaning="metal of its cable")
def metal(_case: PlanTrace, _at: int, lead: Lead) -> str | Unknown:
    write = f"lead {lead} {lead.size or '2/0'} copper"
    if lead.metal is None:
        return Unknown.of(f"the metal of lead {lead}", write, lead.span)
    return "aluminium" if lead.metal == "aluminum" else lead.metal


@fact(
    "copper-area",
    "lead",
    returns="area",
    timed=False,
    unit="kcmil",
    lines=where_stated("size"),
    meaning="cross-section of copper that conducts as well as its cable",
)
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
    return Unknown.of(f"how well lead {lead} conducts", f"lead {lead} 2/0 copper", lead.span)


@fact(
    "grade-stated",
    "lead",
    timed=False,
    lines=where_stated("grade"),
    meaning="the plan gives its grade of ASTM F855, or the current and time on its label, as of IEC 61230",
)
def grade_stated(_case: PlanTrace, _at: int, lead: Lead) -> Answer:
    write = f"lead {lead} grade 3"
    return only_if(lead.grade is not None or lead.rated is not None, f"the grade of lead {lead}", write, lead.span)


@fact("clamps-stated", "lead", timed=False, lines=where_stated("clamps"), meaning="the plan gives its type of clamp")
def clamps_stated(_case: PlanTrace, _at: int, lead: Lead) -> Answer:
    write = f"lead {lead} clamps C-type"
    return only_if(lead.clamps is not None, f"the clamps of lead {lead}", write, lead.span)


@fact(
    "same-size",
    "lead",
    "lead",
    timed=False,
    lines=where_stated("size"),
    meaning="its size, metal and length are those of the other",
)
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


def _last_on(case: PlanTrace, at: int, lead: Lead) -> int | None:
    """The number of the step that hung it; below zero where the part of the job before has."""
    return case.timeline.hung(at, lead)


@fact(
    "outermost",
    "lead",
    lines=by_change("ends"),
    meaning="it is on, and no lead that is on at its structure went on after it",
)
def outermost(case: PlanTrace, at: int, lead: Lead) -> Answer:
    mine = _last_on(case, at, lead)
    if mine is None:
        return False
    here = structure_of_lead.compute(case, at, lead)

    def later() -> Iterator[Answer]:
        for other in case.all(Lead):
            last = _last_on(case, at, other) if other is not lead else None
            if last is not None and last > mine:
                for there in _end_structures(case, at, other):
                    unknown = next((place for place in (here, there) if isinstance(place, Unknown)), None)
                    yield there is here if unknown is None else unknown

    return negated(any_of(later()))


@fact(
    "outer",
    "lead",
    returns="lead",
    lines=by_change("ends"),
    meaning="the lead that went on last of those that are on at its structure, if it is another; else none",
)
def outer(case: PlanTrace, at: int, lead: Lead) -> Lead | Unknown | None:
    mine, here = _last_on(case, at, lead), structure_of_lead.compute(case, at, lead)
    if mine is None or isinstance(here, Unknown):
        return here if mine is not None else None
    last = {other: _last_on(case, at, other) or 0 for other in case.all(Lead) if _is_there(case, at, other, here)}
    found = max(last, key=lambda other: last[other], default=None)
    return found if found is not None and last[found] > mine else None


def _is_there(case: PlanTrace, at: int, lead: Lead, here: object) -> bool:
    return _last_on(case, at, lead) is not None and here in tuple(_end_structures(case, at, lead))


def _loose(case: PlanTrace, at: int) -> Lead | None:
    leads: tuple[Lead, ...] = case.all(Lead)
    timeline = case.timeline
    return next((one for one in leads if len(timeline.ends(at, one)) == 1 and timeline.lifted(at, one) is None), None)


def _loose_lines(case: PlanTrace, at: int, _plan: Plan) -> Lines:
    found = _loose(case, at)
    return by_change("ends")(case, at, found) if found is not None else ()


@fact(
    "lead-loose", "plan", lines=_loose_lines, meaning="some lead has one end on and the other loose, and is not lifted"
)
def lead_loose(case: PlanTrace, at: int, _plan: Plan) -> bool:
    return _loose(case, at) is not None


@fact(
    "loose-lead",
    "plan",
    returns="lead",
    lines=_loose_lines,
    meaning="the first lead declared of those with one end loose that are not lifted, or none",
)
def loose_lead(case: PlanTrace, at: int, _plan: Plan) -> Lead | None:
    return _loose(case, at)
