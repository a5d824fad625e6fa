"""A lead is rated by the lowest of its parts (ASTM F855 1.6, note 1): clamps of a lower grade than it says count."""

from __future__ import annotations

import pytest

from groundlint.electrical.study.results import LeadDuty, lead_duty
from groundlint.electrical.study.study import Study, study_of
from groundlint.plan.models import Lead, SupplySource
from groundlint.reading import read_plan
from groundlint.text import Source
from groundlint.timeline import replay
from groundlint.values.bounds import ends

PLAN = """\
line Larkspur
  voltage   12.47 kV
  frequency 60 Hz
  phases    A B C
  no neutral
  no shield wire
  wires     A B C 336.4 kcmil acsr
  spacing   crossarm-8ft
  route     211 (52 m) 212
source West beyond 211
  fault     9 kA three-phase, 5.2 kA to ground, x/r 1.8
  clears    in 15 cycles
no other source
no parallel line
structure 211 212 steel pole footing 5 ohm
lead      G1..G3      2/0 copper 25 ft grade {grade}{clamps}
stick     H1          8 ft
stage ground
  attach    G1 to 212 steel, then to 212 A by H1
  attach    G2 to 212 A by H1, then to 212 B by H1
  attach    G3 to 212 B by H1, then to 212 C by H1
"""


def duty(grade: str, clamps: str) -> LeadDuty:
    found = study_of(replay(read_plan(Source("plan.tpg", PLAN.format(grade=grade, clamps=clamps))).plan))
    assert isinstance(found, Study)
    lead, source = (next(thing for thing in found.timeline.plan.of(sort)) for sort in (Lead, SupplySource))
    assert isinstance(lead, Lead)
    assert isinstance(source, SupplySource)
    one = lead_duty(found, lead, source)
    assert isinstance(one, LeadDuty)
    return one


@pytest.mark.parametrize(
    ("grade", "clamps", "rated", "by"),
    [
        ("3", "", 27e3, "grade 3"),
        ("3", " clamps C-type of grade 3", 27e3, "grade 3"),
        ("3", " clamps C-type of grade 1", 14e3, "its clamps, grade 1"),  # ASTM F855 Table 1, 15 cycles
        ("1", " clamps C-type of grade 3", 14e3, "grade 1"),
        ("3H", " clamps C-type of grade 1", 14e3, "its clamps, grade 1"),
    ],
)
def test_the_lowest_part_rules(grade: str, clamps: str, rated: float, by: str) -> None:
    found = duty(grade, clamps)
    assert found.rating == rated
    assert found.basis.startswith(by)
    assert ends(found.loading)[1] == pytest.approx(ends(found.duty)[1] / rated, rel=0.1)  # type: ignore[arg-type]
