"""How small and how large the magnitude of a current or voltage can be while impedances move within their bounds.

A quantity of a network is, as a function of one impedance, a ratio of two linear functions: its extremes along one
value are exact, and cost a rank-one change of what was solved at one point (Householder's matrix modification formula,
1953, from memory). The search goes from that point to the best extreme along any one value, and on from there until
nothing moves; it finds a largest value from two starts, since a difference of two voltages can grow on either side
of zero. What it cannot do is prove that no other combination goes further: tests sample the whole and hold it to that.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from groundlint.electrical.solver.layout import BoolArray, ComplexArray, FloatArray, IntArray

SETTLED: Final = 1e-6
"""Share of a magnitude that the best single move must gain for the search to go on."""

CROSSES: Final = 0.05
"""Where a magnitude can fall to this share of what it was, the largest one is looked for from that end as well."""

NOTHING: Final = 1e-3
"""Share of a magnitude, of that at the start, below which the least one is taken as zero: a sum of phasors can come to
nothing, by ever smaller moves."""

CHUNK: Final = 1024
"""Quantities searched together, so that their arrays stay in a cache."""


class Chains(NamedTuple):
    """Quantities at one point of the bounds, each with the K values that can move it, all complex.

    `value` [C]; `current` [C, K] through each value's branch; `row` [C, K] what an electromotive force of 1 V in that
    branch adds to the quantity; `matrix` [C, K, K] what one in the second branch adds to the current of the first.
    `low` and `high` [C, K] are the ends of the straight line on which each impedance lies, ohm relative to this point.
    """

    value: ComplexArray
    current: ComplexArray
    row: ComplexArray
    matrix: ComplexArray
    low: ComplexArray
    high: ComplexArray

    def take(self, which: IntArray | slice) -> Chains:
        """Some of the quantities, as copies."""
        return Chains(*(part[which].copy() for part in self))


class Extreme(NamedTuple):
    """Magnitudes [C] at one end, how far each value by itself moves the magnitude from there [C, K], where each value
    is then, as an offset in ohm, and the quantities' `current` and `row` there."""

    magnitude: FloatArray
    moved: FloatArray
    offset: ComplexArray
    current: ComplexArray
    row: ComplexArray

    def take(self, which: slice) -> Extreme:
        """Some of the quantities."""
        magnitude, moved, *others = self
        return Extreme(magnitude[which], moved[which], *(part[which] for part in others))

    def better(self, other: Extreme, where: IntArray) -> None:
        """Take over those of another, for some of the quantities, that are larger."""
        kept = other.magnitude > self.magnitude[where]
        for mine, theirs in zip(self, other, strict=True):
            mine[where[kept]] = theirs[kept]


def extremes(chains: Chains, largest: bool) -> Extreme:
    """The largest magnitude of each quantity, or the least."""
    count, values = chains.low.shape
    if not count or not values:
        none = np.zeros((count, values), dtype=np.complex128)
        return Extreme(np.abs(chains.value), none.real, none, none, none)
    ends = [_extreme(chains.take(slice(start, start + CHUNK)), largest) for start in range(0, count, CHUNK)]
    return Extreme(*(np.concatenate(parts) for parts in zip(*ends, strict=True)))


def _extreme(chains: Chains, largest: bool) -> Extreme:
    search = _Search(chains)
    if not largest:
        settled = search.run(largest=False)
        found = search.extreme(largest=False)
        found.magnitude[~settled | (found.magnitude < NOTHING * np.abs(chains.value))] = 0.0
        return found
    here = np.abs(chains.value)
    sizes, _ = search.along(largest=False)
    with np.errstate(divide="ignore"):
        low = np.exp(np.log(np.maximum(sizes, 1e-300) / here[:, None]).sum(axis=1))
    across = np.flatnonzero(low < CROSSES)
    other = search.part(across)
    search.run(largest=True)
    found = search.extreme(largest=True)
    if across.size:
        other.run(largest=False, rounds=1)
        other.run(largest=True)
        found.better(other.extreme(largest=True), across)
    return found


