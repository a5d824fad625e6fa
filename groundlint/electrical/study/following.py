"""Quantities of a circuit followed as far as they reach: which values for each, and what the others may add.

Nothing here knows what a quantity is of: they come as arrays, and go as bounds under the keys that were asked.
"""

from __future__ import annotations

import itertools
from collections.abc import Hashable, Mapping
from functools import cached_property
from typing import Final, NamedTuple

import numpy as np

from groundlint.electrical.physics.constants import ComplexArray, FloatArray
from groundlint.electrical.solver.extremes import Begin, Chains, extremes
from groundlint.electrical.solver.layout import BoolArray, IntArray

FOLLOWED: Final = (4, 8, 12, 16, 24, 48)
"""How many values may be followed for one quantity; what the others do is added to its bounds."""

FEW: Final = 16
"""How many values at most are followed at first for a largest magnitude, since most quantities then stay below another
of the same answer. Of a least one there is no such other, and as many as can be are followed at once: with few, values
that move it with others alone left some ends up to 6 % too high."""

ABOUT: Final = 1.3
"""A least magnitude found with few values from one beginning is the least of several by no more than this, or another
is: few values leave it up to 6 % too high, and one beginning where there are several ends more."""

REST: Final = 1e-2
"""Share of a magnitude that the values that are not followed may move it by."""

CLOSER: Final = 2.5e-3
"""The same where that decides whether somebody is safe: of largest magnitudes, and of least ones by which it is judged
how long a fault lasts. Values that move nothing by themselves were found to move a current by 38 % together, so that
no sum of what each does would hold them. It costs a sixth of processor time; a tenth of `REST` costs a third."""

TOGETHER: Final = 6.0
"""What the values that are not followed do together is taken as so many times what they do one by one: of 12 plans no
largest magnitude is above its bound, where three times left some 0.07 % above."""

SMALL: Final = 1e-2
"""Share of the largest of what is asked together below which what the others do is not looked at any closer."""

TURNS: Final = 6
"""How often a quantity is followed at most, each time with the values that turned out to matter."""

PART: Final = 1024
"""Quantities followed together: what is known of them on the way takes memory, some 100 kB each."""

SLACK: Final = 1e-5
"""Share of a magnitude by which bounds are widened for rounding."""

SAME: Final = 1e-3
"""Share of a magnitude within which two are the same, so that rounding does not say which of two phases is named."""

FURTHER: Final = 0.01
"""Share of the way from the middle to an end by which the end is set further, for what the search leaves: no proof is
known, and of thousands of random draws one was 0.06 % outside without."""

Pair = tuple[str, str]


NOTHING_ASKED: Final = np.zeros(0)


class Extent(NamedTuple):
    """Least and largest magnitude [end, way] of the largest of some quantities, how much of it each assumption makes,
    by its number [name], and which of the quantities reaches furthest, by which way. Where the least was not asked,
    `guess` [way] is what each value by itself makes of it."""

    ends: FloatArray
    moved: FloatArray
    which: int = 0
    way: int = 0
    guess: FloatArray = NOTHING_ASKED


class Asked(NamedTuple):
    """The largest of several quantities of a state: currents of arms, voltages of pairs, or, with neither, the currents
    of a source's poles. Only the largest over the ways has to be right, and the largest by what it heats, or, if
    `apart`, over those in which the same things drive; but each way by itself where one of `every` drives, if it is not
    known what they heat, and the least of each in any case. `largest` ends may be left out and are open then; `least`
    ends may be, and are 0. `timed` are those by which it is judged how long a fault lasts: the least has to be right as
    well. Of `weakest` only the way of the least magnitude counts, by itself and by how it counts; the largest of the
    others are open."""

    arms: tuple[str, ...] = ()
    pairs: tuple[Pair, ...] = ()
    every: frozenset[Hashable] = frozenset()
    apart: bool = False
    largest: bool = True
    least: bool = True
    timed: bool = False
    weakest: bool = False


class Driven(NamedTuple):
    """Quantities of a state while something drives in each of W ways: `value` [W, q], `row` [W, q, k] what 1 V in a
    value's branch adds, `current` [W, k] through that branch, and the matrix between values, `base` [k, k] with what
    closing the source adds, `into` [k, s] @ `across` [W, s, k]. `drives` says of each way which
    things drive, and by which of their poles, and `heat` by how much a magnitude counts for what it heats, or for how
    little it is of what could be; all alike where not given."""

    value: ComplexArray
    row: ComplexArray
    current: ComplexArray
    base: ComplexArray
    into: ComplexArray
    across: ComplexArray
    drives: tuple[frozenset[tuple[Hashable, tuple[bool, ...]]], ...] = ()
    heat: FloatArray | None = None


