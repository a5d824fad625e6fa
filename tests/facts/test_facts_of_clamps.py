"""Facts about clamps: what they fit, and what they and the conductors that they grip are made of."""

from __future__ import annotations

import pytest
from asked_plans import Asked
from hypothesis import given
from hypothesis import strategies as st

from groundlint.values import Unknown


def asked(lead: str, wire: str = "4/0 acsr") -> Asked:
    found = Asked(f"line Larkspur\n  phases A\n  wires A {wire}\n  route 211 (50 m) 212\nlead G1 {lead}\n")
    assert not found.result.diagnostics
    return found


@pytest.mark.parametrize(
    ("lead", "wire", "fits"),
    [
        ("fit 2 AWG to 4/0", "4/0 acsr", True),
        ("fit 2 AWG to 4/0", "2 AWG copper", True),
        ("fit 2 AWG to 4/0", "4 AWG copper", False),
        ("fit 2 AWG to 4/0", "250 kcmil copper", False),
        ("fit 2 AWG to 4/0", "95 mm2 copper", True),
        ("fit 0.5 in to 0.6 in", "4/0 acsr", True),  # 0.563 in across
        ("fit 0.57 in to 0.6 in", "4/0 acsr", False),
        ("fit 0.68 in to 0.75 in", "336.4 kcmil acsr", True),  # 0.684 in of 18/1, 0.721 of 26/7, 0.741 of 30/7
        ("fit 0.72 in to 0.75 in", "336.4 kcmil acsr 26/7", True),
        ("fit 0.73 in to 0.75 in", "336.4 kcmil acsr", None),
        ("fit 0.5 in to 0.6 in", "133 kcmil acsr", None),
        ("fit 2 AWG to 4/0", "4/0 copper bus", None),
        ("fit 0.5 in to 0.6 in", "4/0 copper bus", None),
        ("clamps C-type", "4/0 acsr", None),
    ],
)
def test_clamps_fit_by_area_or_by_diameter(lead: str, wire: str, fits: bool | None) -> None:
    found = asked(lead, wire).ask("fitting", "G1", "A")
    assert isinstance(found, Unknown) if fits is None else found is fits


@pytest.mark.parametrize(
    ("wire", "form", "metal"),
    [
        ("4/0 acsr", "stranded", "acsr"),
        ("4/0 aac stranded", "stranded", "aac"),
        ("4/0 copper", None, "copper"),
        ("4/0 aluminum bus", "bus", "aluminium"),
        ("6 AWG copper solid", "solid", "copper"),
        ("4/0 copper 12 strands", "stranded", "copper"),
        ("4/0 bus", "bus", None),
        ("4/0", None, None),
    ],
)
def test_form_and_metal_of_a_conductor(wire: str, form: str | None, metal: str | None) -> None:
    plan = asked("25 ft", wire)
    for name, wanted in (("form", form), ("metal", metal)):
        found = plan.ask(name, "A")
        assert isinstance(found, Unknown) if wanted is None else found == wanted


def test_what_is_not_said_of_clamps_is_not_known() -> None:
    plan = asked("2/0 copper 25 ft")
    for name in ("jaws", "clamp-metal", "hot-line-clamped"):
        found = plan.ask(name, "G1")
        assert isinstance(found, Unknown)
        assert found.gaps[0].write.startswith("lead G1 ")


@pytest.mark.parametrize(
    ("sort", "hot"), [("hot-line", True), ("Hotline-tap", True), ("live-line", True), ("C-type", False)]
)
def test_hot_line_clamps_are_known_by_their_type(sort: str, hot: bool) -> None:
    assert asked(f"2/0 copper clamps {sort}").ask("hot-line-clamped", "G1") is hot


SIZES = ("6 AWG", "2 AWG", "1/0", "4/0", "336.4 kcmil", "795 kcmil")


@given(st.integers(0, 5), st.integers(0, 5), st.integers(0, 5))
def test_a_wider_range_fits_no_less(low: int, high: int, size: int) -> None:
    low, high = sorted((low, high))
    narrow = asked(f"fit {SIZES[low]} to {SIZES[high]}", f"{SIZES[size]} acsr").ask("fitting", "G1", "A")
    wide = asked(f"fit {SIZES[0]} to {SIZES[high]}", f"{SIZES[size]} acsr").ask("fitting", "G1", "A")
    assert narrow is (low <= size <= high)
    assert wide or not narrow
