"""Conductor tables that agree with physics, and line constants that keep their symmetries."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from groundlint.electrical.physics.carson import (
    primitive_impedance,
)
from groundlint.electrical.physics.conductor_data import GMR_SHARE
from groundlint.electrical.physics.conductors import LAY, METALS, Conductor, _table, find_conductor, read_size
from groundlint.electrical.physics.constants import MILE, MM2
from groundlint.electrical.study.line import Arrangement
from groundlint.values import Unknown
from groundlint.values.wire import WireSize, parse_wire

ALL = tuple(one for _, one, _ in _table())


@pytest.mark.parametrize("conductor", ALL, ids=lambda conductor: conductor.designation)
def test_every_row_is_physical(conductor: Conductor) -> None:
    """Printed resistance against area and resistivity; GMR against the stranding; strands fit within the diameter."""
    kind = METALS[conductor.metal]
    ideal = kind.resistivity_20 / conductor.area * (kind.k0 + 50) / (kind.k0 + 20)
    ratio = float(conductor.resistance(50.0)) / ideal
    # ACSR of one or three layers loses in its magnetised core; the steel of others carries a little.
    assert 0.95 <= ratio <= {"6/1": 1.26, "7/1": 1.26, "54/7": 1.16, "54/19": 1.16}.get(conductor.stranding, 1.08)
    assert conductor.area < math.pi / 4 * conductor.diameter**2 * 1.005
    share = conductor.gmr / conductor.radius
    if conductor.stranding in GMR_SHARE and conductor.metal in ("copper", "aluminium", "aluminium alloy", "acsr"):
        assert share == pytest.approx(GMR_SHARE[conductor.stranding], rel=0.012)
    assert 0 < share < 0.84


def test_there_are_rows_of_every_kind() -> None:
    assert {conductor.metal for conductor in ALL} == {
        "acsr", "acss", "copper", "aluminium", "aluminium alloy", "aluminium-clad steel", "steel",
    }  # fmt: skip
    assert len({conductor.designation for conductor in ALL}) == len(ALL)


@pytest.mark.parametrize("layers", [(1, 6), (1, 6, 12), (1, 6, 12, 18), (1, 6, 12, 18, 24), (3,), (3, 9)])
def test_gmr_shares_from_geometry(layers: tuple[int, ...]) -> None:
    """GMR of equal round strands in concentric layers, strand by strand."""
    places = []
    first = 0.0 if layers[0] == 1 else 1 / math.sin(math.pi / layers[0])
    for index, count in enumerate(layers):
        radius = first + 2 * index
        places += [complex(radius * np.exp(2j * math.pi * k / count)) for k in range(count)]
    logs = [-0.25 if a is b else math.log(abs(a - b)) for a in places for b in places]
    share = math.exp(sum(logs) / len(places) ** 2) / (max(map(abs, places)) + 1)
    assert share == pytest.approx(GMR_SHARE[str(len(places))], abs=2e-4)


@pytest.mark.parametrize("conductor", ALL, ids=lambda conductor: conductor.designation)
def test_every_designation_finds_its_row(conductor: Conductor) -> None:
    stranded = conductor.metal in ("copper", "aluminium", "aluminium alloy") and conductor.stranding.isdigit()
    text = conductor.designation + (" strand" if stranded else "")
    if conductor.metal == "aluminium alloy":
        text = text.replace("aluminium alloy", "aaac")
    if conductor.metal in ("steel", "aluminium-clad steel"):
        text = text.removesuffix(f" {conductor.stranding}")
    found = find_conductor(text)
    assert isinstance(found, Conductor), found
    assert found.designation == conductor.designation


@pytest.mark.parametrize(
    ("text", "designation"),
    [
        ("336.4 kcmil acsr", "336.4 kcmil acsr 26/7"),
        ("336 ACSR", "336.4 kcmil acsr 26/7"),
        ("336,400 cmil 26/7 ACSR", "336.4 kcmil acsr 26/7"),
        ("4/0 acsr", "4/0 acsr 6/1"),
        ("4/0 AWG acsr", "4/0 acsr 6/1"),
        ("AWG 4/0 acsr", "4/0 acsr 6/1"),
        ("#4/0 acsr", "4/0 acsr 6/1"),
        ("0000 acsr", "4/0 acsr 6/1"),
        ("AWG 2 copper", "2 AWG copper 7"),
        ("336400 cmil acsr", "336.4 kcmil acsr 26/7"),
        ("350 MCM copper", "350 kcmil copper 19"),
        ("95 sq mm copper", "95 mm2 copper 19"),
        ("penguin", "4/0 acsr 6/1"),
        ("Drake acsr", "795 kcmil acsr 26/7"),
        ("2/0 copper", "2/0 copper 7"),
        ("#2 cu", "2 AWG copper 7"),
        ("No. 4 copper", "4 AWG copper solid"),
        ("95 mm2 copper", "95 mm2 copper 19"),
        ("95 mm² Cu", "95 mm2 copper 19"),
        ("95/15 mm2 acsr", "95 mm2 acsr 26/7"),
        ("3/8 in steel", "3/8 in steel 7"),
        ("7 no 8 acs", "7 no 8 aluminium-clad steel 7"),
    ],
)
def test_ways_to_write_a_conductor(text: str, designation: str) -> None:
    found = find_conductor(text)
    assert isinstance(found, Conductor), found
    assert found.designation == designation


@pytest.mark.parametrize(
    "text",
    [
        "",
        "333 kcmil acsr",
        "4/0",
        "wire",
        "5/0 copper",
        "4/0 acsr 9/9",
        "1e9 copper",
        "-2 copper",
        "2.5 acsr",
        "00000 acsr",
    ],
)
def test_what_is_not_in_the_tables_is_unknown(text: str) -> None:
    assert isinstance(find_conductor(text), Unknown)


@pytest.mark.parametrize("conductor", ALL, ids=lambda conductor: conductor.designation)
def test_sizes_are_those_of_the_plan_language(conductor: Conductor) -> None:
    """A size of the tables, read by the reader of plans, has the same nominal area and is found in its main
    spelling."""
    unit = "" if conductor.size.endswith("/0") else " ".join(conductor.designation.split()[1:2])
    if unit not in ("", "AWG", "kcmil", "mm2"):
        assert conductor.metal in ("steel", "aluminium-clad steel")
        return
    size = parse_wire(f"{conductor.size} {unit}".strip())
    assert isinstance(size, WireSize)
    read = read_size(size.text)
    assert read is not None
    assert read[0].area == pytest.approx(size.area, rel=1e-6)
    assert read[0].text == conductor.size
    assert size.area == pytest.approx(conductor.area, rel=0.07 if unit == "mm2" else 1e-6)


def test_nearest_size_is_proposed_and_the_usual_stranding_taken() -> None:
    missing = find_conductor("340 kcmil acsr")
    assert isinstance(missing, Unknown)
    assert missing.gaps[0].write == "336.4 kcmil acsr 26/7"
    assert find_conductor("336.4 kcmil acsr") == find_conductor("336.4 kcmil 26/7 acsr")


@given(st.text(max_size=40))
def test_any_text_gives_an_answer(text: str) -> None:
    assert isinstance(find_conductor(text), (Conductor, Unknown))


@given(st.floats(-40, 200), st.floats(0.1, 100))
def test_resistance_rises_with_temperature(start: float, step: float) -> None:
    for conductor in ALL[::17]:
        assert conductor.resistance(start + step) > conductor.resistance(start) > 0


lines = st.integers(2, 6).flatmap(
    lambda n: st.tuples(
        st.permutations([float(i) for i in range(12)]).map(lambda p: [v * 0.7 for v in p[:n]]),
        st.lists(st.floats(5, 30), min_size=n, max_size=n),
        st.lists(st.sampled_from(ALL), min_size=n, max_size=n),
    )
)
Line = tuple[list[float], list[float], list[Conductor]]


def matrix(line: Line, frequency: float = 60.0, rho: float = 100.0) -> np.ndarray:  # type: ignore[type-arg]
    x, y, wires = line
    ohm = [float(w.resistance(50.0)) for w in wires]
    return primitive_impedance(x, y, [w.gmr for w in wires], ohm, frequency, rho)


@given(lines, st.floats(16, 400), st.floats(1, 1e4), st.floats(-50, 50))
def test_primitive_matrix(line: Line, frequency: float, rho: float, moved: float) -> None:
    z = matrix(line, frequency, rho)
    assert np.array_equal(z, z.T)
    # Passive: no currents take power out of the line. Resistance part is earth (rank one) plus own resistances.
    assert np.linalg.eigvalsh(z.real).min() > 0
    shifted = matrix(([x + moved for x in line[0]], line[1], line[2]), frequency, rho)
    assert np.allclose(z, shifted, rtol=1e-9)
    order = list(range(len(line[0])))[::-1]
    turned = matrix(
        ([line[0][i] for i in order], [line[1][i] for i in order], [line[2][i] for i in order]), frequency, rho
    )
    assert np.allclose(turned, z[np.ix_(order, order)], rtol=1e-12)
    assert np.all(matrix(line, frequency, rho * 2).imag >= z.imag)


def test_arrays_of_soils_and_frequencies_at_once() -> None:
    """The leading axes of one call are the same as calls one by one."""
    line = ([0.0, 1.0, 2.0], [9.0, 9.0, 8.0], [ALL[0], ALL[20], ALL[40]])
    rho, f = np.array([[10.0], [100.0], [1000.0]]), np.array([50.0, 60.0])
    x, y, wires = line
    z = primitive_impedance(x, y, [w.gmr for w in wires], [float(w.resistance(50.0)) for w in wires], f, rho)
    assert z.shape == (3, 2, 3, 3)
    for i in range(3):
        for j in range(2):
            assert np.allclose(z[i, j], matrix(line, float(f[j]), float(rho[i, 0])), rtol=1e-13)


def test_a_circuit_beside_couples_by_maxwells_coefficients() -> None:
    """One conductor 10 m from the nearest of three phases half a metre apart, all 10 m high: logarithms of the
    distances of images and conductors, inverted; a mutual admittance is that of a negative capacitance."""
    one = Arrangement(np.array([0.0]), np.array([10.0]), np.zeros((1, 1), dtype=complex), 60.0)
    found, volts = one.coupling_per_metre([(10.0, 10.0), (10.5, 10.0), (11.0, 10.0)], 12.47e3, np.array([0.009]), 0.009)
    x = [0.0, 10.0, 10.5, 11.0]
    log = [[math.log(math.hypot(a - b, 20.0) / (abs(a - b) or 0.009)) for b in x] for a in x]
    capacitance = np.linalg.inv(np.array(log)) * 2 * math.pi * 8.8541878e-12
    assert found[0] == pytest.approx(-2j * math.pi * 60 * capacitance[0, 1:], rel=1e-6)
    assert np.all(capacitance[0, 1:] < 0)
    assert [abs(one) for one in volts] == pytest.approx([12.47e3 / math.sqrt(3)] * 3)
    assert abs(sum(volts)) < 1e-9


@settings(max_examples=20)
@given(st.floats(0.5, 2.0))
def test_feet_and_metres_give_one_answer(scale: float) -> None:
    """Impedance per length depends on ratios of lengths to De alone: scaling all lengths scales rho by the square."""
    line = ([0.0, 1.0], [9.0, 9.0], [ALL[0], ALL[1]])
    x, y, wires = line
    gmr, ohm = np.array([w.gmr for w in wires]), [float(w.resistance(50.0)) for w in wires]
    z = primitive_impedance(x, y, gmr, ohm)
    scaled = primitive_impedance(np.array(x) * scale, np.array(y) * scale, gmr * scale, ohm, 60.0, 100 * scale**2)
    assert np.allclose(z, scaled, rtol=1e-12)


def test_units_of_the_tables() -> None:
    four_ought = find_conductor("4/0 acsr 6/1")
    assert isinstance(four_ought, Conductor)
    assert four_ought.area / MM2 == pytest.approx(107.2, abs=0.05)
    assert float(four_ought.resistance(50.0)) * MILE == pytest.approx(0.592)
    assert LAY == 1.02
