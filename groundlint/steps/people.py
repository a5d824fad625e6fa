"""People: where they work, what they can reach, what they wear."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

from groundlint.language import statements as s
from groundlint.plan.models import Action, LooseWire, Person, PointRef, Rubber, Structure
from groundlint.steps.kind import Kept, Say, Slot, StepKind, Words
from groundlint.steps.rubber import GOODS, put, with_rubber
from groundlint.steps.run import Run
from groundlint.steps.saying import listed, named, reach_words, saying, stand_words
from groundlint.steps.unfolding import Env, Unfolding, each
from groundlint.values import Gap
from groundlint.world.network import plain
from groundlint.world.records import Held, Stand

PERSON, WIRE = Slot("person", "person"), Slot("wire", "loose-wire")


def _person(action: Action) -> Person | None:
    person = action.slots.get("person")
    return person if isinstance(person, Person) else None


def _stand(run: Run, action: Action, before: Stand | None) -> Stand:
    slots = tuple(action.slots.get(slot) for slot in ("structure", "stand", "reach"))
    structure, point, reach = slots
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
    stated = (here is not None, on is not None, touch is not None)
    gaps = [value for value, known in zip(slots, stated, strict=True) if isinstance(value, Gap) and not known]
    return Stand(here, on, touch, run.index, tuple(gaps))


def _in_hand(run: Run, person: Person) -> list[LooseWire]:
    """The loose wires that somebody has in hand."""
    held = run.world.held
    return [wire for wire in held.known() if (now := held.last(wire)) is not None and now.person is person]


def _with_wires(run: Run, person: Person, stand: Stand) -> Stand:
    """What a loose wire in hand touches is in reach of who holds it."""
    for wire in _in_hand(run, person):
        touched = run.world.held.last(wire)
        if touched is not None and stand.reach is not None:
            new = tuple(point for point in touched.touching if point not in stand.reach)
            stand = stand._replace(reach=(*stand.reach, *new))
    return stand


def _empty_handed(run: Run, person: Person) -> Stand | None:
    """Where somebody is, with what is in reach without a wire in hand."""
    stand = run.world.stands.last(person)
    return None if stand is None else stand._replace(reach=run.empty_handed.get(person))


def _put_in_place(run: Run, person: Person, stand: Stand | None) -> None:
    world = run.world
    run.empty_handed[person] = stand.reach if stand is not None else None
    stand = _with_wires(run, person, stand) if stand is not None else None
    world.stands.put(person, run.position, stand)
    people = tuple(p for p in world.people.last or () if p is not person)
    world.people.put(run.position, (*people, person) if stand is not None else people)


def _enter(run: Run, action: Action) -> None:
    person = _person(action)
    if person is None:
        run.vague.add("enter")
        return
    before = run.world.stands.last(person)
    if before is not None:
        where = f" at {before.structure}" if before.structure is not None else ""
        run.mistake(
            "enter-twice",
            f"{person} is already in place{where}{run.since(before.index)}",
            f"write `move {person} ...` for another place, or `leave {person}` before this step",
            run.place(before.index, f"{person} takes up a place here"),
        )
    _put_in_place(run, person, _stand(run, action, None))


def _move(run: Run, action: Action) -> None:
    person = _person(action)
    if person is None:
        run.vague.add("enter")
        return
    before = _empty_handed(run, person)
    if before is None:
        _absent(run, person, "move-not-in-place", "moves")
    _put_in_place(run, person, _stand(run, action, before))
    run.left.pop(person, None)


def _leave(run: Run, action: Action) -> None:
    person = _person(action)
    if person is None:
        return
    if run.world.stands.last(person) is None:
        _absent(run, person, "leave-not-in-place", "leaves")
        return
    _put_in_place(run, person, None)
    for wire in _in_hand(run, person):
        run.world.held.put(wire, run.position, None)
    run.left[person] = run.index


def _absent(run: Run, person: Person, code: str, does: str) -> None:
    """Somebody moves or leaves who is not in place, unless somebody whom a step does not name may be."""
    if "enter" in run.vague:
        return
    left = run.left.get(person)
    related = run.place(left, f"{person} leaves here" if left is not None else f"{person}", person.span)
    mend = f"write `enter {person} at ...` where {person} takes up the place"
    run.mistake(code, f"{person} {does} without being in place{run.since(left, 'left on')}", mend, related)


def _gloves_on(run: Run, action: Action) -> None:
    person = _person(action)
    if person is not None:
        run.world.gloves.put(person, run.position, True)
        put(run, person, action)


def _gloves_off(run: Run, action: Action) -> None:
    person, gloves = _person(action), run.world.gloves
    for one in gloves.known() if person is None else (person,):
        gloves.put(one, run.position, False)


def _handle(run: Run, action: Action) -> None:
    person, wire, touching = _person(action), action.slots.get("wire"), action.slots.get("touching")
    if person is None or not isinstance(wire, LooseWire):
        return
    stand = _empty_handed(run, person)
    if stand is None:
        _absent(run, person, "handle-not-in-place", f"handles {wire}")
        return
    points = touching if isinstance(touching, tuple) else (touching,)
    touched = tuple(
        plain(one) if isinstance(one, PointRef) else one for one in points if isinstance(one, PointRef | Gap)
    )
    run.world.held.put(wire, run.position, Held(person, touched))
    _put_in_place(run, person, stand)


def _stow(run: Run, action: Action) -> None:
    wire, held = action.slots.get("wire"), run.world.held
    if not isinstance(wire, LooseWire):
        return
    before = held.last(wire)
    if before is None:
        run.mistake(
            "stow-not-held",
            f"{wire} is in nobody's hand",
            f"take this step out, or write `handle {wire} by ...` where it is taken in hand",
            ((wire.span, f"{wire} is declared here"),),
        )
        return
    held.put(wire, run.position, None)
    _put_in_place(run, before.person, _empty_handed(run, before.person))


def _going(one: str, several: str) -> Say:
    def say(group: Sequence[Action], _words: Words) -> str:
        slots = group[0].slots
        goes = f"{listed(group, 'person')} {one if len(group) == 1 else several} {named(slots.get('structure'))}"
        return f"{goes}, {stand_words(slots.get('stand'))}; within reach: {reach_words(slots.get('reach'))}"

    return say


def _say_leave(group: Sequence[Action], _words: Words) -> str:
    return f"{listed(group, 'person')} {'leaves' if len(group) == 1 else 'leave'} the place of work"


def _place(preposition: str) -> tuple[Slot, ...]:
    return (
        PERSON,
        Slot("structure", "structure", preposition),
        Slot("stand", "point", "on"),
        Slot("reach", "point", many=True),
    )


def _from_enter(to: Unfolding, st: s.Enter | s.Move, env: Env) -> None:
    for person in cast("list[Person]", to.things(st.names, env, Person)):
        before = to.where.get(person, {}) if isinstance(st, s.Move) else {}
        place = (st.to or st.at) if isinstance(st, s.Move) else st.at
        structure = to.at(place, env, f"{person} is", st) if place is not None or not before else before["structure"]
        here = structure if isinstance(structure, Structure | Gap) else None
        stand: object = before.get("stand") if here is before.get("structure") and before else None
        if st.stand is not None:
            stand = to.names.point(st.stand, env, here)
        elif stand is None:
            stand = Gap(f"what {person} stands on", "on the pole", st.span)
        reach: object = None
        if st.reaching is not None:
            reach = tuple(to.names.points(st.reaching, env, here))
        elif before and here is before.get("structure"):
            reach = before.get("reach")
        if reach is None:
            reach = Gap(f"what {person} can reach", "reaching A B C and the pole", st.span)
        slots = {"person": person, "structure": structure, "stand": stand, "reach": reach}
        to.where[person] = slots
        to.put(st.kind, st, **slots)


def _from_leave(to: Unfolding, st: s.Leave, env: Env) -> None:
    people = list(to.where) if st.all else to.things(st.people or (), env, Person)
    for person in people:
        to.where.pop(cast(Person, person), None)
        to.put("leave", st, person=person)


def _from_gloves(to: Unfolding, st: s.Gloves, env: Env) -> None:
    for person in to.things(st.names, env, Person):
        goods = {"goods": tuple(to.things(st.goods, env, Rubber))} if st.state == "on" else {}
        to.put(f"gloves-{st.state}", st, person=person, **goods)


def _from_handle(to: Unfolding, st: s.Handle, env: Env) -> None:
    for wire in to.things(st.names, env, LooseWire):
        person = to.holder(st.by, env, f"who handles {wire}", st)
        here = to.where.get(person, {}).get("structure") if isinstance(person, Person) else None
        touching: object = Gap(f"what {wire} touches", "touching A", st.span)
        if st.touching is not None:
            where = here if isinstance(here, Structure | Gap) else None
            touching = tuple(to.names.points(st.touching, env, where))
        to.put("handle", st, wire=wire, person=person, touching=touching)


def _say_handle(group: Sequence[Action], _words: Words) -> str:
    first = group[0]
    who = first.slots.get("person")
    by = f"{who} takes" if isinstance(who, Person) else "Take"
    return f"{by} {listed(group, 'wire')} in hand; it touches {reach_words(first.slots.get('touching'))}"


ENTER = StepKind(
    name="enter",
    verb="enter",
    meaning="a person takes up a place of work",
    made_of={s.Enter: _from_enter},
    happens=("takes-place", "comes-into-reach"),
    slots=_place("at"),
    say=_going("goes to work at", "go to work at"),
    protects=None,
    does=_enter,
)
MOVE = StepKind(
    name="move",
    verb="move",
    meaning="a person in place changes stand or reach",
    made_of={s.Move: _from_enter},
    happens=("takes-place", "leaves-place", "comes-into-reach", "goes-out-of-reach"),
    slots=_place("to"),
    say=_going("moves to", "move to"),
    protects=None,
    does=_move,
)
LEAVE = StepKind(
    name="leave",
    verb="leave",
    meaning="a person leaves the place of work",
    made_of={s.Leave: _from_leave},
    happens=("leaves-place", "goes-out-of-reach"),
    slots=(PERSON,),
    say=_say_leave,
    protects=None,
    does=_leave,
)
GLOVES_ON = StepKind(
    name="gloves-on",
    verb="gloves on",
    meaning="a person puts rubber gloves on",
    made_of={s.Gloves: _from_gloves},
    happens=("gloved",),
    slots=(PERSON, GOODS),
    say=lambda group, _: f"Rubber gloves on: {listed(group, 'person')}{with_rubber(group[0])}",
    protects=(Kept("gloves", "in rubber gloves", bool),),
    does=_gloves_on,
)
GLOVES_OFF = StepKind(
    name="gloves-off",
    verb="gloves off",
    meaning="a person takes rubber gloves off",
    made_of={s.Gloves: _from_gloves},
    happens=("ungloved",),
    slots=(PERSON,),
    say=saying("Rubber gloves off:", "person"),
    protects=None,
    does=_gloves_off,
)
HANDLE = StepKind(
    name="handle",
    verb="handle",
    meaning="a person in place takes a loose wire in hand",
    made_of={s.Handle: _from_handle},
    happens=("comes-into-reach",),
    slots=(WIRE, Slot("person", "person", "by"), Slot("touching", "point", many=True)),
    say=_say_handle,
    protects=None,
    does=_handle,
)
STOW = StepKind(
    name="stow",
    verb="stow",
    meaning="a loose wire is put down or made fast",
    made_of={s.Stow: each("wire", LooseWire)},
    happens=("goes-out-of-reach",),
    slots=(WIRE,),
    say=saying("Put down or make fast:", "wire"),
    protects=(),
    does=_stow,
)
