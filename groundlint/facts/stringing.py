"""Conductors that are pulled in: while it lasts, and how far they run from their grounds."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from groundlint.facts.answers import by_steps
from groundlint.facts.catalogue import fact
from groundlint.facts.points import is_grounded
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Conductor, Plan, PointRef, Structure
from groundlint.values import Unknown


@fact(
    "pulling",
    "plan",
    meaning="a conductor has been pulled in, and no work has been done since",
)
def pulling(case: PlanTrace, at: int, _plan: Plan) -> bool:
    return case.timeline.pulling(at)


@fact(
    "farthest-from-ground",
    "point",
    returns="length",
    unit="mi",
    lines=by_steps("string"),
    meaning="greatest distance of its conductor, as far as it is whole, from a structure where it is grounded",
)
def farthest_from_ground(case: PlanTrace, at: int, point: PointRef) -> float | Unknown | None:
    """In m; none where the conductor is grounded nowhere, and for what is no conductor of the line."""
    conductor, here = point.thing, point.structure
    if not isinstance(conductor, Conductor) or here is None:
        return None
    if here.order is None:
        write = f"route {here} (52 m) 212"
        return Unknown.of(f"where {here} is on the route", write, here.span)
    unknown: Unknown | None = None
    most = 0.0
    for run in _runs(case, at, here, conductor):
        found = _farthest(case, at, run)
        if found is None:
            return None
        if isinstance(found, Unknown):
            unknown = found if unknown is None else unknown | found
        else:
            most = max(most, found)
    return most if unknown is None else unknown


def _runs(case: PlanTrace, at: int, here: Structure, conductor: Conductor) -> list[list[PointRef]]:
    """The conductor from one opening or end of the line to the next, past the structure; two where it is open there."""
    route = case.plan.route
    start = route.index(here)
    open_at = [case.timeline.cut(at, structure, conductor) for structure in route]
    first, last = start, start
    while first > 0 and (first == start or not open_at[first]):
        first -= 1
    while last < len(route) - 1 and (last == start or not open_at[last]):
        last += 1

    def run(low: int, high: int) -> list[PointRef]:
        ends = {low: "far side", high: "near side"}
        return [
            PointRef(ends.get(at_, "conductor") if open_at[at_] else "conductor", route[at_], conductor)
            for at_ in range(low, high + 1)
        ]

    if not open_at[start]:
        return [run(first, last)]
    return [run(low, high) for low, high in ((first, start), (start, last)) if low < high]


def _farthest(case: PlanTrace, at: int, run: Sequence[PointRef]) -> float | Unknown | None:
    grounded = [is_grounded(case, at, point, local=True) for point in run]
    doubts = [answer for answer in grounded if isinstance(answer, Unknown)]
    if doubts:
        return Unknown(tuple(dict.fromkeys(gap for doubt in doubts for gap in doubt.gaps)))
    if not any(grounded):
        return None
    along = [0.0]
    for one, other in pairwise(run):
        span = one.structure.span_after if one.structure is not None else None
        if span is None:
            where = one.structure.span if one.structure is not None else case.plan.start
            fact_ = f"the length of the span from {one.structure} to {other.structure}"
            return Unknown.of(fact_, f"route {one.structure} (52 m) {other.structure}", where)
        along.append(along[-1] + span)
    grounds = [place for place, answer in zip(along, grounded, strict=True) if answer]
    between = [(after - before) / 2 for before, after in pairwise(grounds)]
    return max([grounds[0], along[-1] - grounds[-1], *between])
