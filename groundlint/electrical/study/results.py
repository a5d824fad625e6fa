"""Results of a study as records: what a lead would carry, what a worker would feel, how far a rod reaches, whether the
fault clears. Each holds bounds over the assumptions, and comes out `Unknown` where the plan does not say enough.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import Final, NamedTuple

import numpy as np

from groundlint.electrical.physics.body import CRITERIA, Criterion, limit
from groundlint.electrical.physics.constants import FloatArray
from groundlint.electrical.physics.earth import distance_for_step, surface_layer_factor, tolerable_step
from groundlint.electrical.physics.f855 import TABLE_1
from groundlint.electrical.physics.leads import SMALLEST_LEAD, LeadSize, smallest_rated_lead
from groundlint.electrical.physics.protection import relay_times
from groundlint.electrical.physics.sources import bolted_current, fault_currents
from groundlint.electrical.physics.withstand import AMBIENT_C, LEAD_METALS, decrement, final_temperature, peak_factor
from groundlint.electrical.study.following import SAME, Extent
from groundlint.electrical.study.parts import (
    equivalent_of,
    frequency_of,
    protection_of,
    rod_in_layers,
    rod_resistance_of,
    size_of,
    soil_of,
    time_beside,
)
from groundlint.electrical.study.ratings import clamp_rating, rating_of
from groundlint.electrical.study.study import Study
from groundlint.plan.models import Lead, ParallelCircuit, Person, Plan, PointRef, Rod, SupplySource, Switch, Thing
from groundlint.values import Bounds, Gap, Unknown
from groundlint.values.bounds import Measure, compared, ends, gaps_of
from groundlint.world.records import RodSet

ALIKE: Final = 1e-6
"""Share within which computed values are alike: the last digits differ from machine to machine."""
NEAR: Final = 0.1
"""Share within which ratings are near enough that one stands beside the duty of both: a relay's time goes with the
current, and so differs a little from way to way."""
LET_GO: Final = CRITERIA["let-go-women"]
"""Held against a current that nothing ends: 6 mA, at which 99 % of women can let go."""


class LeadDuty(NamedTuple):
    """What a returning source asks of a lead, worst over the steps at which it is on.

    `current`, symmetrical rms, `peak`, `i2t` in A2 s and `temperature` in C after it are the largest of all ways in
    which the source can return. So is `loading`, duty over rating, at each end, each way with its own time; `time`, in
    s, is that of the way that may load it most. `duty`, with the decrement factor, and `rating`, in A, go together:
    they are of the way and the step with the largest duty, or, where one is or may be more than is rated, with that.
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
    most: str = ""
    """The way that may load it most."""
    heated: Measure | Unknown = 0.0
    """How long it carries more than it may for good, s, in whichever way; 0 where it never does."""

    @property
    def apart(self) -> str:
        """The way that may load it most, where that is another than those to which the duty and the rating belong: a
        smaller current that lasts longer. Else empty."""
        if isinstance(self.duty, Unknown) or isinstance(self.rating, Unknown) or isinstance(self.loading, Unknown):
            return ""
        beside = ends(self.duty)[1] / ends(self.rating)[0] if ends(self.rating)[0] > 0 else math.inf
        return self.most if ends(self.loading)[1] > (1 + NEAR) * beside else ""


class Exposure(NamedTuple):
    """The worst open-circuit voltage, V, with the decrement factor, between two things that a worker can reach at a
    step, while a source returns or a fault is on a circuit beside the line; and by the way in which that and the time
    together are worst, how long it lasts, s."""

    person: Person
    source: SupplySource | ParallelCircuit
    at: int
    pair: tuple[PointRef, PointRef] | None
    way: str
    voltage: Measure | Unknown
    time: Measure | Unknown
    needed: Callable[[str], Measure | Unknown]
    """By a criterion for a current, the least resistance of a body in ohm with which every way of returning stays
    within it; by one for a voltage, that over its limit."""


class RodResult(NamedTuple):
    """A rod while a source returns, worst over the steps from which it is in the ground: symmetrical current A, rise V
    with the decrement factor, and the distance in m past which a step of 1 m stays within the 50 kg curve; `resistance`
    in ohm."""

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


