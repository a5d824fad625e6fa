"""Computed facts of leads, rods and devices: what a fault would ask of them while the grounds are on.

A quantity that rests on assumed values comes as `Bounds`. The numeric stage is imported when the first of these is
asked.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from groundlint.facts.answers import Lines, part_of, where_stated
from groundlint.facts.catalogue import Fact, fact
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Lead, Rod, SupplySource
from groundlint.values import Unknown
from groundlint.values.bounds import combine
from groundlint.values.units import ZERO_CELSIUS

if TYPE_CHECKING:
    from groundlint.electrical.study.results import Clearing, LeadDuty, RodResult


# ------------------------------------------------------------------ leads
def _behind(case: PlanTrace, _at: int, lead: Lead, source: SupplySource) -> Lines:
    """The lead, the source, and the step before which the worst would happen."""
    found = case.lead_duty(lead, source)
    lines: Lines = ((lead.span, f"{lead} declared"), (source.place("three_phase"), f"fault of {source}"))
    if found is None or isinstance(found, Unknown):
        return lines
    step = case.actions[min(found.at, case.n) - 1].span if found.at else case.plan.start
    return (*lines, (step, f"worst after this, {source} returning by {found.way}"))


def _of_lead(name: str, take: Callable[[LeadDuty], Any], returns: str, unit: str, meaning: str) -> Fact:
    """A fact of a lead and a source, taken out of what the source would ask of the lead, worst over the steps."""

    @fact(name, "lead", "source", returns=returns, timed=False, unit=unit, lines=_behind, meaning=meaning)
    def compute(case: PlanTrace, _at: int, lead: Lead, source: SupplySource) -> Any:
        return part_of(case.lead_duty(lead, source), take)

    return compute


def _kelvin(duty: LeadDuty) -> Any:
    found = duty.temperature
    return found if isinstance(found, Unknown) else combine("+", found, ZERO_CELSIUS)


fault_current = _of_lead(
    "fault-current",
    lambda duty: duty.current,
    "current",
    "kA",
    "worst symmetrical rms current in it should the source return; none if never on with both ends",
)
duty = _of_lead(
    "duty",
    lambda duty: duty.duty,
    "current",
    "kA",
    "that current times the decrement factor for the source's X/R (IEEE 80-2000 Eq 79)",
)
first_peak = _of_lead(
    "first-peak",
    lambda duty: duty.peak,
    "current",
    "kA",
    "first peak of that current, fully offset for the source's X/R",
)
heat = _of_lead(
    "heat",
    lambda duty: duty.i2t,
    "heat",
    "",
    "that current squared times the clearing time, with the decrement factor",
)
duty_time = _of_lead(
    "duty-time",
    lambda duty: duty.heated,
    "time",
    "s",
    "how long more would flow than it may carry for good; without end where nothing clears it, 0 where none would",
)
rating = _of_lead(
    "rating",
    lambda duty: duty.rating,
    "current",
    "kA",
    "what grade and cable are rated for over the clearing time (ASTM F855), 10 % less where ganged",
)
loading = _of_lead(
    "loading",
    lambda duty: duty.loading,
    "number",
    "",
    "its duty over its rating, at the worst step; over 1 it may melt",
)
final_temperature = _of_lead(
    "final-temperature",
    _kelvin,
    "temperature",
    "C",
    "temperature of its cable after the fault, without loss of heat, from 40 C (IEEE 80-2000 Eq 37)",
)
area_needed = _of_lead(
    "area-needed",
    lambda duty: duty.enough if isinstance(duty.enough, Unknown) else duty.enough.area,
    "area",
    "mm2",
    "area of the smallest standard copper lead that the table rates for the duty",
)


# ------------------------------------------------------------------ rods
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


def _of_rod(name: str, take: Callable[[RodResult], Any], returns: str, unit: str, meaning: str) -> Fact:
    """A fact of a rod and a source, taken out of what the source would do to the rod, worst over the steps."""

    @fact(name, "rod", "source", returns=returns, timed=False, unit=unit, lines=where_stated("length"), meaning=meaning)
    def compute(case: PlanTrace, _at: int, rod: Rod, source: SupplySource) -> Any:
        return part_of(case.rod_result(rod, source), take)

    return compute


current_to_earth = _of_rod(
    "current-to-earth",
    lambda result: result.current,
    "current",
    "A",
    "current of the rod into the earth should the source return, at the worst step; none for a rod never set",
)
rise = _of_rod(
    "rise",
    lambda result: result.rise,
    "voltage",
    "V",
    "voltage of the rod over remote earth, with offset, should the source return, at the worst step",
)
distance_to_keep = _of_rod(
    "distance-to-keep",
    lambda result: result.keep_away,
    "length",
    "ft",
    "distance from the rod past which a step of 1 m on what lies underfoot is within the 50 kg curve",
)


# ------------------------------------------------------------------ devices
def _of_source(
    name: str, take: Callable[[Clearing], Any], returns: str, unit: str, rests_on: str, meaning: str
) -> Fact:
    """A fact of a source, taken out of how its device sees what is joined now."""

    @fact(name, "source", returns=returns, unit=unit, lines=where_stated(rests_on), meaning=meaning)
    def compute(case: PlanTrace, at: int, source: SupplySource) -> Any:
        return part_of(case.clearing(source, at), take)

    return compute


least_fault = _of_source(
    "least-fault",
    lambda clearing: clearing.least,
    "current",
    "kA",
    "three_phase",
    "least current that the source would drive, over its ways to return, through what is joined now",
)
fault_share = _of_source(
    "fault-share",
    lambda clearing: clearing.share,
    "number",
    "",
    "three_phase",
    "that current as a share of the source's bolted fault current of the same kind",
)
pickup_multiple = _of_source(
    "pickup-multiple",
    lambda clearing: clearing.multiple,
    "number",
    "",
    "relay",
    "that current in multiples of the pickup of the source's relay",
)
clearing_with_grounds = _of_source(
    "clearing-with-grounds",
    lambda clearing: clearing.time,
    "time",
    "s",
    "relay",
    "how long the source's fault would last with what is joined now; without end where its device never trips",
)
