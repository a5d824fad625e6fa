"""A small world of line work: after each step, what is live, grounded, joined to what, and who touches what.

It is naive on purpose and stands alone: it knows the plan's things and its resolved actions, and nothing of what
groundlint makes of them. ``HAZARDS.md`` says what it takes for true.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from groundlint.plan.models import (
    Action,
    Bar,
    Capacitor,
    Conductor,
    Detector,
    Lead,
    LooseWire,
    Neighbour,
    ParallelCircuit,
    Person,
    Plan,
    PointRef,
    Rubber,
    Stick,
    Structure,
    SupplySource,
    Switch,
    Vehicle,
)

Node = tuple[Any, ...]
HAND, STICK, UNSAID = "hand", "stick", "unsaid"
PAUSE = 3600.0
"""Seconds after which a test or a proof is one of long ago."""
CHARGED = 300.0
"""Seconds that a capacitor is left alone before it is short-circuited: 29 CFR 1910.269(w)(1), from memory."""

GOODS = {"00": 500.0, "0": 1e3, "1": 7.5e3, "2": 17e3, "3": 26.5e3, "4": 36e3}
"""Volts that insulating goods are for, by class: 29 CFR 1910.137 Table I-4."""
RIGID = {"2": 14.6e3, "3": 26.4e3, "4": 36.6e3, "5": 48.3e3, "6": 72.5e3}
"""The same of rigid covers: ASTM F712, from memory."""

REARRANGES = frozenset(("open", "close", "attach", "detach", "restore", "lift", "bond", "unbond"))
REARRANGES |= {"cut", "downed", "join", "mount", "dismount", "set", "pull", "verify"}
"""Steps that change what is joined to what."""


def holds_back(goods: Any, volts: float | None) -> bool:
    """Whether insulating goods are for a voltage, as far as the plan states their class."""
    stated = [one for one in goods or () if isinstance(one, Rubber) and one.rating is not None]
    tables = [RIGID if one.sort == "rigid cover" else GOODS for one in stated]
    least = min((table[one.rating or ""] for table, one in zip(tables, stated, strict=True)), default=None)
    return least is None or volts is None or least >= volts


@dataclass(frozen=True)
class End:
    """An end of a lead that goes on a point or comes off it: which lead, where, and by what it is held."""

    lead: object
    node: Node
    means: str
    stick: Stick | None = None


@dataclass
class Place:
    """Where a person is: the structure, what stands under the feet, what the hands reach; None where it is not said."""

    structure: Structure | None
    stand: PointRef | None
    reach: tuple[PointRef, ...] | None


@dataclass(frozen=True)
class State:
    """What holds between two steps."""

    live: frozenset[Node]
    ground: frozenset[Node]
    local: dict[Node, Node]  # of each node, the node that stands for all that leads and bars join it to
    whole: dict[Node, Node]  # the same with the spans of the line
    wire: dict[Node, Node]  # of each conductor's node, what its own spans and joints join it to

    def together(self, one: Node, other: Node) -> bool:
        return one == other or self.local.get(one, one) == self.local.get(other, other)


@dataclass
class Step:
    """What one action did, as far as somebody could be hurt by it."""

    index: int
    action: Action
    on: list[End] = field(default_factory=list)
    off: list[End] = field(default_factory=list)


class Joined:
    """Sets of nodes that are joined."""

    def __init__(self) -> None:
        self.up: dict[Node, Node] = {}

    def top(self, node: Node) -> Node:
        while (above := self.up.get(node)) is not None:
            if (further := self.up.get(above)) is not None:
                self.up[node] = further  # so that the next way up is half as long
            node = above
        return node

    def join(self, one: Node, other: Node) -> None:
        one, other = self.top(one), self.top(other)
        if one != other:
            self.up[one] = other

    def tops(self, nodes: Iterable[Node]) -> dict[Node, Node]:
        return {node: self.top(node) for node in nodes}


def own(switch: Switch) -> tuple[SupplySource, ...]:
    """The sources that a switch stands at; none for one in a span, which leaves what lies before it live."""
    return () if all(isinstance(side, Structure) for side in switch.sides) and switch.sides else switch.sources


class World:
    """The world as the steps leave it."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.route = plan.route
        self.line = plan.line
        self.phases: tuple[Conductor, ...] = tuple((self.line.phases if self.line else None) or ())
        self.conductors: tuple[Conductor, ...] = tuple(self.line.conductors) if self.line else ()
        things = plan.things
        self.sources = [one for one in things if isinstance(one, SupplySource)]
        self.switches = [one for one in things if isinstance(one, Switch)]
        self.neighbours = [one for one in things if isinstance(one, Neighbour)]
        self.parallels = [one for one in things if isinstance(one, ParallelCircuit)]
        self.structures = [one for one in things if isinstance(one, Structure)]
        self.open: set[Switch] = {one for one in self.switches if one.position in ("open", "normally open")}
        self.cuts: set[tuple[Structure, Conductor]] = set()
        self.down: set[tuple[Structure, Conductor]] = set()
        self.ends: dict[object, list[Node]] = {}  # of each lead, where its ends are
        self.bonds: list[tuple[object, Node, Node]] = []
        self.bars: dict[Bar, Structure] = {}
        self.rods: dict[object, Structure | None] = {}
        self.people: dict[Person, Place] = {}
        self.touched: dict[Person, tuple[PointRef, ...]] = {}  # what the work of this step touches
        self.gloved: set[Person] = set()
        self.in_hand: dict[LooseWire, tuple[Person, tuple[PointRef, ...]]] = {}  # whose, and what each touches
        self.covered: set[Neighbour] = {
            one for one in self.neighbours if one.covered and holds_back(one.goods, one.voltage)
        }
        self.barricaded: set[object] = set()
        self.parked: dict[Vehicle, Structure | None] = {}
        self.holders: list[object] = []
        self.spiked: set[object] = set()
        # what testing has shown
        self.now = -1
        self.proofs: dict[object, list[int]] = {}
        self.pauses: list[int] = []
        self.tests: list[tuple[int, Node, object]] = []  # step, node, detector; of those that show something
        self.tried: list[Node] = []  # the same of every test, whatever it shows
        self.found_live: dict[Node, int] = {}
        self.doubts: dict[Node, int] = {}  # of a node, when it last became another's or could have touched something
        self.last_live: dict[Node, int] = {}
        self.shocked: int | None = None
        # capacitors: what was done with each, and how long it then stood
        self.charge: dict[Capacitor, str] = {one: "charged" for one in things if isinstance(one, Capacitor)}
        self.stood: dict[Capacitor, float] = {}
        self.was = self.state = self.look()
        for action in plan.begins:
            self.do(-1, action)
        self.was = self.state
        self.mark_live()

    # ------------------------------------------------------------------ points
    def nodes(self, point: object) -> tuple[Node, ...]:
        """What a point names: two nodes where it names a conductor with two sides, none where it is not known."""
        if not isinstance(point, PointRef):
            return ()
        if point.sort in ("conductor", "near side", "far side"):
            key = (point.structure, point.thing)
            if key not in self.cuts:
                return (("wire", *key, "near"),)
            if point.sort == "conductor":
                return (("wire", *key, "near"), ("wire", *key, "far"))
            return (("wire", *key, point.sort.split()[0]),)
        if point.sort in ("pole", "steel", "footing", "pole ground", "guy", "earth"):
            structure = point.structure
            steel = structure is not None and structure.material == "steel" and point.sort in ("pole", "footing", "guy")
            return (("steel" if steel else point.sort, structure),)
        return ((point.sort, point.thing),)

    def end_node(self, point: object) -> Node | None:
        """Where a clamp goes that is put on a point: of a conductor with two sides, the near one."""
        if isinstance(point, PointRef) and point.sort in ("near side", "far side"):
            return ("wire", point.structure, point.thing, point.sort.split()[0])
        found = self.nodes(point)
        return found[0] if found else None

    def settled(self, node: Node) -> Node:
        """The node that a clamp's place is now: both sides of a conductor that is whole are one."""
        if node[0] == "wire" and node[3] == "far" and (node[1], node[2]) not in self.cuts:
            return ("wire", node[1], node[2], "near")
        return node

    def is_phase(self, node: Node) -> bool:
        return node[0] == "wire" and node[2] in self.phases

    def wires(self, conductors: Iterable[Conductor]) -> Iterator[Node]:
        for conductor in conductors:
            for structure in self.structures:
                yield ("wire", structure, conductor, "near")
                if (structure, conductor) in self.cuts:
                    yield ("wire", structure, conductor, "far")

    # ------------------------------------------------------------------ the circuit
    def spans(self) -> Iterator[tuple[Node, Node]]:
        for one, other in zip(self.route, self.route[1:], strict=False):
            if self.parted(one, other):
                continue
            for conductor in self.conductors:
                side = "far" if (one, conductor) in self.cuts else "near"
                yield ("wire", one, conductor, side), ("wire", other, conductor, "near")

    def parted(self, one: Structure, other: Structure) -> bool:
        """Whether an open switch stands in the span between two structures."""
        for switch in self.open:
            sides = [side for side in switch.sides if isinstance(side, Structure) and side.order is not None]
            if len(sides) == 2:
                low, high = sorted(side.order or 0 for side in sides)
                if low <= (one.order or 0) < (other.order or 0) <= high:
                    return True
            for source in self.sources:
                if source in own(switch) and len(sides) == 1 and source.at is not None and sides[0] is not source.at:
                    toward = other if (source.at.order or 0) > (sides[0].order or 0) else one
                    if sides[0] in (one, other) and sides[0] is not toward:
                        return True
        return False

    def leads(self) -> Iterator[tuple[Node, Node]]:
        return (ends for _lead, ends in self.lead_ends())

    def lead_ends(self) -> Iterator[tuple[object, tuple[Node, Node]]]:
        """Each lead that has both its ends on, with where they are."""
        for lead, ends in self.ends.items():
            if len(ends) == 2:
                yield lead, (self.settled(ends[0]), self.settled(ends[1]))
        for lead, one, other in self.bonds:
            yield lead, (self.settled(one), self.settled(other))

    def bridged(self, node: Node) -> bool:
        """Whether leads join what lies on either side of an open switch in a conductor at its structure."""
        found = Joined()
        for ends in (*self.ends.values(), *(tuple(bond[1:]) for bond in self.bonds)):
            if len(ends) == 2:
                found.join(*ends)
        return found.top((*node[:3], "near")) == found.top((*node[:3], "far"))

    def clamped(self) -> set[Node]:
        """Every node that has a clamp on it."""
        found = {self.settled(node) for ends in self.ends.values() for node in ends}
        for _lead, one, other in self.bonds:
            found |= {self.settled(one), self.settled(other)}
        return found

    def metal(self) -> Iterator[tuple[Node, Node]]:
        """What joins without a lead: bar and pole, ground wire and many-grounded neutral, steel and shield wire."""
        for bar, structure in self.bars.items():
            yield ("bar", bar), ("steel" if structure.material == "steel" else "pole", structure)
        line = self.line
        for structure in self.structures:
            if line and structure.pole_ground and isinstance(line.neutral, Conductor) and self.many():
                yield ("pole ground", structure), ("wire", structure, line.neutral, "near")
            if line and structure.material == "steel" and not line.shield_insulated:
                for shield in line.shield or ():
                    yield ("steel", structure), ("wire", structure, shield, "near")

    def many(self) -> bool:
        return self.line is not None and self.line.neutral_earthing == "multigrounded"

    def electrodes(self) -> Iterator[Node]:
        for rod in self.rods:
            yield ("rod", rod)
        for structure in self.structures:
            yield ("earth", structure)
            yield ("pole ground", structure)
            yield ("footing", structure)
            if structure.material == "steel":
                yield ("steel", structure)
        if self.line and isinstance(self.line.neutral, Conductor) and self.many():
            yield from self.wires((self.line.neutral,))

    def entries(self, source: SupplySource) -> list[Structure]:
        """Where a source can feed in as the switches stand: nowhere where one of its own is open at the place.

        A switch that is said to stand further along the route leaves what lies before it to the source. One that may
        exist and is not located counts as nowhere: tests and grounds are for it.
        """
        if not source.located:
            return []
        spots = [source.at] if source.at is not None else list(self.structures)
        for switch in self.open:
            if source not in own(switch):
                continue
            sides = [side for side in switch.sides if isinstance(side, Structure)]
            other = next((side for side in switch.sides if isinstance(side, SupplySource)), None)
            if other is None or not sides or source.at is None or sides[0] is source.at:
                return []
            here, there = source.at.order, sides[0].order
            if here is None or there is None:
                return []
            spots = [one for one in self.route if min(here, there) <= (one.order or 0) <= max(here, there)]
            spots = [one for one in spots if one is not sides[0]]
        return spots

    def live_behind(self, switch: Switch, here: Structure | None) -> bool:
        """Whether the other side of an open switch is live, as seen from a structure."""
        for side in switch.sides:
            if isinstance(side, Structure) and side is not here:
                if any(node in self.state.live for node in self.wires(self.phases) if node[1] is side):
                    return True
            elif isinstance(side, SupplySource) and not any(
                side in own(other) for other in self.open if other is not switch
            ):
                return True
        return False

    def apart(self, source: SupplySource) -> bool:
        """Whether a switch of the source is open."""
        return any(source in own(switch) for switch in self.open)

    def look(self) -> State:
        nodes: set[Node] = set(self.wires(self.conductors))
        local, wire = Joined(), Joined()
        joints = [*self.leads(), *self.metal()]
        for one, other in joints:
            nodes |= {one, other}
            local.join(one, other)
        spans = list(self.spans())
        for one, other in spans:
            wire.join(one, other)
        whole = Joined()
        for one, other in (*joints, *spans):
            whole.join(one, other)
        earthed = {whole.top(node) for node in self.electrodes()}
        ground = frozenset(node for node in nodes if whole.top(node) in earthed) | frozenset(self.electrodes())
        return State(self.fed(spans), ground, local.tops(nodes), whole.tops(nodes), wire.tops(nodes))

    def fed(self, spans: list[tuple[Node, Node]]) -> frozenset[Node]:
        """What a source or a live neighbour has a way to: along phases, and over leads."""
        ways: dict[Node, list[Node]] = {}
        for one, other in (*((a, b) for a, b in spans if a[2] in self.phases), *self.leads()):
            ways.setdefault(one, []).append(other)
            ways.setdefault(other, []).append(one)
        todo: list[Node] = [("neighbour", one) for one in self.neighbours]
        for source in self.sources:
            for spot in self.entries(source):
                todo += [node for node in self.wires(self.phases) if node[1] is spot]
        found: set[Node] = set()
        while todo:
            node = todo.pop()
            if node not in found:
                found.add(node)
                todo += ways.get(node, ())
        return frozenset(found)

    def mark_live(self) -> None:
        for node in self.state.live:
            self.last_live[node] = self.now

    # ------------------------------------------------------------------ what testing shows
    def shown_dead(self, node: Node, state: State) -> bool:
        """Whether a test that shows something found this piece of conductor dead since it could last be live."""
        piece = [one for one in state.wire if state.wire[one] == state.wire.get(node, node)] or [node]
        since = max(
            max((self.last_live.get(one, -2) for one in piece), default=-2),
            max((self.doubts.get(one, -2) for one in piece), default=-2),
            max((self.found_live.get(one, -2) for one in piece), default=-2),
        )
        for step, where, detector in self.tests:
            if step > since and where in piece and any(proof > step for proof in self.proofs.get(detector, ())):
                return True
        return False

    def tried_on(self, node: Node, state: State) -> bool:
        """Whether this piece of conductor was tested at all."""
        return any(state.wire.get(one, one) == state.wire.get(node, node) for one in self.tried)

    def proven(self, detector: object) -> bool:
        proofs = self.proofs.get(detector, ())
        return bool(proofs) and (not self.pauses or proofs[-1] > self.pauses[-1])

    # ------------------------------------------------------------------ people
    def touches(self, person: Person) -> tuple[Node, ...]:
        """What a person touches or could: what is in reach, and what is under the feet where it conducts."""
        place = self.people[person]
        found = [node for point in self.reached(person) for node in self.nodes(point)]
        stand = place.stand
        if stand is not None and not (
            stand.sort == "vehicle" and getattr(stand.thing, "insulation", None) != "uninsulated"
        ):
            found += self.nodes(stand)
        return tuple(dict.fromkeys(found))

    def hands(self, person: Person) -> tuple[Node, ...]:
        """The conductors in reach."""
        return tuple(n for point in self.reached(person) for n in self.nodes(point) if n[0] == "wire")

    def reached(self, person: Person) -> tuple[PointRef, ...]:
        """What is said to be in a person's reach, and what the work of this step touches."""
        wires = [point for who, touched in self.in_hand.values() if who is person for point in touched]
        return tuple(dict.fromkeys((*(self.people[person].reach or ()), *self.touched.get(person, ()), *wires)))

    def up(self, person: Person) -> bool:
        """Whether a person is up on something, or has something in reach, and so is not just standing by. Who stands on
        the ground or on a mat with a hand on a switch's handle operates it."""
        place = self.people[person]
        touches = any(point.sort != "handle" for point in self.reached(person))
        return touches or place.stand is None or place.stand.sort not in ("earth", "mat")

    # ------------------------------------------------------------------ doing a step
    def do(self, index: int, action: Action) -> Step:
        """Carry an action out; what it did to leads is in the step."""
        self.now = index
        self.touched.clear()
        step = Step(index, action)
        handler = getattr(self, "_" + action.kind.replace("-", "_"), None)
        if handler is not None:
            handler(action.slots, step)
        self.was = self.state
        if action.kind in REARRANGES:
            self.state = self.look()
        self.mark_live()
        return step

    @staticmethod
    def means(slots: Any) -> tuple[str, Stick | None]:
        stick = slots.get("stick")
        if stick is None:
            return HAND, None
        return (STICK, stick) if isinstance(stick, Stick) else (UNSAID, None)

    def _open(self, slots: Any, step: Step) -> None:
        self.open.add(slots["switch"])

    def _close(self, slots: Any, step: Step) -> None:
        self.open.discard(slots["switch"])

    def _verify(self, slots: Any, step: Step) -> None:
        if slots["switch"].position is None:  # where it is found so, it is open; after a close the step cannot be done
            self.open.add(slots["switch"])

    def _receive(self, slots: Any, step: Step) -> None:
        self.holders.append(slots.get("holder") if isinstance(slots.get("holder"), Person) else slots.get("crew"))

    def _release(self, slots: Any, step: Step) -> None:
        who = slots.get("holder") if isinstance(slots.get("holder"), Person) else slots.get("crew")
        if who in self.holders:
            self.holders.remove(who)
        elif self.holders:
            self.holders.pop()
        if not self.holders:
            self.pass_by(step)

    def pass_by(self, step: Step) -> None:
        """Time passes: proofs are of long ago, and so are tests of what no ground has held at zero meanwhile."""
        self.pauses.append(step.index)
        for node in self.wires(self.phases):
            if node not in self.state.ground:
                self.doubts[node] = step.index

    def _transfer(self, slots: Any, step: Step) -> None:
        who = slots.get("holder") if isinstance(slots.get("holder"), Person) else slots.get("crew")
        taker = slots.get("taker") if isinstance(slots.get("taker"), Person) else slots.get("taker_crew")
        if who in self.holders:
            self.holders[self.holders.index(who)] = taker

    def _prove(self, slots: Any, step: Step) -> None:
        live = slots.get("live")
        if live is None or any(node in self.state.live for node in self.nodes(live)):
            self.proofs.setdefault(slots["detector"], []).append(step.index)

    def _test(self, slots: Any, step: Step) -> None:
        detector = slots.get("detector")
        volts = self.line.voltage if self.line else None
        if slots.get("result") == "live":
            for node in self.nodes(slots["point"]):
                self.found_live[node] = step.index
            return
        node = self.end_node(slots["point"])
        if node is not None:
            self.tried.append(node)
            if slots.get("improvised") or not isinstance(detector, Detector) or not self.proven(detector):
                return
            low, high = detector.lowest, detector.highest
            if volts is not None and ((low is not None and low > volts) or (high is not None and high < volts)):
                return
            self.tests.append((step.index, node, detector))

    def _wait(self, slots: Any, step: Step) -> None:
        time = slots["time"]
        if isinstance(time, (int, float)):
            if time >= PAUSE:
                self.pass_by(step)
            for one in self.stood:
                self.stood[one] += time

    def _set(self, slots: Any, step: Step) -> None:
        self.rods[slots["rod"]] = slots["structure"] if isinstance(slots["structure"], Structure) else None

    def _pull(self, slots: Any, step: Step) -> None:
        self.rods.pop(slots["rod"], None)
        self.barricaded.discard(slots["rod"])  # it stays behind where the rod is set elsewhere

    def _pause(self, slots: Any, step: Step) -> None:
        self._wait({"time": PAUSE}, step)

    def _work(self, slots: Any, step: Step) -> None:
        touch = slots.get("touch")
        if isinstance(touch, tuple):
            who, at = slots.get("operator"), slots.get("structure")
            for person, place in self.people.items():
                if who in (None, person) and (at is None or place.structure in (at, None)):
                    self.touched[person] = tuple(point for point in touch if isinstance(point, PointRef))

    def _barricade(self, slots: Any, step: Step) -> None:
        self.barricaded.add(slots["thing"])

    def _unbarricade(self, slots: Any, step: Step) -> None:
        self.barricaded.discard(slots["thing"])

    def _mount(self, slots: Any, step: Step) -> None:
        if isinstance(slots["structure"], Structure):
            self.bars[slots["bar"]] = slots["structure"]

    def _dismount(self, slots: Any, step: Step) -> None:
        self.bars.pop(slots["bar"], None)

    def put_on(self, lead: object, node: Node | None, slots: Any, step: Step) -> None:
        if node is not None:
            means, stick = self.means(slots)
            step.on.append(End(lead, node, means, stick))

    def take_off(self, lead: object, node: Node | None, slots: Any, step: Step) -> None:
        if node is not None:
            means, stick = self.means(slots)
            step.off.append(End(lead, node, means, stick))

    def _attach(self, slots: Any, step: Step) -> None:
        node = self.end_node(slots["point"])
        ends = self.ends.setdefault(slots["lead"], [])
        if node is not None and len(ends) < 2:
            ends.append(node)
            self.put_on(slots["lead"], node, slots, step)

    _restore = _attach

    def _detach(self, slots: Any, step: Step) -> None:
        node, lead = self.end_node(slots["point"]), slots["lead"]
        if node is None:
            return
        ends = self.ends.get(lead, [])
        for end in ends:
            if self.settled(end) == self.settled(node):
                ends.remove(end)
                self.take_off(lead, node, slots, step)
                return
        for bond in self.bonds:  # a lead that went on by a bond and comes off by its ends
            if bond[0] is lead and self.settled(node) in (self.settled(bond[1]), self.settled(bond[2])):
                self.bonds.remove(bond)
                self.ends[lead] = [end for end in bond[1:] if self.settled(end) != self.settled(node)]
                self.take_off(lead, node, slots, step)
                return

    _lift = _detach

    def _bond(self, slots: Any, step: Step) -> None:
        one, other = self.end_node(slots["first"]), self.end_node(slots["second"])
        if one is None or other is None:
            return
        lead = slots["lead"] if isinstance(slots.get("lead"), Lead) else object()
        self.bonds.append((lead, one, other))
        for node in (one, other):
            self.put_on(lead, node, slots, step)

    def _unbond(self, slots: Any, step: Step) -> None:
        node = self.end_node(slots["first"])
        for bond in reversed(self.bonds):
            if node is not None and self.settled(node) in (self.settled(bond[1]), self.settled(bond[2])):
                self.bonds.remove(bond)
                for end in bond[1:]:
                    self.take_off(bond[0], end, slots, step)
                return

    def _enter(self, slots: Any, step: Step) -> None:
        structure, stand, reach = slots["structure"], slots["stand"], slots["reach"]
        known = tuple(p for p in reach if isinstance(p, PointRef)) if isinstance(reach, tuple) else None
        self.people[slots["person"]] = Place(
            structure if isinstance(structure, Structure) else None,
            stand if isinstance(stand, PointRef) else None,
            known,
        )

    _move = _enter

    def _leave(self, slots: Any, step: Step) -> None:
        self.people.pop(slots["person"], None)
        self.in_hand = {wire: held for wire, held in self.in_hand.items() if held[0] is not slots["person"]}

    def _handle(self, slots: Any, step: Step) -> None:
        if slots["person"] in self.people:
            touched = slots["touching"] if isinstance(slots["touching"], tuple) else ()
            self.in_hand[slots["wire"]] = slots["person"], tuple(one for one in touched if isinstance(one, PointRef))

    def _stow(self, slots: Any, step: Step) -> None:
        self.in_hand.pop(slots["wire"], None)

    def _gloves_on(self, slots: Any, step: Step) -> None:
        if holds_back(slots.get("goods"), self.line.voltage if self.line else None):
            self.gloved.add(slots["person"])
        else:
            self.gloved.discard(slots["person"])

    def _gloves_off(self, slots: Any, step: Step) -> None:
        self.gloved.discard(slots["person"])

    def _part(self, point: object, step: Step, doubt: bool) -> None:
        if isinstance(point, PointRef) and isinstance(point.thing, Conductor) and point.structure is not None:
            piece = [n for n in self.state.wire if n[0] == "wire" and n[2] is point.thing]
            shown = [n for n in piece if n in self.last_live or n in self.state.wire]
            near = ("wire", point.structure, point.thing, "near")
            dead = self.shown_dead(near, self.state)
            self.cuts.add((point.structure, point.thing))
            if doubt:
                for node in (*shown, ("wire", point.structure, point.thing, "far")):
                    self.doubts[node] = step.index
            elif dead:  # what was one piece and shown dead is two such pieces
                for test, where, detector in tuple(self.tests):
                    if where in piece:
                        self.tests += [(test, node, detector) for node in (near, (*near[:3], "far"))]
            far = ("wire", point.structure, point.thing, "far")
            if near in self.last_live:
                self.last_live[far] = self.last_live[near]

    def _cut(self, slots: Any, step: Step) -> None:
        self._part(slots["point"], step, doubt=False)

    def _downed(self, slots: Any, step: Step) -> None:
        self._part(slots["point"], step, doubt=True)
        if isinstance(slots["point"], PointRef):
            self.down.add((slots["point"].structure, slots["point"].thing))

    def _join(self, slots: Any, step: Step) -> None:
        point = slots["point"]
        if isinstance(point, PointRef):
            near = ("wire", point.structure, point.thing, "near")
            far = (*near[:3], "far")
            sides_ok = all(self.shown_dead(n, self.state) or n in self.state.ground for n in (near, far))
            self.cuts.discard((point.structure, point.thing))  # type: ignore[arg-type]
            self.down.discard((point.structure, point.thing))  # type: ignore[arg-type]
            if not sides_ok:
                self.doubts[near] = step.index

    def _string(self, slots: Any, step: Step) -> None:
        for node in self.nodes(slots["point"]):
            self.doubts[node] = step.index

    def _park(self, slots: Any, step: Step) -> None:
        structure = slots["structure"]
        self.parked[slots["vehicle"]] = structure if isinstance(structure, Structure) else None

    def _cover(self, slots: Any, step: Step) -> None:
        one, at = slots["neighbour"], slots.get("structure")
        if (not isinstance(at, Structure) or one.at in (at, None)) and holds_back(slots.get("goods"), one.voltage):
            self.covered.add(one)

    def _uncover(self, slots: Any, step: Step) -> None:
        self.covered.discard(slots["neighbour"])

    def _shock(self, slots: Any, step: Step) -> None:
        self.shocked = step.index

    def _disconnect(self, slots: Any, step: Step) -> None:
        if isinstance(slots["capacitor"], Capacitor):
            self.charge[slots["capacitor"]] = "apart"
            self.stood[slots["capacitor"]] = 0.0

    def _discharge(self, slots: Any, step: Step) -> None:
        if isinstance(slots["capacitor"], Capacitor):
            self.charge[slots["capacitor"]] = "discharged"

    def _spike(self, slots: Any, step: Step) -> None:
        self.spiked.add(slots["cable"])
