"""Rods, soil and bodies: limits of formulas, what must rise or fall, and distances that invert voltages."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from groundlint.electrical.physics.body import CRITERIA, Criterion, limit, limits
from groundlint.electrical.physics.earth import (
    distance_for_step,
    rod_resistance,
    surface_layer_factor,
    tolerable_step,
)
from groundlint.electrical.physics.soil_layers import Rod, RodGroup, Soil, rods, uniform
from groundlint.values import Unknown

lengths, diameters, soils = st.floats(1.0, 6.0), st.floats(0.01, 0.03), st.floats(5, 5000)


@given(soils, lengths, diameters, st.floats(1.01, 3))
def test_rod(rho: float, length: float, d: float, more: float) -> None:
    ohm = float(rod_resistance(rho, length, d))
    assert float(rod_resistance(rho * more, length, d)) == pytest.approx(more * ohm)
    assert float(rod_resistance(rho, length * more, d)) < ohm
    assert float(rod_resistance(rho, length, d * more)) < ohm
    assert float(rod_resistance(rho, length * more, d * more)) == pytest.approx(ohm / more)


def surface_share(x: Any, length: float, d: float) -> Any:
    """Potential of the surface over the rod's own, ln((L + sqrt(L2 + x2))/x)/(ln(8L/d) - 1): a line of even leakage,
    MIL-HDBK-419A vol. 1 eq. 2-20 lineage."""
    return np.minimum(np.arcsinh(length / x) / (np.log(8 * length / d) - 1), 1.0)


@given(st.floats(10, 2e4), st.floats(1, 500), lengths, diameters, st.sampled_from([0.5, 1.0, 1e9]))
def test_distance_to_keep(rise: float, allowed: float, length: float, d: float, pace: float) -> None:
    found = float(distance_for_step(rise, allowed, length, d, pace))
    assert d / 2 <= found < math.inf

    def step(x: float) -> float:
        return rise * float(surface_share(x, length, d) - surface_share(x + pace, length, d))

    assert step(found * 1.0001) <= allowed * (1 + 1e-9)
    if found > d:
        assert step(found * 0.999) > allowed * 0.999


def test_distance_to_keep_at_the_edges() -> None:
    found = distance_for_step(np.array([5000.0, 0.0, 100.0, -5000.0]), np.array([0.0, 0.0, 200.0, 200.0]), 2.4, 0.016)
    assert math.isinf(found[0])
    assert found[1] == found[2]
    assert 0.008 < found[1] < 0.02
    assert found[3] == pytest.approx(float(distance_for_step(5000.0, 200.0, 2.4, 0.016)))


@given(soils, st.floats(5, 10_000), st.floats(0, 0.5))
def test_surface_layer(rho: float, layer: float, thick: float) -> None:
    factor = float(surface_layer_factor(rho, layer, thick))
    assert float(surface_layer_factor(rho, rho, thick)) == pytest.approx(1)
    # Bare soil counts as itself; a thick layer counts as the layer.
    assert float(surface_layer_factor(rho, layer, 0.0)) * layer == pytest.approx(rho)
    assert min(rho, layer) * (1 - 1e-9) <= factor * layer <= max(rho, layer) * (1 + 1e-9)
    assert float(tolerable_step(0.1, layer, factor)) == pytest.approx(0.1 * (1000 + 6 * factor * layer))


class TestLayers:
    ROD = Rod(0.0, 0.0, 2.4, 0.016)

    @staticmethod
    def solved(group: list[Rod], soil: Soil) -> RodGroup:
        found = rods(group, soil)
        assert isinstance(found, RodGroup), found
        return found

    @settings(max_examples=30, deadline=None)
    @given(st.floats(10, 2000), st.floats(10, 2000), st.floats(0.1, 8))
    def test_between_both_layers_alone(self, upper: float, lower: float, depth: float) -> None:
        ohm = self.solved([self.ROD], Soil(upper, lower, depth)).resistance
        ends = sorted(self.solved([self.ROD], uniform(rho)).resistance for rho in (upper, lower))
        assert ends[0] * 0.97 <= ohm <= ends[1] * 1.03

    @settings(max_examples=15, deadline=None)
    @given(st.floats(10, 1000), st.floats(1.2, 30), st.floats(0.3, 6))
    def test_rises_with_each_layer(self, rho: float, more: float, depth: float) -> None:
        base = self.solved([self.ROD], Soil(rho, rho * 2, depth)).resistance
        assert self.solved([self.ROD], Soil(rho, rho * 2 * more, depth)).resistance > base
        assert self.solved([self.ROD], Soil(rho * more, rho * 2, depth)).resistance > base
        assert self.solved([self.ROD], Soil(rho * more, rho * 2 * more, depth)).resistance == pytest.approx(
            base * more, rel=1e-6
        )

    def test_equal_layers_are_one(self) -> None:
        one = self.solved([self.ROD], uniform(100.0))
        assert self.solved([self.ROD], Soil(100.0, 100.0, 1.0)).resistance == pytest.approx(one.resistance, rel=0.003)
        assert self.solved([self.ROD], Soil(100.0, 900.0, 1e4)).resistance == pytest.approx(one.resistance, rel=1e-3)
        assert self.solved([self.ROD], Soil(900.0, 100.0, 1e-3)).resistance == pytest.approx(one.resistance, rel=2e-3)

    def test_within_two_percent_of_dwight(self) -> None:
        one = self.solved([self.ROD], uniform(100.0)).resistance
        dwight = float(rod_resistance(100.0, 2.4, 0.016))
        assert 0.98 * dwight < one < dwight * 1.001

    def test_nearly_insulating_rock_below(self) -> None:
        """Tail of the series by its sum: the same within a little for twice as many images."""
        import groundlint.electrical.physics.soil_layers as module

        soil = Soil(100.0, 1e6, 3.5)
        usual = self.solved([self.ROD], soil).resistance
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(module, "FAR", 4000.0)
            assert self.solved([self.ROD], soil).resistance == pytest.approx(usual, rel=2e-4)

    @settings(max_examples=15, deadline=None)
    @given(st.floats(0.5, 50), st.floats(0.5, 50))
    def test_rods_help_each_other_less_when_near(self, near: float, more: float) -> None:
        soil = Soil(100.0, 300.0, 2.0)

        def pair(s: float) -> float:
            return self.solved([self.ROD, Rod(s, 0.0, 2.4, 0.016)], soil).resistance

        one = self.solved([self.ROD], soil).resistance
        assert one / 2 < pair(near + more) < pair(near) < one

    def test_surface_potential(self) -> None:
        group = self.solved([self.ROD], uniform(100.0))
        x = np.array([0.5, 1.0, 3.0, 10.0, 100.0])
        mine = group.surface_share(x, 0.0)
        assert mine == pytest.approx(surface_share(x, 2.4, 0.016), rel=0.06)
        assert np.all(np.diff(mine) < 0)
        # Far away every electrode is a point: V = rho I/(2 pi r).
        assert float(group.surface_potential(1000.0, 0.0)) == pytest.approx(100 / (2 * math.pi * 1000), rel=1e-4)
        layered = self.solved([self.ROD], Soil(100.0, 400.0, 1.5))
        assert float(layered.surface_potential(3000.0, 0.0)) == pytest.approx(400 / (2 * math.pi * 3000), rel=0.02)
        assert float(layered.surface_share(0.0, 0.0)) <= 1

    def test_distance_to_keep(self) -> None:
        one = self.solved([self.ROD], uniform(100.0))
        assert one.distance_to_keep(5000.0, 200.0) == pytest.approx(
            float(distance_for_step(5000, 200, 2.4, 0.016)), rel=0.03
        )
        assert one.distance_to_keep(5000.0, 50.0, None) == pytest.approx(
            float(distance_for_step(5000, 50, 2.4, 0.016, 1e9)), rel=0.03
        )
        rock = self.solved([self.ROD], Soil(100.0, 2000.0, 1.5))
        assert rock.distance_to_keep(5000.0, 50.0, None) > 2 * one.distance_to_keep(5000.0, 50.0, None)
        assert math.isinf(one.distance_to_keep(5000.0, 0.0))
        assert one.distance_to_keep(0.0, 50.0) == pytest.approx(0.01)
        pair = self.solved([self.ROD, Rod(5.0, 0.0, 2.4, 0.016)], uniform(100.0))
        kept = pair.distance_to_keep(5000.0, 200.0)
        angle = np.linspace(0, 2 * math.pi, 33)
        x, y = np.cos(angle), np.sin(angle)
        step = pair.surface_share(2.5 + kept * x, kept * y) - pair.surface_share(2.5 + (kept + 1) * x, (kept + 1) * y)
        assert 5000 * step.max() == pytest.approx(200, rel=1e-3)

    def test_shares_of_current(self) -> None:
        square = [Rod(x, y, 2.4, 0.016) for x in (0.0, 2.4) for y in (0.0, 2.4)]
        assert self.solved(square, uniform(50.0)).share == pytest.approx((0.25,) * 4)

    @pytest.mark.parametrize(
        ("group", "soil"),
        [
            ([], uniform(100.0)),
            ([Rod(0, 0, 2.4, 0.016)], uniform(0.0)),
            ([Rod(0, 0, 2.4, 0.016)], uniform(math.nan)),
            ([Rod(0, 0, 0.0, 0.016)], uniform(100.0)),
            ([Rod(0, 0, 2.4, 0.016)], Soil(100.0, math.inf, 1.0)),
            ([Rod(0, 0, 2.4, 0.016)], Soil(100.0, 50.0, 0.0)),
            ([Rod(0, 0, 2.4, 0.016), Rod(0.01, 0, 2.4, 0.016)], uniform(100.0)),
        ],
    )
    def test_what_cannot_be_solved_is_unknown(self, group: list[Rod], soil: Soil) -> None:
        assert isinstance(rods(group, soil), Unknown)


@given(st.sampled_from(list(CRITERIA.values())), st.lists(st.floats(1e-4, 20), min_size=1, max_size=6))
def test_limits_as_an_array_are_limits_one_by_one(criterion: Criterion, durations: list[float]) -> None:
    values, inside = limits(criterion, durations)
    for value, known, t in zip(values, inside, durations, strict=True):
        one = limit(criterion, t)
        assert known == isinstance(one, float)
        assert value == (one if isinstance(one, float) else 0.0)


@given(st.sampled_from(list(CRITERIA.values())), st.floats(0.0001, 10), st.floats(0, 5))
def test_limits_never_rise_with_duration(criterion: Criterion, t: float, more: float) -> None:
    first, later = limit(criterion, t), limit(criterion, t + more)
    if isinstance(first, float) and isinstance(later, float):
        assert 0 < later <= first


@given(st.floats(0.03, 3))
def test_limits_in_order(t: float) -> None:
    light, heavy = limit(CRITERIA["dalziel-50kg"], t), limit(CRITERIA["dalziel-70kg"], t)
    assert isinstance(light, float)
    assert isinstance(heavy, float)
    assert 0.009 < light < heavy
