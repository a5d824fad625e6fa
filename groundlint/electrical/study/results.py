"""Results of a study as records: what a lead would carry, what a worker would feel, how far a rod reaches, whether the
fault clears. Each holds bounds over the assumptions, and comes out `Unknown` where the plan does not say enough.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import Final, NamedTuple

import numpy as np

from groundlint.electrical.physics.body import CRITERIA, limit
from groundlint.electrical.physics.constants import FloatArray
from groundlint.electrical.physics.earth import distance_for_step, surface_layer_factor, tolerable_step
from groundlint.electrical.physics.leads import LeadSize, smallest_rated_lead
from groundlint.electrical.physics.protection import relay_times
from groundlint.electrical.physics.sources import Equivalent, fault_currents
from groundlint.electrical.physics.withstand import AMBIENT_C, LEAD_METALS, decrement, final_temperature, peak_factor
from groundlint.electrical.study.extents import Extent
from groundlint.electrical.study.parts import (
    equivalent_of,
    frequency_of,
    protection_of,
    rod_resistance_of,
    size_of,
    soil_of,
)
from groundlint.electrical.study.ratings import clamp_rating, rating_of
from groundlint.electrical.study.study import Study
from groundlint.plan.models import Lead, Person, Plan, PointRef, Rod, SupplySource, Thing
from groundlint.values import Bounds, Gap, Unknown
from groundlint.values.bounds import Measure, ends, gaps_of

LET_GO: Final = CRITERIA["let-go-women"]
"""Held against a current that nothing ends: 6 mA, at which 99 % of women can let go."""


class LeadDuty(NamedTuple):
    """What a returning source asks of a lead, worst over the steps at which it is on.

    Currents in A, `current` symmetrical rms, `duty` with the decrement factor; `i2t` in A2 s, `time` in s, `rating`
    in A for that time, `loading` duty over rating, `temperature` in C after it.
    """

    lead: Lead
    source: SupplySource
    at: int
    way: str
    current: Measure | Unknown
    time: Measure | Unknown
    duty: Measure | Unknown
    peak: Measure | Unknown
    i2t: Measure | Unknown
    rating: Measure | Unknown
    basis: str
    loading: Measure | Unknown
    temperature: Measure | Unknown
    enough: LeadSize | Unknown
    gang: int = 1


class Exposure(NamedTuple):
    """The worst open-circuit voltage, V, between two things that a worker can reach at a step, while a source
    returns, and how long it lasts, s."""

    person: Person
    source: SupplySource
    at: int
    pair: tuple[PointRef, PointRef] | None
    way: str
    voltage: Measure | Unknown
    time: Measure | Unknown


class RodResult(NamedTuple):
    """A rod while a source returns, worst over the steps from which it is in the ground: current A, rise V, and the
    distance in m past which a step of 1 m stays within the 50 kg curve; `resistance` in ohm."""

    rod: Rod
    source: SupplySource
    at: int
    way: str
    resistance: Measure | Unknown
    current: Measure | Unknown
    rise: Measure | Unknown
    time: Measure | Unknown
    keep_away: Measure | Unknown


class Clearing(NamedTuple):
    """How a source's device sees the grounds at a step: least and bolted fault current over the ways it can return,
    A; share of the bolted current; multiple of pickup, `Unknown` where no relay is stated; clearing time, s."""

    source: SupplySource
    at: int
    way: str
    least: Measure | Unknown
    share: Measure | Unknown
    multiple: Measure | Unknown
    time: Measure | Unknown


# ------------------------------------------------------------------ bounds of several
def worst_of(values: Iterable[Measure | Unknown]) -> Measure | Unknown:
    """The largest of several quantities, each known within bounds; one unknown leaves the high end open."""
    low, high = -math.inf, -math.inf
    gaps: dict[Gap, None] = {}
    missing: dict[Gap, None] = {}
    measures: list[Measure] = []
    for value in values:
        if isinstance(value, Unknown):
            missing.update(dict.fromkeys(value.gaps))
            continue
        measures.append(value)
        bottom, top = ends(value)
        low, high = max(low, bottom), max(high, top)
    if not measures:
        return Unknown(tuple(missing)) if missing else 0.0
    if missing:
        return Bounds(low, math.inf, tuple(missing))
    for value in sorted(measures, key=lambda one: -ends(one)[1]):
        if ends(value)[1] > low:
            gaps.update(dict.fromkeys(gaps_of(value)))
    return low if low == high or not gaps else Bounds(low, high, tuple(gaps))


def over(measure: Measure | Unknown, apply: Callable[[float], float]) -> Measure | Unknown:
    """A rising function of a quantity known within bounds."""
    if isinstance(measure, Unknown):
        return measure
    if isinstance(measure, Bounds):
        return Bounds.of(apply(measure.low), apply(measure.high), measure.gaps)
    return apply(measure)


def _span(values: FloatArray, gaps: tuple[Gap, ...]) -> Measure:
    """Bounds over all of an array, with what would narrow them."""
    low, high = float(values.min()), float(values.max())
    return low if low == high or not gaps else Bounds(low, high, gaps)


# ------------------------------------------------------------------ leads
def lead_duty(
    study: Study, lead: Lead, source: SupplySource, within: Sequence[int] | None = None
) -> LeadDuty | Unknown | None:
    """The worst that a source could ask of a lead at any step, or at those `within`; None for a lead that is never on
    with both ends."""
    if study.unsolved is not None:
        return study.unsolved
    if lead not in study.site.leads:
        return None
    telling = _telling(study, lead, source, within)
    found = [one for at in telling if (one := _duty_at(study, lead, source, at)) is not None]
    if not found:
        return None
    worst = max(found, key=lambda one: _rank(one.loading, one.current))
    return worst._replace(
        current=worst_of(one.current for one in found),
        time=worst_of(one.time for one in found),
        duty=worst_of(one.duty for one in found),
        peak=worst_of(one.peak for one in found),
        i2t=worst_of(one.i2t for one in found),
        loading=worst_of(one.loading for one in found),
        temperature=worst_of(one.temperature for one in found),
    )


def _telling(study: Study, lead: Lead, source: SupplySource, within: Sequence[int] | None = None) -> tuple[int, ...]:
    """The steps that decide the worst of a lead: those with its largest current at either bound, for each number of
    leads that share; those at which something of the circuit is not known; every one where the time may differ."""
    names = study.site.leads[lead]
    guard = study.protection(source)
    steady = isinstance(guard, Unknown) or guard.device is None
    best: dict[tuple[object, ...], tuple[float, int]] = {}
    for at in study.epochs if within is None else within:
        state = study.site.state_at[at]
        if all(name in study.site.states[state] for name in names):
            continue
        current = study.lead_currents(lead, source, at)
        gaps = study.site.gaps_at(at)
        if isinstance(current, Unknown) or gaps:
            best.setdefault(("not known", gaps), (0.0, at))
            continue
        if not steady:
            best.setdefault(("state", state), (0.0, at))
            continue
        gang = len(study.gangs(lead, at))
        for end, value in zip(("low", "high"), current.ends.max(axis=1).tolist(), strict=True):
            if value > best.get((end, gang), (-1.0, at))[0]:
                best[end, gang] = (value, at)
    return tuple(sorted({at for _, at in best.values()}))


def _rank(*values: Measure | Unknown) -> tuple[float, ...]:
    return tuple(-1.0 if isinstance(value, Unknown) else ends(value)[0] for value in values)


def _duty_at(study: Study, lead: Lead, source: SupplySource, at: int) -> LeadDuty | None:
    """What a source asks of a lead at a step; None while the lead joins nothing."""
    names = study.site.leads[lead]
    if all(name in study.site.states[study.site.state_at[at]] for name in names):
        return None
    gang = len(study.gangs(lead, at)) or 1
    current = study.lead_currents(lead, source, at)
    if isinstance(current, Unknown):
        return LeadDuty(
            lead, source, at, "", *(current,) * 5, *_rated_at_all(study, lead, source, gang), *(current,) * 3, gang
        )
    way = study.ways(source)[current.way].way
    rms = study.bounds(current.ends.max(axis=1), at, current)
    times = study.times(source, at)
    if isinstance(times, Unknown):
        return LeadDuty(lead, source, at, way, rms, times, times, times, times, times, "", times, times, times, gang)
    equivalent = study.site.sources[source]
    ratio = equivalent.x_over_r
    steady = np.isinf(times)
    plain = not (lead.grade or "").upper().endswith("H")
    # a longer time has the smaller factor
    factor = np.where(steady | (not plain), 1.0, decrement(np.where(steady, 1.0, times), ratio, study.site.frequency))
    effective = current.ends * factor[::-1]
    duty = study.bounds(effective.max(axis=1), at, current)
    peak = study.bounds(current.ends.max(axis=1) * float(peak_factor(ratio)), at, current)
    i2t = study.bounds((effective**2 * times).max(axis=1), at, current) if not steady.any() else _endless(source)
    time = _time(study, source, at)
    rating, basis, loading = _loading(study, lead, source, at, current, effective, times, gang)
    longest = float(times.max())
    temperature: Measure | Unknown
    size = size_of(lead)
    enough: LeadSize | Unknown
    if isinstance(size, Unknown) or not math.isfinite(longest):
        temperature = size if isinstance(size, Unknown) else _endless(source)
        enough = temperature
    else:
        metal = LEAD_METALS.get(size.metal)
        if metal is None:
            temperature = Unknown.of(f"the metal of lead {lead}", f"lead {lead} 2/0 copper", lead.span)
        else:
            hot, _ = final_temperature(effective, times, size.area, metal, AMBIENT_C)
            temperature = study.bounds(np.asarray(hot).max(axis=1), at, current)
        enough = smallest_rated_lead(float(effective.max()), longest)
    return LeadDuty(
        lead, source, at, way, rms, time, duty, peak, i2t, rating, basis, loading, temperature, enough, gang
    )


def _rated_at_all(study: Study, lead: Lead, source: SupplySource, gang: int) -> tuple[Measure | Unknown, str]:
    """The rating of a lead of which the duty is not known."""
    guard = study.protection(source)
    if isinstance(guard, Unknown):
        return guard, ""
    if guard.fixed is None:
        return Unknown.of(f"the clearing time of source {source}", "clears in 24 cycles", source.span), ""
    return rating_of(lead, guard.fixed, source.x_over_r or 0.0, gang)


def _endless(source: SupplySource) -> Unknown:
    return Unknown.of(f"a time in which faults from source {source} clear", where=source.span)


def _loading(
    study: Study,
    lead: Lead,
    source: SupplySource,
    at: int,
    current: Extent,
    effective: FloatArray,
    times: FloatArray,
    gang: int,
) -> tuple[Measure | Unknown, str, Measure | Unknown]:
    """Rating, what it is by, and duty over rating, worst over the ways in which the source can return."""
    ratio = study.site.sources[source].x_over_r
    low, high = np.zeros_like(times), np.zeros_like(times)
    basis = ""
    gaps: tuple[Gap, ...] = ()
    for time in np.unique(times).tolist():
        rating, words = rating_of(lead, float(time), ratio, gang)
        if isinstance(rating, Unknown):
            return rating, words, rating
        gaps, basis = (*gaps, *gaps_of(rating)), words
        bottom, top = ends(rating)
        here = times == time
        low[here], high[here] = bottom, top
    # the longer time has the lower rating
    with np.errstate(divide="ignore"):
        share = np.array([effective[0] / high[0], np.where(low[1] > 0, effective[1] / low[1], math.inf)])
    loading = study.bounds(share.max(axis=1), at, current)
    if gaps and isinstance(loading, Bounds):
        loading = Bounds(loading.low, loading.high, tuple(dict.fromkeys((*gaps, *loading.gaps))))
    if bool((low == high).all()):
        return _span(low, gaps_of(_time(study, source, at))), basis, loading
    return Bounds(float(low.min()), float(high.max()), gaps), basis, loading


def clamp_loading(study: Study, lead: Lead, source: SupplySource) -> Measure | Unknown | None:
    """What a returning source asks of a lead's clamps over what their grade is rated for, at the worst step; None for
    a lead that is never on with both ends."""
    if study.unsolved is not None:
        return study.unsolved
    if lead not in study.site.leads:
        return None
    ratio = source.x_over_r or 0.0 if source not in study.site.sources else study.site.sources[source].x_over_r
    found = [one for at in _telling(study, lead, source) if (one := _duty_at(study, lead, source, at)) is not None]
    return worst_of(_clamp_share(study, lead, one, ratio) for one in found) if found else None


def _clamp_share(study: Study, lead: Lead, one: LeadDuty, ratio: float) -> Measure | Unknown:
    """Loading of a lead's clamps at a step: lowest and highest duty over highest and lowest rating."""
    for value in (one.current, one.time):
        if isinstance(value, Unknown):
            return value
    assert not isinstance(one.current, Unknown)
    assert not isinstance(one.time, Unknown)
    (least, most), times = ends(one.current), ends(one.time)
    plain = not (lead.clamps_grade or "").upper().endswith("H")
    factors = [
        float(decrement(time, ratio, study.site.frequency)) if plain and math.isfinite(time) else 1.0 for time in times
    ]
    shortest, longest = (clamp_rating(lead, time, ratio, one.gang) for time in times)
    if isinstance(shortest, Unknown) or isinstance(longest, Unknown):
        return shortest if isinstance(shortest, Unknown) else longest
    rated = (*ends(shortest), *ends(longest))
    low, high = least * min(factors) / max(rated), most * max(factors) / min(rated)
    gaps = gaps_of(one.current, one.time, shortest, longest)
    return high if low == high or not gaps else Bounds(low, high, gaps)


