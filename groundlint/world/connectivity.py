"""Which nodes hang together, at every position, kept by small changes.

Two nodes are joined where their component is the same. Each node keeps a log of its component, so a question about
any position
costs two look-ups. Joining relabels the smaller side. Parting searches from both ends by turns until one side is
exhausted, so that it costs no more than the smaller side, or the way round where there is another. A component keeps
a log of what
it holds: electrodes, and ends that lie at an unknown place.
"""

from __future__ import annotations

from collections.abc import Hashable
from typing import NamedTuple, TypeAlias

from groundlint.world.logs import Log, Logs

Node: TypeAlias = Hashable
Key: TypeAlias = Hashable


class Holding(NamedTuple):
    """What a component holds: electrodes, and ends whose other side may be anywhere."""

    electrodes: int = 0
    loose: int = 0

    def plus(self, electrodes: int, loose: int) -> Holding:
        """With more, or fewer."""
        return Holding(self.electrodes + electrodes, self.loose + loose)


class Connectivity:
    """Nodes, edges by key, components by position."""

    __slots__ = (
        "_component",
        "_edges",
        "_holding",
        "_loose",
        "_marks",
        "_members",
        "_near",
        "_next",
        "components",
        "holdings",
        "wild",
    )

    def __init__(self) -> None:
        self._component: dict[Node, int] = {}
        self._members: dict[int, set[Node]] = {}
        self._near: dict[Node, dict[Key, Node]] = {}
        self._edges: dict[Key, tuple[Node, Node]] = {}
        self._marks: dict[Node, tuple[int, int]] = {}  # electrodes and loose ends at a node
        self._holding: dict[int, Holding] = {}
        self._loose: set[int] = set()  # components that hold loose ends
        self._next = 0
        self.components: Logs[Node, int] = Logs()
        self.holdings: Logs[int, Holding] = Logs()
        self.wild: Log[tuple[bool, bool]] = (
            Log()
        )  # some loose ends bring an electrode anywhere; some join anything to anything

    def _ensure(self, node: Node, position: int) -> int:
        found = self._component.get(node)
        if found is None:
            found = self._component[node] = self._next
            self._next += 1
            self._members[found] = {node}
            self._near[node] = {}
            self._holding[found] = Holding()
            self.components.put(node, position, found)
        return found

    def neighbours(self, node: Node) -> tuple[Key, ...]:
        """The keys of the edges at a node now."""
        return tuple(self._near.get(node, ()))

    def is_loose(self, node: Node) -> bool:
        """Whether something at a node leads to an unknown place now."""
        return self._marks.get(node, (0, 0))[1] > 0

    def add(self, key: Key, one: Node, other: Node, position: int) -> None:
        """An edge comes on; one of the same key is taken off first."""
        if key in self._edges:
            if self._edges[key] == (one, other):
                return
            self.remove(key, position)
        a, b = self._ensure(one, position), self._ensure(other, position)
        self._edges[key] = (one, other)
        self._near[one][key] = other
        self._near[other][key] = one
        if a == b:
            return
        if len(self._members[a]) < len(self._members[b]):
            a, b = b, a
        moved = self._members.pop(b)
        for node in moved:
            self._component[node] = a
            self.components.put(node, position, a)
        self._members[a] |= moved
        gone = self._holding.pop(b)
        self._loose.discard(b)
        self._set_holding(a, self._holding[a].plus(gone.electrodes, gone.loose), position)

    def remove(self, key: Key, position: int) -> None:
        """An edge comes off; nothing happens where it is not on."""
        ends = self._edges.pop(key, None)
        if ends is None:
            return
        one, other = ends
        self._near[one].pop(key, None)
        self._near[other].pop(key, None)
        if one == other:
            return
        small = self._smaller_side(one, other)
        if small is None:
            return
        old = self._component[one]
        new = self._next
        self._next += 1
        self._members[old] -= small
        self._members[new] = small
        electrodes = loose = 0
        for node in small:
            self._component[node] = new
            self.components.put(node, position, new)
            mark = self._marks.get(node)
            if mark is not None:
                electrodes += mark[0]
                loose += mark[1]
        self._set_holding(new, Holding(electrodes, loose), position)
        self._set_holding(old, self._holding[old].plus(-electrodes, -loose), position)

    def _smaller_side(self, one: Node, other: Node) -> set[Node] | None:
        """The side that is cut off, of the two the smaller; None where they still hang together."""
        seen, edges = ({one}, {other}), ([one], [other])
        turn = 0
        while True:
            edge = edges[turn]
            if not edge:
                return seen[turn]
            mine, theirs = seen[turn], seen[1 - turn]
            node = edge.pop()
            for near in self._near[node].values():
                if near in theirs:
                    return None
                if near not in mine:
                    mine.add(near)
                    edge.append(near)
            turn = 1 - turn

    def mark(self, node: Node, position: int, *, electrodes: int = 0, loose: int = 0) -> None:
        """A node becomes an electrode, or gets a loose end; negative numbers take them away."""
        component = self._ensure(node, position)
        before = self._marks.get(node, (0, 0))
        self._marks[node] = (before[0] + electrodes, before[1] + loose)
        self._set_holding(component, self._holding[component].plus(electrodes, loose), position)

    def _set_holding(self, component: int, holding: Holding, position: int) -> None:
        before = self._holding.get(component)
        self._holding[component] = holding
        if holding != (self.holdings.last(component) or Holding()):
            self.holdings.put(component, position, holding)
        if holding.loose or (before is not None and before.loose):
            (self._loose.add if holding.loose else self._loose.discard)(component)
            self._wild(position)

    def _wild(self, position: int) -> None:
        held = [self._holding[component] for component in self._loose]
        now = (any(h.electrodes for h in held), any(h.loose > 1 for h in held))
        if now != (self.wild.last or (False, False)):
            self.wild.put(position, now)

    # ---- questions about a position ----

    def component(self, at: int, node: Node) -> int | None:
        """The component of a node; None for a node that nothing was ever joined to."""
        return self.components.at(node, at)

    def same(self, at: int, one: Node, other: Node) -> bool:
        """Whether two nodes hang together."""
        if one == other:
            return True
        found = self.components.at(one, at)
        return found is not None and found == self.components.at(other, at)

    def holding(self, at: int, node: Node) -> Holding:
        """What the node's component holds."""
        component = self.components.at(node, at)
        if component is None:
            return Holding()
        return self.holdings.at(component, at) or Holding()

    def changes(self, node: Node) -> set[int]:
        """Positions at which the node's component, or what that holds, or what is loose anywhere, changes."""
        found = set(self.wild.positions)
        log = self.components.by_key.get(node)
        if log is not None:
            found.update(log.positions)
            for component in set(log.values):
                held = self.holdings.by_key.get(component)
                if held is not None:
                    found.update(held.positions)
        return found

    def now_same(self, one: Node, other: Node) -> bool:
        """Whether two nodes hang together after all changes so far."""
        found = self._component.get(one)
        return one == other or (found is not None and found == self._component.get(other))
