"""Shield wires of steel, clad with aluminium or coated with zinc: what is published, and what changes with current."""

from __future__ import annotations

import pytest

from groundlint.electrical.physics.conductors import at_any_current, find_conductor
from groundlint.electrical.study.parts import wires_of
from groundlint.electrical.study.study import Study, study_of
from groundlint.plan.models import Plan
from groundlint.reading import read_plan
from groundlint.text import Source
from groundlint.timeline import replay
from groundlint.values import Unknown

PLAN = """\
line Larch
  voltage 115 kV
  frequency 60 Hz
  phases A B C
  no neutral
  shield S
  wires A B C 397.5 kcmil acsr 26/7, S {wire}
  route 1 (200 m) 2 (200 m) 3
source West utility beyond 1
  fault 6 kA three-phase, 5 kA to ground, x/r 8
  clears in 8 cycles
no other source
switch SW1 between West and 1 open
tower 1..3 steel footing 10 ohm
soil 100 ohm m
lead G1..G4 4/0 copper 20 ft
stick H 12 ft
stage ground
attach G1 to 2 steel, then to 2 S by H
attach G2 to 2 steel, then to 2 A by H
"""


def plan_with(wire: str) -> Plan:
    result = read_plan(Source("plan.tpg", PLAN.format(wire=wire)))
    assert not result.plan.unread, [one.message for one in result.diagnostics]
    return result.plan


# ohm per 1,000 ft at 25 C to direct current, and to 100 A at 60 Hz: EPRI, Transmission Line Reference Book, 345 kV and
# Above, 2nd edition, as printed in Short, Electric Power Distribution Handbook, Table 2.5 (seen)
PUBLISHED = {
    "1/2 in": (0.65, 0.78),
    "7/16 in": (0.70, 1.02),
    "3/8 in": (1.03, 1.48),
}


@pytest.mark.parametrize(("size", "published"), PUBLISHED.items())
def test_bounds_of_zinc_coated_steel_hold_what_is_published(size: str, published: tuple[float, float]) -> None:
    plan = plan_with(f"{size} steel")
    assert plan.line is not None
    (shield,) = (one for one in plan.line.conductors if one.role == "shield")
    wires = wires_of(shield)
    assert not isinstance(wires, Unknown)
    ohms = [float(one.resistance(25.0)) * 304.8 for one in wires]
    assert min(ohms) <= published[0] * 1.001
    assert published[1] <= max(ohms)
    assert max(one.gmr for one in wires) <= 0.7789 * wires[0].radius


@pytest.mark.parametrize(
    "wire",
    [
        "3/8 in steel",
        "3/8 in galvanized steel",
        "9.1 mm ehs steel",
        "50 mm2 steel",
        "7 no 8 aluminium-clad steel",
        "7 #8 AWG aluminum-clad steel",
        "19 no. 9 aluminum-clad steel",
        "0.385 in aluminium clad steel",
        "70 mm2 aluminium-clad steel",
    ],
)
def test_a_circuit_with_a_steel_shield_wire_is_computed(wire: str) -> None:
    study = study_of(replay(plan_with(wire)))
    assert isinstance(study, Study)
    assert not study.site.gaps_at(2)


def test_what_a_maker_states_of_it_goes_before_the_bounds() -> None:
    plan = plan_with("3/8 in steel 4.6 ohm/km at 20 C gmr 0.5 mm")
    assert plan.line is not None
    (shield,) = (one for one in plan.line.conductors if one.role == "shield")
    wires = wires_of(shield)
    assert not isinstance(wires, Unknown)
    (one,) = wires
    assert one.resistance_ref == pytest.approx(0.0046)
    assert one.gmr == pytest.approx(0.0005)


def test_steel_of_no_known_size_is_asked_for() -> None:
    plan = plan_with("11/16 in steel")
    assert plan.line is not None
    assert isinstance(wires_of(plan.line.conductors[-1]), Unknown)


def test_no_other_wire_changes_with_the_current() -> None:
    found = find_conductor("336.4 kcmil acsr")
    assert not isinstance(found, Unknown)
    assert at_any_current(found) == (found,)
