"""A plan's line per metre: series impedance, capacitance, and what a circuit beside it induces.

Positions are those that the plan states, of its named spacing, or a flat arrangement at the bounds of an assumption.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from groundlint.electrical.physics.carson import mutual_impedance, potential_coefficients, primitive_impedance
from groundlint.electrical.physics.conductors import Conductor as Wire
from groundlint.electrical.physics.conductors import find_conductor
from groundlint.electrical.physics.constants import ComplexArray, FloatArray
from groundlint.electrical.physics.spacings import Position, Spacing, find_spacing
from groundlint.electrical.solver.network import BALANCED
from groundlint.electrical.study.parts import LEADS, Register, wire_of
from groundlint.plan.models import Conductor, Plan
from groundlint.values import Gap, Unknown

USUAL_HEIGHT: Final = 9.0
"""Height in m of conductors where the plan states none, for capacitance alone (common practice, no source)."""

USUAL_SPAN: Final = 60.0
"""Span in m for what is not known of one; a gap goes with it."""

STAND_IN: Final = "336.4 kcmil acsr"
"""In the place of a conductor whose size and kind are not stated; a gap goes with it, so that no result is told."""


class LineConstants(NamedTuple):
    """Series impedance (ohm/m, n by n) at the low and high bounds, shunt admittance (S/m), and the neutral's own
    impedance with earth return (ohm/m) for its ladder; `gaps` are what had to be stood in for."""

    low: ComplexArray
    high: ComplexArray
    shunt: ComplexArray
    neutral_low: complex
    neutral_high: complex
    gaps: tuple[Gap, ...]
    frequency: float
    x: FloatArray
    y: FloatArray
    radius: FloatArray
    usual_span: float = USUAL_SPAN

    def emf_per_metre(self, distance: float, current: float) -> ComplexArray:
        """Electromotive force along each conductor, V/m, from balanced currents in a circuit `distance` m to its side.

        The circuit's phases are taken flat and as far from each other as the line's outer conductors are from its
        middle.
        """
        z = np.array(
            [
                [complex(mutual_impedance(d, self.frequency)) for d in np.hypot(self.x[i] - xs, self.y[i] - ys)]
                for i, (xs, ys) in ((i, self._beside(distance)) for i in range(len(self.x)))
            ]
        )
        return np.asarray(z @ (current * np.array(BALANCED)))

    def coupling_per_metre(self, distance: float, voltage: float) -> tuple[ComplexArray, tuple[complex, ...]]:
        """Mutual admittance, S/m [n, 3], to a circuit `distance` m to the side, and its voltages to earth, V."""
        xs, ys = self._beside(distance)
        x, y = np.concatenate([self.x, xs]), np.concatenate([self.y, ys])
        radius = np.concatenate([self.radius, np.full(3, float(self.radius.max()))])
        capacitance = np.linalg.inv(potential_coefficients(x, y, radius))
        n = len(self.x)
        omega = 2 * math.pi * self.frequency
        live = voltage / math.sqrt(3)
        return np.asarray(-1j * omega * capacitance[:n, n:]), tuple(live * phasor for phasor in BALANCED)

    def _beside(self, distance: float) -> tuple[FloatArray, FloatArray]:
        spread = max(0.5, float(np.abs(self.x - self.x.mean()).max()))
        height = float(self.y.max())
        edge = float(self.x.max())
        return np.asarray(edge + distance + spread * np.arange(3)), np.full(3, height)


def line_constants(plan: Plan, conductors: Sequence[Conductor], frequency: float, register: Register) -> LineConstants:
    """Constants of a plan's line for its conductors in their order."""
    gaps: list[Gap] = []
    wires: list[Wire] = []
    for conductor in conductors:
        found = wire_of(conductor)
        if isinstance(found, Unknown):
            gaps += found.gaps
            found = find_conductor(STAND_IN)
            assert isinstance(found, Wire)
        wires.append(found)
    warm = register.bounds("conductor-temperature", LEADS)
    deep = register.bounds("earth-return-resistivity", LEADS)
    gmr = np.array([wire.gmr for wire in wires])
    radius = np.array([wire.radius for wire in wires])
    made = []
    places = _positions(plan, conductors, register)
    gaps += places[1]
    for which, positions in enumerate(places[0]):
        x, y = np.array([p[0] for p in positions]), np.array([p[1] for p in positions])
        resistance = np.array([float(wire.resistance(warm[which])) for wire in wires])
        made.append((x, y, primitive_impedance(x, y, gmr, resistance, frequency, deep[which])))
    x, y, low = made[0]
    high = made[1][2]
    capacitance = np.linalg.inv(potential_coefficients(x, y, radius))
    own = next((k for k, c in enumerate(conductors) if c.role == "neutral"), 0)
    return LineConstants(
        low,
        high,
        np.asarray(2j * math.pi * frequency * capacitance),
        complex(low[own, own]),
        complex(high[own, own]),
        tuple(dict.fromkeys(gaps)),
        frequency,
        x,
        y,
        radius,
    )


def _positions(
    plan: Plan, conductors: Sequence[Conductor], register: Register
) -> tuple[tuple[list[Position], list[Position]], list[Gap]]:
    """Positions of the conductors at the low and the high bound; both the same where the plan settles them."""
    line = plan.line
    assert line is not None
    if all(c.across is not None and c.height is not None for c in conductors):
        stated = [(c.across or 0.0, c.height or USUAL_HEIGHT) for c in conductors]
        return (stated, stated), []
    gaps: list[Gap] = []
    if line.spacing is not None:
        found = find_spacing(line.spacing)
        if isinstance(found, Spacing):
            named = _of_spacing(found, conductors)
            if named is not None:
                return (named, named), []
        gaps.append(Gap(f"positions of the conductors in spacing {line.spacing}", "spacing ieee-500", line.span))
    near, far = register.bounds("conductor-spacing", LEADS)
    return (_flat(near, conductors), _flat(far, conductors)), gaps


def _of_spacing(spacing: Spacing, conductors: Sequence[Conductor]) -> list[Position] | None:
    places = {"phase": list(spacing.phases), "neutral": [spacing.neutral] if spacing.neutral else []}
    places["shield"] = list(spacing.shields)
    found: list[Position] = []
    for conductor in conductors:
        left = places.get(conductor.role, [])
        if not left:
            return None
        found.append(left.pop(0))
    return found


def _flat(apart: float, conductors: Sequence[Conductor]) -> list[Position]:
    """Phases side by side, the neutral below their middle, the shield wire above it."""
    found: list[Position] = []
    phases = 0
    for conductor in conductors:
        if conductor.role == "phase":
            found.append(((phases - 1) * apart, USUAL_HEIGHT))
            phases += 1
        elif conductor.role == "neutral":
            found.append((0.1, USUAL_HEIGHT - max(1.0, apart / 2)))
        else:
            found.append((-0.1, USUAL_HEIGHT + max(1.5, apart)))
    return found
