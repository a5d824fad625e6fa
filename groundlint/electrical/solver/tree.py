"""Cut-set analysis for networks whose nodal matrix is ill-conditioned only because their impedances are far apart.

The unknowns are the voltages of a spanning tree of the largest admittances. Each fundamental cut set is then ruled by
its own tree branch, so a lead of a milliohm and an insulator of a teraohm each keep their digits once rows and
columns are scaled. What is still ill-conditioned in that form (a resonance, a matrix that is singular in itself) is
reported, not computed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from groundlint.electrical.solver.kernel import SETTLED, refinements
from groundlint.electrical.solver.layout import BoolArray, ComplexArray, FloatArray, IntArray, Layout

CONDITION_LIMIT: Final = 1e10
"""1-norm condition number of the scaled cut-set matrix past which the quantities it decides have no value."""


@dataclass(frozen=True, slots=True)
class TreeAnswer:
    """One network, as `groundlint.electrical.solver.kernel.Answer`, and which of its quantities have no value."""

    nodes: ComplexArray
    currents: ComplexArray
    pairs: ComplexArray
    bad_nodes: BoolArray
    bad_arms: BoolArray
    bad_pairs: BoolArray
    condition: float


def spanning_tree(layout: Layout, weights: FloatArray) -> FloatArray:
    """Node voltages in terms of tree-branch voltages [node + 1, tree branch]; earth's row is zero."""
    size = layout.nodes + 1
    component = np.arange(size)
    express = np.zeros((size, layout.nodes), dtype=np.float64)
    column = 0
    first, second = layout.a.tolist(), layout.b.tolist()
    for arm in np.argsort(-weights, kind="stable").tolist():
        if weights[arm] == 0:
            break
        a, b = first[arm], second[arm]
        if component[a] == component[b]:
            continue
        moved = component == component[b]
        # V_node = (V_node - V_b) + V_a - v_arm for every node that hung together with b.
        express[moved] += express[a] - express[b]
        express[moved, column] -= 1.0
        component[moved] = component[a]
        column += 1
    grounded = component == component[layout.nodes]
    express[grounded] -= express[layout.nodes].copy()
    return express[:, :column]


def _coupled_groups(matrix: ComplexArray) -> list[IntArray]:
    """Rows that have to do with each other: connected components of the matrix's pattern."""
    left = set(range(matrix.shape[0]))
    groups = []
    linked = (matrix != 0) | (matrix != 0).T
    while left:
        group, frontier = set(), {min(left)}
        while frontier:
            group |= frontier
            frontier = {int(j) for i in frontier for j in np.flatnonzero(linked[i])} - group
        left -= group
        groups.append(np.array(sorted(group), dtype=np.intp))
    return groups


def cut_set(
    layout: Layout, y: ComplexArray, emf: ComplexArray, injected: ComplexArray, pairs: tuple[IntArray, IntArray]
) -> TreeAnswer:
    """Solve one network from its arm admittances `y` [arm, arm], `emf` [arm, scenario] and `injected` [node, q].

    Columns of `injected` past the scenarios probe pairs and have no electromotive forces.

    Voltages of an island without a path to earth are relative to one of its own nodes.
    """
    express = spanning_tree(layout, np.abs(np.diagonal(y)))
    along = express[layout.a] - express[layout.b]
    across = express[pairs[0]] - express[pairs[1]]
    matrix = along.T @ y @ along
    # As in nodal analysis: what was added up, not what is left over, so that a resonance shows in the condition.
    gross = (along**2).T @ np.abs(np.diagonal(y))
    count, columns, driven = matrix.shape[0], injected.shape[1], emf.shape[1]
    emf = np.concatenate([emf, np.zeros((emf.shape[0], columns - driven))], axis=1)
    inverse = np.zeros_like(matrix)
    bad = np.zeros(count, dtype=np.bool_)
    worst, usable = 1.0, 1.0
    for group in _coupled_groups(matrix):
        part = matrix[np.ix_(group, group)]
        scale = 1 / np.sqrt(gross[group])
        part = part * scale[:, None] * scale[None, :]
        try:
            turned = np.linalg.inv(part)
            condition = float(np.abs(part).sum(axis=0).max() * np.abs(turned).sum(axis=0).max())
        except np.linalg.LinAlgError:
            turned, condition = np.zeros_like(part), float("inf")
        if not condition <= CONDITION_LIMIT:
            bad[group] = True
            worst = max(worst, condition if condition == condition else float("inf"))
            continue
        worst, usable = max(worst, condition), max(usable, condition)
        inverse[np.ix_(group, group)] = turned * scale[:, None] * scale[None, :]

    tree = np.zeros((count, columns), dtype=np.complex128)
    arms = np.zeros((y.shape[0], columns), dtype=np.complex128)
    for _ in range(refinements(usable) + 1):
        residual = express[:-1].T @ injected - along.T @ (y @ (arms + emf))
        correction = inverse @ residual
        tree += correction
        arms += along @ correction
    if np.abs(correction).max(initial=0.0) > SETTLED * np.abs(tree).max(initial=0.0):
        bad[:], worst = True, float("inf")
    return TreeAnswer(
        nodes=express[:-1] @ tree[:, :driven],
        currents=y @ (arms + emf)[:, :driven],
        pairs=across @ tree,
        bad_nodes=(express[:-1][:, bad] != 0).any(axis=1),
        bad_arms=(along[:, bad] != 0).any(axis=1),
        bad_pairs=(across[:, bad] != 0).any(axis=1),
        condition=worst,
    )
