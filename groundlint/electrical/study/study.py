"""What a returning source does at each step: currents in leads, voltages across workers, rise of rods, clearing.

Every result is an `Extent`: the least and the largest magnitude for each way in which a source can return, over all
that is assumed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Final

import numpy as np

from groundlint.electrical.physics.constants import FloatArray
from groundlint.electrical.physics.protection import relay_times
from groundlint.electrical.physics.sources import bolted_current
from groundlint.electrical.solver.network import EARTH
from groundlint.electrical.study.assumptions import ASSUMPTIONS
from groundlint.electrical.study.circuit import BESIDE, Return, Site
from groundlint.electrical.study.extents import LEAST, OF_POLES, POLES, WEAKEST, Extents
from groundlint.electrical.study.following import Asked, Extent, Pair
from groundlint.electrical.study.induced import Induced
from groundlint.electrical.study.parts import Protection, protection_of
from groundlint.electrical.study.site import build_site
from groundlint.plan.models import Lead, ParallelCircuit, Person, PointRef, Rod, SupplySource, Thing, Vehicle
from groundlint.timeline import Timeline
from groundlint.values import Bounds, Gap, Unknown
from groundlint.values.bounds import Measure, gaps_of
from groundlint.world.network import plain

SAME: Final = 5e-5
"""Share of a quantity within which its two ends are one: twice what bounds are widened by, and to spare."""

LONG: Final = 1e3
"""Time in s that one without end is taken as where it is only asked which of several lasts longer."""

MATTERS: Final = 0.01
"""Share of a result that an assumption must move it by to be named as what would narrow it."""


@dataclass(frozen=True)
class Study:
    """A plan's circuit, solved. Positions are those of the timeline: ``at`` is the state before step ``at``; what is
    said of the worst of them is said of those of ``positions``. ``wanted`` and ``likely`` are what `Extents` are asked.
    """

    timeline: Timeline
    site: Site
    wanted: Mapping[int, Mapping[object, Asked]]
    likely: Mapping[str, Set[tuple[int, SupplySource]]]
    positions: Sequence[int]
    exposures: dict[object, Any] = field(default_factory=dict, init=False, repr=False, compare=False)
    """What `results` keeps of people, by person, source, place and state."""
    _joins: dict[int, dict[frozenset[object], tuple[Lead, ...]]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    _times: dict[tuple[SupplySource, int], FloatArray | Unknown] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    @cached_property
    def epochs(self) -> tuple[int, ...]:
        """Those positions at which the circuit, or what is not known of it, differs from the position before."""
        found, last = [], None
        for at in self.positions:
            now = (self.site.state_at[at], self.site.gaps_at(at))
            if now != last:
                found.append(at)
                last = now
        return tuple(found)

    @cached_property
    def extents(self) -> Extents:
        """How far everything that is asked of the circuit reaches."""
        return Extents(self.site, self.wanted, self.likely, self.heat)

    @cached_property
    def induced(self) -> Induced:
        """What circuits beside the line induce."""
        return Induced(self.extents)

    # ---- currents of each return ----

    @cached_property
    def unsolved(self) -> Unknown | None:
        """Why nothing has a value, if so."""
        problem = self.extents.problem
        if problem is not None:
            return Unknown.of(f"a circuit that can be solved: {problem.reason}", where=self.timeline.plan.start)
        return None

    def ways(self, source: SupplySource, at: int) -> tuple[Return, ...]:
        """The ways in which a source can return at a position, by itself and with others."""
        return self.site.ways(source, self.site.state_at[at])

    def ratios(self, source: SupplySource, at: int) -> FloatArray:
        """X/R of the sources that drive, the largest by way [way]."""
        ways = self.ways(source, at)
        return np.array([max(self.site.sources[one].x_over_r for one in way.driving) for way in ways])

    def _extent(self, key: object, source: SupplySource, at: int) -> Extent | Unknown:
        """Bounds of a quantity while a source returns; nothing of it where it is not part of the circuit then."""
        if (gap := self._no_cause(source, at)) is not None:
            return gap
        state = self.site.state_at[at]
        found = self.extents.extent(state, source, key)
        if found is None:
            return self.extents.nothing(len(self.ways(source, at)))
        asked = self.extents.wanted[state].get(key)
        if asked is not None and not asked.least and (low := self._lows.get((state, source, key))) is not None:
            ends = np.array([low.ends[0], found.ends[1]])
            found = found._replace(ends=ends, moved=np.maximum(low.moved, found.moved))
        if np.isnan(found.ends).any():
            return Unknown((_unsolved(),))
        unsure = [] if key in OF_POLES else self._unsure(source, at)
        if unsure:  # what need not be, need not reach anything
            ends = found.ends.copy()
            ends[0, unsure] = 0.0
            return found._replace(ends=ends)
        return found

    @cached_property
    def _lows(self) -> dict[tuple[object, ...], Extent]:
        """Least ends of what only the worst is asked of, over the positions: where it is the most, and where that and
        the time that it lasts heat a lead most."""
        most: dict[tuple[object, ...], tuple[float, int]] = {}
        for state, at in {self.site.state_at[at]: at for at in reversed(self.epochs)}.items():
            worst = [key for key, asked in self.extents.wanted[state].items() if not asked.least]
            for source in self.site.sources if worst else ():
                lasting = self.heat(state, source)
                for key in worst:
                    found = self.extents.extent(state, source, key)
                    assert found is not None  # it is wanted there
                    share = len(self.gangs(key, at)) if isinstance(key, Lead) else 1
                    for of, size in (("most", found.guess.max()), ("heat", (found.guess * lasting).max() / share)):
                        if size >= (1 - SAME) * most.get((of, source, key), (0.0, at))[0]:
                            most[of, source, key] = (size, state)
        keys: dict[int, set[object]] = {}
        for (_, _, key), (_, state) in most.items():
            keys.setdefault(state, set()).add(key)
        return self.extents.lows(keys)

    def heat(self, state: int, source: SupplySource) -> FloatArray:
        """The root of the time in s in which what a source drives at a state is cleared at the latest [way]: by how
        much a current counts that melts, or a voltage across a body, beside one that lasts shorter."""
        times = self.times(source, self.site.state_at.index(state))
        if isinstance(times, Unknown):
            return np.ones(len(self.site.ways(source, state)))
        return np.asarray(np.sqrt(np.minimum(times[1], LONG)))

    def _unsure(self, source: SupplySource, at: int) -> list[int]:
        """The ways in which a source returns with others of which it is not stated that they feed the line then."""
        groups = self.timeline.sources_at_once(at)
        sure = [group for group, known in groups.items() if known]
        ways = enumerate(self.ways(source, at)) if len(sure) < len(groups) else ()
        return [k for k, way in ways if not way.alone and not any(group.issuperset(way.driving) for group in sure)]

    # ---- clearing ----

    def protection(self, source: SupplySource) -> Protection | Unknown:
        """What clears a fault from a source."""
        return protection_of(self.timeline.plan, source)

    def times(self, source: SupplySource, at: int) -> FloatArray | Unknown:
        """Clearing times in s at a position, least and longest [end, way]; `inf` where nothing clears the fault.

        Each is the slowest of what is stated and of what relay and breaker take at the current with the grounds on.
        Where several sources drive it is that of the last to clear. One whose relay does not see the fault as long as
        another feeds it as well goes on by itself once that has cleared; what nothing ever clears, the source by itself
        shows, and both drive as long as the other does.
        """
        key = (source, at)
        if key not in self._times:
            self._times[key] = self._lasting_ways(source, at)
        return self._times[key]

    def _lasting_ways(self, source: SupplySource, at: int) -> FloatArray | Unknown:
        found = self.own_times(source, at)
        if isinstance(found, Unknown):
            return found
        times = found.copy()
        ways = self.ways(source, at)
        own: dict[SupplySource, FloatArray] = {}
        place: dict[SupplySource, dict[frozenset[object], int]] = {}
        for one in dict.fromkeys(one for way in ways if not way.alone for one in way.driving):
            theirs = self.own_times(one, at)
            if isinstance(theirs, Unknown):
                return theirs
            own[one] = theirs
            place[one] = {frozenset(way.driving.items()): n for n, way in enumerate(self.ways(one, at))}
        for k, way in enumerate(ways):
            if way.alone:
                continue
            first, after = np.zeros(2), np.zeros(2)
            driving = frozenset(way.driving.items())
            for one, poles in driving:
                both, alone = (own[one][:, place[one][key]] for key in (driving, frozenset({(one, poles)})))
                rest = np.where(np.isinf(both) & np.isfinite(alone), alone, 0.0)
                first = np.maximum(first, np.where(np.isinf(both), 0.0, both))
                after = np.maximum(after, rest)
            # a relay that may not see the fault at all while both feed it may be through the sooner for it
            times[:, k] = np.sort(np.where(first > 0, first + after, np.inf))
        return times

    def own_times(self, source: SupplySource, at: int) -> FloatArray | Unknown:
        """Times in s in which a source's own device clears, least and longest [end, way]."""
        guard = self.protection(source)
        if isinstance(guard, Unknown):
            return guard
        if (gap := self._no_cause(source, at)) is not None:
            return gap
        ways = self.ways(source, at)
        stated = np.inf if guard.fixed is None else guard.fixed
        device = guard.device
        if device is None:
            return np.full((2, len(ways)), stated)
        currents = self._relayed(source, at)
        if isinstance(currents, Unknown):
            return currents
        least, most = currents.ends
        if guard.fixed is not None:
            # the quickest is as stated, or that of a bolted fault; two phases to ground draw less than twice the larger
            # of three phases and one
            equivalent = self.site.sources[source]
            most = np.full(len(ways), 2 * max(bolted_current(equivalent, poles) for poles in (3, 1)))
        time, _ = relay_times(device.curve, device.dial, np.array([most, least]) / device.pickup)
        return np.maximum(time + device.breaker_time, 0.0 if guard.fixed is None else guard.fixed)

    def _relayed(self, source: SupplySource, at: int) -> Extent | Unknown:
        """The currents in a source's poles by which its relay clears: where a time is stated as well, the least are
        enough, unless more is asked there anyway."""
        asked = (self.site.state_at[at], source) in self.extents.likely[LEAST]
        return self._extent(LEAST if asked else POLES, source, at)

    def moving(self, source: SupplySource, at: int) -> tuple[Extent, ...]:
        """What the clearing time of a source rests on: the currents in its poles and in those of the sources that drive
        with it, where a relay decides."""
        found = []
        for one in dict.fromkeys(one for way in self.ways(source, at) for one in way.driving):
            guard = self.protection(one)
            if isinstance(guard, Unknown) or guard.device is None:
                continue
            currents = self._relayed(one, at)
            if not isinstance(currents, Unknown):
                found.append(currents)
        return tuple(found)

    def lasting(self, low_high: FloatArray, source: SupplySource, at: int) -> Measure:
        """A clearing time in s between two ends [end], and what would narrow it."""
        low, high = float(low_high[0]), float(low_high[1])
        unsure, own = self._unsure(source, at), self.own_times(source, at)
        if unsure and not isinstance(own, Unknown) and own.min() < low:  # by itself it may clear sooner
            others = dict.fromkeys(other for k in unsure for other, _ in self.ways(source, at)[k].others)
            stated = gaps_of(*(self.timeline.source_open(at, one) for one in others))
            return Bounds(float(own.min()), high, stated or (_beside(next(iter(others))),))
        return Bounds.of(low, high, self.narrowing(*self.moving(source, at)))

    def fault_currents(self, source: SupplySource, at: int) -> Extent | Unknown:
        """Largest current in any pole of a source at a position, A, by way. Without a relay only how little may flow
        is asked, and the largest is open but of the way in which that is."""
        guard = self.protection(source)
        relayed = not isinstance(guard, Unknown) and guard.device is not None
        return self._extent(POLES if relayed else WEAKEST, source, at)

    # ---- leads ----

    def lead_currents(self, lead: Lead, source: SupplySource, at: int) -> Extent | Unknown:
        """Current in a lead at a position while a source returns, A; nothing where it joins nothing."""
        return self._extent(lead, source, at)

    def _no_cause(self, source: SupplySource, at: int) -> Unknown | None:
        """Why nothing is known of what a source drives: too little is said of it, or of one that may drive with it."""
        if self.unsolved is not None:
            return self.unsolved
        groups = (group for group in self.timeline.sources_at_once(at) if source in group)
        beside = {one for group in groups for one in group if one.located}
        return next((Unknown(gaps) for one, gaps in self.site.missing.items() if one is source or one in beside), None)

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

    def voltage(
        self, person: Person, source: SupplySource, at: int
    ) -> tuple[Extent, tuple[PointRef, PointRef] | None] | Unknown:
        """The largest open-circuit voltage of the pairs in reach at a position while a source returns, V, and the pair
        that may have it."""
        pairs = self.pairs_of(person, at)
        if isinstance(pairs, Unknown):
            return pairs
        if (gap := self._no_cause(source, at)) is not None:
            return gap
        nodes = {found: pair for pair in pairs if (found := nodes_of(self.site, *pair)) is not None}
        if not nodes:
            return self.extents.nothing(len(self.ways(source, at))), None
        extent = self._extent(tuple(nodes), source, at)
        return extent if isinstance(extent, Unknown) else (extent, list(nodes.values())[extent.which])

    def induced_currents(self, person: Person, cause: Thing, at: int) -> tuple[Extent, ...] | Unknown:
        """Steady currents through a body across each pair in reach, A: what balanced currents, those that return
        through the earth, and voltage drive, together."""
        pairs = self.pairs_of(person, at)
        if isinstance(pairs, Unknown):
            return pairs
        if self.unsolved is not None:
            return self.unsolved
        if cause in self.site.missing:
            return Unknown(self.site.missing[cause])
        found = []
        for pair in pairs:
            nodes = nodes_of(self.site, *pair)
            if nodes is not None:
                extent = self.induced.by_induction[self.site.state_at[at], cause][nodes]
                if not np.isfinite(extent.ends).all():
                    return Unknown((_unsolved(),))
                found.append(extent)
        return tuple(found)

    def fault_beside(
        self, person: Person, circuit: ParallelCircuit, at: int
    ) -> tuple[Extent, tuple[PointRef, PointRef] | None] | Unknown:
        """The largest open-circuit voltage of the pairs in reach at a position while a fault to ground is on a circuit
        beside the line, V, and the pair that may have it."""
        pairs = self.pairs_of(person, at)
        if isinstance(pairs, Unknown):
            return pairs
        if self.unsolved is not None:
            return self.unsolved
        if circuit.to_ground is None:
            fact = f"what a fault to ground draws in circuit {circuit}"
            return Unknown.of(fact, "fault 4 kA to ground, x/r 9", circuit.span)
        nodes = {found: pair for pair in pairs if (found := nodes_of(self.site, *pair)) is not None}
        if not any(way.sort == BESIDE and way.cause is circuit for way in self.site.returns):
            fact, write = f"between which structures circuit {circuit} runs", f"parallel {circuit} beside 211 to 213"
            if circuit.first is circuit.last:
                return Unknown.of(fact, write, circuit.span)
            return Unknown(self.site.missing[circuit])
        if not nodes:
            return self.extents.nothing(1), None
        extent = self.induced.by_fault_beside[self.site.state_at[at], circuit, tuple(nodes)]
        if not np.isfinite(extent.ends).all():
            return Unknown((_unsolved(),))
        return extent, list(nodes.values())[extent.which]

    # ---- electrodes ----

    def rod_currents(self, rod: Rod, source: SupplySource, at: int) -> Extent | Unknown:
        """Current of a rod into the earth at a position while a source returns, A."""
        return self._extent(rod, source, at)

    def rod_rises(self, rod: Rod, source: SupplySource, at: int) -> Extent | Unknown:
        """Voltage of a rod over remote earth at a position while a source returns, V."""
        return self._extent((rod, "rise"), source, at)

    # ---- from extents to bounds ----

    def bounds(self, low_high: FloatArray, at: int, *extents: Extent) -> Measure | Unknown:
        """A quantity between two ends [end], which rests on what has these extents, and what would narrow it.

        Where the plan fails to say something of the circuit at that position, nothing computed from it is known.
        """
        low, high = float(low_high[0]), float(low_high[1])
        holes = self.site.gaps_at(at)
        if holes:
            return Unknown(holes)
        if low == high or high - low <= SAME * high < math.inf:
            return high
        return Bounds(low, high, self.narrowing(*extents))

    def narrowing(self, *extents: Extent) -> tuple[Gap, ...]:
        """The assumptions that move a result, the one that moves it most first; one that no plan can state only where
        none that it can state does."""
        sizes = [float(extent.ends[1].max(initial=0.0, where=np.isfinite(extent.ends[1]))) for extent in extents]
        shares = [extent.moved / (size or 1.0) for extent, size in zip(extents, sizes, strict=True)]
        moved = np.max(shares, axis=0).tolist() if shares else []
        names = sorted(zip(moved, self.extents.names, strict=False), key=lambda one: -one[0])
        kept = [name for share, name in names if share > MATTERS] or [name for _, name in names[:1]]
        kept = [name for name in kept if ASSUMPTIONS[name].write] or kept
        return tuple(dict.fromkeys(self.site.register.gap(name) for name in kept)) or (_unsolved(),)


