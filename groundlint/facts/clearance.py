"""Facts about the clearance: whether it is held, who holds it, and who gives it back.

29 CFR 1910.269(m)(2)(i) asks for one employee in charge of the clearance. Where a step names nobody, it may have been
anybody: what hangs on who it was is not known.
"""

from __future__ import annotations

from groundlint.facts.answers import Answer, only_if
from groundlint.facts.catalogue import Event, fact
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Person, Plan
from groundlint.timeline.world import UNSETTLED, Holder
from groundlint.values import Gap, Unknown

_STATES = {"request": "requested", "receive": "received", "release": "released"}
_WHO = {"request": "who asks for", "receive": "who receives", "release": "who releases"}


def holder_of(step: Event) -> Holder:
    """The person or crew that a step of the clearance names; None where it names nobody."""
    for slot in ("holder", "crew"):
        found = step.slots.get(slot)
        if isinstance(found, (Person, str)) and found:
            return found
    return None


def name_the_holder(case: PlanTrace, step: Event) -> Gap:
    """What to write at a step of the clearance that names nobody."""
    line, people = case.plan.line, case.domain("person")
    words = ["clearance", *([line.name] if line is not None else []), _STATES[step.kind]]
    who = people[0].name if people else "L1"
    return Gap(f"{_WHO[step.kind]} the clearance", f"{' '.join(words)} by {who}", step.span)


def _unnamed(case: PlanTrace, at: int) -> Unknown:
    """The steps before a position that leave open who holds the clearance."""
    before = sorted(now for kind in ("receive", "release") for now in case.positions(kind) if now < at)
    return Unknown(
        tuple(name_the_holder(case, case.event(now)) for now in before if holder_of(case.event(now)) is None)
    )


def _is(case: PlanTrace, at: int, state: str) -> Answer:
    found = case.timeline.clearance(at)
    return _unnamed(case, at) if found == UNSETTLED else found == state


@fact("cleared", "plan", meaning="a clearance has been received and not released since by who holds it")
def cleared(case: PlanTrace, at: int, _plan: Plan) -> Answer:
    return _is(case, at, "received")


@fact("clearance-requested", "plan", meaning="the clearance has been requested, whether received by now or not")
def clearance_requested(case: PlanTrace, at: int, _plan: Plan) -> bool:
    return any(now < at for now in case.positions("request"))


@fact(
    "released",
    "plan",
    meaning="everybody who held the clearance has released it: the line may be energized",
)
def released(case: PlanTrace, at: int, _plan: Plan) -> Answer:
    return _is(case, at, "released")


@fact(
    "released-by-holder",
    "step",
    lines=lambda _case, _at, step: ((step.span, step.label),),
    meaning="who releases the clearance holds it",
)
def released_by_holder(case: PlanTrace, at: int, step: Event) -> Answer:
    if step.kind != "release":
        return only_if(False, "who releases the clearance", "clearance Larkspur released by L1", step.span)
    holder = holder_of(step)
    if holder is None:
        return Unknown((name_the_holder(case, step),))
    held = case.timeline.holds_clearance(at, holder)
    return _unnamed(case, at) if held is None else held
