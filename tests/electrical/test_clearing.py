"""How long a fault lasts: the slower of what is stated and of what relay and breaker take at the current with the
grounds on, for each way of returning by itself."""

from __future__ import annotations

import math

import numpy as np
import pytest

from groundlint.electrical.study.results import exposure, quickest_clearing, rod_result
from groundlint.electrical.study.study import Study, study_of
from groundlint.plan.models import Person, Rod, SupplySource
from groundlint.reading import read_plan
from groundlint.text import Source
from groundlint.timeline import replay
from groundlint.values import Unknown
from groundlint.values.bounds import ends

PLAN = """\
line Larkspur
  voltage   34.5 kV
  frequency 60 Hz
  phases    A B C
  no neutral
  no shield wire
  wires     A B C 336.4 kcmil acsr
  spacing   crossarm-8ft
  route     211 (52 m) 212
source West beyond 211
  fault     6.8 kA three-phase, 5.2 kA to ground, x/r 9
  {clears}
no other source
no parallel line
structure 211 212 wood pole pole ground 30 ohm
soil      120 ohm m
measured  bar-to-pole-resistance 0.1 ohm
rod       R1          6 ft x 5/8 in
bar       K1
lead      G1..G4      2/0 copper 25 ft grade 3
stick     H1          8 ft
crew      lineman L1
stage ground
  set       R1 at 212, 16 ft from the pole, 6 ft deep
  mount     K1 at 212 below the feet
  attach    G1 to R1, then to K1
  attach    G2 to K1, then to 212 A by H1
  attach    G3 to K1, then to 212 B by H1
  {third}
  enter     L1 at 212 on the pole, reaching A B and the pole
"""
C = "attach    G4 to K1, then to 212 C by H1"


def studied(clears: str, third: str = C) -> Study:
    found = study_of(replay(read_plan(Source("plan.tpg", PLAN.format(clears=clears, third=third))).plan))
    assert isinstance(found, Study)
    return found


def one(found: Study, sort: type) -> object:
    return next(iter(found.timeline.plan.of(sort)))


def times(found: Study) -> dict[str, tuple[float, float]]:
    source = one(found, SupplySource)
    assert isinstance(source, SupplySource)
    held = found.times(source, found.timeline.n)
    assert not isinstance(held, Unknown)
    ways = found.ways(source, found.timeline.n)
    return {way.way: (float(low), float(high)) for way, (low, high) in zip(ways, held.T, strict=True)}


def test_a_relay_that_the_grounds_slow_outlasts_the_stated_time() -> None:
    """A phase by a rod of 60.8 ohm: 34.5 kV/sqrt3 over it is 328 A, in which very inverse at dial 0.2 takes 1.6 s."""
    found = times(studied("clears in 24 cycles\n  relay iec-very-inverse pickup 120 A dial 0.2 breaker 5 cycles"))
    low, high = found["A"]
    amps = 34_500 / math.sqrt(3) / 60.8
    by_curve = 0.2 * 13.5 / (amps / 120 - 1) + 5 / 60
    assert by_curve > 1
    assert low == pytest.approx(0.4)
    assert high == pytest.approx(by_curve, rel=0.02)
    assert found["A and B"] == (0.4, 0.4)  # by the leads, in thousands of amperes


def test_a_stated_time_holds_where_it_is_the_longer() -> None:
    found = times(studied("clears in 120 cycles\n  relay iec-very-inverse pickup 120 A dial 0.2 breaker 5 cycles"))
    assert set(found.values()) == {(2.0, 2.0)}


def test_a_relay_set_too_high_never_trips_whatever_is_stated() -> None:
    found = times(studied("clears in 24 cycles\n  relay iec-very-inverse pickup 800 A dial 0.2 breaker 5 cycles"))
    assert found["A"][1] == math.inf


def test_a_phase_without_a_ground_harms_nobody_though_nothing_clears_it() -> None:
    """C draws nothing and so never clears; what A and B do lasts 0.4 s and is what people are held against."""
    clears = "clears in 24 cycles\n  relay iec-very-inverse pickup 24 A dial 0.2 breaker 5 cycles"
    found = studied(clears, "gloves on L1")
    person, source, rod = one(found, Person), one(found, SupplySource), one(found, Rod)
    assert isinstance(person, Person)
    assert isinstance(source, SupplySource)
    assert isinstance(rod, Rod)
    assert times(found)["C"][1] == math.inf
    worst = exposure(found, person, source, found.timeline.n)
    assert worst is not None
    assert worst.time == 0.4
    kept = rod_result(found, rod, source)
    assert kept is not None
    assert not isinstance(kept, Unknown)
    assert kept.time == 0.4
    assert not isinstance(kept.keep_away, Unknown)
    assert ends(kept.keep_away)[1] < 10


def test_each_way_is_held_against_the_limit_for_its_own_time() -> None:
    found = studied("clears in 24 cycles\n  relay iec-very-inverse pickup 120 A dial 0.2 breaker 5 cycles")
    person, source = one(found, Person), one(found, SupplySource)
    assert isinstance(person, Person)
    assert isinstance(source, SupplySource)
    at = found.timeline.n
    worst, held, volts = exposure(found, person, source, at), found.times(source, at), found.voltage(person, source, at)
    assert worst is not None
    assert not isinstance(held, Unknown)
    assert not isinstance(volts, Unknown)
    needed = worst.needed("dalziel-50kg")
    assert not isinstance(needed, Unknown)
    time, ta = held[1], 9 / (2 * math.pi * 60)
    offset = np.sqrt(1 + ta / time * (1 - np.exp(-2 * time / ta)))  # IEEE 80-2000 Eq 79
    assert ends(needed)[1] == pytest.approx(float((volts[0].ends[1] * offset * np.sqrt(time) / 0.116).max()))


@pytest.mark.parametrize(
    ("clears", "least"),
    [
        ("clears in 24 cycles", None),
        ("clears in 1.5 cycles\n  relay iec-very-inverse breaker 5 cycles", 5 / 60),
        (
            "clears in 8 cycles\n  relay iec-very-inverse pickup 400 A dial 0.1 breaker 5 cycles",
            0.1 * 13.5 / (6800 / 400 - 1) + 5 / 60,
        ),
    ],
)
def test_the_quickest_that_relay_and_breaker_can_be(clears: str, least: float | None) -> None:
    found = studied(clears)
    source = one(found, SupplySource)
    assert isinstance(source, SupplySource)
    assert quickest_clearing(found.timeline.plan, source) == (least if least is None else pytest.approx(least))
