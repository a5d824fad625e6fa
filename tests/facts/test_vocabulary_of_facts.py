"""The vocabulary as such: every fact documented, every name one that a rule can write."""

from __future__ import annotations

import re

import pytest

from groundlint.facts import CATALOGUE
from groundlint.facts.catalogue import TRUTH, Fact
from groundlint.facts.kinds import NOT_THINGS, STEPS, kind_of
from groundlint.rulebook.reference import vocabulary
from groundlint.steps import KINDS
from groundlint.values import units

FACTS = list(CATALOGUE.facts.values())
NAME = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")

PROMISED = """
plan: method small-neutral access sources-complete parallel-stated neighbours-stated grounds-omitted omission-justified
 numbered emergency-stated cautions-stated soil-resistivity voltage altitude date-stated cleared clearance-requested
 released documented neutral-present neutral-multigrounded neutral-too-small shield-present
source: open located sort fault-stated fault-current ground-fault-current clearing-time x-over-r never-clears
 safe-from-reclosing reclosable voltage switched
switch: open tagged gap-visible verified before/source control sort
parallel: distance voltage current
neighbour: covered gap voltage at-structure/structure
person: briefed in-place reaching/point gloved on-ground in-bucket on-structure structure vehicle stand role qualified
 reach-stated zone-joined zone-grounded
point: grounded grounded-here found-dead tested clean feedable joined-to/point joined-here-to/point electrode phase
 neutral shield cut bridged structure conductor rod bar role at-worksite
lead: on fully-on ends lifted inspected length area copper-area metal grade-stated clamps-stated first-point
 second-point structure used ganged-with/lead personal floating
rod: set distance depth length barricaded structure barricade-distance in-use
bar: mounted structure height below-feet-of/person
structure: material worksite occupied phases-joined grounded neutral-joined shield-joined personal-ground
 first-side-grounded last-side-grounded first-side-bracketed last-side-bracketed between-grounds source-side-grounded
 neighbour-span-distance
 spans-to/structure distance/structure nearest-ground has-ground-available rod-alone
equipment: inspected test-stated time-since-test overdue used
detector: proven lowest highest tests-since-proof range-stated
stick: length
vehicle: bonded insulated body barricaded in-work
mat: bonded
step: by-hand result distance depth numbered seen protected text-stated across stage-change
"""


def promised() -> list[tuple[str, str, str | None]]:
    found = []
    for line in PROMISED.strip().replace("\n ", " ").splitlines():
        kind, names = line.split(": ")
        for name in names.split():
            word, _, other = name.partition("/")
            found.append((word, kind, other or None))
    return found


@pytest.mark.parametrize(("name", "kind", "other"), promised())
def test_a_promised_fact_is_there(name: str, kind: str, other: str | None) -> None:
    assert CATALOGUE.match(name, kind, other) is not None


@pytest.mark.parametrize("fact", FACTS, ids=lambda fact: fact.reads())
def test_every_fact_has_a_meaning_in_one_line(fact: Fact) -> None:
    assert 3 < len(fact.meaning) < 120
    assert "\n" not in fact.meaning
    assert not fact.meaning.endswith(".")


@pytest.mark.parametrize("fact", FACTS, ids=lambda fact: fact.reads())
def test_a_rule_can_write_every_name_and_word(fact: Fact) -> None:
    words = [fact.name] if isinstance(fact.returns, str) else [fact.name, *fact.returns]
    assert all(NAME.fullmatch(word) for word in words)


@pytest.mark.parametrize("fact", [f for f in FACTS if f.unit], ids=lambda fact: fact.reads())
def test_a_unit_is_one_of_the_fact_s_dimension(fact: Fact) -> None:
    assert isinstance(fact.returns, str)
    assert units.UNITS[fact.unit].dimension == fact.returns


def test_every_quantity_has_a_unit_to_print() -> None:
    quantities = [f for f in FACTS if f.returns in CATALOGUE.dimensions and f.returns not in CATALOGUE.kinds]
    assert [f.reads() for f in quantities if not f.unit and f.returns in units.SI_UNIT and f.returns != "number"] == []


def test_every_kind_and_step_has_a_meaning() -> None:
    assert all(kind.meaning for kind in CATALOGUE.kinds.values())
    assert all(step.meaning for step in CATALOGUE.steps.values())


def test_steps_are_the_plan_s_and_leave_out_only_what_a_fact_of_the_step_gives() -> None:
    assert [step.name for step in STEPS if not step.happening] == list(KINDS)
    left_out = {
        (kind, slot.name)
        for kind, declared in KINDS.items()
        for slot in declared.slots
        if slot.holds not in NOT_THINGS and slot.name not in {kept.name for kept in CATALOGUE.steps[kind].slots}
    }
    goods = {("cover", "goods"), ("gloves-on", "goods")}
    reached = {("enter", "reach"), ("move", "reach"), ("work", "touch"), ("handle", "touching")}
    hands = {("cover", "operator"), ("uncover", "operator")}
    assert left_out == {("prove", "live")} | reached | goods | hands
    assert CATALOGUE.match("live-part", "step", None) is not None
    assert CATALOGUE.match("reaching", "step", "point") is not None
    assert CATALOGUE.match("touching", "step", "point") is not None
    assert CATALOGUE.match("coverer", "step", None) is not None


def test_what_is_no_thing_of_a_plan_is_a_thing_at_least() -> None:
    assert kind_of(object()) == "thing"


def test_the_vocabulary_page_lists_every_fact() -> None:
    page = "\n".join(vocabulary(CATALOGUE))
    assert all(f"`{fact.reads()}`" in page for fact in FACTS)
    assert sum(fact.returns == TRUTH for fact in FACTS) == page.count("| true or false")
