"""Published limits of the human body beside what is computed. Each case names its source and how it is known."""

from __future__ import annotations

import math

import numpy as np
import pytest

from groundlint.electrical.physics.body import (
    CAUTIOUS_RESISTANCE,
    CRITERIA,
    DESIGN_RESISTANCE,
    EFFECTS,
    IEC_RESISTANCE,
    effect_of,
    find_criterion,
    iec_resistance,
    limit,
    limits,
    tolerable_voltage,
)
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
        assert tolerable_voltage(CRITERIA[name], math.inf, CAUTIOUS_RESISTANCE) == pytest.approx(volts)


def test_fifty_volts_and_why() -> None:
    """OSHA training text, seen: 60 V over 500 ohm is 120 mA."""
    assert pytest.approx(0.120) == 60 / CAUTIOUS_RESISTANCE
    assert DESIGN_RESISTANCE == 1000


def test_wet_hand_tests() -> None:
    """IEEE 80-2000 8.1, seen: at 9.0 mA 21.0 V is 2330 ohm, 10.2 V is 1130 ohm; both over the design value."""
    for volts, ohm in ((21.0, 2330), (10.2, 1130)):
        assert volts / 0.009 == pytest.approx(ohm, abs=5)
        assert volts / 0.009 > DESIGN_RESISTANCE


@pytest.mark.parametrize(
    ("edition", "volts", "ohms"),
    [
        ("1994", 25, (1750, 3250, 6100)),
        ("1994", 50, (1450, 2625, 4375)),
        ("1994", 75, (1250, 2200, 3500)),
        ("1994", 100, (1200, 1875, 3200)),
        ("1994", 125, (1125, 1625, 2875)),
        ("1994", 220, (1000, 1350, 2125)),
        ("1994", 700, (750, 1100, 1550)),
        ("1994", 1000, (700, 1050, 1500)),
        ("1994", 5000, (650, 750, 850)),
        ("2005", 25, (1750, 3250, 6100)),
        ("2005", 50, (1375, 2500, 4600)),
        ("2005", 100, (990, 1725, 3125)),
        ("2005", 125, (900, 1550, 2675)),
        ("2005", 225, (775, 1225, 1900)),
        ("2005", 500, (625, 850, 1150)),
        ("2005", 1000, (575, 775, 1050)),
    ],
)
def test_iec_resistance(edition: str, volts: float, ohms: tuple[float, ...]) -> None:
    """IEC 479-1:1994 Table 1, seen; IEC TS 60479-1:2005 Table 1, from memory, approximate."""
    for percentile, ohm in zip((5, 50, 95), ohms, strict=True):
        assert float(iec_resistance(volts, percentile, edition)) == ohm  # type: ignore[arg-type]


def test_between_rows_no_more_impedance_than_printed() -> None:
    for edition, rows in IEC_RESISTANCE.items():
        grid = np.linspace(0.1, 3000, 4001)
        mine = iec_resistance(grid, 5, edition)
        assert np.all(np.diff(mine) <= 0)
        volts = [row[0] for row in rows[:-1]]
        straight = np.interp(grid, volts, [row[1] for row in rows[:-1]])
        assert np.all(mine <= straight + 1e-9)
    assert float(iec_resistance(math.nan)) == 650


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


def test_effects() -> None:
    """MIL-HDBK-1025/10 Table 1, mA for men and women, seen (labels partly scrambled in the copy)."""
    printed = ((0.4, 0.3), (1.1, 0.7), (1.8, 1.2), (9, 6), (23, 15), (75, 75), (235, 235), (4000, 4000), (5000, 5000))
    assert [(round(e.men * 1000, 6), round(e.women * 1000, 6)) for e in EFFECTS] == list(printed)
    assert effect_of(0.0001) is None
    reached = effect_of(0.010)
    assert reached is not None
    assert reached.men == 9e-3


def test_names() -> None:
    assert find_criterion("Dalziel-50kg") == CRITERIA["dalziel-50kg"]
    assert isinstance(find_criterion("dalziel-60kg"), Unknown)
