"""What a fault does to a lead and what a lead can take: fusing, decrement, peak, I2t, final temperature, size that
would do.

Areas in m2, currents in A rms, times in s, temperatures in C. Everything here is adiabatic: no heat leaves the
conductor, which holds for a few seconds at most and is on the safe side beyond.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np

from groundlint.electrical.physics.constants import CMIL, MM2, BoolArray, FloatArray, Real
from groundlint.electrical.physics.provenance import HowKnown, Provenance

ONDERDONK: Final = Provenance("Onderdonk; basis of ASTM F855 Table 1 by its scope note", HowKnown.SEEN)
AMBIENT_C: Final = 40.0
COPPER_MELTS_C: Final = 1083.0


def onderdonk(
    area: Real, duration: Real, ambient_c: Real = AMBIENT_C, final_c: Real = COPPER_MELTS_C, area_share: Real = 1.0
) -> FloatArray:
    """Current in A that brings copper of `area` m2 from `ambient_c` to `final_c` (melting) in `duration` s.

    I = A_cmil sqrt(log10((Tm - Ta)/(234 + Ta) + 1)/(33 t)). `area_share` 0.98 gives the form that ASTM F855 uses: 98
    % of the nominal area as ASTM B172 and B173 allow. Symmetrical current only, asymmetry under 20 % (X/R up to 1.8).
    """
    cmil = np.asarray(area) / CMIL * area_share
    rise = (np.asarray(final_c) - ambient_c) / (234 + np.asarray(ambient_c))
    return np.asarray(cmil * np.sqrt(np.log10(rise + 1) / (33 * np.asarray(duration))))


class Material(NamedTuple):
    """A row of IEEE 80-2000 Table 1. `alpha_20` 1/K, `k0` and `fusing_c` C, `resistivity_20` microohm cm, `tcap`
    J/(cm3 K); `printed_kf` is Table 2 of the same guide."""

    name: str
    conductivity: float
    alpha_20: float
    k0: float
    fusing_c: float
    resistivity_20: float
    tcap: float
    printed_kf: float


IEEE_80_SOURCE: Final = Provenance(
    "IEEE 80-2000 Tables 1 and 2", HowKnown.RECOMPUTES, "2013 edition differs in some rows"
)
MATERIALS: Final[dict[str, Material]] = {
    row.name: row
    for row in (
        Material("copper annealed soft-drawn", 100.0, 0.00393, 234, 1083, 1.72, 3.42, 7.00),
        Material("copper commercial hard-drawn", 97.0, 0.00381, 242, 1084, 1.78, 3.42, 7.06),
        Material("copper hard-drawn to 250 C", 97.0, 0.00381, 242, 250, 1.78, 3.42, 11.78),
        Material("copper-clad steel wire 40 %", 40.0, 0.00378, 245, 1084, 4.40, 3.85, 10.45),
        Material("copper-clad steel wire 30 %", 30.0, 0.00378, 245, 1084, 5.86, 3.85, 12.06),
        Material("copper-clad steel rod", 20.0, 0.00378, 245, 1084, 8.62, 3.85, 14.64),
        Material("aluminium EC grade", 61.0, 0.00403, 228, 657, 2.86, 2.56, 12.12),
        Material("aluminium 5005 alloy", 53.5, 0.00353, 263, 652, 3.22, 2.60, 12.41),
        Material("aluminium 6201 alloy", 52.5, 0.00347, 268, 654, 3.28, 2.60, 12.47),
        Material("aluminium-clad steel wire", 20.3, 0.00360, 258, 657, 8.48, 3.58, 17.20),
        Material("steel 1020", 10.8, 0.00160, 605, 1510, 15.90, 3.28, 15.95),
        Material("stainless-clad steel rod", 9.8, 0.00160, 605, 1400, 17.50, 4.44, 14.72),
        Material("zinc-coated steel rod", 8.6, 0.00320, 293, 419, 20.10, 3.93, 28.96),
        Material("stainless steel 304", 2.4, 0.00130, 749, 1400, 72.00, 4.03, 30.05),
    )
}
SOFT_COPPER: Final = MATERIALS["copper annealed soft-drawn"]
EC_ALUMINIUM: Final = MATERIALS["aluminium EC grade"]

LEAD_METALS: Final[dict[str, Material]] = {"copper": SOFT_COPPER, "aluminium": EC_ALUMINIUM}
"""Material of a flexible lead's strands."""


def _heat(material: Material) -> float:
    """TCAP 1e-4/(ar rr), the I2t in kA2 s per mm4 that raises ln((K0+T)/(K0+Ta)) by one."""
    return material.tcap * 1e-4 / (material.alpha_20 * material.resistivity_20)


def ieee80_current(
    area: Real,
    duration: Real,
    material: Material = SOFT_COPPER,
    ambient_c: Real = AMBIENT_C,
    final_c: Real | None = None,
) -> FloatArray:
    """Current in A that brings `area` m2 of `material` from `ambient_c` to `final_c` in `duration` s; IEEE 80-2000 Eq
    37.

    `final_c` is the material's fusing temperature unless given. Symmetrical current; divide by `decrement` for
    asymmetry.
    """
    top = material.fusing_c if final_c is None else final_c
    log = np.log((material.k0 + np.asarray(top)) / (material.k0 + np.asarray(ambient_c)))
    return np.asarray(1000 * np.asarray(area) / MM2 * np.sqrt(_heat(material) / np.asarray(duration) * log))


