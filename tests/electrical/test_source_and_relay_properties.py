"""Sources, relays, approach distances and assumptions: properties that hold for any numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from groundlint.electrical.physics.approach import Distance, minimum_approach
from groundlint.electrical.physics.protection import CURVES, Curve, find_curve, relay_times
from groundlint.electrical.physics.sources import (
    Equivalent,
    FaultCurrents,
    fault_currents,
    from_fault_currents,
    from_power,
    phase_to_ground,
    phase_to_phase,
    three_phase,
    two_phase_to_ground,
)
from groundlint.electrical.study.assumptions import ASSUMPTIONS
from groundlint.electrical.study.parts import Register
from groundlint.values import Unknown

impedances = st.builds(complex, st.floats(0.01, 50), st.floats(0.01, 200))
curves = st.sampled_from(list(CURVES.values()))


@given(st.floats(100, 5e5), impedances)
def test_all_faults_alike_where_sequences_are(emf: float, z: complex) -> None:
    i3 = abs(complex(three_phase(emf, z)))
    assert abs(complex(phase_to_ground(emf, z, z, z))) == pytest.approx(i3)
    assert abs(complex(phase_to_phase(emf, z, z))) / i3 == pytest.approx(math.sqrt(3) / 2)


@given(st.floats(100, 5e5), impedances, impedances, impedances, st.floats(1e5, 1e9))
def test_a_common_base_changes_nothing(emf: float, z1: complex, z2: complex, z0: complex, power: float) -> None:
    voltage = emf * math.sqrt(3)
    base = voltage**2 / power
    per_unit = complex(phase_to_ground(1.0, z1 / base, z2 / base, z0 / base)) * power / (math.sqrt(3) * voltage)
    assert per_unit == pytest.approx(complex(phase_to_ground(emf, z1, z2, z0)), rel=1e-9)


@given(st.floats(100, 5e5), impedances, impedances, impedances, impedances)
def test_two_phases_to_ground_by_phase_equations(
    emf: float, z1: complex, z2: complex, z0: complex, zf: complex
) -> None:
    """Voltages of b and c equal the drop of their sum in Zf, and phase a carries nothing, in phase quantities."""
    a = complex(-0.5, math.sqrt(3) / 2)
    fault = two_phase_to_ground(emf, z1, z2, z0, zf)
    ib, ic = complex(fault.b), complex(fault.c)
    assert complex(fault.ground) == pytest.approx(ib + ic, rel=1e-9)
    i0, i1, i2 = (ib + ic) / 3, (a * ib + a * a * ic) / 3, (a * a * ib + a * ic) / 3
    v0, v1, v2 = -z0 * i0, emf - z1 * i1, -z2 * i2
    vb, vc = v0 + a * a * v1 + a * v2, v0 + a * v1 + a * a * v2
    assert vb == pytest.approx(zf * (ib + ic), rel=1e-6, abs=1e-6 * emf)
    assert vc == pytest.approx(zf * (ib + ic), rel=1e-6, abs=1e-6 * emf)


@given(st.floats(400, 5e5), st.floats(100, 4e4), st.floats(0.2, 1.49), st.floats(0.1, 40))
def test_stated_currents_come_back(voltage: float, i3: float, share: float, x_over_r: float) -> None:
    source = from_fault_currents(voltage, i3, x_over_r, share * i3)
    assert isinstance(source, Equivalent)
    found = fault_currents(source)
    assert isinstance(found, FaultCurrents)
    assert found.three_phase == pytest.approx(i3)
    assert found.to_ground == pytest.approx(share * i3)
    assert source.x_over_r == pytest.approx(x_over_r)
    by_power = from_power(voltage, math.sqrt(3) * voltage * i3, x_over_r)
    assert isinstance(by_power, Equivalent)
    assert by_power.z1 == pytest.approx(source.z1)


def test_what_a_source_does_not_state_stays_unknown() -> None:
    assert isinstance(from_fault_currents(12.47e3, None, 9.0), Unknown)
    assert isinstance(from_fault_currents(12.47e3, 6.8e3, None), Unknown)
    assert isinstance(from_fault_currents(12.47e3, 6.8e3, math.nan), Unknown)
    assert isinstance(from_fault_currents(0.0, 6.8e3, 9.0), Unknown)
    assert isinstance(from_power(12.47e3, None, 9.0), Unknown)
    partly = from_fault_currents(12.47e3, 6.8e3, 9.0)
    assert isinstance(partly, Equivalent)
    assert isinstance(partly.z0, Unknown)
    found = fault_currents(partly)
    assert isinstance(found, FaultCurrents)
    assert isinstance(found.to_ground, Unknown)
    # More than 1.5 times the three-phase current would need an active zero sequence.
    assert isinstance(from_fault_currents(12.47e3, 6.8e3, 9.0, 10.3e3), Unknown)


def test_no_zero_sequence_path() -> None:
    source = from_fault_currents(12.47e3, 6.8e3, 9.0, 0.0)
    assert isinstance(source, Equivalent)
    assert source.z0 is None
    found = fault_currents(source)
    assert isinstance(found, FaultCurrents)
    assert found.to_ground == 0.0
    assert found.two_to_ground == 0.0


@given(impedances, impedances)
def test_a_line_only_weakens(z1: complex, z0: complex) -> None:
    source = from_fault_currents(12.47e3, 6.8e3, 9.0, 5.2e3)
    assert isinstance(source, Equivalent)
    assert isinstance(source.z0, complex)
    beyond = source._replace(z1=source.z1 + z1, z2=source.z2 + z1, z0=source.z0 + z0)
    near, far = fault_currents(source), fault_currents(beyond)
    assert isinstance(near, FaultCurrents)
    assert isinstance(far, FaultCurrents)
    assert far.three_phase < near.three_phase
    assert far.to_ground < near.to_ground  # type: ignore[operator]


def test_nothing_limits_an_ideal_source() -> None:
    assert isinstance(fault_currents(Equivalent(7200.0, 0j, 0j, 0j)), Unknown)


@given(curves, st.floats(0.05, 15), st.floats(1.001, 100), st.floats(0.001, 50))
def test_relays_are_faster_for_more_current(curve: Curve, dial: float, multiple: float, more: float) -> None:
    (slow, fast), trips = relay_times(curve, dial, np.array([multiple, multiple + more]))
    assert trips.all()
    assert 0 < fast <= slow < math.inf
    assert float(relay_times(curve, 2 * dial, multiple)[0]) == pytest.approx(2 * slow)


@given(curves, st.lists(st.floats(-5, 60), min_size=1, max_size=8))
def test_relays_trip_above_pickup_only(curve: Curve, multiples: list[float]) -> None:
    time, trips = relay_times(curve, 1.0, np.array(multiples))
    for t, trip, multiple in zip(time, trips, multiples, strict=True):
        assert bool(trip) == (multiple > 1)
        assert (t > 0) if trip else math.isinf(t)


def test_names_of_curves() -> None:
    assert find_curve("IEEE very inverse") == CURVES["ieee-very-inverse"]
    assert isinstance(find_curve("inverse"), Unknown)


@given(st.floats(301, 8e5), st.floats(1, 2e5), st.floats(0, 6000), st.floats(0, 1000))
def test_approach_distance_never_falls(voltage: float, more: float, altitude: float, up: float) -> None:
    assume(voltage + more <= 8e5 and altitude + up <= 6000)
    # From one default overvoltage to the next the rule itself may fall; within one it does not.
    assume(not any(voltage <= edge < voltage + more for edge in (420e3, 550e3)))
    first = minimum_approach(voltage, altitude)
    for other in (minimum_approach(voltage + more, altitude), minimum_approach(voltage, altitude + up)):
        assert isinstance(first, Distance)
        assert isinstance(other, Distance)
        assert other.metres >= first.metres - 1e-12
    between = minimum_approach(voltage, altitude, "phase-to-phase")
    assert isinstance(between, Distance)
    assert isinstance(first, Distance)
    assert between.metres >= first.metres


class TestAssumptions:
    def test_each_says_what_and_why(self) -> None:
        for name, row in ASSUMPTIONS.items():
            assert row.name == name
            assert row.low < row.high
            assert row.reason
            assert row.source
            assert bool(row.write) != (name == "lead-heating")  # what a fault does to a lead is no fact of a plan
            assert math.isfinite(row.low)
            assert math.isfinite(row.high)

    def test_grounds_of_a_neutral_are_in_line_with_the_layers_of_the_soil(self) -> None:
        """A rod of 8 ft and 5/8 in in 1,000 ohm m, by Dwight 1936 (from memory); the depth of a layer is no layer."""
        rod = 1000 / (2 * math.pi * 2.4384) * (math.log(8 * 2.4384 / 0.015875) - 1)
        for soil in ((1000.0,), (1000.0, 2.0, 40.0), (40.0, 2.0, 1000.0), (1000.0, 900.0, 1000.0)):
            assert Register({}, soil).bounds("neutral-ground-resistance") == pytest.approx((5.0, rod), rel=1e-3)
        assert Register({}, (60.0,)).bounds("neutral-ground-resistance") == (5.0, 100.0)
        assert Register({"neutral-ground-resistance": 25.0}, (60.0,)).bounds("neutral-ground-resistance") == (
            25.0,
            25.0,
        )
