"""Facts about what keeps an open point open: a lock, the reach of outsiders, the control of one person, its own design.

29 CFR 1910.269(m)(2)(iii), (m)(2)(v), (m)(3)(ii) and (m)(3)(iv), from memory. What a plan does not say of them is not
known.
"""

from __future__ import annotations

from groundlint.facts.answers import Answer, by_change, only_if, where_stated
from groundlint.facts.catalogue import Event, fact
from groundlint.facts.clearance import holder_of, name_the_holder, taker_of
from groundlint.facts.live_sides import how_far
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Person, Switch
from groundlint.values import Gap, Unknown
from groundlint.world.logs import READING
from groundlint.world.world import Holder

# ---- locks, and who can get at it ----


@fact("locked", "switch", lines=by_change("locked"), meaning="it is made inoperable, as by a lock")
def locked(case: PlanTrace, at: int, switch: Switch) -> Answer:
    if case.timeline.locked(at, switch):
        return True
    operated = any(case.timeline.changed_by(at, log, switch) is not None for log in ("operated", "tagged", "locked"))
    if operated or switch.position == "closed":  # no lock is on an open position that it did not have
        return False
    return Unknown.of(f"whether {switch} is locked", f"lock {switch}", switch.span)


@fact(
    "lockable",
    "switch",
    timed=False,
    lines=where_stated("no_lock"),
    meaning="the plan locks it somewhere; not so where it is said to have no place for a lock",
)
def lockable(case: PlanTrace, _at: int, switch: Switch) -> Answer:
    if switch.no_lock:
        return False
    locks = switch.locked or case.last(len(case.plan.actions), ("lock",), switch) is not None
    return only_if(locks, f"whether {switch} can be locked", f"lock {switch}", switch.span)


@fact(
    "control-disabled",
    "switch",
    lines=by_change("disabled"),
    meaning="its remote and automatic control is disabled at each point of control",
)
def control_disabled(case: PlanTrace, at: int, switch: Switch) -> bool:
    return case.timeline.control_disabled(at, switch)


@fact(
    "control-tagged",
    "switch",
    lines=by_change("control_tagged"),
    meaning="its remote and automatic control is tagged at each point of control",
)
def control_tagged(case: PlanTrace, at: int, switch: Switch) -> bool:
    return case.timeline.control_tagged(at, switch)


@fact(
    "control-always-on",
    "switch",
    timed=False,
    lines=where_stated("control_stays"),
    meaning="the design of its remote or automatic control does not let it be disabled",
)
def control_always_on(_case: PlanTrace, _at: int, switch: Switch) -> bool:
    return switch.control_stays


@fact(
    "in-public-reach",
    "switch",
    timed=False,
    lines=where_stated("reach"),
    meaning="people outside the employer's control can get at it",
)
def in_public_reach(_case: PlanTrace, _at: int, switch: Switch) -> Answer:
    if switch.public is None:
        what = f"whether people outside the employer's control can get at {switch}"
        return Unknown.of(what, f"switch {switch} within public reach", switch.span)
    return switch.public


# ---- an open point that one person keeps in hand ----

_SAID = ("in_sight", "in_reach", "one_crew", "sole")
_WRITE = "open {}, in sight, within reach, one crew, under sole control of L1"


def _opened(case: PlanTrace, at: int, switch: Switch) -> Event | None:
    """The step that opened it, where nothing closed it since."""
    found = case.timeline.changed_by(at, "operated", switch)
    return case.event(found) if found is not None and case.timeline.switch_position(at, switch) == "open" else None


def _said(case: PlanTrace, at: int, switch: Switch, slot: str, what: str) -> Answer:
    step = _opened(case, at, switch)
    stated = step is not None and step.slots.get(slot) is True
    return only_if(stated, what, _WRITE.format(switch), switch.span if step is None else step.span)


@fact(
    "control-claimed",
    "switch",
    lines=by_change("operated"),
    meaning="the step that opened it says that it is in sight, within reach, for one crew, or under sole control",
)
def control_claimed(case: PlanTrace, at: int, switch: Switch) -> bool:
    step = _opened(case, at, switch)
    return step is not None and any(step.slots.get(slot) not in (None, False) for slot in _SAID)


@fact("in-sight", "switch", lines=by_change("operated"), meaning="the employee in charge sees it from the work")
def in_sight(case: PlanTrace, at: int, switch: Switch) -> Answer:
    return _said(case, at, switch, "in_sight", f"whether {switch} is in sight of the employee in charge")


@fact("within-reach", "switch", lines=by_change("operated"), meaning="the employee in charge can get to it")
def within_reach(case: PlanTrace, at: int, switch: Switch) -> Answer:
    return _said(case, at, switch, "in_reach", f"whether the employee in charge can get to {switch}")


