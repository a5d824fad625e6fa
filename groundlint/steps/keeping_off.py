"""What keeps people off: barricades, and covers on live neighbours."""

from __future__ import annotations

from collections.abc import Sequence

from groundlint.language import statements as s
from groundlint.plan.models import Action, Neighbour, Person, Rubber, Stick, Thing
from groundlint.steps.equipment import number
from groundlint.steps.kind import BY_STICK, Kept, Slot, StepKind, Words, there
from groundlint.steps.rubber import GOODS, put, with_rubber
from groundlint.steps.run import Run
from groundlint.steps.saying import NOT_STATED, by_means, does_it, listed, saying
from groundlint.steps.unfolding import Env, Unfolding, each
from groundlint.values import Gap
from groundlint.world.records import Barricade

THING, NEIGHBOUR = Slot("thing", "thing"), Slot("neighbour", "neighbour")
OPERATOR = Slot("operator", "person", "by", optional=True)


def _barricade(run: Run, action: Action) -> None:
    thing = action.slots.get("thing")
    if isinstance(thing, Thing):
        barricade = Barricade(number(action.slots.get("distance")), run.index)
        run.world.barricades.put(thing, run.position, barricade)
    else:
        run.vague.add("barricade")


def _unbarricade(run: Run, action: Action) -> None:
    thing, barricades = action.slots.get("thing"), run.world.barricades
    if not isinstance(thing, Thing):
        for one in barricades.known():
            barricades.put(one, run.position, None)
        return
    if barricades.last(thing) is None and thing not in run.world.left_standing and "barricade" not in run.vague:
        run.mistake(
            "unbarricade-not-barricaded",
            f"{thing} has no barricade to take down",
            f"take this step out, or write `barricade {thing}` where the barricade goes up",
            ((thing.span, f"{thing} is declared here"),),
        )
    barricades.put(thing, run.position, None)
    run.world.left_standing.discard(thing)


def _cover(run: Run, action: Action) -> None:
    neighbour = action.slots.get("neighbour")
    if isinstance(neighbour, Neighbour):
        run.world.covered.put(neighbour, run.position, True)
        put(run, neighbour, action)


def _uncover(run: Run, action: Action) -> None:
    neighbour, covered = action.slots.get("neighbour"), run.world.covered
    some = (neighbour,) if isinstance(neighbour, Neighbour) else filter(covered.last, covered.known())
    for one in some:
        covered.put(one, run.position, False)


def _say_barricade(group: Sequence[Action], words: Words) -> str:
    distance = group[0].slots.get("distance")
    stated = number(distance) is not None
    away = f"{words.length(distance, group[0].span)} away" if stated else f"away, distance {NOT_STATED}"
    return f"Barricade {listed(group, 'thing')}: keep people {away}"


def _from_barricade(to: Unfolding, st: s.Barricade, env: Env) -> None:
    distance = to.length(st.distance, "how far off the barricade keeps people", "at 10 ft", st)
    for thing in to.things(st.names, env):
        to.put("barricade", st, thing=thing, distance=distance)


def _by(to: Unfolding, st: s.Cover | s.Uncover, near: Thing, env: Env) -> dict[str, object]:
    """The stick, or who does it by hand; who does it is not known where neither is named."""
    found = None if st.by is None else to.names.find(st.by, env, Person, Stick)
    if found is None:
        where = st.span if st.by is None else st.by.span
        return {"stick": Gap(f"who {st.kind}s {near}, or by which stick", "by L1", where)}
    return {"stick": found} if isinstance(found, Stick) else {"stick": None, "operator": found}


def _from_cover(to: Unfolding, st: s.Cover, env: Env) -> None:
    for neighbour in to.things(st.names, env, Neighbour):
        by = _by(to, st, neighbour, env)
        where = {"structure": to.at(st.at, env, f"{neighbour} is covered", st)} if st.at is not None else {}
        to.put("cover", st, neighbour=neighbour, **where, goods=tuple(to.things(st.goods, env, Rubber)), **by)


def _from_uncover(to: Unfolding, st: s.Uncover, env: Env) -> None:
    for neighbour in to.things(st.names, env, Neighbour):
        to.put("uncover", st, neighbour=neighbour, **_by(to, st, neighbour, env))


def _say_by(action: Action) -> str:
    return by_means(action) if isinstance(action.slots.get("stick"), Stick) else does_it(action)


BARRICADE = StepKind(
    name="barricade",
    verb="barricade",
    meaning="people are kept away from a thing",
    made_of={s.Barricade: _from_barricade},
    happens=("barricade-goes-up",),
    slots=(THING, Slot("distance", "length")),
    say=_say_barricade,
    protects=(Kept("barricades", "barricaded", there),),
    does=_barricade,
)
UNBARRICADE = StepKind(
    name="unbarricade",
    verb="unbarricade",
    meaning="a barricade comes down",
    made_of={s.Unbarricade: each("thing")},
    happens=("barricade-comes-down",),
    slots=(THING,),
    say=saying("Take the barricade down at", "thing"),
    protects=None,
    does=_unbarricade,
)
COVER = StepKind(
    name="cover",
    verb="cover",
    meaning="a live neighbour is covered",
    made_of={s.Cover: _from_cover},
    happens=("cover-goes-on",),
    slots=(NEIGHBOUR, Slot("structure", "structure", "at", optional=True), GOODS, BY_STICK, OPERATOR),
    say=lambda group, _: f"Cover {listed(group, 'neighbour')}{with_rubber(group[0])}{_say_by(group[0])}",
    protects=(Kept("covered", "covered", bool),),
    does=_cover,
)
UNCOVER = StepKind(
    name="uncover",
    verb="uncover",
    meaning="the cover of a live neighbour comes off",
    made_of={s.Uncover: _from_uncover},
    happens=("cover-comes-off",),
    slots=(NEIGHBOUR, BY_STICK, OPERATOR),
    say=lambda group, _: f"Take the cover off {listed(group, 'neighbour')}{_say_by(group[0])}",
    protects=None,
    does=_uncover,
)