def nodes_of(site: Site, one: PointRef, other: PointRef) -> Pair | None:
    """The nodes of a pair, in one order for both; None where both are one, or one is not in the circuit."""
    a, b = site.node(one), site.node(other)
    if a is None or b is None or a == b:
        return None
    return (a, b) if a < b else (b, a)


def _beside(source: SupplySource) -> Gap:
    return Gap(f"whether source {source} feeds the line as well", f"switch SW1 between {source} and 211", source.span)


def _unsolved() -> Gap:
    return Gap("a circuit that can be solved", "what joins these points, and how they are grounded")


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


def study_of(timeline: Timeline, within: Sequence[int] | None = None) -> Study | Unknown:
    """Build a plan's circuit and solve it for every distinct state; `Unknown` where the plan has no line. The worst of
    leads and rods is that of the positions `within`, of all where not given."""
    site = build_site(timeline)
    if isinstance(site, Unknown):
        return site
    plan = timeline.plan
    guards = {s: p for s in site.sources if isinstance(p := protection_of(plan, s), Protection) and p.device}
    # how long a fault lasts is the same whichever way it comes, if the same sources drive, but where a relay decides
    by_way = frozenset(guards)
    relayed = {s for s, guard in guards.items() if guard.fixed is None}
    wanted: dict[int, dict[object, Asked]] = {}
    for state, off in enumerate(site.states):
        mine = wanted[state] = {}
        for lead, names in site.leads.items():
            on = tuple(name for name in names if name not in off)
            if on:
                mine[lead] = Asked(arms=on[:1], every=by_way, apart=True, least=False)
        for rod, names in site.rods.items():
            on = tuple(name for name in names if name not in off)
            if on:
                mine[rod] = Asked(arms=on[:1], least=False)
                to_earth = (site.nodes[PointRef("rod", None, rod)], EARTH)
                mine[rod, "rise"] = Asked(pairs=(to_earth,), every=by_way, apart=True, least=False)
    seen: set[object] = set()
    for person in timeline.plan.of(Person):
        assert isinstance(person, Person)
        for at in range(timeline.n + 1):
            stand = timeline.stand(at, person)
            if stand is None or stand.point is None or stand.reach is None:
                continue
            state = site.state_at[at]
            reach = tuple(one for one in stand.reach if isinstance(one, PointRef))
            if (state, stand.point, reach) in seen:
                continue
            seen.add((state, stand.point, reach))
            found = (nodes_of(site, *pair) for pair in _bridged(stand.point, reach))
            pairs = tuple(dict.fromkeys(pair for pair in found if pair is not None))
            if pairs:
                wanted[state][pairs] = Asked(pairs=pairs, every=by_way, apart=True)
    at_work = {site.state_at[at] for at in range(timeline.n + 1) if timeline.people_in_place(at)}
    likely = {
        POLES: {(n, s) for s in guards for n in wanted if n in at_work or s in relayed},
        WEAKEST: {(n, s) for s in site.sources if s not in guards for n in at_work},
        LEAST: {(n, s) for s in guards if s not in relayed for n in wanted if wanted[n] and n not in at_work},
    }
    return Study(timeline, site, wanted, likely, range(timeline.n + 1) if within is None else within)


__all__ = ["Study", "study_of"]
