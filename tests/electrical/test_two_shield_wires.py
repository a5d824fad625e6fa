"""Two shield wires on a line, and named spacings whose phases go by other names than A, B and C."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from groundlint.electrical.physics.spacings import SPACINGS
from groundlint.electrical.study.line import LineConstants, line_constants
from groundlint.electrical.study.parts import Register
from groundlint.findings.compare import value_changes
from groundlint.findings.likeness import likeness
from groundlint.language.reader import read_statements
from groundlint.language.schema import plan_from_json, plan_json
from groundlint.language.writer import write_plan
from groundlint.plan.models import Plan, PointRef
from groundlint.reading.resolve import read_plan
from groundlint.text import Source
from groundlint.timeline.replay import replay
from groundlint.values import Truth

LINE = """\
line Larkspur
  voltage 230 kV
  frequency 60 Hz
  phases Red White Blue
  no neutral
  shield S1 S2
  wires Red White Blue 795 kcmil acsr, S1 S2 3/0 acsr
  spacing h-frame-230kv
  route 211 (300 m) 212
structure 211 steel pole
structure 212 wood pole
"""


def read(text: str) -> Plan:
    found = read_plan(Source("plan.tpg", text))
    assert not found.diagnostics, found.diagnostics
    return found.plan


def constants(plan: Plan) -> LineConstants:
    assert plan.line is not None
    return line_constants(plan, plan.line.conductors, 60.0, Register())


def test_each_has_its_place_and_is_read_back() -> None:
    plan = read(LINE)
    assert plan.line is not None
    assert [(one.name, one.role) for one in plan.line.conductors[3:]] == [("S1", "shield"), ("S2", "shield")]
    found = constants(plan)
    assert not found.gaps
    here = found.arrangements[0]
    frame = SPACINGS["h-frame-230kv"]
    assert np.column_stack([here.x, here.y]) == pytest.approx(np.array([*frame.phases, *frame.shields]))
    text = read_statements(Source("plan.tpg", LINE)).text
    assert read_statements(Source("plan.tpg", write_plan(text))).text.statements == text.statements
    assert plan_from_json(plan_json(text)).text == text


def test_two_take_more_of_a_fault_to_ground_than_one() -> None:
    """Zero-sequence impedance with the shield wires at zero volts, by Kron's reduction written out here; two in
    parallel leave less of it than one, and one less than none."""
    one = constants(read(LINE.replace("S1 S2", "S1"))).z
    two = constants(read(LINE)).z

    def zero(z: np.ndarray) -> complex:
        left = z[:3, :3] - z[:3, 3:] @ np.linalg.inv(z[3:, 3:]) @ z[3:, :3] if len(z) > 3 else z
        return complex(left.sum() / 3)

    assert zero(two).imag < zero(one).imag < zero(two[:3, :3]).imag


@pytest.mark.parametrize("shields", ["no shield wire", "shield S1", "shield S1 S2"])
@pytest.mark.parametrize("neutral", ["no neutral", "neutral N multigrounded"])
def test_no_two_conductors_hang_in_one_place_where_no_spacing_is_stated(shields: str, neutral: str) -> None:
    text = LINE.replace("  spacing h-frame-230kv\n", "").replace("shield S1 S2", shields).replace("no neutral", neutral)
    text = text.replace(", S1 S2 3/0 acsr", "").replace("  no shield S1", "  shield S1")
    for here in constants(read(text)).arrangements:
        spots = list(zip(here.x, here.y, strict=True))
        nearest = min(math.dist(a, b) for a, b in itertools.combinations(spots, 2))
        spread = max(math.dist(a, b) for a, b in itertools.combinations(spots[:3], 2)) / 2
        assert nearest == pytest.approx(spread)  # the distance between phases, and nothing nearer


def test_a_spacing_without_room_for_both_is_a_gap() -> None:
    found = constants(read(LINE.replace("h-frame-230kv", "post-69kv")))
    assert [gap.fact for gap in found.gaps] == ["positions of the conductors in spacing post-69kv"]
    assert found.gaps[0].write == "spacing h-frame-115kv"  # which has room for three phases and two shield wires


@pytest.mark.parametrize("name", sorted(SPACINGS))
@pytest.mark.parametrize("names", ["A B C", "L1 L2 L3", "Red White Blue", "Brown Black Grey"])
def test_a_spacing_takes_phases_of_any_name(name: str, names: str) -> None:
    frame = SPACINGS[name]
    phases = " ".join(names.split()[: len(frame.phases)])
    text = LINE.replace("Red White Blue", phases).replace("h-frame-230kv", name)
    text = text.replace(", S1 S2 3/0 acsr", "").replace("shield S1 S2", "no shield wire")
    found = constants(read(text))
    assert not found.gaps
    here = found.arrangements[0]
    assert np.column_stack([here.x, here.y]) == pytest.approx(np.array(frame.phases))


def test_steel_grounds_each_and_wood_none() -> None:
    plan = read(LINE)
    timeline = replay(plan)
    assert plan.line is not None
    assert plan.line.shield is not None
    steel, wood = plan.route
    for wire in plan.line.shield:
        assert timeline.grounded(0, PointRef("conductor", steel, wire), local=True) is Truth.TRUE
        assert timeline.grounded(0, PointRef("conductor", wood, wire), local=True) is not Truth.TRUE
    first, second = (PointRef("conductor", steel, wire) for wire in plan.line.shield)
    assert timeline.joined(0, first, second) is Truth.TRUE


@pytest.mark.parametrize(
    ("words", "said"),
    [("shield S1 S2", "S1, S2"), ("no shield wire", "none"), ("", None)],
)
def test_a_revision_tells_none_from_not_stated(words: str, said: str | None) -> None:
    old, text = read(LINE.replace("shield S1 S2", "shield S9").replace("S1 S2 3/0", "S9 3/0")), LINE
    new = read(text.replace("shield S1 S2", words).replace(", S1 S2 3/0 acsr", ""))
    changes = value_changes(old, new, likeness(old, new))
    assert [(one.old, one.new) for one in changes if one.attribute == "shield"] == [("S9", said)]


def test_a_third_is_refused_by_name() -> None:
    found = read_plan(Source("plan.tpg", LINE.replace("shield S1 S2", "shield S1 S2 S3")))
    assert [(one.code, one.span.text) for one in found.diagnostics] == [("too-many-shield-wires", "S3")]
    assert found.plan.line is not None
    assert found.plan.line.shield is None