# ------------------------------------------------------------------ people
def exposure(study: Study, person: Person, source: SupplySource, at: int) -> Exposure | None:
    """The worst voltage across a worker at a step while a source returns; None while the worker is not in place."""
    stand = study.timeline.stand(at, person)
    if stand is None:
        return None
    key = (person, source, stand, study.site.state_at[at], study.site.gaps_at(at))
    kept = study.exposures.get(key)
    if kept is None:
        kept = study.exposures[key] = _exposure(study, person, source, at)
    return kept if kept.at == at else kept._replace(at=at)


def _exposure(study: Study, person: Person, source: SupplySource, at: int) -> Exposure:
    found = study.voltage(person, source, at)
    time = _time(study, source, at)
    if isinstance(found, Unknown):
        return Exposure(person, source, at, None, "", found, time)
    extent, pair = found
    way = study.ways(source)[extent.way].way if pair is not None else ""
    voltage = study.bounds(extent.ends.max(axis=1), at, extent) if pair is not None else 0.0
    return Exposure(person, source, at, pair, way, voltage, time)


def _time(study: Study, source: SupplySource, at: int) -> Measure | Unknown:
    times = study.times(source, at)
    if isinstance(times, Unknown):
        return times
    gap = Gap(f"the clearing time of source {source}", where=source.span)
    if not times.size:  # no way to return is solved at this step
        known = source.clearing is not None or source.clearing_cycles is not None or source.never_clears
        return Unknown((Gap(f"how source {source} can feed a fault here", where=source.span),) if known else (gap,))
    return _span(times, (gap,))