# ------------------------------------------------------------------ leads
def lead_duty(study: Study, lead: Lead, source: SupplySource) -> LeadDuty | Unknown | None:
    """The worst that a source could ask of a lead at any of the study's positions; None for a lead that is never on
    with both ends."""
    if study.unsolved is not None:
        return study.unsolved
    if lead not in study.site.leads:
        return None
    telling = _telling(study, lead, source)
    found = [one for at in telling if (one := _duty_at(study, lead, source, at)) is not None]
    if not found:
        return None
    worst = max(found, key=_gravest)
    beside = [one for one in found if not _over(worst) or one is worst or isinstance(one.duty, Unknown)]
    return worst._replace(
        current=worst_of(one.current for one in found),
        time=worst_of(one.time for one in found),
        duty=worst_of(one.duty for one in beside),
        peak=worst_of(one.peak for one in found),
        i2t=worst_of(one.i2t for one in found),
        loading=worst_of(one.loading for one in found),
        temperature=worst_of(one.temperature for one in found),
        enough=_largest([one.enough for one in found]),
        most=max(found, key=_loaded).most,
        heated=worst_of(one.heated for one in found),
    )


def _over(duty: LeadDuty) -> int:
    """2 for a lead that is surely over its rating, 1 for one that may be."""
    return 0 if isinstance(duty.loading, Unknown) else sum(end > 1 for end in ends(duty.loading))


def _loaded(duty: LeadDuty) -> float:
    """The most that a lead may be loaded."""
    return -1.0 if isinstance(duty.loading, Unknown) else compared(ends(duty.loading)[1])


def _gravest(duty: LeadDuty) -> tuple[float, ...]:
    """What to compare what is asked of a lead at several steps by."""
    loading, over = duty.loading, _over(duty)
    if isinstance(loading, Unknown):
        return 0, *_rank(loading, duty.current)
    asked = duty.duty if not over else loading
    most = -1.0 if isinstance(asked, Unknown) else compared(ends(asked)[over < 2])
    return over, most, *_rank(loading, duty.current)


def _telling(study: Study, lead: Lead, source: SupplySource) -> tuple[int, ...]:
    """The steps that decide the worst of a lead: those with its largest current at either bound, for each number of
    leads that share; those at which something of the circuit is not known; every one where the time may differ."""
    names = study.site.leads[lead]
    guard = study.protection(source)
    fixed = math.inf if isinstance(guard, Unknown) else guard.fixed
    best: dict[tuple[object, ...], tuple[float, int]] = {}
    for at in study.epochs:
        state = study.site.state_at[at]
        if all(name in study.site.states[state] for name in names):
            continue
        current = study.lead_currents(lead, source, at)
        gaps = study.site.gaps_at(at)
        if isinstance(current, Unknown) or gaps:
            best.setdefault(("not known", gaps), (0.0, at))
            continue
        times = study.times(source, at) if fixed is not None else None
        if times is None or (isinstance(times, np.ndarray) and (times != fixed).any()):
            best.setdefault(("state", state), (0.0, at))
            continue
        gang = len(study.gangs(lead, at))
        for end, value in zip(("low", "high"), current.ends.max(axis=1).tolist(), strict=True):
            if value > (1 + ALIKE) * best.get((end, gang), (-1.0, at))[0]:
                best[end, gang] = (value, at)
    return tuple(sorted({at for _, at in best.values()}))


def _rank(*values: Measure | Unknown) -> tuple[float, ...]:
    """What to compare the worst by."""
    return tuple(-1.0 if isinstance(value, Unknown) else compared(ends(value)[0]) for value in values)


def _most(values: FloatArray) -> int:
    """Where the greatest value stands; of some that are alike the first."""
    return int((values >= (1 - ALIKE) * values.max()).argmax())


