"""Facts about a job done in parts: what a plan begins with, what it leaves, and under whose clearance."""

from __future__ import annotations

from groundlint.facts.answers import Answer, Lines, all_of, at_plan, by_change
from groundlint.facts.catalogue import fact
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Lead, Plan, Switch, Thing
from groundlint.values import Unknown


def _left(case: PlanTrace, _at: int, thing: Thing) -> Lines:
    return tuple((left.span, f"{thing} is left on") for left in case.plan.leaves if left.thing is thing)


def _begun(case: PlanTrace, _at: int, thing: Thing) -> Lines:
    return tuple(
        (action.span, f"{thing} is left by the part before")
        for action in case.plan.begins
        if any(value is thing for value in action.slots.values())
    )


def _leaving(case: PlanTrace, _at: int, _plan: Plan) -> Lines:
    return tuple(dict.fromkeys((left.span, "what the plan leaves") for left in case.plan.leaves))


@fact(
    "part",
    "plan",
    timed=False,
    lines=at_plan("part", "part of a job"),
    meaning="it is one of the parts in which a job is done",
)
def part(_case: PlanTrace, _at: int, plan: Plan) -> bool:
    return plan.part is not None


@fact(
    "going-on",
    "plan",
    timed=False,
    lines=at_plan("part", "part of a job"),
    meaning="it begins with what an earlier part of the job has left",
)
def going_on(_case: PlanTrace, _at: int, plan: Plan) -> bool:
    return bool(plan.begins)


@fact(
    "begun-in-hand",
    "plan",
    timed=False,
    lines=at_plan("part", "part of a job"),
    meaning="it says that it begins with the clearance, held since the part of the job before, and by whom",
)
def begun_in_hand(case: PlanTrace, _at: int, plan: Plan) -> Answer:
    if plan.part is None and not plan.begins:
        return False  # nothing comes before this plan
    where = plan.begins[0].span if plan.begins else plan.start
    if not any(action.kind == "receive" for action in plan.begins):
        return Unknown.of("who has held the clearance since the part before", "begins with clearance of L1", where)
    return case.timeline.holders(0) != (None,) or Unknown.of(
        "who has held the clearance since the part before", "begins with clearance of L1", where
    )


@fact(
    "leaving",
    "plan",
    timed=False,
    lines=_leaving,
    meaning="it says that grounds stay on for the part of the job after it",
)
def leaving(_case: PlanTrace, _at: int, plan: Plan) -> bool:
    return bool(plan.leaves)


@fact(
    "left-in-hand",
    "plan",
    lines=_leaving,
    meaning="the clearance is held by everybody under whose clearance the plan leaves grounds on",
)
def left_in_hand(case: PlanTrace, at: int, plan: Plan) -> Answer:
    return all_of(_held(case, at, left.thing) for left in plan.leaves)


def _held(case: PlanTrace, at: int, thing: Thing) -> Answer:
    """Whether the clearance that a thing is left under is held."""
    found: list[Answer] = []
    for left in case.plan.leaves:
        if left.thing is not thing:
            continue
        write = f"leaves {thing} on under the clearance of L1"
        gap = Unknown.of(f"under whose clearance {thing} is left on", write, left.span)
        held = case.timeline.holds_clearance(at, left.holder) if left.holder is not None else None
        found.append(gap if held is None else held)
    return all_of(found)


@fact(
    "left",
    "thing",
    lines=_left,
    meaning="the plan leaves it on for the part of the job after it, under a clearance that is held",
)
def left_on(case: PlanTrace, at: int, thing: Thing) -> Answer:
    if all(left.thing is not thing for left in case.plan.leaves):
        return False
    return _held(case, at, thing)


def _stretch(case: PlanTrace, at: int) -> int | None:
    """The last stretch before a position in which nobody was there; -1 for the end of the part before, None where there
    was neither."""
    found = case.timeline.unwatched(at)
    return found if found is not None else -1 if case.plan.begins else None


@fact(
    "stood-over",
    "lead",
    lines=_begun,
    meaning="it was on while nobody was there, or since the part of the job before, and nobody has inspected it since",
)
def lead_stood_over(case: PlanTrace, at: int, lead: Lead) -> bool:
    began = _stretch(case, at)
    timeline = case.timeline
    if began is None or not timeline.ends(began + 1, lead) or not timeline.ends(at, lead):
        return False
    inspected = timeline.inspected_at(at, lead)
    return inspected is None or inspected < began


@fact(
    "stood-over",
    "switch",
    lines=by_change("operated", "verified"),
    meaning="since nobody was there, or the part of the job before, nobody has opened it or verified that it is open",
)
def switch_stood_over(case: PlanTrace, at: int, switch: Switch) -> bool:
    began = _stretch(case, at)
    if began is None or case.timeline.verified(at, switch):  # which a pause ends
        return False
    opened = case.timeline.changed_by(at, "operated", switch)
    return opened is None or opened < began
