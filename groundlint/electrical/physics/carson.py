"""Series impedance of overhead conductors with earth return by modified Carson, and their potential coefficients.

Modified Carson keeps the first terms of Carson's series (P = pi/8, Q = 1/2 ln(2/k) + 1/4 - gamma/2), so that heights
drop out: an earth return at depth De = 658.9 sqrt(rho/f) m with resistance w mu0/8 ohm/m for every pair. In feet and
ohm per mile at 60 Hz and 100 ohm m that is Kersting's 0.09530 + j0.12134 (ln 1/D + 7.93402). The terms left out grow
with height times sqrt(f/rho); at 60 Hz and distribution heights they are under 1 % of a self impedance.

Coordinates are in m, x horizontal and y above earth. Matrices are complex, in ohm/m, over the last two axes; leading
axes broadcast.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from groundlint.electrical.physics.constants import EPSILON_0, MU_0, ComplexArray, FloatArray, Real

EULER_GAMMA: Final = 0.5772156649015329
DEPTH_FACTOR: Final = 2 * math.exp(0.5 - EULER_GAMMA) / math.sqrt(2 * math.pi * MU_0)
"""De / sqrt(rho/f): 658.87 m. From Q with k = S sqrt(w mu0/rho)."""


def earth_return_depth(resistivity: Real, frequency_hz: Real) -> FloatArray:
    """Equivalent depth De of the earth return, m, for earth of `resistivity` ohm m; broadcasts."""
    return np.asarray(DEPTH_FACTOR * np.sqrt(np.asarray(resistivity) / np.asarray(frequency_hz)))


def earth_return_resistance(frequency_hz: Real) -> FloatArray:
    """Resistance of the earth return, ohm/m, the same for self and mutual terms: w mu0/8."""
    return np.asarray(2 * math.pi * np.asarray(frequency_hz) * MU_0 / 8)


def distances(x: ArrayLike, y: ArrayLike) -> FloatArray:
    """Distances in m between conductors at (x, y) [..., n]; result [..., n, n], zero on the diagonal."""
    x_, y_ = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    return np.asarray(np.hypot(x_[..., :, None] - x_[..., None, :], y_[..., :, None] - y_[..., None, :]))


def primitive_impedance(
    x: ArrayLike,
    y: ArrayLike,
    gmr: ArrayLike,
    resistance: ArrayLike,
    frequency_hz: Real = 60.0,
    resistivity: Real = 100.0,
) -> ComplexArray:
    """Primitive impedance matrix [..., n, n] in ohm/m of n conductors with earth return.

    `x`, `y`, `gmr` (m) and `resistance` (ohm/m) are [..., n]; `frequency_hz` and `resistivity` (ohm m) [...].
    Modified Carson, Kersting's form. Conductors must not be in one place.
    """
    spaced = distances(x, y)
    n = spaced.shape[-1]
    radius = np.asarray(gmr, dtype=np.float64)
    here = np.eye(n, dtype=bool)
    # The GMR takes the place of the distance of a conductor from itself.
    span = np.where(here, radius[..., None, :], spaced)
    f = np.asarray(frequency_hz, dtype=np.float64)[..., None, None]
    rho = np.asarray(resistivity, dtype=np.float64)[..., None, None]
    omega = 2 * math.pi * f
    reactance = omega * MU_0 / (2 * math.pi) * np.log(earth_return_depth(rho, f) / span)
    own = np.where(here, np.asarray(resistance, dtype=np.float64)[..., None, :], 0.0)
    return np.asarray(own + earth_return_resistance(f) + 1j * reactance, dtype=np.complex128)


def mutual_impedance(distance: Real, frequency_hz: Real = 60.0, resistivity: Real = 100.0) -> ComplexArray:
    """Mutual impedance with earth return, ohm/m, of two conductors `distance` m apart; broadcasts."""
    omega = 2 * math.pi * np.asarray(frequency_hz)
    depth = earth_return_depth(resistivity, frequency_hz)
    x = omega * MU_0 / (2 * math.pi) * np.log(depth / np.asarray(distance))
    return np.asarray(earth_return_resistance(frequency_hz) + 1j * x)


def potential_coefficients(x: ArrayLike, y: ArrayLike, radius: ArrayLike) -> FloatArray:
    """Maxwell's potential coefficients [..., n, n] in m/F over perfectly conducting earth, by images.

    `x`, `y` and outer `radius` [..., n] in m, all y above zero.
    """
    x_, y_ = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    apart = distances(x_, y_)
    image = np.hypot(x_[..., :, None] - x_[..., None, :], y_[..., :, None] + y_[..., None, :])
    here = np.eye(apart.shape[-1], dtype=bool)
    return np.asarray(
        np.log(image / np.where(here, np.asarray(radius, dtype=np.float64)[..., None, :], apart))
        / (2 * math.pi * EPSILON_0)
    )
