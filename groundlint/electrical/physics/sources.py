"""Sources as Thevenin equivalents by symmetrical components, and the fault currents that follow.

Voltages in V (nominal is phase to phase), impedances in ohm, currents in A rms, apparent power in VA. A source with
no zero-sequence path (delta, ungrounded star) has ``z0=None``; one whose zero sequence is not stated has an `Unknown`
there.
"""

from __future__ import annotations

import cmath
import math
from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from groundlint.electrical.physics.constants import ComplexArray
from groundlint.values import Unknown

_A: Final = complex(-0.5, math.sqrt(3) / 2)


class Equivalent(NamedTuple):
    """Three-phase Thevenin equivalent: `emf` V phase to neutral; z1, z2 and z0 in ohm."""

    emf: float
    z1: complex
    z2: complex
    z0: complex | Unknown | None

    @property
    def x_over_r(self) -> float:
        """X/R of the positive sequence, ``inf`` without resistance."""
        return self.z1.imag / self.z1.real if self.z1.real > 0 else math.inf


def impedance(magnitude: float, x_over_r: float) -> complex:
    """Complex impedance of that magnitude in ohm and X/R; a pure reactance for X/R ``inf``."""
    return complex(0.0, magnitude) if math.isinf(x_over_r) else cmath.rect(magnitude, math.atan(x_over_r))


def three_phase(emf: ArrayLike, z1: ArrayLike, fault: ArrayLike = 0.0) -> ComplexArray:
    """Current in each phase for a three-phase fault: E/(Z1 + Zf)."""
    return np.asarray(np.asarray(emf) / (np.asarray(z1, dtype=np.complex128) + np.asarray(fault)))


def phase_to_ground(
    emf: ArrayLike, z1: ArrayLike, z2: ArrayLike, z0: ArrayLike, fault: ArrayLike = 0.0
) -> ComplexArray:
    """Current of the faulted phase for a fault of one phase to ground: 3E/(Z1 + Z2 + Z0 + 3Zf)."""
    total = np.asarray(z1, dtype=np.complex128) + np.asarray(z2) + np.asarray(z0) + 3 * np.asarray(fault)
    return np.asarray(3 * np.asarray(emf) / total)


def phase_to_phase(emf: ArrayLike, z1: ArrayLike, z2: ArrayLike, fault: ArrayLike = 0.0) -> ComplexArray:
    """Current of phase b for a fault between b and c: -j sqrt3 E/(Z1 + Z2 + Zf)."""
    total = np.asarray(z1, dtype=np.complex128) + np.asarray(z2) + np.asarray(fault)
    return np.asarray(-1j * math.sqrt(3) * np.asarray(emf) / total)


class TwoPhaseToGround(NamedTuple):
    """Currents in A of a fault of phases b and c to ground: of both phases, and the sum into ground."""

    b: ComplexArray
    c: ComplexArray
    ground: ComplexArray


def two_phase_to_ground(
    emf: ArrayLike, z1: ArrayLike, z2: ArrayLike, z0: ArrayLike, fault: ArrayLike = 0.0
) -> TwoPhaseToGround:
    """Fault of phases b and c to ground: I1 = E/(Z1 + Z2 || (Z0 + 3Zf)), I0 = -I1 Z2/(Z2 + Z0 + 3Zf)."""
    second = np.asarray(z2, dtype=np.complex128)
    zero = np.asarray(z0) + 3 * np.asarray(fault)
    i1 = np.asarray(emf) / (np.asarray(z1) + second * zero / (second + zero))
    i0 = -i1 * second / (second + zero)
    i2 = -i1 * zero / (second + zero)
    b, c = i0 + _A**2 * i1 + _A * i2, i0 + _A * i1 + _A**2 * i2
    return TwoPhaseToGround(np.asarray(b), np.asarray(c), np.asarray(3 * i0))


def _positive(*values: float | None) -> bool:
    return all(value is not None and 0 < value < math.inf for value in values)


