"""The circuit at a step: named nodes, branches, sources, and the question put to it.

Nodes are names; ``EARTH`` is remote earth and the reference. Impedances are in ohm, admittances in siemens,
electromotive forces in volt and currents in ampere, all complex rms phasors at one frequency. A branch has a
direction from ``a`` to ``b``: its current is positive from ``a`` to ``b`` and an electromotive force in it drives
current that way.

Nothing here is solved: `groundlint.electrical.solver.solve.solve` takes a `Network` and answers.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

import numpy as np

EARTH: Final = "earth"
"""Name of remote earth, the reference node at 0 V."""

Matrix = tuple[tuple[complex, ...], ...]
"""A square complex matrix as a tuple of rows, so that elements stay hashable."""

PASSIVITY_TOLERANCE: Final = 1e-6
"""Share of a matrix's largest entry by which it may miss symmetry or passivity: tables are printed to so many
digits."""

SPAN_CONDITION_LIMIT: Final = 1e10
"""Condition number past which a span's impedance matrix is taken as singular: it is inverted in double precision."""


@dataclass(frozen=True, slots=True)
class NotSolvable:
    """Why a quantity has no value, and the nodes at fault. Takes the place of NaN and of exceptions."""

    reason: str
    nodes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Bond:
    """An ideal connection: both nodes become one. It has no current of its own; give an `Impedance` where one is
    asked."""

    name: str
    a: str
    b: str


@dataclass(frozen=True, slots=True)
class Impedance:
    """A two-terminal passive impedance `z` in ohm: a lead with its contacts, an electrode, a pole, a bond with
    resistance."""

    name: str
    a: str
    b: str
    z: complex


@dataclass(frozen=True, slots=True)
class Span:
    """Coupled series impedances `z` (n by n, ohm) of n conductors, the k-th from ``a[k]`` to ``b[k]``, earth return
    included."""

    name: str
    a: tuple[str, ...]
    b: tuple[str, ...]
    z: Matrix


@dataclass(frozen=True, slots=True)
class ShuntAdmittance:
    """Coupled admittances `y` (n by n, siemens) from n nodes to remote earth, as of line capacitance: I = y V into
    the shunt."""

    name: str
    nodes: tuple[str, ...]
    y: Matrix


@dataclass(frozen=True, slots=True)
class ThreePhaseSource:
    """Three electromotive forces (volt to neutral) behind positive-sequence `z1` and zero-sequence `z0` impedances in
    ohm.

    Negative-sequence impedance is taken equal to `z1`. With ``z0=None`` the source has no zero-sequence path (delta or
    ungrounded star) and `neutral` is not connected. Currents are positive out of the source.
    """

    name: str
    phases: tuple[str, str, str]
    neutral: str
    emf: tuple[complex, complex, complex]
    z1: complex
    z0: complex | None


@dataclass(frozen=True, slots=True)
class VoltageSource:
    """An electromotive force `emf` (volt) behind `z` (ohm); with no load ``b`` is at `emf` above ``a``."""

    name: str
    a: str
    b: str
    emf: complex
    z: complex


@dataclass(frozen=True, slots=True)
class CurrentSource:
    """An ideal current (ampere) taken out of node ``a`` and put into node ``b``."""

    name: str
    a: str
    b: str
    current: complex


@dataclass(frozen=True, slots=True)
class InducedEmf:
    """Longitudinal electromotive forces (volt), one for each conductor of the span named `span`, driving from a to
    b."""

    name: str
    span: str
    emf: tuple[complex, ...]


@dataclass(frozen=True, slots=True)
class CapacitiveCoupling:
    """Current ``y @ voltage`` into `nodes` from energized conductors at `voltage` (volt to earth) through mutual
    admittances.

    `y` is (nodes by energized conductors) in siemens, positive susceptance. What the nodes themselves lose to earth
    and to the energized conductors belongs in a `ShuntAdmittance` (its diagonal holds the total capacitance).
    """

    name: str
    nodes: tuple[str, ...]
    y: tuple[tuple[complex, ...], ...]
    voltage: tuple[complex, ...]


Passive = Bond | Impedance | Span | ShuntAdmittance
Source = ThreePhaseSource | VoltageSource | CurrentSource | InducedEmf | CapacitiveCoupling
Element = Passive | Source

BALANCED: Final = (1 + 0j, cmath.rect(1.0, -2 * math.pi / 3), cmath.rect(1.0, 2 * math.pi / 3))
"""Unit phasors of a balanced three-phase set in the order a, b, c."""


@dataclass(frozen=True, slots=True)
class Energized:
    """One source that is on in a scenario: all poles or those marked, its phasors times `scale`."""

    source: str
    poles: tuple[bool, ...] | None = None
    scale: complex = 1.0


