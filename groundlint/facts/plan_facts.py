"""Facts about the plan as a whole: its papers, its declarations, and the line."""

from __future__ import annotations

from collections import Counter
from typing import Any

from groundlint.facts.answers import Answer, all_of, any_of, at_line, at_plan, only_if, word
from groundlint.facts.catalogue import fact
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import (
    Conductor,
    Detector,
    Neighbour,
    ParallelCircuit,
    Person,
    Plan,
    Stick,
    Tester,
)
from groundlint.steps import KINDS
from groundlint.text import Span
from groundlint.text.numbering import order_of
from groundlint.values import Unknown


def line_span(case: PlanTrace) -> Span:
    """Where the line is declared, or the plan's first line."""
    return case.plan.line.span if case.plan.line is not None else case.plan.start


@fact(
    "method",
    "plan",
    returns=("single-point", "dual-point"),
    timed=False,
    lines=at_plan("method", "method declared"),
    meaning="the arrangement that the plan declares",
)
def method(_case: PlanTrace, _at: int, plan: Plan) -> str | Unknown:
    if plan.method is None:
        return Unknown.of("the method", "method dual-point", plan.start)
    return "single-point" if plan.method == "worksite" else plan.method


@fact(
    "small-neutral",
    "plan",
    timed=False,
    lines=at_plan("method", "method declared"),
    meaning="the plan declares the alternative for a neutral too small for the fault",
)
def small_neutral(case: PlanTrace, at: int, plan: Plan) -> Answer:
    if plan.small_neutral:
        return True
    found = neutral_too_small.compute(case, at, plan)  # where it is not, there is nothing to declare
    return False if found is False else _neutral_duty(case)


def _neutral_duty(case: PlanTrace) -> Unknown:
    line = case.plan.line
    found = line.neutral if line is not None else None
    name, where = (found, found.span) if isinstance(found, Conductor) else ("N", line_span(case))
    write = f"neutral {name} carries the fault"
    return Unknown.of("whether the neutral carries the fault", write, where)


@fact(
    "access",
    "plan",
    returns=("pole", "bucket", "steel"),
    timed=False,
    lines=at_plan("access", "access declared"),
    meaning="what the work is done from, as the method declares it",
)
def access(_case: PlanTrace, _at: int, plan: Plan) -> str | Unknown:
    if plan.access is None:
        write = "method single-point from the pole"
        return Unknown.of("what the work is done from", write, plan.place("method"))
    return plan.access


@fact(
    "sources-complete",
    "plan",
    timed=False,
    lines=at_plan("sources_complete", "no other source"),
    meaning="the plan says that there is no source but those it states",
)
def sources_complete(_case: PlanTrace, _at: int, plan: Plan) -> Answer:
    return True if plan.sources_complete else Unknown((plan.source_gap,))


def _has_a_step(case: PlanTrace, person: Person) -> bool:
    """Whether a step other than a briefing is the person's or the crew's: a crew that does nothing is no second one."""
    kinds = tuple(kind for kind in KINDS if kind != "brief")
    if case.steps_naming(kinds, person):
        return True
    return person.crew is not None and any(action.slots.get("crew") == person.crew for action in case.actions)


@fact(
    "several-crews",
    "plan",
    timed=False,
    meaning="people of two crews or more have steps in the plan",
)
def several_crews(case: PlanTrace, _at: int, _plan: Plan) -> Answer:
    people = [person for person in case.people if _has_a_step(case, person)]
    if len({person.crew for person in people} - {None}) > 1:
        return True
    lines = {(place.source.name, place.start) for place in (person.place("crew") for person in people)}
    if len(lines) < 2:
        return False
    unnamed = next((person for person in people if person.crew is None), None)
    if unnamed is None:
        return False
    return Unknown.of(f"which crew {unnamed} is of", f"crew North: lineman {unnamed}", unnamed.span)


@fact(
    "parallel-stated",
    "plan",
    timed=False,
    lines=at_plan("no_parallel", "no parallel line"),
    meaning="the plan states a circuit beside the line, or that there is none",
)
def parallel_stated(case: PlanTrace, _at: int, plan: Plan) -> Answer:
    stated = plan.no_parallel or bool(case.all(ParallelCircuit))
    return only_if(stated, "whether a circuit runs beside the line", "no parallel line", plan.start)


@fact(
    "neighbours-stated",
    "plan",
    timed=False,
    lines=at_plan("neighbours_complete", "no other neighbour"),
    meaning="the plan states live parts near the work, or that there are none",
)
def neighbours_stated(case: PlanTrace, _at: int, plan: Plan) -> Answer:
    stated = plan.neighbours_complete or bool(case.all(Neighbour))
    return only_if(stated, "whether live parts are near the work", "no neighbour", plan.start)


@fact(
    "grounds-omitted",
    "plan",
    timed=False,
    lines=at_plan("no_grounds", "no grounds"),
    meaning="the plan declares that the work is done without grounds",
)
def grounds_omitted(_case: PlanTrace, _at: int, plan: Plan) -> bool:
    return plan.no_grounds is not None