def from_fault_currents(
    voltage: float,
    three_phase_current: float | None,
    x_over_r: float | None,
    ground_current: float | None = None,
    ground_x_over_r: float | None = None,
) -> Equivalent | Unknown:
    """Equivalent at a bus from its three-phase and phase-to-ground fault currents in A and X/R.

    Z2 is taken as Z1. Without `ground_x_over_r` the whole ground-fault loop has the X/R of the three-phase fault.
    Without `ground_current` the zero sequence is `Unknown`; a ground current of zero says there is no zero-sequence
    path. `Unknown` where voltage, three-phase current or X/R is missing or not positive, or where the two currents
    and X/R contradict each other (Z0 would have to be active).
    """
    if voltage is None or not _positive(voltage):
        return Unknown.of("nominal voltage of the line", "voltage 12.47 kV")
    if three_phase_current is None or not _positive(three_phase_current):
        return Unknown.of("three-phase fault current of the source", "fault 6.8 kA three-phase")
    if x_over_r is None or not x_over_r >= 0:
        return Unknown.of("X/R of the source", "x/r 9")
    emf = voltage / math.sqrt(3)
    z1 = impedance(emf / three_phase_current, x_over_r)
    if ground_current is None:
        return Equivalent(emf, z1, z1, Unknown.of("fault current to ground of the source", "5.2 kA to ground"))
    if ground_current == 0:
        return Equivalent(emf, z1, z1, None)
    if not _positive(ground_current):
        return Unknown.of("fault current to ground of the source", "5.2 kA to ground")
    if ground_x_over_r is not None and not ground_x_over_r >= 0:
        return Unknown.of("X/R of the ground fault", "x/r 9")
    loop = impedance(3 * emf / ground_current, x_over_r if ground_x_over_r is None else ground_x_over_r)
    z0 = loop - 2 * z1
    slack = -1e-9 * abs(loop)
    if z0.real < slack or z0.imag < slack:
        return Unknown.of(
            "fault currents and X/R that agree: the zero-sequence impedance that follows has negative resistance or "
            "reactance",
            "a current to ground less than 1.5 times the three-phase current",
        )
    return Equivalent(emf, z1, z1, complex(max(z0.real, 0.0), max(z0.imag, 0.0)))


def from_power(
    voltage: float, power: float | None, x_over_r: float | None, ground_power: float | None = None
) -> Equivalent | Unknown:
    """Equivalent from short-circuit power in VA, sqrt3 V I, three-phase and (if stated) phase to ground."""
    if power is None or not _positive(power, voltage):
        return Unknown.of("short-circuit power of the source", "150 MVA")
    factor = math.sqrt(3) * voltage
    ground = None if ground_power is None else ground_power / factor
    return from_fault_currents(voltage, power / factor, x_over_r, ground)


class FaultCurrents(NamedTuple):
    """Largest rms current in A of one phase, or of ground, by kind of fault; `Unknown` where zero sequence is not
    stated.

    `to_ground` is the current of a phase-to-ground fault and `two_to_ground` that into ground of a two-phase one;
    both are 0 without a zero-sequence path.
    """

    three_phase: float
    phase_to_phase: float
    to_ground: float | Unknown
    two_to_ground: float | Unknown


def fault_currents(source: Equivalent, fault: complex = 0j) -> FaultCurrents | Unknown:
    """Fault currents of an equivalent with a fault impedance in ohm; `Unknown` where nothing limits them."""
    if abs(source.z1 + fault) == 0 or abs(source.z1 + source.z2 + fault) == 0:
        return Unknown.of("an impedance that limits the fault current", "fault 6.8 kA three-phase")
    i3 = float(abs(three_phase(source.emf, source.z1, fault)))
    i2 = float(abs(phase_to_phase(source.emf, source.z1, source.z2, fault)))
    if isinstance(source.z0, Unknown):
        return FaultCurrents(i3, i2, source.z0, source.z0)
    if source.z0 is None:
        return FaultCurrents(i3, i2, 0.0, 0.0)
    loop = source.z1 + source.z2 + source.z0 + 3 * fault
    if abs(loop) == 0 or abs(source.z2 + source.z0 + 3 * fault) == 0:
        return Unknown.of("an impedance that limits the fault current", "fault 6.8 kA three-phase")
    i1 = float(abs(phase_to_ground(source.emf, source.z1, source.z2, source.z0, fault)))
    both = two_phase_to_ground(source.emf, source.z1, source.z2, source.z0, fault)
    return FaultCurrents(i3, i2, i1, float(abs(both.ground)))


@lru_cache(maxsize=512)  # of a few sources, asked for at every step
def bolted_current(equivalent: Equivalent, poles: int) -> float:
    """Current in A of a fault without impedance at a source's terminals: of three phases, two, or one to ground."""
    found = fault_currents(equivalent)
    if isinstance(found, Unknown):
        return math.inf
    to_ground = found.to_ground if isinstance(found.to_ground, float) else 0.0
    return {3: found.three_phase, 2: found.phase_to_phase, 1: to_ground}[poles]
