"""How far what circuits beside the line induce reaches across those who touch it: by their load and voltage for good,
and by a fault on one of them until that is cleared."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import Final

import numpy as np

from groundlint.electrical.solver.solution import Solution
from groundlint.electrical.solver.solve import solve
from groundlint.electrical.study import extents
from groundlint.electrical.study.circuit import BESIDE, INDUCTION, RESIDUAL, Return
from groundlint.electrical.study.following import Asked, Extent, Following, Pair
from groundlint.electrical.study.kept import KEPT
from groundlint.plan.models import Thing
from groundlint.text.store import digest

FEW: Final = 4
"""Places and radii of a circuit beside the line of which each has its least followed: those of one with a spacing."""


class Induced:
    """What is induced in a site of which the bounds are found."""

    def __init__(self, found: extents.Extents) -> None:
        self.extents = found
        self.site = found.site

    @cached_property
    def by_induction(self) -> dict[tuple[int, Thing], dict[Pair, Extent]]:
        """Bounds of the current through a body across each pair that is wanted, by state and inducing circuit; what
        its current and its voltage drive is added up."""
        body = self.site.body
        assert body is not None
        own = np.zeros((1, 2, len(self.extents.names)))
        own[0, 0, self.extents.names["body-resistance"]] = 1.0
        least, most = (
            np.append(limits, [[limit - body.middle], [0.0]], axis=1)
            for limits, limit in ((self.extents.low, body.low), (self.extents.high, body.high))
        )
        search = Following(least, most, np.concatenate([self.extents.shares, own]))
        returns = [one for one in self.site.returns if one.sort == INDUCTION]
        pairs_of = {
            state: tuple(
                dict.fromkeys(pair for key, one in asked.items() if isinstance(key, tuple) for pair in one.pairs)
            )
            for state, asked in self.extents.wanted.items()
        }
        every: dict[tuple[object, ...], Extent] = {}
        new: dict[tuple[int, Pair, Return], bytes] = {}
        for state, pairs in pairs_of.items():
            for way in returns:
                drives = repr([self.site.scenarios[column] for column in way.columns])
                for pair in pairs:
                    key = digest(
                        self.extents.of_state[state],
                        "induction",
                        drives,
                        repr((pair, body.low, body.middle, body.high)),
                    )
                    kept = KEPT.get(key)
                    if kept is None:
                        new[state, pair, way] = key
                    else:
                        (every[state, pair, way, "body"],) = extents.unpacked(kept)
        if new:
            models = self.extents.solved(state for state, _, _ in new)
            idle, number = self._idle(dict.fromkeys(pair for _, pair, _ in new), returns)
            for state, pair, way in new:
                few = frozenset((way,) if len(way.columns) <= FEW else ())  # with more of them a least says nothing
                asked: dict[object, Asked] = {"body": Asked(every=few)}
                driven = models[state].bridged(idle, pair, [number[one] for one in way.columns], body.middle)
                search.add((state, pair, way), asked, driven, 1)
            every |= search.found()
            KEPT.put((key, extents.packed([every[*one, "body"]])) for one, key in new.items())
        found: dict[tuple[int, Thing], dict[Pair, Extent]] = {}
        for state, pairs in pairs_of.items():
            for cause in dict.fromkeys(way.cause for way in returns):
                mine = [way for way in returns if way.cause is cause]
                found[state, cause] = {
                    pair: self._together([(way, every[state, pair, way, "body"]) for way in mine]) for pair in pairs
                }
        return found

    def _idle(self, pairs: Iterable[Pair], returns: Iterable[Return]) -> tuple[Solution, dict[int, int]]:
        """The circuit in the middle of its bounds while something is induced, with the voltages of pairs; where among
        the scenarios each is."""
        columns = list(dict.fromkeys(column for way in returns for column in way.columns))
        scenarios = [self.site.scenarios[column] for column in columns]
        found = solve(self.site.network, self.site.states, scenarios, pairs=tuple(pairs))
        assert isinstance(found, Solution)  # what is wrong with the network shows before
        return found, {column: k for k, column in enumerate(columns)}

    @cached_property
    def by_fault_beside(self) -> dict[tuple[int, Thing, object], Extent]:
        """Bounds of the largest voltage of the pairs that somebody can reach, by state, circuit beside the line, and
        pairs, while a fault to ground is on that circuit."""
        returns = [one for one in self.site.returns if one.sort == BESIDE]
        of_people: dict[int, dict[object, Asked]] = {
            state: {key: Asked(pairs=key) for key, one in asked.items() if isinstance(key, tuple) and key == one.pairs}
            for state, asked in self.extents.wanted.items()
        }
        every: dict[tuple[object, ...], Extent] = {}
        new: dict[tuple[int, Return], bytes] = {}
        for state, asked in of_people.items():
            for way in returns if asked else ():
                drives = repr([self.site.scenarios[column] for column in way.columns])
                key = digest(self.extents.of_state[state], BESIDE, drives, repr(list(asked)))
                kept = KEPT.get(key)
                if kept is None:
                    new[state, way] = key
                else:
                    every |= {
                        (state, way, one): extent for one, extent in zip(asked, extents.unpacked(kept), strict=True)
                    }
        if new:
            search = Following(self.extents.low, self.extents.high, self.extents.shares, extents.NOTHING)
            models = self.extents.solved(state for state, _ in new)
            pairs = dict.fromkeys(pair for state, _ in new for one in of_people[state].values() for pair in one.pairs)
            idle, number = self._idle(pairs, returns)
            for state, way in new:
                mine = [pair for one in of_people[state].values() for pair in one.pairs]
                driven = models[state].induced(idle, mine, [number[one] for one in way.columns])
                search.add((state, way), of_people[state], driven, 0)
            every |= search.found()
            KEPT.put(
                (key, extents.packed([every[*one, name] for name in of_people[one[0]]])) for one, key in new.items()
            )
        return {
            (state, cause, key): self._of_any([(way, every[state, way, key]) for way in returns if way.cause is cause])
            for state, asked in of_people.items()
            for cause in dict.fromkeys(way.cause for way in returns)
            for key in asked
        }

    def _of_any(self, parts: Sequence[tuple[Return, Extent]]) -> Extent:
        """Bounds of the worst of several faults, while it is not known which of several ways a fault drives by: each of
        them may be, and less of the current through the earth."""
        tops = np.array([one.ends[1].max() for _, one in parts])
        worst = parts[int(tops.argmax())][1]
        moved = np.max([one.moved for _, one in parts], axis=0)
        for k, (name, _) in enumerate(parts[0][0].settled):
            by_value: dict[float, float] = {}
            for (way, _), top in zip(parts, tops.tolist(), strict=True):
                value = way.settled[k][1]
                by_value[value] = max(by_value.get(value, 0.0), top)
            moved[self.extents.names[name]] += max(by_value.values()) - min(by_value.values())
        least, most = self.site.register.bounds("parallel-earth-return")
        moved[self.extents.names["parallel-earth-return"]] += float(tops.max()) * (1 - least / most)
        low = min(float(one.ends[0].max()) for _, one in parts) * least / most
        return Extent(np.array([[low], [float(tops.max())]]), moved, worst.which)

    def _together(self, parts: Sequence[tuple[Return, Extent]]) -> Extent:
        """Bounds of what several drive together, each in any direction: at most their sum, and at least what one has
        over all others."""
        # of what returns through the earth some may return in a wire of the other circuit's
        least = np.array([0.0 if way.way == RESIDUAL else one.ends[0].min() for way, one in parts])
        most = np.array([one.ends[1].max() for _, one in parts])
        moved = np.sum([one.moved for _, one in parts], axis=0)
        for (way, one), high in zip(parts, most.tolist(), strict=True):
            if way.assumed:
                moved[self.extents.names[way.assumed]] += high - (
                    0.0 if way.way == RESIDUAL else float(one.ends[1].min())
                )
        low = max(0.0, float((least + most - most.sum()).max()))
        return Extent(np.array([[low], [most.sum()]]), moved)