@fact(
    "at-hand",
    "switch",
    lines=by_change("operated"),
    meaning="whoever has it under sole control is up no other structure than that on which it hangs",
)
def at_hand(case: PlanTrace, at: int, switch: Switch) -> Answer:
    step = _opened(case, at, switch)
    person = step.slots.get("sole") if step is not None else None
    stand = case.timeline.stand(at, person) if isinstance(person, Person) else None
    if stand is None or (stand.point is not None and stand.point.sort == "earth"):
        return True
    if stand.structure is None or (switch.hangs is None and stand.structure in switch.sides):
        return how_far(switch, stand.structure or "211")
    if switch.hangs is stand.structure:
        return True
    if stand.point is None:  # who is on the ground there is believed
        return Unknown(
            stand.gaps or (Gap(f"what {person} stands on", f"enter {person} at 212 on the ground", switch.span),)
        )
    return False


def _holders(case: PlanTrace, at: int) -> list[tuple[Event, Holder]]:
    """Whoever received or took over a clearance up to and with a step."""
    READING.only(at)
    events = [case.event(now) for now in case.done(("receive", "transfer"), at + 1)]
    return [(step, taker_of(step) if step.kind == "transfer" else holder_of(step)) for step in events]


@fact(
    "for-one-crew",
    "switch",
    lines=by_change("operated"),
    meaning="the step that opened it says that one crew is on the line, and the plan shows no other",
)
def for_one_crew(case: PlanTrace, at: int, switch: Switch) -> Answer:
    holders = [holder for _, holder in _holders(case, at)]
    entering = [case.event(now).slots.get("person") for now in case.positions("enter")]
    people = {one for one in (*holders, *entering) if isinstance(one, Person)}
    crews = {person.crew for person in people if person.crew is not None}
    crews |= {holder for holder in holders if isinstance(holder, str)}
    # a crew that is declared and does nothing says nothing: struck out, it would be missed by nobody
    if len(crews) > 1:
        return False
    people = {holder for holder in holders if isinstance(holder, Person)} | {one for one in people if one.crew}
    same = len(people) < 2 or all(person.crew is not None for person in people)
    if not same or (crews and any(person.crew is None for person in people)):
        return Unknown.of(
            "whether those who hold a clearance are of one crew", "crew Larkspur: lineman L1 L2", switch.span
        )
    return _said(case, at, switch, "one_crew", "whether one crew is on the line")


@fact(
    "controlled-by-holder",
    "switch",
    lines=by_change("operated"),
    meaning="the clearance's one holder has it under sole control; or the person named, where no clearance is taken",
)
def controlled_by_holder(case: PlanTrace, at: int, switch: Switch) -> Answer:
    step = _opened(case, at, switch)
    person = step.slots.get("sole") if step is not None else None
    if not isinstance(person, Person):
        what = f"under whose sole control {switch} is"
        return Unknown.of(what, _WRITE.format(switch), switch.span if step is None else step.span)
    if not any(case.positions(kind) for kind in ("request", "receive", "transfer")):
        return True
    found: Answer = Unknown.of("who holds the clearance", f"clearance received by {person}", switch.span)
    for held, holder in _holders(case, at):
        if holder is None:
            return Unknown((name_the_holder(case, held),))
        if isinstance(holder, str):  # the crew holds it: who of them is in charge is not said
            if person.crew not in (None, holder):
                return False
            return Unknown.of(f"who of crew {holder} is in charge", f"clearance received by {person}", held.span)
        if holder is not person:
            return False
        found = True
    return found


# ---- network protectors ----


def _protector(name: str, attribute: str, clause: str, meaning: str) -> object:
    @fact(name, "switch", timed=False, lines=where_stated(attribute), meaning=meaning)
    def compute(_case: PlanTrace, _at: int, switch: Switch) -> Answer:
        stated = bool(getattr(switch, attribute))
        return only_if(stated, f"whether of {switch}: {meaning}", f"network protector {switch} {clause}", switch.span)

    return compute


trips_open = _protector(
    "trips-open", "trips_open", "trips open", "it trips open at once if closed while a primary conductor is dead"
)
tools_to_close = _protector(
    "tools-to-close", "tools_to_close", "tools to close", "it cannot be closed by hand without tools"
)
override_blocked = _protector(
    "override-blocked", "override_blocked", "override blocked", "its manual override position is blocked or disabled"
)
override_procedure = _protector(
    "override-procedure",
    "override_procedure",
    "override procedure",
    "a procedure finds out, before it is closed by hand, that the line is not dead for anybody and the primary is live",
)
