"""Printed line constants beside what is computed, to the last digit. Each case names its source and how it is known."""

from __future__ import annotations

import numpy as np
import pytest

from groundlint.electrical.physics.carson import (
    DEPTH_FACTOR,
    mutual_impedance,
    primitive_impedance,
)
from groundlint.electrical.physics.conductors import Conductor, find_conductor
from groundlint.electrical.physics.constants import FOOT, MILE, ComplexArray
from groundlint.electrical.physics.spacings import SPACINGS, Spacing
from groundlint.electrical.study.line import Arrangement
from groundlint.plan.arrangements import ARRANGEMENTS


def wire(text: str) -> Conductor:
    found = find_conductor(text)
    assert isinstance(found, Conductor), found
    return found


def spacing(name: str) -> Spacing:
    return SPACINGS[f"ieee-{name}" if name.isdigit() else name]


def primitive(name: str, places: tuple[int, ...], phase: str, neutral: str) -> ComplexArray:
    """Ohm/mile of the phases at these places of a spacing, then the neutral."""
    where = spacing(name)
    assert where.neutral is not None
    positions = [where.phases[place] for place in places] + [where.neutral]
    wires = [wire(phase)] * len(places) + [wire(neutral)]
    x, y = zip(*positions, strict=True)
    z = primitive_impedance(x, y, [w.gmr for w in wires], [float(w.resistance(50.0)) for w in wires])
    return z * MILE


def reduced(name: str, places: tuple[int, ...], phase: str, neutral: str) -> ComplexArray:
    """With the neutral at zero volts to earth throughout, as printed feeders have it (Kron)."""
    z, n = primitive(name, places, phase, neutral), len(places)
    return np.asarray(z[:n, :n] - np.outer(z[:n, n], z[n, :n]) / z[n, n])


def test_constants_of_modified_carson() -> None:
    """Kersting, seen: 0.09530 + j0.12134 (ln(1/D) + 7.93402) ohm/mile, D in ft, at 60 Hz and 100 ohm m."""
    one_foot = complex(mutual_impedance(FOOT)) * MILE
    assert one_foot.real == pytest.approx(0.09530, abs=5e-6)
    assert one_foot.imag == pytest.approx(0.12134 * 7.93402, abs=5e-5)
    assert pytest.approx(658.9, abs=0.05) == DEPTH_FACTOR


def test_primitive_values() -> None:
    """Course solution for the IEEE 13-node feeder, seen: self 556.5 .2812+j1.383, D 7 ft and 2.5 ft, neutral."""
    z = primitive("ieee-500", (1, 0, 2), "556.5 kcmil acsr", "4/0 acsr")
    assert z[0, 0].real == pytest.approx(0.2812, abs=5e-5)
    assert z[0, 0].imag == pytest.approx(1.383, abs=5e-4)
    assert z[1, 2] == pytest.approx(0.0953 + 0.7266j, abs=7e-5)
    assert z[0, 1] == pytest.approx(0.0953 + 0.8515j, abs=7e-5)
    assert z[3, 3] == pytest.approx(0.6873 + 1.5465j, abs=7e-5)


FEEDERS = (
    (
        "IEEE 13-node 601, seen",
        ("ieee-500", (1, 0, 2), "556.5 kcmil acsr", "4/0 acsr"),
        (0.3465 + 1.0179j, 0.1560 + 0.5017j, 0.1580 + 0.4236j, 0.3375 + 1.0478j, 0.1535 + 0.3849j, 0.3414 + 1.0348j),
    ),
    (
        "IEEE 13-node 602, from memory, recomputes",
        ("ieee-500", (1, 2, 0), "4/0 acsr", "4/0 acsr"),
        (0.7526 + 1.1814j, 0.1580 + 0.4236j, 0.1560 + 0.5017j, 0.7475 + 1.1983j, 0.1535 + 0.3849j, 0.7436 + 1.2112j),
    ),
    (
        "IEEE 34-node 300, from memory, recomputes",
        ("ieee-500", (1, 0, 2), "1/0 acsr", "1/0 acsr"),
        (1.3368 + 1.3343j, 0.2101 + 0.5779j, 0.2130 + 0.5015j, 1.3238 + 1.3569j, 0.2066 + 0.4591j, 1.3294 + 1.3471j),
    ),
    (
        "IEEE 34-node 301, from memory, recomputes",
        ("ieee-500", (1, 0, 2), "#2 acsr 6/1", "#2 acsr 6/1"),
        (1.9300 + 1.4115j, 0.2327 + 0.6442j, 0.2359 + 0.5691j, 1.9157 + 1.4281j, 0.2288 + 0.5238j, 1.9219 + 1.4209j),
    ),
    (
        "IEEE 123-node 1, seen (a copy in ohm/kft)",
        ("ieee-500", (0, 1, 2), "336.4 kcmil acsr", "4/0 acsr"),
        (0.4576 + 1.0780j, 0.1560 + 0.5017j, 0.1535 + 0.3849j, 0.4666 + 1.0482j, 0.1580 + 0.4236j, 0.4615 + 1.0651j),
    ),
    (
        "IEEE 13-node 603, from memory, recomputes",
        ("ieee-505", (1, 0), "1/0 acsr", "1/0 acsr"),
        (1.3294 + 1.3471j, 0.2066 + 0.4591j, 1.3238 + 1.3569j),
    ),
    ("IEEE 13-node 605, from memory, recomputes", ("ieee-510", (0,), "1/0 acsr", "1/0 acsr"), (1.3292 + 1.3475j,)),
    (
        "IEEE 34-node 302, from memory, recomputes",
        ("ieee-510", (0,), "#4 acsr 6/1", "#4 acsr 6/1"),
        (2.7995 + 1.4855j,),
    ),
    (
        "IEEE 34-node 304, from memory, recomputes",
        ("ieee-510", (0,), "#2 acsr 6/1", "#2 acsr 6/1"),
        (1.9217 + 1.4212j,),
    ),
)


