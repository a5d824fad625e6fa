"""Worksite arrangements: the one published example, which must not be reproduced, and cases derived by hand."""

from __future__ import annotations

import pytest

from groundlint.electrical.physics.body import body_current
from groundlint.electrical.physics.constants import FOOT, INCH
from groundlint.electrical.physics.leads import loop_multiplier, loop_reactance


def test_doe_example_is_ten_times_off() -> None:
    """DOE-HDBK-1092 (1998 and 2004) 4.15.2(3)d, seen: "10 mohm" for 100 V at 1000 A. It is 100 mohm, or 10 000 A."""
    assert pytest.approx(100e-3) == 100 / 1000
    current = float(body_current(10_000 * 10e-3, 10e-3, 1000.0))
    assert current == pytest.approx(0.100, rel=1e-4)
    as_printed = float(body_current(1_000 * 10e-3, 10e-3, 1000.0))
    assert as_printed == pytest.approx(0.010, rel=1e-4)


@pytest.mark.parametrize(
    ("amperes", "milliohm", "at_1000", "at_500"),
    [(5e3, 0.5, 2.5, 5.0), (10e3, 1.0, 10.0, 20.0), (20e3, 1.5, 30.0, 60.0)],
)
def test_equipotential_zone(amperes: float, milliohm: float, at_1000: float, at_500: float) -> None:
    """Derived: Ib = If Rj/(Rj + Rb)."""
    for body, expected in ((1000.0, at_1000), (500.0, at_500)):
        current = float(body_current(amperes * milliohm / 1000, milliohm / 1000, body))
        assert 1000 * current == pytest.approx(expected, rel=1e-4)


def test_bracket_grounds_without_a_zone() -> None:
    """Derived: 1000 A to two structures of 10 ohm, worker to an unbonded one of 20 ohm: 5000 V open, 4.90 A.

    A jumper of 1 mohm at the worksite carries nearly nothing until the worker bridges to the structure: 0.2 mA.
    """
    volts = 1000 * (10 * 10 / (10 + 10))
    assert volts == pytest.approx(5000)
    assert float(body_current(volts, 20.0, 1000.0)) == pytest.approx(4.90, abs=0.005)
    # With the jumper the structure's 20 ohm joins the two of 10 ohm, and its share of 1000 A drops across the jumper.
    through = 1000 / (1 + 20 * (1 / 10 + 1 / 10))
    assert 1000 * float(body_current(through * 1e-3, 1e-3, 1000.0)) == pytest.approx(0.2, abs=0.001)


@pytest.mark.parametrize(("feet", "metres", "printed"), [(6, 0.5, 2.22), (10, 1.0, 2.51), (30, 1.0, 2.51)])
def test_loop_of_lead_and_worker(feet: float, metres: float, printed: float) -> None:
    """Derived: 4/0 lead of 0.0500 mohm/ft and 0.528 in; the multiplier does not depend on length."""
    reactance = loop_reactance(feet * FOOT, metres, 0.528 * INCH / 2)
    assert float(loop_multiplier(feet * 0.05e-3, reactance)) == pytest.approx(printed, abs=0.005)
