"""What is the case before each step of a plan, and at its end."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence

from groundlint.plan.models import (
    Action,
    Bar,
    Cable,
    Capacitor,
    Conductor,
    Detector,
    Lead,
    LooseWire,
    Neighbour,
    Person,
    Plan,
    PointRef,
    Rod,
    Rubber,
    Structure,
    SupplySource,
    Switch,
    Thing,
    Vehicle,
)
from groundlint.text import Diagnostic
from groundlint.values import FALSE, TRUE, UNKNOWN, Gap, Truth, Unknown
from groundlint.world.logs import READING, Logs
from groundlint.world.network import FAR, NEAR, plain
from groundlint.world.records import Barricade, Bond, End, Ground, Held, Joint, Mounted, RodSet, Stand, Waited
from groundlint.world.world import UNSETTLED, Holder, World


class Timeline:
    """A plan carried out. Position ``at`` from 0 to n is the state before action ``at``; n is the end.

    ``Truth | Unknown``: `Unknown` is given in place of `UNKNOWN` and tells what is not stated. A rod, bar,
    vehicle, mat or neighbour is the
    same point wherever it stands; a `PointRef` with or without its structure finds it. ``problems`` are steps
    that cannot be done as written. ``world`` holds the logs, which nothing but the replay writes.
    """

    def __init__(self, plan: Plan, world: World) -> None:
        self.plan = plan
        self.actions: tuple[Action, ...] = plan.actions
        self.n = len(plan.actions)
        self.problems: tuple[Diagnostic, ...] = tuple(world.problems)
        self.world = world

    def changed_by(self, at: int, log: str, thing: Hashable) -> int | None:
        """The last step before a position that said something of a thing, by the name of the world's log of it."""
        logs: Logs[Hashable, object] = getattr(self.world, log)
        kept = logs.by_key.get(thing)
        since = kept.since(at) if kept is not None else None
        return since - 1 if since else None

    # ---- sources and switches ----

    def switch_position(self, at: int, switch: Switch) -> str | None:
        """``open``, ``closed``, or None where not known; ``normally open`` is not known before a step says more."""
        return self.world.switch.at(switch, at)

    def locked(self, at: int, switch: Switch) -> bool:
        """Whether it is made inoperable, as by a lock."""
        return bool(self.world.locked.at(switch, at))

    def tagged(self, at: int, switch: Switch) -> bool:
        """Whether a tag is on it."""
        return bool(self.world.tagged.at(switch, at))

    def control_disabled(self, at: int, switch: Switch) -> bool:
        """Whether its remote and automatic control is disabled at each point of control."""
        return bool(self.world.disabled.at(switch, at))

    def control_tagged(self, at: int, switch: Switch) -> bool:
        """Whether its remote and automatic control is tagged at each point of control."""
        return bool(self.world.control_tagged.at(switch, at))

    def worn(self, at: int, person: Person) -> tuple[Rubber, ...]:
        """The gloves and sleeves that are named where somebody puts them on; empty where none are named."""
        return (self.world.worn.at(person, at) or ()) if self.gloved(at, person) else ()

    def covered_with(self, at: int, neighbour: Neighbour) -> tuple[Rubber, ...]:
        """The insulating goods that are named of its cover; empty where none are named."""
        return self.world.covered_with.at(neighbour, at) or ()

    def held(self, at: int, wire: LooseWire) -> Held | None:
        """Who has a loose wire in hand, and what it touches."""
        return self.world.held.at(wire, at)

    def gap_visible(self, at: int, switch: Switch) -> bool:
        """Whether it is open and its gap can be seen, or was seen when it opened."""
        return self.world.switch.at(switch, at) == "open" and (switch.visible or bool(self.world.seen.at(switch, at)))

    def verified(self, at: int, switch: Switch) -> bool:
        """Whether it was verified open since it last opened."""
        return bool(self.world.verified.at(switch, at))

    def source_open(self, at: int, source: SupplySource) -> Truth | Unknown:
        """Whether every way from the source to the line is open, by its open points or by cut conductors."""
        return self.world.feed.source_open(at, source)

    def sources_at_once(self, at: int) -> Mapping[frozenset[SupplySource], bool]:
        """The sources that may feed the line at once, in groups: one that returns, with those that are not open, or are
        behind the same open point and nothing else holds them off; with whether they do, as far as is stated."""
        return self.world.feed.at_once.at(None, at) or {}

    def reclosing_blocked(self, at: int, circuit: SupplySource | Neighbour) -> bool | None:
        """Whether its reclosing is blocked or off; None is not stated."""
        return self.world.blocked.at(circuit, at)

    def pulling(self, at: int) -> bool:
        """Whether a conductor was pulled in, and no work was done since."""
        return bool(self.world.pulling.at(at))

    def feeding(self, at: int, point: PointRef) -> Truth | Unknown:
        """Whether a source or live neighbour could reach the point now; FALSE only where the sources are complete."""
        truth, gaps = self.world.feed.feeding(at, point)
        if truth is not UNKNOWN:
            return truth
        return Unknown(gaps or (self.plan.source_gap,))

    # ---- people and papers ----

    def briefed(self, at: int, person: Person) -> bool:
        """Whether the person has had the job briefing."""
        return self.world.briefed.at(person, at) is not None

    def clearance(self, at: int, holder: Holder = None) -> str | None:
        """``requested``, ``received``, ``released``, ``transferred`` or ``unsettled``; None before.

        Without a holder: ``received`` while anybody surely holds one, ``unsettled`` while somebody may, as a step
        names nobody. A person falls back on the crew, and both on a clearance held by nobody named.
        """
        world = self.world
        if holder is None:
            return world.clearance_of_all.at(at)
        for one in (holder, holder.crew if isinstance(holder, Person) else None, None):
            found = world.clearance.at(one, at) if one is not None or holder is not None else None
            if found is not None:
                return found
        return None

    def holders(self, at: int, state: str = "received") -> tuple[Holder, ...]:
        """Who holds a clearance (or may, where ``state`` is ``unsettled``): people, crews by name, None for nobody
        named."""
        log = self.world.clearance
        return tuple(one for one in log.known() if log.at(one, at) == state)

    def holds_clearance(self, at: int, holder: Person | str) -> bool | None:
        """Whether this person or crew holds a clearance; None where a step that names nobody leaves it open."""
        log = self.world.clearance
        own, unnamed = log.at(holder, at), log.at(None, at)
        if own == "received":
            return True
        return None if own == UNSETTLED or unnamed in ("received", UNSETTLED) else False

    def stand(self, at: int, person: Person) -> Stand | None:
        """Where the person works; None where not in place."""
        return self.world.stands.at(person, at)

    def stay(self, at: int, person: Person) -> range:
        """The positions around one at which the person is at the same structure, or in no place."""
        log = self.world.stands.by_key.get(person)
        since, until, here = 0, self.n + 1, None
        for position, stand in zip(log.positions, log.values, strict=True) if log is not None else ():
            there = stand.structure if stand is not None else None
            if there is not here and position > at:
                until = position
                break
            since, here = (since, here) if there is here else (position, there)
        READING.narrow(since, until)
        return range(since, until)

    def people_in_place(self, at: int) -> tuple[Person, ...]:
        """Everybody who is in place, in the order in which they took it up."""
        return self.world.people.at(at) or ()

    def gloved(self, at: int, person: Person) -> bool | None:
        """Whether rubber gloves are on; None where no step says."""
        return self.world.gloves.at(person, at)

    def covered(self, at: int, neighbour: Neighbour) -> bool:
        """Whether a live neighbour is covered."""
        return bool(self.world.covered.at(neighbour, at))

    # ---- equipment ----

    def inspected(self, at: int, equipment: Thing) -> bool:
        """Whether a step has inspected it."""
        return self.world.inspected.at(equipment, at) is not None

    def inspected_at(self, at: int, equipment: Thing) -> int | None:
        """The last step that inspected it."""
        return self.world.inspected.at(equipment, at)

    def proven(self, at: int, detector: Detector) -> bool:
        """Whether a step has proven it on a tester or a live part."""
        return self.world.proof.at(detector, at) is not None

    def last_proof(self, at: int, detector: Detector) -> int | None:
        """The last step that proved it."""
        return self.world.proof.at(detector, at)

    def tests_since_proof(self, at: int, detector: Detector) -> int:
        """Points tested with it since it was last proven, or since the beginning."""
        return self.world.tests_since.at(detector, at) or 0

    def rod_set(self, at: int, rod: Rod) -> RodSet | None:
        """Where the rod is in the ground; None where it is not."""
        return self.world.rods.at(rod, at)

    def rod_settings(self, rod: Rod) -> tuple[RodSet, ...]:
        """Each time that the rod was put in the ground, pulled again or not."""
        log = self.world.rods.by_key.get(rod)
        return tuple(found for found in log.values if found is not None) if log is not None else ()

    def barricaded(self, at: int, thing: Thing) -> Barricade | None:
        """The barricade around it; None where there is none."""
        return self.world.barricades.at(thing, at)

    def mounted(self, at: int, bar: Bar) -> Mounted | None:
        """Where the bar is mounted; None where it is not."""
        return self.world.bars.at(bar, at)

    # ---- capacitors and waits ----

    def disconnected(self, at: int, capacitor: Capacitor) -> int | None:
        """The step that disconnected the capacitor; None where none has."""
        return self.world.disconnected.at(capacitor, at)

    def discharged(self, at: int, capacitor: Capacitor) -> int | None:
        """The step that short-circuited and grounded the capacitor since it was disconnected; None where none has."""
        return self.world.discharged.at(capacitor, at)

    def unstated_capacitor(self, at: int, kind: str) -> Gap | None:
        """What a step of the kind, ``disconnect`` or ``discharge``, that names no capacitor leaves open."""
        return self.world.unstated_capacitor.at(kind, at)

    def spiked(self, at: int, cable: Cable, structure: Structure) -> int | None:
        """The step that spiked the cable at a vault or terminal; None where none has."""
        return self.world.spiked.at((cable, structure), at)

    def unstated_spike(self, at: int) -> Gap | None:
        """What a step that spikes a cable leaves open: which, or where."""
        return self.world.unstated_spike.at(at)

    def waited(self, at: int) -> Waited:
        """The waits before the position, added up."""
        return self.world.waited.at(at) or Waited()

    def unwatched(self, at: int) -> int | None:
        """The last step in which nobody was there for a stretch, as a night; None where there was none."""
        return self.world.unwatched.at(at)

    # ---- tests and cleaning ----

    def _cleaned_as(self, at: int, point: PointRef) -> PointRef:
        """The point under which cleaning of it is kept: a side of a conductor is the conductor itself until the
        conductor is cut there, and after that until a step has cleaned the side by its name."""
        return self._kept_as(self.world.cleaned, at, point, self.cut)

    def _tested_as(self, at: int, point: PointRef) -> PointRef:
        """The point whose test counts for a point: for a side of a conductor the conductor, unless it was parted when
        it was tested; beyond an open point that hangs there also the conductor at the next structure."""
        log = self.world.tested
        tested = self._kept_as(log, at, point, lambda when, *_: self.parted(when, point))
        if tested.sort in (NEAR, FAR) and log.at(tested, at) is None:
            facing = self.world.network.across(tested)
            if facing is not None:
                return self._kept_as(log, at, facing, lambda when, *_: self.parted(when, facing))
        return tested

    def _kept_as(
        self,
        log: Logs[PointRef, int] | Logs[PointRef, int | None],
        at: int,
        point: PointRef,
        parted: Callable[[int, Structure, Conductor], bool],
    ) -> PointRef:
        point = plain(point)
        if point.sort not in (NEAR, FAR) or point.structure is None or not isinstance(point.thing, Conductor):
            return point
        whole = PointRef("conductor", point.structure, point.thing)
        tried = log.at(whole, at)
        # of one that was parted when it was tried it is not said which side was, or that it was the other
        apart = tried is not None and parted(tried, point.structure, point.thing)
        return point if apart or log.at(point, at) is not None else whole

    def whole(self, at: int, point: PointRef) -> PointRef:
        """The conductor, where the point is one side of one that is whole there; else the point."""
        return self.world.network.whole(at, point)

    def tested(self, at: int, point: PointRef) -> int | None:
        """The last step that tested the point, whatever it found."""
        return self.world.tested.at(self._tested_as(at, point), at)

    def holds(self, at: int, point: PointRef) -> bool:
        """Whether the point was found dead, and nothing since could have energized it."""
        return bool(self.world.holds.at(self._tested_as(at, point), at))

    def expired_by(self, at: int, point: PointRef) -> int | None:
        """The step by which the point's last test ended; None where it holds, or found live, or there was none."""
        return self.world.expired.at(self._tested_as(at, point), at)

    def in_doubt(self, at: int, point: PointRef) -> Unknown | None:
        """What leaves it open whether the point's last test has ended: if it was made under grounds that came off."""
        return self.world.in_doubt.at(self._tested_as(at, point), at)

    def clean(self, at: int, point: PointRef) -> bool:
        """Whether the point was cleaned and no clamp has come off it since."""
        return self.cleaned_at(at, point) is not None

    def cleaned_at(self, at: int, point: PointRef) -> int | None:
        """The step that cleaned the point; None where it is not clean."""
        return self.world.cleaned.at(self._cleaned_as(at, point), at)

    # ---- leads ----

    def ends(self, at: int, lead: Lead) -> tuple[End, ...]:
        """Where the lead's ends are on, in the order they went on; a `Gap` is a place not stated."""
        return tuple(end for end, _ in self.world.ends.at(lead, at) or ())

    def end_index(self, at: int, lead: Lead, point: End) -> int | None:
        """The step that put the lead on the point; None where it is not on it."""
        key = plain(point) if isinstance(point, PointRef) else point
        return next((index for end, index in self.world.ends.at(lead, at) or () if end == key), None)

    def lifted(self, at: int, lead: Lead) -> End | None:
        """The place that the lead is lifted from; None where it is not lifted."""
        return self.world.lifted.at(lead, at)

    def leads_on(self, at: int, point: PointRef) -> tuple[Lead, ...]:
        """The leads that are on a point, in the order they went on."""
        return tuple(one for one in self.world.hanging.at(plain(point), at) or () if isinstance(one, Lead))

    def loaded(self, at: int, point: PointRef) -> bool | Unknown:
        """Whether a lead is on a point; unknown while an end is on at a place that the plan does not tell."""
        if self.leads_on(at, point):
            return True
        gaps = [end for lead in self.world.adrift.at(at) or () for end in self.ends(at, lead) if isinstance(end, Gap)]
        return Unknown(tuple(gaps)) if gaps else False

    def bonds(self, at: int) -> tuple[Bond, ...]:
        """The bonds that are on, in the order they were made."""
        return self.world.bonds.at(at) or ()

    def every_bond(self) -> dict[Bond, int | None]:
        """The bonds that there ever are, in the order they were made, with the step that took each off."""
        found: dict[Bond, int | None] = {}
        before: tuple[Bond, ...] = ()
        log = self.world.bonds
        for position, bonds in zip(log.positions, log.values, strict=True):
            found.update((bond, position - 1) for bond in before if bond not in bonds)
            found.update((bond, None) for bond in bonds if bond not in found)
            before = bonds
        return found

    def bonded_by_no_lead(self, at: int, point: PointRef) -> bool:
        """Whether a bond is on a point of which the plan does not tell the lead."""
        return any(isinstance(one, Bond) for one in self.world.hanging.at(plain(point), at) or ())

    def hung(self, at: int, lead: Lead) -> int | None:
        """The step that hung a lead that is on; a lifted end that goes back hangs where it hung."""
        return self.world.hung.at(lead, at) if self.world.ends.at(lead, at) else None

    # ---- what hangs together ----

    def joined(self, at: int, one: PointRef, other: PointRef, local: bool = False) -> Truth | Unknown:
        """Whether two points hang together.

        ``local``: by leads with both ends on, bonds, bars and steel alone; else also along the line's
        conductors and closed switches.
        """
        network = self.world.network
        found = network.joined(at, plain(one), plain(other), local)
        if found is not UNKNOWN:
            return found
        return Unknown(network.gaps(at, plain(one), plain(other), local))

    def joints(self) -> tuple[Joint, ...]:
        """Every joint and loose end that there ever is, in the order in which they begin."""
        return tuple(
            Joint(s.key, s.one, s.other, s.start, self.n if s.end is None else s.end - 1, s.local, s.gap)
            for s in self.world.network.graphs.spells
            if s.end is None or s.end > s.start
        )

    def grounds(self) -> tuple[Ground, ...]:
        """Every electrode that there ever is; a rod is one from each `set` until it is pulled."""
        return tuple(
            Ground(e.node, e.start, self.n if e.end is None else e.end - 1, e.gap)
            for e in self.world.network.graphs.electrodes()
            if e.local and (e.end is None or e.end > e.start)
        )

    def splits(self) -> dict[tuple[Structure, Thing], int]:
        """Where a conductor has two sides at a structure, and from which position on."""
        return {key: log.positions[0] for key, log in self.world.network.through.by_key.items()}

    def parting(self) -> Mapping[tuple[Structure, str], Sequence[Switch]]:
        """The open points of a span that all hang at one of its structures, by that and the side that they part."""
        return self.world.network.parting

    def entry(self, source: SupplySource, conductor: Conductor) -> PointRef | None:
        """Where a source comes in on a conductor: the outer side of the end of the route, or its structure."""
        if source.at is None or not source.located:
            return None
        route = self.plan.route
        split = self.world.network.through.at((source.at, conductor), 0) is not None
        if source.beyond and split and route and source.at is route[0]:
            return PointRef(NEAR, source.at, conductor)
        if source.beyond and split and route and source.at is route[-1]:
            return PointRef(FAR, source.at, conductor)
        return PointRef("conductor", source.at, conductor)

    @property
    def structures(self) -> tuple[Structure, ...]:
        """The structures that carry the line: those of the route, or all declared where no route is stated."""
        return self.plan.route or self.world.network.structures

    def joint_changes(self, point: PointRef, local: bool = True) -> set[int]:
        """Positions from which answers of `joined` and `grounded` about the point may differ."""
        graphs, node = self.world.network.graphs, plain(point)
        nodes = {node, PointRef("conductor", *node[1:])} if node.sort in (NEAR, FAR) else {node}
        return {
            at for one in nodes for graph in (graphs.sure[local], graphs.possible[local]) for at in graph.changes(one)
        }

    def grounded(self, at: int, point: PointRef, local: bool = False) -> Truth | Unknown:
        """Whether the point hangs together with an electrode."""
        return self.world.network.grounded(at, point, local)

    def electrodes(self, at: int, point: PointRef, local: bool = False, possibly: bool = False) -> tuple[PointRef, ...]:
        """The electrodes that the point surely hangs together with; ``possibly``: that it may."""
        return self.world.network.electrodes(at, point, local, possibly)

    def electrode(self, at: int, point: PointRef) -> Truth | Unknown:
        """Whether the point is itself an electrode."""
        found = self.world.network.graphs.electrode_at(at, plain(point))
        if found is None or not found.local:
            return FALSE
        return TRUE if found.gap is None else Unknown((found.gap,))

    def cut(self, at: int, structure: Structure, conductor: Conductor) -> bool:
        """Whether the conductor is cut at the structure; its sides are the kinds of point `NEAR` and `FAR`."""
        return self.world.cut_at.at(PointRef("conductor", structure, conductor), at) is not None

    def parted(self, at: int, side: PointRef) -> bool:
        """Whether a side of a conductor is not the conductor as it is named: it is cut there, or opened there."""
        if not isinstance(side.thing, Conductor) or side.structure is None:
            return False
        return self.cut(at, side.structure, side.thing) or self.world.network.parted(at, side)

    def downed(self, at: int, point: PointRef) -> bool:
        """Whether the conductor was found broken or down there, and not joined again since."""
        return bool(self.world.downed.at(plain(point), at))

    def parked(self, at: int, vehicle: Vehicle) -> tuple[Structure | None] | None:
        """Where a vehicle took its place, in a tuple (None inside is a place not stated); None before it did."""
        return self.world.parked.at(vehicle, at)

    def bridged(self, at: int, structure: Structure, conductor: Conductor) -> bool:
        """Whether something joins the two sides of the conductor at the structure, cut or about to be."""
        return self.world.network.bridged(at, structure, conductor)


__all__ = ["Timeline"]
