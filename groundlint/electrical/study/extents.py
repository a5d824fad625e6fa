"""How far currents and voltages of a circuit reach while everything that is assumed moves within its bounds.

The circuit is solved once for each state, in the middle of the bounds, with the nodes of every value among the pairs
asked. What one value does to any quantity then follows from that solution, and so does what a source drives that
returns in one way or another (compensation, or Thevenin's theorem at its terminals).
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Mapping, Sequence, Set
from functools import cached_property
from typing import Final

import numpy as np

from groundlint.electrical.physics.constants import ComplexArray, FloatArray
from groundlint.electrical.physics.sources import bolted_current
from groundlint.electrical.solver.network import BALANCED, Impedance, NotSolvable, Span, sequence_matrix
from groundlint.electrical.solver.ports import port_impedances, port_problem
from groundlint.electrical.solver.solution import Solution
from groundlint.electrical.study.circuit import BESIDE, Return, Site
from groundlint.electrical.study.following import Asked, Driven, Extent, Following, Pair
from groundlint.electrical.study.kept import KEPT, code
from groundlint.plan.models import SupplySource
from groundlint.text.store import digest

NO_ZERO_SEQUENCE: Final = 1e6
"""Zero-sequence impedance, as a multiple of the positive one, that stands for a source without a path for it."""

NOTHING: Final = 1.0
"""A and V: of less than that while a source returns nothing is known but that it is no more."""

UNLIMITED: Final = 1e12
"""A: what a fault draws that nothing limits."""

POLES: Final = "poles"
LEAST: Final = "least of poles"
WEAKEST: Final = "weakest of poles"
"""What the currents in a source's poles are asked under: all, the least of all, and those with the largest of the way
alone that draws least."""

OF_POLES: Final = {
    POLES: Asked(timed=True),
    LEAST: Asked(timed=True, largest=False),
    WEAKEST: Asked(weakest=True),
}


def packed(extents: Sequence[Extent]) -> bytes:
    """Bounds as bytes; `unpacked` makes them again."""
    head = np.array(
        [(one.ends.shape[1], len(one.moved), len(one.guess), one.which, one.way) for one in extents], dtype="<i8"
    )
    values = [part for one in extents for part in (one.ends.ravel(), one.moved, one.guess)]
    return len(extents).to_bytes(8, "little") + head.tobytes() + np.concatenate([*values, []]).astype("<f8").tobytes()


def unpacked(raw: bytes) -> list[Extent]:
    """Bounds out of what `packed` made of them."""
    count = int.from_bytes(raw[:8], "little")
    head = np.frombuffer(raw, dtype="<i8", count=5 * count, offset=8).reshape(count, 5)
    values = np.frombuffer(raw, dtype="<f8", offset=8 + head.nbytes)
    found, at = [], 0
    for ways, names, guessed, which, way in head.tolist():
        middle, last = at + 2 * ways, at + 2 * ways + names
        guess = values[last : last + guessed]
        found.append(Extent(values[at:middle].reshape(2, ways), values[middle:last], which, way, guess))
        at = last + guessed
    return found


class _Arms:
    """The arms of a site that carry values or are asked for, as arrays."""

    def __init__(self, site: Site, elements: Sequence[str]) -> None:
        every = {element.name: element for element in site.network.elements}
        self.elements: list[str] = []
        self.first: dict[str, int] = {}
        self.nodes: list[Pair] = []
        self.blocks: list[slice] = []
        matrices: list[ComplexArray] = []
        for name in dict.fromkeys((*(value.element for value in site.values), *elements)):
            element = every[name]
            assert isinstance(element, Impedance | Span)
            first = self.first[name] = len(self.nodes)
            if isinstance(element, Impedance):
                self.nodes.append((element.a, element.b))
                matrices.append(np.array([[1 / element.z]]))
            else:
                self.nodes += zip(element.a, element.b, strict=True)
                matrices.append(np.linalg.inv(np.array(element.z)))
                self.blocks.append(slice(first, len(self.nodes)))
            self.elements += [name] * (len(self.nodes) - first)
        count = len(self.nodes)
        self.own = np.zeros(count, dtype=np.complex128)  # of arms that are coupled with no other
        self.coupled: list[ComplexArray] = []
        for name, matrix in zip(self.first, matrices, strict=True):
            if len(matrix) == 1 and isinstance(every[name], Impedance):
                self.own[self.first[name]] = matrix[0, 0]
            else:
                self.coupled.append(matrix)
        self.branches = list(dict.fromkeys((value.element, value.arms) for value in site.values))
        self.values = np.zeros((count, len(self.branches)), dtype=np.complex128)
        for k, (name, arms) in enumerate(self.branches):
            for arm in arms:
                self.values[self.first[name] + arm, k] = 1
        self.alone = np.array(
            [self.first[name] + arms[0] if len(arms) == 1 else -1 for name, arms in self.branches], dtype=np.intp
        )
        self.joint = [(k, name, arms) for k, (name, arms) in enumerate(self.branches) if len(arms) > 1]

    def currents(self, volts: ComplexArray, on: FloatArray) -> ComplexArray:
        """Currents of the arms that are on [arm, q] for voltages along them."""
        out: ComplexArray = self.own[:, None] * volts
        for part, matrix in zip(self.blocks, self.coupled, strict=True):
            out[part] = matrix @ volts[part]
        out *= on[:, None]
        return out

    def of_values(self, by_arm: ComplexArray) -> ComplexArray:
        """What is known by arm [arm, q], by branch [branch, q]: that of its arm, or the sum over its arms."""
        out: ComplexArray = by_arm[self.alone]
        for k, name, arms in self.joint:
            out[k] = by_arm[[self.first[name] + arm for arm in arms]].sum(axis=0)
        return out

    def on(self, off: frozenset[str]) -> FloatArray:
        """Which arms are on at a state, as 1 or 0."""
        return np.array([name not in off for name in self.elements], dtype=np.float64)


class Extents:
    """A site solved, and the bounds of what is asked of it. `wanted` says what, by state and key; `likely` at which
    states, and while which sources return, the currents in a source's poles will be asked as well, by what they are
    asked under; `heat` of a state and a source by how much what it drives by a way counts for what that heats [way]."""

    def __init__(
        self,
        site: Site,
        wanted: Mapping[int, Mapping[object, Asked]],
        likely: Mapping[str, Set[tuple[int, SupplySource]]],
        heat: Callable[[int, SupplySource], FloatArray] | None = None,
    ) -> None:
        self.site = site
        self.wanted = wanted
        self.likely = likely
        self.heat = heat
        self._models: dict[int, _Model] = {}
        self._poles: dict[tuple[object, ...], Extent] = {}
        shares = [share for value in site.values for share in value.shares]
        shares += site.body.resistance if site.body is not None else ()
        shares += [(one.assumed, 1.0) for one in site.returns if one.assumed]
        shares += [share for one in site.returns for share in one.settled]
        shares += [("parallel-earth-return", 1.0)] * any(one.sort == BESIDE for one in site.returns)
        self.names = {name: k for k, name in enumerate(dict.fromkeys(name for name, _ in shares))}
        elements = [name for names in (*site.leads.values(), *site.rods.values()) for name in names]
        self.arms = _Arms(site, elements)
        asked = (asked.pairs for of_state in wanted.values() for asked in of_state.values())
        self.pairs = tuple(dict.fromkeys(itertools.chain(*asked, *site.ports.values(), self.arms.nodes)))
        self.number = {pair: k for k, pair in enumerate(self.pairs)}
        self.low = np.zeros((2, len(self.arms.branches)), dtype=np.complex128)
        self.high = self.low.copy()
        self.shares = np.zeros((len(self.arms.branches), 2, len(self.names)))
        for value in site.values:
            part, k = value.line, self.arms.branches.index((value.element, value.arms))
            self.low[part, k], self.high[part, k] = value.low, value.high
            whole = sum(share for _, share in value.shares)
            for name, share in value.shares:
                self.shares[k, part, self.names[name]] += share / whole if whole else 0.0

    @cached_property
    def problem(self) -> NotSolvable | None:
        """What is wrong with the circuit as a whole, if anything."""
        return port_problem(self.site.network, self.site.states)

    def nothing(self, ways: int) -> Extent:
        """What is not there."""
        return Extent(np.zeros((2, ways)), np.zeros(len(self.names)))

    def extent(self, state: int, source: SupplySource, key: object) -> Extent | None:
        """Bounds of what is wanted under a key at a state while a source returns; None where it was not. Those of the
        currents in the source's poles are found when they are first asked, those `likely` all at once."""
        if key not in OF_POLES:
            return self._things.get((state, source, key))
        if (state, source, key) not in self._poles:
            likely = self.likely[key]
            asked = OF_POLES[key]._replace(every=frozenset(self.site.sources))
            self._poles |= self._while_returning(
                {one: [s for s in self.site.sources if (one, s) in likely] for one in self.wanted}
                if (state, source) in likely
                else {state: [source]},
                lambda _: {key: asked},
                self._bolted if asked.weakest else None,
            )
        return self._poles[state, source, key]

    @cached_property
    def _things(self) -> dict[tuple[object, ...], Extent]:
        return self._while_returning(
            {state: list(self.site.sources) for state in self.wanted}, self.wanted.__getitem__, self.heat
        )

    def lows(self, keys: Mapping[int, set[object]]) -> dict[tuple[object, ...], Extent]:
        """What is wanted under some keys at some states while each source returns, with the least ends alone."""
        asked = {
            state: {
                key: one._replace(largest=False, least=True) for key, one in self.wanted[state].items() if key in mine
            }
            for state, mine in keys.items()
        }
        return self._while_returning({state: list(self.site.sources) for state in asked}, asked.__getitem__, self.heat)

    def _bolted(self, state: int, source: SupplySource) -> FloatArray:
        """By how much a source's current counts as a share of what a fault without impedance draws [way]; one that
        draws nothing even then is no fault."""
        equivalent = self.site.sources[source]
        most = [bolted_current(equivalent, sum(way.poles)) for way in self.site.ways(source, state)]
        # where nothing limits a fault, whatever flows is next to none of it
        return np.array([1 / min(amps, UNLIMITED) if amps else 0.0 for amps in most])

    def _while_returning(
        self,
        sources: Mapping[int, Sequence[SupplySource]],
        wanted: Callable[[int], Mapping[object, Asked]],
        heat: Callable[[int, SupplySource], FloatArray] | None = None,
    ) -> dict[tuple[object, ...], Extent]:
        """Bounds of what is wanted at each state while each of some sources returns."""
        found: dict[tuple[object, ...], Extent] = {}
        new: dict[tuple[int, SupplySource], bytes] = {}
        heats: dict[tuple[int, SupplySource], FloatArray] = {}
        for state, returning in sources.items():
            asked = wanted(state)
            for source in returning if asked else ():
                if heat is not None:
                    hot = heat(state, source)
                    heats[state, source] = hot / (hot.max() or 1.0)  # as it is known of another plan
                key = self._content(state, source, asked, heats.get((state, source)))
                kept = KEPT.get(key)
                if kept is None:
                    new[state, source] = key
                else:
                    found |= {(state, source, one): extent for one, extent in zip(asked, unpacked(kept), strict=True)}
        search = Following(self.low, self.high, self.shares, NOTHING)
        models = self.solved(state for state, _ in new)
        for state, those in itertools.groupby(new, key=lambda one: one[0]):
            asked, model = wanted(state), models[state]
            rows = model.rows(asked)
            for _, source in those:
                driven = model.returning(source, self.site.ways(source, state), rows)
                driven = driven._replace(heat=heats.get((state, source)))
                search.add((state, source), asked, driven, len(self.site.ports[source]))
        found |= search.found()
        KEPT.put(
            (key, packed([found[state, source, one] for one in wanted(state)])) for (state, source), key in new.items()
        )
        return found

    def _content(
        self, state: int, source: SupplySource, asked: Mapping[object, Asked], heat: FloatArray | None
    ) -> bytes:
        """A digest of all that the bounds at a state while a source returns follow from, whatever plan it is of."""
        site = self.site
        ways = site.ways(source, state)
        driving = list(dict.fromkeys((source, *(other for way in ways for other, _ in way.others))))
        sources = [(*site.sources[one][:2], site.sources[one].z0, site.ports[one]) for one in driving]
        return digest(
            self.of_state[state],
            repr(
                [
                    (emf, z1, z0 if z0 is None or isinstance(z0, complex) else NO_ZERO_SEQUENCE, ports)
                    for emf, z1, z0, ports in sources
                ]
            ),
            repr([[way.driving.get(one) for one in driving] for way in ways]),
            repr([one._replace(every=frozenset()) for one in asked.values()]),
            repr([[thing in one.every for thing in driving] for one in asked.values()]),
            b"" if heat is None else heat.tobytes(),
        )

    @cached_property
    def of_state(self) -> list[bytes]:
        """A digest of what is connected at each state, what may move in it, and what computes it."""
        elements = sorted((element.name, repr(element)) for element in self.site.network.elements)
        values = [(value.element, repr(value)) for value in self.site.values]
        return [
            digest(
                code(),
                repr(tuple(self.names)),
                *(text for name, text in elements if name not in off),
                "values",
                *(text for name, text in values if name not in off),
            )
            for off in self.site.states
        ]

    def solved(self, states: Iterable[int]) -> dict[int, _Model]:
        """Some states, solved where they have not been before."""
        new = [state for state in dict.fromkeys(states) if state not in self._models]
        if new:
            impedance = port_impedances(self.site.network, [self.site.states[state] for state in new], self.pairs)
            assert not isinstance(impedance, NotSolvable)  # `problem` is asked before
            self._models |= {state: _Model(self, state, own) for state, own in zip(new, impedance, strict=True)}
        return self._models


