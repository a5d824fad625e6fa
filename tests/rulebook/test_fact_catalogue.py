"""The catalogue: what it refuses, and which fact it finds for which kinds."""

from __future__ import annotations

import types

import pytest
from toy_catalogue import FACTS, KINDS, STEPS, TOY, looks

from groundlint.facts.catalogue import Catalogue, KindOfThing, Slot, StepKind, fact, facts_of


@pytest.mark.parametrize(
    ("kinds", "steps", "facts", "said"),
    [
        ((KindOfThing("lead"), KindOfThing("lead")), (), (), "kind lead stands twice"),
        ((KindOfThing("lead", ("cable",)),), (), (), "unknown parent cable"),
        ((KindOfThing("a", ("b",)), KindOfThing("b", ("a",))), (), (), "its own ancestor"),
        ((), (StepKind("tie", (Slot("lead", "lead"),)),), (), "slot lead has the unknown kind lead"),
        ((KindOfThing("lead"),), (StepKind("tie", (Slot("a", "lead"), Slot("b", "lead"))),), (), "one preposition"),
        ((KindOfThing("lead"),), (StepKind("tie", (Slot("a", "lead", "amid"),)),), (), "amid is not among"),
        ((KindOfThing("lead"),), (StepKind("tie", ()), StepKind("tie", ())), (), "step tie stands twice"),
        ((KindOfThing("lead"),), (), (looks("on", "lead"), looks("on", "lead")), "lead is on stands twice"),
        ((KindOfThing("lead"),), (), (looks("on", "rod"),), "unknown kind rod"),
        ((KindOfThing("lead"),), (), (looks("age", "lead", returns="tiem"),), "tiem is no dimension and no kind"),
        (
            (KindOfThing("lead"), KindOfThing("rod")),
            (),
            (looks("on", "lead"), looks("on", "rod", returns="length")),
            "a truth for one kind and a value for another",
        ),
    ],
)
def test_a_catalogue_that_contradicts_itself_is_refused(kinds: object, steps: object, facts: object, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        Catalogue.of(kinds, steps, facts, ("length",))  # type: ignore[arg-type]


def test_the_fact_of_the_nearest_kind_is_found() -> None:
    own = looks("grounded", "conductor")
    catalogue = Catalogue.of(KINDS, STEPS, (*FACTS, own), ("length", "current"))
    assert catalogue.match("grounded", "conductor", None) is own
    assert catalogue.match("grounded", "rod", None) == TOY.match("grounded", "point", None)
    assert catalogue.match("grounded", "lead", None) is None
    assert catalogue.match("joined-to", "lead", "rod") is not None
    assert catalogue.match("joined-to", "lead", None) is None
    assert catalogue.ancestors("rod") == ("rod", "point")


def test_a_signature_changes_with_what_a_check_depends_on_and_with_nothing_else() -> None:
    again = Catalogue.of(KINDS, STEPS, FACTS, ("length", "current", "area", "time"))
    assert again.signature() == TOY.signature()
    for facts, steps in (
        (FACTS[1:], STEPS),
        (FACTS, STEPS[1:]),
        ((*FACTS[1:], FACTS[0]._replace(timed=False)), STEPS),
        ((*FACTS, looks("bare", "rod")), STEPS),
    ):
        assert Catalogue.of(KINDS, steps, facts, ("length", "current", "area", "time")).signature() != TOY.signature()


def test_facts_are_collected_from_modules_once_and_in_order() -> None:
    module = types.ModuleType("toy_facts")

    @fact("b", "rod", meaning="b")
    def second(case: object, at: int, rod: object) -> bool:
        return True

    first = looks("a", "rod")
    module.first, module.second, module.alias = first, second, first  # type: ignore[attr-defined]
    assert facts_of(module) == (first, second)
    assert second.reads() == "rod is b"
    assert second.compute(None, 0, "R1") is True


def test_the_nearest_word_is_offered_only_if_it_is_near() -> None:
    assert TOY.nearest("groundd") == "grounded"
    assert TOY.nearest("zzzz") is None
    assert {"attach", "grounded", "copper", "stick", "plan"} <= set(TOY.words())
