"""What is said, signed and reported, and the task itself: steps that change nothing but what people know."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from groundlint.language import statements as s
from groundlint.plan.models import Action, Person, Structure
from groundlint.steps.kind import Kept, Slot, StepKind, Words, nothing, there
from groundlint.steps.run import Run
from groundlint.steps.saying import does_it, listed, named, reach_words, saying
from groundlint.steps.unfolding import Env, Unfolding, each, text
from groundlint.values import Gap

TEXT = Slot("text", "text", quoted=True)
OPERATOR = Slot("operator", "person", "by", optional=True)


def _brief(run: Run, action: Action) -> None:
    person = action.slots.get("person")
    if isinstance(person, Person):
        run.world.briefed.put(person, run.position, run.index)


def _say_work(group: Sequence[Action], _words: Words) -> str:
    slots = group[0].slots
    at = f" at {named(slots.get('structure'))}" if slots.get("structure") is not None else ""
    touches: list[Any] = [action.slots.get("touch") or () for action in group]
    touched = tuple(dict.fromkeys(point for touch in touches for point in touch))
    touch = f", touching {reach_words(touched)}" if touched else ""
    return f"Work{at}: {named(slots.get('text'))}{does_it(*group)}{touch}"


def _say_certify(group: Sequence[Action], _words: Words) -> str:
    slots = group[0].slots
    what = "the grounds are on" if slots.get("certified") == "grounds" else "the conductors are dead"
    return f"Sign at {named(slots.get('structure'))} that {what}{does_it(group[0])}"


def _from_brief(to: Unfolding, st: s.Brief, env: Env) -> None:
    people = (
        [t for t in to.declared.order if isinstance(t, Person)] if st.all else to.things(st.people or (), env, Person)
    )
    for person in people:
        to.put("brief", st, person=person)


def _work(run: Run, _action: Action) -> None:
    if run.world.pulling.last:
        run.world.pulling.put(run.position, False)


def _from_work(to: Unfolding, st: s.Work, env: Env) -> None:
    structure = to.at(st.at, env, "the work is", st) if st.at is not None else None
    for worker in [to.person(name, env) for name in to.names.expand(st.by)] or [None]:
        here = structure if isinstance(structure, Structure | Gap) else _one_place(to, worker)
        touch = tuple(to.names.points(st.touching, env, here)) if st.touching is not None else None
        to.put("work", st, operator=worker, structure=structure, touch=touch, text=str(st.text))


def _one_place(to: Unfolding, worker: Person | None) -> Structure | None:
    """Where the worker is; where nobody is named, or who is not in place, where everybody is who is. None where that is
    not one structure."""
    who = [worker] if worker in to.where else list(to.where)
    places = {place for one in who if isinstance(place := to.where[one]["structure"], Structure)}
    return places.pop() if len(places) == 1 else None


def _from_certify(to: Unfolding, st: s.Certify, env: Env) -> None:
    where = to.at(st.at, env, f"the {st.certified} signed for are", st)
    who = to.holder(st.by, env, "who signs", st)
    to.put("certify", st, structure=where, operator=who, certified=str(st.certified))


BRIEF = StepKind(
    name="brief",
    verb="brief",
    meaning="a person has had the job briefing",
    made_of={s.Brief: _from_brief},
    happens=(),
    slots=(Slot("person", "person"),),
    say=saying("Job briefing:", "person"),
    protects=(Kept("briefed", "briefed", there, again=True),),
    does=_brief,
)
WORK = StepKind(
    name="work",
    verb="work",
    meaning="the task, for those in place",
    made_of={s.Work: _from_work},
    happens=(),
    slots=(
        OPERATOR,
        Slot("structure", "structure", "at", optional=True),
        Slot("touch", "point", many=True, optional=True, meaning="what is worked on; None where not stated"),
        TEXT,
    ),
    say=_say_work,
    protects=None,
    does=_work,
)
HOLD = StepKind(
    name="hold",
    verb="hold",
    meaning="a stop that the crew may not pass until a condition is met",
    made_of={s.Hold: text},
    happens=(),
    slots=(TEXT,),
    say=lambda group, _: listed(group, "text"),
    protects=(),
    does=nothing,
)
CERTIFY = StepKind(
    name="certify",
    verb="certify",
    meaning="somebody signs that grounds are on, or that the conductors are dead",
    made_of={s.Certify: _from_certify},
    happens=(),
    slots=(
        Slot("structure", "structure", "at"),
        OPERATOR,
        Slot("certified", "word", meaning="grounds or dead"),
    ),
    say=_say_certify,
    protects=(),
    does=nothing,
)
SHOCK = StepKind(
    name="shock",
    verb="shock",
    meaning="a person reports a shock",
    made_of={s.Shock: each("person", Person)},
    happens=(),
    slots=(Slot("person", "person"),),
    say=lambda group, _: f"{listed(group, 'person')} had a shock",
    protects=None,
    does=nothing,
)
REPLAN = StepKind(
    name="replan",
    verb="replan",
    meaning="the job changes from what was briefed",
    made_of={s.Replan: text},
    happens=(),
    slots=(TEXT._replace(quoted=False),),
    say=saying("The plan changes:", "text"),
    protects=None,
    does=nothing,
)
NOTE = StepKind(
    name="note",
    verb="note",
    meaning="words for the crew",
    made_of={s.Note: text},
    happens=(),
    slots=(TEXT,),
    say=saying("Note:", "text"),
    protects=None,
    does=nothing,
)
