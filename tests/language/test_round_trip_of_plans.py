"""Text to model to text, and model to JSON to model, lose nothing."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import planwright
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from groundlint.language.reader import read_statements
from groundlint.language.reference import WORKED
from groundlint.language.schema import json_schema, plan_from_json, plan_json
from groundlint.language.statements import PlanText, Routine, Statement, statement_classes
from groundlint.language.writer import write_plan, write_statement
from groundlint.text import Source

ROOT = Path(__file__).resolve().parents[2]
WRITTEN = sorted([*(ROOT / "tests" / "rules" / "practice_plans").glob("*.tpg"), *(ROOT / "examples").rglob("*.tpg")])

COMMENTED = """\
# Crossarm at 212
# second line

plan "Change out crossarm"   # a title

# the line
line Larkspur
  # its voltage
  voltage 12.47 kV # nominal
  route 211 (52 m), # first span
        212 (48 m), 213

lead G1 #2 copper 25 ft # 2 of these
routine ground (structure S, lead a)   # the routine
  # inside
  attach a to S N   # by hand
  stage work
# before the step
 9a. work "splice" # last

# after all

"""
CANONICAL = """\
# Crossarm at 212
# second line

plan "Change out crossarm"  # a title

# the line
line Larkspur
  # its voltage
  voltage 12.47 kV  # nominal
  route   211 (52 m) 212 (48 m) 213  # first span

lead G1 #2 copper 25 ft  # 2 of these
routine ground (structure S, lead a)  # the routine
  # inside
  attach a to S N  # by hand
stage work
  # before the step
  9a. work "splice"  # last

# after all
"""
EARTHING = """\
line Larkspur
  neutral   N multi-earthed
  earthwire EW
  wires     N 95 mm2 aluminium

source West beyond 211
  fault 5.2 kA to earth

structure 212 wood pole pole earth
earth-rod R1 1.8 m x 16 mm
earthing-lead G1 95 mm2 aluminium 8 m
voltage-indicator D1 for 5 kV to 40 kV
proving-unit T1
operating-pole H1 2.4 m
crew      linesman L1
permit    Larkspur received
attach    G1 to R1, then to 212 pole earth by H1
"""


def read(text: str) -> PlanText:
    found = read_statements(Source("plan.tpg", text))
    assert found.diagnostics == ()
    return found.text


def test_every_kind_is_tried() -> None:
    assert set(statement_classes()) == {cls.kind for cls in planwright.kinds()} == set(WORKED)


@pytest.mark.parametrize("path", WRITTEN, ids=lambda path: path.name)
def test_plans_as_written_come_back_the_same(path: Path) -> None:
    first = read(path.read_text())
    text = write_plan(first)
    assert read(text) == first
    assert write_plan(read(text)) == text
    assert plan_from_json(plan_json(first)).text == first


def test_comments_blank_lines_and_layout_are_kept() -> None:
    assert write_plan(read(COMMENTED)) == CANONICAL
    assert read(CANONICAL) == read(COMMENTED)
    assert write_plan(read(CANONICAL)) == CANONICAL
    assert write_plan(read(COMMENTED.replace("\n", "\r\n"))) == CANONICAL


def test_words_of_the_earthing_tradition_are_kept() -> None:
    plan = read(EARTHING)
    assert plan.tradition == "earth"
    assert write_plan(plan) == EARTHING
    grounding = write_plan(replace(plan, tradition="ground"))
    assert "earth" not in grounding
    assert read(grounding).statements == plan.statements


@pytest.mark.parametrize(
    ("said", "kind"),
    [
        ("earth-rod", "rod"),
        ("ground-rods", "rod"),
        ("cluster-bar", "bar"),
        ("earthing-leads", "lead"),
        ("voltage-indicator", "detector"),
        ("proving-unit", "tester"),
        ("operating-poles", "stick"),
    ],
)
def test_a_parameter_of_a_routine_is_of_the_kind_that_declares_it_in_either_tradition(said: str, kind: str) -> None:
    (routine,) = read(f"routine earth (pole S, {said} X Y)").statements
    assert isinstance(routine, Routine)
    assert [(param.sort, param.names) for param in routine.params] == [("structure", ("S",)), (kind, ("X", "Y"))]


def test_what_a_comment_or_text_says_is_no_tradition() -> None:
    assert read('plan "earth wire"  # an earth-rod\nrod earth1').tradition == "ground"
    assert read("stage permit\nrod R1").tradition == "ground"


@pytest.mark.parametrize("kind", sorted(WORKED))
def test_examples_of_the_reference_are_canonical(kind: str) -> None:
    (statement,) = read(WORKED[kind]).statements
    assert statement.kind == kind
    assert write_statement(statement) == WORKED[kind]


@pytest.mark.parametrize("cls", planwright.kinds(), ids=lambda cls: str(cls.kind))
@settings(max_examples=6, deadline=None)
@given(data=st.data())
def test_every_kind_comes_back_from_text_and_json(cls: type[Statement], data: st.DataObject) -> None:
    plan = PlanText((data.draw(planwright.statement(cls)),))  # type: ignore[arg-type]
    assert read(write_plan(plan)) == plan
    earth = read(write_plan(replace(plan, tradition="earth")))
    assert earth.statements == plan.statements
    reported = plan_from_json(plan_json(plan))
    assert reported.diagnostics == ()
    assert reported.text == plan


@settings(max_examples=50, deadline=None)
@given(planwright.plans())
def test_whole_plans_come_back_from_text_and_json(plan: PlanText) -> None:
    text = write_plan(plan)
    assert read(text) == plan
    assert write_plan(read(text)) == text
    assert plan_from_json(plan_json(plan)).text == plan


@settings(max_examples=20, deadline=None)
@given(planwright.plans())
def test_json_follows_the_published_schema(plan: PlanText) -> None:
    import jsonschema

    jsonschema.Draft202012Validator(json_schema()).validate(json.loads(plan_json(plan)))


@pytest.mark.parametrize("names", ["212 A", "212 C B", "3 m", "R1, 211 V, K1", "211 h 212 s"])
@pytest.mark.parametrize("verb", ["do", "repeat"])
def test_what_fills_a_routine_is_names_and_no_quantity(verb: str, names: str) -> None:
    (step,) = read(f"{verb} ground ({names})\n").statements
    assert step.names == tuple(names.replace(",", "").split())  # type: ignore[union-attr]