def _duty_at(study: Study, lead: Lead, source: SupplySource, at: int) -> LeadDuty | None:
    """What a source asks of a lead at a step; None while the lead joins nothing."""
    names = study.site.leads[lead]
    if all(name in study.site.states[study.site.state_at[at]] for name in names):
        return None
    gang = len(study.gangs(lead, at)) or 1
    current = study.lead_currents(lead, source, at)
    if isinstance(current, Unknown):
        return LeadDuty(
            lead,
            source,
            at,
            "",
            *(current,) * 5,
            *_rated_at_all(study, lead, source, gang),
            *(current,) * 3,
            gang,
            heated=current,
        )
    way = study.ways(source, at)[current.way].way
    rms = study.bounds(current.ends.max(axis=1), at, current)
    times = study.times(source, at)
    if isinstance(times, Unknown):
        return LeadDuty(lead, source, at, way, rms, *(times,) * 5, "", *(times,) * 3, gang, heated=times)
    ratio = study.ratios(source, at)
    plain = not (lead.grade or "").upper().endswith("H")
    # a longer time has the smaller factor
    effective = current.ends * (offset(study, source, at, times)[::-1] if plain else 1.0)
    moving = study.moving(source, at)
    peak = study.bounds((current.ends * peak_factor(ratio)).max(axis=1), at, current)
    found = _loading(study, lead, source, at, current, effective, times, gang)
    duty = study.bounds(effective[:, found.beside].max(axis=1), at, current, *moving)
    # a way in which nothing clears the fault heats a lead no further once it carries what it may carry for good
    lasting = rating_of(lead, math.inf, float(ratio.max()), gang)[0]
    least, most = (0.0, math.inf) if isinstance(lasting, Unknown) else ends(lasting)
    steady = current.ends[1] <= least
    heated = np.array([np.where(current.ends[0] > most, times[0], 0.0).max(), np.where(steady, 0.0, times[1]).max()])
    heats = np.where(np.isinf(times) & steady, 0.0, times)
    temperature: Measure | Unknown
    size = size_of(lead)
    enough: LeadSize | Unknown
    i2t: Measure | Unknown
    if isinstance(size, Unknown) or not np.isfinite(heats).all():
        i2t = temperature = enough = size if isinstance(size, Unknown) else _endless(source)
    else:
        i2t = study.bounds((effective**2 * heats).max(axis=1), at, current, *moving)
        metal = LEAD_METALS.get(size.metal)
        if metal is None:
            temperature = Unknown.of(f"the metal of lead {lead}", f"lead {lead} 2/0 copper", lead.span)
        else:
            hot, _ = final_temperature(effective, heats, size.area, metal, AMBIENT_C)
            temperature = study.bounds(np.asarray(hot).max(axis=1), at, current, *moving)
        enough = _enough(effective[1], heats[1])
    return LeadDuty(
        lead,
        source,
        at,
        study.ways(source, at)[found.way].way,
        rms,
        study.lasting(times[:, found.most], source, at),
        duty,
        peak,
        i2t,
        found.rating,
        found.basis,
        found.loading,
        temperature,
        enough,
        gang,
        study.ways(source, at)[found.most].way,
        _heated(study.bounds(heated, at, current, *moving), lasting),
    )


def _heated(found: Measure | Unknown, lasting: Measure | Unknown) -> Measure | Unknown:
    """A time between bounds waits for what a lead may carry for good as well, where that is not known."""
    if isinstance(found, Bounds) and isinstance(lasting, Unknown):
        return Bounds(found.low, found.high, tuple(dict.fromkeys(found.gaps + lasting.gaps)))
    return found


def _enough(effective: FloatArray, times: FloatArray) -> LeadSize | Unknown:
    """The smallest lead that is rated for each current, A, over its time, s, or that may be one at all."""
    rows = zip(effective.tolist(), times.tolist(), strict=True)
    return _largest([SMALLEST_LEAD, *(smallest_rated_lead(amps, time) for amps, time in rows if time)])


def _largest(sizes: Sequence[LeadSize | Unknown]) -> LeadSize | Unknown:
    """The largest of several leads; unknown where one is."""
    known = [one for one in sizes if isinstance(one, LeadSize)]
    return max(known, key=lambda one: one.area) if len(known) == len(sizes) else Unknown(gaps_of(*sizes))


def offset(study: Study, source: SupplySource, at: int, times: FloatArray) -> FloatArray:
    """Decrement factor of a fully offset current for each time in s [end, way], by the X/R of the sources that drive
    (IEEE 80-2013 15.10); 1 for a current that nothing ends."""
    ratio = study.ratios(source, at)
    endless = np.isinf(times)
    factor = decrement(np.where(endless, 1.0, times), ratio, study.site.frequency)
    return np.asarray(np.where(endless, 1.0, factor))


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


