"""A network as arrays: node numbers after ideal bonds are merged, arms, coupled blocks, and where each number is added.

An arm is one conductor of one element, from node ``a`` to node ``b``. Arms of one element are coupled by its block,
so the currents of a block are ``Y (d + E)`` with d the arms' voltages and E the electromotive forces in them. Nothing
here depends on which arms are on; the solver masks the admittances of those that are off.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from groundlint.electrical.solver.network import (
    EARTH,
    Bond,
    CapacitiveCoupling,
    CurrentSource,
    Element,
    Energized,
    Impedance,
    InducedEmf,
    Matrix,
    Network,
    Scenario,
    ShuntAdmittance,
    Span,
    ThreePhaseSource,
    Variant,
    VoltageSource,
    sequence_matrix,
    terminals,
)

ComplexArray = NDArray[np.complex128]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]
FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Block:
    """All elements with one number of conductors: `arms` [k, size] and `matrix` [variant, k, size, size] in ohm or
    siemens."""

    size: int
    elements: IntArray
    arms: IntArray
    matrix: ComplexArray
    impedance: BoolArray


@dataclass(frozen=True, slots=True)
class Scatter:
    """How terms are summed into slots, in layers that hold at most one term for each slot: (slots, terms, signs)."""

    layers: tuple[tuple[IntArray, IntArray, FloatArray], ...]
    slots: int

    def add(self, terms: NDArray[Any]) -> NDArray[Any]:
        """Sum over the first axis, networks last so that they lie side by side: [terms, N] to [slots, N]."""
        out = np.zeros((self.slots, terms.shape[1]), dtype=terms.dtype)
        for slots, order, sign in self.layers:
            part = terms.take(order, axis=0)
            part *= sign
            out[slots] += part
        return out


@dataclass(frozen=True, slots=True)
class Layout:
    """The arrays of one network with one set of ideal bonds; `nodes` counts merged nodes, and earth has that number.

    `incidence` [arm, nodes + 1] is 1 where an arm begins and -1 where it ends.
    """

    names: tuple[str, ...]
    index: IntArray
    nodes: int
    branch_names: tuple[str, ...]
    arm_labels: tuple[tuple[str, int], ...]
    first_arm: dict[str, int]
    element_of_arm: IntArray
    a: IntArray
    b: IntArray
    blocks: tuple[Block, ...]
    entry_rows: IntArray
    entry_columns: IntArray
    nodal: Scatter
    gross: Scatter
    incidence: FloatArray

    def members(self, numbers: Iterable[int]) -> tuple[str, ...]:
        """The names of the nodes that were merged into any of `numbers`, in the network's order."""
        wanted = set(numbers)
        return tuple(name for name, number in zip(self.names, self.index.tolist(), strict=True) if number in wanted)


def internal_neutral(source: ThreePhaseSource) -> str:
    """The name of the star point of a source that has no zero-sequence path."""
    return f"{source.name}.neutral"


def ends(element: Element) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The nodes at which the arms of an element begin and end; empty where it has no arms."""
    match element:
        case Impedance() | VoltageSource():
            return (element.a,), (element.b,)
        case Span():
            return element.a, element.b
        case ShuntAdmittance():
            return element.nodes, (EARTH,) * len(element.nodes)
        case ThreePhaseSource():
            neutral = internal_neutral(element) if element.z0 is None else element.neutral
            return (neutral,) * 3, element.phases
        case _:
            return (), ()


def block_matrix(element: Element) -> Matrix:
    """The series impedance (ohm) of the element's arms, or the admittance (siemens) of a `ShuntAdmittance`."""
    match element:
        case Impedance() | VoltageSource():
            return ((element.z,),)
        case Span():
            return element.z
        case ShuntAdmittance():
            return element.y
        case ThreePhaseSource():
            return sequence_matrix(element.z1, element.z1 if element.z0 is None else element.z0)
        case _:
            return ()


def node_names(network: Network) -> tuple[str, ...]:
    """Every node of a network, earth first, in order of first mention; node order decides no result."""
    names: dict[str, None] = {EARTH: None}
    for element in network.elements:
        if isinstance(element, ThreePhaseSource) and element.z0 is None:
            names[internal_neutral(element)] = None
        names.update(dict.fromkeys(terminals(element)))
    return tuple(names)