def body_limit(criterion: str, time: Measure | Unknown) -> Measure | Unknown:
    """Limit of a criterion (A, or V for a voltage criterion) for a time in s known within bounds.

    A shock that nothing ends is held against let-go. Past the longest time of the criterion the limit lies between
    let-go and that at the longest time; short of the shortest it is that at the shortest.
    """
    if isinstance(time, Unknown):
        return time
    shortest, longest = ends(time)
    at_most, at_least = _limit(criterion, shortest), _limit(criterion, longest)
    if isinstance(at_most, Unknown) or isinstance(at_least, Unknown):
        return at_most if isinstance(at_most, Unknown) else at_least
    low, high = ends(at_least)[0], ends(at_most)[1]
    gaps = gaps_of(time, at_most, at_least)
    return low if low == high or not gaps else Bounds(low, high, gaps)


def _limit(name: str, time: float) -> Measure | Unknown:
    criterion = CRITERIA[name]
    if criterion.quantity == "voltage":
        if not time <= criterion.longest:
            gap = Gap(f"a clearing time for which {name} gives a limit")
            return Bounds(0.0, criterion.points[-1][1], (gap,))
        return limit(criterion, time)
    if math.isinf(time):
        return limit(LET_GO, time)
    if time > criterion.longest:
        gap = Gap(f"a clearing time for which {name} gives a limit")
        longest, least = limit(criterion, criterion.longest), limit(LET_GO, math.inf)
        assert isinstance(longest, float)
        assert isinstance(least, float)
        return Bounds(least, longest, (gap,))
    return limit(criterion, max(time, criterion.shortest))


