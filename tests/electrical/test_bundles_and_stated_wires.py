"""Bundled conductors and conductors whose data the plan states: against a textbook's example, against every
subconductor taken by itself, and what can be no wire."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from groundlint.electrical.physics.conductors import Conductor as Wire
from groundlint.electrical.physics.conductors import find_conductor
from groundlint.electrical.record.inputs import inputs_of
from groundlint.electrical.study.line import LineConstants, line_constants
from groundlint.electrical.study.parts import Register, wires_of
from groundlint.facts.clamps import _fits
from groundlint.findings.compare import value_changes
from groundlint.findings.likeness import likeness
from groundlint.findings.pasting import paster_of
from groundlint.plan.models import Lead, Plan
from groundlint.reading.resolve import read_plan
from groundlint.text import Source
from groundlint.text.edits import edited
from groundlint.timeline.replay import replay
from groundlint.values import Unknown

KM, FOOT, INCH, MILE = 1000.0, 0.3048, 0.0254, 1609.344
MU_0, EPSILON_0 = 4e-7 * math.pi, 8.8541878128e-12

LINE = """\
line Larkspur
  voltage 345 kV
  frequency 60 Hz
  phases A B C
  wires WIRES
  place A (-8 m, 18 m) B (0 m, 18 m) C (8 m, 18 m)
  route 211 (300 m) 212
"""


def read(wires: str, more: str = "") -> Plan:
    found = read_plan(Source("plan.tpg", LINE.replace("WIRES", wires) + more))
    assert not found.diagnostics, found.diagnostics
    return found.plan


def wire_of(plan: Plan) -> Wire | Unknown:
    """The first phase's data, where the plan leaves none of them open."""
    assert plan.line is not None
    assert plan.line.phases
    found = wires_of(plan.line.phases[0])
    if isinstance(found, Unknown):
        return found
    (one,) = found
    return one


def constants(plan: Plan) -> LineConstants:
    assert plan.line is not None
    return line_constants(plan, plan.line.conductors, 60.0, Register({"conductor-temperature": 50.0}))


def transposed(z: np.ndarray) -> complex:
    """Positive-sequence impedance, ohm/m, of a line that is transposed."""
    own = np.trace(z) / 3
    return complex(own - (z.sum() - 3 * own) / 6)


@pytest.mark.parametrize(
    "wires", ["A B C 4 x 2156 kcmil acsr 1 m apart", "A B C 3 x 795 kcmil acsr 18 in apart", "A B C 4/0 acsr"]
)
def test_no_conductors_are_nearer_than_their_bundles_leave_room(wires: str) -> None:
    """Where the plan states no places: at 0.3 m, wide bundles would charge each other by less than nothing. Every
    capacitance that is, to another conductor or to the earth, is more than nothing."""
    lines = [line for line in LINE.replace("WIRES", wires).splitlines() if "place" not in line]
    plan = read_plan(Source("plan.tpg", "\n".join(lines) + "\n")).plan
    every = constants(plan)
    assert len(every.arrangements) == 3
    for one in every.arrangements:
        between = one.shunt.imag - np.diag(np.diag(one.shunt.imag))
        assert (between <= 0).all()
        assert (one.shunt.imag.sum(axis=1) > 0).all()
    assert np.diff(every.arrangements[0].x).min() >= 12 * every.radii[1].max() * (1 - 1e-9)


def test_the_bundle_of_a_textbook() -> None:
    """Grainger and Stevenson, Power System Analysis, 1994, examples 4.5 and 5.3 (from memory): Pheasant, 0.0466 ft and
    1.382 in, two to a phase 45 cm apart, phases 8 m apart in a plane: 0.365 ohm/km, and 11.754 pF/m to neutral."""
    plan = read("A B C 2 x 1272 kcmil acsr 54/19 gmr 0.0466 ft 45 cm apart")
    found = constants(plan)
    assert transposed(found.z).imag * KM == pytest.approx(0.365, abs=5e-4)
    wire = wire_of(plan)
    assert isinstance(wire, Wire)
    assert wire.gmr == pytest.approx(0.080, abs=5e-4)
    assert wire.radius == pytest.approx(0.0889, abs=5e-5)
    spaced = (8 * 8 * 16) ** (1 / 3)
    assert 2 * math.pi * EPSILON_0 / math.log(spaced / wire.radius) == pytest.approx(11.754e-12, rel=1e-3)


@pytest.mark.parametrize(
    ("count", "gmr"),
    [
        (2, lambda r, d: (r * d) ** (1 / 2)),
        (3, lambda r, d: (r * d * d) ** (1 / 3)),
        (4, lambda r, d: 1.0905 * (r * d**3) ** (1 / 4)),
    ],
)
def test_the_formulas_as_textbooks_print_them(count: int, gmr) -> None:  # type: ignore[no-untyped-def]
    """Grainger and Stevenson, equations 4.53 to 4.55, whose 1.09 is the eighth root of two."""
    plan = read(f"A B C {count} x 954 kcmil acsr 54/7 18 in apart")
    wire, one = wire_of(plan), find_conductor("954 kcmil acsr 54/7")
    assert isinstance(wire, Wire)
    assert isinstance(one, Wire)
    assert wire.gmr == pytest.approx(gmr(one.gmr, 18 * INCH), rel=1e-4)
    assert wire.radius == pytest.approx(gmr(one.radius, 18 * INCH), rel=1e-4)
    assert float(wire.resistance(50.0)) == pytest.approx(float(one.resistance(50.0)) / count)


