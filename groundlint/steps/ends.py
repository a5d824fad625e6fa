"""Ends of leads, and of bonds without a lead, go on points and come off: one function for each, whatever the step."""

from __future__ import annotations

from collections.abc import Hashable

from groundlint.plan.models import Bar, Lead, PointRef, Rod
from groundlint.steps.run import Run
from groundlint.values import Gap
from groundlint.world.network import plain
from groundlint.world.records import Bond, End

Ends = tuple[tuple[End, int], ...]
"""Where the ends are on, with the steps that put them there, in the order they went on."""


def ends_of(run: Run, lead: Lead) -> Ends:
    """The ends of a lead that are on now."""
    return run.world.ends.last(lead) or ()


def end_at(run: Run, point: object, what: str, write: str) -> End:
    """The place that a slot names; a gap that says ``what`` is not stated, where it names none."""
    if isinstance(point, PointRef):
        return plain(point)
    return point if isinstance(point, Gap) else Gap(what, write, run.action.span)


def put_on_by(run: Run, lead: Lead, point: End) -> int | None:
    """The step that put a lead on a point."""
    return next((index for end, index in ends_of(run, lead) if end == point), None)


def put_on(run: Run, what: Lead | Bond, *ends: End) -> None:
    """One end or both go on, of a lead or of a bond without one."""
    if isinstance(what, Bond):
        _hang(run, what, (), ends)
        _keep_bonds(run, (*_bonds(run), what))
        return
    lifted, hung = run.world.lifted, run.world.hung
    if lifted.last(what) is None or lifted.last(what) not in ends:  # a lifted end that goes back hangs where it hung
        hung.put(what, run.position, run.index)
    if lifted.last(what) is not None:
        lifted.put(what, run.position, None)
    _set(run, what, (*ends_of(run, what), *((end, run.index) for end in ends)))


def take_off(run: Run, what: Lead | Bond, *off: End, left: Gap | None = None) -> None:
    """Ends come off, so that what they were clamped to must be cleaned before the next clamp.

    ``left`` is one that is still on, where the plan does not tell which of the two came off.
    """
    if isinstance(what, Bond):
        _hang(run, what, what.points, ())
        _keep_bonds(run, tuple(bond for bond in _bonds(run) if bond != what))
    else:
        on = list(ends_of(run, what))
        rest = () if left is None else ((left, on[0][1]),)
        for end in off:
            on.remove(next(one for one in on if one[0] == end))
            if left is None:
                run.came_off[what, end] = run.index
        _set(run, what, (*on, *rest))
    for end in off:
        for place in {end, run.world.network.whole(run.position, end)} if isinstance(end, PointRef) else ():
            if run.world.cleaned.last(place) is not None:
                run.world.cleaned.put(place, run.position, None)


def _set(run: Run, lead: Lead, ends: Ends) -> None:
    """The lead's ends are these from now on."""
    world = run.world
    before, after = (tuple(end for end, _ in some) for some in (ends_of(run, lead), ends))
    world.ends.put(lead, run.position, ends)
    if any(isinstance(end, Gap) for end in (*before, *after)):
        others = tuple(one for one in world.adrift.last or () if one is not lead)
        adrift = any(isinstance(end, Gap) for end in after)
        world.adrift.put(run.position, (*others, lead) if adrift else others)
    _hang(run, lead, before, after)
    if len(ends) < 2 and any(bond.lead is lead for bond in _bonds(run)):
        _keep_bonds(run, tuple(bond for bond in _bonds(run) if bond.lead is not lead))


def _hang(run: Run, what: Lead | Bond, before: tuple[End, ...], after: tuple[End, ...]) -> None:
    """Something hung on the places ``before`` and hangs ``after``; where it has two, it joins them."""
    network, hanging, position = run.world.network, run.world.hanging, run.position
    for point in dict.fromkeys((*before, *after)):
        if isinstance(point, PointRef) and (point in before) != (point in after):
            others = tuple(one for one in hanging.last(point) or () if one != what)
            hanging.put(point, position, (*others, what) if point in after else others)
    key = what if isinstance(what, Lead) else ("bond", what)
    for which in (0, 1):
        network.graphs.unlink(("loose", key, which), position)
    network.part(key, [end for end in before if isinstance(end, PointRef)], position)
    if len(after) == 2:
        _join_ends(run, key, *after)


def _join_ends(run: Run, key: Hashable, one: End, other: End) -> None:
    """Something joins two places from now on, either of which may not be stated."""
    network, position = run.world.network, run.position
    if isinstance(one, PointRef) and isinstance(other, PointRef):
        network.join(key, one, other, position)
        run.joined(one, other)
        return
    for which, (here, there) in enumerate(((one, other), (other, one))):
        if isinstance(there, Gap):
            node = here if isinstance(here, PointRef) else key
            network.graphs.loose_end(("loose", key, which), node, position, there)
            network.touched(here, position=position)
    run.expire_joined(*(end for end in (one, other) if isinstance(end, PointRef)))


def _bonds(run: Run) -> tuple[Bond, ...]:
    return run.world.bonds.last or ()


def _keep_bonds(run: Run, bonds: tuple[Bond, ...]) -> None:
    run.world.bonds.put(run.position, bonds)


def keep_bond(run: Run, bond: Bond) -> None:
    """A bond is made, with a lead that is on at both ends."""
    _keep_bonds(run, (*_bonds(run), bond))


def must_be_up(run: Run, name: str, point: End) -> None:
    """A rod must be in the ground, and a bar on a structure, before something goes on it."""
    thing = point.thing if isinstance(point, PointRef) else None
    world = run.world
    if isinstance(thing, Rod) and world.rods.last(thing) is None and "set" not in run.vague:
        run.mistake(
            "rod-not-set",
            f"{name} goes on rod {thing} before the rod is set",
            f"set it first: `set {thing} at ...`",
            ((thing.span, f"rod {thing} is declared here"),),
        )
    elif isinstance(thing, Bar) and world.bars.last(thing) is None and "mount" not in run.vague:
        not_mounted(run, thing, f"used by {name}")


def not_mounted(run: Run, bar: Bar, use: str) -> None:
    """A bar is used that is on no structure."""
    run.mistake(
        "bar-not-mounted",
        f"bar {bar} is {use} while it is mounted nowhere",
        f"mount it first: `mount {bar} at ...`",
        ((bar.span, f"bar {bar} is declared here"),),
    )
