"""What a returning source does at each step: currents in leads, voltages across workers, rise of rods, clearing.

The circuit is solved once for each distinct state and each corner of the assumptions, with one ampere into each
source's terminals; every way in which a source can return then follows from a system of at most three equations
(compensation, or Thevenin's theorem at the source's terminals). Results are bounds: the low and the high end over the
corners, with what would narrow them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Final

import numpy as np

from groundlint.electrical.physics.constants import ComplexArray, FloatArray
from groundlint.electrical.physics.protection import relay_times
from groundlint.electrical.physics.sources import Equivalent
from groundlint.electrical.solver.network import BALANCED, NotSolvable, sequence_matrix
from groundlint.electrical.solver.solution import Solution, Values
from groundlint.electrical.solver.solve import solve
from groundlint.electrical.study.circuit import INDUCTION, Port, Return, Site
from groundlint.electrical.study.parts import Protection, protection_of
from groundlint.electrical.study.site import build_site
from groundlint.plan.models import Lead, Person, PointRef, Rod, SupplySource, Thing, Vehicle
from groundlint.timeline import Timeline
from groundlint.values import Bounds, Gap, Unknown
from groundlint.values.bounds import Measure
from groundlint.world.network import plain

NO_ZERO_SEQUENCE: Final = 1e6
"""Zero-sequence impedance, as a multiple of the positive one, that stands for a source without a path for it."""

MATTERS: Final = 0.01
"""Share of a result that a group of assumptions must move it by to be named as what would narrow it."""


@dataclass(frozen=True)
class Study:
    """A plan's circuit, solved. Positions are those of the timeline: ``at`` is the state before step ``at``."""

    timeline: Timeline
    site: Site
    pairs: tuple[tuple[str, str], ...]
    solution: Solution | NotSolvable
    exposures: dict[object, Any] = field(default_factory=dict, init=False, repr=False, compare=False)
    """What `results` keeps of people, by person, source, place and state."""
    _lead_arrays: dict[object, FloatArray] = field(default_factory=dict, init=False, repr=False, compare=False)
    _pair_arrays: dict[object, FloatArray] = field(default_factory=dict, init=False, repr=False, compare=False)
    _joins: dict[int, dict[frozenset[object], tuple[Lead, ...]]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    @cached_property
    def epochs(self) -> tuple[int, ...]:
        """Positions at which the circuit, or what is not known of it, differs from the position before."""
        found, last = [], None
        for at in range(self.timeline.n + 1):
            now = (self.site.state_at[at], self.site.gaps_at(at))
            if now != last:
                found.append(at)
                last = now
        return tuple(found)

    # ---- currents of each return ----

    @cached_property
    def unsolved(self) -> Unknown | None:
        """Why nothing has a value, if so."""
        if isinstance(self.solution, NotSolvable):
            return Unknown.of(f"a circuit that can be solved: {self.solution.reason}", where=self.timeline.plan.start)
        return None

    @cached_property
    def _terminal(self) -> dict[SupplySource, ComplexArray]:
        """Currents out of a source's three terminals, A [state, corner, way, pole], over its ways to return."""
        assert isinstance(self.solution, Solution)
        found: dict[SupplySource, ComplexArray] = {}
        for source, equivalent in self.site.sources.items():
            ports = self.site.ports[source]
            impedance = np.stack(
                [self._response(self.solution.open_circuit(port.pair), ports) for port in ports], axis=-2
            )
            found[source] = _returning(impedance, equivalent, self.ways(source), len(ports))
        return found

    def _response(self, values: Values | NotSolvable, ports: Sequence[Port]) -> ComplexArray:
        """Responses to one ampere into each port [state, corner, port]; NaN where there is none."""
        states, corners = len(self.site.states), len(self.site.variants)
        if isinstance(values, NotSolvable):
            return np.full((states, corners, len(ports)), np.nan, dtype=np.complex128)
        columns = [port.scenario for port in ports]
        return np.where(values.codes[..., columns] == 0, values.values[..., columns], np.nan)

    def ways(self, source: SupplySource) -> tuple[Return, ...]:
        """The ways in which a source can return."""
        return tuple(one for one in self.site.returns if one.cause is source)

    def _driven(self, values: Values | NotSolvable, source: SupplySource) -> FloatArray:
        """Magnitudes [state, corner, way] of a quantity while a source returns."""
        unit = self._response(values, self.site.ports[source])
        size: FloatArray = np.abs(np.einsum("scp,scwp->scw", unit, self._terminal[source]))
        return size

    def _induced(self, values: Values | NotSolvable, cause: Thing) -> FloatArray:
        """Magnitude [state, corner] of a quantity by induction: what magnetic and electric coupling add up to."""
        states, corners = len(self.site.states), len(self.site.variants)
        total = np.zeros((states, corners))
        for one in self.ways(cause):  # type: ignore[arg-type]
            if isinstance(values, NotSolvable) or one.sort != INDUCTION:
                return np.full((states, corners), np.nan)
            column = one.column
            part = np.where(values.codes[..., column] == 0, np.abs(values.values[..., column]), np.nan)
            total = total + part
        return total

    # ---- clearing ----

    def protection(self, source: SupplySource) -> Protection | Unknown:
        """What clears a fault from a source."""
        return protection_of(self.timeline.plan, source)

    @cached_property
    def _times(self) -> dict[SupplySource, FloatArray]:
        """Clearing time in s [state, corner, way]; `inf` where nothing clears the fault, NaN where not stated."""
        found: dict[SupplySource, FloatArray] = {}
        for source, terminal in self._terminal.items():
            guard = self.protection(source)
            shape = terminal.shape[:3]
            if isinstance(guard, Unknown):
                found[source] = np.full(shape, np.nan)
            elif guard.fixed is not None:
                found[source] = np.full(shape, guard.fixed)
            elif guard.device is None or guard.device.curve is None or guard.device.dial is None:
                found[source] = np.full(shape, np.inf)
            else:
                largest = np.abs(terminal).max(axis=3)
                time, _ = relay_times(guard.device.curve, guard.device.dial, largest / guard.device.pickup)
                found[source] = time + guard.device.breaker_time
        return found

    def times(self, source: SupplySource, at: int) -> FloatArray | Unknown:
        """Clearing times in s at a position [corner, way]."""
        if source not in self._times:
            return Unknown(self.site.missing.get(source) or (_unsolved(),))
        times: FloatArray = self._times[source][self.site.state_at[at]]
        if bool(np.isnan(times).any()):
            guard = self.protection(source)
            return guard if isinstance(guard, Unknown) else Unknown((_unsolved(),))
        return times

    def fault_currents(self, source: SupplySource, at: int) -> FloatArray | Unknown:
        """Largest current in any pole of a source at a position, A [corner, way]."""
        if source not in self._terminal:
            return Unknown(self.site.missing.get(source) or (_unsolved(),))
        found = np.abs(self._terminal[source][self.site.state_at[at]]).max(axis=2)
        return Unknown((_unsolved(),)) if bool(np.isnan(found).any()) else np.asarray(found)

    # ---- leads ----

    def lead_currents(self, lead: Lead, source: SupplySource, at: int) -> FloatArray | Unknown:
        """Current in a lead at a position while a source returns, A [corner, way]; zeros where it joins nothing."""
        if (gap := self._no_cause(source)) is not None:
            return gap
        names = self.site.leads.get(lead, ())
        state = self.site.state_at[at]
        on = [name for name in names if name not in self.site.states[state]]
        if not on:
            return np.zeros((len(self.site.variants), len(self.ways(source))))
        return self._rows(self._lead_arrays, (lead, source), on, source, state)

    def _rows(
        self, kept: dict[object, FloatArray], key: object, names: Sequence[str], source: SupplySource, state: int
    ) -> FloatArray | Unknown:
        array = kept.get((key, names[0]))
        if array is None:
            assert isinstance(self.solution, Solution)
            array = kept[key, names[0]] = self._driven(self.solution.current(names[0]), source)
        found = array[state]
        return Unknown((_unsolved(),)) if bool(np.isnan(found).any()) else np.asarray(found)

    def _no_cause(self, source: SupplySource) -> Unknown | None:
        if self.unsolved is not None:
            return self.unsolved
        if source in self.site.missing:
            return Unknown(self.site.missing[source])
        return None

    def gangs(self, lead: Lead, at: int) -> tuple[Lead, ...]:
        """The leads that join the same two points as a lead at a position, itself among them."""
        mine = frozenset(self.timeline.ends(at, lead))
        return self._joining(at).get(mine, ()) if len(mine) == 2 else ()

    def _joining(self, at: int) -> dict[frozenset[object], tuple[Lead, ...]]:
        """The leads that are on at a position, by the two points that they join."""
        state = self.site.state_at[at]
        found = self._joins.get(state)
        if found is None:
            lists: dict[frozenset[object], list[Lead]] = {}
            for lead in self.site.leads:
                lists.setdefault(frozenset(self.timeline.ends(at, lead)), []).append(lead)
            found = self._joins[state] = {ends: tuple(leads) for ends, leads in lists.items()}
        return found

    # ---- people ----

    def pairs_of(self, person: Person, at: int) -> tuple[tuple[PointRef, PointRef], ...] | Unknown:
        """Pairs of points that a person in place could bridge; empty while not in place."""
        stand = self.timeline.stand(at, person)
        if stand is None:
            return ()
        if stand.reach is None or stand.point is None:
            return Unknown(stand.gaps or (Gap(f"what {person} can reach", f"enter {person} at 212 on the pole"),))
        gaps = tuple(one for one in stand.reach if isinstance(one, Gap))
        if gaps:
            return Unknown(gaps)
        pairs = tuple(_bridged(stand.point, [one for one in stand.reach if isinstance(one, PointRef)]))
        apart = dict.fromkeys(point for pair in pairs for point in pair if self.site.node(point) is None)
        if apart:  # nothing computed is known of what is not in the circuit, least of all that it is at no voltage
            return Unknown(tuple(Gap(f"what {point} is joined to", f"bond {point} to K1 with G5") for point in apart))
        return pairs

    def voltages(
        self, person: Person, source: SupplySource, at: int
    ) -> dict[tuple[PointRef, PointRef], FloatArray] | Unknown:
        """Open-circuit voltage of each pair in reach at a position while a source returns, V [corner, way]."""
        pairs = self.pairs_of(person, at)
        if isinstance(pairs, Unknown):
            return pairs
        if (gap := self._no_cause(source)) is not None:
            return gap
        assert isinstance(self.solution, Solution)
        found: dict[tuple[PointRef, PointRef], FloatArray] = {}
        for pair in pairs:
            nodes = self._nodes(pair)
            if nodes is None:
                continue
            key = (nodes, source)
            array = self._pair_arrays.get(key)
            if array is None:
                array = self._pair_arrays[key] = self._driven(self.solution.open_circuit(nodes), source)
            rows = array[self.site.state_at[at]]
            if bool(np.isnan(rows).any()):
                return Unknown((_unsolved(),))
            found[pair] = np.asarray(rows)
        return found

    def _nodes(self, pair: tuple[PointRef, PointRef]) -> tuple[str, str] | None:
        """The nodes of a pair in the order in which it was asked; None where both are one, or one is not in the
        circuit."""
        one, other = (self.site.node(point) for point in pair)
        if one is None or other is None or one == other:
            return None
        return (one, other) if (one, other) in self._asked else (other, one)

    @cached_property
    def _asked(self) -> frozenset[tuple[str, str]]:
        return frozenset(self.pairs)

    def induced_currents(self, person: Person, cause: Thing, at: int, body: float) -> FloatArray | Unknown:
        """Steady current through a body of `body` ohm across the worst pair in reach, A [corner]."""
        pairs = self.pairs_of(person, at)
        if isinstance(pairs, Unknown):
            return pairs
        if self.unsolved is not None:
            return self.unsolved
        if cause in self.site.missing:
            return Unknown(self.site.missing[cause])
        assert isinstance(self.solution, Solution)
        worst = np.zeros(len(self.site.variants))
        for pair in pairs:
            nodes = self._nodes(pair)
            if nodes is not None:
                found = self._induced(self.solution.body_current(nodes, body), cause)[self.site.state_at[at]]
                if bool(np.isnan(found).any()):
                    return Unknown((_unsolved(),))
                worst = np.maximum(worst, found)
        return worst

    # ---- electrodes ----

    def rod_currents(self, rod: Rod, source: SupplySource, at: int) -> FloatArray | Unknown:
        """Current of a rod into the earth at a position while a source returns, A [corner, way]."""
        if (gap := self._no_cause(source)) is not None:
            return gap
        name = self.site.rods.get(rod)
        state = self.site.state_at[at]
        if name is None or name in self.site.states[state]:
            return np.zeros((len(self.site.variants), len(self.ways(source))))
        return self._rows(self._lead_arrays, (rod, source), [name], source, state)

    def rod_rises(self, rod: Rod, source: SupplySource, at: int) -> FloatArray | Unknown:
        """Voltage of a rod over remote earth at a position while a source returns, V [corner, way]."""
        currents = self.rod_currents(rod, source, at)
        if isinstance(currents, Unknown) or not currents.any():
            return currents
        assert isinstance(self.solution, Solution)
        node = self.site.nodes[PointRef("rod", None, rod)]
        array = self._pair_arrays.get((rod, source))
        if array is None:
            array = self._pair_arrays[rod, source] = self._driven(self.solution.voltage(node), source)
        rows = array[self.site.state_at[at]]
        return Unknown((_unsolved(),)) if bool(np.isnan(rows).any()) else np.asarray(rows)

    # ---- from corners to bounds ----

    def bounds(self, by_corner: FloatArray, at: int) -> Measure | Unknown:
        """A quantity's bounds over the corners of the assumptions [corner], and what would narrow them.

        Where the plan fails to say something of the circuit at that position, nothing computed from it is known.
        """
        low, high = float(by_corner.min()), float(by_corner.max())
        holes = self.site.gaps_at(at)
        if holes:
            return Unknown(holes)
        if high - low <= 1e-12 * abs(high):
            return high
        return Bounds(low, high, self._narrowing(by_corner, high))

    def _narrowing(self, by_corner: FloatArray, high: float) -> tuple[Gap, ...]:
        """The gaps of the groups that move a result, those that move it most first."""
        corners = self.site.corners
        number = {corner: k for k, corner in enumerate(corners)}
        moved: list[tuple[float, str]] = []
        for group in self.site.groups:
            most = 0.0
            for corner, k in number.items():
                if group in corner:
                    other = number[tuple(one for one in corner if one != group)]
                    most = max(most, abs(float(by_corner[k]) - float(by_corner[other])))
            moved.append((most, group))
        moved.sort(key=lambda entry: -entry[0])
        gaps: list[Gap] = []
        for most, group in moved:
            if most > MATTERS * high or not gaps:
                gaps += self.site.register.gaps(group)
        return tuple(dict.fromkeys(gaps)) or (_unsolved(),)


def _unsolved() -> Gap:
    return Gap("a circuit that can be solved", "what joins these points, and how they are grounded")


def _returning(impedance: ComplexArray, equivalent: Equivalent, ways: Sequence[Return], count: int) -> ComplexArray:
    """Currents out of three terminals [..., way, port] through the port impedances [..., port, port] of a circuit."""
    z0 = equivalent.z0 if isinstance(equivalent.z0, complex) else NO_ZERO_SEQUENCE * equivalent.z1
    own = np.array(sequence_matrix(equivalent.z1, z0))[:count, :count]
    emf = equivalent.emf * np.array(BALANCED)[:count]
    found = np.zeros((*impedance.shape[:2], len(ways), count), dtype=np.complex128)
    for number, way in enumerate(ways):
        on = np.flatnonzero(way.poles[:count])
        if equivalent.z0 is None and on.size == 1:
            continue
        loop = (impedance + own)[..., on[:, None], on[None, :]]
        solvable = np.isfinite(loop).all(axis=(-1, -2))
        safe = np.where(solvable[..., None, None], loop, np.eye(on.size))
        currents = np.linalg.solve(safe, np.broadcast_to(emf[on], (*safe.shape[:-2], on.size))[..., None])[..., 0]
        found[..., number, on] = np.where(solvable[..., None], currents, np.nan)
    return found


def _bridged(stand: PointRef, reach: Sequence[PointRef]) -> Iterable[tuple[PointRef, PointRef]]:
    """Hand to hand, and hand to what one stands on, unless that is an insulated lift; live neighbours are kept away
    by distance and cover, not by equal potential."""
    points = list(dict.fromkeys(plain(point) for point in reach if point.sort != "neighbour"))
    feet = plain(stand)
    insulated = isinstance(feet.thing, Vehicle) and feet.thing.insulation == "insulated"
    if not insulated and feet not in points and feet.sort != "neighbour":
        points.append(feet)
    for k, one in enumerate(points):
        for other in points[k + 1 :]:
            yield one, other


def study_of(timeline: Timeline) -> Study | Unknown:
    """Build a plan's circuit and solve it for every distinct state; `Unknown` where the plan has no line."""
    site = build_site(timeline)
    if isinstance(site, Unknown):
        return site
    pairs: dict[tuple[str, str], None] = dict.fromkeys(port.pair for ports in site.ports.values() for port in ports)
    seen: set[tuple[PointRef | None, tuple[PointRef, ...]]] = set()
    for person in timeline.plan.of(Person):
        assert isinstance(person, Person)
        for at in range(timeline.n + 1):
            stand = timeline.stand(at, person)
            if stand is None or stand.point is None or stand.reach is None:
                continue
            reach = tuple(one for one in stand.reach if isinstance(one, PointRef))
            if (stand.point, reach) in seen:
                continue
            seen.add((stand.point, reach))
            for one, other in _bridged(stand.point, reach):
                a, b = site.node(one), site.node(other)
                if a is not None and b is not None and a != b and (b, a) not in pairs:
                    pairs[a, b] = None
    solution = solve(site.network, site.states, site.scenarios, variants=site.variants, pairs=tuple(pairs))
    return Study(timeline, site, tuple(pairs), solution)


__all__ = ["Study", "study_of"]
