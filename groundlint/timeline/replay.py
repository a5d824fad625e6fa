"""Carrying out a plan step by step: a pure fold over its actions.

A step whose slot the plan leaves open has an unknown effect; it takes certainty away and never gives it. A step that
cannot be done
as written is a `Diagnostic`, and the replay goes on as if it had been meant sensibly.
"""

from __future__ import annotations

from collections.abc import Callable

from groundlint.plan.actions import CLEARANCE_STEPS
from groundlint.plan.models import (
    Action,
    Away,
    Bar,
    Conductor,
    Neighbour,
    Person,
    Plan,
    PointRef,
    Rod,
    Structure,
    SupplySource,
    Switch,
    Thing,
    Vehicle,
)
from groundlint.text import Span
from groundlint.timeline.cables import Cables
from groundlint.timeline.capacitors import Capacitors
from groundlint.timeline.timeline import Timeline
from groundlint.values import FALSE, Gap
from groundlint.world.network import BRIDGED, plain
from groundlint.world.records import Barricade, Mounted, RodSet, Stand
from groundlint.world.world import Holder, World


def replay(plan: Plan) -> Timeline:
    """Carry out a plan's actions and keep what they change."""
    world = World(plan)
    run = _Replay(world)
    for index, action in enumerate(plan.actions):
        run.step(index, action)
    return Timeline(plan, world)


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None


def _thing(action: Action, slot: str) -> object:
    return action.slots.get(slot)


def _who(action: Action, person: str, crew: str) -> Holder:
    """The person or crew that a step names; None where it names nobody."""
    for slot in (person, crew):
        value = action.slots.get(slot)
        if isinstance(value, (Person, str)) and value:
            return value
    return None


