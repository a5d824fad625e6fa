"""An exercise: a kind of step that the language does not have is declared in one place, and all tables have it."""

from __future__ import annotations

from typing import Any

import pytest

from groundlint.facts.kinds import step_kind
from groundlint.language.statements import Attach, Step
from groundlint.plan.models import Action, Lead
from groundlint.reading.unfold import UNFOLDING
from groundlint.steps import KINDS, declared, leads, step_label, unfolding
from groundlint.steps.ends import end_at, put_on
from groundlint.steps.kind import BY_STICK, GROUNDS, Slot, StepKind
from groundlint.steps.leads import ATTACH, LEAD
from groundlint.steps.run import Run
from groundlint.steps.saying import listed
from groundlint.timeline import replay
from groundlint.timeline.happenings import happenings


class Shoot(Step):
    """A lead is shot onto a conductor from the ground, by a line."""


def _shoot(run: Run, action: Action) -> None:
    lead = action.slots["lead"]
    assert isinstance(lead, Lead)
    put_on(run, lead, end_at(run, action.slots["point"], "where the lead is shot", "shoot G1 onto 212 A"))


SHOOT = StepKind(
    name="shoot",
    verb="shoot",
    meaning="a lead is shot onto a conductor",
    made_of={Shoot: lambda to, st, env: None},
    happens=("goes-on",),
    slots=(LEAD, Slot("point", "point", "onto"), BY_STICK),
    say=lambda group, words: f"Shoot {listed(group, 'lead')} onto {listed(group, 'point')}",
    protects=(GROUNDS,),
    does=_shoot,
)
WITH_IT = KINDS | {SHOOT.name: SHOOT}


def test_what_it_does_is_seen_by_all_that_ask_the_world(site: Any) -> None:
    made = site()
    point, lead = made.point("212 A"), made["G1"]
    slots = {"lead": lead, "point": point, "stick": None}
    plan = made.plan()
    shot = Action("shoot", slots, made.span(0))
    timeline = replay(type(plan)(**{**vars(plan), "actions": (shot,)}), WITH_IT)
    assert timeline.leads_on(1, point) == (lead,)
    assert timeline.hung(1, lead) == 0
    assert timeline.changed_by(1, "hanging", point) == 0
    assert [happening.kind for happening in happenings(timeline)[0]] == ["goes-on", "first-end-on"]
    assert SHOOT.label(shot) == step_label(shot, kinds=WITH_IT) == "shoot G1 onto 212 A"


def test_the_rules_and_the_reading_have_it_from_its_declaration() -> None:
    found = step_kind(SHOOT)
    assert (found.name, found.meaning, found.happens) == (SHOOT.name, SHOOT.meaning, SHOOT.happens)
    assert [(slot.name, slot.preposition) for slot in found.slots] == [
        ("lead", None),
        ("point", "onto"),
        ("stick", "by"),
    ]
    assert unfolding(WITH_IT).keys() - UNFOLDING.keys() == {Shoot}


def test_a_kind_that_lacks_a_part_can_not_be_written() -> None:
    parts = SHOOT._asdict()
    for part in parts:
        with pytest.raises(TypeError):
            StepKind(**{name: value for name, value in parts.items() if name != part})


def test_a_kind_can_not_stand_twice_nor_a_statement_mean_two_things() -> None:
    class Twice:
        ONE, OTHER = SHOOT, SHOOT._replace(verb="throw")

    assert declared(leads)[ATTACH.name] is ATTACH
    with pytest.raises(ValueError, match="shoot stands twice"):
        declared(Twice)  # type: ignore[arg-type]
    other = SHOOT._replace(made_of={Attach: lambda to, st, env: None})
    with pytest.raises(ValueError, match="something else of Attach"):
        unfolding(KINDS | {"shoot": other})
