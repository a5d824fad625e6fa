"""Ground rods in uniform soil, the distance at which a step is within a limit, and tolerable steps by IEEE 80.

Lengths and distances in m, resistivity in ohm m, resistance in ohm, currents in A, voltages in V. Rods are driven
vertically from the surface. Rods in layered soil and groups of rods are in `soil_layers`.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from groundlint.electrical.physics.constants import FloatArray, Real
from groundlint.electrical.physics.provenance import HowKnown, Provenance

DWIGHT: Final = Provenance("Dwight 1936; IEEE 142 formula table", HowKnown.SEEN)


def rod_resistance(resistivity: Real, length: Real, diameter: Real) -> FloatArray:
    """Resistance of one driven rod, rho/(2 pi L) (ln(8L/d) - 1) (Dwight). The rod is much longer than thick."""
    length_, d = np.asarray(length, dtype=np.float64), np.asarray(diameter)
    return np.asarray(np.asarray(resistivity) / (2 * math.pi * length_) * (np.log(8 * length_ / d) - 1))


SMALLEST_SHARE: Final = 1e-9
"""Share of a rod's potential below which no distance is looked for."""


def _held(length: FloatArray, diameter: FloatArray) -> tuple[FloatArray, FloatArray]:
    """ln(8L/d) - 1, and the distance within which the surface formula gives more than the rod's own potential."""
    log = np.log(8 * length / diameter) - 1
    return np.asarray(log), np.asarray(length / np.sinh(log))


def _wanted(rise: ArrayLike, limit: ArrayLike, length: Real, diameter: Real) -> tuple[FloatArray, ...]:
    """Share of the rise that is allowed, length and diameter, all of one shape; a rise of zero allows all of it."""
    up, most, length_, d = np.broadcast_arrays(
        *(np.asarray(value, dtype=np.float64) for value in (rise, limit, length, diameter))
    )
    size = np.abs(up)
    share = np.where(size > 0, np.maximum(most, 0.0) / np.where(size > 0, size, 1.0), 1.0)
    return share, length_, d


def distance_for_step(rise: ArrayLike, limit: ArrayLike, length: Real, diameter: Real, pace: float = 1.0) -> FloatArray:
    """Least distance in m from a rod of potential rise `rise` V past which a step of `pace` m is at most `limit` V.

    At `x` m the surface has ln((L + sqrt(L2 + x2))/x)/(ln(8L/d) - 1) of the rise, at most all of it: the rod as a line
    of even leakage; MIL-HDBK-419A vol. 1 eq. 2-20 lineage. `inf` where the limit is zero and the rise is not.
    Broadcasts. Uniform soil.
    """
    share, length_, d = _wanted(rise, limit, length, diameter)
    log, start = _held(length_, d)
    reachable = share > SMALLEST_SHARE
    want = np.where(reachable, share, 1.0) * log
    # A step is at most pace times the slope at its near end and at least pace times that at its far end: that brackets
    # the distance within one pace. The step is convex in distance: Newton's method from the near side cannot overshoot.
    most = np.sqrt((np.sqrt(length_**4 + (2 * pace * length_ / want) ** 2) - length_**2) / 2)
    x = np.maximum(most - pace, start)
    for _ in range(60):
        far = x + pace
        left = np.arcsinh(length_ / x) - np.arcsinh(length_ / far) - want
        slope = length_ / (far * np.hypot(far, length_)) - length_ / (x * np.hypot(x, length_))
        move = np.maximum(-left / slope, 0.0)
        x = x + move
        if bool(np.all(move <= 1e-12 * x)):
            break
    return np.asarray(np.where(reachable, x, np.inf))


def surface_layer_factor(resistivity: Real, layer_resistivity: Real, thickness: Real) -> FloatArray:
    """Cs for a surface layer, 1 - 0.09 (1 - rho/rs)/(2 hs + 0.09); IEEE 80-2000 Eq 27. 1 without a layer."""
    ratio = np.asarray(resistivity) / np.asarray(layer_resistivity)
    return np.asarray(1 - 0.09 * (1 - ratio) / (2 * np.asarray(thickness) + 0.09))


STEP_BODY: Final = 6.0
"""Both feet in series, in terms of surface resistivity, ohm per ohm m; IEEE 80-2000 Eq 29 and 30."""


def tolerable_step(
    limit_current: Real, surface_resistivity: Real, layer_factor: Real = 1.0, body_resistance: Real = 1000.0
) -> FloatArray:
    """Tolerable step voltage in V: (Rb + 6 Cs rs) Ib, Ib in A from a fibrillation criterion at the clearing time."""
    feet = STEP_BODY * np.asarray(layer_factor) * np.asarray(surface_resistivity)
    return np.asarray((np.asarray(body_resistance) + feet) * np.asarray(limit_current))
