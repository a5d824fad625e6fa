"""What a fault does to a lead: decrement, first peak, and the temperature it ends at.

Areas in m2, currents in A rms, times in s, temperatures in C. Everything here is adiabatic: no heat leaves the
conductor, which holds for a few seconds at most and is on the safe side beyond.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np

from groundlint.electrical.physics.constants import MM2, BoolArray, FloatArray, Real

AMBIENT_C: Final = 40.0


class Material(NamedTuple):
    """A row of IEEE 80-2000 Table 1. `alpha_20` 1/K, `k0` and `fusing_c` C, `resistivity_20` microohm cm, `tcap`
    J/(cm3 K)."""

    alpha_20: float
    k0: float
    fusing_c: float
    resistivity_20: float
    tcap: float


SOFT_COPPER: Final = Material(0.00393, 234, 1083, 1.72, 3.42)
EC_ALUMINIUM: Final = Material(0.00403, 228, 657, 2.86, 2.56)
LEAD_METALS: Final[dict[str, Material]] = {"copper": SOFT_COPPER, "aluminium": EC_ALUMINIUM}
"""Material of a flexible lead's strands; IEEE 80-2000 Table 1 (recomputes; the 2013 edition differs in some rows)."""


def _heat(material: Material) -> float:
    """TCAP 1e-4/(ar rr), the I2t in kA2 s per mm4 that raises ln((K0+T)/(K0+Ta)) by one."""
    return material.tcap * 1e-4 / (material.alpha_20 * material.resistivity_20)


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
