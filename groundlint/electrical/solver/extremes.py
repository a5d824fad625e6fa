"""How small and how large the magnitude of a current or voltage can be while impedances move within their bounds.

A quantity of a network is, as a function of one impedance, a ratio of two linear functions: its extremes along one
value are exact, and cost a rank-one change of what was solved at one point (Householder's matrix modification formula,
1953, from memory). The search moves all values at once to where each by itself does most, or the best of them alone
where that does more, and goes on from there until nothing moves; it finds a largest value from two starts, since a
difference of two voltages can grow on either side of zero. A magnitude can have several ends, with a less likely one
beyond what every single move leads to: a current has a least one where a neutral's way back is short, and a lesser one
where it is long. It begins at more than one place: for a largest one in the middle, and for
one that decides with all values at their low ends, and with every other one at its high end, as well; for a least one
in the middle, from the other end of the value that does most, from the high end of all, since two that do nothing by
themselves can make one together, and with every other one at its high end. Searching with all values from eight random
corners showed 29 of 722 largest magnitudes of 16 plans to be short of what can be, and three of 649 least ones; with
these beginnings seven are left, of those that do not decide, and two by less than 0.3 %.
What it cannot do is prove that no other combination goes further: tests sample the whole and hold it to that.
"""

from __future__ import annotations

from typing import Final, Literal, NamedTuple

import numpy as np

from groundlint.electrical.solver.layout import BoolArray, ComplexArray, FloatArray, IntArray

SETTLED: Final = 1e-6
"""Share of a magnitude that the best single move must gain for the search to go on."""

CROSSES: Final = 0.5
"""Where a magnitude can fall to this share of what it was, the largest one is looked for from that end as well."""

NOTHING: Final = 0.01
"""Share of a magnitude, of that at the start, below which the least one is taken as zero."""

NEAR: Final = 0.01
"""Share of the least magnitude by which the one given may be less."""

LEAPS: Final = 6
"""How often all values are moved at once: what then still moves goes past where it should."""

ROUNDS: Final = 48
"""How often values are moved at most to find a least magnitude while the direction turns, and then in the one that it
came to: one that was found for any direction holds, and none where nothing settles. After 24
a least current was given up that comes to rest after some 30."""

LOST: Final = 1e8
"""A value that falls to so small a share of the impedance it stands in takes as many digits from what is known there
as that has; a quantity that has lost so much is computed from the start again. Between a dry pole and a wet one two
rounds of it were found to leave none."""

FAR: Final = 1e4
"""What a quantity is taken to have lost on the way to a corner. A voltage of 1,212 V was 0.1 V off without."""

CHUNK: Final = 1 << 18
"""Complex numbers in the matrices of the quantities that are searched together, so that they stay in a cache."""


Begin = Literal["middle", "corners", "all"]