_Place = tuple[tuple[object, ...], int]
"""What was asked, and in which way of what drives."""


class _Screen(NamedTuple):
    """Where each quantity could go, from what each value does by itself [W, q]: `top` is reached by one value alone,
    `most` and `least` are guesses of where all together could lead. `moved` [W, q, k] is what each value does."""

    here: FloatArray
    top: FloatArray
    most: FloatArray
    least: FloatArray
    moved: FloatArray


class _Case(NamedTuple):
    """A state and what drives it, with its quantities screened."""

    driven: Driven
    screen: _Screen


class _Job(NamedTuple):
    """One quantity of a case in one way, of what was asked under a key, to be followed to one end. `which` it is of
    those asked together; `scale` is the magnitude that the largest of them reaches at least, and of all `among` which
    it stands only the largest has to be right, by itself and times its `heat`."""

    key: tuple[object, ...]
    among: tuple[object, ...]
    case: int
    way: int
    row: int
    which: int
    scale: float
    timed: bool
    heat: float


class _Pool(NamedTuple):
    """Quantities to be followed: the case of each, its way among those of all cases, its value and row, what each
    branch moves [n, k], the magnitude that counts, and what was found last: the end, and how much of it each assumption
    makes. `rest` is the share of it that values may move which are not followed."""

    jobs: list[_Job]
    case: IntArray
    way: IntArray
    value: ComplexArray
    row: ComplexArray
    moved: FloatArray
    scale: FloatArray
    end: FloatArray
    shares: FloatArray
    rest: FloatArray


class _Turn(NamedTuple):
    """To which end quantities are followed, whether for the last time, and from where; whether only to see how far a
    few values bring them."""

    largest: bool
    last: bool
    begin: Begin
    sizing: bool = False


class _Closed(NamedTuple):
    """The distinct `base` of all cases, which is of each case, and by all their ways `current` [W, k], `into`
    [case, k, s] and `across` [W, s, k]; `own` is what a branch's own electromotive force of 1 V drives through it
    [W, k]."""

    base: ComplexArray
    of_case: IntArray
    current: ComplexArray
    into: ComplexArray
    across: ComplexArray
    own: ComplexArray