def ieee80_kf(material: Material, ambient_c: float = AMBIENT_C) -> float:
    """Kf of IEEE 80-2000 Eq 42: A_kcmil = I_kA Kf sqrt(tc) at fusing (Table 2 prints it at 40 C)."""
    log = math.log((material.k0 + material.fusing_c) / (material.k0 + ambient_c))
    return 197.4 / math.sqrt(material.tcap / (material.alpha_20 * material.resistivity_20) * log)


def required_area(
    current: Real,
    duration: Real,
    material: Material = SOFT_COPPER,
    ambient_c: Real = AMBIENT_C,
    final_c: Real | None = None,
) -> FloatArray:
    """Area in m2 that carries `current` A for `duration` s up to `final_c` (fusing unless given); inverse of Eq 37."""
    return np.asarray(np.asarray(current) / ieee80_current(1.0, duration, material, ambient_c, final_c))


def final_temperature(
    current: Real, duration: Real, area: Real, material: Material = SOFT_COPPER, ambient_c: Real = AMBIENT_C
) -> tuple[FloatArray, BoolArray]:
    """Adiabatic end temperature in C, and whether the conductor fuses; broadcasts.

    From Eq 37 solved for T: (K0 + Ta) exp(I2 t/(A2 heat)) - K0. Where it fuses the temperature is the fusing point,
    since the equation means nothing beyond it.
    """
    density = np.asarray(current) / 1000 / (np.asarray(area) / MM2)
    exponent = density**2 * np.asarray(duration) / _heat(material)
    start = material.k0 + np.asarray(ambient_c)
    limit = np.log((material.k0 + material.fusing_c) / start)
    fuses = np.asarray(exponent >= limit)
    return np.asarray(start * np.exp(np.minimum(exponent, limit)) - material.k0), fuses


def time_constant(x_over_r: Real, frequency_hz: Real = 60.0) -> FloatArray:
    """DC time constant in s, (X/R)/(2 pi f)."""
    return np.asarray(np.asarray(x_over_r) / (2 * math.pi * np.asarray(frequency_hz)))


def decrement(duration: Real, x_over_r: Real, frequency_hz: Real = 60.0) -> FloatArray:
    """Decrement factor Df, the rms over `duration` s of a fully offset current over its symmetrical rms; IEEE 80 Eq 79.

    1 for X/R of 0. For one `duration` it rises with X/R, for one X/R it falls with duration.
    """
    ta = time_constant(x_over_r, frequency_hz)
    # At no duration at all the limit is sqrt3; a tiny one stands for it.
    t = np.maximum(np.asarray(duration, dtype=np.float64), 1e-12)
    # An offset that dies out within a nanosecond is none.
    lasts = ta > 1e-9
    safe = np.where(lasts, ta, 1.0)
    return np.asarray(np.where(lasts, np.sqrt(1 + safe / t * -np.expm1(-2 * t / safe)), 1.0))


def peak_factor(x_over_r: Real) -> FloatArray:
    """First peak of a fully offset current over its symmetrical rms: sqrt2 (1 + exp(-pi/(X/R))); 2.69 at X/R 30."""
    ratio = np.asarray(x_over_r, dtype=np.float64)
    offset = ratio > 1e-3
    safe = np.where(offset, ratio, 1.0)
    return np.asarray(math.sqrt(2) * (1 + np.where(offset, np.exp(-math.pi / safe), 0.0)))


class Duty(NamedTuple):
    """What a fault asks of a lead: symmetrical rms A, rms with the decrement factor A, first peak A, I2t A2 s, s."""

    symmetrical: FloatArray
    effective: FloatArray
    first_peak: FloatArray
    i2t: FloatArray
    duration: FloatArray


def fault_duty(current: Real, duration: Real, x_over_r: Real, frequency_hz: Real = 60.0) -> Duty:
    """Duty of a symmetrical rms `current` A for `duration` s at a given X/R, fully offset; broadcasts."""
    rms, t = np.asarray(current, dtype=np.float64), np.asarray(duration, dtype=np.float64)
    effective = rms * decrement(t, x_over_r, frequency_hz)
    return Duty(rms, np.asarray(effective), np.asarray(rms * peak_factor(x_over_r)), np.asarray(effective**2 * t), t)


def adiabatic_k(initial_c: float = 20.0, final_c: float = 300.0) -> float:
    """k in A sqrt(s)/mm2 for copper, 226 sqrt(ln((234.5+Tf)/(234.5+Ti))); 194.7 from 20 to 300 C.

    IEC 60364-5-54 form (from memory), used for IEC 61230 leads.
    """
    return 226 * math.sqrt(math.log((234.5 + final_c) / (234.5 + initial_c)))


def ks_current(area: Real, duration: Real, k: Real | None = None) -> FloatArray:
    """Short-time current in A of a copper lead of `area` m2: k S/sqrt(t), k in A sqrt(s)/mm2 (194.7 unless given)."""
    factor = adiabatic_k() if k is None else k
    return np.asarray(factor * np.asarray(area) / MM2 / np.sqrt(np.asarray(duration)))