def induced_current(study: Study, person: Person, cause: Thing, at: int) -> Measure | Unknown | None:
    """Steady current through a worker by induction from a circuit beside the line, A, across the worst of what is in
    reach; None while the worker is not in place."""
    if study.timeline.stand(at, person) is None:
        return None
    found = study.induced_currents(person, cause, at)
    if isinstance(found, Unknown):
        return found
    if not found:
        return study.bounds(np.zeros(2), at)
    both = np.max([one.ends[:, 0] for one in found], axis=0)
    return study.bounds(both, at, max(found, key=lambda one: float(one.ends[1, 0])))


# ------------------------------------------------------------------ electrodes
def rod_result(
    study: Study, rod: Rod, source: SupplySource, within: Sequence[int] | None = None
) -> RodResult | Unknown | None:
    """A rod while a source returns, worst over the steps, or over those `within`; None for a rod that is never set."""
    if study.unsolved is not None:
        return study.unsolved
    if rod not in study.site.rods:
        return None
    rows: list[tuple[int, str, Measure | Unknown, Measure | Unknown]] = []
    missing: Unknown | None = None
    for at in study.epochs if within is None else within:
        if study.timeline.rod_set(at, rod) is None:
            continue
        rises, currents = study.rod_rises(rod, source, at), study.rod_currents(rod, source, at)
        if isinstance(rises, Unknown) or isinstance(currents, Unknown):
            missing = next(value for value in (rises, currents) if isinstance(value, Unknown))
            continue
        way = study.ways(source)[rises.way].way
        current, rise = (study.bounds(one.ends.max(axis=1), at, one) for one in (currents, rises))
        rows.append((at, way, current, rise))
    resistance = rod_ohms(study, rod)
    if not rows:
        gone = missing or Unknown.of(
            f"where rod {rod} is set", f"set {rod} at 212, 16 ft from the pole, 6 ft deep", rod.span
        )
        return RodResult(rod, source, study.timeline.n, "", resistance, gone, gone, gone, gone)
    at, way, _, _ = max(rows, key=lambda row: _rank(row[3]))
    time = _time(study, source, at)
    rise = worst_of([row[3] for row in rows] + ([missing] if missing is not None else []))
    return RodResult(
        rod,
        source,
        at,
        way,
        resistance,
        worst_of([row[2] for row in rows]),
        rise,
        time,
        _keep_away(study, rod, rise, time),
    )


