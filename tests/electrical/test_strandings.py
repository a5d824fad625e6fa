"""One size comes in several strandings: where the plan does not state which, bounds hold each of them; what it states
of a wire may not be of another size."""

from __future__ import annotations

import numpy as np
import pytest

from groundlint.electrical.physics.conductors import find_conductors
from groundlint.electrical.study.line import LineConstants, line_constants
from groundlint.electrical.study.parts import Register, wires_of
from groundlint.findings.pasting import paster_of
from groundlint.plan.models import Plan
from groundlint.reading.resolve import read_plan
from groundlint.text import Source
from groundlint.text.edits import edited
from groundlint.values import Unknown

LINE = """\
line Larkspur
  voltage 12.47 kV
  frequency 60 Hz
  phases A B C
  neutral N multigrounded
  wires WIRES
  spacing crossarm-8ft
  route 211 (60 m) 212
"""
SEVERAL = [
    ("336.4 kcmil acsr", ("18/1", "26/7", "30/7")),
    ("795 kcmil acsr", ("26/7", "45/7", "54/7")),
    ("2 AWG acsr", ("6/1", "7/1")),
    ("4/0 copper", ("7 strands", "12 strands", "19 strands")),
    ("2 AWG copper", ("solid", "7 strands")),
]


def read(wires: str) -> Plan:
    found = read_plan(Source("plan.tpg", LINE.replace("WIRES", wires)))
    assert not found.diagnostics, found.diagnostics
    return found.plan


def constants(plan: Plan, register: Register) -> LineConstants:
    assert plan.line is not None
    return line_constants(plan, plan.line.conductors, 60.0, register)


@pytest.mark.parametrize(("size", "strandings"), SEVERAL)
def test_bounds_hold_every_stranding_of_a_size(size: str, strandings: tuple[str, ...]) -> None:
    """The series impedance of each, by its own row of the tables, whose rows published tests judge."""
    known = {"conductor-temperature": 50.0, "earth-return-resistivity": 100.0}
    register = Register(known)
    whole = constants(read(f"A B C {size}, N 2/0 acsr"), register)
    assert "conductor-stranding" in register.used
    low, high = (whole.z.diagonal() + [getattr(one, end) for one in whole.own] for end in ("low", "high"))
    for stranding in strandings:
        mine = Register(known)
        one = constants(read(f"A B C {size} {stranding}, N 2/0 acsr"), mine)
        assert "conductor-stranding" not in mine.used
        z = one.z.diagonal()
        slack = 1e-9 * abs(z)
        assert np.all((low.real - slack <= z.real) & (z.real <= high.real + slack)), stranding
        assert np.all((low.imag - slack <= z.imag) & (z.imag <= high.imag + slack)), stranding
        np.testing.assert_allclose(one.z - np.diag(z), whole.z - np.diag(whole.z.diagonal()), rtol=1e-12)


def test_a_stranding_stands_before_or_after_the_metal() -> None:
    for words in ("336.4 kcmil acsr 30/7", "336.4 kcmil 30/7 acsr", "336.4 kcmil 30/7 acsr stranded"):
        plan = read(f"A B C {words}, N 2/0 acsr")
        assert plan.line is not None
        assert plan.line.phases is not None
        found = wires_of(plan.line.phases[0])
        assert isinstance(found, tuple)
        assert [one.designation for one in found] == ["336.4 kcmil acsr 30/7"]


def test_wire_that_is_said_to_be_stranded_is_not_solid() -> None:
    (phase, *_) = read("A B C 2 AWG copper stranded, N 2/0 acsr").line.phases  # type: ignore[union-attr,misc]
    found = wires_of(phase)
    assert isinstance(found, tuple)
    assert [one.stranding for one in found] == ["7"]


def test_strands_are_not_solid() -> None:
    found = read_plan(Source("plan.tpg", LINE.replace("WIRES", "A B C 2 AWG copper 7 strands solid")))
    assert [one.code for one in found.diagnostics] == ["contradiction"]


def test_a_stranding_that_a_size_does_not_come_in_is_asked_for() -> None:
    (phase, *_) = read("A B C 336.4 kcmil acsr 54/7, N 2/0 acsr").line.phases  # type: ignore[union-attr,misc]
    assert isinstance(wires_of(phase), Unknown)


def test_what_is_asked_names_every_wire_and_can_be_pasted() -> None:
    plan = read("A B C 336.4 kcmil acsr, N 4/0 copper")
    register = Register()
    constants(plan, register)
    pasted = paster_of(plan).paste(register.gap("conductor-stranding"))
    assert pasted is not None
    again = read_plan(Source("plan.tpg", edited(plan.source, [pasted.edit]).text))
    assert not again.diagnostics
    said = Register()
    constants(again.plan, said)
    assert "conductor-stranding" not in said.used


@pytest.mark.parametrize(
    "data", ["0.2 ohm/mi at 50 C", "0.1 ohm/mi at 50 C", "1.4 in across", "0.9 in across", "gmr 0.06 ft", "gmr 0.02 ft"]
)
def test_data_of_another_size_are_reported(data: str) -> None:
    """Of 795 kcmil ACSR the tables have 0.1287 to 0.1378 ohm a mile, 1.063 to 1.108 in, 0.0352 to 0.0375 ft."""
    (phase, *_) = read(f"A B C 795 kcmil acsr {data}, N 2/0 acsr").line.phases  # type: ignore[union-attr,misc]
    found = wires_of(phase)
    assert isinstance(found, Unknown)
    assert "which holds of conductor A" in found.gaps[0].fact


@pytest.mark.parametrize("size", [size for size, _ in SEVERAL])
def test_data_of_the_tables_are_no_contradiction(size: str) -> None:
    every = find_conductors(size)
    assert isinstance(every, tuple)
    for one in every:
        data = f"{one.diameter * 1000:.9} mm across {one.resistance(50) * 1000:.9} ohm/km at 50 C gmr {one.gmr:.9} m"
        (phase, *_) = read(f"A B C {size} {data}, N 2/0 acsr").line.phases  # type: ignore[union-attr,misc]
        assert isinstance(wires_of(phase), tuple)
