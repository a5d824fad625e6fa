"""Equipment: looked over, rods driven, cluster bars put on structures, vehicles in their places."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from groundlint.language import statements as s
from groundlint.plan.models import (
    Action,
    Away,
    Bar,
    Conductor,
    Equipment,
    Lead,
    Mat,
    PointRef,
    Rod,
    Structure,
    Thing,
    Vehicle,
)
from groundlint.steps.ends import not_mounted, put_on_by
from groundlint.steps.kind import Kept, Slot, StepKind, Words, there
from groundlint.steps.run import Run
from groundlint.steps.saying import NOT_STATED, listed, named, saying
from groundlint.steps.unfolding import Env, Unfolding, each
from groundlint.values import Gap
from groundlint.world.records import Mounted, RodSet

BAR, STRUCTURE = Slot("bar", "bar"), Slot("structure", "structure", "at")


def number(value: object) -> float | None:
    """A quantity that a slot states; None where it does not."""
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None


def _structure(action: Action) -> Structure | None:
    structure = action.slots.get("structure")
    return structure if isinstance(structure, Structure) else None


def _inspect(run: Run, action: Action) -> None:
    item = action.slots.get("item")
    if isinstance(item, Thing):
        run.world.inspected.put(item, run.position, run.index)


def _set(run: Run, action: Action) -> None:
    rod, away = action.slots.get("rod"), action.slots.get("away")
    if not isinstance(rod, Rod):
        run.vague.add("set")
        return
    before = run.world.rods.last(rod)
    if before is not None:
        where = f" at {before.structure}" if before.structure is not None else ""
        run.mistake(
            "rod-set-twice",
            f"rod {rod} is already set{where}{run.since(before.index)}",
            "set another rod here, or take one of the two steps out",
            run.place(before.index, f"rod {rod} is set here"),
        )
    found = RodSet(
        _structure(action),
        number(action.slots.get("distance")),
        number(action.slots.get("depth")),
        run.index,
        tuple(one for one in away if isinstance(one, Away)) if isinstance(away, tuple) else (),
    )
    pulled, barricade = run.world.pulled.get(rod), run.world.barricades.last(rod)
    if pulled is not None and barricade is not None and barricade.index < pulled:  # it stands where the rod was
        run.world.barricades.put(rod, run.position, None)
    run.world.rods.put(rod, run.position, found)
    run.world.network.graphs.electrode(PointRef("rod", None, rod), run.position)


def _pull(run: Run, action: Action) -> None:
    rod = action.slots.get("rod")
    if not isinstance(rod, Rod):  # any of them may be out of the ground now
        for one in run.world.rods.known():
            _pulled(run, one)
        return
    if run.world.rods.last(rod) is None:
        if "set" not in run.vague:
            pulled = run.world.pulled.get(rod)
            run.mistake(
                "pull-not-set",
                f"rod {rod} is pulled, and is not in the ground{run.since(pulled, 'since')}",
                f"take this step out, or write `set {rod} at ...` where it is set",
                run.place(pulled, f"rod {rod} is pulled here", rod.span),
            )
        return
    _pulled(run, rod)


def _pulled(run: Run, rod: Rod) -> None:
    run.world.rods.put(rod, run.position, None)
    run.world.pulled[rod] = run.index
    run.world.network.graphs.no_electrode(PointRef("rod", None, rod), run.position)


def _mount(run: Run, action: Action) -> None:
    bar, structure = action.slots.get("bar"), action.slots.get("structure")
    if not isinstance(bar, Bar):
        run.vague.add("mount")
        return
    world, graphs = run.world, run.world.network.graphs
    before = world.bars.last(bar)
    if before is not None:
        where = f" at {before.structure}" if before.structure is not None else ""
        run.mistake(
            "bar-mounted-twice",
            f"bar {bar} is already mounted{where}{run.since(before.index)}",
            f"dismount it first: `dismount {bar}`, or mount another bar here",
            run.place(before.index, f"bar {bar} is mounted here"),
        )
    height, conductor = action.slots.get("height"), action.slots.get("conductor")
    found = Mounted(
        _structure(action),
        height if isinstance(height, str) else None,
        conductor if isinstance(conductor, Conductor) else None,
        run.index,
    )
    world.bars.put(bar, run.position, found)
    node = PointRef("bar", None, bar)
    graphs.unlink(("bar", bar), run.position)
    if found.structure is not None:
        graphs.link(("bar", bar), node, PointRef("pole", found.structure), run.position)
    else:
        missing = structure if isinstance(structure, Gap) else None
        gap = missing or Gap(f"where bar {bar} is mounted", f"mount {bar} at 212 below the feet", action.span)
        graphs.loose_end(("bar", bar), node, run.position, gap)


def _dismount(run: Run, action: Action) -> None:
    bar, bars = action.slots.get("bar"), run.world.bars
    graphs = run.world.network.graphs
    if not isinstance(bar, Bar):
        gap = bar if isinstance(bar, Gap) else Gap("which bar is dismounted", "dismount K1", action.span)
        for one in bars.known():
            graphs.loosen(("bar", one), run.position, gap)
        return
    if bars.last(bar) is None:
        if "mount" not in run.vague:
            not_mounted(run, bar, "dismounted")
        return
    point = PointRef("bar", None, bar)
    hung = [lead for lead in run.world.hanging.last(point) or () if isinstance(lead, Lead)]
    if hung:
        names = " and ".join(str(lead) for lead in hung)
        run.mistake(
            "dismount-with-leads-on",
            f"bar {bar} is dismounted while {names} {'is' if len(hung) == 1 else 'are'} on it",
            f"detach first: `detach {hung[0]} from {bar}`",
            run.place(put_on_by(run, hung[0], point), f"{hung[0]} goes on here"),
        )
    bars.put(bar, run.position, None)
    graphs.unlink(("bar", bar), run.position)


def _park(run: Run, action: Action) -> None:
    vehicle, place = action.slots.get("vehicle"), _structure(action)
    if not isinstance(vehicle, Vehicle):
        return
    if run.world.barricades.last(vehicle) is not None and (
        place is None or run.world.parked.last(vehicle) != (place,)
    ):  # it stands where the vehicle was
        run.world.barricades.put(vehicle, run.position, None)
        run.world.left_standing.add(vehicle)
    run.world.parked.put(vehicle, run.position, (place,))


def _say_set(group: Sequence[Action], words: Words) -> str:
    slots, where = group[0].slots, group[0].span
    off, deep = slots.get("distance"), slots.get("depth")
    distance = (
        f"distance from it {NOT_STATED}" if number(off) is None else f"{words.length(off, where)} from the structure"
    )
    depth = f"depth {NOT_STATED}" if number(deep) is None else f"{words.length(deep, where)} deep"
    away: Any = slots.get("away") or ()
    others = "".join(f", {words.length(one.distance, where)} from {one.rod}" for one in away)
    return f"Set rod {listed(group, 'rod')} at {named(slots.get('structure'))}, {distance}{others}, {depth}"


def _say_mount(group: Sequence[Action], _words: Words) -> str:
    slots = group[0].slots
    height, conductor = slots.get("height"), slots.get("conductor")
    where = str(height).replace("-", " ") if isinstance(height, str) else f"height {NOT_STATED}"
    if conductor is not None:
        where += f" {named(conductor)}"
    elif where in ("below feet", "above feet"):
        where = where.replace(" ", " the ")
    return f"Mount bar {listed(group, 'bar')} at {named(slots.get('structure'))}, {where}"


def _from_set(to: Unfolding, st: s.Set, env: Env) -> None:
    for rod in to.things(st.names, env, Rod):
        to.put(
            "set",
            st,
            rod=rod,
            structure=to.at(st.at, env, f"{rod} is set", st),
            distance=to.length(st.from_pole, f"how far from the structure {rod} is", "16 ft from the pole", st),
            depth=to.length(st.deep, f"how deep {rod} is", "6 ft deep", st),
            away=tuple(_away(to, rod, st, env)),
        )


def _away(to: Unfolding, rod: Thing, st: s.Set, env: Env) -> Iterator[Away]:
    """How far the rod is from others, as far as stated."""
    for one in st.from_rod:
        other, distance = (
            to.names.find(one.rod, env, Rod, Structure),
            to.declared.amount(one.distance, "length"),
        )
        if other is rod:
            to.names.refuse("from-itself", one.rod.span, f"{rod} is at no distance from itself", "name another rod")
        elif isinstance(other, Structure):
            write = f"write `{one.distance} from the pole`"
            to.names.refuse("wrong-kind", one.rod.span, f"{other} is a structure; a rod belongs here", write)
        elif isinstance(other, Rod) and distance is not None:
            yield Away(other, distance)


def _from_pull(to: Unfolding, st: s.Pull, env: Env) -> None:
    for name in to.names.expand(st.names):
        rod = to.names.open_value(name, env) or to.names.find(name, env, Rod)
        if rod is not None:
            to.put("pull", st, rod=rod)


def _from_mount(to: Unfolding, st: s.Mount, env: Env) -> None:
    bar = to.names.find(st.name, env, Bar)
    if bar is None:
        return
    height: object = (
        str(st.height).replace(" ", "-") if st.height else Gap(f"at what height {bar} is", "below the feet", st.span)
    )
    conductor = to.names.find(st.height_of, env, Conductor) if st.height_of else None
    to.put(
        "mount",
        st,
        bar=bar,
        structure=to.at(st.at, env, f"{bar} is mounted", st),
        height=height,
        conductor=conductor,
    )


def _from_park(to: Unfolding, st: s.Park, env: Env) -> None:
    for vehicle in to.things(st.names, env, Vehicle):
        to.put("park", st, vehicle=vehicle, structure=to.at(st.at, env, f"{vehicle} stands", st))


INSPECT = StepKind(
    name="inspect",
    verb="inspect",
    meaning="equipment is looked over before use",
    made_of={s.Inspect: each("item", Equipment, Mat)},
    happens=(),
    slots=(Slot("item", "equipment"),),
    say=saying("Inspect", "item"),
    protects=(Kept("inspected", "inspected", there),),
    does=_inspect,
)
SET = StepKind(
    name="set",
    verb="set",
    meaning="a rod is driven",
    made_of={s.Set: _from_set},
    happens=(),
    slots=(
        Slot("rod", "rod"),
        STRUCTURE,
        Slot("distance", "length"),
        Slot("depth", "length"),
        Slot("away", "length", many=True, meaning="how far from each rod that is named, `Away`"),
    ),
    say=_say_set,
    protects=(Kept("rods", "in the ground", there),),
    does=_set,
)
PULL = StepKind(
    name="pull",
    verb="pull",
    meaning="a rod is pulled out of the ground",
    made_of={s.Pull: _from_pull},
    happens=(),
    slots=(Slot("rod", "rod"),),
    say=saying("Pull rod", "rod"),
    protects=None,
    does=_pull,
)
MOUNT = StepKind(
    name="mount",
    verb="mount",
    meaning="a cluster bar is put on a structure",
    made_of={s.Mount: _from_mount},
    happens=(),
    slots=(
        BAR,
        STRUCTURE,
        Slot("height", "word", meaning="below feet, above feet, below, above"),
        Slot("conductor", "conductor", "below", optional=True, meaning="what the height is relative to"),
    ),
    say=_say_mount,
    protects=(Kept("bars", "mounted", there),),
    does=_mount,
)
DISMOUNT = StepKind(
    name="dismount",
    verb="dismount",
    meaning="a cluster bar comes off",
    made_of={s.Dismount: each("bar", Bar)},
    happens=(),
    slots=(BAR,),
    say=saying("Take down bar", "bar"),
    protects=None,
    does=_dismount,
)
PARK = StepKind(
    name="park",
    verb="park",
    meaning="a vehicle takes its place at a structure",
    made_of={s.Park: _from_park},
    happens=("vehicle-arrives",),
    slots=(Slot("vehicle", "vehicle"), STRUCTURE),
    say=lambda group, _: f"Park {listed(group, 'vehicle')} at {named(group[0].slots.get('structure'))}",
    protects=None,
    does=_park,
)
