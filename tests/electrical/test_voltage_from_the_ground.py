"""Whoever stands on bare soil has remote earth at the feet: what is in reach is at its full rise."""

from __future__ import annotations

from pathlib import Path

import pytest

import groundlint
from groundlint.facts import PlanTrace
from groundlint.plan.models import Person, Rod, SupplySource
from groundlint.reading import read_plan
from groundlint.text import Source
from groundlint.timeline import replay
from groundlint.values import Unknown
from groundlint.values.bounds import ends

BASE = Path(groundlint.__file__).parents[1] / "rules" / "electrical" / "bases" / "base.tpg"
GROUND = "measured neutral-back-to-source 0.4 ohm\ndo ground (212, R1, K1, G1 G2 G3 G4 G5)\n"


def traced(steps: str) -> PlanTrace:
    read = read_plan(Source("plan.tpg", BASE.read_text(encoding="utf-8") + steps))
    assert not read.diagnostics
    return PlanTrace(replay(read.plan))


def exposed(trace: PlanTrace) -> tuple[float, float]:
    person = next(one for one in trace.all(Person) if one.name == "M1")
    found = trace.exposure(person, trace.all(SupplySource)[0], trace.n)
    assert found is not None
    assert not isinstance(found, Unknown)
    assert not isinstance(found.voltage, Unknown)
    return ends(found.voltage)


def test_a_rod_in_reach_is_at_its_rise() -> None:
    trace = traced(GROUND + "enter M1 at 212 on the ground, reaching R1\n")
    rod = trace.rod_result(trace.all(Rod)[0], trace.all(SupplySource)[0])
    assert rod is not None
    assert not isinstance(rod, Unknown)
    assert not isinstance(rod.rise, Unknown)
    low, high = exposed(trace)
    assert low > 50
    assert (low, high) == pytest.approx(ends(rod.rise), rel=0.1)  # the rise is the worst over the steps


@pytest.mark.parametrize("reached", ["N", "A"])
def test_a_grounded_conductor_in_reach_is_not_at_the_voltage_of_the_soil(reached: str) -> None:
    trace = traced(GROUND + f"enter M1 at 212 on the ground, reaching {reached}\n")
    assert exposed(trace)[0] > 50


def test_a_bonded_vehicle_in_reach_rises_with_what_it_is_bonded_to() -> None:
    trace = traced(f"{GROUND}bond V1 to R1 with G21\nenter M1 at 212 on the ground, reaching V1\n")
    assert exposed(trace)[0] > 50


def test_nothing_in_reach_is_no_voltage() -> None:
    assert exposed(traced(GROUND + "enter M1 at 212 on the ground, reaching nothing\n")) == (0.0, 0.0)


CONCRETE = Path(groundlint.__file__).parents[1] / "rules" / "electrical" / "bases" / "delta.tpg"


def on_concrete(more: str) -> tuple[float, float]:
    text = CONCRETE.read_text(encoding="utf-8").replace("wood pole", "concrete pole")
    steps = "do ground (212, R1, K1, G1 G2 G3 G4)\nenter M1 at 212 on the pole, reaching A B C and the pole\n"
    read = read_plan(Source("plan.tpg", text + more + steps))
    assert not read.diagnostics
    return exposed(PlanTrace(replay(read.plan)))


def test_stating_a_value_within_its_bounds_never_widens_the_result() -> None:
    """Strap and pole push it opposite ways; what else moves with the leads shifts it by less than 1 %."""
    low, high = on_concrete("")
    for pole in ("5 ohm", "60 ohm", "500 ohm"):
        for strap in ("0.01 ohm", "10 ohm"):
            measured = f"measured concrete-structure-resistance {pole}\nmeasured bar-to-pole-resistance {strap}\n"
            less, more = on_concrete(measured)
            assert low <= less * 1.01, measured
            assert more <= high * 1.01, measured
