"""Published limits of the human body beside what is computed. Each case names its source and how it is known."""

from __future__ import annotations

import math

import numpy as np
import pytest

from groundlint.electrical.physics.body import CRITERIA, DESIGN_RESISTANCE, limit, limits
from groundlint.values import Unknown


def known(name: str, duration: float) -> float:
    value = limit(CRITERIA[name], duration)
    assert isinstance(value, float), value
    return value


def test_dalziel() -> None:
    """IEEE 80 (Dalziel), form seen, from memory, recomputes: sqrt(.0135) and sqrt(.0246) at 1 s."""
    assert known("dalziel-50kg", 1.0) == pytest.approx(math.sqrt(0.0135), abs=0.0003)
    assert known("dalziel-70kg", 1.0) == pytest.approx(math.sqrt(0.0246), abs=0.0003)


@pytest.mark.parametrize(("t", "milliampere"), [(0.1, 366.8), (0.25, 232.0), (0.5, 164.0), (1.0, 116.0), (3.0, 67.0)])
def test_dalziel_50_kg(t: float, milliampere: float) -> None:
    """Derived: 116/sqrt(t) mA."""
    assert 1000 * known("dalziel-50kg", t) == pytest.approx(milliampere, abs=0.06)


@pytest.mark.parametrize(
    ("name", "outside"),
    [
        ("dalziel-50kg", (0.0299, 3.001, 0.0, -1.0, math.inf, math.nan)),
        ("dalziel-70kg", (0.0299, 3.001, math.inf)),
        ("osha-fibrillation", (0.0082, 3.001)),
        ("iec-c1", (0.009, 10.1, math.inf)),
        ("doe-voltage", (0.501, math.inf)),
    ],
)
def test_outside_its_range_a_limit_is_unknown(name: str, outside: tuple[float, ...]) -> None:
    """IEEE 80: .03 to 3 s; 29 CFR 1910.269 Appendix C: .0083 to 3 s, from memory."""
    for t in outside:
        assert isinstance(limit(CRITERIA[name], t), Unknown)
    values, inside = limits(CRITERIA[name], np.array(outside))
    assert not inside.any()
    assert not values.any()


def test_let_go() -> None:
    """Dalziel and Lee, seen: 99 % of men 9 mA, public 5 mA; women 6 mA, secondary, seen."""
    for t in (0.01, 1.0, math.inf):
        assert known("let-go-men", t) == 0.009
        assert known("let-go-women", t) == 0.006
        assert known("let-go-public", t) == 0.005


def test_osha_appendix_c() -> None:
    """29 CFR 1910.269 Appendix C, from memory: 1 mA in 500 ohm is 0.5 V; 6 mA in 500 ohm is 3.0 V."""
    for name, volts in (("osha-reaction", 0.5), ("osha-protected", 3.0)):
        assert known(name, math.inf) * CRITERIA[name].body == pytest.approx(volts)


def test_fifty_volts_and_why() -> None:
    """OSHA training text, seen: 60 V over 500 ohm, the least with broken skin, is 120 mA."""
    assert pytest.approx(0.120) == 60 / CRITERIA["osha-fibrillation"].body
    assert DESIGN_RESISTANCE == CRITERIA["dalziel-50kg"].body == 1000


def test_wet_hand_tests() -> None:
    """IEEE 80-2000 8.1, seen: at 9.0 mA 21.0 V is 2330 ohm, 10.2 V is 1130 ohm; both over the design value."""
    for volts, ohm in ((21.0, 2330), (10.2, 1130)):
        assert volts / 0.009 == pytest.approx(ohm, abs=5)
        assert volts / 0.009 > DESIGN_RESISTANCE


@pytest.mark.parametrize(("t", "milliampere"), [(0.01, 500), (0.1, 400), (1.0, 50), (3.0, 40), (10.0, 40)])
def test_c1(t: float, milliampere: float) -> None:
    """IEC 60479-1 Figure 20 curve c1, from memory, approximate."""
    assert 1000 * known("iec-c1", t) == pytest.approx(milliampere)


def test_doe_voltage_criterion() -> None:
    """DOE-HDBK-1092-2004 4.15.2(3)c, seen: 100 V at 15 cycles, 75 V at 30; derived: 43 and 46 % of 116/sqrt(t)."""
    for cycles, volts, share, half in ((15, 100.0, 0.43, 0.86), (30, 75.0, 0.46, 0.91)):
        t = cycles / 60
        assert known("doe-voltage", t) == volts
        assert volts / 1000 / known("dalziel-50kg", t) == pytest.approx(share, abs=0.005)
        assert volts / 500 / known("dalziel-50kg", t) == pytest.approx(half, abs=0.006)
    assert known("doe-voltage", 16 / 60) == 75.0
