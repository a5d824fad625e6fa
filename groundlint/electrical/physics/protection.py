"""How long a relay lets a fault last: inverse-time curves. Currents in A, times in s."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from groundlint.electrical.physics.constants import BoolArray, FloatArray
from groundlint.electrical.physics.provenance import HowKnown, Provenance
from groundlint.values import Unknown


class Curve(NamedTuple):
    """An inverse-time characteristic t = dial (a/(M^p - 1) + b), M the current in multiples of pickup."""

    name: str
    a: float
    b: float
    p: float
    source: Provenance


_IEC: Final = Provenance("IEC 60255-151", HowKnown.SEEN)
_IEEE: Final = Provenance("IEEE C37.112-1996", HowKnown.SEEN, "constants seen, times derived")
CURVES: Final[dict[str, Curve]] = {
    row.name: row
    for row in (
        Curve("iec-standard-inverse", 0.14, 0.0, 0.02, _IEC),
        Curve("iec-very-inverse", 13.5, 0.0, 1.0, _IEC),
        Curve("iec-extremely-inverse", 80.0, 0.0, 2.0, _IEC),
        Curve("iec-long-time-inverse", 120.0, 0.0, 1.0, _IEC),
        # the dial is the time in s, whatever the current: a distance or differential relay, a stage without a curve
        Curve("definite-time", 0.0, 1.0, 1.0, Provenance("IEC 60255-151", HowKnown.MEMORY)),
        Curve("ieee-moderately-inverse", 0.0515, 0.1140, 0.02, _IEEE),
        Curve("ieee-very-inverse", 19.61, 0.491, 2.0, _IEEE),
        Curve("ieee-extremely-inverse", 28.2, 0.1217, 2.0, _IEEE),
    )
}
SATURATES_AT: Final = 20.0
"""Multiple of pickup past which the time is taken as constant: characteristics are declared up to about here."""


def find_curve(name: str) -> Curve | Unknown:
    """The curve of that name; `Unknown` proposes the names there are."""
    found = CURVES.get(name.strip().lower().replace(" ", "-"))
    return found if found else Unknown.of(f"relay curve '{name}'", ", ".join(CURVES))


def relay_times(curve: Curve, dial: ArrayLike, multiple: ArrayLike) -> tuple[FloatArray, BoolArray]:
    """Operating time in s for a time dial (or multiplier) and current in multiples of pickup, and whether it trips.

    Where it does not trip (multiple up to 1, or not a number) the time is ``inf``; ask the second array, not the first.
    """
    m = np.asarray(multiple, dtype=np.float64)
    trips = np.asarray(m > 1)
    inside = np.where(trips, np.minimum(m, SATURATES_AT), 2.0)
    time = np.asarray(dial) * (curve.a / np.expm1(curve.p * np.log(inside)) + curve.b)
    return np.asarray(np.where(trips, time, np.inf)), trips


class Device(NamedTuple):
    """An overcurrent relay and its breaker: pickup in A primary, time of the breaker in s, curve and time dial."""

    pickup: float
    breaker_time: float
    curve: Curve
    dial: float
