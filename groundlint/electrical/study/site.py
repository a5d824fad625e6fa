"""The circuit of a plan: every element there ever is, what is off at each step, and what could energize it.

Built from the same joints that the replay keeps, so that what hangs together in the one is connected in the other.
Nodes are conductors at structures (with two sides where they are ever cut), bars, rods, pole surfaces, steel, guys,
vehicles, mats; remote earth is the reference. Bare soil in reach counts as remote earth: no credit is given for the
soil around a rod rising with it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Hashable, Sequence

from groundlint.electrical.physics.constants import ComplexArray
from groundlint.electrical.physics.sources import Equivalent
from groundlint.electrical.physics.spacings import SPACINGS, Position
from groundlint.electrical.solver.ladder import ladder_infinite
from groundlint.electrical.solver.network import (
    BALANCED,
    EARTH,
    Bond,
    CapacitiveCoupling,
    Impedance,
    InducedEmf,
    Network,
    NotSolvable,
    ShuntAdmittance,
    Span,
    matrix,
)
from groundlint.electrical.study.assumptions import ASSUMPTIONS
from groundlint.electrical.study.circuit import BESIDE, FAULT, INDUCTION, RESIDUAL, Pieces, Return, Site
from groundlint.electrical.study.limits import too_large, too_many_states
from groundlint.electrical.study.line import WIDEST, Arrangement, LineConstants, line_constants
from groundlint.electrical.study.parts import (
    Between,
    anything,
    equivalent_of,
    frequency_of,
    heat_of,
    lead_between,
    middle,
    pole_between,
    rod_resistance_of,
    soil_of,
    stated_or,
    strap_between,
)
from groundlint.plan.models import (
    Cable,
    Conductor,
    Lead,
    ParallelCircuit,
    Plan,
    PointRef,
    Rod,
    Structure,
    SupplySource,
    Switch,
    Thing,
)
from groundlint.steps import PLACING
from groundlint.timeline import Timeline
from groundlint.values import Gap, Unknown
from groundlint.world.network import FAR, NEAR
from groundlint.world.records import Ground, Joint, RodSet


def build_site(timeline: Timeline) -> Site | Unknown:
    """The circuit of a replayed plan; `Unknown` where it has no line to be part of, where that is cable in part, or
    where the circuit is larger than is solved."""
    plan = timeline.plan
    if plan.line is None or not plan.line.phases:
        where = plan.line.span if plan.line is not None else plan.start
        return Unknown.of("the line and its phases", "phases A B C", where)
    for cable in plan.of(Cable):  # of cables no table here has the impedances, and a fault anywhere may flow in one
        return Unknown.of(f"the impedances of cable {cable}, which the plan language has no words for", "")
    if (beyond := too_large(plan)) is not None:
        return beyond
    site = _Builder(timeline).build()
    return too_many_states(site, plan) or site


def _returning(timeline: Timeline) -> frozenset[Switch]:
    """Open points in the spans that a source which returns comes through, with nothing on the line before them.

    They are taken for closed throughout: what hangs behind them then carries all that the source drives.
    """
    switches = [switch for switch in timeline.plan.of(Switch) if isinstance(switch, Switch)]
    hung = {
        end.structure.order
        for joint in timeline.joints()
        if isinstance(joint.key, Lead) or (isinstance(joint.key, tuple) and joint.key[0] == "bond")
        for end in (joint.one, joint.other)
        if isinstance(end, PointRef) and isinstance(end.thing, Conductor) and end.thing.role == "phase"
        if end.structure is not None and end.structure.order is not None
    }

    def bare(switch: Switch, source: SupplySource) -> bool:
        """Whether nothing ever hangs on the phases on the source's side."""
        if switch.hop is None or source.at is None or source.at.order is None:
            return False
        first = source.at.order <= switch.hop
        return not any((order <= switch.hop) is first for order in hung)

    found = {w for w in switches if w.sources and all(bare(w, source) for source in w.sources)}
    others = {switch.hop for switch in switches if switch not in found}
    return frozenset(switch for switch in found if switch.hop not in others)


