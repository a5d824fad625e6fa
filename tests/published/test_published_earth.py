"""Published figures for rods, surface potential and tolerable voltages. Each case names its source and how it is
known."""

from __future__ import annotations

import math

import numpy as np
import pytest

from groundlint.electrical.physics.body import CRITERIA, limit
from groundlint.electrical.physics.constants import FOOT, INCH
from groundlint.electrical.physics.earth import (
    distance_for_step,
    rod_resistance,
    surface_layer_factor,
    tolerable_step,
)
from groundlint.electrical.physics.soil_layers import Rod, RodGroup, Soil, rods, uniform

TEN = 10 * FOOT
FIVE_EIGHTHS = 5 / 8 * INCH


def test_nomograph_rod() -> None:
    """MIL-HDBK-419A vol. 2 1.2.2.2, seen: 10 ft by 3/4 in in 10 000 ohm cm, 32 ohm on the nomograph."""
    assert float(rod_resistance(100.0, TEN, 0.75 * INCH)) == pytest.approx(32, abs=0.2)


@pytest.mark.parametrize(
    ("feet", "inches", "ohm"),
    [(8, 5 / 8, 39.91), (8, 3 / 4, 38.72), (10, 1 / 2, 34.25), (10, 5 / 8, 33.09), (10, 3 / 4, 32.14)],
)
def test_standard_rods(feet: float, inches: float, ohm: float) -> None:
    """Derived from Dwight's formula, in 100 ohm m."""
    assert float(rod_resistance(100.0, feet * FOOT, inches * INCH)) == pytest.approx(ohm, abs=0.006)


def test_formula_without_minus_one_is_not_used() -> None:
    """A web page's rho/(2 pi L) ln(4L/a) gives 46.4 ohm for 8 ft by 5/8 in in 100 ohm m; it must not come out."""
    length = 8 * FOOT
    wrong = 100 / (2 * math.pi * length) * math.log(8 * length / FIVE_EIGHTHS)
    assert wrong == pytest.approx(46.4, abs=0.05)
    assert float(rod_resistance(100.0, length, FIVE_EIGHTHS)) == pytest.approx(39.9, abs=0.05)


def leaves(share: float, distance: float, length: float, diameter: float, within: float) -> bool:
    """Whether that share of a rod's potential is left at a distance: what a step has that ends where there is none."""
    far = 1e9
    least, most = (float(distance_for_step(1.0, share + d, length, diameter, far)) for d in (within, -within))
    return least <= distance <= most


def test_share_of_potential_beyond_a_rod() -> None:
    """MIL-HDBK-419A vol. 1 2.6, seen: 0.15 left beyond 10 ft of a 10 ft by 1 in rod; 89 % within 100 ft of 100 ft."""
    assert leaves(0.15, TEN, TEN, INCH, 0.0005)
    assert leaves(1 - 0.89, 100 * FOOT, 100 * FOOT, INCH, 0.003)


@pytest.mark.parametrize(("feet", "share"), [(1, 0.473), (3, 0.303), (5, 0.228), (10, 0.139), (20, 0.076)])
def test_surface_potential(feet: float, share: float) -> None:
    """Derived: 10 ft by 5/8 in."""
    assert leaves(share, feet * FOOT, TEN, FIVE_EIGHTHS, 0.0006)


@pytest.mark.parametrize(
    ("feet", "share"), [(5, 0.75), (10, 0.68), (20, 0.61), (50, 0.53), (100, 0.48)], ids=lambda value: f"{value}"
)
def test_step_voltages_at_a_rod(feet: float, share: float) -> None:
    """MIL-HDBK-419A vol. 1 Table 2-7 (seen): a pace of 3 ft from a rod of 1 in, over the rod's potential."""
    assert leaves(1 - share, 3 * FOOT, feet * FOOT, INCH, 0.01)


def together(places: list[tuple[float, float]]) -> float:
    """Resistance of rods of 10 ft by 5/8 in at places, over that of one divided by their number."""
    group, one = (rods([Rod(x, y, TEN, FIVE_EIGHTHS) for x, y in at], uniform(100.0)) for at in (places, [(0.0, 0.0)]))
    assert isinstance(group, RodGroup)
    assert isinstance(one, RodGroup)
    return group.resistance * len(places) / one.resistance


@pytest.mark.parametrize(
    ("places", "printed"),
    [
        ([(0, 0), (TEN, 0)], 1.16),
        ([(0, 0), (TEN, 0), (TEN / 2, TEN * math.sqrt(3) / 2)], 1.29),
        ([(0, 0), (TEN, 0), (0, TEN), (TEN, TEN)], 1.36),
    ],
    ids=["two", "triangle", "square"],
)
def test_rods_one_length_apart(places: list[tuple[float, float]], printed: float) -> None:
    """IEEE 142 table of multiplying factors, seen: rods one length apart."""
    assert together(places) == pytest.approx(printed, rel=0.04)


class TestIeee80AnnexB1:
    """IEEE 80-2000 Annex B.1, from memory, recomputes: rho 400, rs 2500, hs .102 m, t .5 s."""

    def test_surface_layer(self) -> None:
        assert float(surface_layer_factor(400.0, 2500.0, 0.102)) == pytest.approx(0.74, abs=0.004)

    def test_tolerable_voltages(self) -> None:
        heavy = limit(CRITERIA["dalziel-70kg"], 0.5)
        assert isinstance(heavy, float)
        assert float(tolerable_step(heavy, 2500.0, 0.74)) == pytest.approx(2686.6, abs=0.1)

    def test_tolerable_voltages_50_kg(self) -> None:
        """Derived."""
        light = limit(CRITERIA["dalziel-50kg"], 0.5)
        assert isinstance(light, float)
        assert float(tolerable_step(light, 2500.0, 0.74)) == pytest.approx(1985.0, abs=0.1)


