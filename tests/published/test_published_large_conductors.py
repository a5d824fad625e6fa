"""Conductors of transmission lines above 795 kcmil, against printed rows and against what metal and stranding make.

The printed rows are from memory: Westinghouse Transmission and Distribution Reference Book, appendix table 2A, as
textbooks of power systems print it (ohm a mile at 60 Hz and 50 C, GMR in feet); DIN 48204 (ohm a km at 20 C).
"""

from __future__ import annotations

import math

import pytest

from groundlint.electrical.physics.conductors import Conductor, _table, find_conductor

MILE, FOOT, KM, INCH = 1609.344, 0.3048, 1000.0, 0.0254
CIRCULAR_MIL = math.pi / 4 * (0.001 * INCH) ** 2
ALUMINIUM_20 = 1.7241e-8 / 0.612
"""Resistivity of hard-drawn aluminium of 61.2 % IACS, ohm m (IEC 60028 for copper of 100 %)."""


def found(text: str) -> Conductor:
    conductor = find_conductor(text)
    assert isinstance(conductor, Conductor), conductor
    return conductor


def at(conductor: Conductor, celsius: float) -> float:
    """Ohm per metre, by the linear law of the metal."""
    return conductor.resistance_ref * (conductor.k0 + celsius) / (conductor.k0 + conductor.reference_c)


@pytest.mark.parametrize(
    ("word", "size", "ohm", "gmr"),
    [
        ("cardinal", "954 kcmil acsr 54/7", 0.1128, 0.0403),
        ("pheasant", "1272 kcmil acsr 54/19", 0.0851, 0.0465),
        ("falcon", "1590 kcmil acsr 54/19", 0.0684, 0.0520),
    ],
)
def test_a_row_is_found_by_its_word_and_its_size(word: str, size: str, ohm: float, gmr: float) -> None:
    conductor = found(word)
    assert conductor == found(size)
    assert at(conductor, 50.0) * MILE == pytest.approx(ohm)
    assert conductor.gmr / FOOT == pytest.approx(gmr)


def test_chukar_and_bluebird_come_near_their_printed_gmr() -> None:
    """0.0534 ft and 0.0588 ft in the tables of textbooks, from memory."""
    assert found("1780 kcmil acsr").gmr / FOOT == pytest.approx(0.0534, rel=0.01)
    assert found("bluebird").gmr / FOOT == pytest.approx(0.0588, rel=0.01)


LARGE = [
    one for _, one, _ in _table() if one.area > 800e3 * CIRCULAR_MIL and one.metal in ("acsr", "acss", "aluminium")
]


@pytest.mark.parametrize("conductor", LARGE, ids=lambda one: one.designation)
def test_resistance_and_gmr_are_what_metal_and_strands_make(conductor: Conductor) -> None:
    """Strands 1 to 3 % longer than the conductor, up to 12 % more at 60 Hz in three layers of aluminium about a core
    that carries flux; a GMR between that of many strands without a core and with a large one."""
    resistivity = ALUMINIUM_20 * (0.612 / 0.63 if conductor.metal == "acss" else 1)
    ratio = at(conductor, 20.0) * conductor.area / resistivity
    assert 1.0 < ratio < 1.16, ratio
    assert 0.76 < conductor.gmr / conductor.radius < 0.83


def test_metal_is_at_most_the_circle_around_it() -> None:
    for one in LARGE:
        assert 0.6 < one.area / (math.pi * one.radius**2) < 0.87, one.designation


@pytest.mark.parametrize("text", ["954 kcmil acss", "435 mm2 acsr", "1272 kcmil aac", "927.2 kcmil aaac"])
def test_other_metals_and_metric_sizes_are_known(text: str) -> None:
    assert found(text).resistance_ref > 0
