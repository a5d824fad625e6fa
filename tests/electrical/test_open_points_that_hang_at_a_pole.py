"""An open point that hangs at a pole parts the line there as a cut does: leads across it carry what comes past it."""

from __future__ import annotations

import pytest

from groundlint.electrical.study.results import lead_duty
from groundlint.electrical.study.study import Study, study_of
from groundlint.plan.models import Lead, Plan, SupplySource
from groundlint.reading import read_plan
from groundlint.text import Source
from groundlint.timeline import replay
from groundlint.values import Unknown
from groundlint.values.bounds import ends

PLAN = """\
line Larch
  voltage 12.47 kV
  frequency 60 Hz
  phases A B C
  neutral N multigrounded carries the fault
  no shield wire
  wires A B C 336.4 kcmil acsr 18/1, N 1/0 acsr
  route 59 (180 ft) 60 (180 ft) 61 (180 ft) 62 (180 ft) 63
  spacing crossarm-8ft
source West utility beyond 59
  fault 3.8 kA three-phase, 3 kA to ground, x/r 5
  clears in 24 cycles
source East tie beyond 63
  fault 12 kA three-phase, 10 kA to ground, x/r 6
  clears in 30 cycles
no source but West, East
no parallel line
no live neighbour
switch SW1 between West and 59 open
switch SW2 between East and 63 open
{gate}
pole 59..63 wood
soil 100 ohm m
lead G1..G6 2/0 copper 15 ft grade 3
stick S1 10 ft
crew lineman Sal
stage ground
attach G1 to 61 N by S1, then to 61 A by S1
attach G2 to 61 A by S1, then to 61 B by S1
attach G3 to 61 B by S1, then to 61 C by S1
bond across 61 A with G4 by S1
bond across 61 B with G5 by S1
bond across 61 C with G6 by S1
{step}
enter Sal at 61 on the pole, reaching A B C N
"""


def studied(gate: str, step: str = 'note "nothing"') -> Study:
    result = read_plan(Source("plan.tpg", PLAN.format(gate=gate, step=step)))
    assert not result.plan.unread, [one.message for one in result.diagnostics]
    found = study_of(replay(result.plan))
    assert isinstance(found, Study)
    return found


def current(study: Study, lead: str, source: str) -> tuple[float, float]:
    plan: Plan = study.timeline.plan
    (one,) = (thing for thing in plan.of(Lead) if thing.name == lead)
    (fed,) = (thing for thing in plan.of(SupplySource) if thing.name == source)
    assert isinstance(one, Lead)
    assert isinstance(fed, SupplySource)
    duty = lead_duty(study, one, fed)
    assert duty is not None
    assert not isinstance(duty, Unknown)
    assert not isinstance(duty.current, Unknown)
    return ends(duty.current)


@pytest.mark.parametrize("order", ["61 and 62", "62 and 61"])
def test_leads_across_it_carry_what_a_cut_would_have_them_carry(order: str) -> None:
    hung = studied(f"recloser RX5 between {order} at 61 open")
    cut = studied("", "cut 61 A\ncut 61 B\ncut 61 C")
    for lead in ("G1", "G4", "G6"):
        assert current(hung, lead, "East") == pytest.approx(current(cut, lead, "East"), rel=5e-3)
    assert current(hung, "G4", "East")[0] > 1000


def test_on_the_other_side_of_the_pole_it_is_the_other_source_that_they_carry() -> None:
    found = studied("recloser RX5 between 60 and 61 at 61 open")
    assert current(found, "G4", "West")[0] > 1000
    assert current(found, "G1", "West")[0] > 1000


def test_closed_it_carries_beside_them() -> None:
    found = studied("recloser RX5 between 61 and 62 at 61 closed")
    assert current(found, "G4", "East")[1] <= 1
    assert current(found, "G1", "East")[0] > 1000


@pytest.mark.parametrize("pair", ["61 and TX", "TX and 61"])
def test_open_points_in_series_may_name_the_pole_first_or_last(pair: str) -> None:
    gates = f"breaker TX between Genset and FB closed\ncutouts FB between {pair} at 61 closed\n"
    genset = (
        "source Genset customer generation at 61\n  voltage 480 V\n  fault 2 kA three-phase, 2 kA to ground, x/r 4\n"
    )
    plan = PLAN.replace("no source but West, East", genset + "no source but West, East, Genset")
    result = read_plan(Source("plan.tpg", plan.format(gate=gates, step='note "on"')))
    assert not result.plan.unread, [one.message for one in result.diagnostics]
    assert isinstance(study_of(replay(result.plan)), Study)