@settings(max_examples=40, deadline=None)
@given(st.sampled_from([2, 3, 4]), st.floats(0.3, 0.6), st.floats(0, math.pi))
def test_a_bundle_is_its_subconductors_joined(count: int, apart: float, turned: float) -> None:
    """Every subconductor by itself, by Carson's first terms written out here, joined by adding admittances. A bundle
    that is turned has other distances to the next phase, which is left out of its formula: within 0.5 % of the
    reactance, and in resistance a part in a thousand."""
    apart = round(apart, 4)
    one = find_conductor("954 kcmil acsr 54/7")
    assert isinstance(one, Wire)
    circle = apart / (2 * math.sin(math.pi / count))
    where = np.array([
        complex(8 * phase, 18) + circle * np.exp(1j * (turned + 2 * math.pi * k / count))
        for phase in (-1, 0, 1)
        for k in range(count)
    ])  # fmt: skip
    spaced = np.abs(where[:, None] - where[None, :]) + np.diag(np.full(len(where), one.gmr))
    depth = 658.87 * math.sqrt(100 / 60)
    z = 2 * math.pi * 60 * MU_0 * (1 / 8 + 1j / (2 * math.pi) * np.log(depth / spaced))
    z = z + np.diag(np.full(len(where), float(one.resistance(50.0))))
    joined = np.kron(np.eye(3), np.ones((count, 1)))
    every = np.linalg.inv(joined.T @ np.linalg.inv(z) @ joined)
    found = constants(read(f"A B C {count} x 954 kcmil acsr 54/7 {apart} m apart", "soil 100 ohm m\n")).z
    assert found.real == pytest.approx(every.real, rel=1e-3)
    assert found.imag == pytest.approx(every.imag, rel=5e-3)


@pytest.mark.parametrize(
    ("wires", "text", "yours"),
    [
        ("A B C 2 x 795 kcmil acsr 26/7", "18 in apart", ("18 in",)),
        ("A 777 kcmil acsr", "1.108 in across 0.1288 ohm/mi at 50 C gmr 0.0375 ft", None),
        ("A 2 x 1.1 in acsr 0.13 ohm/mi at 50 C gmr 0.03 ft", "18 in apart", ("18 in",)),
    ],
)
def test_what_a_wire_lacks_is_asked_for_and_can_be_pasted(wires: str, text: str, yours: tuple[str, ...] | None) -> None:
    plan = read(wires)
    wire = wire_of(plan)
    assert isinstance(wire, Unknown)
    pasted = paster_of(plan).paste(wire.gaps[0])
    assert pasted is not None
    assert text in pasted.text
    assert pasted.yours == (yours or ("1.108 in", "0.1288 ohm/mi", "50 C", "0.0375 ft"))
    again = read_plan(Source("plan.tpg", edited(plan.source, [pasted.edit]).text))
    assert not again.diagnostics
    assert isinstance(wire_of(again.plan), Wire)


def test_the_distance_of_a_bundle_is_never_guessed() -> None:
    for wires in ("A B C 2 x 954 kcmil acsr", "A B C 2 x 954 kcmil acsr 0.5 in apart"):
        plan = read(wires)
        wire = wire_of(plan)
        assert isinstance(wire, Unknown)
        assert wire.gaps[0].write == "wires A 2 x 954 kcmil acsr 18 in apart"
        assert constants(plan).gaps


STATED = "A B C 1.108 in acsr 0.1288 ohm/mi at 50 C gmr 0.0375 ft"


def test_a_wire_that_is_in_no_table() -> None:
    """The numbers of 795 kcmil 26/7 (Kersting, Distribution System Modeling and Analysis, appendix A), stated, do what
    the row of the table does."""
    stated, tabled = constants(read(STATED)), constants(read("A B C 795 kcmil acsr 26/7"))
    assert not stated.gaps
    assert stated.z == pytest.approx(tabled.z, rel=2e-3)
    with_size = constants(read(STATED.replace("1.108 in acsr", "777 kcmil acsr 28.14 mm across")))
    assert with_size.z == pytest.approx(stated.z, rel=1e-4)


def test_resistance_follows_the_metal_and_the_units() -> None:
    plan = read(STATED.replace("0.1288 ohm/mi", f"{0.1288 / MILE * KM} ohm/km").replace("50 C", "122 F"))
    wire = wire_of(plan)
    assert isinstance(wire, Wire)
    assert float(wire.resistance(50.0)) * MILE == pytest.approx(0.1288)
    assert float(wire.resistance(75.0)) * MILE == pytest.approx(0.1288 * (228 + 75) / (228 + 50))