def rod_ohms(study: Study, rod: Rod) -> Measure | Unknown:
    """Resistance of a rod in ohm, as set."""
    return rod_resistance_of(rod, study.timeline.rod_last_set(rod), soil_of(study.timeline.plan))


def _keep_away(study: Study, rod: Rod, rise: Measure | Unknown, time: Measure | Unknown) -> Measure | Unknown:
    """Distance in m from a rod past which a step of 1 m is within the 50 kg curve, on what lies underfoot."""
    if isinstance(rise, Unknown) or isinstance(time, Unknown):
        return rise if isinstance(rise, Unknown) else time
    soil = soil_of(study.timeline.plan)
    found = study.timeline.rod_last_set(rod)
    if isinstance(soil, Unknown):
        return soil
    depth, diameter = (found.depth if found is not None else None), rod.diameter
    if depth is None or diameter is None:
        return Unknown.of(f"the depth of rod {rod}", f"set {rod} at 212, 16 ft from the pole, 6 ft deep", rod.span)
    allowed = body_limit("dalziel-50kg", time)
    if isinstance(allowed, Unknown):
        return allowed
    least, most = ends(allowed)
    bottom, top = ends(rise)
    ground, factor = _underfoot(study, soil.upper)
    near, far = (
        float(distance_for_step(volts, float(tolerable_step(amps, ground, factor)), depth, diameter))
        if math.isfinite(volts)
        else math.inf
        for volts, amps in ((bottom, most), (top, least))
    )
    gaps = gaps_of(rise, time, allowed)
    return far if near == far or not gaps else Bounds(near, far, gaps)