class _Loading(NamedTuple):
    """Rating in A and what it is by, of one of the ways in which a source can return; duty over rating, worst over all
    of those; that way, the one in which it may be most, and those beside which the rating stands."""

    rating: Measure | Unknown
    basis: str
    loading: Measure | Unknown
    way: int
    most: int
    beside: FloatArray


def _loading(
    study: Study,
    lead: Lead,
    source: SupplySource,
    at: int,
    current: Extent,
    effective: FloatArray,
    times: FloatArray,
    gang: int,
) -> _Loading:
    """Rating, what it is by, and duty over rating, worst over the ways in which the source can return."""
    ratio = float(study.ratios(source, at).max())
    found = _share(effective, times, lambda time: rating_of(lead, time, ratio, gang)[0])
    basis = rating_of(lead, float(times.max()), ratio, gang)[1]
    if isinstance(found, Unknown):
        return _Loading(found, basis, found, current.way, current.way, np.isfinite(effective[1]))
    share, rated, gaps = found
    by_clamps = np.zeros(share.shape[1], dtype=bool)
    if lead.clamps_grade is not None:  # the lowest part rules, ASTM F855 1.6 note 1
        clamps = _of_clamps(study, lead, source, at, current, times, gang)
        if isinstance(clamps, Unknown):
            return _Loading(clamps, basis, clamps, current.way, current.way, np.isfinite(effective[1]))
        by_clamps = clamps[0][1] > share[1]
        share, rated = np.maximum(share, clamps[0]), np.where(by_clamps, clamps[1], rated)
        gaps = (*gaps, *clamps[2])
    most = _most(share[1])
    over = int((share.max(axis=1) > 1).sum())
    way = _most((effective[1], share[1], share[0])[over])
    basis = rating_of(lead, float(times[1, way]), ratio, gang)[1]
    if by_clamps[way]:
        basis = f"its clamps, grade {lead.clamps_grade}, {TABLE_1.source}"
    moving = study.moving(source, at) if times[0, most] != times[1, most] else ()
    loading = study.bounds(share.max(axis=1), at, current, *moving)
    if gaps and isinstance(loading, Bounds):
        loading = Bounds(loading.low, loading.high, tuple(dict.fromkeys((*gaps, *loading.gaps))))
    low, high = rated[:, way].tolist()
    narrow = gaps or study.narrowing(*moving)
    beside = np.abs(rated - rated[:, [way]]).max(axis=0) <= (NEAR * high if over else math.inf)
    return _Loading(low if low == high else Bounds(low, high, narrow), basis, loading, way, most, beside)


def _share(
    effective: FloatArray, times: FloatArray, rate: Callable[[float], Measure | Unknown]
) -> tuple[FloatArray, FloatArray, tuple[Gap, ...]] | Unknown:
    """Duty over rating by way, and the rating, least and largest [end, way], with what would narrow the rating."""
    low, high = np.zeros_like(times), np.zeros_like(times)
    gaps: tuple[Gap, ...] = ()
    for time in np.unique(times).tolist():
        rating = rate(float(time))
        if isinstance(rating, Unknown):
            return rating
        gaps = (*gaps, *gaps_of(rating))
        here = times == time
        low[here], high[here] = ends(rating)
    # the longer time has the lower rating
    with np.errstate(divide="ignore"):
        share = np.array([effective[0] / high[0], np.where(low[1] > 0, effective[1] / low[1], math.inf)])
    return share, np.array([low[1], high[0]]), gaps


def clamp_loading(study: Study, lead: Lead, source: SupplySource) -> Measure | Unknown | None:
    """What a returning source asks of a lead's clamps over what their grade is rated for, at the worst step; None for
    a lead that is never on with both ends."""
    if study.unsolved is not None:
        return study.unsolved
    if lead not in study.site.leads:
        return None
    found = []
    for at in _telling(study, lead, source):
        if all(name in study.site.states[study.site.state_at[at]] for name in study.site.leads[lead]):
            continue
        found.append(_clamp_share(study, lead, source, at))
    return worst_of(found) if found else None


