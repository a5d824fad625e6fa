"""Minimum approach distance by voltage and altitude: 29 CFR 1910.269 Tables R-3 to R-7 (2014 rule), and the rule
before.

Voltages are nominal phase to phase in V, distances and altitudes in m. The same tables stand in 29 CFR 1926 subpart V.
Table and factors are from memory; above 72.5 kV the formula reproduces Table R-7 to the printed centimetre.
"""

from __future__ import annotations

import math
from typing import Final, Literal, NamedTuple

from groundlint.electrical.physics.provenance import HowKnown, Provenance
from groundlint.values import Unknown

Exposure = Literal["phase-to-ground", "phase-to-phase"]
INADVERTENT: Final = 0.31
"""Inadvertent movement above 72.5 kV, m."""

_R6: Final = Provenance("29 CFR 1910.269 Table R-6 (2014 rule)", HowKnown.RECOMPUTES)
_R5: Final = Provenance(
    "29 CFR 1910.269 Table R-6 times Table R-5, by footnote 1 of Table R-6 (2014 rule)",
    HowKnown.MEMORY,
    "the footnote was seen, the factors are from memory",
)
_R7: Final = Provenance("29 CFR 1910.269 Table R-3 formula and Table R-7 (2014 rule)", HowKnown.RECOMPUTES)
OLD: Final = Provenance("29 CFR 1910.269 Table R-6 before 2014", HowKnown.SEEN, "superseded")

TABLE_R6: Final = (
    (750.0, 0.33, 0.33),
    (5_000.0, 0.63, 0.63),
    (15_000.0, 0.65, 0.68),
    (36_000.0, 0.77, 0.89),
    (46_000.0, 0.84, 0.98),
    (72_500.0, 1.00, 1.20),
)
"""Upper end of the voltage range V, m phase to ground, m phase to phase."""

TABLE_R5: Final = (
    (900.0, 1.00),
    (1200.0, 1.02),
    (1500.0, 1.05),
    (1800.0, 1.08),
    (2100.0, 1.11),
    (2400.0, 1.14),
    (2700.0, 1.17),
    (3000.0, 1.20),
    (3600.0, 1.25),
    (4200.0, 1.30),
    (4800.0, 1.35),
    (5400.0, 1.39),
    (6000.0, 1.44),
)
"""Upper end of the altitude range m, altitude factor A."""

TABLE_R7: Final = (
    (121_000.0, 1.13, 1.42),
    (145_000.0, 1.30, 1.64),
    (169_000.0, 1.46, 1.94),
    (242_000.0, 2.01, 3.08),
    (362_000.0, 3.41, 5.52),
    (420_000.0, 4.25, 6.81),
    (550_000.0, 5.07, 8.24),
    (800_000.0, 6.88, 11.38),
)
"""Upper end of the voltage range V, m phase to ground, m phase to phase, at the default transient overvoltage."""

OLD_TABLE_R6: Final = (
    (15_000.0, 0.64),
    (36_000.0, 0.72),
    (46_000.0, 0.77),
    (72_500.0, 0.90),
    (121_000.0, 0.95),
    (145_000.0, 1.09),
    (169_000.0, 1.22),
    (242_000.0, 1.59),
    (362_000.0, 2.59),
    (550_000.0, 3.42),
    (800_000.0, 4.53),
)
"""Rule before 2014: upper end of the voltage range V (from 1.1 kV), m phase to ground."""


class AvoidContact:
    """From 50 to 300 V the rule states no distance: avoid contact."""

    __slots__ = ()

    def __repr__(self) -> str:
        return "AvoidContact()"

    def __eq__(self, other: object) -> bool:
        return isinstance(other, AvoidContact)

    def __hash__(self) -> int:
        return hash(AvoidContact)


class Distance(NamedTuple):
    """A minimum approach distance in m and where it comes from."""

    metres: float
    source: Provenance


def altitude_factor(altitude: float) -> float | Unknown:
    """Factor A of Table R-5 for an altitude in m; 1 up to 900 m, `Unknown` above 6000 m."""
    for top, factor in TABLE_R5:
        if altitude <= top:
            return factor
    return Unknown.of("altitude factor above 6000 m", "an altitude up to 6000 m")