class _Search:
    """Quantities on their way; `at` [C, K] is where each value stands on its line, as an offset of its impedance."""

    def __init__(self, chains: Chains) -> None:
        self.chains = Chains(*(part.copy() for part in chains))
        self.span = chains.high - chains.low
        with np.errstate(invalid="ignore", divide="ignore"):
            at = np.real(-chains.low * np.conj(self.span)) / np.abs(self.span) ** 2
        self.at: FloatArray = np.where(np.abs(self.span) > 0, at, 0.0)

    def part(self, which: IntArray) -> _Search:
        """Some of the quantities, where they are now."""
        found = _Search.__new__(_Search)
        found.chains, found.span, found.at = self.chains.take(which), self.span[which], self.at[which]
        return found

    def run(self, largest: bool, rounds: int = 3) -> BoolArray:
        """Move one value at a time to where it does most, until none does any more or each had so many turns; where it
        came to the first."""
        self.leap(largest)
        now, left = self, np.arange(len(self.at))
        start = np.abs(self.chains.value)
        for _ in range(rounds * self.at.shape[1]):
            sizes, steps = now.along(largest)
            best = (sizes.argmax if largest else sizes.argmin)(axis=1)
            rows = np.arange(len(best))
            found, here = sizes[rows, best], np.abs(now.chains.value)
            if largest:
                moves = found > here * (1 + SETTLED)
            else:
                moves = (found < here * (1 - SETTLED)) & (here > NOTHING * start[left])
            kept = np.flatnonzero(moves)
            if kept.size < 0.75 * moves.size:
                self._settle(now, left)
                left = left[kept]
                if not left.size:
                    return np.ones(len(self.at), dtype=np.bool_)
                now, best, rows, steps, moves = now.part(kept), best[kept], rows[: kept.size], steps[kept], moves[kept]
            now.move(best, np.where(moves, steps[rows, best], 0.0))
        self._settle(now, left)
        settled = np.ones(len(self.at), dtype=np.bool_)
        settled[left] = ~moves
        return settled

    def leap(self, largest: bool) -> None:
        """Move all values at once to where each by itself does most, where that is better than the best of them."""
        sizes, steps = self.along(largest)
        value, current, row, matrix, _, _ = self.chains
        here = np.abs(value)[:, None]
        steps = np.where(sizes > here * (1 + SETTLED) if largest else sizes < here * (1 - SETTLED), steps, 0.0)
        by = steps * self.span
        count = self.at.shape[1]
        sides = np.concatenate([matrix, current[:, :, None]], axis=2)
        solved = np.linalg.solve(np.eye(count) + matrix * by[:, None, :], sides)
        then = solved[:, :, count]
        found = value - np.einsum("ck,ck->c", row * by, then)
        best = (sizes.max if largest else sizes.min)(axis=1)
        good = np.flatnonzero(np.abs(found) > best if largest else np.abs(found) < best)
        value[good], current[good] = found[good], then[good]
        inverse = solved[good, :, :count]
        row[good] -= ((row * by)[good][:, None, :] @ inverse)[:, 0]
        matrix[good] = inverse
        self.at[good] += steps[good]

    def _settle(self, other: _Search, where: IntArray) -> None:
        """Take over where some of the quantities have come to."""
        if other is not self:
            for mine, theirs in zip(self.chains[:4], other.chains[:4], strict=True):
                mine[where] = theirs
            self.at[where] = other.at

    def along(self, largest: bool) -> tuple[FloatArray, FloatArray]:
        """The extreme magnitude along each value's line [C, K], and the step that leads to it."""
        value, current, row, matrix, _, _ = self.chains
        own = np.einsum("ckk->ck", matrix)
        beta = self.span * (value[:, None] * own - row * current)
        gamma = self.span * own
        return _on_line(value[:, None], beta, gamma, -self.at, 1 - self.at, largest)

    def move(self, which: IntArray, step: FloatArray) -> None:
        """Move one value of each quantity along its line."""
        value, current, row, matrix, _, _ = self.chains
        rows = np.arange(len(which))
        by = step * self.span[rows, which]
        by = by / (1 + by * matrix[rows, which, which])
        to, back = matrix[rows, :, which], matrix[rows, which, :]
        i, r = current[rows, which] * by, row[rows, which] * by
        value -= r * current[rows, which]
        current -= to * i[:, None]
        row -= r[:, None] * back
        matrix -= (to * by[:, None])[:, :, None] * back[:, None, :]
        self.at[rows, which] += step

    def extreme(self, largest: bool) -> Extreme:
        """Where the quantities are, and what each value moves from there."""
        here = np.abs(self.chains.value)
        other, _ = self.along(not largest)
        offset = self.chains.low + self.at * self.span
        return Extreme(here, np.abs(other - here[:, None]), offset, self.chains.current, self.chains.row)


def _on_line(
    alpha: ComplexArray, beta: ComplexArray, gamma: ComplexArray, first: FloatArray, last: FloatArray, largest: bool
) -> tuple[FloatArray, FloatArray]:
    """The extreme of abs((alpha + beta s) / (1 + gamma s)) for s from `first` to `last`, and where it is."""
    a0, a1, a2 = _square(alpha), 2 * np.real(alpha * np.conj(beta)), _square(beta)
    b1, b2 = 2 * np.real(gamma), _square(gamma)

    def size(s: FloatArray) -> FloatArray:
        with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
            return np.asarray(np.maximum(a0 + (a1 + a2 * s) * s, 0.0) / (1 + (b1 + b2 * s) * s))

    best, where = size(first), first.copy()
    # the derivative's numerator: p s2 + 2 q s + r, with a root for the least and one for the largest
    p, q, r = a2 * b1 - a1 * b2, a2 - a0 * b2, a1 - a0 * b1
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        root = np.sqrt(np.maximum(q * q - p * r, 0.0))
        sign = np.where(q < 0, -1.0, 1.0)
        far = -(q + sign * root)
        candidates = (last, far / p, r / far)
    for s in candidates:
        inside = np.isfinite(s) & (s > first) & (s <= last)
        s = np.where(inside, s, first)
        found = size(s)
        better = inside & (found > best if largest else found < best)
        best, where = np.where(better, found, best), np.where(better, s, where)
    return np.sqrt(best), where


def _square(z: ComplexArray) -> FloatArray:
    return np.asarray(z.real * z.real + z.imag * z.imag)
