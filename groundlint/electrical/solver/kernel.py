"""Nodal analysis of a batch of networks that share a layout, with equilibration, a condition number and refinement.

Leads of a fraction of a milliohm lie beside insulation of many megohms. Three things keep the answer exact all the
same: rows and columns are scaled before inversion; the inverse serves only to correct, against a residual that is
formed from arm voltages and arm admittances and never from the assembled matrix; and arm voltages are summed from the
corrections, not taken as a difference of the final node voltages, which would lose the drop over a good lead.
Networks past `NODAL_LIMIT` are left to `groundlint.electrical.solver.tree`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from groundlint.electrical.solver.layout import BoolArray, ComplexArray, FloatArray, IntArray, Layout

NODAL_LIMIT: Final = 1e10
"""1-norm condition number of the scaled nodal matrix up to which nodal analysis with refinement is used."""

SETTLED: Final = 1e-8
"""Largest last correction, as a share of the largest voltage, with which a solution is taken as settled."""

WORKING_BYTES: Final = 100_000
"""Size of the largest working array of one pass of nodal analysis; below the 128 KiB from which memory is mapped
anew."""


@dataclass(frozen=True, slots=True)
class Right:
    """Right-hand sides: `emf` [N, arm, scenario] in volt, `injected` [N, node, scenario then pair] in ampere.

    Both may have one row that stands for all N.
    """

    emf: ComplexArray
    injected: ComplexArray

    @property
    def driven(self) -> int:
        """How many columns have electromotive forces: the scenarios. The others put 1 A into one node of a pair."""
        return int(self.emf.shape[2])


@dataclass(frozen=True, slots=True)
class Admittances:
    """Arm admittances of N networks: for each block of the layout an array [N, k, size, size] in siemens."""

    blocks: tuple[ComplexArray, ...]

    def currents(self, layout: Layout, volts: ComplexArray) -> ComplexArray:
        """Arm currents [N, arm, q] for voltages along the arms [N, arm, q]."""
        out = np.empty(volts.shape, dtype=np.complex128)
        for block, y in zip(layout.blocks, self.blocks, strict=True):
            count, size = block.arms.shape
            part = slice(int(block.arms[0, 0]), int(block.arms[-1, -1]) + 1)
            if volts.strides[0] == 0 and not volts[0, part].any():
                out[:, part] = 0
                continue
            if size == 1:
                np.multiply(y[:, :, 0], volts[:, part], out=out[:, part])
            else:
                shape = (volts.shape[0], count, size, volts.shape[2])
                out[:, part] = (y @ volts[:, part].reshape(shape)).reshape(out[:, part].shape)
        return out

    def entries(self, count: int) -> ComplexArray:
        """All entries [entry, N] of `count` networks in the order of the layout's entry list."""
        none = np.empty((0, count), dtype=np.complex128)
        entries: ComplexArray = np.concatenate([none, *(y.reshape(count, -1).T for y in self.blocks)])
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
    """Node voltages [N, node, scenario], arm currents [N, arm, scenario], and voltages [N, pair, scenario then pair].

    `condition` [N] is the 1-norm condition number of the scaled matrix.
    """

    nodes: ComplexArray
    currents: ComplexArray
    pairs: ComplexArray
    condition: FloatArray


def _real_times(left: FloatArray, right: ComplexArray) -> ComplexArray:
    """A real matrix [i, j] times complex ones [N, j, q]: the parts are columns of their own, half the work of a
    cast."""
    product = left @ np.ascontiguousarray(right).view(np.float64)
    return product.view(np.complex128)


def _difference(volts: ComplexArray, first: IntArray, second: IntArray) -> ComplexArray:
    """Voltages [N, arm, q] from `first` to `second`, where the row past the last node is earth."""
    padded = np.zeros((volts.shape[0], volts.shape[1] + 1, volts.shape[2]), dtype=np.complex128)
    padded[:, :-1] = volts
    along: ComplexArray = padded.take(first, axis=1)
    along -= padded.take(second, axis=1)
    return along


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
    count, columns, driven = roots.shape[0], right.injected.shape[2], right.driven
    arms, across = len(layout.arm_labels), pairs[0].size
    answer = Answer(
        np.empty((count, layout.nodes, driven), dtype=np.complex128),
        np.empty((count, arms, driven), dtype=np.complex128),
        np.empty((count, across, columns), dtype=np.complex128),
        np.empty(count, dtype=np.float64),
    )
    # Working arrays that fit into a cache, and that the allocator hands out again, take half the time of larger ones.
    width = 16 * max(1, layout.nodes**2, (arms + across) * columns)
    step = max(4, WORKING_BYTES // width)
    for start in range(0, count, step):
        part = slice(start, min(start + step, count))
        mine = Admittances(tuple(block[part] for block in y.blocks))
        sources = right if right.emf.shape[0] == 1 else Right(right.emf[part], right.injected[part])
        _nodal(layout, mine, sources, roots[part], pairs, answer, part)
    return answer


def _nodal(
    layout: Layout,
    y: Admittances,
    right: Right,
    roots: BoolArray,
    pairs: tuple[IntArray, IntArray],
    answer: Answer,
    part: slice,
) -> None:
    count = roots.shape[0]
    entries = y.entries(count)
    matrix: ComplexArray = np.ascontiguousarray(layout.nodal.add(entries).T).reshape(count, layout.nodes, layout.nodes)
    # Scaled by the magnitudes that meet at a node: where they cancel, as in a resonance, the condition shows it.
    largest: FloatArray = np.ascontiguousarray(layout.gross.add(np.abs(entries)).T)
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
    first, second = np.concatenate([layout.a, pairs[0]]), np.concatenate([layout.b, pairs[1]])
    backward = np.ascontiguousarray(layout.incidence[:, :-1].T)
    arms, driven = layout.incidence.shape[0], right.driven

    # Pairs are probed without drive, so electromotive forces concern the first columns alone. They are added to the
    # arms' voltages before the admittance is applied: the two cancel in a stiff source, and their currents would not.
    short = y.currents(layout, np.broadcast_to(right.emf, (count, *right.emf.shape[1:])))
    residual = np.repeat(right.injected, count // right.injected.shape[0], axis=0)
    residual[:, :, :driven] -= _real_times(backward, short)
    nodes = inverse @ residual
    along = _difference(nodes, first, second)
    for _ in range(rounds):
        volts = along[:, :arms].copy()
        volts[:, :, :driven] += right.emf
        correction = inverse @ (right.injected - _real_times(backward, y.currents(layout, volts)))
        nodes += correction
        along += _difference(correction, first, second)
    # A last correction that still matters means that the matrix is worse than its condition number says.
    moved, size = np.abs(correction).max(axis=(1, 2), initial=0.0), np.abs(nodes).max(axis=(1, 2), initial=0.0)
    condition[moved > SETTLED * size] = np.inf
    answer.currents[part] = y.currents(layout, along[:, :arms, :driven] + right.emf)
    answer.nodes[part], answer.pairs[part], answer.condition[part] = nodes[:, :, :driven], along[:, arms:], condition


def refinements(condition: float) -> int:
    """How many corrections follow the first solution; each gains about 16 digits less those the condition number
    takes."""
    return 1 + sum(condition > limit for limit in (1e4, 1e7, 1e9, 1e11))
