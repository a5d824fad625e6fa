"""Facts about the step at hand, ``it``: how it is done, and what it states beyond the things it names."""

from __future__ import annotations

from typing import Any

from groundlint.facts.answers import Answer, here, only_if
from groundlint.facts.catalogue import Event, fact
from groundlint.facts.clearance import holder_of, name_the_holder
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Detector, Person, PointRef, Structure
from groundlint.values import Unknown
from groundlint.world.logs import READING


@fact("by-hand", "step", lines=here, meaning="it is done by hand, without a stick")
def by_hand(_case: PlanTrace, _at: int, step: Event) -> Answer:
    if "stick" not in step.slots:
        return False
    stick = step.slots["stick"]
    return stick if isinstance(stick, Unknown) else stick is None


@fact("result", "step", returns=("dead", "live"), lines=here, meaning="what a test finds; none for other steps")
def result(_case: PlanTrace, _at: int, step: Event) -> str | Unknown | None:
    if "result" not in step.slots:
        return None
    found = step.slots["result"]
    return found if isinstance(found, Unknown) else "live" if found == "live" else "dead"


def _amount(step: Event, slot: str, fact_: str, write: str) -> float | Unknown | None:
    if slot not in step.slots:
        return None
    found = step.slots[slot]
    if isinstance(found, Unknown):
        return found
    return Unknown.of(fact_, write, step.span) if found is None else float(found)


@fact(
    "distance",
    "step",
    returns="length",
    unit="ft",
    lines=here,
    meaning="the distance that a `set` or `barricade` step states; none for other steps",
)
def distance(_case: PlanTrace, _at: int, step: Event) -> float | Unknown | None:
    write = "barricade R1 10 ft" if step.kind == "barricade" else "set R1 at 212, 16 ft from the pole, 6 ft deep"
    return _amount(step, "distance", "the distance", write)


@fact(
    "depth",
    "step",
    returns="length",
    unit="ft",
    lines=here,
    meaning="the depth that a `set` step states; none for other steps",
)
def depth(_case: PlanTrace, _at: int, step: Event) -> float | Unknown | None:
    return _amount(step, "depth", "the depth of the rod", "set R1 at 212, 16 ft from the pole, 6 ft deep")


@fact(
    "waiting-time", "step", returns="time", unit="s", lines=here, meaning="how long a `wait` is; none for other steps"
)
def waiting_time(_case: PlanTrace, _at: int, step: Event) -> float | Unknown | None:
    return _amount(step, "time", "how long to wait", "wait 5 min")


@fact("improvised", "step", lines=here, meaning="it is a test without a detector")
def improvised(_case: PlanTrace, _at: int, step: Event) -> bool:
    return step.slots.get("improvised") is True


@fact("detector", "step", returns="detector", lines=here, meaning="the detector that tests or is proven, or none")
def detector_of_step(_case: PlanTrace, _at: int, step: Event) -> Detector | Unknown | None:
    found = step.slots.get("detector")
    return found if isinstance(found, (Detector, Unknown)) else None


@fact("signing-grounds", "step", lines=here, meaning="somebody signs that grounds are on")
def signing_grounds(_case: PlanTrace, _at: int, step: Event) -> bool:
    return step.slots.get("certified") == "grounds"


@fact("signing-dead", "step", lines=here, meaning="somebody signs that the conductors are dead")
def signing_dead(_case: PlanTrace, _at: int, step: Event) -> bool:
    return step.slots.get("certified") == "dead"


@fact("numbered", "step", lines=here, meaning="it has a number")
def numbered(_case: PlanTrace, _at: int, step: Event) -> Answer:
    return only_if(step.number is not None, "the number of the step", "1. brief L1", step.span)


@fact("seen", "step", lines=here, meaning="it says that the gap was seen to be open")
def seen(_case: PlanTrace, _at: int, step: Event) -> Answer:
    switch = step.slots.get("switch")
    return only_if(
        step.slots.get("seen") is True, f"whether the gap of {switch} was seen", "open SW1 gap seen", step.span
    )


def _texted(step: Event, slot: str, fact_: str, write: str) -> Answer:
    if slot not in step.slots:
        return False
    found = step.slots[slot]
    if isinstance(found, Unknown):
        return found
    return only_if(bool(found), fact_, write, step.span)


@fact("protected", "step", lines=here, meaning="it says what protects the worker while a ground is lifted")
def protected(_case: PlanTrace, _at: int, step: Event) -> Answer:
    write = 'lift G1 from R1 by H1 protected by "second ground at 212"'
    return _texted(step, "protection", "what protects the worker meanwhile", write)