def _underfoot(study: Study, resistivity: float) -> tuple[float, float]:
    """Resistivity under the feet and the factor Cs of IEEE 80-2000 Eq 27; bare soil where no layer of a stated
    thickness lies on it."""
    layer = study.timeline.plan.surface
    if layer is None or layer[1] is None or layer[0] <= resistivity:
        return resistivity, 1.0
    return layer[0], float(surface_layer_factor(resistivity, layer[0], layer[1]))


# ------------------------------------------------------------------ clearing
def clearing(study: Study, source: SupplySource, at: int) -> Clearing | Unknown:
    """How a source's device sees the line at a step: the way of returning that gives it the least current."""
    currents = study.fault_currents(source, at)
    if isinstance(currents, Unknown):
        return currents
    equivalent = study.site.sources[source]
    bolted = np.array([bolted_current(equivalent, sum(one.poles)) for one in study.ways(source)])
    # a way that drives nothing even into a bolted fault (no zero-sequence path) is no fault
    counts = bolted > 0
    shares = np.where(counts, currents.ends / np.where(counts, bolted, 1.0), np.inf)
    least_way = int(shares[0].argmin())
    share = study.bounds(shares.min(axis=1), at, currents)
    least = study.bounds(np.where(counts, currents.ends, np.inf).min(axis=1), at, currents)
    way = study.ways(source)[least_way].way
    guard = study.protection(source)
    multiple: Measure | Unknown
    if isinstance(guard, Unknown):
        multiple = guard
    elif guard.device is None:
        multiple = Unknown.of(
            f"pickup of the relay of source {source}",
            "relay iec-very-inverse pickup 300 A dial 0.2 breaker 5 cycles",
            source.span,
        )
    else:
        pickup = guard.device.pickup
        multiple = over(least, lambda amps: amps / pickup)
    return Clearing(source, at, way, least, share, multiple, _time(study, source, at))


def quickest_clearing(plan: Plan, source: SupplySource) -> float | Unknown | None:
    """Least time in s that a source's breaker needs, with that of its relay at the largest bolted fault current where
    it is stated; None where neither is."""
    hertz = frequency_of(plan)
    breaker = source.breaker
    if breaker is None and source.breaker_cycles is not None:
        if isinstance(hertz, Unknown):
            return hertz
        breaker = source.breaker_cycles / hertz
    if breaker is None:
        return None
    guard, equivalent = protection_of(plan, source), equivalent_of(plan, source)
    if isinstance(guard, Unknown) or guard.device is None or isinstance(equivalent, Unknown):
        return breaker
    device, found = guard.device, fault_currents(equivalent)
    if isinstance(found, Unknown) or device.curve is None or device.dial is None:
        return breaker
    most = max(one for one in found if not isinstance(one, Unknown))
    time, _ = relay_times(device.curve, device.dial, most / device.pickup)
    return breaker + float(time)


def bolted_current(equivalent: Equivalent, poles: int) -> float:
    """Current in A of a fault without impedance at a source's terminals: of three phases, two, or one to ground."""
    found = fault_currents(equivalent)
    if isinstance(found, Unknown):
        return math.inf
    to_ground = found.to_ground if isinstance(found.to_ground, float) else 0.0
    return {3: found.three_phase, 2: found.phase_to_phase, 1: to_ground}[poles]