@pytest.mark.parametrize(("source", "arrangement", "printed"), FEEDERS, ids=[feeder[0] for feeder in FEEDERS])
def test_feeder_matrices(
    source: str, arrangement: tuple[str, tuple[int, ...], str, str], printed: tuple[complex, ...]
) -> None:
    z = reduced(*arrangement)
    computed = z[np.triu_indices(z.shape[0])]
    assert len(computed) == len(printed)
    for one, other in zip(computed, printed, strict=True):
        assert abs(one.real - other.real) <= 1e-4
        assert abs(one.imag - other.imag) <= 1e-4


def test_one_residual_current_beside_the_line() -> None:
    """Derived: 500 A that returns through earth, 40 ft away, induces 261.9 V along a mile."""
    volts = 500 * abs(complex(mutual_impedance(40 * FOOT))) * MILE
    assert volts == pytest.approx(261.9, abs=0.05)


def test_balanced_currents_far_away_induce_little() -> None:
    """Derived: the same 500 A in three balanced phases 4 ft apart induces a tenth of that of a residual current."""
    flat = np.array([-4.0, 0.0, 4.0]) * FOOT
    line = Arrangement(flat, np.full(3, 10.0), np.zeros((3, 3), dtype=complex), 60.0)
    beside = [((36 + apart) * FOOT, 10.0) for apart in (0, 4, 8)]  # 32 ft beyond the outermost conductor
    balanced = [500 * np.exp(-2j * np.pi / 3 * at) for at in range(3)]
    volts = np.abs(line.emf_per_metre(beside, balanced)) * MILE
    assert 0 < float(volts[1]) < 0.05 * 261.9


def test_a_transposed_line() -> None:
    """Z1 of 336.4 kcmil over 4/0 by which a fault 3 miles out is reckoned elsewhere: zs - zm."""
    z = reduced("ieee-500", (0, 1, 2), "336.4 kcmil acsr", "4/0 acsr")
    own, mutual = np.trace(z) / 3, (z.sum() - np.trace(z)) / 6
    assert own - mutual == pytest.approx(0.3061 + 0.6270j, abs=1e-4)


def deri(x: list[float], y: list[float], gmr: list[float], r: list[float], f: float, rho: float) -> ComplexArray:
    """Earth return by a complex depth (Deri and others, 1981): another approximation to Carson's integral."""
    omega, mu = 2 * np.pi * f, 4e-7 * np.pi
    p = np.sqrt(rho / (1j * omega * mu))
    xs, ys = np.array(x), np.array(y)
    apart = np.hypot(xs[:, None] - xs, ys[:, None] - ys) + np.diag(gmr)
    image = np.sqrt((xs[:, None] - xs) ** 2 + (ys[:, None] + ys + 2 * p) ** 2)
    return np.asarray(np.diag(r) + 1j * omega * mu / (2 * np.pi) * np.log(image / apart))


@pytest.mark.parametrize("name", sorted(SPACINGS))
@pytest.mark.parametrize("rho", [10.0, 100.0, 1000.0])
def test_another_earth_return_model_agrees(name: str, rho: float) -> None:
    """Terms of Carson's series left out at line heights and 60 Hz: some percent of an entry, most in good soil."""
    where = SPACINGS[name]
    positions = [*where.phases, *((where.neutral,) if where.neutral else ()), *where.shields]
    w = wire("336.4 kcmil acsr")
    n = len(positions)
    x, y = ([float(p[i]) for p in positions] for i in (0, 1))
    ohm = float(w.resistance(50.0))
    mine = primitive_impedance(x, y, [w.gmr] * n, [ohm] * n, 60.0, rho)
    other = deri(x, y, [w.gmr] * n, [ohm] * n, 60.0, rho)
    assert float(np.max(np.abs(mine - other) / np.abs(other))) < (0.06 if rho < 50 else 0.025)


def test_each_arrangement_that_a_plan_can_name_has_its_places() -> None:
    assert SPACINGS.keys() == ARRANGEMENTS.keys()
    named = spacing("ieee-500")
    assert [(round(x / FOOT, 6), round(y / FOOT, 6)) for x, y in named.phases] == [(0, 29), (2.5, 29), (7, 29)]