def _of_clamps(
    study: Study, lead: Lead, source: SupplySource, at: int, current: Extent, times: FloatArray, gang: int
) -> tuple[FloatArray, FloatArray, tuple[Gap, ...]] | Unknown:
    """What `_share` says of a lead's clamps by themselves."""
    ratio = float(study.ratios(source, at).max())
    plain = not (lead.clamps_grade or "").upper().endswith("H")
    effective = current.ends * (offset(study, source, at, times)[::-1] if plain else 1.0)
    return _share(effective, times, lambda time: clamp_rating(lead, time, ratio, gang))


def _clamp_share(study: Study, lead: Lead, source: SupplySource, at: int) -> Measure | Unknown:
    """Loading of a lead's clamps at a step."""
    current, times = study.lead_currents(lead, source, at), study.times(source, at)
    for value in (current, times):
        if isinstance(value, Unknown):
            return value
    assert isinstance(current, Extent)
    assert not isinstance(times, Unknown)
    found = _of_clamps(study, lead, source, at, current, times, len(study.gangs(lead, at)) or 1)
    if isinstance(found, Unknown):
        return found
    share, _, gaps = found
    loading = study.bounds(share.max(axis=1), at, current, *study.moving(source, at))
    if gaps and isinstance(loading, Bounds):
        return Bounds(loading.low, loading.high, tuple(dict.fromkeys((*gaps, *loading.gaps))))
    return loading


# ------------------------------------------------------------------ people
def exposure(study: Study, person: Person, source: SupplySource | ParallelCircuit, at: int) -> Exposure | None:
    """The worst voltage across a worker at a step while a source returns, or a fault is on a circuit beside the line;
    None while the worker is not in place."""
    stand = study.timeline.stand(at, person)
    if stand is None:
        return None
    key = (person, source, stand, study.site.state_at[at], study.site.gaps_at(at))
    kept = study.exposures.get(key)
    if kept is None:
        if isinstance(source, ParallelCircuit):
            kept = _beside(study, person, source, at)
        else:
            kept = _exposure(study, person, source, at)
        study.exposures[key] = kept
    return kept if kept.at == at else kept._replace(at=at)


def _exposure(study: Study, person: Person, source: SupplySource, at: int) -> Exposure:
    found = study.voltage(person, source, at)
    times = study.times(source, at)
    if isinstance(found, Unknown):
        time = times if isinstance(times, Unknown) else study.lasting(times.max(axis=1), source, at)
        return Exposure(person, source, at, None, "", found, time, lambda _: found)
    extent, pair = found
    if pair is None:
        time = times if isinstance(times, Unknown) else study.lasting(times.max(axis=1), source, at)
        return Exposure(person, source, at, None, "", 0.0, time, lambda _: 0.0)
    volts, gaps = _with_offset(study, source, at, extent.ends, times)
    voltage = study.bounds(volts.max(axis=1), at, extent, *study.moving(source, at))
    if gaps and isinstance(voltage, Bounds):
        voltage = Bounds(voltage.low, voltage.high, tuple(dict.fromkeys((*voltage.gaps, *gaps))))
    if isinstance(times, Unknown):
        way = study.ways(source, at)[extent.way].way
        return Exposure(person, source, at, pair, way, voltage, times, lambda _: times)
    over = _over_limit(study, source, at, extent.ends, times, "dalziel-50kg")[0][1]
    worst = extent.way if over[extent.way] >= (1 - SAME) * over.max() else _most(over)

    def needed(criterion: str) -> Measure | Unknown:
        share, open_ended = _over_limit(study, source, at, extent.ends, times, criterion)
        result = study.bounds(share.max(axis=1), at, extent, *study.moving(source, at))
        if open_ended and isinstance(result, Bounds):
            return Bounds(result.low, result.high, tuple(dict.fromkeys((*open_ended, *result.gaps))))
        return result

    lasts = study.lasting(times[:, worst], source, at)
    return Exposure(person, source, at, pair, study.ways(source, at)[worst].way, voltage, lasts, needed)


