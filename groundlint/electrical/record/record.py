"""The calculation record of a plan: what is stated, what is assumed, each result with its equation, what is not known.

`calculation_record` gathers it from a `Study`; it computes little itself. `CalculationRecord.figures` gives all results
as one flat list in SI, `CalculationRecord.quantities` the same as pint quantities.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from groundlint.electrical.physics.protection import relay_times
from groundlint.electrical.physics.sources import Equivalent, bolted_current
from groundlint.electrical.record.equations import EQUATIONS, Equation
from groundlint.electrical.record.figures import Device, Figure, Induced, Stretch, all_figures
from groundlint.electrical.record.inputs import Input, inputs_of
from groundlint.electrical.study.assumptions import ASSUMPTIONS, Assumption
from groundlint.electrical.study.parts import Protection
from groundlint.electrical.study.results import (
    Clearing,
    LeadDuty,
    RodResult,
    clearing,
    exposure,
    induced_current,
    lead_duty,
    rod_result,
    worst_of,
)
from groundlint.electrical.study.study import Study, study_of
from groundlint.plan.models import Lead, ParallelCircuit, Person, Plan, Rod, SupplySource, Thing
from groundlint.timeline import Timeline
from groundlint.values import Unknown
from groundlint.values.bounds import Measure, compared, ends, gaps_of

if TYPE_CHECKING:
    import pint


class Returning(NamedTuple):
    """A source as it was computed with: its Thevenin equivalent, and what ends a fault from it."""

    source: SupplySource
    equivalent: Equivalent | Unknown
    protection: Protection | Unknown


class Assumed(NamedTuple):
    """An assumption in use; `measured` is what the plan states in its place, in its unit of SI (C for temperatures)."""

    assumption: Assumption
    measured: float | None = None


@dataclass(frozen=True)
class CalculationRecord:
    """Everything that was computed of a plan, beside what it rests on. SI units; temperatures in C.

    `missing` says why there are no results at all, if there are none.
    """

    plan: Plan
    timeline: Timeline
    inputs: tuple[Input, ...]
    sources: tuple[Returning, ...] = ()
    assumed: tuple[Assumed, ...] = ()
    leads: tuple[LeadDuty, ...] = ()
    rods: tuple[RodResult, ...] = ()
    stretches: tuple[Stretch, ...] = ()
    devices: tuple[Device, ...] = ()
    induced: tuple[Induced, ...] = ()
    beside: tuple[Stretch, ...] = ()
    missing: Unknown | None = None

    @cached_property
    def figures(self) -> tuple[Figure, ...]:
        """All results in one list, in the order of the record."""
        relayed = {
            one.source for one in self.sources if not isinstance(one.protection, Unknown) and one.protection.device
        }
        people = (*self.stretches, *self.beside)
        return tuple(all_figures(self.devices, self.leads, self.rods, people, self.induced, relayed))

    def quantities(self) -> Iterator[tuple[Figure, pint.Quantity[float], pint.Quantity[float]]]:
        """Every figure that is known, with its low and its high end as pint quantities."""
        for figure in self.figures:
            found = figure.quantities()
            if not isinstance(found, Unknown):
                yield figure, *found

    @cached_property
    def equations(self) -> tuple[Equation, ...]:
        """The equations and criteria that the figures are found by, each once, in the order of the table of them."""
        used = {name for figure in self.figures for name in (figure.equation, figure.criterion) if name}
        if any(not isinstance(one.equivalent, Unknown) for one in self.sources):
            used.add("source-equivalent")
        if self.leads:
            used.add("decrement")
        return tuple(row for name, row in EQUATIONS.items() if name in used)

    def worst(self, person: Person, source: SupplySource | ParallelCircuit) -> Stretch | None:
        """The stretch at which a worker is worst off while a source returns, of those that are known; the first of
        several alike. None where none is known."""
        mine = [
            one
            for one in self.stretches
            if one.exposure.person is person
            and one.exposure.source is source
            and not isinstance(one.exposure.voltage, Unknown)
        ]
        return max(mine, key=_gravity, default=None)

    @property
    def decided(self) -> bool:
        """Whether every principal result has a value: loadings of leads, rises of rods, voltages across workers and how
        long they last, induced currents."""
        bounded = (
            *(one.loading for one in self.leads),
            *(one.rise for one in self.rods),
            *(one.exposure.voltage for one in (*self.stretches, *self.beside)),
            *(one.current for one in self.induced),
        )
        others = (
            *(one.exposure.time for one in (*self.stretches, *self.beside)),
            *(one.clearing.time for one in self.devices),
            *(one.equivalent for one in self.sources),
        )
        # a time may have no end; of another quantity that may be without end nothing is known
        open_ended = any(not isinstance(value, Unknown) and math.isinf(ends(value)[1]) for value in bounded)
        return not (
            self.missing is not None or open_ended or any(isinstance(value, Unknown) for value in (*bounded, *others))
        )


def _gravity(stretch: Stretch) -> tuple[float, float]:
    loading = stretch.loading
    volts = stretch.exposure.voltage
    return (
        -1.0 if isinstance(loading, Unknown) else compared(ends(loading)[1]),
        -1.0 if isinstance(volts, Unknown) else compared(ends(volts)[1]),
    )


# ------------------------------------------------------------------ gathering
def calculation_record(
    timeline: Timeline,
    *,
    within: Sequence[int] | None = None,
    sources: Sequence[SupplySource] | None = None,
    things: Sequence[Thing] | None = None,
) -> CalculationRecord:
    """The record of a plan carried out.

    `within` are the positions to take results from, all where not given; `sources` those that return; `things` the
    leads, rods and workers to give results of, all where not given.
    """
    study = study_of(timeline, within)
    missing = study if isinstance(study, Unknown) else study.unsolved
    if missing is not None or isinstance(study, Unknown):
        return CalculationRecord(timeline.plan, timeline, inputs_of(timeline), missing=missing)
    return _Gathering(study, sources, things).record()


class _Gathering:
    def __init__(
        self,
        study: Study,
        sources: Sequence[SupplySource] | None,
        things: Sequence[Thing] | None,
    ) -> None:
        self.study = study
        self.timeline = study.timeline
        self.plan = study.timeline.plan
        self.positions = study.positions
        every = self.plan.of(SupplySource) if sources is None else sources
        self.sources = [one for one in every if isinstance(one, SupplySource)]
        self.things = None if things is None else list(things)

    def wanted(self, thing: Thing) -> bool:
        """Whether results of a thing are asked for."""
        return self.things is None or thing in self.things

    def record(self) -> CalculationRecord:
        study = self.study
        missing = None
        if not self.plan.of(SupplySource):
            write = "source Hobnail utility beyond 211"
            missing = Unknown.of("what could energize the line", write, self.plan.start)
        leads = tuple(
            found
            for source in self.sources
            for lead in self.plan.of(Lead)
            if isinstance(lead, Lead) and self.wanted(lead)
            if isinstance(found := lead_duty(study, lead, source), LeadDuty)
        )
        rods = tuple(
            result
            for source in self.sources
            for rod in self.plan.of(Rod)
            if isinstance(rod, Rod) and self.wanted(rod) and self._in_ground(rod)
            if isinstance(result := rod_result(study, rod, source), RodResult)
        )
        people = [one for one in self.plan.of(Person) if isinstance(one, Person) and self.wanted(one)]
        stretches = tuple(one for source in self.sources for person in people for one in self._runs(person, source))
        devices = () if self.things is not None else tuple(filter(None, map(self._device, self.sources)))
        circuits = [one for one in self.plan.of(ParallelCircuit) if isinstance(one, ParallelCircuit)]
        induced = tuple(one for circuit in circuits for person in people for one in self._induced(person, circuit))
        beside = tuple(one for circuit in circuits for person in people for one in self._runs(person, circuit))
        returning = tuple(self._returning(source) for source in self.sources)
        # last, since computing an induced current may take the body's resistance from the register
        return CalculationRecord(
            self.plan,
            self.timeline,
            inputs_of(self.timeline),
            returning,
            tuple(self._assumed()),
            leads,
            rods,
            stretches,
            devices,
            induced,
            beside,
            missing,
        )

    def _in_ground(self, rod: Rod) -> bool:
        return any(self.timeline.rod_set(at, rod) is not None for at in self.positions)

    def _returning(self, source: SupplySource) -> Returning:
        found: Equivalent | Unknown | None = self.study.site.sources.get(source)
        if found is None:
            found = Unknown(self.study.site.missing[source])
        return Returning(source, found, self.study.protection(source))

    def _assumed(self) -> Iterator[Assumed]:
        register = self.study.site.register
        for name, assumption in ASSUMPTIONS.items():
            if name in register.measured:
                yield Assumed(assumption, register.measured[name])
            elif name in register.used:
                yield Assumed(register.used[name])

    # ---- people ----

    def _spells(self, person: Person) -> Iterator[tuple[int, int]]:
        """Runs of positions at which a worker is in place and neither circuit nor place changes."""
        site = self.study.site
        first: int | None = None
        last, key = -1, None
        for at in self.positions:
            stand = self.timeline.stand(at, person)
            now = None if stand is None else (stand.index, site.state_at[at], site.gaps_at(at))
            if first is not None and (now != key or at != last + 1):
                yield first, last
                first = None
            if now is not None and first is None:
                first, key = at, now
            last = at
        if first is not None:
            yield first, last

    def _runs(self, person: Person, source: SupplySource | ParallelCircuit) -> Iterator[Stretch]:
        for first, last in self._spells(person):
            found = exposure(self.study, person, source, first)
            if found is not None:
                yield Stretch(found, last)

    def _induced(self, person: Person, circuit: ParallelCircuit) -> Iterator[Induced]:
        for first, last in self._spells(person):
            found = induced_current(self.study, person, circuit, first)
            if found is not None:
                yield Induced(person, circuit, first, last, found)

    # ---- devices ----

    @cached_property
    def _at_work(self) -> tuple[int, ...]:
        """The positions that devices are judged at: with people in place, or else with the most leads on."""
        occupied = [at for at in self.positions if self.timeline.people_in_place(at)]
        if not occupied:
            leads = self.study.site.leads
            on = {at: sum(len(self.timeline.ends(at, lead)) >= 2 for lead in leads) for at in self.positions}
            most = max(on.values(), default=0)
            occupied = [at for at in self.positions if most and on[at] == most]
        site = self.study.site
        return tuple({(site.state_at[at], site.gaps_at(at)): at for at in reversed(occupied)}.values())[::-1]

    def _device(self, source: SupplySource) -> Device | None:
        """The worst of what a source's device sees: by time where a relay decides it, else by share."""
        rows = [self._device_at(source, at) for at in self._at_work]
        if not rows:
            return None
        worst = min(rows, key=_ease)
        times = worst_of(one.clearing.time for one in rows)
        slower = worst_of(one.slower for one in rows)
        return worst._replace(clearing=worst.clearing._replace(time=times), slower=slower)

    def _device_at(self, source: SupplySource, at: int) -> Device:
        study = self.study
        found = clearing(study, source, at)
        guard = study.protection(source)
        relayed = not isinstance(guard, Unknown) and guard.device is not None
        if isinstance(found, Unknown):
            return Device(Clearing(source, at, "", found, found, found, found), math.nan, found, relayed)
        equivalent = study.site.sources[source]
        bolted = {way.way: bolted_current(equivalent, sum(way.poles)) for way in study.ways(source, at)}
        return Device(found, bolted[found.way], self._slower(source, at, guard, list(bolted.values())), relayed)

    def _slower(
        self, source: SupplySource, at: int, guard: Protection | Unknown, bolted: list[float]
    ) -> Measure | Unknown:
        times = self.study.own_times(source, at)
        if isinstance(times, Unknown) or isinstance(guard, Unknown):
            return times if isinstance(times, Unknown) else Unknown(gaps_of(guard))
        device = guard.device
        if device is None:
            return 0.0
        counts = np.array(bolted) > 0
        without, _ = relay_times(device.curve, device.dial, np.array(bolted) / device.pickup)
        without = np.maximum(without + device.breaker_time, guard.fixed or 0.0)
        both = np.isinf(times) & np.isinf(without)
        later = np.where(both | ~counts, 0.0, times - np.where(both | ~counts, 0.0, without))
        currents = self.study.fault_currents(source, at)
        return currents if isinstance(currents, Unknown) else self.study.bounds(later.max(axis=1), at, currents)


def _ease(device: Device) -> tuple[float, float]:
    """How well a device sees a fault: what is not known is worst."""
    time, share = device.clearing.time, device.clearing.share
    return (
        -math.inf if isinstance(time, Unknown) else -compared(ends(time)[1]),
        -math.inf if isinstance(share, Unknown) else compared(ends(share)[0]),
    )
