"""From the steps of a plan to its primitive actions: names filled in, routines unfolded and undone."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple, cast

from groundlint.language import statements as s
from groundlint.plan.cables import spike_slots
from groundlint.plan.declare import Declarations
from groundlint.plan.models import (
    Action,
    Away,
    Bar,
    Capacitor,
    Conductor,
    Detector,
    Equipment,
    Lead,
    Mat,
    Neighbour,
    Person,
    PointRef,
    Rod,
    Structure,
    SupplySource,
    Switch,
    Tester,
    Thing,
    Vehicle,
)
from groundlint.plan.names import PARAM_CLASSES, Names, point_words
from groundlint.reading.steps import MAX_ACTIONS, Env, Steps
from groundlint.steps.clearance import BY_STATE
from groundlint.text import Span
from groundlint.values import Gap

MAX_DEPTH = 8
"""Routines within routines."""


class Done(NamedTuple):
    """A routine that was done: with which names, and what it put on."""

    routine: str
    names: tuple[str, ...]
    actions: tuple[Action, ...]
    span: Span


class Unfolder(Steps):
    """Walks the steps in order and gathers actions."""

    def __init__(self, names: Names, declared: Declarations, routines: Mapping[str, s.Routine]) -> None:
        super().__init__(names, declared)
        self.routines = routines
        self._done: list[Done] = []
        self._depth: list[str] = []
        self._where: dict[Person, dict[str, object]] = {}
        self._steps: dict[type[s.Step], Callable[[Any, Env], None]] = {
            cls: getattr(self, f"_{name}") for cls, name in HANDLERS.items()
        }

    # ------------------------------------------------------------- walking
    def step(self, st: s.Step, env: Env) -> None:
        """Carries one statement over into actions."""
        if not self._full:
            self._steps[type(st)](st, env)

    # ------------------------------------------------------------- isolation and people
    def _brief(self, st: s.Brief, env: Env) -> None:
        people = (
            [t for t in self.declared.order if isinstance(t, Person)]
            if st.all
            else self._things(st.people or (), env, Person)
        )
        for person in people:
            self._put("brief", st, person=person)

    def _open(self, st: s.Open, env: Env) -> None:
        for switch in self._things(st.names, env, Switch):
            who = self._holder(st.by, env, f"who opens {switch}", st)
            said = {slot: getattr(st, slot) for slot in ("seen", "in_sight", "in_reach", "one_crew")}
            self._put("open", st, switch=switch, operator=who, **said, sole=self._person(st.sole, env))
            if st.lock_it:
                self._put("lock", st, switch=switch)
            if st.tag_it:
                self._put("tag", st, switch=switch)

    def _close(self, st: s.Close, env: Env) -> None:
        for switch in self._things(st.names, env, Switch):
            self._put(
                "close",
                st,
                switch=switch,
                operator=self._holder(st.by, env, f"who closes {switch}", st),
                crew=self._crew(st.by, env),
            )

    def _switches(self, st: s.Tag | s.Lock | s.Untag | s.Verify, env: Env) -> None:
        for switch in self._things(st.names, env, Switch):
            self._put(st.kind, st, switch=switch)

    def _blocking(self, st: s.Block | s.Unblock, env: Env) -> None:
        for thing in self._things(st.names, env, SupplySource, Switch):
            for source in (thing,) if isinstance(thing, SupplySource) else cast(Switch, thing).sources:
                self._put(st.kind, st, source=source)

    def _clearance(self, st: s.Clearance, env: Env) -> None:
        line = self.declared.line
        if st.name is not None and (line is None or env.get(st.name, str(st.name)) != line.name):
            mend = f"write {line.name}" if line else "declare the line"
            self.names.refuse("undeclared-name", st.name.span, f"{st.name} is not the line of this plan", mend)
        kind = BY_STATE[str(st.state)].name
        slots: dict[str, object] = {"holder": self._holder(st.by, env, "who holds the clearance", st)}
        if kind != "request":
            slots["crew"] = self._crew(st.by, env)
        if kind == "transfer":
            slots["taker"] = self._holder(st.to, env, "who takes the clearance over", st, "to L2")
            slots["taker_crew"] = self._crew(st.to, env)
            slots |= {"operator_told": st.operator_told, "crew_told": st.crew_told}
        self._put(kind, st, **slots)

    def _gloves(self, st: s.Gloves, env: Env) -> None:
        for person in self._things(st.names, env, Person):
            self._put(f"gloves-{st.state}", st, person=person)

    def _enter(self, st: s.Enter | s.Move, env: Env) -> None:
        for person in cast("list[Person]", self._things(st.names, env, Person)):
            before = self._where.get(person, {}) if isinstance(st, s.Move) else {}
            place = (st.to or st.at) if isinstance(st, s.Move) else st.at
            structure = (
                self._at(place, env, f"{person} is", st) if place is not None or not before else before["structure"]
            )
            here = structure if isinstance(structure, Structure) else None
            stand: object = before.get("stand") if here is before.get("structure") and before else None
            if st.stand is not None:
                stand = self.names.point(st.stand, env, here)
            elif stand is None:
                stand = Gap(f"what {person} stands on", "on the pole", st.span)
            reach: object = None
            if st.reaching is not None:
                reach = tuple(self.names.points(st.reaching, env, here))
            elif before and here is before.get("structure"):
                reach = before.get("reach")
            if reach is None:
                reach = Gap(f"what {person} can reach", "reaching A B C and the pole", st.span)
            slots = {"person": person, "structure": structure, "stand": stand, "reach": reach}
            self._where[person] = slots
            self._put(st.kind, st, **slots)

    def _leave(self, st: s.Leave, env: Env) -> None:
        people = list(self._where) if st.all else self._things(st.people or (), env, Person)
        for person in people:
            self._where.pop(cast(Person, person), None)
            self._put("leave", st, person=person)

    def _work(self, st: s.Work, env: Env) -> None:
        structure = self._at(st.at, env, "the work is", st) if st.at is not None else None
        here = structure if isinstance(structure, Structure) else self._one_place()
        touch = tuple(self.names.points(st.touching, env, here)) if st.touching is not None else None
        who = self._person(st.by, env)
        self._put("work", st, operator=who, structure=structure, touch=touch, text=str(st.text))

    def _one_place(self) -> Structure | None:
        """Where everybody is who is in place; None where they are not all at one structure."""
        places = {place for slots in self._where.values() if isinstance(place := slots["structure"], Structure)}
        return places.pop() if len(places) == 1 else None

    # ------------------------------------------------------------- testing and equipment
    def _inspect(self, st: s.Inspect, env: Env) -> None:
        for item in self._things(st.names, env, Equipment, Mat):
            self._put("inspect", st, item=item)

    def _prove(self, st: s.Prove, env: Env) -> None:
        detector = self.names.find(st.name, env, Detector)
        if detector is None:
            return
        tester: object = None
        live: object = None
        if st.on is not None:
            tester = self.names.find(st.on, env, Tester) or Gap(f"on what {detector} is proven", "on T1", st.on.span)
        elif st.on_live is not None:
            live = self.names.point(st.on_live, env)
        else:
            tester = Gap(f"on what {detector} is proven", "on T1", st.span)
        self._put("prove", st, detector=detector, tester=tester, live=live)

    def _test(self, st: s.Test, env: Env) -> None:
        detector: object = self.names.find(st.with_, env, Detector) if st.with_ else None
        if detector is None and not st.improvised:
            detector = Gap("which detector tests", "with D1", st.span)
        stick = self._stick(st.on_stick, st.by_hand, env, "the test is", st)
        result = str(st.result) if st.result else "dead"
        for point in self.names.points(st.points, env):
            self._put("test", st, point=point, detector=detector, stick=stick, result=result, improvised=st.improvised)

    def _points(self, st: s.Clean | s.Join | s.Downed | s.StringIn, env: Env) -> None:
        for point in self.names.points(st.points, env):
            self._put(st.kind, st, point=point)

    def _cut(self, st: s.Cut, env: Env) -> None:
        for point in self.names.points(st.points, env):
            self._put("cut", st, point=point, left=st.stays_open)

    def _park(self, st: s.Park, env: Env) -> None:
        for vehicle in self._things(st.names, env, Vehicle):
            self._put("park", st, vehicle=vehicle, structure=self._at(st.at, env, f"{vehicle} stands", st))

    def _certify(self, st: s.Certify, env: Env) -> None:
        where = self._at(st.at, env, f"the {st.certified} signed for are", st)
        who = self._holder(st.by, env, "who signs", st)
        self._put("certify", st, structure=where, operator=who, certified=str(st.certified))

    def _shock(self, st: s.Shock, env: Env) -> None:
        for person in self._things(st.names, env, Person):
            self._put("shock", st, person=person)

    def _set(self, st: s.Set, env: Env) -> None:
        for rod in self._things(st.names, env, Rod):
            self._put(
                "set",
                st,
                rod=rod,
                structure=self._at(st.at, env, f"{rod} is set", st),
                distance=self._length(st.from_pole, f"how far from the structure {rod} is", "16 ft from the pole", st),
                depth=self._length(st.deep, f"how deep {rod} is", "6 ft deep", st),
                away=tuple(self._away(rod, st, env)),
            )

    def _away(self, rod: Thing, st: s.Set, env: Env) -> Iterator[Away]:
        """How far the rod is from others, as far as stated."""
        for one in st.from_rod:
            other, distance = (
                self.names.find(one.rod, env, Rod, Structure),
                self.declared.amount(one.distance, "length"),
            )
            if other is rod:
                self.names.refuse(
                    "from-itself", one.rod.span, f"{rod} is at no distance from itself", "name another rod"
                )
            elif isinstance(other, Structure):
                write = f"write `{one.distance} from the pole`"
                self.names.refuse("wrong-kind", one.rod.span, f"{other} is a structure; a rod belongs here", write)
            elif isinstance(other, Rod) and distance is not None:
                yield Away(other, distance)

    def _barricade(self, st: s.Barricade, env: Env) -> None:
        distance = self._length(st.distance, "how far off the barricade keeps people", "at 10 ft", st)
        for thing in self._things(st.names, env):
            self._put("barricade", st, thing=thing, distance=distance)

    def _unbarricade(self, st: s.Unbarricade, env: Env) -> None:
        for thing in self._things(st.names, env):
            self._put("unbarricade", st, thing=thing)

    def _mount(self, st: s.Mount, env: Env) -> None:
        bar = self.names.find(st.name, env, Bar)
        if bar is None:
            return
        height: object = (
            str(st.height).replace(" ", "-")
            if st.height
            else Gap(f"at what height {bar} is", "below the feet", st.span)
        )
        conductor = self.names.find(st.height_of, env, Conductor) if st.height_of else None
        self._put(
            "mount",
            st,
            bar=bar,
            structure=self._at(st.at, env, f"{bar} is mounted", st),
            height=height,
            conductor=conductor,
        )

    def _dismount(self, st: s.Dismount, env: Env) -> None:
        for bar in self._things(st.names, env, Bar):
            self._put("dismount", st, bar=bar)

    # ------------------------------------------------------------- leads and bonds
    def _ends(self, st: s.Attach | s.Detach, env: Env) -> None:
        lead = self.names.find(st.name, env, Lead)
        if lead is None:
            return
        goes = "goes on" if isinstance(st, s.Attach) else "comes off"
        places = tuple(end.span for end in st.ends) if len(st.ends) == 2 else ()
        for end in st.ends:
            point = self.names.point(end.point, env)
            stick = self._stick(end.by, end.by_hand, env, f"{lead} {goes} {point_words(point)}", st)
            self._add(st.kind, st, {"lead": lead, "point": point, "stick": stick}, places)

    def _lift(self, st: s.Lift, env: Env) -> None:
        lead = self.names.find(st.name, env, Lead)
        if lead is None:
            return
        self._put(
            "lift",
            st,
            lead=lead,
            point=self.names.point(st.point, env),
            stick=self._stick(st.on_stick, st.by_hand, env, f"{lead} is lifted", st),
            protection=str(st.protected)
            if st.protected
            else Gap(f"what protects people while {lead} is lifted", 'protected by "..."', st.span),
            purpose=str(st.purpose) if st.purpose else None,
        )

    def _restore(self, st: s.Restore, env: Env) -> None:
        lead = self.names.find(st.name, env, Lead)
        if lead is not None:
            stick = self._stick(st.on_stick, st.by_hand, env, f"{lead} is put back", st)
            self._put("restore", st, lead=lead, point=self.names.point(st.point, env), stick=stick)

    def _bond(self, st: s.Bond, env: Env) -> None:
        lead = (
            self.names.find(st.with_, env, Lead)
            if st.with_
            else Gap("with which lead the bond is made", "with G1", st.span)
        )
        first, second = self.names.point(st.first, env), self.names.point(st.second, env)
        self._put(
            "bond",
            st,
            first=first,
            second=second,
            lead=lead,
            across=False,
            stick=self._stick(st.on_stick, st.by_hand, env, "the bond is made", st),
        )

    def _bond_across(self, st: s.BondAcross, env: Env) -> None:
        lead = (
            self.names.find(st.with_, env, Lead)
            if st.with_
            else Gap("with which lead the opening is bridged", "with G1", st.span)
        )
        point = self.names.point(st.point, env)
        if isinstance(point, PointRef) and point.sort != "conductor":
            self.names.refuse(
                "not-a-conductor",
                st.point.span,
                f"{point} is no conductor that could be open",
                "name a structure and a conductor",
            )
            return
        far = PointRef("far side", point.structure, point.thing) if isinstance(point, PointRef) else point
        self._put(
            "bond",
            st,
            first=point,
            second=far,
            lead=lead,
            across=True,
            stick=self._stick(st.on_stick, st.by_hand, env, "the bond is made", st),
        )

    def _unbond(self, st: s.Unbond, env: Env) -> None:
        self._put(
            "unbond",
            st,
            first=self.names.point(st.point, env),
            stick=self._stick(st.on_stick, st.by_hand, env, "the bond is taken off", st),
        )

    # ------------------------------------------------------------- neighbours and words
    def _cover(self, st: s.Cover | s.Uncover, env: Env) -> None:
        for neighbour in self._things(st.names, env, Neighbour):
            at = st.at if isinstance(st, s.Cover) else None
            where = {"structure": self._at(at, env, f"{neighbour} is covered", st)} if at is not None else {}
            self._put(st.kind, st, neighbour=neighbour, **where)

    def _hold(self, st: s.Hold | s.Note | s.Replan, _env: Env) -> None:
        self._put(st.kind, st, text=str(st.text))

    def _wait(self, st: s.Wait, _env: Env) -> None:
        value = self.declared.amount(st.amount, "time")
        self._put("wait", st, time=value if value is not None else Gap("how long the wait is", "5 min", st.span))

    def _pull(self, st: s.Pull, env: Env) -> None:
        for name in self.names.expand(st.names):
            rod = self.names.open_value(name, env) or self.names.find(name, env, Rod)
            if rod is not None:
                self._put("pull", st, rod=rod)

    def _pause(self, st: s.Pause, _env: Env) -> None:
        value = self.declared.amount(st.amount, "time")
        time = value if value is not None else Gap("how long the pause is", "pause 14 h overnight", st.span)
        why = str(st.purpose) if st.purpose else str(st.spell).removeprefix("for ") if st.spell else None
        self._put("pause", st, time=time, text=why)

    def _capacitors(self, st: s.Disconnect | s.Discharge, env: Env) -> None:
        for name in self.names.expand(st.names):
            capacitor = self.names.open_value(name, env) or self.names.find(name, env, Capacitor)
            if capacitor is None:
                continue
            slots: dict[str, object] = {"capacitor": capacitor}
            if isinstance(st, s.Discharge):
                what = f"{name if isinstance(capacitor, Gap) else capacitor} is discharged"
                slots["stick"] = self._stick(st.on_stick, st.by_hand, env, what, st)
            self._add(st.kind, st, slots)

    def _spike(self, st: s.Spike, env: Env) -> None:
        slots = spike_slots(self.names, st, env, self._at(st.at, env, "the cable is spiked", st))
        if slots is not None:
            self._add("spike", st, slots)

    # ------------------------------------------------------------- routines
    def _do(self, st: s.Do | s.Repeat, env: Env) -> None:
        name = str(st.ident)
        routine = self.routines.get(name)
        if routine is None:
            from difflib import get_close_matches

            near = get_close_matches(name, list(self.routines), n=1)
            self.names.refuse(
                "undeclared-routine",
                st.ident.span,
                f"no routine is named {name}",
                f"did you mean {near[0]}?" if near else "write the routine",
            )
            return
        if name in self._depth:
            self.names.refuse(
                "routine-does-itself",
                st.ident.span,
                f"routine {name} does itself",
                "take this step out of the routine",
                (routine.span, f"routine {name}"),
            )
            return
        if len(self._depth) >= MAX_DEPTH:
            self.names.refuse(
                "routines-too-deep",
                st.span,
                f"routines within routines go {MAX_DEPTH} deep at most",
                "write the steps out",
            )
            return
        bound = self._bind(st, routine, env)
        if bound is None:
            return
        start = len(self.actions)
        outer = self.use
        self.use = outer or st.span
        self._depth.append(name)
        for inner in routine.body:
            self.step(inner, bound)
        self._depth.pop()
        self.use = outer
        self._done.append(Done(name, tuple(bound.values()), tuple(self.actions[start:]), st.span))

    def _bind(self, st: s.Do | s.Repeat, routine: s.Routine, env: Env) -> dict[str, str] | None:
        params = [(str(name), str(param.sort)) for param in routine.params for name in self.names.expand(param.names)]
        args = list(self.names.expand(st.names or ()))
        if len(args) != len(params):
            self.names.refuse(
                "wrong-number-of-names",
                st.span,
                f"routine {routine.ident} takes {len(params)} names and is given {len(args)}",
                "give " + (" ".join(f"{sort} {name}," for name, sort in params).rstrip(",") or "none"),
                (routine.span, f"routine {routine.ident}"),
            )
            return None
        bound: dict[str, str] = {}
        for (param, sort), arg in zip(params, args, strict=True):
            thing = self.names.find(arg, env, PARAM_CLASSES.get(sort, Thing))
            if thing is None and self.names.open_value(arg, env) is None:
                return None
            bound[param] = env.get(arg, str(arg))
        return bound

    def _undo(self, st: s.Undo, env: Env) -> None:
        name = str(st.ident)
        if name not in self.routines:
            self.names.refuse("undeclared-routine", st.ident.span, f"no routine is named {name}", "write the routine")
            return
        where = env.get(st.at, str(st.at)) if st.at is not None else None
        if where is not None and self.names.find(st.at, env) is None:  # type: ignore[arg-type]
            return
        for done in reversed(self._done):
            if done.routine == name and (where is None or where in done.names):
                break
        else:
            at = f" at {where}" if where else ""
            self.names.refuse(
                "undo-not-done",
                st.span,
                f"routine {name} was not done{at}, or is undone already",
                "name a place where it was done",
            )
            return
        self._done.remove(done)
        outer = self.use
        self.use = outer or st.span
        bonded = [action.slots["first"] for action in done.actions if action.kind == "bond"]
        for action in reversed(done.actions):
            slots = action.slots
            if action.kind == "attach":
                self._again(action, "detach", dict(slots))
            elif action.kind == "bond" and isinstance(slots["lead"], Lead):
                # `unbond` would take every bond off the point, and others may be on it
                for end in ("first", "second"):
                    off = {"lead": slots["lead"], "point": slots[end], "stick": slots["stick"]}
                    self._again(action, "detach", off)
            elif action.kind == "bond":
                end = "second" if bonded.count(slots["first"]) > 1 else "first"
                self._again(action, "unbond", {"first": slots[end], "stick": slots["stick"]})
        self.use = outer

    def _again(self, action: Action, kind: str, slots: dict[str, object]) -> None:
        if len(self.actions) < MAX_ACTIONS:
            self.actions.append(Action(kind, slots, action.span, self.number, self.stage, self.use))


HANDLERS: dict[type[s.Step], str] = {
    s.Brief: "brief",
    s.Open: "open",
    s.Close: "close",
    s.Tag: "switches",
    s.Lock: "switches",
    s.Untag: "switches",
    s.Verify: "switches",
    s.Block: "blocking",
    s.Unblock: "blocking",
    s.Clearance: "clearance",
    s.Inspect: "inspect",
    s.Prove: "prove",
    s.Test: "test",
    s.Clean: "points",
    s.Set: "set",
    s.Barricade: "barricade",
    s.Unbarricade: "unbarricade",
    s.Mount: "mount",
    s.Dismount: "dismount",
    s.Attach: "ends",
    s.Detach: "ends",
    s.Bond: "bond",
    s.BondAcross: "bond_across",
    s.Unbond: "unbond",
    s.Enter: "enter",
    s.Move: "enter",
    s.Leave: "leave",
    s.Work: "work",
    s.Cut: "cut",
    s.Downed: "points",
    s.StringIn: "points",
    s.Park: "park",
    s.Certify: "certify",
    s.Shock: "shock",
    s.Replan: "hold",
    s.Disconnect: "capacitors",
    s.Discharge: "capacitors",
    s.Spike: "spike",
    s.Join: "points",
    s.Lift: "lift",
    s.Restore: "restore",
    s.Hold: "hold",
    s.Cover: "cover",
    s.Uncover: "cover",
    s.Gloves: "gloves",
    s.Wait: "wait",
    s.Pull: "pull",
    s.Pause: "pause",
    s.Do: "do",
    s.Repeat: "do",
    s.Undo: "undo",
    s.Note: "hold",
}
