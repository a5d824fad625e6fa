"""Computed facts of people: the voltage across what they reach, what a body stands, and what a circuit induces."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from groundlint.facts.answers import Lines, part_of
from groundlint.facts.catalogue import Fact, fact
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import ParallelCircuit, Person, SupplySource
from groundlint.values import Unknown

if TYPE_CHECKING:
    from groundlint.electrical.study.results import Exposure

Hazard = SupplySource | ParallelCircuit


def _behind(case: PlanTrace, at: int, person: Person, source: Hazard) -> Lines:
    """Where the person took up the place, and the pair across which the voltage is worst."""
    stand = case.timeline.stand(at, person)
    found = case.exposure(person, source, at)
    if stand is None or found is None or isinstance(found, Unknown) or found.pair is None:
        return ()
    one, other = found.pair
    on = f"{found.way} on {source}" if isinstance(source, ParallelCircuit) else f"{source} returning by {found.way}"
    return ((case.actions[stand.index].span, f"worst between {one} and {other}, {on}"),)


def _end_of_worst(case: PlanTrace, at: int, person: Person, source: Hazard, end: int) -> Any:
    return part_of(case.exposure(person, source, at), lambda found: found.pair and found.pair[end])


@fact(
    "exposed-at",
    "person",
    "hazard",
    returns="point",
    lines=_behind,
    meaning="one of the two things in reach between which that voltage is worst; none if not in place",
)
def exposed_at(case: PlanTrace, at: int, person: Person, source: Hazard) -> Any:
    return _end_of_worst(case, at, person, source, 0)


@fact("exposed-against", "person", "hazard", returns="point", lines=_behind, meaning="the other of the two")
def exposed_against(case: PlanTrace, at: int, person: Person, source: Hazard) -> Any:
    return _end_of_worst(case, at, person, source, 1)


def _of_person(name: str, take: Callable[[Exposure], Any], returns: str, unit: str, meaning: str) -> Fact:
    """A fact of a person and a hazard, out of the worst exposure of the person while a source returns, or a fault is on
    a circuit beside the line."""

    @fact(name, "person", "hazard", returns=returns, unit=unit, lines=_behind, meaning=meaning)
    def compute(case: PlanTrace, at: int, person: Person, source: Hazard) -> Any:
        return part_of(case.exposure(person, source, at), take)

    return compute


exposure = _of_person(
    "exposure",
    lambda found: found.voltage,
    "voltage",
    "V",
    "worst open-circuit voltage, with offset, within reach should the hazard come about; none if not in place",
)
exposure_time = _of_person(
    "exposure-time",
    lambda found: found.time,
    "time",
    "s",
    "how long the voltage lasts in the worst way of returning; without end where nothing clears the fault",
)
body_needed_50kg = _of_person(
    "body-needed-50kg",
    lambda found: found.needed("dalziel-50kg"),
    "resistance",
    "ohm",
    "least body that keeps the current within 0.116/sqrt(t) (IEEE 80-2000 6.1, 50 kg), or let-go where it has no end",
)
body_needed_70kg = _of_person(
    "body-needed-70kg",
    lambda found: found.needed("dalziel-70kg"),
    "resistance",
    "ohm",
    "the same for persons of 70 kg, 0.157/sqrt(t) (IEEE 80-2000 6.1)",
)
body_needed_osha = _of_person(
    "body-needed-osha",
    lambda found: found.needed("osha-fibrillation"),
    "resistance",
    "ohm",
    "the same for the 0.116/sqrt(t) of 29 CFR 1910.269 Appendix C",
)
body_needed_c1 = _of_person(
    "body-needed-c1",
    lambda found: found.needed("iec-c1"),
    "resistance",
    "ohm",
    "the same for curve c1 of IEC 60479-1 Figure 20",
)
work_area_share = _of_person(
    "work-area-share",
    lambda found: found.needed("doe-voltage"),
    "number",
    "",
    "that voltage over what is allowed for its time: 100 V to 15 cycles, 75 V to 30 (DOE-HDBK-1092-2004 4.15.2(3)c)",
)


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
