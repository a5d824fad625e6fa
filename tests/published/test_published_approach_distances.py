"""Minimum approach distances as printed. All of the 2014 rule are from memory on both sides; its predecessor was
seen."""

from __future__ import annotations

import math

import pytest

from groundlint.electrical.physics.approach import (
    TABLE_R7,
    AvoidContact,
    Distance,
    altitude_factor,
    default_overvoltage,
    high_voltage_distance,
    minimum_approach,
    superseded_distance,
)
from groundlint.electrical.physics.constants import FOOT
from groundlint.values import Unknown


def metres(voltage: float, altitude: float = 0.0, exposure: str = "phase-to-ground") -> float:
    found = minimum_approach(voltage, altitude, exposure)  # type: ignore[arg-type]
    assert isinstance(found, Distance), found
    return found.metres


@pytest.mark.parametrize(
    ("kilovolts", "ground", "ground_feet", "phase", "phase_feet"),
    [
        ((0.301, 0.750), 0.33, 1.09, 0.33, 1.09),
        ((0.751, 5.0), 0.63, 2.07, 0.63, 2.07),
        ((5.1, 15.0), 0.65, 2.14, 0.68, 2.24),
        ((15.1, 36.0), 0.77, 2.53, 0.89, 2.92),
        ((36.1, 46.0), 0.84, 2.76, 0.98, 3.22),
        ((46.1, 72.5), 1.00, 3.29, 1.20, 3.94),
    ],
)
def test_table_r6(
    kilovolts: tuple[float, float], ground: float, ground_feet: float, phase: float, phase_feet: float
) -> None:
    """29 CFR 1910.269 Table R-6 (2014), from memory, recomputes."""
    for kilovolt in kilovolts:
        assert metres(kilovolt * 1000) == ground
        assert metres(kilovolt * 1000, 0.0, "phase-to-phase") == phase
    assert ground / FOOT == pytest.approx(ground_feet, abs=0.011)
    assert phase / FOOT == pytest.approx(phase_feet, abs=0.011)


def test_table_r6_is_inadvertent_movement_plus_r4() -> None:
    """29 CFR 1910.269 Tables R-3, R-4 (2014), from memory, recompute: 0.61 m of inadvertent movement + D of R-4."""
    for kilovolt, ground, phase in (
        (5, 0.02, 0.02),
        (15, 0.04, 0.07),
        (36, 0.16, 0.28),
        (46, 0.23, 0.37),
        (72.5, 0.39, 0.59),
    ):
        assert metres(1000 * kilovolt) == pytest.approx(0.61 + ground, abs=1e-9)
        assert metres(1000 * kilovolt, 0.0, "phase-to-phase") == pytest.approx(0.61 + phase, abs=1e-9)


def test_between_ranges_the_higher_counts() -> None:
    assert metres(5_050.0) == 0.65
    assert metres(72_550.0) == 1.13


@pytest.mark.parametrize("row", TABLE_R7, ids=lambda row: f"{row[0] / 1000:g}kV")
def test_formula_above_72_5_kv(row: tuple[float, float, float]) -> None:
    """29 CFR 1910.269 Table R-7 (2014), from memory, recomputes within a centimetre; default T seen on an OSHA page."""
    voltage, ground, phase = row
    t = default_overvoltage(voltage)
    assert isinstance(t, float)
    assert high_voltage_distance(voltage, t) == pytest.approx(ground, abs=0.0101)
    assert high_voltage_distance(voltage, t, exposure="phase-to-phase") == pytest.approx(phase, abs=0.0151)
    assert metres(voltage) >= ground
    assert metres(voltage, 0.0, "phase-to-phase") >= phase


@pytest.mark.parametrize(("kilovolt", "t"), [(121, 3.5), (420, 3.5), (421, 3.0), (550, 3.0), (551, 2.5), (800, 2.5)])
def test_default_overvoltage(kilovolt: float, t: float) -> None:
    """OSHA page, seen."""
    assert default_overvoltage(kilovolt * 1000) == t


@pytest.mark.parametrize(
    ("altitude", "factor"),
    [
        (0, 1.0),
        (900, 1.0),
        (901, 1.02),
        (1500, 1.05),
        (1800, 1.08),
        (2400, 1.14),
        (3000, 1.20),
        (4800, 1.35),
        (6000, 1.44),
    ],
)
def test_altitude(altitude: float, factor: float) -> None:
    """29 CFR 1910.269 Table R-5, from memory; the footnote that the table's distance is multiplied was seen."""
    assert altitude_factor(altitude) == factor
    assert metres(12_470.0, altitude) == pytest.approx(0.65 * factor)


def test_altitude_above_the_table_or_not_stated() -> None:
    assert isinstance(altitude_factor(6001), Unknown)
    assert isinstance(altitude_factor(math.nan), Unknown)
    assert isinstance(minimum_approach(12_470.0, None), Unknown)
    assert isinstance(minimum_approach(12_470.0, 7000.0), Unknown)
    assert isinstance(minimum_approach(900e3, 0.0), Unknown)
    assert isinstance(minimum_approach(math.nan, 0.0), Unknown)


def test_low_voltage() -> None:
    assert minimum_approach(120.0, None) == AvoidContact()
    assert minimum_approach(300.0, 0.0) == AvoidContact()
    assert isinstance(minimum_approach(24.0, 0.0), Unknown)


@pytest.mark.parametrize(
    ("kilovolt", "feet", "inches", "printed"),
    [
        (15, 2, 1, 0.64),
        (36, 2, 4, 0.72),
        (46, 2, 7, 0.77),
        (72.5, 3, 0, 0.90),
        (121, 3, 2, 0.95),
        (145, 3, 7, 1.09),
        (169, 4, 0, 1.22),
        (242, 5, 3, 1.59),
        (362, 8, 6, 2.59),
        (550, 11, 3, 3.42),
        (800, 14, 11, 4.53),
    ],
)
def test_rule_before_2014(kilovolt: float, feet: int, inches: int, printed: float) -> None:
    """29 CFR 1910.269 Table R-6 before 2014, seen in an OSHA eTool; superseded and shorter than what holds now."""
    found = superseded_distance(kilovolt * 1000)
    assert isinstance(found, Distance)
    assert found.metres == printed
    assert found.metres == pytest.approx((feet + inches / 12) * FOOT, abs=0.025)
    assert found.metres < metres(kilovolt * 1000)