class Following:
    """Quantities as they are asked, and their bounds once they have been followed to both ends."""

    def __init__(self, low: ComplexArray, high: ComplexArray, shares: FloatArray, least: float = 0.0) -> None:
        self.low, self.high, self.shares = low, high, shares
        self.least = least if low.size else 0.0
        self.sizes = sorted({min(size, low.shape[1]) for size in FOLLOWED})
        self.few = [size for size in self.sizes if size <= FEW] or self.sizes[:1]
        self.cases: list[_Case] = []
        self.extents: dict[tuple[object, ...], Extent] = {}
        self.lowest: list[_Job] = []
        self.most: list[_Job] = []
        self.among: dict[_Place, tuple[object, ...]] = {}
        self.reached: dict[tuple[object, ...], float] = {}
        self.shown: dict[tuple[object, ...], tuple[float, float]] = {}
        self.first: dict[tuple[object, ...], _Place] = {}
        self.alike: dict[_Place, list[_Place]] = {}
        self.later: list[tuple[_Job, bool, float, FloatArray]] = []
        self.weakest: dict[tuple[object, ...], FloatArray] = {}

    def add(self, cause: tuple[object, ...], asked: Mapping[object, Asked], driven: Driven, poles: int) -> None:
        """Take in a state and what drives it; the quantities stand in the order in which they are asked."""
        screen = _screen(driven, self.low, self.high)
        self.cases.append(_Case(driven, screen))
        at = 0
        for key, one in asked.items():
            rows = slice(at, at + (len(one.arms) + len(one.pairs) or poles))
            at = rows.stop
            most = screen.most[:, rows]
            self.extents[*cause, key] = extent = Extent(
                np.array([np.zeros(len(most)), most.max(axis=1) if one.largest else np.full(len(most), np.inf)]),
                np.zeros(self.shares.shape[2]),
                guess=NOTHING_ASKED if one.least else screen.least[:, rows].max(axis=1),
            )
            if most.max(initial=0.0) < self.least / 3:
                continue
            if one.weakest:
                self.weakest[*cause, key] = np.ones(len(most)) if driven.heat is None else driven.heat
            if np.isfinite(driven.value[:, rows]).all():
                for ways in _groups(one, cause[-1], driven, alone=driven.heat is None or one.weakest):
                    self._pick((*cause, key), rows, one, ways)
            else:
                extent.ends[:] = np.nan

    def _pick(self, full: tuple[object, ...], rows: slice, asked: Asked, ways: list[int]) -> None:
        """What to follow for one answer, that of some ways: of least magnitudes that of the quantity that falls least,
        which is a low end of the largest of all, and of largest ones every quantity. None is left out for what single
        values make of it: of a bar's strap and a wet pole either by itself is next to nothing, and both together are
        100 V."""
        driven, screen = self.cases[-1]
        number = len(self.cases) - 1
        most, top, least = screen.most[:, rows], screen.top[:, rows], screen.least[:, rows]
        drives = driven.drives
        among, beside = (*full, ways[0]), list(range(len(most)))
        self.among.update(((full, way), among) for way in ways)
        if drives and (asked.every or asked.apart) and (asked.arms or asked.pairs):
            # what several drive together is the same, whichever of them is asked for
            beside = [n for n, one in enumerate(drives) if dict(one).keys() == dict(drives[ways[0]]).keys()]
            firsts = {way: self.first.setdefault((*full[:-2], full[-1], drives[way]), (full, way)) for way in ways}
            for way, first in firsts.items():
                if first != (full, way):
                    self.alike.setdefault(first, []).append((full, way))
            ways = [way for way in ways if firsts[way] == (full, way)]
            if not ways:
                return

        def job(place: int, scale: float) -> _Job:
            way, which = divmod(place, most.shape[1])
            row, hot = rows.start + which, 1.0 if driven.heat is None else float(driven.heat[ways[way]])
            return _Job(full, among, number, ways[way], row, which, scale, asked.timed, hot)

        small = SMALL * float(top[beside].max())
        if asked.least:
            places = [int(least[ways].argmax())]
            if not asked.every.isdisjoint(_things(driven, full[-2], ways[0])):  # which lasts longest decides as well
                places = [way * least.shape[1] + int(each.argmax()) for way, each in enumerate(least[ways])]
            self.lowest += [job(place, small) for place in places]
        scale = max(float(top[ways].max()), small)
        if scale > 0 and asked.largest:
            self.most += [job(place, scale) for place in np.flatnonzero(most[ways].ravel()).tolist()]

    def found(self) -> dict[tuple[object, ...], Extent]:
        """The bounds, once everything has been followed."""
        self.lowest = self._weak(self.lowest, False)
        self._follow(self.lowest, False)
        self.most = self._weak(self.most, True)
        self._follow(self.most, True)
        for taken in self.later:  # after what each drives alone, which is named where both are as much
            self._take(*taken)
        for (key, way), among in self.among.items():
            highs = self.extents[key].ends[1]
            highs[way] = min(highs[way], self.reached.get(among, np.inf))  # what was found to be less
        for extent in self.extents.values():
            nothing = extent.ends[1] < self.least
            extent.ends[1, nothing] = self.least
            extent.ends[0, extent.ends[0] < self.least] = 0.0
        return self.extents

    def _weak(self, jobs: list[_Job], largest: bool) -> list[_Job]:
        """What is to be followed to an end: of those of which only the weakest counts, the ways that may be it by how
        far few values bring them. The largest of the others are open."""
        some = [job for job in jobs if job.key in self.weakest]
        if not some:
            return jobs
        pool = _pool(some, self.cases, self.shares.shape[2], largest)
        self._with(pool, np.arange(len(some)), self.few, _Turn(largest, True, "middle", sizing=True))
        sizes: dict[_Place, float] = {}
        for job, size in zip(some, pool.end.tolist(), strict=True):  # of several poles the largest
            sizes[job.key, job.way] = max(size, sizes.get((job.key, job.way), 0.0))
        kept: set[_Place] = set()
        for key, counts in self.weakest.items():
            ends = self.extents[key].ends[int(largest)]
            mine = np.array([sizes.get((key, way), end) for way, end in enumerate(ends.tolist())])
            weak = _may_be_weakest(mine, counts)
            ends[~weak] = np.inf if largest else np.where(counts > 0, mine, np.inf)[~weak]
            kept.update((key, way) for way in np.flatnonzero(weak).tolist())
        return [job for job in jobs if job.key not in self.weakest or (job.key, job.way) in kept]

    def _follow(self, jobs: list[_Job], largest: bool) -> None:
        """Follow quantities to an end, in groups by how many branches each is followed with; again with more where
        others turn out to matter at that end."""
        if not jobs:
            return
        pool = _pool(jobs, self.cases, self.shares.shape[2], largest)
        sizes = self.sizes
        left = np.arange(len(jobs))
        for turn in range(TURNS):
            how = _Turn(largest, turn == TURNS - 1, "middle" if largest else "all")
            if not (largest and turn):
                # with few of them what is left out is to be less, or more are followed
                now, among = (pool._replace(rest=pool.rest / 3), self.few) if largest else (pool, sizes[-1:])
                left = self._with(now, left, among, how)
                continue
            # of each answer first what may be the largest by most: most others stay below what that reaches
            likely = _likely(pool, left)
            later = self._with(pool, likely, sizes, how)
            others = self._beyond(pool, np.setdiff1d(left, likely), largest)
            left = np.concatenate([later, self._with(pool, others, sizes, how)])
        if largest:  # what decides may have an end that no single move leads to
            self._with(pool, _likely(pool, np.arange(len(jobs))), sizes, _Turn(True, True, "corners"))

    def _with(self, pool: _Pool, mine: IntArray, sizes: list[int], turn: _Turn) -> IntArray:
        """Follow some, in groups by how many branches matter to each; those are given back to which more do."""
        moved = pool.moved[mine]
        order = np.argsort(-moved, axis=1)[:, : sizes[-1]]
        rest = moved.sum(axis=1, keepdims=True) - np.cumsum(np.take_along_axis(moved, order, axis=1), axis=1)
        enough = (rest > (pool.rest[mine] / 3 * pool.scale[mine])[:, None]).sum(axis=1) + 1
        group = np.minimum(np.searchsorted(sizes, enough), len(sizes) - 1)
        later = [
            self._to_end(pool, mine[part], order[part, : sizes[number]], turn)
            for number in np.unique(group).tolist()
            for some in (np.flatnonzero(group == number),)
            for part in np.split(some, range(PART, len(some), PART))
        ]
        return self._beyond(pool, np.concatenate([*later, np.zeros(0, dtype=np.intp)]), turn.largest)

    def _beyond(self, pool: _Pool, left: IntArray, largest: bool) -> IntArray:
        """Those that may go beyond what others of the same answer reach; the others are taken as they are."""
        if not largest:
            return left
        going = np.zeros(len(left), dtype=np.bool_)
        for place, number in enumerate(left.tolist()):
            job, end = pool.jobs[number], float(pool.end[number])
            most, hottest = self.shown[job.among]
            going[place] = end > most or end * job.heat > hottest
            if not going[place]:
                self._take(job, largest, end, pool.shares[number])
        return left[going]

    def _show(self, job: _Job, size: float) -> None:
        """Keep how large a quantity was found to be."""
        most, hottest = self.shown.get(job.among, (0.0, 0.0))
        self.shown[job.among] = max(most, size), max(hottest, size * job.heat)

    @cached_property
    def _closed(self) -> _Closed:
        return _closed(self.cases)

    def _to_end(self, pool: _Pool, mine: IntArray, which: IntArray, turn: _Turn) -> IntArray:
        """Follow some quantities with some branches each [n, K], and take in what is found; those for which others
        matter as well are given back, with what every branch moves."""
        base, of_case, current, into, across, every = self._closed
        case, way = pool.case[mine], pool.way[mine]
        row = np.arange(len(mine))[:, None]
        back = across[way[:, None, None], np.arange(across.shape[1])[:, None], which[:, None, :]]
        ahead = into[case[:, None], which]
        matrix = base[of_case[case][:, None, None], which[:, :, None], which[:, None, :]] + ahead @ back
        chains = Chains(
            pool.value[mine],
            current[way[:, None], which],
            pool.row[mine[:, None], which],
            matrix,
            self.low[:, which].swapaxes(0, 1),
            self.high[:, which].swapaxes(0, 1),
        )
        jobs = [pool.jobs[k] for k in mine.tolist()]
        reached = np.array([0.0 if turn.largest else self.extents[job.key].ends[0, job.way] for job in jobs])
        found = extremes(chains, turn.largest, turn.begin, reached)
        if turn.sizing:
            pool.end[mine] = found.magnitude
            return mine[:0]
        kept = np.flatnonzero(~found.beaten)
        mine, which, case, way, row = mine[kept], which[kept], case[kept], way[kept], row[: len(kept)]
        # what the others would move, where these have come to; what reaches there is reciprocal
        pushed = np.stack([current[way], pool.row[mine]], axis=1)
        drawn = np.stack([found.current[kept], found.row[kept]], axis=1) * found.offset[kept, None, :]
        for first in range(0, len(kept), 64):
            some = slice(first, first + 64)
            pushed[some] -= drawn[some] @ base[of_case[case[some], None], which[some]]
        pushed -= (drawn @ ahead[kept]) @ across[way]
        through = pushed[:, 0] * pushed[:, 1]
        toward = None if turn.largest else found.toward[kept]
        moved = _moved(self.low, self.high, through, every[way], found.value[kept], toward)
        moved[row, which] = 0.0
        rest = moved.sum(axis=1)
        size = found.magnitude[kept]
        further = TOGETHER * rest + SLACK * size + FURTHER * np.abs(size - np.abs(pool.value[mine]))
        ends = size + further if turn.largest else np.maximum(size - further, 0.0)
        matters = rest > pool.rest[mine] * np.maximum(pool.scale[mine], size)
        more = matters & (ends > 0) & (not turn.last)
        shares = np.einsum("cpk,ckpn->cn", found.moved[kept], self.shares[which])
        for number in np.flatnonzero(~more).tolist():
            self._take(pool.jobs[mine[number]], turn.largest, float(ends[number]), shares[number])
        later: IntArray = mine[more]
        if which.shape[1] < min(FOLLOWED[-1], self.low.shape[1]):
            # what was followed goes on to be, though where it stands now it may do little
            moved[row, which] = (moved.sum(axis=1) + pool.scale[mine])[:, None]
        pool.moved[later] = np.maximum(moved[more], pool.moved[later])
        pool.end[mine], pool.shares[mine] = ends, shares
        for number, magnitude in zip(mine.tolist(), size.tolist(), strict=True):
            self._show(pool.jobs[number], magnitude)
        return later

    def _take(self, job: _Job, largest: bool, end: float, moved: FloatArray) -> None:
        """Take in an end that was found. The largest of a way has a guess in its place until then."""
        for key, number in self.alike.get((job.key, job.way), ()):
            self.later.append((job._replace(key=key, way=number, among=self.among[key, number]), largest, end, moved))
        extent = self.extents[job.key]
        np.maximum(extent.moved, moved, out=extent.moved)
        if not largest:
            extent.ends[0, job.way] = max(extent.ends[0, job.way], end)
            return
        self._show(job, end)
        own, before = (self.reached.get(one, -1.0) for one in ((job.key, job.way), job.key))
        if end > own:
            extent.ends[1, job.way] = end
        for one in ((job.key, job.way), job.key, job.among):
            self.reached[one] = max(end, self.reached.get(one, -1.0))
        if end > before * (1 + SAME):
            self.extents[job.key] = extent._replace(which=job.which, way=job.way)


