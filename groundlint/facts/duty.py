"""Computed facts of leads, rods and devices: what a fault would ask of them while the grounds are on.

A quantity that rests on assumed values comes as `Bounds`. The numeric stage is imported when the first of these is
asked.
"""

from __future__ import annotations

from typing import Any

from groundlint.facts.answers import Lines, where_stated
from groundlint.facts.catalogue import fact
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Lead, Rod, SupplySource
from groundlint.values import Bounds, Unknown

KELVIN = 273.15


def _duty(case: PlanTrace, lead: Lead, source: SupplySource, attribute: str) -> Any:
    found = case.lead_duty(lead, source)
    return found if found is None or isinstance(found, Unknown) else getattr(found, attribute)


def _behind(case: PlanTrace, _at: int, lead: Lead, source: SupplySource) -> Lines:
    """The lead, the source, and the step before which the worst would happen."""
    found = case.lead_duty(lead, source)
    lines: Lines = ((lead.span, f"{lead} declared"), (source.place("three_phase"), f"fault of {source}"))
    if found is None or isinstance(found, Unknown):
        return lines
    step = case.actions[min(found.at, case.n) - 1].span if found.at else case.plan.start
    return (*lines, (step, f"worst after this, {source} returning by {found.way}"))


@fact(
    "fault-current",
    "lead",
    "source",
    returns="current",
    timed=False,
    unit="kA",
    lines=_behind,
    meaning="worst symmetrical rms current in it should the source return; none if never on with both ends",
)
def fault_current(case: PlanTrace, _at: int, lead: Lead, source: SupplySource) -> Any:
    return _duty(case, lead, source, "current")


@fact(
    "duty",
    "lead",
    "source",
    returns="current",
    timed=False,
    unit="kA",
    lines=_behind,
    meaning="that current times the decrement factor for the source's X/R (IEEE 80-2000 Eq 79)",
)
def duty(case: PlanTrace, _at: int, lead: Lead, source: SupplySource) -> Any:
    return _duty(case, lead, source, "duty")


@fact(
    "first-peak",
    "lead",
    "source",
    returns="current",
    timed=False,
    unit="kA",
    lines=_behind,
    meaning="first peak of that current, fully offset for the source's X/R",
)
def first_peak(case: PlanTrace, _at: int, lead: Lead, source: SupplySource) -> Any:
    return _duty(case, lead, source, "peak")


@fact(
    "heat",
    "lead",
    "source",
    returns="heat",
    timed=False,
    lines=_behind,
    meaning="that current squared times the clearing time, with the decrement factor",
)
def heat(case: PlanTrace, _at: int, lead: Lead, source: SupplySource) -> Any:
    return _duty(case, lead, source, "i2t")


@fact(
    "duty-time",
    "lead",
    "source",
    returns="time",
    timed=False,
    unit="s",
    lines=_behind,
    meaning="how long that current would flow; without end where nothing clears the fault",
)
def duty_time(case: PlanTrace, _at: int, lead: Lead, source: SupplySource) -> Any:
    return _duty(case, lead, source, "time")


@fact(
    "rating",
    "lead",
    "source",
    returns="current",
    timed=False,
    unit="kA",
    lines=_behind,
    meaning="what grade and cable are rated for over the clearing time (ASTM F855), 10 % less where ganged",
)
def rating(case: PlanTrace, _at: int, lead: Lead, source: SupplySource) -> Any:
    return _duty(case, lead, source, "rating")


@fact(
    "loading",
    "lead",
    "source",
    returns="number",
    timed=False,
    lines=_behind,
    meaning="its duty over its rating, at the worst step; over 1 it may melt",
)
def loading(case: PlanTrace, _at: int, lead: Lead, source: SupplySource) -> Any:
    return _duty(case, lead, source, "loading")


@fact(
    "final-temperature",
    "lead",
    "source",
    returns="temperature",
    timed=False,
    unit="C",
    lines=_behind,
    meaning="temperature of its cable after the fault, without loss of heat, from 40 C (IEEE 80-2000 Eq 37)",
)
def final_temperature(case: PlanTrace, _at: int, lead: Lead, source: SupplySource) -> Any:
    found = _duty(case, lead, source, "temperature")
    if isinstance(found, Bounds):
        return Bounds(found.low + KELVIN, found.high + KELVIN, found.gaps)
    return found + KELVIN if isinstance(found, float) else found