class _Replay(Cables, Capacitors):
    """The steps other than those of leads, bonds, tests, cables and capacitors."""

    def __init__(self, world: World) -> None:
        super().__init__(world)
        self._steps: dict[str, Callable[[Action], None]] = {
            "brief": self._brief,
            "open": self._open,
            "close": self._close,
            "tag": self._tag,
            "lock": self._lock,
            "untag": self._untag,
            "verify": self._verify,
            "block": self._block,
            "unblock": self._block,
            "request": self._clear,
            "receive": self._clear,
            "release": self._clear,
            "transfer": self._clear,
            "inspect": self._inspect,
            "prove": self._prove,
            "test": self._test,
            "clean": self._clean,
            "set": self._set,
            "barricade": self._barricade,
            "unbarricade": self._unbarricade,
            "mount": self._mount,
            "dismount": self._dismount,
            "attach": self._attach,
            "detach": self._detach,
            "bond": self._bond,
            "unbond": self._unbond,
            "enter": self._enter,
            "move": self._move,
            "leave": self._leave,
            "cut": self._cut,
            "join": self._join,
            "downed": self._downed,
            "string": self._string,
            "park": self._park,
            "lift": self._lift,
            "restore": self._restore,
            "cover": self._cover,
            "uncover": self._cover,
            "gloves-on": self._gloves,
            "gloves-off": self._gloves,
            "disconnect": self._disconnect,
            "discharge": self._discharge,
            "wait": self._wait,
            "spike": self._spike,
        }

    def step(self, index: int, action: Action) -> None:
        """Carry out one action; kinds that change nothing (work, hold, note, certify, shock, ...) pass."""
        self.index, self.position, self.action = index, index + 1, action
        does = self._steps.get(action.kind)
        if does is not None:
            does(action)

    # ---- switches and sources ----

    def _brief(self, action: Action) -> None:
        person = _thing(action, "person")
        if isinstance(person, Person):
            self.world.briefed.put(person, self.position, self.index)

    def _set_switch(self, switch: Switch, state: str | None) -> None:
        self.world.switch.put(switch, self.position, state)
        self.world.network.set_switch(switch, state, self.position)
        self.world.feed.update(self.world.states(), self.position)

    def _open(self, action: Action) -> None:
        switch = _thing(action, "switch")
        if not isinstance(switch, Switch):
            return
        world = self.world
        if world.switch.last(switch) == "open":
            self.mistake(
                "open-already-open",
                f"{switch} is already open{self.since(self._operated.get(switch))}",
                f"take this step out, or close {switch} before it",
                self.place_of(self._operated.get(switch), switch.place("position"), f"{switch} is open since here"),
            )
        else:
            self._operated[switch] = self.index
            world.seen.put(switch, self.position, False)
            world.verified.put(switch, self.position, False)
        self._set_switch(switch, "open")
        if action.slots.get("seen") is True:
            world.seen.put(switch, self.position, True)

    def _close(self, action: Action) -> None:
        switch = _thing(action, "switch")
        world = self.world
        if not isinstance(switch, Switch):
            for one in world.network.switches:
                if world.switch.last(one) == "open":
                    self._set_switch(one, None)
                    world.seen.put(one, self.position, False)
                    world.verified.put(one, self.position, False)
            self.expire(lambda _point: True)
            return
        if world.locked.last(switch) and not world.tagged.last(switch):
            self.mistake(
                "close-while-locked",
                f"{switch} is closed while it is locked open{self.since(self._tagged.get(switch))}",
                f"take the lock off first: `untag {switch}`",
                self.place_of(self._tagged.get(switch), switch.span, f"{switch} is locked here"),
            )
        if world.tagged.last(switch):
            self.mistake(
                "close-while-tagged",
                f"{switch} is closed while a tag is on it{self.since(self._tagged.get(switch))}",
                f"take the tag off first: `untag {switch}`",
                self.place_of(self._tagged.get(switch), switch.span, f"{switch} is tagged here"),
            )
        if world.switch.last(switch) == "closed":
            self.mistake(
                "close-already-closed",
                f"{switch} is already closed{self.since(self._operated.get(switch))}",
                f"take this step out, or open {switch} before it",
                self.place_of(self._operated.get(switch), switch.place("position"), f"{switch} is closed since here"),
            )
            return
        self._operated[switch] = self.index
        self._set_switch(switch, "closed")
        world.seen.put(switch, self.position, False)
        world.verified.put(switch, self.position, False)
        structures = world.feed.lets_through(switch)
        if structures is None or not world.network.phases:
            self.expire(lambda _point: True)
            return
        ends = [PointRef("conductor", s, phase) for s in structures for phase in world.network.phases]
        self.expire(lambda point: self.reached(point, ends))

    def _tag(self, action: Action) -> None:
        switch = _thing(action, "switch")
        if isinstance(switch, Switch):
            self.world.tagged.put(switch, self.position, True)
            self._tagged[switch] = self.index

    def _lock(self, action: Action) -> None:
        switch = _thing(action, "switch")
        if not isinstance(switch, Switch):
            return
        if self.world.switch.last(switch) == "closed":
            self.mistake(
                "lock-not-open",
                f"{switch} is closed, so it cannot be locked open{self.since(self._operated.get(switch))}",
                f"open it first: `open {switch}, lock it and tag it`",
                self.place_of(self._operated.get(switch), switch.place("position"), f"{switch} is closed since here"),
            )
            return
        self.world.locked.put(switch, self.position, True)
        self._tagged.setdefault(switch, self.index)

    def _untag(self, action: Action) -> None:
        switch = _thing(action, "switch")
        world = self.world
        if not isinstance(switch, Switch):
            for one in world.network.switches:
                if world.tagged.last(one):
                    world.tagged.put(one, self.position, False)
                if world.locked.last(one):
                    world.locked.put(one, self.position, False)
            self.vague.add("untag")
            return
        if not (world.tagged.last(switch) or world.locked.last(switch)) and "untag" not in self.vague:
            self.mistake(
                "untag-not-tagged",
                f"no tag is on {switch}{self.since(self._tagged.get(switch), 'last tagged or untagged on')}",
                f"take this step out, or tag {switch} where it is opened: `open {switch} and tag it`",
                self.place_of(self._operated.get(switch), switch.span, f"{switch}"),
            )
        world.tagged.put(switch, self.position, False)
        if world.locked.last(switch):
            world.locked.put(switch, self.position, False)
        self._tagged[switch] = self.index

    def _verify(self, action: Action) -> None:
        switch = _thing(action, "switch")
        if not isinstance(switch, Switch):
            return
        state = self.world.switch.last(switch)
        if state == "closed":
            self.mistake(
                "verify-not-open",
                f"{switch} is closed, so it cannot be verified open{self.since(self._operated.get(switch))}",
                f"open it first: `open {switch} and tag it`",
                self.place_of(self._operated.get(switch), switch.place("position"), f"{switch} is closed since here"),
            )
            return
        if state is None:  # found open, so that its position is known from here on
            self._set_switch(switch, "open")
        self.world.verified.put(switch, self.position, True)

    def _block(self, action: Action) -> None:
        target = _thing(action, "source")
        blocked = self.world.blocked
        if isinstance(target, SupplySource):
            blocked.put(target, self.position, action.kind == "block")
        elif isinstance(target, Switch):
            for source in target.sources:
                blocked.put(source, self.position, action.kind == "block")
        elif action.kind == "unblock":
            for source in blocked.known():
                if blocked.last(source):
                    blocked.put(source, self.position, None)

    def _clear(self, action: Action) -> None:
        holder, kind = _who(action, "holder", "crew"), action.kind
        log, held = self.world.clearance, self.world.holdings
        out = [one for one in log.known() if held.state(one) is not None]
        done = next(state for state, step in CLEARANCE_STEPS.items() if step == kind)
        # counted without names, so that a name taken out changes nothing here; who may release is for rules to ask
        if kind in ("release", "transfer") and self._clearances <= 0:
            whose = f" by {holder}" if holder is not None else ""
            self.mistake(
                "release-without-clearance" if kind == "release" else "transfer-without-clearance",
                f"a clearance is {done} that was never received, or was released before",
                f"write `clearance received{whose}` where the crew receives it",
                self.place_of(self._cleared, None, "clearance last changed here"),
            )
        if kind == "release":
            self._clearances = max(0, self._clearances - 1)
            held.release(holder)
        elif kind == "transfer":
            taker = _who(action, "taker", "taker_crew")
            held.transfer(holder, taker)
            if held.state(taker) is not None:
                out.append(taker)
        elif kind == "receive":
            self._clearances += 1
            held.receive(holder)
            out.append(holder)
        elif holder not in out:
            log.put(holder, self.position, done)
        self._cleared = self.index
        for one in dict.fromkeys(out):
            log.put(one, self.position, held.state(one) or done)
        standing = held.of_all()
        if standing is not None or kind != "transfer":  # a transfer of nothing leaves all as it was
            self.world.clearance_of_all.put(self.position, standing or done)

    # ---- equipment ----

    def _inspect(self, action: Action) -> None:
        item = _thing(action, "item")
        if isinstance(item, Thing):
            self.world.inspected.put(item, self.position, self.index)

    def _set(self, action: Action) -> None:
        rod, structure, away = (_thing(action, slot) for slot in ("rod", "structure", "away"))
        if not isinstance(rod, Rod):
            self.vague.add("set")
            return
        before = self.world.rods.last(rod)
        if before is not None:
            where = f" at {before.structure}" if before.structure is not None else ""
            self.mistake(
                "rod-set-twice",
                f"rod {rod} is already set{where}{self.since(before.index)}",
                "set another rod here, or take one of the two steps out",
                self.place_of(before.index, None, f"rod {rod} is set here"),
            )
        found = RodSet(
            structure if isinstance(structure, Structure) else None,
            _number(_thing(action, "distance")),
            _number(_thing(action, "depth")),
            self.index,
            tuple(one for one in away if isinstance(one, Away)) if isinstance(away, tuple) else (),
        )
        self.world.rods.put(rod, self.position, found)
        self.world.network.graphs.electrode(PointRef("rod", None, rod), self.position)

    def _barricade(self, action: Action) -> None:
        thing = _thing(action, "thing")
        if isinstance(thing, Thing):
            self.world.barricades.put(thing, self.position, Barricade(_number(_thing(action, "distance")), self.index))
        else:
            self.vague.add("barricade")

    def _unbarricade(self, action: Action) -> None:
        thing, barricades = _thing(action, "thing"), self.world.barricades
        if not isinstance(thing, Thing):
            for one in barricades.known():
                barricades.put(one, self.position, None)
            return
        if barricades.last(thing) is None and "barricade" not in self.vague:
            self.mistake(
                "unbarricade-not-barricaded",
                f"{thing} has no barricade to take down",
                f"take this step out, or write `barricade {thing}` where the barricade goes up",
                ((thing.span, f"{thing} is declared here"),),
            )
        barricades.put(thing, self.position, None)

    def _mount(self, action: Action) -> None:
        bar, structure = _thing(action, "bar"), _thing(action, "structure")
        if not isinstance(bar, Bar):
            self.vague.add("mount")
            return
        world, graphs = self.world, self.world.network.graphs
        before = world.bars.last(bar)
        if before is not None:
            where = f" at {before.structure}" if before.structure is not None else ""
            self.mistake(
                "bar-mounted-twice",
                f"bar {bar} is already mounted{where}{self.since(before.index)}",
                f"dismount it first: `dismount {bar}`, or mount another bar here",
                self.place_of(before.index, None, f"bar {bar} is mounted here"),
            )
        height, conductor = _thing(action, "height"), _thing(action, "conductor")
        found = Mounted(
            structure if isinstance(structure, Structure) else None,
            height if isinstance(height, str) else None,
            conductor if isinstance(conductor, Conductor) else None,
            self.index,
        )
        world.bars.put(bar, self.position, found)
        node = PointRef("bar", None, bar)
        graphs.unlink(("bar", bar), self.position)
        if found.structure is not None:
            graphs.link(("bar", bar), node, PointRef("pole", found.structure), self.position)
        else:
            missing = structure if isinstance(structure, Gap) else None
            gap = missing or Gap(f"where bar {bar} is mounted", f"mount {bar} at 212 below the feet", action.span)
            graphs.loose_end(("bar", bar), node, self.position, gap)

    def _dismount(self, action: Action) -> None:
        bar, bars = _thing(action, "bar"), self.world.bars
        graphs = self.world.network.graphs
        if not isinstance(bar, Bar):
            gap = bar if isinstance(bar, Gap) else Gap("which bar is dismounted", "dismount K1", action.span)
            for one in bars.known():
                graphs.loosen(("bar", one), self.position, gap)
            return
        before = bars.last(bar)
        if before is None:
            if "mount" not in self.vague:
                self.not_mounted(bar, "dismounted")
            return
        hung = self.leads_on(PointRef("bar", None, bar))
        if hung:
            names = " and ".join(str(lead) for lead in hung)
            self.mistake(
                "dismount-with-leads-on",
                f"bar {bar} is dismounted while {names} {'is' if len(hung) == 1 else 'are'} on it",
                f"detach first: `detach {hung[0]} from {bar}`",
                self.place_of(self.put_on(hung[0], PointRef("bar", None, bar)), None, f"{hung[0]} goes on here"),
            )
        bars.put(bar, self.position, None)
        graphs.unlink(("bar", bar), self.position)

    # ---- people ----

    def _stand(self, action: Action, before: Stand | None) -> Stand:
        structure, point, reach = _thing(action, "structure"), _thing(action, "stand"), _thing(action, "reach")
        gaps = [value for value in (structure, point, reach) if isinstance(value, Gap)]
        here = structure if isinstance(structure, Structure) else None
        on = plain(point) if isinstance(point, PointRef) else None
        touch: tuple[PointRef | Gap, ...] | None = None
        if isinstance(reach, tuple):
            touch = tuple(
                plain(one) if isinstance(one, PointRef) else one for one in reach if isinstance(one, (PointRef, Gap))
            )
        if before is not None:  # who moves without saying where stays at the structure; who stays keeps the rest
            here = here or before.structure
            if here is before.structure:
                on = on or before.point
                touch = before.reach if touch is None and on == before.point else touch
        told = (here is not None, on is not None, touch is not None)
        slots = (structure, point, reach)
        gaps = [value for value, known in zip(slots, told, strict=True) if isinstance(value, Gap) and not known]
        return Stand(here, on, touch, self.index, tuple(gaps))

    def _put_in_place(self, person: Person, stand: Stand | None) -> None:
        world = self.world
        world.stands.put(person, self.position, stand)
        people = tuple(p for p in world.people.last or () if p is not person)
        world.people.put(self.position, (*people, person) if stand is not None else people)

    def _enter(self, action: Action) -> None:
        person = _thing(action, "person")
        if not isinstance(person, Person):
            self.vague.add("enter")
            return
        before = self.world.stands.last(person)
        if before is not None:
            where = f" at {before.structure}" if before.structure is not None else ""
            self.mistake(
                "enter-twice",
                f"{person} is already in place{where}{self.since(before.index)}",
                f"write `move {person} ...` for another place, or `leave {person}` before this step",
                self.place_of(before.index, None, f"{person} takes up a place here"),
            )
        self._put_in_place(person, self._stand(action, None))

    def _move(self, action: Action) -> None:
        person = _thing(action, "person")
        if not isinstance(person, Person):
            self.vague.add("enter")
            return
        before = self.world.stands.last(person)
        if before is None and "enter" not in self.vague:
            self.absent(person, "move-not-in-place", "moves")
        self._put_in_place(person, self._stand(action, before))
        self._left.pop(person, None)

    def _leave(self, action: Action) -> None:
        person = _thing(action, "person")
        if not isinstance(person, Person):
            return
        if self.world.stands.last(person) is None:
            if "enter" not in self.vague:
                self.absent(person, "leave-not-in-place", "leaves")
            return
        self._put_in_place(person, None)
        self._left[person] = self.index

    def absent(self, person: Person, code: str, does: str) -> None:
        """Somebody moves or leaves who is not in place."""
        left = self._left.get(person)
        related = self.place_of(left, person.span, f"{person} leaves here" if left is not None else f"{person}")
        mend = f"write `enter {person} at ...` where {person} takes up the place"
        self.mistake(code, f"{person} {does} without being in place{self.since(left, 'left on')}", mend, related)

    def _gloves(self, action: Action) -> None:
        person = _thing(action, "person")
        if isinstance(person, Person):
            self.world.gloves.put(person, self.position, action.kind == "gloves-on")
        elif action.kind == "gloves-off":
            for one in self.world.gloves.known():
                self.world.gloves.put(one, self.position, False)

    def _cover(self, action: Action) -> None:
        neighbour, covered = _thing(action, "neighbour"), self.world.covered
        if isinstance(neighbour, Neighbour):
            covered.put(neighbour, self.position, action.kind == "cover")
        elif action.kind == "uncover":
            for one in covered.known():
                covered.put(one, self.position, False)

    def _park(self, action: Action) -> None:
        vehicle, structure = _thing(action, "vehicle"), _thing(action, "structure")
        if isinstance(vehicle, Vehicle):
            where = structure if isinstance(structure, Structure) else None
            self.world.parked.put(vehicle, self.position, (where,))

    # ---- the line ----

    def _cut(self, action: Action) -> None:
        point = _thing(action, "point")
        world = self.world
        if not isinstance(point, PointRef) or point.structure is None or not isinstance(point.thing, Conductor):
            gap = point if isinstance(point, Gap) else Gap("where the conductor is cut", "cut 212 A", action.span)
            world.network.cut_somewhere(gap, self.position)
            self.vague.add("cut")
            return
        if world.network.is_cut(point.structure, point.thing):
            before = world.cut_at.last(point)
            self.mistake(
                "cut-already-cut",
                f"{point} is already cut{self.since(before)}",
                f"take this step out, or join it first: `join {point}`",
                self.place_of(before, None, f"{point} is cut here"),
            )
            return
        world.network.cut(point.structure, point.thing, self.position)
        world.cut_at.put(point, self.position, self.index)
        world.feed.update(world.states(), self.position)

    def _downed(self, action: Action) -> None:
        """A conductor that is found down may lie on anything: what it touches, and its tests, are open again."""
        self._cut(action)
        point = _thing(action, "point")
        if isinstance(point, PointRef):
            self.world.downed.put(plain(point), self.position, True)
            self.expire(lambda tested: self.world.network.joined(self.position, point, tested, False) is not FALSE)
        else:
            self.expire(lambda _point: True)

    def _string(self, action: Action) -> None:
        """A new conductor brings to this point what it touches along the way: a test of it holds no more."""
        point = _thing(action, "point")
        if isinstance(point, PointRef):
            self.expire(lambda tested: tested == plain(point))
        else:
            self.expire(lambda _point: True)

    def _join(self, action: Action) -> None:
        point = _thing(action, "point")
        world = self.world
        if not isinstance(point, PointRef) or point.structure is None or not isinstance(point.thing, Conductor):
            self.expire(lambda _point: True)
            return
        structure, conductor = point.structure, point.thing
        if not world.network.is_cut(structure, conductor):
            if "cut" not in self.vague:
                self.mistake(
                    "join-not-cut",
                    f"{point} is not cut, so there is nothing to join",
                    f"take this step out, or write `cut {point}` where it is opened",
                    ((conductor.span, f"{conductor} is declared here"),),
                )
            else:  # it may be the one that was cut
                self.expire(lambda tested: self.reached(tested, [point]))
            return
        apart = world.network.through.last((structure, conductor)) != BRIDGED
        world.network.mend(structure, conductor, self.position)
        if world.downed.last(plain(point)):
            world.downed.put(plain(point), self.position, False)
        world.cut_at.put(point, self.position, None)
        world.feed.update(world.states(), self.position)
        if apart:
            self.expire(lambda tested: self.reached(tested, [point]))

    def reached(self, point: PointRef, ends: list[PointRef]) -> bool:
        """Whether something that can be live may now reach a point by way of one of the ends."""
        world = self.world
        return (
            any(world.network.joined(self.position, end, point, False) is not FALSE for end in ends)
            and world.feed.feeding(self.position, point)[0] is not FALSE
        )

    def place_of(self, index: int | None, other: Span | None, words: str) -> tuple[tuple[Span, str], ...]:
        """The line of an earlier step, or another place where there was none."""
        if index is not None:
            return ((self.world.plan.actions[index].span, words),)
        return ((other, words),) if other is not None else ()


__all__ = ["replay"]