def _merge(names: Sequence[str], bonds: Iterable[Bond]) -> tuple[IntArray, int]:
    parent = list(range(len(names)))
    where = {name: number for number, name in enumerate(names)}

    def root(number: int) -> int:
        while parent[number] != number:
            parent[number] = parent[parent[number]]
            number = parent[number]
        return number

    for bond in bonds:
        first, second = sorted((root(where[bond.a]), root(where[bond.b])))
        parent[second] = first  # earth is number 0 and so always stays a root
    roots = [root(number) for number in range(len(names))]
    numbers: dict[int, int] = {}
    for number in roots[1:]:
        if number != 0:
            numbers.setdefault(number, len(numbers))
    numbers[0] = len(numbers)
    return np.array([numbers[number] for number in roots], dtype=np.intp), len(numbers) - 1


def _scatter(parts: Sequence[tuple[IntArray, IntArray, float]], slots: int) -> Scatter:
    """Build a `Scatter` from (terms, targets, sign) triples; a negative target is dropped (earth's own row)."""
    terms = np.concatenate([part[0] for part in parts])
    targets = np.concatenate([part[1] for part in parts])
    signs = np.concatenate([np.full(part[0].shape, part[2]) for part in parts])
    kept = targets >= 0
    terms, targets, signs = terms[kept], targets[kept], signs[kept]
    order = np.argsort(targets, kind="stable")
    terms, targets, signs = terms[order], targets[order], signs[order]
    # The rank of a term among those of its slot says which layer it is in.
    first = np.searchsorted(targets, targets, side="left")
    rank = np.arange(targets.size) - first
    layers = [rank == level for level in range(int(rank.max(initial=-1)) + 1)]
    return Scatter(tuple((targets[part], terms[part], signs[part][:, None]) for part in layers), slots)


def lay_out(network: Network, bonds_off: frozenset[str], variants: Sequence[Variant]) -> Layout:
    """Number the nodes and arms of a checked network whose bonds, but those in `bonds_off`, are closed."""
    names = node_names(network)
    closed = [e for e in network.elements if isinstance(e, Bond) and e.name not in bonds_off]
    index, nodes = _merge(names, closed)
    where = dict(zip(names, index.tolist(), strict=True))
    replaced = [{element.name: element for element in variant.elements} for variant in variants]

    by_size: dict[int, list[tuple[int, Element]]] = {}
    branch_names: list[str] = []
    for element in network.elements:
        if begin := ends(element)[0]:
            by_size.setdefault(len(begin), []).append((len(branch_names), element))
            branch_names.append(element.name)

    labels: list[tuple[str, int]] = []
    first_arm: dict[str, int] = {}
    owner: list[int] = []
    starts: list[int] = []
    stops: list[int] = []
    blocks: list[Block] = []
    rows: list[IntArray] = [np.empty(0, dtype=np.intp)]
    columns: list[IntArray] = [np.empty(0, dtype=np.intp)]
    # Arms of one block lie side by side, so that the solver takes slices.
    for size, group in sorted(by_size.items()):
        arms = (len(labels) + np.arange(len(group) * size, dtype=np.intp)).reshape(-1, size)
        for number, element in group:
            begin, end = ends(element)
            first_arm[element.name] = len(labels)
            owner.extend([number] * size)
            labels.extend((element.name, k) for k in range(size))
            starts.extend(where[node] for node in begin)
            stops.extend(where[node] for node in end)
        values = np.array(
            [[block_matrix(swap.get(element.name, element)) for _, element in group] for swap in replaced],
            dtype=np.complex128,
        ).reshape(len(variants), len(group), size, size)
        impedance = np.array([not isinstance(element, ShuntAdmittance) for _, element in group])
        blocks.append(Block(size, np.array([number for number, _ in group], dtype=np.intp), arms, values, impedance))
        rows.append(np.repeat(arms, size, axis=1).ravel())
        columns.append(np.tile(arms, (1, size)).ravel())
    a, b = np.array(starts, dtype=np.intp), np.array(stops, dtype=np.intp)
    p, q = np.concatenate(rows), np.concatenate(columns)

    entries = np.arange(p.size, dtype=np.intp)

    def slot(row: IntArray, column: IntArray) -> IntArray:
        return np.where((row == nodes) | (column == nodes), -1, row * nodes + column)

    nodal = _scatter(
        [
            (entries, slot(a[p], a[q]), 1.0),
            (entries, slot(a[p], b[q]), -1.0),
            (entries, slot(b[p], a[q]), -1.0),
            (entries, slot(b[p], b[q]), 1.0),
        ],
        nodes * nodes,
    )
    own = entries[p == q]
    gross = _scatter(
        [
            (own, np.where((a[p[own]] == nodes) | (a[p[own]] == b[p[own]]), -1, a[p[own]]), 1.0),
            (own, np.where((b[p[own]] == nodes) | (a[p[own]] == b[p[own]]), -1, b[p[own]]), 1.0),
        ],
        nodes,
    )
    incidence = np.zeros((a.size, nodes + 1), dtype=np.float64)
    np.add.at(incidence, (np.arange(a.size), a), 1.0)
    np.add.at(incidence, (np.arange(a.size), b), -1.0)
    return Layout(
        names=names,
        index=index,
        nodes=nodes,
        branch_names=tuple(branch_names),
        arm_labels=tuple(labels),
        first_arm=first_arm,
        element_of_arm=np.array(owner, dtype=np.intp),
        a=a,
        b=b,
        blocks=tuple(blocks),
        entry_rows=p,
        entry_columns=q,
        nodal=nodal,
        gross=gross,
        incidence=incidence,
    )