@fact(
    "omission-safer",
    "plan",
    timed=False,
    lines=at_plan("no_grounds", "no grounds"),
    meaning="the plan states that the grounds that it omits would be more hazardous",
)
def omission_safer(_case: PlanTrace, _at: int, plan: Plan) -> Answer:
    stated = "more hazardous" in (plan.no_grounds or ())
    where = plan.place("no_grounds")
    return only_if(stated, "that grounds would be more hazardous", "no grounds more hazardous", where)


@fact(
    "omission-justified",
    "plan",
    timed=False,
    lines=at_plan("no_grounds", "no grounds"),
    meaning="no contact possible, no induction, and grounds impracticable or more hazardous, all stated",
)
def omission_justified(_case: PlanTrace, _at: int, plan: Plan) -> Answer:
    stated = {" ".join(condition.lower().split()) for condition in plan.no_grounds or ()}
    where = plan.place("no_grounds")

    def one(fact_: str, *spellings: str) -> Answer:
        return only_if(any(s in stated for s in spellings), fact_, f"no grounds {spellings[0]}", where)

    return all_of(
        (
            one(
                "that no contact with another circuit is possible",
                "no contact possible",
                "no contact",
                "no other contact",
                "no other contact possible",
            ),
            one("that there is no induction", "no induction"),
            any_of(
                (
                    one("that grounds are impracticable", "impracticable"),
                    one("that grounds would be more hazardous", "more hazardous"),
                )
            ),
        )
    )


@fact(
    "omission-stated",
    "plan",
    timed=False,
    lines=at_plan("no_grounds", "no grounds"),
    meaning="the plan declares that the work is done without grounds and states all that lets it be",
)
def omission_stated(case: PlanTrace, at: int, plan: Plan) -> bool:
    return omission_justified.compute(case, at, plan) is True


@fact("numbered", "plan", timed=False, meaning="every step outside routines has a number, and the numbers rise")
def numbered(case: PlanTrace, _at: int, plan: Plan) -> Answer:
    if plan.numbered:
        return True
    last: tuple[int, ...] = ()
    bare: Span | None = None
    for action in case.actions:
        if action.number is None:
            bare = bare or (action.span if action.use is None else None)
            continue
        now = order_of(action.number)
        if now < last:
            return False
        last = now
    return Unknown.of("the numbers of the steps", "", bare or plan.start)  # every step


@fact("emergency-stated", "plan", timed=False, meaning="the plan says what to do in an emergency")
def emergency_stated(_case: PlanTrace, _at: int, plan: Plan) -> Answer:
    write = 'emergency "call dispatch on channel 1; bring the injured down by hand line"'
    return only_if(bool(plan.emergencies), "what to do in an emergency", write, plan.start)


@fact("cautions-stated", "plan", timed=False, meaning="the plan gives cautions to tell the crew")
def cautions_stated(_case: PlanTrace, _at: int, plan: Plan) -> Answer:
    return only_if(bool(plan.cautions), "the cautions for the crew", 'caution "stay clear of the rod"', plan.start)


@fact(
    "soil-resistivity",
    "plan",
    returns="resistivity",
    timed=False,
    unit="ohm m",
    lines=at_plan("soil", "soil stated"),
    meaning="resistivity of the soil, of its upper layer where there are two",
)
def soil_resistivity(_case: PlanTrace, _at: int, plan: Plan) -> float | Unknown:
    return plan.soil[0] if plan.soil else Unknown.of("the soil's resistivity", "soil 120 ohm m", plan.start)


def of_line(case: PlanTrace, attribute: str, fact_: str, write: str) -> float | Unknown:
    """A quantity of the line worked on, in SI; ``fact_`` and ``write`` are the gap where it is not stated."""
    line = case.plan.line
    if line is None:
        return Unknown.of("the line", "line Larkspur", case.plan.start)
    value: float | None = getattr(line, attribute)
    return Unknown.of(fact_, write, line.span) if value is None else value


@fact(
    "voltage",
    "plan",
    returns="voltage",
    timed=False,
    unit="kV",
    lines=at_line("voltage", "voltage of the line"),
    meaning="nominal voltage of the line, between phases",
)
def voltage(case: PlanTrace, _at: int, _plan: Plan) -> float | Unknown:
    return of_line(case, "voltage", "the line's voltage", "voltage 12.47 kV")


@fact(
    "frequency",
    "plan",
    returns="frequency",
    timed=False,
    unit="Hz",
    lines=at_line("frequency", "its frequency"),
    meaning="frequency of the line",
)
def frequency(case: PlanTrace, _at: int, _plan: Plan) -> float | Unknown:
    return of_line(case, "frequency", "the line's frequency", "frequency 60 Hz")


