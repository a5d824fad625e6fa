"""Facts about insulating goods: the voltage that gloves, sleeves and covers are for, and when they were tested."""

from __future__ import annotations

from collections.abc import Iterable

from groundlint.facts.answers import by_change, where_stated, word
from groundlint.facts.catalogue import fact
from groundlint.facts.equipment import time_since_test
from groundlint.facts.isolation import neighbour_voltage
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Neighbour, Person, Rubber
from groundlint.text import Span
from groundlint.values import Unknown
from groundlint.values.bounds import gaps_of

RUBBER = {"00": 500.0, "0": 1000.0, "1": 7500.0, "2": 17000.0, "3": 26500.0, "4": 36000.0}
"""Maximum use voltage by class, V between phases: 29 CFR 1910.137 Table I-4; classes 0 to 4 also in MIL-HDBK-1025/10
Table 3, 00 from memory."""
RIGID = {"2": 14600.0, "3": 26400.0, "4": 36600.0, "5": 48300.0, "6": 72500.0}
"""The same of rigid covers: ASTM F712, from memory."""
GLOVES, SLEEVES = "rubber gloves", "rubber sleeves"


@fact(
    "sort",
    "rubber",
    returns=("rubber-gloves", "rubber-sleeves", "rubber-blanket", "rubber-line-hose", "rubber-cover", "rigid-cover"),
    timed=False,
    lines=where_stated("sort"),
    meaning="what kind of insulating goods it is",
)
def rubber_sort(_case: PlanTrace, _at: int, rubber: Rubber) -> str:
    return word(rubber.sort)


@fact(
    "highest-voltage",
    "rubber",
    returns="voltage",
    timed=False,
    unit="kV",
    lines=where_stated("rating"),
    meaning="the highest voltage between phases that its class is for",
)
def highest_voltage(_case: PlanTrace, _at: int, rubber: Rubber) -> float | Unknown:
    table = RIGID if rubber.sort == "rigid cover" else RUBBER
    found = table.get(rubber.rating or "")
    if found is None:
        return Unknown.of(f"the class of {rubber}", f"{rubber.sort} {rubber} class 2", rubber.span)
    return found


def _of(goods: Iterable[Rubber], *sorts: str) -> list[Rubber]:
    return [one for one in goods if one.sort in sorts]


def _least(values: list[float | Unknown]) -> float | Unknown:
    known = [value for value in values if not isinstance(value, Unknown)]
    return min(known) if len(known) == len(values) else Unknown(gaps_of(*values))


def _most(values: list[float | Unknown]) -> float | Unknown:
    known = [value for value in values if not isinstance(value, Unknown)]
    return max(known, default=0.0) if len(known) == len(values) else Unknown(gaps_of(*values))


def _unnamed(case: PlanTrace, at: int, person: Person) -> Unknown:
    step = case.timeline.changed_by(at, "worn", person)
    where: Span = person.span if step is None else case.actions[step].span
    return Unknown.of(f"which gloves {person} wears", f"gloves on {person} with RG1", where)


@fact(
    "glove-voltage",
    "person",
    returns="voltage",
    unit="kV",
    lines=by_change("worn"),
    meaning="the highest voltage that the gloves which the person wears, and the sleeves with them, are for",
)
def glove_voltage(case: PlanTrace, at: int, person: Person) -> float | Unknown:
    worn = case.timeline.worn(at, person)
    if not _of(worn, GLOVES):
        return _unnamed(case, at, person)
    return _least([highest_voltage.compute(case, at, one) for one in _of(worn, GLOVES, SLEEVES)])


@fact(
    "glove-age",
    "person",
    returns="time",
    unit="days",
    lines=by_change("worn"),
    meaning="time from the last test of the gloves that the person wears to the date of the plan",
)
def glove_age(case: PlanTrace, at: int, person: Person) -> float | Unknown:
    gloves = _of(case.timeline.worn(at, person), GLOVES)
    return _most([time_since_test.compute(case, at, one) for one in gloves]) if gloves else _unnamed(case, at, person)


@fact(
    "sleeve-age",
    "person",
    returns="time",
    unit="days",
    lines=by_change("worn"),
    meaning="the same of the sleeves that the person wears; 0 where gloves are named without sleeves",
)
def sleeve_age(case: PlanTrace, at: int, person: Person) -> float | Unknown:
    worn = case.timeline.worn(at, person)
    if not worn:
        return _unnamed(case, at, person)
    return _most([time_since_test.compute(case, at, one) for one in _of(worn, SLEEVES)])


@fact(
    "cover-at-hand",
    "neighbour",
    returns="rubber",
    meaning="the first goods of the plan that cover nothing and are of a class for its voltage, or none",
)
def cover_at_hand(case: PlanTrace, at: int, neighbour: Neighbour) -> Rubber | Unknown | None:
    taken = {
        one
        for other in case.all(Neighbour)
        if case.timeline.covered(at, other)
        for one in case.timeline.covered_with(at, other)
    }
    voltage: float | Unknown = neighbour_voltage.compute(case, at, neighbour)
    one: Rubber
    for one in case.all(Rubber):
        if one.sort in (GLOVES, SLEEVES) or one in taken:
            continue
        highest = highest_voltage.compute(case, at, one)
        if isinstance(voltage, Unknown) or isinstance(highest, Unknown):
            return Unknown(gaps_of(voltage, highest))
        if voltage <= highest:
            return one
    return None


@fact(
    "cover-voltage",
    "neighbour",
    returns="voltage",
    unit="kV",
    lines=by_change("covered_with", "covered"),
    meaning="the highest voltage that what covers it is for",
)
def cover_voltage(case: PlanTrace, at: int, neighbour: Neighbour) -> float | Unknown:
    goods = [one for one in case.timeline.covered_with(at, neighbour) if one.sort not in (GLOVES, SLEEVES)]
    if not goods:
        step = case.timeline.changed_by(at, "covered", neighbour)
        where: Span = neighbour.place("covered") if step is None else case.actions[step].span
        return Unknown.of(f"what {neighbour} is covered with", f"cover {neighbour} with B1", where)
    return _least([highest_voltage.compute(case, at, one) for one in goods])