def _beside(study: Study, person: Person, circuit: ParallelCircuit, at: int) -> Exposure:
    """What a fault to ground on a circuit beside the line puts across a worker, for as long as that circuit's own
    protection takes. The offset is that of the stated X/R, or anything where none is stated."""
    found, time = study.fault_beside(person, circuit, at), time_beside(study.timeline.plan, circuit)
    if isinstance(found, Unknown):
        return Exposure(person, circuit, at, None, "", found, time, lambda _: found)
    extent, pair = found
    if pair is None:
        return Exposure(person, circuit, at, None, "", 0.0, time, lambda _: 0.0)
    way = "a fault to ground"
    factor, more = np.ones(2), tuple[Gap, ...]()
    if isinstance(time, Unknown):
        factor, more = np.array([1.0, math.sqrt(3.0)]), time.gaps
    elif math.isfinite(time) and circuit.x_over_r is not None:
        factor = np.full(2, float(decrement(time, circuit.x_over_r, study.site.frequency)))
    elif math.isfinite(time):
        more = (Gap(f"X/R of circuit {circuit}", "fault 4 kA to ground, x/r 9", circuit.span),)
        factor = np.array([1.0, math.sqrt(3.0)])

    def judged(volts: FloatArray, gaps: tuple[Gap, ...]) -> Measure | Unknown:
        value = study.bounds(volts, at, extent)
        if gaps and isinstance(value, Bounds):
            return Bounds(value.low, value.high, tuple(dict.fromkeys((*gaps, *value.gaps))))
        return value

    volts = extent.ends[:, 0] * factor
    voltage = judged(volts, more)
    if isinstance(time, Unknown):
        return Exposure(person, circuit, at, pair, way, voltage, time, lambda _: time)

    def needed(criterion: str) -> Measure | Unknown:
        limit = _limit(criterion, time)
        assert not isinstance(limit, Unknown)  # each criterion has a limit for any time
        least, most = ends(limit)
        high = float(volts[1]) / least if least > 0 else math.inf
        return judged(np.array([volts[0] / most, high if volts[1] > 0 else 0.0]), (*more, *gaps_of(limit)))

    return Exposure(person, circuit, at, pair, way, voltage, time, needed)


def _with_offset(
    study: Study, source: SupplySource, at: int, volts: FloatArray, times: FloatArray | Unknown
) -> tuple[FloatArray, tuple[Gap, ...]]:
    """Symmetrical voltages in V [end, way] with the decrement factor of the time that they last; between without
    offset and all of it where that time is not stated, with what is to be stated."""
    if isinstance(times, Unknown):
        return volts * np.array([[1.0], [math.sqrt(3.0)]]), times.gaps
    return volts * offset(study, source, at, times)[::-1], ()


def _over_limit(
    study: Study, source: SupplySource, at: int, volts: FloatArray, times: FloatArray, name: str
) -> tuple[FloatArray, tuple[Gap, ...]]:
    """Symmetrical voltages in V, with the decrement factor, over a criterion's limit for the time that each lasts, by
    way [end, way]: the least resistance of a body, ohm, that keeps the current within it, or for a voltage criterion
    a share. And what would narrow the limit."""
    most, least = np.zeros(times.shape[1]), np.zeros(times.shape[1])
    gaps: tuple[Gap, ...] = ()
    for row, (bounds, end) in enumerate(((most, 1), (least, 0))):
        for time in np.unique(times[row]).tolist():
            found = _limit(name, time)
            assert not isinstance(found, Unknown)  # each criterion has a limit for any time
            gaps = (*gaps, *gaps_of(found))
            bounds[times[row] == time] = ends(found)[end]
    factor = offset(study, source, at, times)
    # by the law of the root, the offset falls slower with time than the limit does
    factor = factor if CRITERIA[name].law == "root" else factor[::-1]
    with np.errstate(divide="ignore", invalid="ignore"):
        share = volts * factor / np.array([most, least])
    return np.where(volts > 0, share, 0.0), gaps


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
            gap = _short_enough(criterion)
            return Bounds(0.0, criterion.points[-1][1], (gap,))
        return limit(criterion, time)
    if math.isinf(time):
        return limit(LET_GO, time)
    if time > criterion.longest:
        gap = _short_enough(criterion)
        longest, least = limit(criterion, criterion.longest), limit(LET_GO, math.inf)
        assert isinstance(longest, float)
        assert isinstance(least, float)
        return Bounds(least, longest, (gap,))
    return limit(criterion, max(time, criterion.shortest))


