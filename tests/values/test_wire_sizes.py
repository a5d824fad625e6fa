"""Wire sizes: areas by the gauge formula and as printed, spellings, refusals, and the pattern that grammars use."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundlint.values.units import UnitProblem, parse_quantity
from groundlint.values.wire import WIRE_PATTERN, WireSize, awg_area, parse_wire


# Circular mils of ASTM B258 (from memory), as printed there to four or five figures.
@pytest.mark.parametrize(
    ("text", "cmil"),
    [
        ("4/0 AWG", 211600),
        ("3/0 AWG", 167800),
        ("2/0 AWG", 133100),
        ("1/0 AWG", 105600),
        ("1 AWG", 83690),
        ("2 AWG", 66360),
        ("4 AWG", 41740),
        ("6 AWG", 26240),
        ("10 AWG", 10380),
        ("36 AWG", 25),
    ],
)
def test_areas_of_gauges(text: str, cmil: float) -> None:
    size = parse_wire(text)
    assert isinstance(size, WireSize)
    # The printed table rounds each diameter to a tenth of a mil first, hence no closer.
    assert size.kcmil * 1000 == pytest.approx(cmil, rel=1e-3)
    assert size.text == text


def test_the_formula_is_exact_at_its_two_anchors() -> None:
    # Gauge 36 is 0.0050 in across and 4/0 is 0.4600 in.
    assert awg_area(36) == pytest.approx(3.141592653589793 / 4 * (0.005 * 0.0254) ** 2, rel=1e-15)
    assert awg_area(-3) == pytest.approx(3.141592653589793 / 4 * (0.46 * 0.0254) ** 2, rel=1e-15)


@given(st.integers(-3, 37))
def test_three_gauges_up_are_half_the_metal_nearly(gauge: int) -> None:
    assert awg_area(gauge) / awg_area(gauge + 3) == pytest.approx(2.005, abs=0.001)


@pytest.mark.parametrize(
    ("text", "main"),
    [
        ("#2", "2 AWG"),
        ("# 2", "2 AWG"),
        ("#2 AWG", "2 AWG"),
        ("2awg", "2 AWG"),
        ("AWG 2", "2 AWG"),
        ("4/0", "4/0 AWG"),
        ("#4/0", "4/0 AWG"),
        ("0000", "4/0 AWG"),
        ("00 AWG", "2/0 AWG"),
        ("0 AWG", "1/0 AWG"),
        ("AWG 4/0", "4/0 AWG"),
        ("336.4 kcmil", "336.4 kcmil"),
        ("336.4 KCMIL", "336.4 kcmil"),
        ("250 MCM", "250 kcmil"),
        ("66360 cmil", "66360 cmil"),
        ("95 mm2", "95 mm2"),
        ("7 no 8", "7 no 8"),
        ("7 No. 8", "7 no 8"),
        ("7#8 AWG", "7 no 8"),
        ("95 mm²", "95 mm2"),
        ("95mm^2", "95 mm2"),
        ("95 sq mm", "95 mm2"),
    ],
)
def test_spellings(text: str, main: str) -> None:
    size = parse_wire(text)
    assert isinstance(size, WireSize)
    assert size.text == main
    assert parse_wire(main) == size
    if text != "0000":
        assert re.fullmatch(WIRE_PATTERN, text)


def test_areas_written_as_areas() -> None:
    assert parse_wire("95 mm2").area == pytest.approx(95e-6, rel=1e-15)  # type: ignore[union-attr]
    assert parse_wire("336.4 kcmil").kcmil == pytest.approx(336.4, rel=1e-15)  # type: ignore[union-attr]
    assert parse_wire("250 kcmil").area == pytest.approx(126.677e-6, rel=1e-5)  # type: ignore[union-attr]
    assert parse_wire("250 kcmil").area == parse_quantity("250 kcmil").si  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("2", "no-unit"),
        ("0", "no-unit"),
        ("250", "no-unit"),
        ("5/0", "bad-number"),
        ("0/0", "bad-number"),
        ("00000 AWG", "bad-number"),
        ("02 AWG", "bad-number"),
        ("41 AWG", "bad-number"),
        ("0 kcmil", "bad-number"),
        ("95000 mm2", "bad-number"),
        ("9" * 5000, "no-unit"),
        ("9" * 5000 + " mm2", "bad-number"),
        ("95 m2", "unknown-unit"),
        ("95 MM2", "unknown-unit"),
        ("25 ft", "unknown-unit"),
        ("2/0 m", "unknown-unit"),
        ("thick", "bad-number"),
        ("", "bad-number"),
    ],
)
def test_refused(text: str, kind: str) -> None:
    found = parse_wire(text)
    assert isinstance(found, UnitProblem)
    assert found.kind == kind
    assert found.message


def test_in_a_sentence() -> None:
    line = "lead G1..G5 2/0 copper 25 ft grade 3; wires A B C 336.4 kcmil acsr, N #2, 95 mm2, 1/0.5 2/0-x 4/0/1"
    assert re.findall(WIRE_PATTERN, line) == ["2/0", "336.4 kcmil", "#2", "95 mm2"]


@given(st.one_of(st.text(max_size=20), st.text("0123456789/# .AWGkcmil", max_size=12)))
def test_any_text_gives_a_size_or_a_problem(text: str) -> None:
    found = parse_wire(text)
    if isinstance(found, WireSize):
        assert found.area > 0
        assert parse_wire(found.text) == found
    else:
        assert found.message
