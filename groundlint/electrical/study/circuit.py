"""A circuit as it is put together: named nodes and elements, when each is on, and how it moves between its bounds."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from groundlint.electrical.physics.sources import Equivalent
from groundlint.electrical.solver.network import EARTH, Element, Energized, Impedance, Network, Scenario
from groundlint.electrical.study.parts import Between, Register, Shares
from groundlint.plan.models import Lead, PointRef, Rod, SupplySource, Thing
from groundlint.timeline import Timeline
from groundlint.values import Gap
from groundlint.world.network import FAR, NEAR, plain

FAULT, INDUCTION, BESIDE = "fault", "induction", "fault beside"
RESIDUAL = "residual"


class Return(NamedTuple):
    """One way in which something could energize the line: a source by some of its phases, with others by some of
    theirs where they may feed it too, or a circuit beside it."""

    cause: Thing
    sort: str  # FAULT, INDUCTION, or BESIDE for a fault on a circuit beside the line
    way: str  # three-phase, A, A B, magnetic, residual, electric
    poles: tuple[bool, ...] = ()
    columns: tuple[int, ...] = ()  # the scenarios that solve it, for induction; any of them may hold
    others: tuple[tuple[SupplySource, tuple[bool, ...]], ...] = ()
    assumed: str = ""  # the assumption by which one scenario differs from another, or that makes all of it
    settled: tuple[tuple[str, float], ...] = ()  # what this way takes for assumptions that other ways take otherwise

    @property
    def driving(self) -> dict[SupplySource, tuple[bool, ...]]:
        """The poles of all sources that drive."""
        mine = ((self.cause, self.poles),) if isinstance(self.cause, SupplySource) else ()
        return dict((*mine, *self.others))

    @property
    def alone(self) -> bool:
        """Whether no other source drives."""
        return not self.others


class Value(NamedTuple):
    """A part of an impedance that lies between bounds: of which `arms` of an element (one alone, or all at once), which
    of two straight lines it moves along, the ends of that in ohm, relative to the element as it stands in the network,
    and what makes its width."""

    element: str
    arms: tuple[int, ...]
    line: int
    low: complex
    high: complex
    shares: Shares


class Hole(NamedTuple):
    """What the plan fails to say of the circuit, from the first to the last position at which it matters."""

    gap: Gap
    first: int
    last: int


Together = tuple[frozenset[SupplySource], ...]
"""The sources that may feed the line at once, in groups."""


@dataclass(frozen=True)
class Site:
    """A plan's circuit over its steps. `states` are the sets of elements that are off, `together` the sources that may
    drive at once then; `state_at` is the number of the state at each position. `values` are what lies between bounds,
    each by itself. `returns` are the ways in which each cause drives by itself, `ports` the nodes between which each
    pole of a source drives, the phase first; `body` is a worker's resistance, where a circuit beside the line may drive
    a current through it."""

    network: Network
    states: tuple[frozenset[str], ...]
    together: tuple[Together, ...]
    state_at: tuple[int, ...]
    values: tuple[Value, ...]
    returns: tuple[Return, ...]
    ports: dict[SupplySource, tuple[tuple[str, str], ...]]
    scenarios: tuple[Scenario, ...]
    missing: dict[Thing, tuple[Gap, ...]]
    holes: tuple[Hole, ...]
    register: Register
    nodes: dict[PointRef, str]
    leads: dict[Lead, tuple[str, ...]]
    rods: dict[Rod, tuple[str, ...]]
    sources: dict[SupplySource, Equivalent]
    frequency: float
    body: Between | None
    _ways: dict[tuple[SupplySource, int], tuple[Return, ...]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def ways(self, source: SupplySource, state: int) -> tuple[Return, ...]:
        """The ways in which a source can return at a state: by itself, and with the others of each group, all by the
        same poles.

        Electromotive forces of several are in phase, as those of stations in step (common practice, no source).
        """
        found = self._ways.get((source, state))
        if found is None:
            alone = tuple(one for one in self.returns if one.cause is source)
            groups = [[one for one in self.ports if one in group] for group in self.together[state] if source in group]
            found = self._ways[source, state] = alone + tuple(
                _with(source, one) for group in groups for one in _shared(group, alone)
            )
        return found

    def node(self, point: PointRef) -> str | None:
        """The node of a point, remote earth for bare soil; None for a point that is not part of the circuit."""
        found = plain(point)
        return EARTH if found.sort == "earth" else self.nodes.get(found)

    def gaps_at(self, at: int) -> tuple[Gap, ...]:
        """What the plan fails to say of the circuit at a position."""
        return tuple(dict.fromkeys(hole.gap for hole in self.holes if hole.first <= at <= hole.last))


def _shared(group: Sequence[SupplySource], ways: Sequence[Return]) -> Iterator[dict[SupplySource, Return]]:
    """The ways in which all of a group drive: all by the same poles. One by other poles than the rest would make six
    ways more a source, and three sources a review of 17 s and 1 GB."""
    return (dict.fromkeys(group, way) for way in ways)


def _with(source: SupplySource, drive: Mapping[SupplySource, Return]) -> Return:
    """A source that returns while others drive."""
    others = {one: way for one, way in drive.items() if one is not source}
    words = ", ".join((drive[source].way, *(f"with {one} by {way.way}" for one, way in others.items())))
    poles = tuple((one, way.poles) for one, way in others.items())
    return drive[source]._replace(cause=source, way=words, others=poles)


class Pieces:
    """Elements as they are collected, and the states that follow from them."""

    def __init__(self, timeline: Timeline) -> None:
        self.register = Register(timeline.plan.measured, timeline.plan.soil)
        self.elements: list[Element] = []
        self.taken: set[str] = {EARTH}
        self.lacking: dict[str, tuple[Gap, ...]] = {}
        self.counts: dict[str, int] = {}
        self.values: list[Value] = []
        self.spells: dict[str, list[tuple[int, int]]] = {}
        self.nodes: dict[PointRef, str] = {}
        self.others: dict[Hashable, str] = {}
        self.holes: dict[Hole, None] = {}
        self.end = timeline.n
        self.splits = timeline.splits()
        self.scenarios: list[Scenario] = []

    def hole(self, *gaps: Gap, first: int = 0, last: int | None = None) -> None:
        """Something that the plan fails to say."""
        for gap in gaps:
            self.holes[Hole(gap, first, self.end if last is None else last)] = None

    def at(self, node: Hashable) -> str:
        """The name of a node, made when it is first asked for."""
        if isinstance(node, PointRef):
            node = plain(node)
            if node.sort == "earth":
                return EARTH
            if node.sort in (NEAR, FAR) and (node.structure, node.thing) not in self.splits:
                node = PointRef("conductor", node.structure, node.thing)
            name = self.nodes.get(node)
            if name is None:
                side = f" {node.sort}" if node.sort in (NEAR, FAR) else ""
                base = f"{node.structure} {node.thing}{side}" if side else str(node)
                name = self.nodes[node] = self.fresh(base)
            return name
        name = self.others.get(node)
        if name is None:
            name = self.others[node] = self.fresh("joint")
        return name

    def fresh(self, base: str) -> str:
        """A name for a node that no other has."""
        name, count = base, 1
        while name in self.taken:
            count += 1
            name = f"{base} ({count})"
        self.taken.add(name)
        return name

    def put(self, element: Element, *spells: tuple[int, int]) -> str:
        """An element; with `spells`, on only from the first to the last position of each."""
        self.elements.append(element)
        if spells:
            self.spells[element.name] = list(spells)
        return element.name

    def name(self, base: str) -> str:
        """A name for an element that no other has."""
        count = self.counts[base] = self.counts.get(base, 0) + 1
        return base if count == 1 else f"{base} #{count}"

    def impedance(self, base: str, a: str, b: str, z: Between, *spells: tuple[int, int]) -> str:
        """An impedance between two nodes, in the middle of its bounds."""
        name = self.name(base)
        self.put(Impedance(name, a, b, z.middle), *spells)
        self.values_of(name, (0,), z, middle=z.middle)
        if z.gap is not None:
            first = min((spell[0] for spell in spells), default=0)
            last = max((spell[1] for spell in spells), default=self.end)
            self.hole(z.gap, first=first, last=last)
            self.lacking[name] = (z.gap,)
        return name

    def values_of(self, name: str, arms: tuple[int, ...], z: Between, times: float = 1.0, middle: complex = 0) -> None:
        """What lies between bounds in an element, so many times that, relative to the middle."""
        low, high = (complex(end - middle / z.turn) * times for end in (z.low, z.high))
        if low.real < high.real:
            self.values.append(Value(name, arms, 0, z.turn * low.real, z.turn * high.real, z.resistance))
        if low.imag < high.imag:
            self.values.append(Value(name, arms, 1, z.turn * 1j * low.imag, z.turn * 1j * high.imag, z.reactance))

    def scenario(self, *names: str) -> int:
        """The number of the scenario in which these sources are on."""
        self.scenarios.append(Scenario(" with ".join(names), tuple(Energized(name) for name in names)))
        return len(self.scenarios) - 1

    def numbered_states(
        self, together: Sequence[Together]
    ) -> tuple[tuple[tuple[frozenset[str], Together], ...], tuple[int, ...]]:
        """The distinct sets of elements that are off, with the sources that drive together, and which of them holds at
        each position."""
        changes: dict[int, list[tuple[str, int]]] = {}
        count = dict.fromkeys(self.spells, 0)
        for name, spells in self.spells.items():
            for first, last in spells:
                changes.setdefault(first, []).append((name, 1))
                changes.setdefault(last + 1, []).append((name, -1))
        off = set(self.spells)
        number: dict[tuple[frozenset[str], Together], int] = {}
        state_at: list[int] = []
        now = -1
        for at in range(self.end + 1):
            if at in changes or now < 0 or together[at] != together[at - 1]:
                for name, step in changes.get(at, ()):
                    count[name] += step
                    (off.discard if count[name] > 0 else off.add)(name)
                now = number.setdefault((frozenset(off), together[at]), len(number))
            state_at.append(now)
        return tuple(number), tuple(state_at)
