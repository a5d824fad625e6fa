"""Solve a network for all its states, variants and scenarios together.

Scenarios that connect the same source poles share one inversion; states are one batch; states that are the same are
solved once.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from groundlint.electrical.solver.islands import islands
from groundlint.electrical.solver.kernel import NODAL_LIMIT, Right, admittances, nodal
from groundlint.electrical.solver.layout import (
    BoolArray,
    ComplexArray,
    IntArray,
    Layout,
    drives,
    elements_on,
    lay_out,
    node_names,
    poles_on,
)
from groundlint.electrical.solver.network import (
    Bond,
    Network,
    NotSolvable,
    Scenario,
    Source,
    Variant,
    check_element,
    check_network,
    poles,
)
from groundlint.electrical.solver.solution import CodeArray, Rows, Solution
from groundlint.electrical.solver.tree import CONDITION_LIMIT, cut_set

BATCH_NUMBERS: Final = 2_000_000
"""Complex numbers in the largest array of one batch; more states are solved batch after batch, so memory stays
bounded."""

UNBALANCED: Final = 1e-9
"""Share of the currents put into an island that may be left over before the island is taken to have no way back for
them."""


def solve(
    network: Network,
    states: Sequence[frozenset[str]],
    scenarios: Sequence[Scenario],
    *,
    variants: Sequence[Variant] = (),
    pairs: Sequence[tuple[str, str]] = (),
) -> Solution | NotSolvable:
    """Solve `network` at each of `states` (the passive elements that are off), for each scenario and variant.

    No variant means the elements as they are. `pairs` are the pairs of nodes whose open-circuit voltage and Thevenin
    impedance are wanted. An ill-formed question is a `NotSolvable` as a whole; a quantity that has no value is one by
    itself.
    """
    variants = tuple(variants) or (Variant("as stated"),)
    scenarios, pairs = tuple(scenarios), tuple(pairs)
    stand_ins = dict.fromkeys(element for variant in variants for element in variant.elements)
    if (problem := next(filter(None, map(check_element, (*network.elements, *stand_ins))), None)) is not None:
        return problem
    if (problem := check_network(network, scenarios, variants, dict.fromkeys(states))) is not None:
        return problem
    names = node_names(network)
    known = set(names)
    for pair in pairs:
        if not known.issuperset(pair):
            return NotSolvable(
                "a pair names a node that is not in the network", tuple(n for n in pair if n not in known)
            )

    distinct: dict[frozenset[str], int] = {}
    row = np.array([distinct.setdefault(state, len(distinct)) for state in states], dtype=np.intp)
    labels = tuple((e.name, k) for e in network.elements for k in range(poles(e)))
    work = _Work(network, variants, scenarios, pairs, names, labels)
    rows, reasons = work.solve(list(distinct))
    counts = {e.name: poles(e) for e in network.elements if poles(e)}
    first: dict[str, int] = {}
    for number, (name, _) in enumerate(labels):
        first.setdefault(name, number)
    node_at = {name: number for number, name in enumerate(names)}
    return Solution(node_at, first, counts, pairs, row, rows, tuple(reasons))


def _floating(nodes: tuple[str, ...]) -> NotSolvable:
    return NotSolvable("no path to earth fixes the potential of these nodes", nodes)


class _Reasons:
    """A list of reasons without repeats; code k stands for the k-th, counted from 1."""

    def __init__(self, reasons: list[NotSolvable]) -> None:
        self.reasons = reasons
        self._codes = {reason: number for number, reason in enumerate(reasons, 1)}

    def code(self, reason: NotSolvable) -> int:
        if reason not in self._codes:
            self.reasons.append(reason)
            self._codes[reason] = len(self.reasons)
        return self._codes[reason]


@dataclass(frozen=True, slots=True)
class _Batch:
    """One call of the kernel: states in `where` (row numbers) and scenarios in `columns`, with one layout and pole
    set."""

    layout: Layout
    where: IntArray
    columns: IntArray
    on: BoolArray
    poles: BoolArray
    emf: ComplexArray
    injected: ComplexArray


class _Work:
    """The states of one call that must be solved."""

    def __init__(
        self,
        network: Network,
        variants: Sequence[Variant],
        scenarios: Sequence[Scenario],
        pairs: Sequence[tuple[str, str]],
        names: tuple[str, ...],
        labels: tuple[tuple[str, int], ...],
    ) -> None:
        self.network, self.variants, self.scenarios, self.pairs = network, variants, scenarios, pairs
        self.names, self.labels = names, labels
        self.bonds = frozenset(e.name for e in network.elements if isinstance(e, Bond))

    def empty(self, states: int) -> Rows:
        """Arrays for so many states."""
        shape = (states, len(self.variants), len(self.scenarios))
        n, m, p = len(self.names), len(self.labels), len(self.pairs)
        return Rows(
            nodes=np.zeros((*shape, n), dtype=np.complex128),
            arms=np.zeros((*shape, m), dtype=np.complex128),
            open_circuit=np.zeros((*shape, p), dtype=np.complex128),
            thevenin=np.zeros((*shape, p), dtype=np.complex128),
            node_codes=np.zeros((*shape, n), dtype=np.int32),
            arm_codes=np.zeros((*shape, m), dtype=np.int32),
            pair_codes=np.zeros((*shape, p), dtype=np.int32),
            condition=np.ones(shape, dtype=np.float64),
        )

    def solve(self, offs: Sequence[frozenset[str]]) -> tuple[Rows, list[NotSolvable]]:
        """Rows and reasons for states that are all different."""
        rows, book = self.empty(len(offs)), _Reasons([])
        if not offs or not self.scenarios:
            return rows, book.reasons
        groups: dict[Hashable, list[int]] = {}
        # Currents and electromotive forces that are put in leave the admittances as they are.
        stiff = {e.name for e in self.network.elements if isinstance(e, Source) and poles(e)}
        for column, scenario in enumerate(self.scenarios):
            connected = frozenset((entry.source, entry.poles) for entry in scenario.on if entry.source in stiff)
            groups.setdefault((connected, scenario.off), []).append(column)
        layouts: dict[frozenset[str], tuple[Layout, BoolArray]] = {}
        for columns in groups.values():
            members = [self.scenarios[column] for column in columns]
            by_bonds: dict[frozenset[str], list[int]] = {}
            for number, off in enumerate(offs):
                by_bonds.setdefault(self.bonds & (off | members[0].off), []).append(number)
            for bonds_off, where in by_bonds.items():
                if bonds_off not in layouts:
                    layout = lay_out(self.network, bonds_off, self.variants)
                    layouts[bonds_off] = layout, elements_on(layout, offs)
                layout, on = layouts[bonds_off]
                emf, injected = drives(layout, self.network, members, self.variants)
                closed = poles_on(layout, self.network, members[0])
                width = max(len(self.labels), layout.nodes) * (len(columns) + len(self.pairs)) + layout.nodes**2
                step = max(1, BATCH_NUMBERS // max(1, width * len(self.variants)))
                for start in range(0, len(where), step):
                    part = np.array(where[start : start + step], dtype=np.intp)
                    self._run(_Batch(layout, part, np.array(columns), on[part], closed, emf, injected), rows, book)
        return rows, book.reasons

    def _run(self, batch: _Batch, rows: Rows, book: _Reasons) -> None:
        layout, count, variants = batch.layout, batch.where.size, len(self.variants)
        columns, arms = batch.columns.size, len(self.labels)
        self_admittance = _self_admittance(layout)
        arm_on = batch.on[:, layout.element_of_arm] & batch.poles & self_admittance
        number, roots = islands(layout, arm_on)
        y = admittances(layout, batch.poles, batch.on)

        first = np.array([layout.index[self.names.index(a)] for a, _ in self.pairs], dtype=np.intp)
        second = np.array([layout.index[self.names.index(b)] for _, b in self.pairs], dtype=np.intp)
        probe = np.zeros((layout.nodes + 1, len(self.pairs)), dtype=np.complex128)
        np.add.at(probe, (first, np.arange(first.size)), 1)
        np.add.at(probe, (second, np.arange(second.size)), -1)
        injected = np.concatenate(
            [batch.injected, np.broadcast_to(probe[:-1], (variants, layout.nodes, len(self.pairs)))], axis=2
        )
        # One variant drives all states alike, so one row serves for all of them.
        times = 1 if variants == 1 else count
        right = Right(np.tile(batch.emf, (times, 1, 1)), np.tile(injected, (times, 1, 1)))
        answer = nodal(layout, y, right, np.repeat(roots, variants, axis=0), (first, second))

        shape = (count, variants, columns)
        node_codes = np.zeros((*shape, layout.nodes + 1), dtype=np.int32)
        arm_codes = np.zeros((*shape, arms), dtype=np.int32)
        pair_codes = np.zeros((*shape, len(self.pairs)), dtype=np.int32)
        condition = answer.condition.copy()
        for bad in np.flatnonzero(~(answer.condition <= NODAL_LIMIT)).tolist():
            state, variant = divmod(bad, variants)
            tree = cut_set(
                layout,
                y.dense(layout, bad),
                right.emf[bad % len(right.emf)],
                right.injected[bad % len(right.emf)],
                (first, second),
            )
            answer.nodes[bad], answer.currents[bad], answer.pairs[bad] = tree.nodes, tree.currents, tree.pairs
            condition[bad] = tree.condition if np.isfinite(tree.condition) else np.finfo(np.float64).max
            if tree.bad_nodes.any() or tree.bad_arms.any():
                code = book.code(_ill_conditioned(layout, tree.bad_nodes, tree.condition))
                node_codes[state, variant, :, :-1][:, tree.bad_nodes] = code
                arm_codes[state, variant][:, tree.bad_arms] = code
                pair_codes[state, variant][:, tree.bad_pairs] = code

        nodes = np.concatenate([answer.nodes, np.zeros((count * variants, 1, columns))], axis=1)
        nodes = nodes.reshape(count, variants, layout.nodes + 1, columns).transpose(0, 1, 3, 2)
        voltages = nodes.copy() if number.any() else nodes
        currents = answer.currents.reshape(count, variants, arms, columns).transpose(0, 1, 3, 2)
        across = answer.pairs.reshape(count, variants, len(self.pairs), columns + len(self.pairs))
        opened = np.ascontiguousarray(across[..., :columns].transpose(0, 1, 3, 2))
        own = np.diagonal(across[..., columns:], axis1=-2, axis2=-1)
        thevenin = np.repeat(own[:, :, None, :], columns, axis=2)
        if number.any():
            marks = _Marks(batch, number, arm_on, first, second, voltages, opened, thevenin)
            self._mark(marks, node_codes, arm_codes, pair_codes, book)
        # An arm that is off carries nothing, whatever its ends do.
        arm_codes[np.broadcast_to(~arm_on[:, None, None, :], arm_codes.shape)] = 0

        target = np.ix_(batch.where, np.arange(variants), batch.columns)
        rows.nodes[target] = voltages[..., layout.index]
        rows.node_codes[target] = node_codes[..., layout.index]
        order = [layout.first_arm[name] + k for name, k in self.labels]
        rows.arms[target] = currents[..., order]
        rows.arm_codes[target] = arm_codes[..., order]
        rows.open_circuit[target] = opened
        rows.thevenin[target] = thevenin
        rows.pair_codes[target] = pair_codes
        rows.condition[target] = condition.reshape(count, variants, 1)

    def _mark(
        self, marks: _Marks, node_codes: CodeArray, arm_codes: CodeArray, pair_codes: CodeArray, book: _Reasons
    ) -> None:
        """Say of every state with an island that has no path to earth which quantities have a value all the same."""
        batch = marks.batch
        alike: dict[bytes, list[int]] = {}
        for state in np.flatnonzero(marks.number.any(axis=1)).tolist():
            key = marks.number[state].tobytes() + (marks.arm_on[state].tobytes() if self.network.isolated else b"")
            alike.setdefault(key, []).append(state)
        for members in alike.values():
            number = marks.number[members[0]]
            verdicts = _verdicts(self.network, batch, number, marks.arm_on[members[0]], book)
            mine, theirs = number[marks.first], number[marks.second]
            apart = mine != theirs
            for column in range(batch.columns.size):
                codes, unbalanced, at_zero = verdicts[column]
                spot = np.ix_(members, range(len(self.variants)), [column])
                node_codes[spot] = np.where(node_codes[spot] == 0, codes, node_codes[spot])
                marks.voltages[spot] = np.where(at_zero, 0, marks.voltages[spot])
                arm_code = np.maximum(unbalanced[batch.layout.a], unbalanced[batch.layout.b])
                arm_codes[spot] = np.where(arm_codes[spot] == 0, arm_code, arm_codes[spot])
                one, two = codes[marks.first], codes[marks.second]
                between = np.where(one != 0, one, two)
                within = np.maximum(unbalanced[marks.first], unbalanced[marks.second])
                code = np.where(apart, between, within)
                pair_codes[spot] = np.where(pair_codes[spot] == 0, code, pair_codes[spot])
                volts = marks.voltages[spot]
                marks.opened[spot] = np.where(
                    apart, volts[..., marks.first] - volts[..., marks.second], marks.opened[spot]
                )
                marks.thevenin[spot] = np.where(apart, np.inf, marks.thevenin[spot])


@dataclass(frozen=True, slots=True)
class _Marks:
    """What a batch gave, to be marked where islands have no path to earth."""

    batch: _Batch
    number: IntArray
    arm_on: BoolArray
    first: IntArray
    second: IntArray
    voltages: ComplexArray
    opened: ComplexArray
    thevenin: ComplexArray


def _self_admittance(layout: Layout) -> BoolArray:
    """Which arms join their ends at all: a shunt may have a zero diagonal."""
    out = np.ones(len(layout.arm_labels), dtype=np.bool_)
    for block in layout.blocks:
        diagonal = np.diagonal(block.matrix, axis1=-2, axis2=-1)
        out[block.arms] = (diagonal != 0).any(axis=0)
    return out


def _ill_conditioned(layout: Layout, bad: BoolArray, condition: float) -> NotSolvable:
    nodes = layout.members(np.flatnonzero(bad).tolist())
    if not np.isfinite(condition):
        return NotSolvable("the network is singular at these nodes", nodes)
    return NotSolvable(
        f"the network is ill-conditioned at these nodes: condition number {condition:.1e}, limit {CONDITION_LIMIT:.0e}",
        nodes,
    )


def _verdicts(
    network: Network, batch: _Batch, number: IntArray, arm_on: BoolArray, book: _Reasons
) -> list[tuple[CodeArray, CodeArray, BoolArray]]:
    """For each scenario of a batch: codes of nodes, codes where an island is unbalanced, and nodes at 0 V [nodes +
    1]."""
    layout = batch.layout
    stated = np.zeros(layout.nodes + 1, dtype=np.bool_)
    stated[[int(layout.index[k]) for k, name in enumerate(layout.names) if name in network.isolated]] = True
    coupled = _coupled_arms(layout, number, arm_on)
    result = []
    for column in range(batch.columns.size):
        codes = np.zeros(layout.nodes + 1, dtype=np.int32)
        unbalanced, at_zero = codes.copy(), np.zeros(layout.nodes + 1, dtype=np.bool_)
        put_in = batch.injected[:, :, column]
        moved = arm_on & (batch.emf[:, :, column] != 0).any(axis=0)
        for island in range(1, int(number.max()) + 1):
            inside = number == island
            nodes = layout.members(np.flatnonzero(inside).tolist())
            current = put_in[:, inside[:-1]]
            left_over = np.abs(current.sum(axis=1)) > UNBALANCED * np.abs(current).sum(axis=1)
            arms = inside[layout.a]
            if left_over.any():
                code = book.code(NotSolvable("a current is put into nodes that have no path to earth", nodes))
                codes[inside] = unbalanced[inside] = code
            elif stated[inside].any() and not current.any() and not ((moved | coupled) & arms).any():
                at_zero |= inside
            else:
                codes[inside] = book.code(_floating(nodes))
        result.append((codes, unbalanced, at_zero))
    return result


def _coupled_arms(layout: Layout, number: IntArray, arm_on: BoolArray) -> BoolArray:
    """Arms that another island's currents induce a voltage in."""
    out = np.zeros(arm_on.size, dtype=np.bool_)
    island = number[layout.a]
    for block in layout.blocks:
        if block.size == 1:
            continue
        mutual = (block.matrix != 0).any(axis=0)
        own, on = island[block.arms], arm_on[block.arms]
        apart = (own[:, :, None] != own[:, None, :]) & on[:, :, None] & on[:, None, :] & mutual
        out[block.arms] = apart.any(axis=2)
    return out
