"""Impedances between many pairs of nodes at once, at every state: what 1 A into one pair drives across another.

The unknowns are the voltages of a spanning tree of the largest admittances, as in `solver.tree`: a lead of a milliohm
and an insulator of a teraohm each keep their digits, without refinement.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from groundlint.electrical.solver.islands import islands
from groundlint.electrical.solver.kernel import Admittances, admittances
from groundlint.electrical.solver.layout import ComplexArray, IntArray, Layout, elements_on, lay_out, poles_on
from groundlint.electrical.solver.network import (
    Bond,
    Network,
    NotSolvable,
    Scenario,
    Variant,
    check_element,
    check_network,
)
from groundlint.electrical.solver.tree import CONDITION_LIMIT, spanning_tree

_QUIET, _PLAIN = Scenario("nothing", ()), Variant("as stated")


def port_problem(network: Network, states: Sequence[frozenset[str]]) -> NotSolvable | None:
    """What is wrong with a network or its states, if anything."""
    problem = next((p for element in network.elements if (p := check_element(element)) is not None), None)
    return problem or check_network(network, (_QUIET,), (_PLAIN,), states)


def port_impedances(
    network: Network, states: Sequence[frozenset[str]], pairs: Sequence[tuple[str, str]]
) -> ComplexArray | NotSolvable:
    """Voltage across each pair by 1 A into the first node of another and out of its second, ohm [state, pair, pair].

    NaN for a whole state in which a node has no path to earth, or which is ill-conditioned. Sources are open.
    """
    problem = port_problem(network, states)
    if problem is not None:
        return problem
    out = np.full((len(states), len(pairs), len(pairs)), np.nan, dtype=np.complex128)
    bonds = frozenset(element.name for element in network.elements if isinstance(element, Bond))
    groups: dict[frozenset[str], list[int]] = {}
    for number, off in enumerate(states):
        groups.setdefault(bonds & off, []).append(number)
    for bonds_off, where in groups.items():
        layout = lay_out(network, bonds_off, (_PLAIN,))
        node = {name: int(number) for name, number in zip(layout.names, layout.index, strict=True)}
        ends = np.array([[node[a], node[b]] for a, b in pairs], dtype=np.intp).reshape(-1, 2)
        poles = poles_on(layout, network, _QUIET)
        on = elements_on(layout, [states[number] for number in where])
        island, _ = islands(layout, on[:, layout.element_of_arm] & poles)
        floating = np.asarray(island.any(axis=1))
        y = admittances(layout, poles, on)
        for place, number in enumerate(where):
            if not floating[place]:
                mine = Admittances(tuple(block[place : place + 1] for block in y.blocks))
                out[number] = _between(layout, mine, ends)
    return out


def _between(layout: Layout, y: Admittances, ends: IntArray) -> ComplexArray:
    if not len(ends):
        return np.zeros((0, 0), dtype=np.complex128)
    own = np.concatenate([np.abs(np.diagonal(block[0], axis1=1, axis2=2)).ravel() for block in y.blocks])
    express = spanning_tree(layout, own)
    along = express[layout.a] - express[layout.b]
    across = express[ends[:, 0]] - express[ends[:, 1]]
    through = y.currents(layout, along[None].astype(np.complex128))[0]
    matrix: ComplexArray = (along.T @ through.view(np.float64)).view(np.complex128)
    scale = 1 / np.sqrt((along**2).T @ own)
    scaled = matrix * scale[:, None] * scale[None, :]
    try:
        inverse = np.linalg.inv(scaled)
    except np.linalg.LinAlgError:
        return np.full((len(ends), len(ends)), np.nan, dtype=np.complex128)
    condition = np.abs(scaled).sum(axis=0).max(initial=0.0) * np.abs(inverse).sum(axis=0).max(initial=0.0)
    if not condition <= CONDITION_LIMIT:
        return np.full((len(ends), len(ends)), np.nan, dtype=np.complex128)
    inverse += inverse @ (np.eye(len(inverse)) - scaled @ inverse)
    spread = across * scale
    half: ComplexArray = np.ascontiguousarray((spread @ inverse.view(np.float64)).view(np.complex128).T)
    return np.asarray((spread @ half.view(np.float64)).view(np.complex128).T)