def _short_enough(criterion: Criterion) -> Gap:
    """What a clearing time past the longest of a criterion needs; it follows from a current within bounds."""
    return Gap(
        f"a clearing time of {criterion.longest:g} s or less, past which {criterion.name} gives no limit", narrows=True
    )


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
    return study.bounds(both, at, max(found, key=lambda one: compared(float(one.ends[1, 0]))))


# ------------------------------------------------------------------ electrodes
def rod_result(study: Study, rod: Rod, source: SupplySource) -> RodResult | Unknown | None:
    """A rod while a source returns, worst over the study's positions; None for a rod that is never set."""
    if study.unsolved is not None:
        return study.unsolved
    if rod not in study.site.rods:
        return None
    steps: dict[RodSet | None, list[int]] = {}
    for at in study.epochs:
        if (place := study.timeline.rod_set(at, rod)) is not None:
            steps.setdefault(place, []).append(at)
    found = [_rod_as_set(study, rod, place, source, within) for place, within in (steps or {None: []}).items()]
    worst = max(found, key=lambda one: math.inf if isinstance(one.rise, Unknown) else ends(one.rise)[1])
    return worst._replace(
        resistance=worst_of(one.resistance for one in found),
        current=worst_of(one.current for one in found),
        rise=worst_of(one.rise for one in found),
        time=worst_of(one.time for one in found),
        keep_away=worst_of(one.keep_away for one in found),
    )


def _rod_as_set(study: Study, rod: Rod, place: RodSet | None, source: SupplySource, within: Sequence[int]) -> RodResult:
    """A rod while a source returns, worst over the steps `within`, at which it is set at one place."""
    rises: list[Measure | Unknown] = []
    currents: list[Measure | Unknown] = []
    shares: list[tuple[FloatArray, int, int, tuple[Extent, ...]]] = []
    missing: list[Unknown] = []
    unknown: list[Unknown] = []
    for at in within:
        rise, current = study.rod_rises(rod, source, at), study.rod_currents(rod, source, at)
        if isinstance(rise, Unknown) or isinstance(current, Unknown):
            missing.append(next(value for value in (rise, current) if isinstance(value, Unknown)))
            continue
        times = study.times(source, at)
        moving = study.moving(source, at)
        volts, gaps = _with_offset(study, source, at, rise.ends, times)
        up = study.bounds(volts.max(axis=1), at, rise, *moving)
        rises.append(Bounds(up.low, up.high, (*up.gaps, *gaps)) if gaps and isinstance(up, Bounds) else up)
        currents.append(study.bounds(current.ends.max(axis=1), at, current))
        if isinstance(times, Unknown):
            unknown.append(times)
            shares.append((volts, at, rise.way, (rise,)))
        elif study.site.gaps_at(at):
            unknown.append(Unknown(study.site.gaps_at(at)))
        else:
            share = _over_limit(study, source, at, rise.ends, times, "dalziel-50kg")[0]
            shares.append((share, at, _most(share[1]), (rise, *moving)))
    resistance = rod_resistance_of(rod, place, soil_of(study.timeline.plan))
    if not rises:
        gone = next(iter(missing), None) or Unknown.of(
            f"where rod {rod} is set", f"set {rod} at 212, 16 ft from the pole, 6 ft deep", rod.span
        )
        return RodResult(rod, source, study.timeline.n, "", resistance, gone, gone, gone, gone)
    if not shares:
        return RodResult(
            rod, source, study.timeline.n, "", resistance, worst_of(currents), worst_of(rises), unknown[0], unknown[0]
        )
    share, at, way, extents = max(shares, key=lambda one: compared(float(one[0][1].max())))
    times = study.times(source, at)
    time = times if isinstance(times, Unknown) else study.lasting(times[:, way], source, at)
    lows, highs = zip(*(one[0].max(axis=1).tolist() for one in shares), strict=True)
    needed: Measure | Unknown
    if missing or unknown:
        needed = (missing or unknown)[0]
    else:
        needed = Bounds.of(max(lows), max(highs), study.narrowing(*extents))
    return RodResult(
        rod,
        source,
        at,
        study.ways(source, at)[way].way,
        resistance,
        worst_of(currents),
        worst_of([*rises, *missing]),
        time,
        _keep_away(study, rod, place, needed),
    )


