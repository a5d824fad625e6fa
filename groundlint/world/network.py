"""The line and what is joined to it, as nodes and joints: what hangs together at a structure and along the conductors.

At one place: leads with both ends on, bonds, bars on their structure, steel with the pole's surface, guys and shield
wire on steel.
Along the line: spans between structures of the route as well, and phases through switches between structures.

A conductor cut at a structure has two sides, ``near side`` toward the beginning of the route and ``far side`` toward
its end. On which of them
a clamp at ``212 A`` is, the plan does not tell; such a point is surely joined only to what both sides are joined to.
An open point of a span that hangs at one of its structures parts the phases there: ``212 A`` is the side away from the
span, and the side toward it is beyond the open point.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from groundlint.plan.models import Conductor, Lead, Plan, PointRef, Structure, SupplySource, Switch, Thing, Vault
from groundlint.text import Span
from groundlint.values import FALSE, TRUE, Gap, Truth, Unknown
from groundlint.world.connectivity import Key, Node
from groundlint.world.graphs import Graphs
from groundlint.world.logs import Logs

ALONE = frozenset({"rod", "bar", "vehicle", "mat", "neighbour", "switch"})
"""Kinds of point that are a thing itself, wherever it stands."""

NEAR, FAR = "near side", "far side"
WHOLE, CUT, BRIDGED, PARTED = "whole", "cut", "bridged", "parted"


def plain(point: PointRef) -> PointRef:
    """The point as its own key: a rod is the rod, a switch's handle the handle, wherever it stands."""
    if point.structure is not None and (point.sort in ALONE or (point.sort == "handle" and point.thing is not None)):
        return PointRef(point.sort, None, point.thing)
    return point


