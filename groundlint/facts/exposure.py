"""Computed facts of people: the voltage across what they reach, what a body stands, and what a circuit induces."""

from __future__ import annotations

from typing import Any

from groundlint.facts.answers import Lines
from groundlint.facts.catalogue import fact
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import ParallelCircuit, Person, SupplySource
from groundlint.values import Unknown


def _exposure(case: PlanTrace, at: int, person: Person, source: SupplySource, attribute: str) -> Any:
    found = case.exposure(person, source, at)
    return found if found is None or isinstance(found, Unknown) else getattr(found, attribute)


def _behind(case: PlanTrace, at: int, person: Person, source: SupplySource) -> Lines:
    """Where the person took up the place, and the pair across which the voltage is worst."""
    stand = case.timeline.stand(at, person)
    found = case.exposure(person, source, at)
    if stand is None or found is None or isinstance(found, Unknown) or found.pair is None:
        return ()
    one, other = found.pair
    words = f"worst between {one} and {other}, {source} returning by {found.way}"
    return ((case.actions[stand.index].span, words),)


@fact(
    "exposure",
    "person",
    "source",
    returns="voltage",
    unit="V",
    lines=_behind,
    meaning="worst open-circuit voltage between what is in reach should the source return; none if not in place",
)
def exposure(case: PlanTrace, at: int, person: Person, source: SupplySource) -> Any:
    return _exposure(case, at, person, source, "voltage")


@fact(
    "exposure-time",
    "person",
    "source",
    returns="time",
    unit="s",
    lines=_behind,
    meaning="how long that voltage would last; without end where nothing clears the fault",
)
def exposure_time(case: PlanTrace, at: int, person: Person, source: SupplySource) -> Any:
    return _exposure(case, at, person, source, "time")


def _limit(case: PlanTrace, at: int, person: Person, source: SupplySource, criterion: str) -> Any:
    from groundlint.electrical.results import body_limit

    time = _exposure(case, at, person, source, "time")
    return None if time is None else body_limit(criterion, time)


@fact(
    "fibrillation-50kg",
    "person",
    "source",
    returns="current",
    unit="mA",
    lines=_behind,
    meaning="0.116/sqrt(t) (IEEE 80-2000 6.1), the most for persons of 50 kg; let-go where nothing clears it",
)
def fibrillation_50kg(case: PlanTrace, at: int, person: Person, source: SupplySource) -> Any:
    return _limit(case, at, person, source, "dalziel-50kg")


@fact(
    "fibrillation-70kg",
    "person",
    "source",
    returns="current",
    unit="mA",
    lines=_behind,
    meaning="the same for persons of 70 kg, 0.157/sqrt(t) (IEEE 80-2000 6.1)",
)
def fibrillation_70kg(case: PlanTrace, at: int, person: Person, source: SupplySource) -> Any:
    return _limit(case, at, person, source, "dalziel-70kg")


@fact(
    "fibrillation-c1",
    "person",
    "source",
    returns="current",
    unit="mA",
    lines=_behind,
    meaning="body current on curve c1 of IEC 60479-1 Figure 20 for that time",
)
def fibrillation_c1(case: PlanTrace, at: int, person: Person, source: SupplySource) -> Any:
    return _limit(case, at, person, source, "iec-c1")


@fact(
    "work-area-voltage",
    "person",
    "source",
    returns="voltage",
    unit="V",
    lines=_behind,
    meaning="voltage allowed across the work for that time: 100 V to 15 cycles, 75 V to 30 cycles (DOE-HDBK-1092-2004 "
    "4.15.2(3)c)",
)
def work_area_voltage(case: PlanTrace, at: int, person: Person, source: SupplySource) -> Any:
    return _limit(case, at, person, source, "doe-voltage")


@fact(
    "induced-current",
    "person",
    "parallel",
    returns="current",
    unit="mA",
    meaning="steady current through a body across what is in reach, induced by the circuit; none if not in place",
)
def induced_current(case: PlanTrace, at: int, person: Person, circuit: ParallelCircuit) -> Any:
    return case.induced_current(person, circuit, at)