@dataclass(frozen=True, slots=True)
class Scenario:
    """What could happen at a step: sources named in `on` are connected, every other source is open.

    `off` names passive elements that are open in this scenario besides those that are open at the step.
    """

    name: str
    on: tuple[Energized, ...]
    off: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Variant:
    """One end of the assumptions: `elements` stand in for those of the same name, kind and terminals."""

    name: str
    elements: tuple[Element, ...] = ()


@dataclass(frozen=True, slots=True)
class Network:
    """Every element that is ever connected on the route; each state then says which are off.

    `isolated` names nodes stated to be isolated and uncharged: an island without a path to earth that holds one of
    them, and nothing that could drive it, is at 0 V. Any other island without a path to earth has no potential.
    """

    elements: tuple[Element, ...]
    isolated: frozenset[str] = field(default=frozenset())


def matrix(rows: Iterable[Iterable[complex]]) -> Matrix:
    """A nested iterable, such as a NumPy array, as a `Matrix`."""
    return tuple(tuple(complex(entry) for entry in row) for row in rows)


def sequence_matrix(z1: complex, z0: complex) -> Matrix:
    """The phase matrix of a balanced element: self (z0 + 2 z1)/3 and mutual (z0 - z1)/3, Fortescue's transformation."""
    own, mutual = (z0 + 2 * z1) / 3, (z0 - z1) / 3
    return tuple(tuple(own if row == column else mutual for column in range(3)) for row in range(3))


def terminals(element: Element) -> tuple[str, ...]:
    """Every node an element names, in order; none for an `InducedEmf`, which sits in its span."""
    match element:
        case Bond() | Impedance() | VoltageSource() | CurrentSource():
            return (element.a, element.b)
        case Span():
            return element.a + element.b
        case ShuntAdmittance() | CapacitiveCoupling():
            return element.nodes
        case ThreePhaseSource():
            return (*element.phases, element.neutral)
        case InducedEmf():
            return ()


def poles(element: Element) -> int:
    """How many conductors an element has, each with its own current; 0 where it has none of its own."""
    match element:
        case Impedance() | VoltageSource():
            return 1
        case Span():
            return len(element.a)
        case ShuntAdmittance():
            return len(element.nodes)
        case ThreePhaseSource():
            return 3
        case _:
            return 0


def check_element(element: Element) -> NotSolvable | None:
    """What is wrong with an element by itself: numbers not finite, shapes that do not fit, or not a passive
    impedance."""
    name, nodes = element.name, terminals(element)
    match element:
        case Bond():
            return None
        case Impedance() | VoltageSource():
            if isinstance(element, VoltageSource) and not cmath.isfinite(element.emf):
                return NotSolvable(f"{name}: the electromotive force is not a finite number", nodes)
            return _check_impedance(name, nodes, element.z)
        case Span():
            n = len(element.a)
            if n == 0 or len(element.b) != n:
                return NotSolvable(f"{name}: the two ends of the span do not have the same number of conductors", nodes)
            if (problem := _check_matrix(name, nodes, element.z, n)) is not None:
                return problem
            if not _condition(np.array(element.z)) <= SPAN_CONDITION_LIMIT:
                return NotSolvable(f"{name}: the impedance matrix of the span is singular", nodes)
            return None
        case ShuntAdmittance():
            return _check_matrix(name, nodes, element.y, len(element.nodes))
        case ThreePhaseSource():
            if not all(map(cmath.isfinite, element.emf)):
                return NotSolvable(f"{name}: the electromotive force is not a finite number", nodes)
            if element.z0 is not None:
                if (problem := _check_impedance(name, nodes, element.z0)) is not None:
                    return problem
                if 0 in (element.z0 + 2 * element.z1, 2 * element.z0 + element.z1):
                    return NotSolvable(f"{name}: the sequence impedances cancel with one or two poles closed", nodes)
            return _check_impedance(name, nodes, element.z1)
        case CurrentSource():
            numbers: tuple[complex, ...] = (element.current,)
        case InducedEmf():
            numbers = element.emf
        case CapacitiveCoupling():
            if len(element.y) != len(nodes) or any(len(row) != len(element.voltage) for row in element.y):
                return NotSolvable(f"{name}: the admittances do not fit the nodes and voltages", nodes)
            numbers = element.voltage + tuple(entry for row in element.y for entry in row)
    if not all(map(cmath.isfinite, numbers)):
        return NotSolvable(f"{name}: not a finite number", nodes)
    return None


