"""Series impedance of overhead conductors with earth return: modified Carson, Kron reduction, sequence values,
coupling.

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

from groundlint.electrical.physics.constants import EPSILON_0, MU_0, BoolArray, ComplexArray, FloatArray, Real
from groundlint.values import Unknown

EULER_GAMMA: Final = 0.5772156649015329
DEPTH_FACTOR: Final = 2 * math.exp(0.5 - EULER_GAMMA) / math.sqrt(2 * math.pi * MU_0)
"""De / sqrt(rho/f): 658.87 m. From Q with k = S sqrt(w mu0/rho)."""

SINGULAR: Final = 1e12
"""Condition number past which a matrix to be inverted is taken as singular in double precision."""


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


def clashing(x: ArrayLike, y: ArrayLike, radius: ArrayLike) -> BoolArray:
    """Pairs [..., n, n] of conductors that touch or lie in one place: their mutual impedance has no meaning."""
    r = np.asarray(radius, dtype=np.float64)
    apart = distances(x, y) > r[..., :, None] + r[..., None, :]
    return np.asarray(~apart & ~np.eye(apart.shape[-1], dtype=bool))


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
    Modified Carson, Kersting's form. Conductors must not be in one place (see `clashing`).
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


def kron_reduce(z: ArrayLike, keep: int) -> ComplexArray | Unknown:
    """Matrix [..., keep, keep] seen from the first `keep` conductors with the others at zero volts to earth throughout.

    This stands for a multigrounded neutral or shield wire of negligible ground resistance. `Unknown` where the part
    to be taken out is singular.
    """
    full = np.asarray(z, dtype=np.complex128)
    outer, inner = full[..., :keep, :keep], full[..., keep:, keep:]
    if full.shape[-1] == keep:
        return outer.copy()
    if not bool(np.all(np.isfinite(full))) or bool(np.any(np.linalg.cond(inner) > SINGULAR)):
        return Unknown.of("impedance of grounded conductors that are distinct from each other")
    return np.asarray(outer - full[..., :keep, keep:] @ np.linalg.solve(inner, full[..., keep:, :keep]))


_A: Final = complex(-0.5, math.sqrt(3) / 2)
_SEQUENCE: Final = np.array([[1, 1, 1], [1, _A * _A, _A], [1, _A, _A * _A]], dtype=np.complex128)


def sequence_impedance(z_abc: ArrayLike) -> ComplexArray:
    """Matrix [..., 3, 3] in zero, positive, negative sequence of a phase impedance matrix, A^-1 z A (Fortescue)."""
    return np.asarray(np.linalg.inv(_SEQUENCE) @ np.asarray(z_abc, dtype=np.complex128) @ _SEQUENCE)


def transposed(z_abc: ArrayLike) -> tuple[ComplexArray, ComplexArray]:
    """Positive- and zero-sequence impedance (z1, z0) [...] of the line if it were transposed: zs - zm and zs + 2 zm."""
    z = np.asarray(z_abc, dtype=np.complex128)
    own = np.trace(z, axis1=-2, axis2=-1) / 3
    mutual = (z.sum(axis=(-2, -1)) - 3 * own) / 6
    return np.asarray(own - mutual), np.asarray(own + 2 * mutual)


def longitudinal_emf(z_mutual: ArrayLike, currents: ArrayLike) -> ComplexArray:
    """Electromotive force per metre, V/m [..., n], induced along n conductors by m others.

    `z_mutual` [..., n, m] in ohm/m is the block of the primitive matrix between both, `currents` [..., m] in A.
    The voltage along a length is this times the length, whatever the length is grounded to.
    """
    z, i = np.asarray(z_mutual, dtype=np.complex128), np.asarray(currents, dtype=np.complex128)
    return np.asarray((z @ i[..., None])[..., 0])


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


def electric_induction(
    coefficients: ArrayLike, energized: ArrayLike, voltages: ArrayLike, frequency_hz: Real = 60.0
) -> tuple[ComplexArray, ComplexArray] | Unknown:
    """Electric-field (capacitive) induction on idle conductors: open-circuit voltage V, and current to ground A/m.

    `coefficients` [..., n, n] from `potential_coefficients`; `energized` [n] tells which conductors carry `voltages`
    (volts to earth [..., m], one for each energized). Returns, for the idle conductors, the voltage to earth each
    takes if all idle ones are open, which is independent of length, and the current per metre each puts into a solid
    ground if all idle ones are grounded, which is proportional to length. `Unknown` where the coefficients are
    singular.
    """
    p = np.asarray(coefficients, dtype=np.float64)
    live = np.asarray(energized, dtype=bool)
    if not bool(np.all(np.isfinite(p))) or bool(np.any(np.linalg.cond(p) > SINGULAR)):
        return Unknown.of("positions of conductors that are distinct from each other and above earth")
    # Capacitance matrix C = P^-1, charge q = C v: idle and open means no charge, idle and grounded no voltage.
    c = np.linalg.inv(p)
    c_idle, c_mixed = c[..., ~live, :][..., :, ~live], c[..., ~live, :][..., :, live]
    charge = (c_mixed @ np.asarray(voltages, dtype=np.complex128)[..., None])[..., 0]
    voltage = -np.linalg.solve(c_idle.astype(np.complex128), charge[..., None])[..., 0]
    omega = 2 * math.pi * np.asarray(frequency_hz, dtype=np.float64)
    # The grounded conductor's charge comes out of earth; the current into earth is its negative.
    return np.asarray(voltage), np.asarray(-1j * omega[..., None] * charge)
