"""Facts about the clearance: whether it is held, who holds it, and who gives it back.

29 CFR 1910.269(m)(2)(i) asks for one employee in charge of the clearance. Where a step names nobody, it may have been
anybody: what hangs on who it was is not known. By 29 CFR 1910.269(m)(3)(ix) a clearance passes to another when the
system operator and the crew are told (from memory).
"""

from __future__ import annotations

from groundlint.facts.answers import Answer, here, only_if
from groundlint.facts.catalogue import Event, fact
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Action, Person, Plan
from groundlint.steps import KINDS, having
from groundlint.steps.clearance import BY_STATE
from groundlint.values import Gap, Unknown
from groundlint.world.world import UNSETTLED, Holder

_STATES = {kind.name: state for state, kind in BY_STATE.items()}
_TRANSFER = "clearance Larkspur transferred by L1 to L2, operator told, crew told"


def _named(step: Event | Action, *slots: str) -> Holder:
    for slot in slots:
        found = step.slots.get(slot)
        if isinstance(found, (Person, str)) and found:
            return found
    return None


def holder_of(step: Event) -> Holder:
    """The person or crew that a step of the clearance names; None where it names nobody."""
    return _named(step, "holder", "crew")


def taker_of(step: Event) -> Holder:
    """The person or crew that a transfer names as taking over; None where it names nobody."""
    return _named(step, "taker", "taker_crew")


def name_the_holder(case: PlanTrace, step: Event) -> Gap:
    """What to write at a step of the clearance that names nobody."""
    return Gap(KINDS[step.kind].slots[0].meaning, _written(case, step), step.span)


def _likely(case: PlanTrace, step: Event) -> object:
    """Who does a step of the clearance, as far as a plan tells: who holds it then, or else who is named first."""
    people = case.domain("person")
    holders = (*people, *dict.fromkeys(one.crew for one in people if isinstance(one, Person) and one.crew))
    at = next((one for one in case.positions(step.kind) if case.event(one) is step), 0)
    holds = (one for one in holders if case.timeline.holds_clearance(at, one))
    return holder_of(step) or next(holds, people[0] if people else "L1")


def _name_the_taker(case: PlanTrace, step: Event) -> Gap:
    return Gap("who takes the clearance over", _written(case, step), step.span)


def _written(case: PlanTrace, step: Event) -> str:
    """A step of the clearance with who is to be named in it."""
    line, holder = case.plan.line, _likely(case, step)
    words = ["clearance", *([line.name] if line is not None else []), _STATES[step.kind], f"by {holder}"]
    if step.kind == "transfer":
        other = next((one for one in case.domain("person") if one is not holder), "L2")
        words.append(f"to {taker_of(step) or other}, operator told, crew told")
    return " ".join(words)


def _unnamed(case: PlanTrace, at: int) -> Unknown:
    """The steps before a position, and what the part before has left, that leave open who holds the clearance."""
    gaps: list[Gap] = []
    for begun in case.plan.begins:
        if begun.kind == "receive" and _named(begun, "holder", "crew") is None:
            people = case.domain("person")
            write = f"begins with clearance of {people[0] if people else 'L1'}"
            gaps.append(Gap("who has held the clearance since the part before", write, begun.span))
    for now in case.done(having("holder", "crew"), at):
        step = case.event(now)
        if holder_of(step) is None:
            gaps.append(name_the_holder(case, step))
        if step.kind == "transfer" and taker_of(step) is None:
            gaps.append(_name_the_taker(case, step))
    return Unknown(tuple(gaps))


def _is(case: PlanTrace, at: int, state: str) -> Answer:
    found = case.timeline.clearance(at)
    return _unnamed(case, at) if found == UNSETTLED else found == state


@fact("cleared", "plan", meaning="a clearance has been received and not released since by who holds it")
def cleared(case: PlanTrace, at: int, _plan: Plan) -> Answer:
    return _is(case, at, "received")


@fact("holding-in-person", "person", meaning="the person holds a clearance by name, and not only the person's crew")
def holding_in_person(case: PlanTrace, at: int, person: Person) -> Answer:
    held = case.timeline.holds_clearance(at, person)
    return _unnamed(case, at) if held is None else held


@fact("clearance-requested", "plan", meaning="the clearance has been requested, whether received by now or not")
def clearance_requested(case: PlanTrace, at: int, _plan: Plan) -> bool:
    return bool(case.done(("request",), at))


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
    lines=here,
    meaning="who releases the clearance holds it",
)
def released_by_holder(case: PlanTrace, at: int, step: Event) -> Answer:
    if step.kind != "release":
        return only_if(False, "who releases the clearance", "clearance Larkspur released by L1", step.span)
    return _of_holder(case, at, step)


@fact("transferred-by-holder", "step", lines=here, meaning="who transfers the clearance holds it")
def transferred_by_holder(case: PlanTrace, at: int, step: Event) -> Answer:
    if step.kind != "transfer":
        return only_if(False, "who transfers the clearance", _TRANSFER, step.span)
    return _of_holder(case, at, step)


@fact("taker-stated", "step", lines=here, meaning="it names the person or crew that takes the clearance over")
def taker_stated(case: PlanTrace, _at: int, step: Event) -> Answer:
    if step.kind != "transfer":
        return only_if(False, "who takes the clearance over", _TRANSFER, step.span)
    return True if taker_of(step) is not None else Unknown((_name_the_taker(case, step),))


@fact("operator-told", "step", lines=here, meaning="it says that the system operator is told who takes over")
def operator_told(case: PlanTrace, _at: int, step: Event) -> Answer:
    return _stated(case, step, "operator_told", "whether the system operator is told who takes over")


@fact("crew-told", "step", lines=here, meaning="it says that the crew is told who takes over")
def crew_told(case: PlanTrace, _at: int, step: Event) -> Answer:
    return _stated(case, step, "crew_told", "whether the crew is told who takes over")


def _stated(case: PlanTrace, step: Event, slot: str, what: str) -> Answer:
    write = _written(case, step) if step.kind == "transfer" else _TRANSFER
    return only_if(step.slots.get(slot) is True, what, write, step.span)


def _of_holder(case: PlanTrace, at: int, step: Event) -> Answer:
    """Whether who does a step of the clearance holds it."""
    holder = holder_of(step)
    if holder is None:
        return Unknown((name_the_holder(case, step),))
    held = case.timeline.holds_clearance(at, holder)
    return _unnamed(case, at) if held is None else held