class _Builder(Pieces):
    """Goes over the plan."""

    def __init__(self, timeline: Timeline) -> None:
        super().__init__(timeline)
        self.timeline = timeline
        self.plan: Plan = timeline.plan
        line = self.plan.line
        assert line is not None
        self.conductors: tuple[Conductor, ...] = line.conductors
        self.phases: tuple[Conductor, ...] = line.phases or ()
        self.structures = tuple(s for s in self.plan.things if isinstance(s, Structure))
        self.returning = _returning(timeline)
        self.again: dict[object, str] = {}
        self.leads: dict[Lead, list[str]] = {}
        self.rods: dict[Rod, list[str]] = {}
        frequency = frequency_of(self.plan)
        if isinstance(frequency, Unknown):
            self.hole(*frequency.gaps)
            frequency = 60.0
        self.frequency = frequency
        on = {at for j in timeline.joints() if isinstance(j.key, Lead) for at in range(j.first, j.last + 1)}
        at_once = (group for at in sorted(on) for group in timeline.sources_at_once(at))
        self.heat = heat_of(self.plan, frequency, dict.fromkeys(at_once))
        self.missing: dict[Thing, tuple[Gap, ...]] = {}
        self.returns: list[Return] = []
        self.ports: dict[SupplySource, tuple[tuple[str, str], ...]] = {}
        self.sources: dict[SupplySource, Equivalent] = {}

    # ---- the whole ----

    def build(self) -> Site:
        timeline = self.timeline
        constants = line_constants(self.plan, self.conductors, self.frequency, self.register)
        self.hole(*constants.gaps)
        self._string(constants)
        for joint in self.timeline.joints():
            self._join(joint)
        self._touch()
        for structure in self.structures:
            self._stand(structure)
        self._set_rods()
        self._neutral(constants)
        for source in self.plan.of(SupplySource):
            assert isinstance(source, SupplySource)
            self._source(source)
        for circuit in self.plan.of(ParallelCircuit):
            assert isinstance(circuit, ParallelCircuit)
            self._parallel(circuit, constants)
        self._leak()
        states, state_at = self.numbered_states(
            [
                tuple(dict.fromkeys(some for group in groups if len(some := group.intersection(self.ports)) > 1))
                for groups in map(timeline.sources_at_once, range(timeline.n + 1))
            ]
        )
        return Site(
            Network(tuple(self.elements)),
            tuple(off for off, _ in states),
            tuple(together for _, together in states),
            state_at,
            tuple(self.values),
            tuple(self.returns),
            self.ports,
            tuple(self.scenarios),
            self.missing,
            tuple(self.holes),
            self.register,
            self.nodes,
            {lead: tuple(names) for lead, names in self.leads.items()},
            {rod: tuple(names) for rod, names in self.rods.items()},
            self.sources,
            self.frequency,
            self.register.resistance("body-resistance") if self.plan.of(ParallelCircuit) else None,
        )

    # ---- the line ----

    def _string(self, constants: LineConstants) -> None:
        """Spans between structures of the route, sides of conductors that are ever cut, and their capacitance."""
        route = self.plan.route
        switched = {  # the two structures of a span with a switch in it, and the conductor
            (frozenset((joint.one.structure, joint.other.structure)), joint.one.thing)
            for joint in self.timeline.joints()
            if isinstance(joint.key, tuple) and joint.key[0] == "switch" and joint.key[1] not in self.returning
            if isinstance(joint.one, PointRef) and isinstance(joint.other, PointRef)
        }
        share: dict[Structure, float] = {}
        for one, other in itertools.pairwise(route):
            length = one.span_after
            if length is None or length <= 0:
                gap = Gap(f"the length of the span after {one}", f"route {one} (50 m) {other}", one.span)
                self.hole(gap)
                length = constants.usual_span
            share[one] = share.get(one, 0.0) + length / 2
            share[other] = share.get(other, 0.0) + length / 2
            left = [self.at(PointRef(FAR, one, c)) for c in self.conductors]
            right = [self.at(PointRef(NEAR, other, c)) for c in self.conductors]
            for number, conductor in enumerate(self.conductors):
                if (frozenset((one, other)), conductor) in switched:
                    right[number] = self.fresh(f"switch {one} {other} {conductor}")
                    self.others["switch", one, other, conductor] = right[number]
                    self.others["beyond", right[number]] = self.at(PointRef(NEAR, other, conductor))
            name = self.name(f"span {one} {other}")
            self.put(Span(name, tuple(left), tuple(right), matrix(constants.z * length)))
            for k, between in enumerate(constants.own):
                self.values_of(name, (k,), between, length)
            self.values_of(name, tuple(range(len(left))), constants.common, length)
        for structure in self.structures:
            nodes = tuple(self.at(PointRef("conductor", structure, c)) for c in self.conductors)
            length = share.get(structure, constants.usual_span)
            shunts = [one.shunt * length for one in constants.arrangements]
            if len(shunts) > 1:
                self._capacitances(structure, nodes, shunts)
            else:
                self.put(ShuntAdmittance(self.name(f"capacitance {structure}"), nodes, matrix(shunts[0])))
            for conductor, node in zip(self.conductors, nodes, strict=True):
                base = f"insulation {structure} {conductor}"
                self.impedance(base, node, EARTH, self.register.resistance("leakage-resistance"))
        for (place, part), switches in self.timeline.parting().items():
            for phase in self.phases if self.returning.issuperset(switches) else ():
                beyond = self.at(PointRef(part, place, phase))
                self.put(Bond(self.name(f"{beyond} closed"), self.at(PointRef("conductor", place, phase)), beyond))
        for (structure, thing), first in self.splits.items():
            point = self.at(PointRef("conductor", structure, thing))
            for side in (NEAR, FAR):
                node = self.at(PointRef(side, structure, thing))
                if first > 0:
                    self.put(Bond(self.name(f"{node} whole"), node, point), (0, first - 1))

    def _stand(self, structure: Structure) -> None:
        """What a structure is to earth, so far as something on the plan is in touch with it."""
        pole = PointRef("pole", structure)
        if structure.material in ("wood", "concrete"):
            if pole not in self.nodes:
                return
            self.impedance(f"{structure} pole to earth", self.at(pole), EARTH, pole_between(structure, self.register))
        else:
            steel = self.at(PointRef("footing", structure))
            if structure.material == "steel":
                z = stated_or(structure.footing, "steel-structure-footing-resistance", self.register)
            else:
                z = pole_between(structure, self.register)
            self.impedance(f"{structure} footing", steel, EARTH, z)
        if structure.pole_ground and PointRef("pole ground", structure) in self.nodes:
            z = stated_or(structure.pole_ground_resistance, "pole-ground-resistance", self.register)
            self.impedance(f"{structure} pole ground", self.at(PointRef("pole ground", structure)), EARTH, z)

    def _join(self, joint: Joint) -> None:
        """A joint of the replay, as an element while it lasts."""
        spell = (joint.first, joint.last)
        if joint.other is None:
            if joint.gap is not None:
                self.hole(joint.gap, first=joint.first, last=joint.last)
            return
        sort = joint.key[0] if isinstance(joint.key, tuple) else "lead"
        if isinstance(joint.key, tuple) and self._taken_for_closed(joint.key):
            return
        if sort == "span":
            if joint.gap is not None:
                self.hole(joint.gap, first=joint.first, last=joint.last)
            return
        one, other = self._ends(joint)
        if one == other:
            return
        lead = joint.key if isinstance(joint.key, Lead) else None
        again = (lead or sort, frozenset((one, other)), joint.gap)
        name = self.again.get(again)
        if name is not None:  # the same joint as before, on once more
            self.spells[name].append(spell)
            for gap in self.lacking.get(name, ()):
                self.hole(gap, first=joint.first, last=joint.last)
            return
        self.again[again] = name = self._joint(joint, lead, sort, one, other, spell)
        if lead is not None:
            self.leads.setdefault(lead, []).append(name)

    def _taken_for_closed(self, key: tuple[object, ...]) -> bool:
        """Whether a joint is that of an open point through which a source returns, which has no joint of its own."""
        if key[0] == "switch":
            return key[1] in self.returning
        place, side = key[1], {"near": NEAR, "through": FAR}.get(str(key[0]))
        if side is None or not isinstance(place, Structure) or key[2] not in self.phases:
            return False
        parting = self.timeline.parting().get((place, side))
        return parting is not None and self.returning.issuperset(parting)

    def _joint(
        self, joint: Joint, lead: Lead | None, sort: object, one: str, other: str, spell: tuple[int, int]
    ) -> str:
        """The element of a joint that has not been there before."""
        base = f"lead {lead}" if lead is not None else f"{sort} {one} {other}"
        if joint.gap is not None:
            return self.impedance(base, one, other, anything(joint.gap), spell)
        if lead is not None:
            return self.impedance(base, one, other, lead_between(lead, self.frequency, self.register, self.heat), spell)
        if sort == "bond":
            z = self.register.resistance("unnamed-bond-resistance")
            return self.impedance(base, one, other, z, spell)
        if sort == "bar":
            return self.impedance(base, one, other, self._bar_contact(joint.other), spell)
        return self.put(Bond(self.name(base), one, other), spell)

    def _bar_contact(self, surface: Hashable) -> Between:
        """From a bar to what it is mounted on: a bracket on steel, or the surface of a pole."""
        structure = surface.structure if isinstance(surface, PointRef) else None
        if structure is not None and structure.material in ("wood", "concrete"):
            return strap_between(structure, self.register)
        low, high = (max(ohms, 1e-5) for ohms in self.register.bounds("cluster-bar-resistance"))
        return Between(low, high, (("cluster-bar-resistance", high - low),))

    def _ends(self, joint: Joint) -> tuple[str, str]:
        """The nodes of a joint; a switch in a span has its own node on the near side."""
        key = joint.key
        one, other = joint.one, joint.other
        if isinstance(key, tuple) and key[0] == "switch" and isinstance(one, PointRef) and isinstance(other, PointRef):
            inside = self.others.get(("switch", one.structure, other.structure, key[2]))
            if inside is not None:
                return inside, self.others["beyond", inside]
        return self.at(one), self.at(other)

    def _set_rods(self) -> None:
        soil = soil_of(self.plan)
        grounds = self.timeline.grounds()
        for ground in grounds:
            node = ground.node
            if not isinstance(node, PointRef):
                continue
            if isinstance(node.thing, Rod) and node.sort == "rod":
                rod = node.thing
                place = self.timeline.rod_set(ground.first, rod)
                found = rod_resistance_of(rod, place, soil)
                others = {one.node for one in grounds if one.node != node and self._may_be_beside(one, ground, place)}
                z = anything(found.gaps[0]) if isinstance(found, Unknown) else self._among(found, len(others))
                name = self.impedance(f"rod {rod}", self.at(node), EARTH, z, (ground.first, ground.last))
                self.rods.setdefault(rod, []).append(name)
            elif node.sort == "pole ground" and ground.gap is not None and node in self.nodes:
                # used by a step though the structure is not said to have one
                z = anything(ground.gap)
                self.impedance(f"{node.structure} pole ground", self.at(node), EARTH, z, (ground.first, ground.last))
        for guy in [point for point in self.nodes if point.sort == "guy"]:
            if guy.structure is not None and guy.structure.material == "steel":
                continue  # guys on steel are part of what its footing is to earth
            z = self.register.resistance("guy-anchor-resistance")
            if guy.structure is None or not guy.structure.guyed:  # it may have an anchor, and may have none
                none = self.register.bounds("leakage-resistance")[1]
                z = Between(z.low, complex(none), (("guy-anchor-resistance", none),))
            self.impedance(f"{guy} anchor", self.at(guy), EARTH, z)

    def _may_be_beside(self, one: Ground, other: Ground, place: RodSet | None) -> bool:
        """Whether an electrode is a rod that is in the ground together with another, which is set there, and at one
        structure, or the plan does not tell at which."""
        rod = one.node.thing if isinstance(one.node, PointRef) and one.node.sort == "rod" else None
        if not isinstance(rod, Rod) or one.last < other.first or other.last < one.first:
            return False
        found = self.timeline.rod_set(one.first, rod)
        places = [spot.structure if spot is not None else None for spot in (found, place)]
        return None in places or places[0] is places[1]

    def _among(self, alone: float, others: int) -> Between:
        """Resistance of a rod with so many others at its structure."""
        low, high = self.register.bounds("rod-sharing") if others else (0.0, 0.0)
        ends = alone * (1 + others * low), alone * (1 + others * high)
        return Between(*ends, (("rod-sharing", ends[1] - ends[0]),))

    def _neutral(self, constants: LineConstants) -> None:
        """A multigrounded neutral goes on beyond both ends of the route, but a dead end, as an endless ladder."""
        line = self.plan.line
        assert line is not None
        neutral = line.neutral
        if not isinstance(neutral, Conductor) or line.neutral_earthing == "unigrounded":
            return
        structures = self.plan.route or self.structures[:1]
        if not structures:
            return
        if line.neutral_earthing is None:
            gap = Gap(f"whether neutral {neutral} is multigrounded", f"neutral {neutral} multigrounded", neutral.span)
            z = anything(gap)
        else:
            z = self._beyond(constants.neutral)
        sources = [source for source in self.plan.of(SupplySource) if isinstance(source, SupplySource)]
        for side, structure in ((NEAR, structures[0]), (FAR, structures[-1])):
            here = z
            if structure.dead_end:  # the most that is possible where nothing says so, which is as good as nothing
                most = ASSUMPTIONS["neutral-beyond-route"].high
                here = Between(most, most)
            elif z.gap is None and not any(source.beyond and source.at is structure for source in sources):
                # nothing says that it goes on there
                low, high = self.register.bounds("neutral-beyond-route")
                unknown = (("neutral-beyond-route", high - low),)
                least = complex(min(low, z.low.real), 0.0) if low < high else complex(low)
                here = Between(least, complex(high, 0.0 if low == high else z.high.imag), unknown, z.reactance)
            self.impedance(f"neutral beyond {structure}", self.at(PointRef(side, structure, neutral)), EARTH, here)

    def _beyond(self, series: Between) -> Between:
        """The ladder of a neutral beyond the route, within all that its spans and grounds may be."""
        grounds = self.register.bounds("neutral-ground-resistance")
        spacing = self.register.bounds("neutral-ground-spacing")

        def ladder(r: float, x: float, ground: float, apart: float) -> complex:
            found = ladder_infinite(complex(r, x) * apart, ground)
            assert not isinstance(found, NotSolvable), found.reason  # the whole register is passive
            return found

        ranges = ((series.low.real, series.high.real), (series.low.imag, series.high.imag), grounds, spacing)
        every = [ladder(*values) for values in itertools.product(*((a, (a + b) / 2, b) for a, b in ranges))]
        made_by = (
            series.resistance,
            series.reactance,
            (("neutral-ground-resistance", 1.0),),
            (("neutral-ground-spacing", 1.0),),
        )
        middles = [(a + b) / 2 for a, b in ranges]
        shares = []
        for k, names in enumerate(made_by):
            ends = [ladder(*(end if n == k else value for n, value in enumerate(middles))) for end in ranges[k]]
            whole = sum(share for _, share in names)
            shares += [(name, abs(ends[1] - ends[0]) * share / whole) for name, share in names if whole]
        return Between(
            complex(min(z.real for z in every), min(z.imag for z in every)),
            complex(max(z.real for z in every), max(z.imag for z in every)),
            tuple(shares),
            tuple(shares),
        )

    # ---- what could energize it ----

    def _source(self, source: SupplySource) -> None:
        found = equivalent_of(self.plan, source)
        entries = [self.timeline.entry(source, phase) for phase in self.phases]
        neutral = self._station(source)
        if isinstance(found, Unknown) or isinstance(found.z0, Unknown) or None in entries:
            if isinstance(found, Unknown):
                gaps = found.gaps
            elif isinstance(found.z0, Unknown):
                gaps = found.z0.gaps
            else:
                gaps = (Gap(f"where source {source} feeds in", f"source {source} beyond 211", source.span),)
                if source.located:  # one that nobody has found adds no ground of its own to what the others drive
                    self.hole(*gaps)
            self.missing[source] = gaps
            return
        self.sources[source] = found
        phases = [self.at(entry) for entry in entries if entry is not None]
        self.ports[source] = tuple((node, neutral) for node in phases)
        for chosen in _ways(len(self.phases)):
            words = "three-phase" if len(chosen) == 3 else " and ".join(str(self.phases[k]) for k in chosen)
            self.returns.append(Return(source, FAULT, words, tuple(k in chosen for k in range(3))))

    def _station(self, source: SupplySource) -> str:
        """The node of a source's neutral: its station's ground, with the line's neutral on it, or remote earth.

        What a utility states as fault current to ground holds at a bolted fault; where the line has a neutral, part of
        it returns by the neutral and part by the earth, within the bounds of two assumptions.
        """
        line = self.plan.line
        assert line is not None
        if line.neutral is None:
            self.hole(Gap("whether the line has a neutral", "no neutral", line.span))
        entry = self.timeline.entry(source, line.neutral) if isinstance(line.neutral, Conductor) else None
        if entry is None:
            return EARTH
        neutral = self.others["station", source] = self.fresh(f"{source} station")
        # a utility's station has a grid; what anybody else has is not known
        grid = "station-ground-resistance" if source.sort in ("utility", "tie") else "source-ground-resistance"
        station = self.register.resistance(grid)
        back = self.register.impedance("neutral-back-to-source", "neutral-back-reactance")
        self.impedance(f"{source} station ground", neutral, EARTH, station)
        self.impedance(f"{source} neutral back", neutral, self.at(entry), back)
        return neutral

    def _parallel(self, circuit: ParallelCircuit, constants: LineConstants) -> None:
        """A circuit beside the line induces along its spans, by its balanced currents and by what of them returns
        through the earth, and couples onto its conductors."""
        route = self.plan.route
        write = f"parallel {circuit} beside 211 to 213 at 20 m"
        if circuit.distance is None or circuit.first is None or circuit.last is None:
            self.missing[circuit] = (Gap(f"where circuit {circuit} runs beside the line", write, circuit.span),)
            return
        if circuit.first not in route or circuit.last not in route:
            self.missing[circuit] = (Gap(f"where circuit {circuit} runs on the route", write, circuit.span),)
            return
        if circuit.spacing is not None and len(SPACINGS[circuit.spacing].phases) < 3:
            fact = f"positions of the three phases of circuit {circuit}"
            self.missing[circuit] = (Gap(fact, "spacing crossarm-8ft", circuit.span),)
            return
        begin, end = sorted((route.index(circuit.first), route.index(circuit.last)))
        lengths = [one.span_after or constants.usual_span for one in route[begin:end]]
        beside = [
            (arrangement, phases)
            for arrangement in constants.arrangements
            for phases in arrangement.beside(circuit, circuit.distance, self.register)
        ]
        unstated = "parallel-spacing" if circuit.spacing is None else ""
        names = ("parallel-spacing", "parallel-height", "parallel-residual")
        self.register.where |= dict.fromkeys(names, circuit.span)
        gaps: list[Gap] = []

        def along(emf: ComplexArray) -> list[str]:
            on = []
            for index, length in enumerate(lengths, begin):
                span = f"span {route[index]} {route[index + 1]}"
                on.append(self.name(f"{circuit} along {span}"))
                self.put(InducedEmf(on[-1], span, tuple(complex(e * length) for e in emf)))
            return on

        # what returns through the earth, taken to flow in the nearest phase
        nearest = {(id(arrangement), min(phases)): arrangement for arrangement, phases in beside}
        if circuit.to_ground is not None and begin < end:
            apart = "parallel-height" if circuit.spacing is None else "conductor-spacing"
            self._fault_beside(circuit, [(one, place) for (_, place), one in nearest.items()], apart, along)
        if circuit.current is None:
            gaps.append(Gap(f"the current of circuit {circuit}", "current 300 A", circuit.span))
        elif begin < end:
            balanced = [circuit.current * phasor for phasor in BALANCED]
            columns = [
                self.scenario(*along(arrangement.emf_per_metre(phases, balanced))) for arrangement, phases in beside
            ]
            self.returns.append(Return(circuit, INDUCTION, "magnetic", columns=tuple(columns), assumed=unstated))
            residual = circuit.residual  # none of it in a wire of the circuit's own
            if residual is None:
                residual = self.register.bounds("parallel-residual")[1] * circuit.current
            deep = self.register.bounds("earth-return-resistivity")[1]
            columns = [
                self.scenario(*along(one.emf_per_metre([place], [residual], deep)))
                for (_, place), one in nearest.items()
            ]
            assumed = "parallel-residual" if circuit.residual is None else ""
            if residual > 0:
                self.returns.append(Return(circuit, INDUCTION, RESIDUAL, columns=tuple(columns), assumed=assumed))
        if circuit.voltage is None:
            gaps.append(Gap(f"the voltage of circuit {circuit}", "voltage 34.5 kV", circuit.span))
        else:
            self._charging(circuit, circuit.voltage, constants, beside, (begin, lengths), unstated)
        if gaps:
            self.missing[circuit] = tuple(gaps)

    def _charging(
        self,
        circuit: ParallelCircuit,
        voltage: float,
        constants: LineConstants,
        beside: Sequence[tuple[Arrangement, tuple[Position, ...]]],
        way: tuple[int, Sequence[float]],
        unstated: str,
    ) -> None:
        """What the voltage of a circuit beside the line drives into its conductors, from where on and along which
        spans, with either radius of both."""
        route, (begin, lengths) = self.plan.route, way
        columns = []
        wide = "parallel-conductor-radius" if "parallel-conductor-radius" not in self.register.measured else ""
        thin, thick = self.register.bounds("parallel-conductor-radius")
        sizes = tuple(zip(constants.radii, (thin, thick), strict=True))
        for (arrangement, phases), (own, theirs) in itertools.product(beside, sizes):
            apart = min(math.dist(one, other) for one, other in itertools.combinations(phases, 2))
            radius = min(theirs, apart * WIDEST)
            y, volts = arrangement.coupling_per_metre(phases, voltage, own, radius)
            on = []
            for index in range(begin, begin + len(lengths) + 1):
                length = sum(lengths[max(index - begin - 1, 0) : index - begin + 1]) / 2 or constants.usual_span
                nodes = tuple(self.at(PointRef("conductor", route[index], c)) for c in self.conductors)
                name = self.name(f"{circuit} beside {route[index]}")
                self.put(CapacitiveCoupling(name, nodes, matrix(y * length), volts))
                on.append(name)
            columns.append(self.scenario(*on))
        self.returns.append(Return(circuit, INDUCTION, "electric", columns=tuple(columns), assumed=unstated or wide))

    def _capacitances(self, structure: Structure, nodes: Sequence[str], shunts: Sequence[ComplexArray]) -> None:
        """The capacitances of a structure's conductors to each other and to the earth, each within what it is in the
        arrangements that they may have."""
        ends = (*nodes, EARTH)
        for one, other in itertools.combinations(range(len(ends)), 2):
            siemens = [float((y[one].sum() if other == len(nodes) else -y[one, other]).imag) for y in shunts]
            between = Between(-1j / min(siemens), -1j / max(siemens), (), (("conductor-spacing", 1.0),))
            self.impedance(f"capacitance {structure} {one} {other}", ends[one], ends[other], between)

    def _fault_beside(
        self,
        circuit: ParallelCircuit,
        nearest: Sequence[tuple[Arrangement, Position]],
        apart: str,
        along: Callable[[ComplexArray], list[str]],
    ) -> None:
        """A fault to ground on a circuit beside the line, at or beyond either end of the way beside, or at any
        structure in between, fed from either side: its current flows along all spans on that side of it. Fed from both
        sides, or within a span, it is between those.

        What returns in the circuit's own wires is the share of an assumption; the columns hold the most of it. What the
        fault does to the soil about the structure at which it is, is not computed.
        """
        assert circuit.to_ground is not None
        amps = circuit.to_ground * self.register.bounds("parallel-earth-return")[1]
        shallow, deep = self.register.bounds("earth-return-resistivity")
        for resistivity in dict.fromkeys((shallow, middle(shallow, deep), deep)):
            for number, (arrangement, place) in enumerate(nearest):
                spans = along(arrangement.emf_per_metre([place], [amps], resistivity))
                columns = [self.scenario(*spans[:k]) for k in range(1, len(spans) + 1)]
                columns += [self.scenario(*spans[k:]) for k in range(1, len(spans))]
                settled = (("earth-return-resistivity", resistivity), (apart, float(number)))
                self.returns.append(Return(circuit, BESIDE, "to ground", columns=tuple(columns), settled=settled))

    # ---- what is touched, and what would else float ----

    def _touch(self) -> None:
        """Nodes for all that anybody stands on or reaches."""
        for action in self.timeline.actions:
            if action.kind not in PLACING:
                continue
            reach = action.slots.get("reach")
            for point in (action.slots.get("stand"), *(reach if isinstance(reach, tuple) else ())):
                if isinstance(point, PointRef) and point.sort != "neighbour":
                    self.at(point)

    def _leak(self) -> None:
        """What hangs on wood, rope or insulators is not quite isolated, so that it has a potential."""
        insulated = {self.at(PointRef("conductor", s, c)) for s in self.structures for c in self.conductors}
        earthed = insulated | {
            e.a for e in self.elements if isinstance(e, Impedance) and e.b == EARTH and e.name not in self.spells
        }
        for name in (*self.nodes.values(), *self.others.values()):
            if name == EARTH or name in earthed:
                continue
            vehicle = next((p for p, n in self.nodes.items() if n == name and p.sort == "vehicle"), None)
            entry = "vehicle-to-earth-resistance" if vehicle is not None else "leakage-resistance"
            self.impedance(f"{name} to earth", name, EARTH, self.register.resistance(entry))


def _ways(count: int) -> list[tuple[int, ...]]:
    """Phases by which a source of so many can return: all, each alone, each pair."""
    every = tuple(range(count))
    found = [every]
    for size in (1, 2):
        if size < count:
            found += list(itertools.combinations(every, size))
    return found