def _closed(cases: list[_Case]) -> _Closed:
    """The matrices of every case."""
    every = [case.driven for case in cases]
    ports = max(driven.into.shape[1] for driven in every)  # of cases in which fewer poles drive the others do not
    bases = {id(driven.base): driven.base for driven in every}
    number = {name: k for k, name in enumerate(bases)}
    base, of_case = np.stack(list(bases.values())), np.array([number[id(driven.base)] for driven in every])
    into = np.stack([np.pad(one.into, ((0, 0), (0, ports - one.into.shape[1]))) for one in every])
    across = np.concatenate([np.pad(one.across, ((0, 0), (0, ports - one.across.shape[1]), (0, 0))) for one in every])
    ways = np.array([len(driven.current) for driven in every])
    own = np.repeat(np.einsum("skk->sk", base)[of_case], ways, axis=0)
    own = own + np.einsum("wks,wsk->wk", np.repeat(into, ways, axis=0), across)
    return _Closed(base, of_case, np.concatenate([driven.current for driven in every]), into, across, own)


def _moved(
    low: ComplexArray,
    high: ComplexArray,
    through: ComplexArray,
    own: ComplexArray,
    value: ComplexArray,
    toward: ComplexArray | None,
) -> FloatArray:
    """How much each value adds at most to a magnitude, or takes from its part in a direction [n, k], where 1 V in its
    branch adds `through` and drives its `own` current."""
    moved = np.zeros(through.shape)
    for line in range(2):
        k = np.flatnonzero(low[line] != high[line])
        far = np.zeros((len(value), len(k)))
        for limit in (low[line, k], high[line, k]):
            step = through[:, k] * (limit / (1 + limit * own[:, k]))
            gain = np.abs(value[:, None] - step) - np.abs(value)[:, None]
            far = np.maximum(far, gain if toward is None else np.real(np.conj(toward)[:, None] * step))
        moved[:, k] += far
    return moved


