"""What was computed of a plan, in the form that the briefing shows: SI, known, known within bounds, or not at all.

A value that could not be computed is an `Unknown`, and the page says *not shown* with its reason, never a blank and
never zero. Of a value known within bounds, the end that is worse for people is the one that is judged.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from groundlint.values import Bounds, Gap, Unknown
from groundlint.values.bounds import compared, ends, gaps_of

Value = float | Bounds | Unknown
"""A number in SI, its bounds, or what is missing to tell it."""


def share_of(value: Value, most: Value) -> Value:
    """A value as a share of the most that it may be."""
    if isinstance(value, Unknown) or isinstance(most, Unknown):
        return Unknown(gaps_of(value, most))
    (low, high), (least, greatest) = ends(value), ends(most)
    bottom = low / greatest if greatest > 0 else math.inf
    top = high / least if least > 0 else math.inf
    if math.isnan(bottom) or math.isnan(top):
        return Unknown(gaps_of(value, most) or (Gap("a limit"),))
    gaps = gaps_of(value, most)
    return Bounds(bottom, top, gaps) if gaps and bottom != top else top


def gravity(share: Value) -> tuple[int, float]:
    """An order: over the most, then what may be over or is not known, then what is within; each by how much."""
    if isinstance(share, Unknown):
        return 1, 0.0
    low, high = ends(share)
    return (2 if low > 1 else 1 if high > 1 else 0), compared(high)


def is_known(value: Value) -> bool:
    """Whether the worse end of a value is known."""
    return not isinstance(value, Unknown) and math.isfinite(ends(value)[1])


@dataclass(frozen=True)
class Exposure:
    """The worst voltage across one worker at one step if the line returned then.

    ``at`` is the position in ``plan.actions`` (the state before that action); ``volts`` and ``limit`` in V; ``source``
    the scenario that is worst; ``between`` the two things touched; ``loading`` the share of the limit, where every way
    of returning is held against the limit for its own time.
    """

    worker: str
    at: int
    volts: Value
    limit: Value
    source: str = ""
    between: str = ""
    loading: Value | None = None

    @property
    def share(self) -> Value:
        """Voltage over limit; as computed, where that is given."""
        return self.loading if self.loading is not None else share_of(self.volts, self.limit)


@dataclass(frozen=True)
class Duty:
    """One lead's largest fault current beside what it is rated for, both in A rms; ``at`` is the worst step."""

    lead: str
    amps: Value
    rating: Value
    at: int | None = None
    source: str = ""
    basis: str = ""

    loading: Value | None = None

    @property
    def share(self) -> Value:
        """Duty over rating; as computed, where that is given."""
        return self.loading if self.loading is not None else share_of(self.amps, self.rating)

    @property
    def short(self) -> bool:
        """Whether the duty is known to be more than the rating."""
        return gravity(self.share)[0] == 2


@dataclass(frozen=True)
class Computed:
    """One line of the calculation record: what, its value in words or what is missing, by which equation and source."""

    what: str
    value: str | Unknown
    equation: str = ""
    source: str = ""


@dataclass(frozen=True)
class Assumed:
    """A value that no plan states and a result rests on: its bounds in words, the reason, the source."""

    what: str
    low: str
    high: str
    reason: str = ""
    source: str = ""


@dataclass(frozen=True)
class Electrical:
    """All that was computed of one plan. ``missing`` says why there is nothing, where nothing was computed at all;
    ``limit`` what the voltages are held against."""

    exposures: tuple[Exposure, ...] = ()
    duties: tuple[Duty, ...] = ()
    computed: tuple[Computed, ...] = ()
    assumed: tuple[Assumed, ...] = ()
    missing: str = ""
    limit: str = ""


NOT_COMPUTED = Electrical(missing="the currents and voltages of this plan were not computed")
"""For a briefing without the electrical record."""