def default_overvoltage(voltage: float) -> float | Unknown:
    """Default maximum transient overvoltage T in per unit for a phase-to-phase voltage in V over 72.5 kV."""
    for top, factor in ((420_000.0, 3.5), (550_000.0, 3.0), (800_000.0, 2.5)):
        if voltage <= top:
            return factor
    return Unknown.of("maximum transient overvoltage above 800 kV", "an engineering analysis")


def saturation(peak: float, exposure: Exposure) -> float:
    """Saturation factor a of the formula for a peak voltage in V across the gap."""
    kilo = peak / 1000
    steps: tuple[tuple[float, float, float], ...]
    if exposure == "phase-to-ground":
        steps = ((635.0, 0.0, 1.0), (915.0, 635.0, 140.0), (1050.0, 645.0, 135.0), (math.inf, 675.0, 125.0))
    else:
        steps = (
            (630.0, 0.0, 1.0),
            (848.0, 630.0, 155.0),
            (1131.0, 633.6, 152.207),
            (1485.0, 628.0, 153.846),
            (math.inf, 350.5, 203.666),
        )
    for top, offset, slope in steps:
        if kilo <= top:
            return 0.0 if offset == 0 else (kilo - offset) / slope / 1000
    return 0.0


def high_voltage_distance(
    voltage: float, overvoltage: float, altitude_a: float = 1.0, exposure: Exposure = "phase-to-ground"
) -> float:
    """Distance in m above 72.5 kV: 0.3048 (C + a) V_LG T A + M, V in kV.

    Phase to ground C is 0.011 (a tool or conductive object in the gap); phase to phase C is 0.010 (nothing in the
    gap) and T is 1.35 T_LG + 0.45.
    """
    v_lg = voltage / 1000 / math.sqrt(3)
    c, factor = (0.011, overvoltage) if exposure == "phase-to-ground" else (0.010, 1.35 * overvoltage + 0.45)
    a = saturation(v_lg * math.sqrt(2) * factor * 1000, exposure)
    return 0.3048 * (c + a) * v_lg * factor * altitude_a + INADVERTENT


def minimum_approach(
    voltage: float,
    altitude: float | None,
    exposure: Exposure = "phase-to-ground",
    overvoltage: float | None = None,
) -> Distance | AvoidContact | Unknown:
    """Minimum approach distance for a nominal phase-to-phase voltage in V at an altitude in m.

    Up to 72.5 kV Table R-6 times the altitude factor, as its footnote has it (more than 0.61 m + A D of Table R-3).
    Over 72.5 kV the larger of Table R-7 and the formula, or the formula alone for a stated `overvoltage` (per unit).
    `Unknown` for an altitude not stated, a voltage that is not a positive number or over 800 kV; below 50 V the rule
    has no distance.
    """
    if not 0 < voltage < math.inf:
        return Unknown.of("nominal voltage of the line", "voltage 12.47 kV")
    if voltage < 50:
        return Unknown.of("minimum approach distance below 50 V, which the rule does not give", "a voltage over 50 V")
    if voltage <= 300:
        return AvoidContact()
    if altitude is None or not math.isfinite(altitude):
        return Unknown.of("altitude of the work", "altitude 300 m")
    factor = altitude_factor(altitude)
    if isinstance(factor, Unknown):
        return factor
    column = 1 if exposure == "phase-to-ground" else 2
    if voltage <= 72_500:
        base = next(row for row in TABLE_R6 if voltage <= row[0])[column]
        return Distance(base * factor, _R6 if factor == 1 else _R5)
    default = default_overvoltage(voltage)
    if isinstance(default, Unknown):
        return default
    if overvoltage is not None:
        if not 1 <= overvoltage <= default:
            return Unknown.of("maximum transient overvoltage between 1 and the default", f"{default:g}")
        return Distance(high_voltage_distance(voltage, overvoltage, factor, exposure), _R7)
    table = next(row for row in TABLE_R7 if voltage <= row[0])[column]
    return Distance(max(table * factor, high_voltage_distance(voltage, default, factor, exposure)), _R7)


def superseded_distance(voltage: float) -> Distance | Unknown:
    """Distance in m, phase to ground, of the rule before 2014, to recognise a plan that still cites it."""
    if 1_100 <= voltage <= 800_000:
        return Distance(next(row for row in OLD_TABLE_R6 if voltage <= row[0])[1], OLD)
    return Unknown.of("a voltage from 1.1 kV to 800 kV", "voltage 12.47 kV")
