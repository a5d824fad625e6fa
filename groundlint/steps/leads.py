"""Leads go on and come off, bonds too."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from groundlint.language import statements as s
from groundlint.plan.models import Action, Conductor, Lead, PointRef
from groundlint.plan.names import point_words
from groundlint.steps.ends import end_at, ends_of, keep_bond, must_be_up, put_on, put_on_by, take_off
from groundlint.steps.kind import BY_STICK, GROUNDS, Say, Slot, StepKind, Words
from groundlint.steps.run import Run
from groundlint.steps.saying import by_means, listed, named
from groundlint.steps.unfolding import Env, Unfolding
from groundlint.values import Gap
from groundlint.world.network import plain
from groundlint.world.records import Bond, End

LEAD = Slot("lead", "lead")


def _where(run: Run, lead: Lead) -> str:
    ends = [str(end) if isinstance(end, PointRef) else "a place not stated" for end, _ in ends_of(run, lead)]
    return f"{lead} is on {' and '.join(ends) or 'nothing'}"


def _attach(run: Run, action: Action) -> None:
    lead = action.slots.get("lead")
    end = end_at(run, action.slots.get("point"), "where the end of the lead goes", "attach G1 to 212 A by H1")
    if not isinstance(lead, Lead):
        run.vague.add("attach")
        if isinstance(end, PointRef):  # some lead leads from here to a place that is not stated
            gap = lead if isinstance(lead, Gap) else Gap("which lead is attached", f"attach G1 to {end}", action.span)
            _lead_from(run, end, gap)
        return
    ends = ends_of(run, lead)
    must_be_up(run, str(lead), end)
    on = put_on_by(run, lead, end) if isinstance(end, PointRef) else None
    if on is not None:
        run.mistake(
            "lead-already-on",
            f"lead {lead} is already on {end}{run.since(on)}",
            f"take this step out, or name the point that the other end of {lead} goes to",
            run.place(on, f"{lead} goes on {end} here"),
        )
        return
    if len(ends) >= 2:
        second = ends[1][0]
        mend = (
            f"take one end off first: `detach {lead} from {second}`"
            if isinstance(second, PointRef)
            else f"take one end off first, or use another lead than {lead}"
        )
        run.mistake(
            "lead-three-ends",
            f"lead {lead} has two ends, and both are on: {_where(run, lead)}",
            mend,
            tuple(
                place
                for one, index in ends
                for place in run.place(index, f"{lead} goes on {one if isinstance(one, PointRef) else 'a place'} here")
            ),
        )
        return
    put_on(run, lead, end)


def _lead_from(run: Run, point: PointRef, gap: Gap) -> None:
    """A lead that is not named goes from a point to a place that is not stated."""
    run.world.network.graphs.loose_end(("lead not named", run.index), point, run.position, gap)
    run.world.network.touched(point, position=run.position)
    run.expire_joined(point)


def _end_off(run: Run, action: Action) -> tuple[Lead, End] | None:
    """The lead and the end that a step takes off; None where it takes off none."""
    lead = action.slots.get("lead")
    graphs = run.world.network.graphs
    end = end_at(run, action.slots.get("point"), "the point that the lead comes off", "detach G1 from 212 A by H1")
    if not isinstance(lead, Lead):  # any lead there may be off now
        write = "detach G1 from 212 A by H1"
        gap = lead if isinstance(lead, Gap) else Gap("which lead comes off", write, action.span)
        for one in run.world.hanging.last(end) or () if isinstance(end, PointRef) else run.world.ends.known():
            if isinstance(one, Lead):
                graphs.loosen(one, run.position, gap)
        run.world.network.touched(end, position=run.position)
        return None
    on = [one for one, _ in ends_of(run, lead)]
    unstated = [one for one in on if isinstance(one, Gap)]
    same = [one for one in on if isinstance(one, PointRef) and isinstance(end, PointRef) and _one_conductor(one, end)]
    if end not in on and len(same) == 1:  # it went on a side by its name, and comes off by the conductor's, or back
        off: End = same[0]
    elif end in on:
        off = on[on.index(end)]  # where it is a gap, the one that says where the end went on
    elif isinstance(end, PointRef) and unstated:
        off = unstated[0]
    elif not isinstance(end, PointRef) and len(on) == 1:
        off = on[0]
    elif not isinstance(end, PointRef) and on:
        # one of the two is off, so that the lead joins nothing; which one, the plan does not tell
        take_off(run, lead, *on, left=Gap(f"which end of {lead} is still on", end.write, action.span))
        return lead, end
    else:
        _not_on(run, lead, end)
        return None
    take_off(run, lead, off)
    return lead, off


def _one_conductor(one: End, other: PointRef) -> bool:
    """Whether two points are one conductor at one structure, a side of it named or not."""
    if not isinstance(one, PointRef):
        return False
    named_alike = one.structure is not None and isinstance(one.thing, Conductor) and one[1:] == other[1:]
    return named_alike and "conductor" in (one.sort, other.sort)


def _not_on(run: Run, lead: Lead, end: End) -> None:
    if "attach" in run.vague:
        return
    off = run.came_off.get((lead, end))
    since = f"; it came off there before ({run.called(off)})" if off is not None else ""
    run.mistake(
        "detach-not-on",
        f"lead {lead} is not on {end if isinstance(end, PointRef) else 'anything'}{since}",
        f"name the point that it is on, or take this step out; {_where(run, lead)}",
        run.place(off, f"{lead} comes off here") or ((lead.span, f"{lead} is declared here"),),
    )


def _detach(run: Run, action: Action) -> None:
    found = _end_off(run, action)
    if found is None:
        run.parted(None)
    else:
        lead, end = found
        run.parted(run.world.hung.last(lead), end, *(other for other, _ in ends_of(run, lead)))


def _lift(run: Run, action: Action) -> None:
    found = _end_off(run, action)
    if found is not None:
        run.world.lifted.put(found[0], run.position, found[1])


def _restore(run: Run, action: Action) -> None:
    lead = action.slots.get("lead")
    if isinstance(lead, Lead) and run.world.lifted.last(lead) is None:
        run.mistake(
            "restore-not-lifted",
            f"lead {lead} is restored without having been lifted; {_where(run, lead)}",
            f"write `lift {lead} from ...` where it comes off, or `attach {lead} to ...` here",
            ((lead.span, f"{lead} is declared here"),),
        )
        if len(ends_of(run, lead)) >= 2:
            return
    _attach(run, action)


def _bond(run: Run, action: Action) -> None:
    first = end_at(run, action.slots.get("first"), "what is bonded", "bond T1 to K1 with G1")
    second = end_at(run, action.slots.get("second"), "what it is bonded to", "bond T1 to K1 with G1")
    lead = action.slots.get("lead")
    for point in (first, second):
        must_be_up(run, str(lead) if isinstance(lead, Lead) else "a bond", point)
    if not isinstance(lead, Lead):
        put_on(run, Bond((first, second), None, run.index), first, second)
        return
    if ends_of(run, lead):
        end, on = ends_of(run, lead)[0]
        run.mistake(
            "lead-three-ends",
            f"lead {lead} bonds with both ends, but {_where(run, lead)}",
            f"take it off first: `detach {lead} from {end}`"
            if isinstance(end, PointRef)
            else f"use another lead than {lead}",
            run.place(on, f"{lead} goes on here"),
        )
        return
    put_on(run, lead, first, second)
    keep_bond(run, Bond((first, second), lead, run.index))


def _unbond(run: Run, action: Action) -> None:
    point, bonds = action.slots.get("first"), run.world.bonds.last or ()
    if not isinstance(point, PointRef):
        gap = point if isinstance(point, Gap) else Gap("what is unbonded", "unbond T1 by hand", action.span)
        for bond in bonds:
            run.world.network.graphs.loosen(bond.lead or ("bond", bond), run.position, gap)
        return
    point = plain(point)
    found = [b for b in bonds if b.points[0] == point or _one_conductor(b.points[0], point)] or [
        b for b in bonds if point in b.points
    ]
    found = found or [b for b in bonds if any(isinstance(one, Gap) for one in b.points)]
    if not found:
        where = point.thing if point.thing is not None else point.structure
        related = ((where.span, f"{where} is declared here"),) if where is not None else ()
        mend = f"take this step out, or write `bond {point} to ...` where it is bonded"
        said = f"{point} is not bonded to anything"
        lead = next((one for one in run.world.hanging.last(point) or () if isinstance(one, Lead)), None)
        if lead is not None:
            said = f"no `bond` joins {point} to anything; lead {lead} was attached to it"
            mend = f"write `detach {lead} from {point}`, and where its other end comes off"
        run.mistake("unbond-not-bonded", said, mend, related)
        return
    for bond in found:
        take_off(run, bond.lead or bond, *bond.points)
        run.parted(bond.step, *bond.points)


def _moved(verb: str, preposition: str) -> Say:
    def say(group: Sequence[Action], _words: Words) -> str:
        ends = (f"{named(a.slots.get('point'))}{by_means(a)}" for a in group if a.slots.get("lead") is not None)
        return f"{verb} {named(group[0].slots.get('lead'))} {preposition} " + f", then {preposition} ".join(ends)

    return say


def _say_bond(group: Sequence[Action], _words: Words) -> str:
    slots = group[0].slots
    lead = slots.get("lead")
    means = (f" with {named(lead)}" if lead is not None else "") + by_means(group[0])
    if slots.get("across"):
        first = slots.get("first")
        whole = first._replace(sort="conductor") if isinstance(first, PointRef) else first
        return f"Bond across {named(whole)}{means}"
    return f"Bond {named(slots.get('first'))} to {named(slots.get('second'))}{means}"


def _say_lift(group: Sequence[Action], _words: Words) -> str:
    slots = group[0].slots
    why = f" for {named(slots.get('purpose'))}" if slots.get("purpose") is not None else ""
    protection = f"protection meanwhile: {named(slots.get('protection'))}"
    return f"Lift {named(slots.get('lead'))} from {named(slots.get('point'))}{by_means(group[0])}{why}; {protection}"


def _say_restore(group: Sequence[Action], _words: Words) -> str:
    slots = group[0].slots
    return f"Put {named(slots.get('lead'))} back on {named(slots.get('point'))}{by_means(group[0])}"


def _from_ends(to: Unfolding, st: s.Attach | s.Detach, env: Env) -> None:
    lead = to.names.find(st.name, env, Lead)
    if lead is None:
        return
    goes = "goes on" if isinstance(st, s.Attach) else "comes off"
    places = tuple(end.span for end in st.ends) if len(st.ends) == 2 else ()
    sticks = [end.by for end in st.ends if end.by is not None]
    points = [to.names.point(end.point, env) for end in st.ends]
    wires = all(isinstance(point, PointRef) and isinstance(point.thing, Conductor) for point in points)
    for end, point in zip(st.ends, points, strict=True):
        # between two conductors a stick is named once for both ends
        by = sticks[0] if wires and len(sticks) == 1 and not any(one.by_hand for one in st.ends) else end.by
        stick = to.stick(by, end.by_hand, env, f"{lead} {goes} {point_words(point)}", end)
        to.add(st.kind, st, {"lead": lead, "point": point, "stick": stick}, places)


def _from_lift(to: Unfolding, st: s.Lift, env: Env) -> None:
    lead = to.names.find(st.name, env, Lead)
    if lead is None:
        return
    to.put(
        "lift",
        st,
        lead=lead,
        point=to.names.point(st.point, env),
        stick=to.stick(st.on_stick, st.by_hand, env, f"{lead} is lifted", st),
        protection=str(st.protected)
        if st.protected
        else Gap(
            f"what protects people while {lead} is lifted", 'protected by "another ground at the same place"', st.span
        ),
        purpose=str(st.purpose) if st.purpose else None,
    )


def _from_restore(to: Unfolding, st: s.Restore, env: Env) -> None:
    lead = to.names.find(st.name, env, Lead)
    if lead is not None:
        stick = to.stick(st.on_stick, st.by_hand, env, f"{lead} is put back", st)
        to.put("restore", st, lead=lead, point=to.names.point(st.point, env), stick=stick)


def _from_bond(to: Unfolding, st: s.Bond, env: Env) -> None:
    lead = (
        to.names.find(st.with_, env, Lead) if st.with_ else Gap("with which lead the bond is made", "with G1", st.span)
    )
    slots = {
        "first": to.names.point(st.first, env),
        "second": to.names.point(st.second, env),
        "lead": lead,
        "across": False,
        "stick": to.stick(st.on_stick, st.by_hand, env, "the bond is made", st),
    }
    to.add("bond", st, slots, (st.first.span, st.second.span))


def _from_bond_across(to: Unfolding, st: s.BondAcross, env: Env) -> None:
    lead = (
        to.names.find(st.with_, env, Lead)
        if st.with_
        else Gap("with which lead the opening is bridged", "with G1", st.span)
    )
    point = to.names.point(st.point, env)
    if isinstance(point, PointRef) and point.sort != "conductor":
        to.names.refuse(
            "not-a-conductor",
            st.point.span,
            f"{point} is no conductor that could be open",
            "name a structure and a conductor",
        )
        return
    near, far = (
        point._replace(sort=side) if isinstance(point, PointRef) else point for side in ("near side", "far side")
    )
    to.put(
        "bond",
        st,
        first=near,
        second=far,
        lead=lead,
        across=True,
        stick=to.stick(st.on_stick, st.by_hand, env, "the bond is made", st),
    )


def _from_unbond(to: Unfolding, st: s.Unbond, env: Env) -> None:
    to.put(
        "unbond",
        st,
        first=to.names.point(st.point, env),
        stick=to.stick(st.on_stick, st.by_hand, env, "the bond is taken off", st),
    )


ATTACH = StepKind(
    name="attach",
    verb="attach",
    meaning="an end of a lead goes on a point",
    made_of={s.Attach: _from_ends},
    happens=("goes-on", "first-end-on", "second-end-on"),
    slots=(LEAD, Slot("point", "point", "to"), BY_STICK),
    say=_moved("Attach", "to"),
    protects=(GROUNDS,),
    does=_attach,
)
DETACH = StepKind(
    name="detach",
    verb="detach",
    meaning="an end of a lead comes off a point",
    made_of={s.Detach: _from_ends},
    happens=("comes-off", "first-end-off", "last-end-off"),
    slots=(LEAD, Slot("point", "point", "from"), BY_STICK),
    say=_moved("Detach", "from"),
    protects=(GROUNDS,),  # a ground left on is a hazard too
    does=_detach,
)
BOND = StepKind(
    name="bond",
    verb="bond",
    meaning="two points are joined, or the two sides of an opening",
    made_of={s.Bond: _from_bond, s.BondAcross: _from_bond_across},
    happens=("goes-on", "first-end-on", "second-end-on", "vehicle-bonded"),
    slots=(
        Slot("first", "point"),
        Slot("second", "point", "to"),
        Slot("lead", "lead", "with", optional=True),
        BY_STICK,
        Slot("across", "flag", meaning="bridges an opening; first and second are the two sides"),
    ),
    say=_say_bond,
    protects=(GROUNDS,),
    does=_bond,
)
UNBOND = StepKind(
    name="unbond",
    verb="unbond",
    meaning="the bond of a point comes off",
    made_of={s.Unbond: _from_unbond},
    happens=("comes-off", "first-end-off", "last-end-off", "vehicle-unbonded"),
    slots=(Slot("first", "point"), BY_STICK),
    say=lambda group, _: f"Take the bond off {listed(group, 'first')}{by_means(group[0])}",
    protects=(GROUNDS,),  # as `detach` does
    does=_unbond,
)
LIFT = StepKind(
    name="lift",
    verb="lift",
    meaning="an end of a lead comes off for a test",
    made_of={s.Lift: _from_lift},
    happens=("comes-off", "first-end-off"),
    slots=(
        LEAD,
        Slot("point", "point", "from"),
        BY_STICK,
        Slot("protection", "text"),
        Slot("purpose", "text"),
    ),
    say=_say_lift,
    protects=None,
    does=_lift,
)
RESTORE = StepKind(
    name="restore",
    verb="restore",
    meaning="a lifted end goes back on",
    made_of={s.Restore: _from_restore},
    happens=("goes-on", "second-end-on"),
    slots=(LEAD, Slot("point", "point", "to"), BY_STICK),
    say=_say_restore,
    protects=(GROUNDS,),
    does=_restore,
)


def taken_off(done: Sequence[Action]) -> Iterator[tuple[Action, StepKind, dict[str, object]]]:
    """What takes off again what actions put on: each, last first, with the kind of step and its slots."""
    bonded = [action.slots["second"] for action in done if action.kind == BOND.name]
    for action in reversed(done):
        slots = action.slots
        if action.kind == ATTACH.name:
            yield action, DETACH, dict(slots)
        elif action.kind == BOND.name and isinstance(slots["lead"], Lead):
            # `unbond` would take every bond off the point, and others may be on it
            for end in ("second", "first"):
                yield action, DETACH, {"lead": slots["lead"], "point": slots[end], "stick": slots["stick"]}
        elif action.kind == BOND.name:
            end = "first" if bonded.count(slots["second"]) > 1 else "second"
            yield action, UNBOND, {"first": slots[end], "stick": slots["stick"]}
