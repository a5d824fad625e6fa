"""A bond of which the plan does not tell the lead is a bond all the same."""

from __future__ import annotations

from groundlint.facts import PlanTrace
from groundlint.facts.equipment import rod_in_use
from groundlint.plan.models import Rod
from groundlint.reading import read_plan
from groundlint.text import Source
from groundlint.timeline import replay

TEXT = """\
line Larkspur
  phases A B C
  route 211 212
structure 211 212 wood
rod R1 R2
lead G1
vehicle V1 bucket insulated
set R1 at 211
bond V1 to R1
unbond V1
bond V1 to R1 with G1
"""


def test_a_rod_is_in_use_while_anything_is_bonded_to_it() -> None:
    plan = read_plan(Source("plan.tpg", TEXT)).plan
    case = PlanTrace(replay(plan))
    one, other = (thing for thing in plan.things if isinstance(thing, Rod))
    positions = range(len(plan.actions) + 1)
    assert [rod_in_use.compute(case, at, one) for at in positions] == [False, False, True, False, True]
    assert [rod_in_use.compute(case, at, other) for at in positions] == [False] * 5