def _may_be_weakest(sizes: FloatArray, counts: FloatArray) -> BoolArray:
    """Which ways may be the least by their sizes [way], or by these as they count, where they count at all."""
    mine = np.where(counts > 0, sizes, np.inf)
    shares = np.where(counts > 0, sizes * counts, np.inf)
    return np.asarray((counts > 0) & ((mine <= ABOUT * mine.min()) | (shares <= ABOUT * shares.min())))


def _likely(pool: _Pool, left: IntArray) -> IntArray:
    """Of each answer, the quantities that may be the largest by most, by themselves and by what they heat."""
    best: dict[tuple[object, ...], int] = {}
    heat = np.array([job.heat for job in pool.jobs])
    for by, size in enumerate((pool.end[left], pool.end[left] * heat[left])):
        for number in left[np.argsort(size)].tolist():
            best[by, pool.jobs[number].among] = number
    return np.array(sorted(set(best.values())), dtype=np.intp)


def _things(driven: Driven, cause: object, way: int) -> frozenset[object]:
    """The things that drive by a way."""
    return frozenset(thing for thing, _ in driven.drives[way]) if driven.drives else frozenset({cause})


def _groups(asked: Asked, cause: object, driven: Driven, *, alone: bool) -> list[list[int]]:
    """The ways, in groups of which only the largest has to be right; those in which one of `every` drives stand by
    themselves if they are to be `alone`."""
    groups: dict[object, list[int]] = {}
    for way in range(len(driven.value)):
        things = _things(driven, cause, way)
        own = alone and not asked.every.isdisjoint(things)
        groups.setdefault(way if own else things if asked.apart else None, []).append(way)
    return list(groups.values())


