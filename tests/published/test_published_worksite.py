"""Worksite arrangements: the one published example, which must not be reproduced, and cases derived by hand."""

from __future__ import annotations

import math

import pytest

from groundlint.electrical.physics.constants import FOOT, INCH
from groundlint.electrical.physics.leads import loop_reactance
from groundlint.electrical.solver.network import EARTH, CurrentSource, Energized, Impedance, Network, Scenario
from groundlint.electrical.solver.solution import Solution, Values
from groundlint.electrical.solver.solve import solve


def solved(amperes: float, pair: tuple[str, str], *ohms: tuple[str, str, float]) -> Solution:
    """What a current into node A gives, with resistances between nodes."""
    parts = [Impedance(f"z{k}", *one) for k, one in enumerate(ohms)]
    network = Network((CurrentSource("fault", EARTH, "A", amperes), *parts))
    found = solve(network, [frozenset()], [Scenario("fault", (Energized("fault"),))], pairs=[pair])
    assert isinstance(found, Solution)
    return found


def magnitude(found: object) -> float:
    assert isinstance(found, Values)
    return float(abs(found.values[0, 0, 0]))


def through_body(amperes: float, ohm: float, body: float) -> float:
    """Current in A through a body beside a jumper that carries a fault."""
    return magnitude(solved(amperes, ("A", EARTH), ("A", EARTH, ohm)).body_current(("A", EARTH), body))


def test_doe_example_is_ten_times_off() -> None:
    """DOE-HDBK-1092 (1998 and 2004) 4.15.2(3)d, seen: "10 mohm" for 100 V at 1000 A. It is 100 mohm, or 10 000 A."""
    assert pytest.approx(100e-3) == 100 / 1000
    assert through_body(10_000, 10e-3, 1000.0) == pytest.approx(0.100, rel=1e-4)
    assert through_body(1_000, 10e-3, 1000.0) == pytest.approx(0.010, rel=1e-4)


@pytest.mark.parametrize(
    ("amperes", "milliohm", "at_1000", "at_500"),
    [(5e3, 0.5, 2.5, 5.0), (10e3, 1.0, 10.0, 20.0), (20e3, 1.5, 30.0, 60.0)],
)
def test_equipotential_zone(amperes: float, milliohm: float, at_1000: float, at_500: float) -> None:
    """Derived: Ib = If Rj/(Rj + Rb)."""
    for body, expected in ((1000.0, at_1000), (500.0, at_500)):
        assert 1000 * through_body(amperes, milliohm / 1000, body) == pytest.approx(expected, rel=1e-4)


def test_bracket_grounds_without_a_zone() -> None:
    """Derived: 1000 A to two structures of 10 ohm, worker to an unbonded one of 20 ohm: 5000 V open, and 5000 V over
    1000 + 20 + 5 ohm, 4.878 A.

    A jumper of 1 mohm at the worksite carries nearly nothing until the worker bridges to the structure: 0.2 mA.
    """
    pair = ("A", "T")
    structures = (("A", EARTH, 10.0), ("A", EARTH, 10.0), ("T", EARTH, 20.0))
    apart = solved(1000, pair, *structures)
    assert magnitude(apart.open_circuit(pair)) == pytest.approx(5000)
    assert magnitude(apart.body_current(pair, 1000.0)) == pytest.approx(4.878, abs=0.0005)
    # With the jumper the structure's 20 ohm joins the two of 10 ohm, and its share of 1000 A drops across the jumper.
    joined = solved(1000, pair, *structures, ("A", "T", 1e-3))
    assert 1000 * magnitude(joined.body_current(pair, 1000.0)) == pytest.approx(0.2, abs=0.001)


@pytest.mark.parametrize(("feet", "metres", "printed"), [(6, 0.5, 2.22), (10, 1.0, 2.51), (30, 1.0, 2.51)])
def test_loop_of_lead_and_worker(feet: float, metres: float, printed: float) -> None:
    """Derived: 4/0 lead of 0.0500 mohm/ft and 0.528 in; |R + jX|/R does not depend on length."""
    reactance = float(loop_reactance(feet * FOOT, metres, 0.528 * INCH / 2))
    resistance = feet * 0.05e-3
    assert math.hypot(resistance, reactance) / resistance == pytest.approx(printed, abs=0.005)