def _condition(matrix_: np.ndarray[tuple[int, ...], np.dtype[np.complex128]]) -> float:
    """1-norm condition number, infinite for a singular matrix."""
    try:
        inverse = np.linalg.inv(matrix_)
    except np.linalg.LinAlgError:
        return math.inf
    found = float(np.abs(matrix_).sum(axis=0).max() * np.abs(inverse).sum(axis=0).max())
    return found if math.isfinite(found) else math.inf


def _check_impedance(name: str, nodes: tuple[str, ...], z: complex) -> NotSolvable | None:
    if not cmath.isfinite(z):
        return NotSolvable(f"{name}: the impedance is not a finite number; leave an open branch off", nodes)
    if z == 0 or not cmath.isfinite(1 / z):
        return NotSolvable(f"{name}: the impedance is zero; an ideal connection is a bond", nodes)
    if z.real < 0:
        return NotSolvable(f"{name}: the resistance is negative", nodes)
    return None


def _check_matrix(name: str, nodes: tuple[str, ...], rows: Matrix, size: int) -> NotSolvable | None:
    if len(rows) != size or any(len(row) != size for row in rows):
        return NotSolvable(f"{name}: the matrix is not {size} by {size}", nodes)
    values = np.array(rows, dtype=np.complex128)
    if not np.isfinite(values).all():
        return NotSolvable(f"{name}: the matrix holds a number that is not finite", nodes)
    slack = PASSIVITY_TOLERANCE * float(np.abs(values).max(initial=0.0))
    if float(np.abs(values - values.T).max(initial=0.0)) > slack:
        return NotSolvable(f"{name}: the matrix is not symmetric, so the element is not reciprocal", nodes)
    if size and float(np.linalg.eigvalsh((values + values.conj().T) / 2).min()) < -slack:
        return NotSolvable(f"{name}: the matrix is not passive, it would give out power", nodes)
    return None


def check_network(
    network: Network, scenarios: Iterable[Scenario], variants: Iterable[Variant], states: Iterable[frozenset[str]]
) -> NotSolvable | None:
    """What is wrong with a question as a whole: names used twice or unknown, poles or variants that do not fit."""
    by_name: dict[str, Element] = {}
    for element in network.elements:
        if element.name in by_name:
            return NotSolvable(f"the element name {element.name} is used twice", terminals(element))
        by_name[element.name] = element
    for element in network.elements:
        if isinstance(element, InducedEmf):
            span = by_name.get(element.span)
            if not isinstance(span, Span) or len(span.a) != len(element.emf):
                return NotSolvable(f"{element.name}: there is no span {element.span} of {len(element.emf)} conductors")
    for variant in variants:
        for element in variant.elements:
            base = by_name.get(element.name)
            if base is None or not _same_place(base, element):
                return NotSolvable(
                    f"variant {variant.name}: {element.name} replaces no element of the same kind and terminals",
                    terminals(element),
                )
    for scenario in scenarios:
        if len({energized.source for energized in scenario.on}) != len(scenario.on):
            return NotSolvable(f"scenario {scenario.name}: a source is named twice")
        for energized in scenario.on:
            source = by_name.get(energized.source)
            if source is None or not isinstance(source, Source):
                return NotSolvable(f"scenario {scenario.name}: there is no source {energized.source}")
            if energized.poles is not None and len(energized.poles) != poles(source):
                return NotSolvable(
                    f"scenario {scenario.name}: {source.name} has {poles(source)} poles", terminals(source)
                )
            if not cmath.isfinite(energized.scale):
                return NotSolvable(f"scenario {scenario.name}: the scale of {source.name} is not a finite number")
        if (problem := _check_off(by_name, scenario.off, f"scenario {scenario.name}")) is not None:
            return problem
    for number, state in enumerate(states):
        if (problem := _check_off(by_name, state, f"state {number}")) is not None:
            return problem
    return None


def _check_off(by_name: dict[str, Element], off: frozenset[str], where: str) -> NotSolvable | None:
    for name in off:
        if not isinstance(by_name.get(name), Passive):
            return NotSolvable(f"{where}: there is no passive element {name} to be off")
    return None


def _same_place(base: Element, other: Element) -> bool:
    if type(base) is not type(other) or isinstance(other, Bond) or terminals(base) != terminals(other):
        return False
    if isinstance(base, ThreePhaseSource) and isinstance(other, ThreePhaseSource):
        # Without a zero-sequence path the source has a node of its own: another network, not another value.
        return (base.z0 is None) == (other.z0 is None)
    if isinstance(base, InducedEmf) and isinstance(other, InducedEmf):
        return base.span == other.span and len(base.emf) == len(other.emf)
    return poles(base) == poles(other)