def _pool(jobs: list[_Job], cases: list[_Case], ports: int, largest: bool) -> _Pool:
    """All that is needed to follow these."""
    value, row, moved, scale = [], [], [], []
    for number, mine in itertools.groupby(jobs, key=lambda job: job.case):
        some = list(mine)
        driven, screen = cases[number]
        at = [job.way for job in some], [job.row for job in some]
        value.append(driven.value[at])
        row.append(driven.row[at])
        moved.append(screen.moved[at])
        scale.append(np.maximum(screen.here[at], [job.scale for job in some]))
    case = np.array([job.case for job in jobs], dtype=np.intp)
    first = np.cumsum([0, *(len(case.driven.current) for case in cases)])
    way = first[case] + np.array([job.way for job in jobs], dtype=np.intp)
    return _Pool(
        jobs,
        case,
        way,
        np.concatenate(value),
        np.concatenate(row),
        np.concatenate(moved),
        np.concatenate(scale),
        np.zeros(len(jobs)),
        np.zeros((len(jobs), ports)),
        np.array([CLOSER if largest or job.timed else REST for job in jobs]),
    )


def _screen(driven: Driven, low: ComplexArray, high: ComplexArray) -> _Screen:
    """What each value does by itself, at either end of its bounds."""
    here = np.abs(driven.value)
    size = here[:, :, None]
    moved, falls = np.zeros(driven.row.shape), np.ones(driven.row.shape)
    top = here
    through = driven.row * driven.current[:, None, :]
    own = np.diagonal(driven.base) + np.einsum("ks,wsk->wk", driven.into, driven.across)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for part in range(2):
            k = np.flatnonzero(low[part] != high[part])
            least, most, far = size, size, np.zeros((*here.shape, len(k)))
            for end in (low[part, k], high[part, k]):
                step = through[:, :, k] * (end / (1 + end * own[:, k]))[:, None, :]
                then = np.abs(driven.value[:, :, None] - step)
                least, most, far = np.minimum(least, then), np.maximum(most, then), np.maximum(far, np.abs(step))
            top = np.maximum(top, most.max(axis=2, initial=0.0))
            moved[:, :, k] += far
            falls[:, :, k] *= least / size
        up = here * (1 + moved / size).prod(axis=2)
    up = np.where(here > 0, up, np.where(top > 0, np.inf, 0.0))
    return _Screen(here, top, up, np.where(here > 0, here * falls.prod(axis=2), 0.0), moved)