@fact(
    "altitude",
    "plan",
    returns="length",
    timed=False,
    unit="ft",
    lines=at_line("altitude", "altitude of the line"),
    meaning="altitude of the line",
)
def altitude(case: PlanTrace, _at: int, _plan: Plan) -> float | Unknown:
    return of_line(case, "altitude", "the line's altitude", "altitude 2000 ft")


@fact("date-stated", "plan", timed=False, lines=at_plan("dated", "date"), meaning="the plan has a date")
def date_stated(_case: PlanTrace, _at: int, plan: Plan) -> Answer:
    write = "document LP-0417 revision 3 dated 2026-03-02"
    return only_if(plan.dated is not None, "the plan's date", write, plan.place("document"))


@fact(
    "documented",
    "plan",
    timed=False,
    lines=at_plan("document", "document"),
    meaning="the plan has a document number, a revision and a date",
)
def documented(_case: PlanTrace, _at: int, plan: Plan) -> Answer:
    write, where = "document LP-0417 revision 3 dated 2026-03-02", plan.place("document")
    return all_of(
        (
            only_if(plan.document is not None, "the document number", write, where),
            only_if(plan.revision is not None, "the revision", write, where),
            only_if(plan.dated is not None, "the plan's date", write, where),
        )
    )


def neutral_of(case: PlanTrace) -> Conductor | bool | Unknown:
    """The neutral: the conductor, False where the plan says there is none, Unknown where it does not say."""
    line = case.plan.line
    found: Conductor | bool | None = line.neutral if line is not None else None
    if found is None or found is True:
        return Unknown.of("whether the line has a neutral", "neutral N multigrounded", line_span(case))
    return found


def shields_of(case: PlanTrace) -> tuple[Conductor, ...] | Unknown:
    """The shield wires: empty where the plan says that there is none, Unknown where it does not say."""
    line = case.plan.line
    if line is None or line.shield is None:
        return Unknown.of("whether the line has a shield wire", "no shield wire", line_span(case))
    return line.shield


@fact("neutral-present", "plan", timed=False, lines=at_line("neutral", "neutral"), meaning="the line has a neutral")
def neutral_present(case: PlanTrace, _at: int, _plan: Plan) -> Answer:
    found = neutral_of(case)
    return True if isinstance(found, Conductor) else found


@fact(
    "neutral-multigrounded",
    "plan",
    timed=False,
    lines=at_line("neutral", "neutral"),
    meaning="the neutral is grounded at many structures",
)
def neutral_multigrounded(case: PlanTrace, _at: int, plan: Plan) -> Answer:
    found = neutral_of(case)
    if not isinstance(found, Conductor):
        return found
    earthing = plan.line.neutral_earthing if plan.line is not None else None
    if earthing is None:
        return Unknown.of("how the neutral is grounded", f"neutral {found} multigrounded", found.span)
    return word(earthing) in ("multigrounded", "multi-grounded", "multi-earthed")


@fact(
    "neutral-too-small",
    "plan",
    timed=False,
    lines=at_line("neutral", "neutral"),
    meaning="the neutral is stated to be too small for the fault",
)
def neutral_too_small(case: PlanTrace, _at: int, plan: Plan) -> Answer:
    line = plan.line
    if line is None or line.neutral is None or line.neutral is True:
        return _neutral_duty(case)
    if line.neutral is False:
        return False
    return _neutral_duty(case) if line.neutral_duty is None else line.neutral_duty.startswith("too")


@fact(
    "shield-present", "plan", timed=False, lines=at_line("shield", "shield wire"), meaning="the line has a shield wire"
)
def shield_present(case: PlanTrace, _at: int, _plan: Plan) -> Answer:
    found = shields_of(case)
    return found if isinstance(found, Unknown) else bool(found)


@fact("title-stated", "plan", timed=False, meaning="the plan has a title that says what the job is")
def title_stated(_case: PlanTrace, _at: int, plan: Plan) -> Answer:
    return only_if(bool(plan.title), "the plan's title", 'plan "Change out crossarm at structure 212"', plan.start)


def _usual(case: PlanTrace, kind: type[Any]) -> Any:
    """The thing of a kind that most steps name, the first declared of those; None without any."""
    named = Counter(value for action in case.actions for value in action.slots.values() if isinstance(value, kind))
    return max(case.all(kind), key=lambda one: named[one], default=None)


@fact("usual-stick", "plan", returns="stick", timed=False, meaning="the live-line tool that most steps name, or none")
def usual_stick(case: PlanTrace, _at: int, _plan: Plan) -> Stick | None:
    found: Stick | None = _usual(case, Stick)
    return found


@fact("usual-detector", "plan", returns="detector", timed=False, meaning="the detector that most steps name, or none")
def usual_detector(case: PlanTrace, _at: int, _plan: Plan) -> Detector | None:
    found: Detector | None = _usual(case, Detector)
    return found


@fact("usual-tester", "plan", returns="tester", timed=False, meaning="the tester that most steps name, or none")
def usual_tester(case: PlanTrace, _at: int, _plan: Plan) -> Tester | None:
    found: Tester | None = _usual(case, Tester)
    return found