class Chains(NamedTuple):
    """Quantities at one point of the bounds, each with the K branches that can move it, all complex.

    `value` [C]; `current` [C, K] through each branch; `row` [C, K] what an electromotive force of 1 V in that branch
    adds to the quantity; `matrix` [C, K, K] what one in the second branch adds to the current of the first. `low` and
    `high` [C, 2, K] are the ends of two straight lines along which each branch's impedance moves, each by itself, ohm
    relative to this point: one of resistance, one of reactance.
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
    """Magnitudes [C] at one end, how far each value by itself moves the magnitude from there [C, 2, K], where each
    branch is then, as an offset in ohm [C, K], the direction `toward` which that end lies, and the quantities' `value`,
    `current` and `row` there. `beaten` were left alone on the way, since their least does not come to their floor."""

    magnitude: FloatArray
    moved: FloatArray
    offset: ComplexArray
    toward: ComplexArray
    value: ComplexArray
    current: ComplexArray
    row: ComplexArray
    beaten: BoolArray


def extremes(chains: Chains, largest: bool, begin: Begin, floor: FloatArray | None = None) -> Extreme:
    """The largest magnitude of each quantity, or the least, which is of no use where it is below a floor [C], looked
    for from some beginnings; a largest one from the middle or from corners, a least one from the middle or from all.
    """
    count = len(chains.value)
    floor = np.zeros(count) if floor is None else floor
    step = max(1, CHUNK // max(1, chains.matrix[0].size)) if count else 1
    parts = [slice(start, start + step) for start in range(0, max(count, 1), step)]
    ends = [_extreme(Chains(*(one[part] for one in chains)), largest, floor[part], begin) for part in parts]
    return Extreme(*(np.concatenate(found) for found in zip(*ends, strict=True)))


def _extreme(chains: Chains, largest: bool, floor: FloatArray, begin: Begin) -> Extreme:
    start = np.abs(chains.value)
    search = _Search(chains)
    lows = np.zeros(chains.row.shape[1])
    odds = lows + np.arange(len(lows)) % 2
    if not largest:
        middle = search.part(np.arange(len(start)))
        found = search.least(floor)
        for corner in (None, 1 - lows, odds) if begin == "all" else ():
            left = np.flatnonzero((found.magnitude > 0) & ~found.beaten)
            if not left.size:
                break
            other = middle.part(left)
            other = other.to_end(1.0 - np.round(search.at[left])) if corner is None else other.to(corner)
            theirs = other.least(floor[left])
            reached = np.where(theirs.magnitude > 0, theirs.magnitude, np.abs(theirs.value))
            _take(found, left, theirs._replace(magnitude=reached), reached < found.magnitude[left])
        return found
    if begin == "corners":
        found, theirs = search.to(odds).largest(), _Search(chains).to(lows).largest()
        _take(found, np.arange(len(start)), theirs, theirs.magnitude > found.magnitude)
        return found
    with np.errstate(divide="ignore"):
        low = np.exp(np.log(np.maximum(search.falls(), 1e-300) / start[:, None, None]).sum(axis=(1, 2)))
    across = np.flatnonzero(low < CROSSES)
    other = search.part(across)
    found = search.largest()
    if across.size:
        other.cross()
        theirs = other.largest()
        _take(found, across, theirs, theirs.magnitude > found.magnitude[across])
    return found


def _take(found: Extreme, which: IntArray, theirs: Extreme, better: BoolArray) -> None:
    """Put in place of some of what was found what is better."""
    for mine, other in zip(found, theirs, strict=True):
        mine[which[better]] = other[better]


class _Search:
    """Quantities on their way; `at` [C, 2, K] is where each value stands on its line, as a share of it."""

    def __init__(self, chains: Chains) -> None:
        self.start = chains
        self.place: IntArray = np.arange(len(chains.value))  # of each among those of the start
        self.lost = np.ones(len(chains.value))
        self.chains = chains.take(slice(None))
        self.span = chains.high - chains.low
        width = np.abs(self.span) ** 2
        along = np.real(-chains.low * np.conj(self.span))
        self.at: FloatArray = np.divide(along, width, out=np.zeros(width.shape), where=width > 0)

    def part(self, which: IntArray) -> _Search:
        """Some of the quantities, where they are now."""
        found = _Search.__new__(_Search)
        found.chains, found.span, found.at = self.chains.take(which), self.span[which], self.at[which]
        found.start, found.place, found.lost = self.start, self.place[which], self.lost[which]
        return found

    def largest(self) -> Extreme:
        """Move values to where the magnitude is largest until none adds to it."""
        now, left = self, np.arange(len(self.at))
        for turn in range(6 * self.at.shape[2]):
            sizes, steps = now.along()
            here = np.maximum(np.abs(now.chains.value), 1e-300)[:, None, None]
            moves = sizes > here * (1 + SETTLED)
            kept = np.flatnonzero(moves.any(axis=(1, 2)))
            if kept.size < len(left):
                self._settle(now, left)
                left = left[kept]
                if not left.size:
                    break
                now, sizes, steps, moves = now.part(kept), sizes[kept], steps[kept], moves[kept]
            now.move(sizes, np.where(moves, steps, 0.0), None, turn < LEAPS)
        else:
            self._settle(now, left)
        toward = _unit(self.chains.value)
        return self.extreme(np.abs(self.chains.value), toward, toward, np.zeros(len(self.at), dtype=np.bool_))

    def falls(self) -> FloatArray:
        """The least magnitude along each value's line [C, 2, K]."""
        value, beta, gamma = self._line()
        over = -_square(value), -2 * np.real(value * np.conj(beta)), -_square(beta)
        best, _ = _on_line(over, gamma, -self.at, 1 - self.at)
        return np.sqrt(np.maximum(-best, 0.0))

    def to(self, at: FloatArray) -> _Search:
        """Move every value to where it is to stand, as a share of its line."""
        self.at = np.where(self.span != 0, at, self.at)
        self._renew(np.arange(len(self.at)))
        self.lost[:] = FAR
        return self

    def to_end(self, end: FloatArray) -> _Search:
        """Move the value that can do most by itself to an end of its line [C, 2, K]."""
        if self.at.size:
            self._move_one(np.arange(len(self.at)), self.along()[0] - self.falls(), end - self.at)
        return self

    def cross(self) -> None:
        """Move values to where each by itself adds most against the direction in which the quantity lies."""
        toward = _unit(self.chains.value)
        sizes, steps = self.along(toward)
        moves = sizes > (SETTLED - 1) * np.abs(self.chains.value)[:, None, None]
        self.move(sizes, np.where(moves, steps, 0.0), toward, True)

    def least(self, floor: FloatArray) -> Extreme:
        """How near to nothing the quantity comes.

        No magnitude is less than the least part that lies in some direction. What is looked for is the direction in
        which that is most: that of the point nearest to nothing of a line between two that were found (Gilbert, Johnson
        and Keerthi 1988, from memory). Where they lie around nothing it is none.
        """
        now, left = self, np.arange(len(self.at))
        start = np.abs(self.chains.value)
        one, other, nearest = (self.chains.value.copy() for _ in range(3))
        low = np.zeros(len(left))
        beaten = np.zeros(len(left), dtype=np.bool_)
        for turn in range(2 * ROUNDS):
            toward, value = _unit(nearest[left]), now.chains.value
            here = np.real(np.conj(toward) * value)
            sizes, steps = now.along(toward)
            moves = sizes > (SETTLED * start[left] - here)[:, None, None]
            there = np.logical_not(moves.any(axis=(1, 2)))
            low[left] = np.where(there, np.maximum(low[left], here), low[left])
            if turn < ROUNDS:
                around = _around(one[left], other[left], value)
                ends = [_nearest(end[left], value) for end in (one, other)]
                first = np.abs(ends[0]) <= np.abs(ends[1])
                one[left], other[left] = np.where(first, one[left], other[left]), value
                nearest[left] = np.where(around, 0.0, np.where(first, *ends))
                distance = np.abs(nearest[left])
                beaten[left] = distance < floor[left]
                going = (distance - low[left] > np.maximum(NEAR * distance, NOTHING * start[left])) & ~beaten[left]
            else:  # that of the last direction, which stays as it is
                going = np.logical_not(there)
            kept = np.flatnonzero(going)
            if kept.size < len(left):
                self._settle(now, left)
                left = left[kept]
                if not left.size:
                    break
                now, sizes, steps, moves, toward = now.part(kept), sizes[kept], steps[kept], moves[kept], toward[kept]
            now.move(sizes, np.where(moves, steps, 0.0), toward, True)
        else:
            self._settle(now, left)
        # a direction in which the search was caught before its end shows itself by what is nearer than its part
        low = np.minimum(low, np.abs(nearest))
        low[low < NOTHING * start] = 0.0
        toward = np.where(low > 0, _unit(nearest), _unit(self.chains.value))
        return self.extreme(low, toward, -toward, beaten)

    def _settle(self, other: _Search, where: IntArray) -> None:
        """Take over where some of the quantities have come to."""
        if other is not self:
            for mine, theirs in zip(self.chains[:4], other.chains[:4], strict=True):
                mine[where] = theirs
            self.at[where], self.lost[where] = other.at, other.lost

    def along(self, toward: ComplexArray | None = None) -> tuple[FloatArray, FloatArray]:
        """The largest magnitude along each value's line [C, 2, K], or the largest part against some direction, and the
        step that leads to it."""
        value, beta, gamma = self._line()
        if toward is None:
            over = _square(value), 2 * np.real(value * np.conj(beta)), _square(beta)
            best, where = _on_line(over, gamma, -self.at, 1 - self.at)
            return np.sqrt(np.maximum(best, 0.0)), where
        against = -np.conj(toward)[:, None, None]
        alpha, beta = against * value, against * beta
        over = alpha.real, np.real(beta + alpha * np.conj(gamma)), np.real(beta * np.conj(gamma))
        return _on_line(over, gamma, -self.at, 1 - self.at)

    def _line(self) -> tuple[ComplexArray, ComplexArray, ComplexArray]:
        """What makes a quantity (value + beta s) / (1 + gamma s) along each value's line."""
        value, current, row, matrix, _, _ = self.chains
        own = np.einsum("ckk->ck", matrix)
        beta = self.span * (value[:, None] * own - row * current)[:, None, :]
        return value[:, None, None], beta, self.span * own[:, None, :]

    def move(self, sizes: FloatArray, steps: FloatArray, toward: ComplexArray | None, leap: bool) -> None:
        """Move all values at once by their steps, where that is better than the best of them alone, else that one."""
        best = sizes.max(axis=(1, 2))
        by = (steps * self.span).sum(axis=1)
        count = (steps != 0).sum(axis=(1, 2))
        many = np.flatnonzero(count > (1 if leap else steps.size))
        alone = count > 0
        moving = (by[many] != 0).sum(axis=1)
        for width in _widths(by.shape[1]):
            mine = many[(moving <= width) & (moving > width // 2)]
            if mine.size:
                good = self._move_some(mine, by[mine], best[mine], None if toward is None else toward[mine], width)
                self.at[good] += steps[good]
                alone[good] = False
        one = np.flatnonzero(alone)
        if one.size:
            self._move_one(one, sizes[one], steps[one])
        self._renew(np.flatnonzero(self.lost > LOST))

    def _renew(self, which: IntArray) -> None:
        """Compute some of the quantities where they are from the start."""
        if which.size:
            place = self.place[which]
            by = (self.start.low[place] + self.at[which] * self.span[which]).sum(axis=1)
            value, current, row, matrix, _, _ = self.start
            found = _moved(value[place], current[place], row[place], matrix[place], by)
            for mine, theirs in zip(self.chains[:4], found, strict=True):
                mine[which] = theirs
            self.lost[which] = 1.0

    def _lose(self, which: IntArray, by: ComplexArray, own: ComplexArray) -> None:
        """Take down what a move by so much, ohm [n, K], loses where the branches' own matrix entries are [n, K]."""
        self.lost[which] /= np.abs(1 + by * own).min(axis=1, initial=1.0)

    def _move_some(
        self, which: IntArray, by: ComplexArray, best: FloatArray, toward: ComplexArray | None, width: int
    ) -> IntArray:
        """Move at most `width` branches of some of the quantities by so much, ohm [n, K]; gives back those of which the
        magnitude is better than the best by then. No other is moved."""
        value, current, row, matrix, _, _ = self.chains
        if width == by.shape[1]:
            found, *others = _moved(value[which], current[which], row[which], matrix[which], by)
            good = self._better(found, best, toward)
            to: IntArray = which[good]
            self._lose(to, by[good], np.einsum("ckk->ck", matrix[to]))
            value[to] = found[good]
            for mine_then, then in zip((current, row, matrix), others, strict=True):
                mine_then[to] = then[good]
            return to
        mine = np.argsort(by == 0, axis=1, kind="stable")[:, :width]
        n, here = np.arange(len(which))[:, None], which[:, None]
        by = by[n, mine]
        ahead = matrix[here, mine]
        among = np.take_along_axis(ahead, mine[:, None, :], axis=2)
        # what their added impedances do: of few branches, an inverse and products are quicker than solving for all
        added = by[:, :, None] * np.linalg.inv(np.eye(width) + among * by[:, None, :])
        through = (added @ current[here, mine, None])[:, :, 0]
        adds = row[here, mine]
        found = value[which] - np.einsum("ck,ck->c", adds, through)
        good = self._better(found, best, toward)
        to = which[good]
        self._lose(to, by[good], np.einsum("ckk->ck", among[good]))
        ahead, added = ahead[good], added[good]
        # what reaches there is reciprocal: columns of the matrix are its rows
        back = ahead.swapaxes(1, 2)
        value[to] = found[good]
        matrix[to] -= back @ (added @ ahead)
        current[to] -= (back @ through[good, :, None])[:, :, 0]
        row[to] -= (adds[good, None, :] @ added @ ahead)[:, 0]
        return to

    @staticmethod
    def _better(found: ComplexArray, best: FloatArray, toward: ComplexArray | None) -> BoolArray:
        """Of which the magnitude is better than the best of single moves, or the part against some direction."""
        size = np.abs(found) if toward is None else -np.real(np.conj(toward) * found)
        better: BoolArray = size > best
        return better

    def _move_one(self, which: IntArray, sizes: FloatArray, steps: FloatArray) -> None:
        """Move the value that does most of some of the quantities."""
        value, current, row, matrix, _, _ = self.chains
        part, k = np.divmod(sizes.reshape(len(which), -1).argmax(axis=1), sizes.shape[2])
        step = steps[np.arange(len(which)), part, k]
        by = step * self.span[which, part, k]
        self._lose(which, by[:, None], matrix[which, k, k][:, None])
        by = by / (1 + by * matrix[which, k, k])
        to, back = matrix[which, :, k], matrix[which, k, :]
        through, adds = current[which, k] * by, row[which, k] * by
        value[which] -= adds * current[which, k]
        current[which] -= to * through[:, None]
        row[which] -= adds[:, None] * back
        matrix[which] -= (to * by[:, None])[:, :, None] * back[:, None, :]
        self.at[which, part, k] += step

    def extreme(self, magnitude: FloatArray, toward: ComplexArray, against: ComplexArray, beaten: BoolArray) -> Extreme:
        """Where the quantities are, and how far back each value moves them from there."""
        back = np.real(np.conj(against) * self.chains.value)[:, None, None] + self.along(against)[0]
        offset = (self.chains.low + self.at * self.span).sum(axis=1)
        return Extreme(magnitude, back, offset, toward, *self.chains[:3], beaten)


def _moved(
    value: ComplexArray, current: ComplexArray, row: ComplexArray, matrix: ComplexArray, by: ComplexArray
) -> tuple[ComplexArray, ...]:
    """Value, current, row and matrix of quantities when every branch is moved by so much, ohm [C, K]."""
    before = np.concatenate([matrix, current[:, :, None]], axis=2)
    then = np.linalg.solve(np.eye(by.shape[1]) + matrix * by[:, None, :], before)
    pushed = row * by
    left: ComplexArray = value - np.einsum("ck,ck->c", pushed, then[:, :, -1])
    adds: ComplexArray = row - (pushed[:, None, :] @ then[:, :, :-1])[:, 0]
    return left, np.asarray(then[:, :, -1]), adds, np.asarray(then[:, :, :-1])


def _widths(count: int) -> list[int]:
    """How many branches are taken as moving together: all, half of them, a quarter and so on."""
    return [count >> half for half in range(count.bit_length())]


def _on_line(
    over: tuple[FloatArray, FloatArray, FloatArray], gamma: ComplexArray, first: FloatArray, last: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """The largest (a0 + a1 s + a2 s2) / abs(1 + gamma s)2 for s from `first` to `last`, and where it is."""
    a0, a1, a2 = over
    b1, b2 = 2 * np.real(gamma), _square(gamma)

    def size(s: FloatArray) -> FloatArray:
        with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
            return np.asarray((a0 + (a1 + a2 * s) * s) / (1 + (b1 + b2 * s) * s))

    best, where = size(first), first.copy()
    # the derivative's numerator: p s2 + 2 q s + r, with a root for the least and one for the largest
    p, q, r = a2 * b1 - a1 * b2, a2 - a0 * b2, a1 - a0 * b1
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        root = np.sqrt(np.maximum(q * q - p * r, 0.0))
        # it falls from above to below nothing at the largest
        largest = np.where(q < 0, r / (root - q), -(q + root) / p)
    for s in (last, largest):
        inside = np.isfinite(s) & (s > first) & (s <= last)
        s = np.where(inside, s, first)
        found = size(s)
        better = inside & (found > best)
        best, where = np.where(better, found, best), np.where(better, s, where)
    return best, where


def _nearest(a: ComplexArray, b: ComplexArray) -> ComplexArray:
    """The point nearest to nothing of the line between two."""
    step = b - a
    share = -np.real(np.conj(step) * a) / np.maximum(_square(step), 1e-300)
    return np.asarray(a + np.clip(share, 0.0, 1.0) * step)


def _around(a: ComplexArray, b: ComplexArray, c: ComplexArray) -> BoolArray:
    """Whether nothing lies within a triangle."""
    sides = np.array([np.imag(np.conj(_unit(p)) * _unit(q)) for p, q in ((a, b), (b, c), (c, a))])
    return np.asarray((sides > SETTLED).all(axis=0) | (sides < -SETTLED).all(axis=0))


def _unit(z: ComplexArray) -> ComplexArray:
    return np.asarray(z / np.maximum(np.abs(z), 1e-300))


def _square(z: ComplexArray) -> FloatArray:
    return np.asarray(z.real * z.real + z.imag * z.imag)