def rod_ohms(study: Study, rod: Rod) -> Measure | Unknown:
    """Resistance of a rod in ohm, as set; the highest where it is set more than once."""
    soil = soil_of(study.timeline.plan)
    return worst_of(rod_resistance_of(rod, place, soil) for place in study.timeline.rod_settings(rod) or (None,))


def _keep_away(study: Study, rod: Rod, place: RodSet | None, needed: Measure | Unknown) -> Measure | Unknown:
    """Distance in m from a rod past which a step of 1 m is within the 50 kg curve, on what lies underfoot; `needed` is
    the resistance in ohm that would keep the whole rise within it."""
    soil = soil_of(study.timeline.plan)
    for value in (needed, soil):
        if isinstance(value, Unknown):
            return value
    assert not isinstance(needed, Unknown)
    assert not isinstance(soil, Unknown)
    depth, diameter = (place.depth if place is not None else None), rod.diameter
    if depth is None or diameter is None:
        return Unknown.of(f"the depth of rod {rod}", f"set {rod} at 212, 16 ft from the pole, 6 ft deep", rod.span)
    feet = float(tolerable_step(1.0, *_underfoot(study, soil.upper)))
    group = rod_in_layers(soil, depth, diameter) if soil.depth is not None else None
    if isinstance(group, Unknown):
        return group

    def kept(ohms: float) -> float:
        if not math.isfinite(ohms):
            return math.inf
        if group is None:
            return float(distance_for_step(ohms, feet, depth, diameter))
        return group.distance_to_keep(ohms, feet)

    near, far = map(kept, ends(needed))
    return Bounds.of(near, far, gaps_of(needed))


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
    bolted = np.array([bolted_current(equivalent, sum(one.poles)) for one in study.ways(source, at)])
    # a way that drives nothing even into a bolted fault (no zero-sequence path) is no fault
    counts = bolted > 0
    shares = np.where(counts, currents.ends / np.where(counts, bolted, 1.0), np.inf)
    least_way = int((shares[0] <= (1 + ALIKE) * shares[0].min()).argmax())
    share = study.bounds(shares.min(axis=1), at, currents)
    least = study.bounds(np.where(counts, currents.ends, np.inf).min(axis=1), at, currents)
    way = study.ways(source, at)[least_way].way
    guard = study.protection(source)
    times = study.times(source, at)
    time = times if isinstance(times, Unknown) else study.lasting(times.max(axis=1), source, at)
    multiple: Measure | Unknown
    if isinstance(guard, Unknown):
        multiple = guard
    elif guard.never:  # no text: that it never clears is stated, and only another device would change it
        multiple = Unknown.of(f"what clears a fault from source {source}, which is said never to", "", source.span)
    elif guard.device is None:
        multiple = _pickup_gap(study.timeline.plan, source)
    else:
        pickup = guard.device.pickup
        multiple = over(least, lambda amps: amps / pickup)
    return Clearing(source, at, way, least, share, multiple, time)


def _pickup_gap(plan: Plan, source: SupplySource) -> Unknown:
    """That it is not known at what current a source's device clears: of a fuse, where the open point nearest to the
    line is one, from what current on it does so in the time stated."""
    ways = [one for one in plan.of(Switch) if isinstance(one, Switch) and source in one.sources]
    if ways and all(one.sort == "fuse" for one in ways):
        clears = f"{source.clearing_cycles:g} cycles" if source.clearing_cycles else f"{source.clearing or 0.2:g} s"
        what = f"from what current on the fuse of source {source} clears in its time"
        return Unknown.of(what, f"clears in {clears} at 900 A or more", source.place("clears"))
    return Unknown.of(
        f"pickup of the relay of source {source}",
        "relay iec-very-inverse pickup 300 A dial 0.2 breaker 5 cycles",
        source.span,
    )


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
    if isinstance(guard, Unknown) or guard.device is None:
        return guard if isinstance(guard, Unknown) else breaker
    if isinstance(equivalent, Unknown):  # at what current the relay would trip is not known
        return equivalent
    device, found = guard.device, fault_currents(equivalent)
    if isinstance(found, Unknown):
        return found
    most = max(one for one in found if not isinstance(one, Unknown))
    time, _ = relay_times(device.curve, device.dial, most / device.pickup)
    return breaker + float(time)