@fact("purpose-stated", "step", lines=here, meaning="it says what a ground is lifted for")
def purpose_stated(_case: PlanTrace, _at: int, step: Event) -> Answer:
    return _texted(step, "purpose", "what the ground is lifted for", 'lift G1 from R1 by H1 for "test of the cable"')


@fact("text-stated", "step", lines=here, meaning="it has words of its own, as work, holds and notes do")
def text_stated(_case: PlanTrace, _at: int, step: Event) -> Answer:
    return _texted(step, "text", "the words of the step", 'work "change out crossarm"')


@fact("crew-stated", "step", lines=here, meaning="it names a person or crew that does it or holds the clearance")
def crew_stated(case: PlanTrace, _at: int, step: Event) -> Answer:
    if "holder" in step.slots:
        return True if holder_of(step) is not None else Unknown((name_the_holder(case, step),))
    who = [step.slots.get(slot) for slot in ("operator", "holder", "crew")]
    stated = any(value is not None and not isinstance(value, Unknown) for value in who)
    return only_if(stated, "who does it", "close SW1 by L1", step.span)


@fact("said-to-be-by", "step", "person", lines=here, meaning="it says that this person does it")
def said_to_be_by(_case: PlanTrace, _at: int, step: Event, person: Person) -> bool:
    return step.slots.get("operator") is person


@fact("operator", "step", returns="person", lines=here, meaning="the person who does it, where the step names one")
def operator(_case: PlanTrace, _at: int, step: Event) -> Person | Unknown:
    for slot in ("operator", "holder"):
        found = step.slots.get(slot)
        if isinstance(found, (Person, Unknown)):
            return found
    return Unknown.of("who does it", "close SW1 by L1", step.span)


@fact("by-other-crew", "step", lines=here, meaning="a crew does it that is not a person of this plan")
def by_other_crew(_case: PlanTrace, _at: int, step: Event) -> bool:
    return isinstance(step.slots.get("crew"), str)


@fact("across", "step", lines=here, meaning="it bridges an opening in a conductor")
def across(_case: PlanTrace, _at: int, step: Event) -> bool:
    return step.slots.get("across") is True


@fact(
    "live-part",
    "step",
    returns="point",
    lines=here,
    meaning="the part known to be live that a detector is proven on, or none",
)
def live_part(_case: PlanTrace, _at: int, step: Event) -> PointRef | Unknown | None:
    found = step.slots.get("live")
    return found if isinstance(found, (PointRef, Unknown)) else None


@fact("reaching", "step", "point", lines=here, meaning="it puts that point in a person's reach")
def reaching(_case: PlanTrace, _at: int, step: Event, point: PointRef) -> Answer:
    reach: Any = step.slots.get("reach", ())
    if isinstance(reach, Unknown):
        return reach
    if point in (reach or ()):
        return True
    return next((member for member in reach or () if isinstance(member, Unknown)), False)


@fact("for-anybody", "step", lines=here, meaning="it names nobody who does it")
def for_anybody(_case: PlanTrace, _at: int, step: Event) -> bool:
    return all(step.slots.get(slot) is None for slot in ("operator", "crew"))


@fact(
    "done-by",
    "step",
    "person",
    lines=here,
    meaning="it is work of who it names, or if it names nobody, of one in place there or up elsewhere on the line",
)
def done_by(case: PlanTrace, at: int, step: Event, person: Person) -> Answer:
    here = case.person_structure(at, person)
    if step.kind != "work" or here is None:
        return False
    who, where = step.slots.get("operator"), step.slots.get("structure")
    if isinstance(who, Person):
        return who is person
    if isinstance(where, Structure) and here is not where:
        if isinstance(here, Unknown):
            return here
        stand = case.stand_point(at, person)
        return stand if isinstance(stand, Unknown) else stand is not None and stand.sort != "earth"
    return True


@fact("touching", "step", "point", lines=here, meaning="it is work, and says that this point is worked on or touched")
def touching(_case: PlanTrace, _at: int, step: Event, point: PointRef) -> Answer:
    touch: Any = step.slots.get("touch") if step.kind == "work" else None
    if point in (touch or ()):
        return True
    return next((member for member in touch or () if isinstance(member, Unknown)), False)


@fact("stage-change", "step", lines=here, meaning="it is the first step of its stage")
def stage_change(case: PlanTrace, at: int, _step: Event) -> bool:
    return case.begins_stage(at)


@fact("in-routine", "step", meaning="it comes from a routine")
def in_routine(case: PlanTrace, at: int, _step: Event) -> bool:
    READING.only(at)
    return at < case.n and case.actions[at].use is not None
