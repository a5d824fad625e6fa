"""Nodal analysis of a batch of networks that share a layout, with equilibration, a condition number and refinement.

Leads of a fraction of a milliohm lie beside insulation of many megohms. Three things keep the answer exact all the
same: rows and columns are scaled before inversion; the inverse serves only to correct, against a residual that is
formed from arm voltages and arm admittances and never from the assembled matrix; and arm voltages are summed from the
corrections, not taken as a difference of the final node voltages, which would lose the drop over a good lead.
Networks past `NODAL_LIMIT` are left to `groundlint.electrical.network_tree`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from groundlint.electrical.network_layout import BoolArray, ComplexArray, FloatArray, IntArray, Layout

NODAL_LIMIT: Final = 1e9
"""1-norm condition number of the scaled nodal matrix up to which nodal analysis with refinement is used."""


@dataclass(frozen=True, slots=True)
class Right:
    """Right-hand sides, one a column: `emf` [N or 1, arm, q] in volt, `injected` [N or 1, node, q] in ampere."""

    emf: ComplexArray
    injected: ComplexArray


@dataclass(frozen=True, slots=True)
class Admittances:
    """Arm admittances of N networks: for each block of the layout an array [N, k, size, size] in siemens."""

    blocks: tuple[ComplexArray, ...]

    def currents(self, layout: Layout, volts: ComplexArray) -> ComplexArray:
        """Arm currents [N, arm, q] for voltages along the arms [N, arm, q]."""
        out = np.zeros_like(volts)
        for block, y in zip(layout.blocks, self.blocks, strict=True):
            if block.size == 1:
                arms = block.arms[:, 0]
                out[:, arms] = y[:, :, 0, 0, None] * volts[:, arms]
            else:
                out[:, block.arms] = y @ volts[:, block.arms]
        return out

    def entries(self, count: int) -> ComplexArray:
        """All entries [N, entry] of `count` networks in the order of the layout's entry list."""
        none = np.empty((count, 0), dtype=np.complex128)
        entries: ComplexArray = np.concatenate([none, *(y.reshape(count, -1) for y in self.blocks)], axis=1)
        return entries

    def dense(self, layout: Layout, number: int) -> ComplexArray:
        """The arm admittance matrix [arm, arm] of one network."""
        out = np.zeros((len(layout.arm_labels),) * 2, dtype=np.complex128)
        out[layout.entry_rows, layout.entry_columns] = np.concatenate([y[number].ravel() for y in self.blocks])
        return out


def admittances(layout: Layout, poles: BoolArray, on: BoolArray) -> Admittances:
    """Admittances of [state, variant] networks, flattened with variant fastest.

    `poles` [arm] marks arms a scenario leaves closed, `on` [state, element] the elements a state connects. An open pole
    carries no current, so its row and column leave the impedance matrix before inversion.
    """
    result = []
    for block in layout.blocks:
        closed = poles[block.arms]
        if block.size == 1:
            value = block.matrix[:, :, 0, 0]
            y = (np.where(block.impedance, 1 / np.where(block.impedance, value, 1), value) * closed[:, 0])[
                ..., None, None
            ]
        else:
            both = closed[:, :, None] & closed[:, None, :]
            usable = both & block.impedance[:, None, None]
            inverse = np.linalg.inv(np.where(usable, block.matrix, np.eye(block.size)))
            y = np.where(both, np.where(block.impedance[:, None, None], inverse, block.matrix), 0)
        connected = on[:, block.elements]
        full = y[None] * connected[:, None, :, None, None]
        result.append(full.reshape(-1, *y.shape[1:]))
    return Admittances(tuple(result))


@dataclass(frozen=True, slots=True)
class Answer:
    """Node voltages [N, node, q], arm currents [N, arm, q], pair voltages [N, pair, q] and condition numbers [N]."""

    nodes: ComplexArray
    currents: ComplexArray
    pairs: ComplexArray
    condition: FloatArray


def _difference(volts: ComplexArray, first: IntArray, second: IntArray) -> ComplexArray:
    """Voltages from `first` to `second`, where the row past the last node is earth."""
    padded = np.concatenate([volts, np.zeros((volts.shape[0], 1, volts.shape[2]), dtype=np.complex128)], axis=1)
    difference: ComplexArray = padded[:, first] - padded[:, second]
    return difference


def _invert(scaled: ComplexArray) -> tuple[ComplexArray, FloatArray]:
    """Inverses and 1-norm condition numbers; a singular matrix has an infinite condition and a zero inverse."""
    inverse: ComplexArray
    try:
        inverse = np.linalg.inv(scaled).astype(np.complex128, copy=False)
    except np.linalg.LinAlgError:
        inverse = np.zeros_like(scaled)
        singular = np.zeros(scaled.shape[0], dtype=np.bool_)
        for number in range(scaled.shape[0]):
            try:
                inverse[number] = np.linalg.inv(scaled[number])
            except np.linalg.LinAlgError:
                singular[number] = True
    else:
        singular = np.zeros(scaled.shape[0], dtype=np.bool_)
    condition: FloatArray = _one_norm(scaled) * _one_norm(inverse)
    condition[singular | ~np.isfinite(condition)] = np.inf
    inverse[~np.isfinite(condition)] = 0
    return inverse, condition


def _one_norm(matrices: ComplexArray) -> FloatArray:
    sums: FloatArray = np.abs(matrices).sum(axis=-2)
    largest: FloatArray = sums.max(axis=-1, initial=0.0)
    return largest


def nodal(layout: Layout, y: Admittances, right: Right, roots: BoolArray, pairs: tuple[IntArray, IntArray]) -> Answer:
    """Solve N networks at once; `roots` [N, node] are tied to earth, one in each island that has no path to it.

    A tie carries no current when what is put into its island sums to zero, so it changes nothing inside the island.
    """
    count = roots.shape[0]
    entries = y.entries(count)
    matrix = layout.nodal.add(entries).reshape(count, layout.nodes, layout.nodes)
    # Scaled by the magnitudes that meet at a node: where they cancel, as in a resonance, the condition shows it.
    largest = layout.gross.add(np.abs(entries).astype(np.complex128)).real
    largest[largest == 0] = 1.0
    diagonal = np.arange(layout.nodes)
    matrix[:, diagonal, diagonal] += roots * largest
    scale = 1 / np.sqrt(largest)
    matrix *= scale[:, :, None]
    matrix *= scale[:, None, :]
    inverse, condition = _invert(matrix)
    inverse *= scale[:, :, None]
    inverse *= scale[:, None, :]

    usable = condition[condition <= NODAL_LIMIT]
    rounds = refinements(float(usable.max(initial=1.0)))
    columns = right.emf.shape[2]
    nodes = np.zeros((count, layout.nodes, columns), dtype=np.complex128)
    arms = np.zeros((count, len(layout.arm_labels), columns), dtype=np.complex128)
    across = np.zeros((count, pairs[0].size, columns), dtype=np.complex128)
    for _ in range(rounds + 1):
        residual = right.injected - layout.kcl.add(y.currents(layout, arms + right.emf))
        correction = inverse @ residual
        nodes += correction
        arms += _difference(correction, layout.a, layout.b)
        across += _difference(correction, *pairs)
    return Answer(nodes, y.currents(layout, arms + right.emf), across, condition)


def refinements(condition: float) -> int:
    """How many corrections follow the first solution; each gains about 16 digits less those the condition number
    takes."""
    return 1 + sum(condition > limit for limit in (1e4, 1e7))