def poles_on(layout: Layout, network: Network, scenario: Scenario) -> BoolArray:
    """Which arms may be on in a scenario [arms]: passive ones that are not off in it, and the poles of energized
    sources."""
    energized = {entry.source: entry for entry in scenario.on}
    on = np.ones(len(layout.arm_labels), dtype=np.bool_)
    for element in network.elements:
        first = layout.first_arm.get(element.name)
        if first is None:
            continue
        if isinstance(element, ThreePhaseSource | VoltageSource):
            entry = energized.get(element.name)
            for k in range(len(ends(element)[0])):
                on[first + k] = entry is not None and (entry.poles is None or entry.poles[k])
        elif element.name in scenario.off:
            on[first : first + len(ends(element)[0])] = False
    return on


def drives(
    layout: Layout, network: Network, scenarios: Sequence[Scenario], variants: Sequence[Variant]
) -> tuple[ComplexArray, ComplexArray]:
    """Electromotive forces [variant, arm, scenario] in volt and injected currents [variant, node, scenario] in
    ampere."""
    emf = np.zeros((len(variants), len(layout.arm_labels), len(scenarios)), dtype=np.complex128)
    injected = np.zeros((len(variants), layout.nodes + 1, len(scenarios)), dtype=np.complex128)
    where = dict(zip(layout.names, layout.index.tolist(), strict=True))
    base = {element.name: element for element in network.elements}
    for number, variant in enumerate(variants):
        elements = base | {element.name: element for element in variant.elements}
        for column, scenario in enumerate(scenarios):
            for entry in scenario.on:
                _drive(
                    emf[number, :, column], injected[number, :, column], layout, where, elements[entry.source], entry
                )
    return emf, injected[:, :-1]


def _drive(
    emf: ComplexArray,
    injected: ComplexArray,
    layout: Layout,
    where: dict[str, int],
    source: Element,
    entry: Energized,
) -> None:
    match source:
        case ThreePhaseSource():
            first = layout.first_arm[source.name]
            emf[first : first + 3] += entry.scale * np.array(source.emf)
        case VoltageSource():
            emf[layout.first_arm[source.name]] += entry.scale * source.emf
        case InducedEmf():
            first = layout.first_arm[source.span]
            emf[first : first + len(source.emf)] += entry.scale * np.array(source.emf)
        case CurrentSource():
            injected[where[source.a]] -= entry.scale * source.current
            injected[where[source.b]] += entry.scale * source.current
        case CapacitiveCoupling():
            for node, row in zip(source.nodes, source.y, strict=True):
                injected[where[node]] += entry.scale * sum(y * v for y, v in zip(row, source.voltage, strict=True))
        case _:
            pass


def elements_on(layout: Layout, offs: Sequence[frozenset[str]]) -> BoolArray:
    """Which elements are connected at states of which some are off [state, element]."""
    at = {name: number for number, name in enumerate(layout.branch_names)}
    on = np.ones((len(offs), len(layout.branch_names)), dtype=np.bool_)
    for number, off in enumerate(offs):
        for name in off:
            if name in at:
                on[number, at[name]] = False
    return on