def test_what_is_stated_goes_before_the_table() -> None:
    plan = read("A B C 795 kcmil acsr 26/7 0.14 ohm/mi at 50 C")
    wire, tabled = wire_of(plan), find_conductor("795 kcmil acsr")
    assert isinstance(wire, Wire)
    assert isinstance(tabled, Wire)
    assert float(wire.resistance(50.0)) * MILE == pytest.approx(0.14)
    assert (wire.gmr, wire.diameter) == (tabled.gmr, tabled.diameter)


@pytest.mark.parametrize(
    "left_out",
    ["1.108 in acsr", "acsr", "0.1288 ohm/mi at 50 C", "gmr 0.0375 ft", "0.1288 ohm/mi at 50 C gmr 0.0375 ft"],
)
def test_a_wire_in_no_table_is_known_by_all_of_its_data(left_out: str) -> None:
    wires = STATED.replace(left_out, "777 kcmil acsr" if left_out == "1.108 in acsr" else "")
    assert constants(read(wires)).gaps


def test_what_is_stated_stands_in_the_record() -> None:
    plan = read("A B C 2 x 1.108 in acsr 0.1288 ohm/mi at 50 C gmr 0.0375 ft 18 in apart")
    said = {one.quantity: one.value for one in inputs_of(replay(plan)) if one.thing == "A"}
    assert said == pytest.approx({
        "distance between subconductors": 18 * INCH,
        "diameter": 1.108 * INCH,
        "resistance": 0.1288 / MILE,
        "temperature of the resistance": 50.0,
        "geometric mean radius": 0.0375 * FOOT,
        "wire": said["wire"],
    })  # fmt: skip
    assert said["wire"] == "2 x acsr"


def test_a_revision_says_what_changed_of_a_wire_with_its_units() -> None:
    old = read("A B C 2 x 954 kcmil acsr 18 in apart 0.113 ohm/mi at 50 C")
    new = read("A B C 3 x 954 kcmil acsr 0.5 m apart 0.113 ohm/mi at 75 C")
    changes = value_changes(old, new, likeness(old, new))
    assert {(one.attribute, one.old, one.new) for one in changes if one.subject == "A"} == {
        ("subconductors", "2", "3"),
        ("distance between subconductors", "0.4572 m (1.5 ft)", "0.5 m (1.64041994751 ft)"),
        ("temperature of the resistance", "50 C", "75 C"),
    }


def test_a_clamp_fits_the_subconductor() -> None:
    """954 kcmil ACSR 54/7 is 1.196 in across; the circle of its bundle is wider than any clamp."""
    text = "lead G1 2/0 copper 25 ft clamps C-type fit 0.5 in to 1.25 in\nlead G2 clamps C-type fit 0.5 in to 1.1 in\n"
    for wires in ("A B C 2 x 954 kcmil acsr 54/7 18 in apart", "A B C 2 x 1.196 in acsr 18 in apart"):
        plan = read(wires, text)
        wide, narrow = (one for one in plan.things if isinstance(one, Lead))
        a = plan.line.phases[0]  # type: ignore[union-attr,index]
        assert _fits(wide, a) is True
        assert _fits(narrow, a) is False


@pytest.mark.parametrize(
    ("wires", "code", "marked"),
    [
        ("A B C 6 x 954 kcmil acsr 54/7 18 in apart", "bad-bundle", "6 x"),
        ("A B C 1 x 954 kcmil acsr", "bad-bundle", "1 x"),
        ("A B C 954 kcmil acsr 54/7 18 in apart", "bad-bundle", "18 in"),
        ("A B C 2 x 954 kcmil acsr 18 ft apart", "bad-bundle", "18 ft"),
        ("A B C 2 x 954 kcmil acsr 0 in apart", "not-positive", "0 in"),
        (STATED.replace("0.0375 ft", "0.0375 m"), "impossible-wire", "0.0375 m"),
        (STATED.replace("0.0375 ft", "0.0 ft"), "not-positive", "0.0 ft"),
        (STATED.replace("acsr", "copper").replace("0.0375 ft", "0.0375 in"), "impossible-wire", "0.0375 in"),
        (STATED.replace("0.1288 ohm/mi", "0 ohm/mi"), "not-positive", "0 ohm/mi"),
        (STATED.replace("0.1288 ohm/mi", "0.01288 ohm/mi"), "impossible-wire", "0.01288 ohm/mi"),
        (STATED.replace("50 C", "500 C"), "impossible-wire", "500 C"),
        (STATED.replace("1.108 in", "1.108 C"), "wrong-dimension", "1.108 C"),
        (STATED.replace("0.1288 ohm/mi", "0.1288 ohm"), "wrong-dimension", "0.1288 ohm"),
        (f"{STATED} gmr 0.0375 ft", "said-twice", "0.0375 ft"),
    ],
)
def test_what_can_be_no_wire_is_refused_by_name(wires: str, code: str, marked: str) -> None:
    found = read_plan(Source("plan.tpg", LINE.replace("WIRES", wires)))
    assert [(d.code, d.span.text) for d in found.diagnostics] == [(code, marked)]
    assert found.diagnostics[0].mend