@fact(
    "area-needed",
    "lead",
    "source",
    returns="area",
    timed=False,
    unit="mm2",
    lines=_behind,
    meaning="area of the smallest standard copper lead that the table rates for the duty",
)
def area_needed(case: PlanTrace, _at: int, lead: Lead, source: SupplySource) -> Any:
    found = _duty(case, lead, source, "enough")
    return found if found is None or isinstance(found, Unknown) else found.area


# ------------------------------------------------------------------ rods
def _rod(case: PlanTrace, rod: Rod, source: SupplySource, attribute: str) -> Any:
    found = case.rod_result(rod, source)
    return found if found is None or isinstance(found, Unknown) else getattr(found, attribute)


@fact(
    "resistance",
    "rod",
    returns="resistance",
    timed=False,
    unit="ohm",
    lines=where_stated("length"),
    meaning="resistance of the rod as it is set, in the soil that is stated (Dwight; two layers by images)",
)
def resistance(case: PlanTrace, _at: int, rod: Rod) -> Any:
    return case.rod_ohms(rod)


@fact(
    "current-to-earth",
    "rod",
    "source",
    returns="current",
    timed=False,
    unit="A",
    lines=where_stated("length"),
    meaning="current of the rod into the earth should the source return, at the worst step; none for a rod never set",
)
def current_to_earth(case: PlanTrace, _at: int, rod: Rod, source: SupplySource) -> Any:
    return _rod(case, rod, source, "current")


@fact(
    "rise",
    "rod",
    "source",
    returns="voltage",
    timed=False,
    unit="V",
    lines=where_stated("length"),
    meaning="voltage of the rod over remote earth should the source return, at the worst step",
)
def rise(case: PlanTrace, _at: int, rod: Rod, source: SupplySource) -> Any:
    return _rod(case, rod, source, "rise")


@fact(
    "distance-to-keep",
    "rod",
    "source",
    returns="length",
    timed=False,
    unit="ft",
    lines=where_stated("length"),
    meaning="distance from the rod past which a step of 1 m on what lies underfoot is within the 50 kg curve",
)
def distance_to_keep(case: PlanTrace, _at: int, rod: Rod, source: SupplySource) -> Any:
    return _rod(case, rod, source, "keep_away")


# ------------------------------------------------------------------ devices
def _clearing(case: PlanTrace, at: int, source: SupplySource, attribute: str) -> Any:
    found = case.clearing(source, at)
    return found if isinstance(found, Unknown) else getattr(found, attribute)


@fact(
    "least-fault",
    "source",
    returns="current",
    unit="kA",
    lines=where_stated("three_phase"),
    meaning="least current that the source would drive, over its ways to return, through what is joined now",
)
def least_fault(case: PlanTrace, at: int, source: SupplySource) -> Any:
    return _clearing(case, at, source, "least")


@fact(
    "fault-share",
    "source",
    returns="number",
    lines=where_stated("three_phase"),
    meaning="that current as a share of the source's bolted fault current of the same kind",
)
def fault_share(case: PlanTrace, at: int, source: SupplySource) -> Any:
    return _clearing(case, at, source, "share")


@fact(
    "pickup-multiple",
    "source",
    returns="number",
    lines=where_stated("relay"),
    meaning="that current in multiples of the pickup of the source's relay",
)
def pickup_multiple(case: PlanTrace, at: int, source: SupplySource) -> Any:
    return _clearing(case, at, source, "multiple")


@fact(
    "clearing-with-grounds",
    "source",
    returns="time",
    unit="s",
    lines=where_stated("relay"),
    meaning="how long the source's fault would last with what is joined now; without end where its device never trips",
)
def clearing_with_grounds(case: PlanTrace, at: int, source: SupplySource) -> Any:
    return _clearing(case, at, source, "time")
