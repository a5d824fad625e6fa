"""Four connectivities side by side: at one place or along the line, surely or possibly.

What is possible holds all that is sure, and the joints that the plan leaves open, each with the gap that is to blame.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Container, Iterator
from itertools import chain
from typing import NamedTuple

from groundlint.values import FALSE, TRUE, UNKNOWN, Gap, Truth
from groundlint.world.connectivity import Connectivity, Key, Node
from groundlint.world.logs import FOREVER, READING, Signal

MOST_GAPS = 8
"""As many gaps are reported at most; a person mends a few and asks again."""


class Spell:
    """A joint (a loose end, where ``other`` is None) while it lasts: from ``start`` up to, not including, ``end``."""

    __slots__ = ("end", "gap", "key", "local", "one", "other", "start")

    def __init__(self, key: Key, one: Node, other: Node | None, start: int, local: bool, gap: Gap | None) -> None:
        self.key, self.one, self.other, self.start, self.local, self.gap = key, one, other, start, local, gap
        self.end: int | None = None

    def lasts(self, at: int) -> bool:
        """Whether it is there at a position."""
        return _lasts(self.start, self.end, at)


class Electrode(NamedTuple):
    """An electrode: a node, from which position on, up to, not including, which (None: to the end), and what is not
    known of it."""

    node: Node
    start: int
    local: bool
    gap: Gap | None
    end: int | None = None

    def lasts(self, at: int) -> bool:
        """Whether it is one at a position."""
        return _lasts(self.start, self.end, at)


def _lasts(start: int, end: int | None, at: int) -> bool:
    if at < start:
        READING.narrow(0, start)
    elif end is None or at < end:
        READING.narrow(start, FOREVER if end is None else end)
        return True
    else:
        READING.narrow(end, FOREVER)
    return False


class Graphs:
    """Joints by key, each sure or only possible (a gap says why), local or along the line."""

    def __init__(self) -> None:
        self.sure = {True: Connectivity(), False: Connectivity()}  # by `local`
        self.possible = {True: Connectivity(), False: Connectivity()}
        self._electrodes: dict[Node, list[Electrode]] = {}  # a rod is one each time it is in the ground
        self.spells: list[Spell] = []  # every one there ever was, in the order in which they began
        self._spells: dict[Key, Spell] = {}
        self._spells_at: dict[Node, list[Spell]] = {}
        self._loose: list[Spell] = []
        self._blame: dict[tuple[object, ...], Signal[tuple[Gap, ...]]] = {}
        self._doubts = False  # whether any joint was ever only possible; else what may hang together surely does

    # ---- changes ----

    def link(
        self, key: Key, one: Node, other: Node, position: int, *, local: bool = True, gap: Gap | None = None
    ) -> None:
        """A joint comes on; with a ``gap`` it is only possible. One of the same key gives way."""
        self._doubts = self._doubts or gap is not None
        before = self._spells.get(key)
        if before is not None:
            if (before.one, before.other, before.local, before.gap) == (one, other, local, gap):
                return
            self.unlink(key, position)
        for here in (True, False) if local else (False,):
            self.possible[here].add(key, one, other, position)
            if gap is None:
                self.sure[here].add(key, one, other, position)
        self._remember(key, Spell(key, one, other, position, local, gap))

    def unlink(self, key: Key, position: int) -> None:
        """A joint, or a loose end, comes off."""
        spell = self._spells.pop(key, None)
        if spell is None:
            return
        spell.end = position
        for here in (True, False) if spell.local else (False,):
            if spell.other is None:
                self.possible[here].mark(spell.one, position, loose=-1)
                continue
            self.possible[here].remove(key, position)
            self.sure[here].remove(key, position)

    def loosen(self, key: Key, position: int, gap: Gap) -> None:
        """A joint that may have come off is from now on only possible."""
        spell = self._spells.get(key)
        if spell is not None and spell.other is not None and spell.gap is None:
            self.link(key, spell.one, spell.other, position, local=spell.local, gap=gap)

    def loose_end(self, key: Key, node: Node, position: int, gap: Gap) -> None:
        """Something at a node leads to a place that the plan does not tell."""
        self._doubts = True
        self.unlink(key, position)
        for here in (True, False):
            self.possible[here].mark(node, position, loose=1)
        spell = Spell(key, node, None, position, True, gap)
        self._remember(key, spell)
        self._loose.append(spell)

    def electrode(self, node: Node, position: int, *, local: bool = True, gap: Gap | None = None) -> None:
        """A node is an electrode from a position on; with a ``gap`` only possibly."""
        spells = self._electrodes.setdefault(node, [])
        if spells and spells[-1].end is None:
            return
        spells.append(Electrode(node, position, local, gap))
        for here in (True, False) if local else (False,):
            self.possible[here].mark(node, position, electrodes=1)
            if gap is None:
                self.sure[here].mark(node, position, electrodes=1)

    def no_electrode(self, node: Node, position: int) -> None:
        """A node is an electrode no more."""
        spells = self._electrodes.get(node)
        if not spells or spells[-1].end is not None:
            return
        found = spells[-1]
        spells[-1] = found._replace(end=position)
        for here in (True, False) if found.local else (False,):
            self.possible[here].mark(node, position, electrodes=-1)
            if found.gap is None:
                self.sure[here].mark(node, position, electrodes=-1)

    def electrodes(self) -> Iterator[Electrode]:
        """Every electrode there ever was, by node in the order in which they first became one."""
        return chain.from_iterable(self._electrodes.values())

    def electrode_at(self, at: int, node: Node) -> Electrode | None:
        """The electrode that a node is at a position; None where it is not one."""
        return next((found for found in self._electrodes.get(node, ()) if found.lasts(at)), None)

    def _remember(self, key: Key, spell: Spell) -> None:
        self.spells.append(spell)
        self._spells[key] = spell
        self._spells_at.setdefault(spell.one, []).append(spell)
        if spell.other is not None and spell.other != spell.one:
            self._spells_at.setdefault(spell.other, []).append(spell)

    def keys_at(self, node: Node) -> tuple[Key, ...]:
        """The keys of the joints at a node now."""
        return self.possible[False].neighbours(node)

    def is_loose(self, node: Node) -> bool:
        """Whether something at a node leads to a place not stated now."""
        return self.possible[True].is_loose(node)

    # ---- questions ----

    def joined(self, at: int, one: Node, other: Node, local: bool) -> Truth:
        """Whether two nodes hang together."""
        if self.sure[local].same(at, one, other):
            return TRUE
        return UNKNOWN if self._doubts and self._may_join(at, one, other, local) else FALSE

    def joined_besides(
        self,
        at: int,
        one: Node,
        other: Node,
        keys: Container[Key] = (),
        past: Container[Node] = (),
        possibly: bool = False,
    ) -> bool:
        """Whether two nodes surely (or ``possibly``) hang together at one place, were the joints of some keys and the
        nodes ``past`` not there."""
        seen, edge = {one}, [one]
        while edge:
            node = edge.pop()
            if node == other:
                return True
            for spell in self._spells_at.get(node, ()):
                if (
                    spell.other is None
                    or not spell.local
                    or spell.key in keys
                    or (spell.gap is not None and not possibly)
                ):
                    continue
                near = spell.other if spell.one == node else spell.one
                if spell.lasts(at) and near not in seen and near not in past:
                    seen.add(near)
                    edge.append(near)
        return False

    def _may_join(self, at: int, one: Node, other: Node, local: bool) -> bool:
        graph = self.possible[local]
        if graph.same(at, one, other):
            return True
        wild = graph.wild.at(at)
        if wild is not None and wild[1]:
            return True
        return bool(graph.holding(at, one).loose or graph.holding(at, other).loose)

    def grounded(self, at: int, node: Node, local: bool) -> Truth:
        """Whether a node hangs together with an electrode."""
        if self.sure[local].holding(at, node).electrodes:
            return TRUE
        graph = self.possible[local]
        holding = graph.holding(at, node)
        wild = graph.wild.at(at) or (False, False)
        return UNKNOWN if holding.electrodes or holding.loose or any(wild) else FALSE

    def electrodes_of(self, at: int, node: Node, local: bool, possibly: bool) -> tuple[Node, ...]:
        """The electrodes that hang together with a node, in the order in which they became electrodes."""
        graph = (self.possible if possibly else self.sure)[local]
        component = graph.component(at, node)
        if component is None or not graph.holding(at, node).electrodes:
            return ()
        return tuple(
            found.node
            for found in self.electrodes()
            if found.lasts(at)
            and (found.local or not local)
            and (possibly or found.gap is None)
            and graph.component(at, found.node) == component
        )

    # ---- why not known ----

    def gaps(self, at: int, starts: tuple[Node, ...], goals: tuple[Node, ...] | None, local: bool) -> tuple[Gap, ...]:
        """What is not known from ``starts`` to ``goals`` (None: an electrode), on the way with the fewest gaps."""
        asked = (starts, goals, local)
        found = self._blame.get(asked)
        if found is None:
            found = self._blame[asked] = Signal()
        return found.read(at, self._search, at, *asked)

    def _search(
        self, at: int, starts: tuple[Node, ...], goals: tuple[Node, ...] | None, local: bool
    ) -> tuple[Gap, ...]:
        cost: dict[Node, int] = dict.fromkeys(starts, 0)
        back: dict[Node, tuple[Node, Gap | None]] = {}
        edge = deque(starts)
        done: set[Node] = set()
        end: Node | None = None
        best: int | None = None
        while edge:
            node = edge.popleft()
            if node in done:
                continue
            done.add(node)
            if best is not None and cost[node] >= best:
                break
            price = self._arrived(at, node, goals, local)
            if price is not None and (best is None or cost[node] + price < best):
                end, best = node, cost[node] + price
            for spell in self._spells_at.get(node, ()):
                if spell.other is None or not spell.lasts(at) or (local and not spell.local):
                    continue
                near = spell.other if spell.one == node else spell.one
                total = cost[node] + (spell.gap is not None)
                if near not in cost or total < cost[near]:
                    cost[near] = total
                    back[near] = (node, spell.gap)
                    (edge.append if spell.gap is not None else edge.appendleft)(near)
        blame: list[Gap] = []
        if end is not None:
            ground = self.electrode_at(at, end) if goals is None else None
            if ground is not None and ground.gap is not None:
                blame.append(ground.gap)
            while end in back:
                end, gap = back[end]
                if gap is not None:
                    blame.append(gap)
        else:
            reached = [
                s
                for s in self._loose
                if s.lasts(at) and s.gap is not None and (s.one in done or (goals and s.one in goals))
            ]
            blame = [s.gap for s in reached or self._loose if s.lasts(at) and s.gap is not None]
        return tuple(dict.fromkeys(reversed(blame)))[:MOST_GAPS]

    def _arrived(self, at: int, node: Node, goals: tuple[Node, ...] | None, local: bool) -> int | None:
        """The gaps that it costs to count a node as the goal; None where it is not."""
        if goals is not None:
            return 0 if node in goals else None
        found = self.electrode_at(at, node)
        if found is None or (local and not found.local):
            return None
        return 0 if found.gap is None else 1


__all__ = ["MOST_GAPS", "Electrode", "Graphs", "Spell"]
