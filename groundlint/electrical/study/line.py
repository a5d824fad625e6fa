"""A plan's line per metre: series impedance, capacitance, and what a circuit beside it induces.

Positions are those that the plan states, of its named spacing, or a flat arrangement at the bounds of an assumption.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from groundlint.electrical.physics.carson import mutual_impedance, potential_coefficients, primitive_impedance
from groundlint.electrical.physics.conductors import BY_CURRENT, find_conductor, stranding_in_words
from groundlint.electrical.physics.conductors import Conductor as Wire
from groundlint.electrical.physics.constants import ComplexArray, FloatArray
from groundlint.electrical.physics.spacings import SPACINGS, Position, Spacing
from groundlint.electrical.solver.network import BALANCED
from groundlint.electrical.study.parts import Between, Register, middle, wires_of
from groundlint.plan.models import Conductor, ParallelCircuit, Plan
from groundlint.values import Gap, Unknown
from groundlint.words.quantities import rounded

USUAL_HEIGHT: Final = 9.0
"""Height in m of the lowest conductor where the plan states none, for capacitance alone (common practice)."""

USUAL_SPAN: Final = 60.0
"""Span in m for what is not known of one; a gap goes with it."""

WIDEST: Final = 1 / 12
"""Radius of a conductor, or of a bundle's circle, over the distance of phases: 25 mm at 0.3 m, half a metre at 6 m
(common practice, no source). Wires that nearly touch would charge each other and next to nothing else."""

STAND_IN: Final = "336.4 kcmil acsr"
"""In the place of a conductor whose size and kind are not stated; a gap goes with it, so that no result is reported."""


class Arrangement(NamedTuple):
    """Conductors in their places, `x` and `y` in m, and their shunt admittance (S/m, n by n)."""

    x: FloatArray
    y: FloatArray
    shunt: ComplexArray
    frequency: float

    def emf_per_metre(
        self, phases: Sequence[Position], currents: Sequence[complex], resistivity: float = 100.0
    ) -> ComplexArray:
        """Electromotive force along each conductor, V/m, from currents in other conductors at these places, which
        return through earth of `resistivity` ohm m."""
        xs, ys = np.array(phases).T
        apart = np.hypot(self.x[:, None] - xs, self.y[:, None] - ys)
        return np.asarray(mutual_impedance(apart, self.frequency, resistivity) @ np.array(currents))

    def coupling_per_metre(
        self, phases: Sequence[Position], voltage: float, own: FloatArray, theirs: float
    ) -> tuple[ComplexArray, tuple[complex, ...]]:
        """Mutual admittance, S/m [n, 3], of conductors with radii `own` to three phases at these places with radius
        `theirs`, m, and their voltages to earth, V."""
        xs, ys = np.array(phases).T
        x, y = np.concatenate([self.x, xs]), np.concatenate([self.y, ys])
        radius = np.concatenate([own, np.full(3, theirs)])
        capacitance = np.linalg.inv(potential_coefficients(x, y, radius))
        n = len(self.x)
        omega = 2 * math.pi * self.frequency
        live = voltage / math.sqrt(3)
        return np.asarray(-1j * omega * capacitance[:n, n:]), tuple(live * phasor for phasor in BALANCED)

    def beside(self, circuit: ParallelCircuit, distance: float, register: Register) -> list[tuple[Position, ...]]:
        """Where the three phases of a circuit beside may be, its nearest `distance` m beyond the outermost conductor.

        Which of them is nearest is not stated, nor on which side its middle one hangs: both orders, and either side. A
        circuit whose spacing is not stated is flat, at the bounds of an assumption, or one phase above another; it
        hangs as high as the line, or at the bounds of another.
        """
        if circuit.spacing is not None:
            shapes = [SPACINGS[circuit.spacing].phases]
        else:
            near, far = register.bounds("parallel-spacing")
            low, high = register.bounds("parallel-height")
            level = min(max(float(self.y.max()), low), high)
            shapes = [
                tuple((k * apart, y) for k in range(3))
                for y, every in ((level, (near, middle(near, far), far)), (low, (far,)), (high, (far,)))
                for apart in every
            ]
            shapes.append(tuple((0.0, level + k * far) for k in range(3)))
        edge = float(self.x.max()) + distance
        found = (
            tuple((edge + abs(x - end), y) for x, y in order)
            for shape in shapes
            for end in (min(x for x, _ in shape), max(x for x, _ in shape))
            for order in (shape, shape[::-1])
        )
        return list(dict.fromkeys(found))


class LineConstants(NamedTuple):
    """A line per metre: series impedance `z` (ohm/m, n by n) in the middle of its bounds.

    Relative to the middle, and each by itself, every conductor's impedance lies between the ends of `own` [n], and
    between those of `common` what is the same in every entry of the matrix: the reactance of the earth return.
    `neutral` is the neutral's own impedance; `gaps` are what had to be stood in for. `arrangements` are those that the
    conductors may have, with their shunt admittances, `radii` the least and largest radii of the conductors, m.
    """

    z: ComplexArray
    own: tuple[Between, ...]
    common: Between
    neutral: Between
    arrangements: tuple[Arrangement, ...]
    radii: tuple[FloatArray, FloatArray]
    gaps: tuple[Gap, ...]
    usual_span: float = USUAL_SPAN


def line_constants(plan: Plan, conductors: Sequence[Conductor], frequency: float, register: Register) -> LineConstants:
    """Constants of a plan's line for its conductors in their order."""
    gaps: list[Gap] = []
    wires: list[tuple[Wire, ...]] = []
    for conductor in conductors:
        found = wires_of(conductor)
        if isinstance(found, Unknown):
            gaps += found.gaps
            stand_in = find_conductor(STAND_IN)
            assert isinstance(stand_in, Wire)
            found = (stand_in,)
        wires.append(found)
    thin, thick = _stranding(conductors, wires, register)
    temperatures = register.bounds("conductor-temperature")
    (cold, cold_most), (warm_least, warm) = (
        [_along([[float(one.resistance(at)) for one in every] for every in wires], share) for share in (thin, thick)]
        for at in temperatures
    )
    by_laying = (cold_most - cold + warm - warm_least) / 2
    usual = (cold + warm) / 2
    shallow, deep = register.bounds("earth-return-resistivity")
    resistivity = middle(shallow, deep)
    least_gmr, most_gmr = (_along([[one.gmr for one in every] for every in wires], share) for share in (thin, thick))
    gmr = np.sqrt(least_gmr * most_gmr)
    radii = [_along([[one.radius for one in every] for every in wires], share) for share in (thin, thick)]
    radius = (radii[0] + radii[1]) / 2
    places, (near, far), missing = _positions(plan, conductors, register, float(radii[1].max()))
    arrangements = []
    for positions in places:
        x, y = np.array([p[0] for p in positions]), np.array([p[1] for p in positions])
        shunt = np.asarray(2j * math.pi * frequency * np.linalg.inv(potential_coefficients(x, y, radius)))
        arrangements.append(Arrangement(x, y, shunt, frequency))
    here = arrangements[len(arrangements) // 2]
    z = primitive_impedance(here.x, here.y, gmr, usual, frequency, resistivity)

    def reactance(distance: float, soil: float) -> float:
        return float(mutual_impedance(distance, frequency, soil).imag)

    usual_x, apart = reactance(1.0, resistivity), reactance(near, resistivity) - reactance(far, resistivity)
    earth = Between(
        1j * (reactance(1.0, shallow) - usual_x),
        1j * (reactance(1.0, deep) - usual_x),
        reactance=(("earth-return-resistivity", reactance(1.0, deep) - reactance(1.0, shallow)),),
    )
    number = next((k for k, c in enumerate(conductors) if c.role == "neutral"), 0)
    own = complex(z[number, number])
    internal = [reactance(1.0, resistivity) - reactance(ratio, resistivity) for ratio in np.sqrt(most_gmr / least_gmr)]
    # Distances all in one proportion change each mutual reactance alike: the common part by that, and each conductor's
    # own back by as much.
    spread = (("conductor-spacing", apart),) if apart else ()
    each = []
    for low, high, laid, inside in zip(
        (cold - usual).tolist(), (warm - usual).tolist(), by_laying.tolist(), internal, strict=True
    ):
        of_ohms = (("conductor-temperature", high - low - laid), ("conductor-stranding", laid))
        each.append(
            Between(
                low - 1j * inside,
                high + 1j * inside,
                tuple(one for one in of_ohms if one[1] > 0),
                (("conductor-stranding", 2 * inside),) if inside else (),
            )
        )
    mine = each[number]
    neutral = Between(
        own + mine.low + earth.low, own + mine.high + earth.high, mine.resistance, earth.reactance + mine.reactance
    )
    return LineConstants(
        z,
        tuple(
            Between(one.low - 0.5j * apart, one.high + 0.5j * apart, one.resistance, one.reactance + spread)
            for one in each
        ),
        Between(earth.low - 0.5j * apart, earth.high + 0.5j * apart, (), earth.reactance + spread),
        neutral,
        tuple(arrangements),
        (radii[0], radii[1]),
        tuple(dict.fromkeys((*gaps, *missing))),
    )


def _along(by_stranding: Sequence[Sequence[float]], share: float) -> FloatArray:
    """Of each conductor the value at a share of the way from the least to the most of those of its strandings."""
    return np.array([min(every) + share * (max(every) - min(every)) for every in by_stranding])


def _stranding(
    conductors: Sequence[Conductor], wires: Sequence[tuple[Wire, ...]], register: Register
) -> tuple[float, float]:
    """Bounds of that share; none where each conductor has one stranding."""
    open_wires = [(one, every) for one, every in zip(conductors, wires, strict=True) if len(every) > 1]
    if not open_wires:
        return 0.0, 0.0
    name = "conductor-stranding"
    register.where.setdefault(name, open_wires[0][0].span)
    said = ", ".join(_said(one, every[0]) for one, every in open_wires)
    register.write.setdefault(name, f"wires {said}")
    return register.bounds(name)


def _said(conductor: Conductor, usual: Wire) -> str:
    """What to write of a wire so that one alone is meant: its stranding; of steel, what a maker's table has."""
    if usual.metal not in BY_CURRENT:
        return f"{conductor} {conductor.size} {conductor.metal} {stranding_in_words(usual)}"
    size = conductor.size or f"{rounded(usual.diameter * 1000)} mm across"
    ohms, gmr = rounded(usual.resistance_ref * 1000), rounded(usual.gmr * 1000)
    return f"{conductor} {size} {conductor.metal} {ohms} ohm/km at {usual.reference_c:g} C gmr {gmr} mm"


def _positions(
    plan: Plan, conductors: Sequence[Conductor], register: Register, radius: float
) -> tuple[list[list[Position]], tuple[float, float], list[Gap]]:
    """Positions of the conductors, the widest of which is `radius` m, and the bounds of the distance between phases;
    three arrangements where the plan does not settle them, at the low bound, in the middle and at the high one."""
    line = plan.line
    assert line is not None
    if all(c.across is not None and c.height is not None for c in conductors):
        return [[(c.across or 0.0, c.height or USUAL_HEIGHT) for c in conductors]], (1.0, 1.0), []
    gaps: list[Gap] = []
    if line.spacing is not None:
        named = _of_spacing(SPACINGS[line.spacing], conductors)
        if named is not None:
            return [named], (1.0, 1.0), []
        room = (name for name, one in SPACINGS.items() if _of_spacing(one, conductors) is not None)
        write = f"spacing {next(room, 'ieee-500')}"
        gaps.append(Gap(f"positions of the conductors in spacing {line.spacing}", write, line.span))
    near, far = register.bounds("conductor-spacing", radius / WIDEST)
    apart = [near] if near == far else [near, middle(near, far), far]
    return [_flat(distance, conductors) for distance in apart], (near, far), gaps


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
    """Phases side by side, the neutral as far below their middle; one shield wire above it, two above the gaps between
    phases."""
    shields = sum(one.role == "shield" for one in conductors)
    found: list[Position] = []
    phases = 0
    for conductor in conductors:
        if conductor.role == "phase":
            found.append(((phases - 1) * apart, USUAL_HEIGHT + apart))
            phases += 1
        elif conductor.role == "shield":
            hung = sum(one[1] == USUAL_HEIGHT + 2 * apart for one in found)
            found.append(((hung - (shields - 1) / 2) * apart, USUAL_HEIGHT + 2 * apart))
        else:
            found.append((0.0, USUAL_HEIGHT))
    return found