class _Model:
    """One state: what an electromotive force in a value's branch does to every arm."""

    def __init__(self, extents: Extents, state: int, impedance: ComplexArray) -> None:
        arms = extents.arms
        self.extents, self.state = extents, state
        self.impedance = impedance
        self.on = arms.on(extents.site.states[state])
        self.at = np.array([extents.number[pair] for pair in arms.nodes], dtype=np.intp)
        self.into = arms.currents(arms.values, self.on)  # out of the ends of each arm, by 1 V in a value's branch
        left: ComplexArray = arms.values - self._between(self.into)
        self.currents = arms.currents(left, self.on)  # of each arm, by 1 V in a value's branch
        self.base = arms.of_values(self.currents)

    @cached_property
    def with_body(self) -> ComplexArray:
        """The matrix between values, and a body that nothing drives yet."""
        base = np.zeros((len(self.base) + 1,) * 2, dtype=np.complex128)
        base[:-1, :-1] = self.base
        return base

    def _between(self, into: ComplexArray) -> ComplexArray:
        """Voltages along the arms by currents put into their ends, most of which are those of one arm by itself."""
        arms = self.extents.arms
        rows = self.impedance[self.at]
        columns = rows[:, self.at]
        out: ComplexArray = columns[:, arms.alone] * into[arms.alone, np.arange(len(arms.alone))]
        for part in arms.blocks:
            mine = np.flatnonzero((arms.values[part] != 0).any(axis=0))
            out[:, mine] = columns[:, part] @ into[part][:, mine]
        return out

    def rows(self, asked: Mapping[object, Asked]) -> tuple[ComplexArray, ComplexArray, list[int]]:
        """What each quantity is by 1 V in a value's branch [q, k], and by 1 A into each pair [q, pair]; where among the
        quantities the poles of a source are to stand."""
        extents = self.extents
        rows, drives, poles = [], [], []
        for one in asked.values():
            for element in one.arms:
                arm = extents.arms.first[element]
                rows.append(self.currents[arm])
                drives.append(extents.arms.own[arm] * self.on[arm] * self.impedance[self.at[arm]])
            for pair in one.pairs:
                number = extents.number[pair]
                rows.append(-self._values_by(number))
                drives.append(self.impedance[number])
            if not (one.arms or one.pairs):
                poles.append(len(rows))
        width = extents.low.shape[1], len(extents.pairs)
        by_value, by_pair = (
            np.array(found, dtype=np.complex128).reshape(len(found), count)
            for found, count in zip((rows, drives), width, strict=True)
        )
        return by_value, by_pair, poles

    def _values_by(self, number: int) -> ComplexArray:
        """Current of each value by 1 A into a pair [k]."""
        arms = self.extents.arms
        volts = self.impedance[number, self.at]
        return arms.of_values(arms.currents(volts[:, None], self.on))[:, 0]

    def returning(
        self, source: SupplySource, ways: Sequence[Return], rows: tuple[ComplexArray, ComplexArray, list[int]]
    ) -> Driven:
        """Every quantity while a source returns by each of its ways; poles are its own."""
        site, number = self.extents.site, self.extents.number
        driving = list(dict.fromkeys((source, *(other for way in ways for other, _ in way.others))))
        first, count = {}, 0
        for one in driving:
            first[one], count = count, count + len(site.ports[one])
        ports = np.array([number[pair] for one in driving for pair in site.ports[one]], dtype=np.intp)
        loop = self.impedance[ports[:, None], ports[None, :]].copy()
        emf = np.zeros(count, dtype=np.complex128)
        for one in driving:
            own = len(site.ports[one])
            mine = slice(first[one], first[one] + own)
            equivalent = site.sources[one]
            z0 = equivalent.z0 if isinstance(equivalent.z0, complex) else NO_ZERO_SEQUENCE * equivalent.z1
            loop[mine, mine] += np.array(sequence_matrix(equivalent.z1, z0))[:own, :own]
            emf[mine] = equivalent.emf * np.array(BALANCED)[:own]
        inverse = np.zeros((len(ways), count, count), dtype=np.complex128)
        for place, way in enumerate(ways):
            on: list[int] = []
            for one, chosen in way.driving.items():
                poles = np.flatnonzero(chosen[: len(site.ports[one])])
                if not (site.sources[one].z0 is None and poles.size == 1):
                    on += (first[one] + poles).tolist()
            which = np.array(on, dtype=np.intp)
            inverse[place, which[:, None], which[None, :]] = np.linalg.inv(loop[which[:, None], which[None, :]])
        into = np.stack([self._values_by(int(port)) for port in ports], axis=1)
        by_value, by_pair, of_poles = rows
        drives = by_pair[:, ports]
        out = inverse @ emf
        across = inverse @ into.T  # current out of each pole by 1 V in a value's branch
        value = out @ drives.T
        row = by_value + drives @ across
        own = len(site.ports[source])
        for place in reversed(of_poles):
            value = np.concatenate([value[:, :place], out[:, :own], value[:, place:]], axis=1)
            row = np.concatenate([row[:, :place], across[:, :own], row[:, place:]], axis=1)
        by = tuple(frozenset(way.driving.items()) for way in ways)
        return Driven(value, row, out @ into.T, self.base, into, across, by)

    def induced(self, solution: Solution, pairs: Sequence[Pair], columns: Sequence[int]) -> Driven:
        """Voltages of pairs in each of some scenarios, of which `solution` says what they do in the middle."""
        arms = self.extents.arms
        row = int(solution.row[self.state])
        lines = [solution.first_arm[name] + k - arms.first[name] for k, name in enumerate(arms.elements)]
        current = arms.of_values(solution.rows.arms[row, 0][np.ix_(columns, lines)].T).T
        places = [solution.pairs.index(pair) for pair in pairs]
        value = solution.rows.open_circuit[row, 0][np.ix_(columns, places)]
        by_value = np.array([-self._values_by(self.extents.number[pair]) for pair in pairs])
        count = len(columns)
        return Driven(
            value,
            np.broadcast_to(by_value, (count, *by_value.shape)),
            current,
            self.base,
            np.zeros((len(self.base), 0), dtype=np.complex128),
            np.zeros((count, 0, len(self.base)), dtype=np.complex128),
        )

    def bridged(self, solution: Solution, pair: Pair, columns: Sequence[int], body: complex) -> Driven:
        """The current through a body across a pair in each of some scenarios, of which `solution` says what they do
        without it; the body is the last of the values."""
        arms = self.extents.arms
        row = int(solution.row[self.state])
        lines = [solution.first_arm[name] + k - arms.first[name] for k, name in enumerate(arms.elements)]
        idle = arms.of_values(solution.rows.arms[row, 0][np.ix_(columns, lines)].T).T
        number = self.extents.number[pair]
        share = 1 / (body + self.impedance[number, number])
        into = np.append(-self._values_by(number), 1.0)[:, None]
        current = solution.rows.open_circuit[row, 0, list(columns), solution.pairs.index(pair)] * share
        across = share * into.T
        count = len(columns)
        return Driven(
            current[:, None],
            np.broadcast_to(across, (count, *across.shape)),
            np.append(idle, np.zeros((count, 1)), axis=1) + current[:, None] * into[:, 0],
            self.with_body,
            into,
            np.broadcast_to(across, (count, *across.shape)),
        )
