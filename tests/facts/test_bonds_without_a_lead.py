"""A bond of which the plan does not tell the lead is a bond all the same, and one with its lead comes off with it."""

from __future__ import annotations

from groundlint.facts import PlanTrace
from groundlint.facts.equipment import mat_bonded, rod_in_use
from groundlint.facts.leads import outermost
from groundlint.plan.models import Lead, Mat, Rod
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


def test_a_mat_is_bonded_no_more_when_its_lead_is_off() -> None:
    text = "line Larkspur\n  phases A B C\n  route 211 212\nstructure 211 212 wood\nlead G1\nbar K1\nmat M1\n"
    steps = "mount K1 at 211\nbond M1 to K1 with G1\ndetach G1 from M1 by hand, then from K1\n"
    plan = read_plan(Source("plan.tpg", text + steps)).plan
    case, (mat,) = PlanTrace(replay(plan)), plan.of(Mat)
    assert [mat_bonded.compute(case, at, mat) for at in range(5)] == [False, False, True, False, False]


def test_a_restored_ground_hangs_where_it_hung_whatever_puts_it_back() -> None:
    text = (
        "line Larkspur\n  phases A B C\n  route 211 212\nstructure 211 212 wood\nlead G1 G2\nbar K1\nmount K1 at 211\n"
    )
    on = "attach G1 to K1, then to 211 A by H1\nattach G2 to K1, then to 211 B by H1\nlift G1 from 211 A by H1\n"
    for back in ("restore G1 to 211 A by H1", "attach G1 to 211 A by H1"):
        plan = read_plan(Source("plan.tpg", text + on + back + "\n")).plan
        case, leads = PlanTrace(replay(plan)), plan.of(Lead)
        assert [outermost.compute(case, len(plan.actions), lead) for lead in leads] == [False, True]
