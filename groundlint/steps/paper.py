"""What is said, signed and reported, and the task itself: steps that change nothing but what people know."""

from __future__ import annotations

from collections.abc import Sequence

from groundlint.plan.models import Action, Person
from groundlint.steps.kind import Slot, StepKind, Words, nothing
from groundlint.steps.run import Run
from groundlint.steps.saying import does_it, listed, named, reach_words, saying

TEXT = Slot("text", "text", quoted=True)
OPERATOR = Slot("operator", "person", "by", optional=True)


def _brief(run: Run, action: Action) -> None:
    person = action.slots.get("person")
    if isinstance(person, Person):
        run.world.briefed.put(person, run.position, run.index)


def _say_work(group: Sequence[Action], _words: Words) -> str:
    slots = group[0].slots
    at = f" at {named(slots.get('structure'))}" if slots.get("structure") is not None else ""
    touch = f", touching {reach_words(slots['touch'])}" if slots.get("touch") else ""
    return f"Work{at}: {named(slots.get('text'))}{does_it(group[0])}{touch}"


def _say_certify(group: Sequence[Action], _words: Words) -> str:
    slots = group[0].slots
    what = "the grounds are on" if slots.get("certified") == "grounds" else "the conductors are dead"
    return f"Sign at {named(slots.get('structure'))} that {what}{does_it(group[0])}"


BRIEF = StepKind(
    name="brief",
    verb="brief",
    meaning="a person has had the job briefing",
    slots=(Slot("person", "person"),),
    say=saying("Job briefing:", "person"),
    protects=True,
    does=_brief,
)
WORK = StepKind(
    name="work",
    verb="work",
    meaning="the task, for those in place",
    slots=(
        OPERATOR,
        Slot("structure", "structure", "at", optional=True),
        Slot("touch", "point", many=True, optional=True, meaning="what is worked on; None where not stated"),
        TEXT,
    ),
    say=_say_work,
    protects=False,
    does=nothing,
)
HOLD = StepKind(
    name="hold",
    verb="hold",
    meaning="a stop that the crew may not pass until a condition is met",
    slots=(TEXT,),
    say=lambda group, _: listed(group, "text"),
    protects=True,
    does=nothing,
)
CERTIFY = StepKind(
    name="certify",
    verb="certify",
    meaning="somebody signs that grounds are on, or that the conductors are dead",
    slots=(
        Slot("structure", "structure", "at"),
        OPERATOR,
        Slot("certified", "word", meaning="grounds or dead"),
    ),
    say=_say_certify,
    protects=True,
    does=nothing,
)
SHOCK = StepKind(
    name="shock",
    verb="shock",
    meaning="a person reports a shock",
    slots=(Slot("person", "person"),),
    say=lambda group, _: f"{listed(group, 'person')} had a shock",
    protects=False,
    does=nothing,
)
REPLAN = StepKind(
    name="replan",
    verb="replan",
    meaning="the job changes from what was briefed",
    slots=(TEXT._replace(quoted=False),),
    say=saying("The plan changes:", "text"),
    protects=False,
    does=nothing,
)
NOTE = StepKind(
    name="note",
    verb="note",
    meaning="words for the crew",
    slots=(TEXT,),
    say=saying("Note:", "text"),
    protects=False,
    does=nothing,
)