class Network:
    """Joints of a plan by position. Changes come in the order of the steps; questions may be about any position."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.graphs = Graphs()
        self.route = plan.route
        self.conductors: tuple[Conductor, ...] = plan.line.conductors if plan.line is not None else ()
        self.phases = tuple(c for c in self.conductors if c.role == "phase")
        self.structures: tuple[Structure, ...] = tuple(s for s in plan.things if isinstance(s, Structure))
        self.switches: tuple[Switch, ...] = tuple(s for s in plan.things if isinstance(s, Switch))
        self.through: Logs[tuple[Structure, Thing], str] = Logs()
        self._cut: set[tuple[Structure, Thing]] = set()
        self._inline: dict[Structure, list[Switch]] = {}  # open points in the conductors at a structure
        self.parting: dict[tuple[Structure, str], list[Switch]] = {}  # those of a span, by where all of them hang
        self._position: dict[Switch, str | None] = {}
        self._spans_open: Gap | None = None
        self._between = self._switched_spans()
        for structure in self.structures:
            self._stand_structure(structure)
        for conductor in self.conductors:
            self._string(conductor)
        for structure, _ in self.parting:
            for phase in self.phases:
                self._split(structure, phase, 0)

    # ---- what stands before the first step ----

    def _switched_spans(self) -> dict[int, list[Switch]]:
        """Switches between neighbouring structures of the route, by the place of the first, but for those in spans of
        which all hang at one structure."""
        found: dict[int, list[Switch]] = {}
        for switch in self.switches:
            sides = [s for s in switch.sides if isinstance(s, Structure)]
            if len(sides) == 2 and sides[0] is sides[1]:
                self._inline.setdefault(sides[0], []).append(switch)
            elif switch.hop is not None:
                found.setdefault(switch.hop, []).append(switch)
        for hop, switches in [*found.items()]:
            places = {switch.hangs if not switch.away else None for switch in switches}
            place = places.pop()
            if not places and place is not None and place in switches[0].sides:
                self.parting[place, FAR if place.order == hop else NEAR] = found.pop(hop)
        return found

    def _stand_structure(self, structure: Structure) -> None:
        if isinstance(structure, Vault):  # it has no pole, steel, guy, footing or ground at a butt
            return
        pole, steel, footing, guy = (PointRef(sort, structure) for sort in ("pole", "steel", "footing", "guy"))
        graphs = self.graphs
        if structure.material in ("steel", None):
            gap: Gap | None = None
            if structure.material is None:
                gap = Gap(f"the material of structure {structure}", f"structure {structure} wood pole", structure.span)
            joints = [(pole, steel), (steel, footing), (guy, steel)]
            line = self.plan.line
            shields = () if line is None or line.shield_insulated else line.shield or ()
            joints += [(PointRef("conductor", structure, one), steel) for one in shields]
            for one, other in joints:
                graphs.link(("structure", one, other), one, other, 0, gap=gap)
            for node in (steel, footing):
                graphs.electrode(node, 0, gap=gap)
        no_ground: Gap | None = None
        if not structure.pole_ground:
            write = f"structure {structure} wood pole with pole ground"
            no_ground = Gap(f"a pole ground at structure {structure}", write, structure.span)
        graphs.electrode(PointRef("pole ground", structure), 0, gap=no_ground)

    def _string(self, conductor: Conductor) -> None:
        line = self.plan.line
        route = self.route
        for index in range(len(route) - 1):
            self._span(index, conductor, 0)
        # A switch between two structures says how they hang together; one before a source says nothing of it.
        tied = [w for w in self.switches if sum(isinstance(side, Structure) for side in w.sides) > 1]
        beside = {side for switch in tied for side in switch.sides}
        loose = [s for s in self.structures if s not in route and s not in beside]
        home = route[0] if route else (loose[0] if loose else None)
        for structure in loose:
            if structure is home or home is None:
                continue
            gap = Gap(
                f"where structure {structure} stands on the route", f"route {home} (50 m) {structure}", structure.span
            )
            one, other = PointRef("conductor", home, conductor), PointRef("conductor", structure, conductor)
            self.graphs.link(("off route", structure, conductor), one, other, 0, local=False, gap=gap)
        if conductor.role != "neutral" or line is None:
            return
        if line.neutral_earthing == "unigrounded":
            self._ground_at_source(conductor)
            return
        unstated: Gap | None = None
        if line.neutral_earthing is None:
            unstated = Gap(
                f"whether neutral {conductor} is multigrounded",
                f"neutral {conductor} multigrounded",
                line.place("neutral"),
            )
        for structure in self.structures:
            self.graphs.electrode(PointRef("conductor", structure, conductor), 0, gap=unstated)

    def _ground_at_source(self, neutral: Conductor) -> None:
        """A unigrounded neutral is grounded at the station of its source, and nowhere on the line: by itself it is no
        ground to work on, so that what hangs on nothing else is not known to be grounded."""
        line = self.plan.line
        far = Gap(
            f"a ground at the work beside neutral {neutral}", "set R1 at 211", line.place("neutral") if line else None
        )
        stations = [
            s
            for s in self.plan.things
            if isinstance(s, SupplySource) and s.sort == "utility" and s.located and s.at is not None
        ]
        for source in stations:
            if source.at is not None:
                node = (
                    self.end_of_route(source.at, neutral)
                    if source.beyond
                    else PointRef("conductor", source.at, neutral)
                )
                self.graphs.electrode(node, 0, local=False, gap=far)
        if not stations and self.structures:
            gap = Gap(f"where neutral {neutral} is grounded", "source West beyond 211", neutral.span)
            for structure in self.structures:
                self.graphs.electrode(PointRef("conductor", structure, neutral), 0, local=False, gap=gap)

    def end_of_route(self, structure: Structure, conductor: Thing) -> PointRef:
        """The side of a structure at an end of the route that looks away from the route."""
        if self.route and structure is self.route[0]:
            return self._left(structure, conductor, wanted=True)
        if self.route and structure is self.route[-1]:
            return self._right(structure, conductor, wanted=True)
        return PointRef("conductor", structure, conductor)

    # ---- spans, cuts, switches ----

    def _split(self, structure: Structure, conductor: Thing, position: int) -> None:
        """From here on the two sides of a conductor at a structure are nodes of their own."""
        key = (structure, conductor)
        if self.through.last(key) is not None:
            return
        self.through.put(key, position, WHOLE)
        if structure.order is not None and structure in self.route:
            index = self.route.index(structure)
            for span in (index - 1, index):
                if 0 <= span < len(self.route) - 1:
                    self._span(span, conductor, position)
        self._refresh(structure, conductor, position)

    def _left(self, structure: Structure, conductor: Thing, *, wanted: bool = False) -> PointRef:
        if wanted:
            self._split(structure, conductor, 0)
        split = self.through.last((structure, conductor)) is not None
        return PointRef(NEAR if split else "conductor", structure, conductor)

    def _right(self, structure: Structure, conductor: Thing, *, wanted: bool = False) -> PointRef:
        if wanted:
            self._split(structure, conductor, 0)
        split = self.through.last((structure, conductor)) is not None
        return PointRef(FAR if split else "conductor", structure, conductor)

    def _span(self, index: int, conductor: Thing, position: int) -> None:
        """String, or hang over, the span that follows a structure of the route."""
        one = self._right(self.route[index], conductor)
        other = self._left(self.route[index + 1], conductor)
        switched = self._between.get(index, []) if conductor in self.phases else []
        if switched:
            for switch in switched:
                self._switch_joint(switch, conductor, one, other, position)
            return
        self.graphs.link(("span", index, conductor), one, other, position, local=False, gap=self._spans_open)

    def _switch_joint(self, switch: Switch, phase: Thing, one: Node, other: Node, position: int) -> None:
        state = self._position.get(switch, first_position(switch))
        key = ("switch", switch, phase)
        if state == "open":
            self.graphs.unlink(key, position)
            return
        gap = self._spans_open
        if state is None:
            gap = Gap(f"the position of {switch}", f"open {switch} and tag it", switch.place("position"))
        self.graphs.link(key, one, other, position, local=False, gap=gap)

    def set_switch(self, switch: Switch, state: str | None, position: int) -> None:
        """A switch is open, closed, or it is not known which."""
        self._position[switch] = state
        sides = [_side(switch, side) for side in switch.sides]
        if len(sides) != 2 or None in sides:
            return
        if sides[0] == sides[1]:
            for phase in self.phases:
                structure = switch.sides[0]
                assert isinstance(structure, Structure)
                if position or state != "closed":
                    self._split(structure, phase, position)
                    self._refresh(structure, phase, position)
            return
        for index, switches in self._between.items():
            if switch in switches:
                for phase in self.phases:
                    self._span(index, phase, position)
                return
        for (structure, _), hung in self.parting.items():
            if switch in hung:
                for phase in self.phases:
                    self._refresh(structure, phase, position)
                return
        for phase in self.phases:
            one, other = (
                PointRef("conductor", side, phase) if isinstance(side, Structure) else (side, phase) for side in sides
            )
            self._switch_joint(switch, phase, one, other, position)

    def cut(self, structure: Structure, conductor: Thing, position: int) -> None:
        """A conductor is cut at a structure."""
        self._split(structure, conductor, position)
        self._cut.add((structure, conductor))
        self._refresh(structure, conductor, position)

    def mend(self, structure: Structure, conductor: Thing, position: int) -> None:
        """A cut conductor is one again."""
        self._cut.discard((structure, conductor))
        self._refresh(structure, conductor, position)

    def cut_somewhere(self, gap: Gap, position: int) -> None:
        """A conductor is cut at a place that the plan does not tell: no span surely joins any more."""
        self._spans_open = self._spans_open or gap
        for conductor in self.conductors:
            for index in range(len(self.route) - 1):
                self._span(index, conductor, position)
        for structure, split in self.through.known():
            self._refresh(structure, split, position)

    def is_cut(self, structure: Structure, conductor: Thing) -> bool:
        """Whether a conductor is cut at a structure now, by a step."""
        return (structure, conductor) in self._cut

    def _opened(self, structure: Structure, conductor: Thing) -> Truth:
        """Whether the conductor is open at the structure: cut, or by an open point in it."""
        if (structure, conductor) in self._cut:
            return TRUE
        found = FALSE
        if conductor in self.phases:
            for switch in self._inline.get(structure, ()):
                state = self._position.get(switch, first_position(switch))
                found = max(found, TRUE if state == "open" else Truth.UNKNOWN if state is None else FALSE)
        return found

    def _refresh(self, structure: Structure, conductor: Thing, position: int) -> None:
        """Set the joints between a point and its two sides after something there has changed."""
        key = (structure, conductor)
        if self.through.last(key) is None:
            return
        point = PointRef("conductor", structure, conductor)
        near, far = PointRef(NEAR, structure, conductor), PointRef(FAR, structure, conductor)
        before, after = ("near", *key), ("through", *key)
        opened = self._opened(structure, conductor)
        graphs = self.graphs
        if self._part(structure, conductor, position, cut=opened is not FALSE):
            return
        if opened is FALSE:
            self.through.put(key, position, WHOLE)
            graphs.link(before, near, point, position, gap=self._spans_open)
            graphs.link(after, point, far, position, gap=self._spans_open)
            return
        graphs.unlink(after, position)
        if graphs.sure[True].now_same(point, far):
            self.through.put(key, position, BRIDGED)
            graphs.link(before, near, point, position)
            return
        if graphs.sure[True].now_same(near, far):  # clamps on both sides make them one: the point is either
            self.through.put(key, position, BRIDGED)
            graphs.link(before, near, point, position)
            graphs.link(after, point, far, position)
            return
        self.through.put(key, position, CUT)
        hung = graphs.is_loose(point) or any(found not in (before, after) for found in graphs.keys_at(point))
        if not hung and opened is TRUE:
            graphs.unlink(before, position)
            return
        if opened is TRUE:
            what = f"on which side of the cut at {point} its clamps are"
            gap = Gap(what, "near side", self._named_for(point))
        else:
            switch = self._inline[structure][0]
            gap = Gap(f"the position of {switch}", f"open {switch} and tag it", switch.place("position"))
        graphs.link(before, near, point, position, gap=gap)
        graphs.link(after, point, far, position, gap=gap)

    def _named_for(self, point: PointRef) -> Span | None:
        """Where the plan first names a point for a lead's end that is there now."""
        hung = {key for key in self.graphs.keys_at(point) if isinstance(key, Lead)}
        for action in self.plan.actions:
            if point in action.slots.values() and action.slots.get("lead") in hung:
                for part in action.ends or (action.span,):
                    found = re.search(rf"\S+\s+{re.escape(str(point.thing))}(?![\w-])", part.text)
                    if found is not None:
                        return part.source.span(part.start, part.start + found.end())
        return None

    def _part(self, structure: Structure, conductor: Thing, position: int, cut: bool) -> bool:
        """Set the joints of a conductor that is parted by open points that hang there; whether it is. Of several in one
        span all must be open. Where it is cut as well the point is joined to neither side."""
        key = (structure, conductor)
        gaps: dict[str, Gap | None] = {}
        for side in (NEAR, FAR):
            switches = self.parting.get((structure, side), []) if conductor in self.phases else []
            states = {self._position.get(switch, first_position(switch)) for switch in switches}
            if states and "closed" not in states:
                switch = switches[0]
                unknown = Gap(f"the position of {switch}", f"open {switch} and tag it", switch.place("position"))
                gaps[side] = unknown if None in states else None
        if not gaps:
            return False
        for side, joint in ((NEAR, "near"), (FAR, "through")):
            if cut or (side in gaps and gaps[side] is None):
                self.graphs.unlink((joint, *key), position)
            else:
                gap = gaps.get(side) or self._spans_open
                self.graphs.link((joint, *key), PointRef("conductor", *key), PointRef(side, *key), position, gap=gap)
        joined = self.graphs.sure[True].now_same(PointRef(NEAR, *key), PointRef(FAR, *key))
        self.through.put(key, position, BRIDGED if joined else CUT if cut else PARTED)
        return True

    # ---- leads, bonds, bars, rods ----

    def join(self, key: Key, one: PointRef, other: PointRef, position: int, gap: Gap | None = None) -> None:
        """A lead, bond or bar joins two points; with a ``gap`` only possibly."""
        for point in (one, other):
            if point.sort in (FAR, NEAR) and point.structure is not None and point.thing is not None:
                self._split(point.structure, point.thing, position)
        self.graphs.link(key, plain(one), plain(other), position, gap=gap)
        self.touched(one, other, position=position)

    def part(self, key: Key, points: Iterable[PointRef], position: int) -> None:
        """What joined two points comes off."""
        self.graphs.unlink(key, position)
        self.touched(*points, position=position)

    def touched(self, *points: object, position: int) -> None:
        """Something at these points has changed, by which a cut there may be bridged or hung with clamps."""
        for point in points:
            if (
                isinstance(point, PointRef)
                and point.sort in ("conductor", FAR, NEAR)
                and point.structure is not None
                and point.thing is not None
            ):
                self._refresh(point.structure, point.thing, position)

    # ---- questions ----

    def node(self, at: int, point: PointRef) -> PointRef:
        """The node that a point is at a position."""
        point = plain(point)
        if (
            point.sort in (NEAR, FAR)
            and point.structure is not None
            and point.thing is not None
            and self.through.at((point.structure, point.thing), at) is None
        ):
            return PointRef("conductor", point.structure, point.thing)
        return point

    def whole(self, at: int, point: PointRef) -> PointRef:
        """The conductor, where a point is one side of one that is whole there, or is parted on the other side; else the
        point as its own key."""
        point = plain(point)
        if point.sort not in (NEAR, FAR) or point.structure is None or point.thing is None:
            return point
        key = (point.structure, point.thing)
        now = self.through.at(key, at)
        same = now in (None, WHOLE) or (now == PARTED and (point.structure, point.sort) not in self.parting)
        return PointRef("conductor", *key) if same else point

    def parted(self, at: int, side: PointRef) -> bool:
        """Whether an open point that hangs there parts that side of a conductor from the conductor as it is named."""
        if side.structure is None or side.thing is None:
            return False
        now = self.through.at((side.structure, side.thing), at)
        return now == (CUT if side.structure in self._inline else PARTED) and self.whole(at, side) == side

    def across(self, side: PointRef) -> PointRef | None:
        """The side of a conductor at the next structure that faces a side which open points of the span part; None
        where none do."""
        if side.structure is None or (side.structure, side.sort) not in self.parting:
            return None
        index = self.route.index(side.structure) + (1 if side.sort == FAR else -1)
        return PointRef(NEAR if side.sort == FAR else FAR, self.route[index], side.thing)

    def bridged(self, at: int, structure: Structure, conductor: Thing) -> bool:
        """Whether leads here surely join the two sides of a conductor, be it cut or not."""
        key = (structure, conductor)
        if self.through.at(key, at) is None:
            return False
        near, far = PointRef(NEAR, *key), PointRef(FAR, *key)
        across = {("through", *key), *((("near", *key),) if (structure, NEAR) in self.parting else ())}
        return self.graphs.joined_besides(at, near, far, across)

    def sides(self, at: int, point: PointRef) -> tuple[PointRef, ...]:
        """The two sides between which a point lies where its conductor is open and not bridged; else nothing."""
        if point.sort != "conductor" or point.structure is None or point.thing is None:
            return ()
        log = self.through.by_key.get((point.structure, point.thing))
        if log is None or log.at(at) != CUT:
            return ()
        return PointRef(NEAR, *point[1:]), PointRef(FAR, *point[1:])

    def joined(self, at: int, one: PointRef, other: PointRef, local: bool) -> Truth:
        """Whether two points hang together: at one place, or along the line too."""
        one, other = self.node(at, one), self.node(at, other)
        graphs = self.graphs
        found = graphs.joined(at, one, other, local)
        if found is TRUE or local:
            return found
        ones, others = self.sides(at, one) or (one,), self.sides(at, other) or (other,)
        if len(ones) + len(others) == 2:
            return found
        truths = [graphs.joined(at, a, b, local) for a in ones for b in others]
        if min(truths) is TRUE:
            return TRUE
        return Truth.UNKNOWN if max(found, *truths) is not FALSE else FALSE

    def how_grounded(self, at: int, point: PointRef, local: bool) -> Truth:
        """Whether a point hangs together with an electrode."""
        node = self.node(at, point)
        graphs = self.graphs
        found = graphs.grounded(at, node, local)
        sides = self.sides(at, node) if not local and found is not TRUE else ()
        if sides:
            truths = [graphs.grounded(at, side, local) for side in sides]
            found = TRUE if min(truths) is TRUE else Truth.UNKNOWN if max(found, *truths) is not FALSE else FALSE
        return found

    def grounded(self, at: int, point: PointRef, local: bool) -> Truth | Unknown:
        """The same; `Unknown` says what is not stated."""
        found = self.how_grounded(at, point, local)
        if found is not Truth.UNKNOWN:
            return found
        node = self.node(at, point)
        gaps = self.graphs.gaps(at, (node, *(self.sides(at, node) if not local else ())), None, local)
        return Unknown(gaps or (self._fallback(node),))

    def gaps(self, at: int, one: PointRef, other: PointRef, local: bool) -> tuple[Gap, ...]:
        """What is not stated on the way from one point to another; at least one gap."""
        a, b = self.node(at, one), self.node(at, other)
        starts = (a, *(self.sides(at, a) if not local else ()))
        goals = (b, *(self.sides(at, b) if not local else ()))
        found = self.graphs.gaps(at, starts, goals, local)
        return found or (self._fallback(a if len(starts) > 1 else b),)

    def _fallback(self, point: PointRef) -> Gap:
        if point.sort == "conductor":
            return Gap(f"which side of the cut at {point} is meant", f"{point} near side")
        return Gap(f"what {point} is joined to")

    def electrodes(self, at: int, point: PointRef, local: bool, possibly: bool) -> tuple[PointRef, ...]:
        """The electrodes that a point hangs together with."""
        node = self.node(at, point)
        found = self.graphs.electrodes_of(at, node, local, possibly)
        sides = self.sides(at, node) if not local else ()
        if not found and sides:
            beyond = [self.graphs.electrodes_of(at, side, local, possibly) for side in sides]
            if possibly or all(beyond):
                found = tuple(one for side in beyond for one in side)
        return tuple(dict.fromkeys(_uncut(one) for one in found if isinstance(one, PointRef)))


def _uncut(node: PointRef) -> PointRef:
    return PointRef("conductor", *node[1:]) if node.sort == NEAR else node


def first_position(switch: Switch) -> str | None:
    """Before the first step: ``normally open`` is not known to be open, ``normally closed`` counts as closed."""
    if switch.position in ("open", "closed"):
        return switch.position
    return "closed" if switch.position == "normally closed" else None


def _side(switch: Switch, side: Thing) -> Node | None:
    """What a switch has on one side, as a node for each phase; None for a source."""
    if isinstance(side, Structure):
        return side
    if isinstance(side, Switch):
        return frozenset((switch, side))
    return None


__all__ = ["ALONE", "BRIDGED", "CUT", "FAR", "NEAR", "WHOLE", "Network", "first_position", "plain"]
