"""How long a fault lasts: inverse-time curves, breaker time, and faults that nothing clears.

Currents in A, times in s. A device that does not trip gives `NEVER`, a value of its own: not a large number, and never
compared with one.
"""

from __future__ import annotations

import math
from enum import Enum
from typing import Final, Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from groundlint.electrical.physics.constants import BoolArray, FloatArray
from groundlint.electrical.physics.provenance import HowKnown, Provenance
from groundlint.values import Unknown


class Never(Enum):
    """The device does not trip for this current: the fault has no end."""

    NEVER = "never trips"

    def __str__(self) -> str:
        return self.value


NEVER: Final = Never.NEVER


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
        Curve("ieee-moderately-inverse", 0.0515, 0.1140, 0.02, _IEEE),
        Curve("ieee-very-inverse", 19.61, 0.491, 2.0, _IEEE),
        Curve("ieee-extremely-inverse", 28.2, 0.1217, 2.0, _IEEE),
    )
}
SATURATES_AT: Final = 20.0
"""Multiple of pickup past which the time is taken as constant: characteristics are declared up to about here."""

ASSURED_FROM: Final = 1.5
"""Multiple of pickup under which the operating time is not assured: accuracy is declared from about here (from
memory)."""


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


def relay_time(curve: Curve, dial: float, multiple: float) -> float | Never:
    """Operating time in s of a relay, or `NEVER` for a current up to its pickup."""
    time, trips = relay_times(curve, dial, multiple)
    return float(time) if bool(trips) and math.isfinite(float(time)) else NEVER


class Device(NamedTuple):
    """An overcurrent relay and its breaker: pickups in A primary, times in s.

    `curve` and `dial` may be left out where the device has a fixed time `definite_time` for any current over pickup,
    or an instantaneous element alone. What is stated must be complete: a curve has a dial, an instantaneous pickup a
    time.
    """

    pickup: float
    breaker_time: float
    curve: Curve | None = None
    dial: float | None = None
    definite_time: float | None = None
    instantaneous_pickup: float | None = None
    instantaneous_time: float | None = None


class Clearing(NamedTuple):
    """How long a fault lasts: `total` s is relay time plus breaker time; `assured` is False near pickup."""

    total: float
    relay: float
    breaker: float
    element: Literal["inverse", "definite", "instantaneous"]
    assured: bool


def clearing_time(device: Device, current: float) -> Clearing | Never | Unknown:
    """How long the device lets a current in A flow; the fastest element that trips counts.

    `Unknown` where the device's data are missing or not positive numbers.
    """
    if not (0 < device.pickup < math.inf and 0 <= device.breaker_time < math.inf):
        return Unknown.of("pickup and breaker time of the protective device", "pickup 600 A")
    if not current >= 0:
        return Unknown.of("current through the protective device", "fault 6.8 kA")
    if device.curve is not None and not (device.dial is not None and 0 < device.dial < math.inf):
        return Unknown.of("time dial of the protective device", "dial 2")
    if device.definite_time is not None and not 0 <= device.definite_time < math.inf:
        return Unknown.of("time of the protective device", "clears in 24 cycles")
    pick, instant = device.instantaneous_pickup, device.instantaneous_time
    if pick is not None and not (pick > 0 and instant is not None and 0 <= instant < math.inf):
        return Unknown.of("time of the instantaneous element", "instantaneous in 1.5 cycles")
    found: list[tuple[float, Literal["inverse", "definite", "instantaneous"]]] = []
    if device.curve is None and device.definite_time is None and device.instantaneous_pickup is None:
        return Unknown.of("time characteristic of the protective device", "curve ieee-very-inverse")
    if device.curve is not None and device.dial is not None:
        time = relay_time(device.curve, device.dial, current / device.pickup)
        if not isinstance(time, Never):
            found.append((time, "inverse"))
    if device.definite_time is not None and current > device.pickup:
        found.append((device.definite_time, "definite"))
    if pick is not None and instant is not None and current > pick:
        found.append((instant, "instantaneous"))
    if not found:
        return NEVER
    relay, element = min(found)
    pickup = pick if element == "instantaneous" and pick is not None else device.pickup
    return Clearing(relay + device.breaker_time, relay, device.breaker_time, element, current >= ASSURED_FROM * pickup)


class Delay(NamedTuple):
    """Effect of the grounds' impedance on clearing: the time without and with it, and `slower` by how many s.

    `slower` is `NEVER` where the impedance keeps the device from tripping at all.
    """

    bolted: Clearing
    through_grounds: Clearing | Never
    slower: float | Never


def delay(device: Device, bolted_current: float, current: float) -> Delay | Never | Unknown:
    """How much the grounds slow the device: `bolted_current` A without their impedance, `current` A with it.

    29 CFR 1910.269(n)(4)(iii) asks that they do not. `NEVER` where the device does not trip even for the bolted fault.
    """
    bolted = clearing_time(device, bolted_current)
    through = clearing_time(device, current)
    if not isinstance(bolted, Clearing):
        return bolted
    if isinstance(through, Unknown):
        return through
    return Delay(bolted, through, NEVER if isinstance(through, Never) else through.total - bolted.total)


def cycles(count: float, frequency_hz: float = 60.0) -> float:
    """Duration in s of a number of cycles."""
    return count / frequency_hz


def longer(first: float | Never, second: float | Never) -> float | Never:
    """The longer of two clearing times in s; `NEVER` is longer than any."""
    if isinstance(first, Never) or isinstance(second, Never):
        return NEVER
    return max(first, second)
