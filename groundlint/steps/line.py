"""The line's conductors: cut, joined, found down, pulled in; cables spiked."""

from __future__ import annotations

from groundlint.language import statements as s
from groundlint.plan.models import Action, Cable, Conductor, PointRef, Structure
from groundlint.steps.kind import Kept, Slot, StepKind, there
from groundlint.steps.run import Run
from groundlint.steps.saying import listed, named, saying
from groundlint.steps.unfolding import Env, Unfolding, each_point
from groundlint.values import Gap
from groundlint.world.network import BRIDGED, plain

POINT = Slot("point", "point")


def _cut(run: Run, action: Action) -> None:
    point, world = action.slots.get("point"), run.world
    if not isinstance(point, PointRef) or point.structure is None or not isinstance(point.thing, Conductor):
        gap = point if isinstance(point, Gap) else Gap("where the conductor is cut", "cut 212 A", action.span)
        world.network.cut_somewhere(gap, run.position)
        run.vague.add("cut")
        return
    if world.network.is_cut(point.structure, point.thing):
        before = world.cut_at.last(point)
        run.mistake(
            "cut-already-cut",
            f"{point} is already cut{run.since(before)}",
            f"take this step out, or join it first: `join {point}`",
            run.place(before, f"{point} is cut here"),
        )
        return
    world.network.cut(point.structure, point.thing, run.position)
    world.cut_at.put(point, run.position, run.index)
    world.feed.update(world.states(), run.position)


def _downed(run: Run, action: Action) -> None:
    """A conductor that is found down may lie on anything: what it touches, and its tests, are open again."""
    _cut(run, action)
    point = action.slots.get("point")
    if isinstance(point, PointRef):
        run.world.downed.put(plain(point), run.position, True)
        run.expire_joined(point)
    else:
        run.expire_all()


def _string(run: Run, action: Action) -> None:
    """A new conductor brings to wherever it hangs what it touches along the way: no test of it holds any more."""
    run.world.pulling.put(run.position, True)
    point = action.slots.get("point")
    if isinstance(point, PointRef):
        run.expire_joined(point)
    else:
        run.expire_all()


def _join(run: Run, action: Action) -> None:
    point, world = action.slots.get("point"), run.world
    if not isinstance(point, PointRef) or point.structure is None or not isinstance(point.thing, Conductor):
        run.expire_all()
        return
    structure, conductor = point.structure, point.thing
    if not world.network.is_cut(structure, conductor):
        if "cut" not in run.vague:
            run.mistake(
                "join-not-cut",
                f"{point} is not cut, so there is nothing to join",
                f"take this step out, or write `cut {point}` where it is opened",
                ((conductor.span, f"{conductor} is declared here"),),
            )
        else:  # it may be the one that was cut
            run.expire_fed(point)
        return
    apart = world.network.through.last((structure, conductor)) != BRIDGED
    world.network.mend(structure, conductor, run.position)
    if world.downed.last(plain(point)):
        world.downed.put(plain(point), run.position, False)
    world.cut_at.put(point, run.position, None)
    world.feed.update(world.states(), run.position)
    if apart:
        run.expire_fed(point)


def _spike(run: Run, action: Action) -> None:
    """A spike is like a test of every phase conductor at its place."""
    world = run.world
    cable, structure = action.slots.get("cable"), action.slots.get("structure")
    for slot in (cable, structure):
        if isinstance(slot, Gap):
            world.unstated_spike.put(run.position, slot)
    if not isinstance(cable, Cable) or not isinstance(structure, Structure):
        return
    before = world.spiked.last((cable, structure))
    if before is not None:
        run.mistake(
            "spike-already-spiked",
            f"cable {cable} is already spiked at {structure}{run.since(before)}",
            f"name another place of {cable} here, or take one of the two steps out",
            run.place(before, f"{cable} is spiked at {structure} here"),
        )
        return
    world.spiked.put((cable, structure), run.position, run.index)
    for phase in world.network.phases:
        run.found(PointRef("conductor", structure, phase), dead=True)


def _each_conductor(to: Unfolding, st: s.Cut | s.Join | s.Downed, env: Env) -> None:
    """One action for each conductor that a statement names; nothing else can be cut, joined or found down."""
    for point in to.names.points(st.points, env):
        if isinstance(point, PointRef) and not isinstance(point.thing, Conductor):
            mend = "name a structure and a conductor, such as `212 A`"
            to.names.refuse("not-a-conductor", st.span, f"{point} is no conductor", mend)
        elif isinstance(st, s.Cut):
            to.put(st.kind, st, point=point, left=st.stays_open)
        else:
            to.put(st.kind, st, point=point)


def _from_spike(to: Unfolding, st: s.Spike, env: Env) -> None:
    at = to.at(st.at, env, "the cable is spiked", st)
    cable = to.names.open_value(st.name, env) or to.names.find(st.name, env, Cable)
    if isinstance(cable, Cable) and isinstance(at, Structure) and at not in cable.ways:
        ways = ", ".join(str(way) for way in cable.ways)
        to.names.refuse(
            "not-on-the-cable",
            (st.at or st.name).span,
            f"cable {cable} does not come by {at}",
            f"name one of {ways}",
            (cable.span, f"{cable} is declared here"),
        )
    elif cable is not None:
        to.put("spike", st, cable=cable, structure=at)


CUT = StepKind(
    name="cut",
    verb="cut",
    meaning="a conductor is cut or opened at a structure",
    made_of={s.Cut: _each_conductor},
    happens=(),
    slots=(POINT, Slot("left", "flag", meaning="it is to stay open")),
    say=lambda group, _: (
        f"Cut {listed(group, 'point')}" + ("; it stays open" if group[0].slots.get("left") is True else "")
    ),
    protects=None,
    does=_cut,
)
JOIN = StepKind(
    name="join",
    verb="join",
    meaning="a conductor is joined at a structure",
    made_of={s.Join: _each_conductor},
    happens=(),
    slots=(POINT,),
    say=saying("Join", "point"),
    protects=None,
    does=_join,
)
DOWNED = StepKind(
    name="downed",
    verb="downed",
    meaning="a conductor is found broken or down at a structure",
    made_of={s.Downed: _each_conductor},
    happens=(),
    slots=(POINT,),
    say=saying("Found down:", "point"),
    protects=None,
    does=_downed,
)
STRING = StepKind(
    name="string",
    verb="string",
    meaning="a new conductor is pulled in at a structure",
    made_of={s.StringIn: each_point},
    happens=(),
    slots=(POINT,),
    say=saying("String", "point"),
    protects=None,
    does=_string,
)
SPIKE = StepKind(
    name="spike",
    verb="spike",
    meaning="a cable is spiked at a place, which shows that it is dead there",
    made_of={s.Spike: _from_spike},
    happens=(),
    slots=(Slot("cable", "cable"), Slot("structure", "structure", "at")),
    say=lambda group, _: f"Spike cable {listed(group, 'cable')} at {named(group[0].slots.get('structure'))}",
    protects=(Kept("spiked", "spiked", there),),
    does=_spike,
)