def test_web_step_limits_fit_no_soil() -> None:
    """A web page's 696, 468, 375 V for 50 kg at .1, .25, .5 s: each needs another surface, so none is reproduced."""
    needed = []
    for t, volts in ((0.1, 696.0), (0.25, 468.0), (0.5, 375.0)):
        current = limit(CRITERIA["dalziel-50kg"], t)
        assert isinstance(current, float)
        needed.append((volts / current - 1000) / 6)
    assert needed == pytest.approx([150, 170, 214], abs=1.5)


class TestLayeredSoil:
    """The image series beside other ways to the same number."""

    def test_one_segment_is_dwight(self) -> None:
        group = rods([Rod(0, 0, TEN, FIVE_EIGHTHS)], uniform(100.0), segments=1)
        assert isinstance(group, RodGroup)
        assert group.resistance == pytest.approx(float(rod_resistance(100.0, TEN, FIVE_EIGHTHS)), rel=4e-4)

    def test_far_apart_is_the_two_rod_formula(self) -> None:
        """Dwight's series, good where rods are several lengths apart (IEEE 142): half of one, and the mutual part
        rho/(4 pi s)(1 - L2/(3 s2) + 2 L4/(5 s4))."""
        group = rods([Rod(0, 0, TEN, FIVE_EIGHTHS), Rod(5 * TEN, 0, TEN, FIVE_EIGHTHS)], uniform(100.0), segments=1)
        assert isinstance(group, RodGroup)
        q = (1 / 5) ** 2
        mutual = 100.0 / (4 * math.pi * 5 * TEN) * (1 - q / 3 + 2 * q * q / 5)
        dwight = float(rod_resistance(100.0, TEN, FIVE_EIGHTHS)) / 2 + mutual
        assert group.resistance == pytest.approx(dwight, rel=1e-3)

    def test_rod_within_the_upper_layer_by_hand(self) -> None:
        """Average potential of an evenly leaking rod over its images, written out for one rod."""
        upper, lower, h, length, a = 100.0, 700.0, 4.0, 2.4, 0.008
        k = (lower - upper) / (lower + upper)

        def image(d: float) -> float:
            def xlogx(u: float) -> float:
                return u * math.log(u) if u > 0 else 0.0

            return (xlogx(d + 2 * length) - 2 * xlogx(d) + xlogx(d - 2 * length)) / (2 * length)

        series = sum(k**n * image(2 * n * h) for n in range(1, 400))
        by_hand = upper / (2 * math.pi * length) * (math.log(4 * length / a) - 1 + series)
        group = rods([Rod(0, 0, length, 2 * a)], Soil(upper, lower, h), segments=1)
        assert isinstance(group, RodGroup)
        assert group.resistance == pytest.approx(by_hand, rel=1e-3)

    @pytest.mark.parametrize(("s", "z"), [(0.3, 0.8), (0.3, 2.0), (2.0, 0.3), (2.0, 3.0), (3.0, 2.0)])
    @pytest.mark.parametrize("soil", [Soil(100.0, 1000.0, 1.0), Soil(1000.0, 50.0, 1.5)], ids=["up", "down"])
    def test_point_source_from_boundary_conditions(self, s: float, z: float, soil: Soil) -> None:
        """Potential on the axis of a point source at depth s, from the boundary conditions solved for each wave number:
        no images are used."""
        from groundlint.electrical.physics.soil_layers import _matrix

        half = 1e-3
        top, bottom = np.array([s - half, z - half]), np.array([s + half, z + half])
        away = np.full((2, 2), 1e-5)
        assert _matrix(soil, top, bottom, away)[1, 0] == pytest.approx(on_axis(s, z, soil), rel=2e-5)


def on_axis(s: float, z: float, soil: Soil) -> float:
    """V at depth z for 1 A at depth s: layer 1 has A exp(-lz) + B exp(l(z-h)), layer 2 C exp(-l(z-h)), plus the
    source."""
    h, r1, r2 = soil.depth, soil.upper, soil.lower
    assert h is not None
    wave = np.linspace(1e-7, 60, 400_001)
    n, above = len(wave), s <= h
    m, b = np.zeros((n, 3, 3)), np.zeros((n, 3))
    at_h = np.exp(-wave * abs(h - s))
    # No current through the surface; the same potential and the same current on both sides of the boundary.
    m[:, 0, 0], m[:, 0, 1] = -1, np.exp(-wave * h)
    b[:, 0] = -r1 * np.exp(-wave * s) if above else 0.0
    m[:, 1, 0], m[:, 1, 1], m[:, 1, 2] = np.exp(-wave * h), 1, -1
    b[:, 1] = -r1 * at_h if above else r2 * at_h
    m[:, 2, 0], m[:, 2, 1], m[:, 2, 2] = -np.exp(-wave * h) / r1, 1 / r1, 1 / r2
    b[:, 2] = at_h
    a_, b_, c_ = np.linalg.solve(m, b[..., None])[..., 0].T
    inside = z <= h
    wavy = a_ * np.exp(-wave * z) + b_ * np.exp(wave * (z - h)) if inside else c_ * np.exp(-wave * (z - h))
    direct = (r1 if above else r2) / abs(z - s) if above == inside else 0.0
    return float((np.trapezoid(wavy, wave) + direct) / (4 * math.pi))
