"""Published fault currents and relay times beside what is computed. Each case names its source and how it is known."""

from __future__ import annotations

import math

import numpy as np
import pytest

from groundlint.electrical.physics.protection import CURVES, relay_times
from groundlint.electrical.physics.sources import (
    Equivalent,
    FaultCurrents,
    fault_currents,
    from_power,
    phase_to_ground,
    phase_to_phase,
    three_phase,
)


class TestCourseProblem:
    """25 MVA, 13.2 kV, X1 .25 X2 .35 X0 .10 pu; course problem of Stevenson lineage."""

    BASE = 25e6 / (math.sqrt(3) * 13.2e3)

    def test_phase_to_ground(self) -> None:
        """Seen: I1 = -j1.428 pu and 4684.38 A, which rounds I1 first; 4686.3 A must come out, not the printed value."""
        current = complex(phase_to_ground(1.0, 0.25j, 0.35j, 0.10j))
        assert current / 3 == pytest.approx(-1.4286j, abs=5e-5)
        assert abs(current) * self.BASE == pytest.approx(4686.3, abs=0.1)
        assert pytest.approx(4684.38, abs=0.1) == 3 * 1.428 * self.BASE

    def test_phase_to_phase(self) -> None:
        """From memory, recomputes: I1 1.667, Ib 2.886 pu."""
        current = abs(complex(phase_to_phase(1.0, 0.25j, 0.35j)))
        assert current / math.sqrt(3) == pytest.approx(1.6667, abs=5e-5)
        assert current == pytest.approx(2.8868, abs=5e-5)
        assert current * self.BASE == pytest.approx(3156.6, abs=0.1)

    def test_three_phase(self) -> None:
        """Derived: 4373.9 A."""
        assert abs(complex(three_phase(1.0, 0.25j))) * self.BASE == pytest.approx(4373.9, abs=0.1)


def test_ground_fault_of_ieee_80_annex_b1() -> None:
    """IEEE 80-2000 Annex B.1, from memory, recomputes: 115 kV, Z1=Z2=4+j10, Z0=10+j40: 3I0 3180 A, X/R 3.33."""
    current = complex(phase_to_ground(115e3 / math.sqrt(3), 4 + 10j, 4 + 10j, 10 + 40j))
    assert abs(current) == pytest.approx(3180, abs=0.5)
    assert -current.imag / current.real == pytest.approx(3.33, abs=0.005)


def test_through_per_unit_impedance() -> None:
    """A web note, seen, weak: 10 MVA at 13.8 kV is 418.4 A, 4648 A through 0.09 pu."""
    ohm = 0.09 * 13.8e3**2 / 10e6
    assert abs(complex(three_phase(13.8e3 / math.sqrt(3), 1j * ohm))) == pytest.approx(4648, abs=1.0)


def test_power_and_miles_of_line() -> None:
    """Derived: 12.47 kV, 150 MVA of pure reactance, 3 miles of .3061+j.6270 ohm/mile: 6944.9 A, then 2353.7 A."""
    bus = from_power(12.47e3, 150e6, math.inf)
    assert isinstance(bus, Equivalent)
    far = bus._replace(z1=bus.z1 + 3 * (0.3061 + 0.6270j))
    for source, expected in ((bus, 6944.9), (far, 2353.7)):
        found = fault_currents(source)
        assert isinstance(found, FaultCurrents)
        assert found.three_phase == pytest.approx(expected, abs=0.15)


def relay_time(name: str, multiple: float) -> float:
    """Time in s of a relay at dial 1, endless where it does not trip."""
    time, trips = relay_times(CURVES[name], 1.0, multiple)
    assert bool(trips) == math.isfinite(float(time))
    return float(time)


class TestInverseTimeCurves:
    TIMES = (
        ("iec-standard-inverse", (10.029, 6.302, 4.280, 2.971, 2.267)),
        ("iec-very-inverse", (13.500, 6.750, 3.375, 1.500, 0.711)),
        ("iec-extremely-inverse", (26.667, 10.000, 3.333, 0.808, 0.201)),
        ("iec-long-time-inverse", (120, 60, 30, 13.333, 6.316)),
        ("definite-time", (1, 1, 1, 1, 1)),
    )

    @pytest.mark.parametrize(("name", "times"), TIMES, ids=[row[0] for row in TIMES])
    def test_iec(self, name: str, times: tuple[float, ...]) -> None:
        """IEC 60255-151, constants and times seen."""
        for multiple, printed in zip((2, 3, 5, 10, 20), times, strict=True):
            assert relay_time(name, multiple) == pytest.approx(printed, abs=0.00051)

    @pytest.mark.parametrize(
        ("name", "times"),
        [
            ("ieee-moderately-inverse", (3.8033, 1.6883, 1.2068)),
            ("ieee-very-inverse", (7.0277, 1.3081, 0.6891)),
            ("ieee-extremely-inverse", (9.5217, 1.2967, 0.4065)),
        ],
    )
    def test_ieee(self, name: str, times: tuple[float, ...]) -> None:
        """IEEE C37.112-1996, constants seen, times derived."""
        for multiple, derived in zip((2, 5, 10), times, strict=True):
            assert relay_time(name, multiple) == pytest.approx(derived, abs=6e-5)

    @pytest.mark.parametrize("name", sorted(CURVES))
    @pytest.mark.parametrize("multiple", [0.0, 0.5, 1.0, float("nan"), -3.0])
    def test_up_to_pickup_it_never_trips(self, name: str, multiple: float) -> None:
        assert math.isinf(relay_time(name, multiple))

    def test_no_curve_trips_later_the_more_flows(self) -> None:
        assert np.all([curve.a > 0 for name, curve in CURVES.items() if name != "definite-time"])
