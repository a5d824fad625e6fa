"""What was computed of a plan, in the form that the briefing shows: floats in SI, or `Unknown` with the reason.

The briefing computes nothing itself. A value that could not be computed is an `Unknown`, and the page says *not shown*
with its reason, never a blank and never zero.
"""

from __future__ import annotations

from dataclasses import dataclass

from groundlint.values import Unknown

Value = float | Unknown
"""A number in SI, or what is missing to tell it."""


@dataclass(frozen=True)
class Exposure:
    """The worst voltage across one worker at one step if the line returned then.

    ``at`` is the position in ``plan.actions`` (the state before that action); ``volts`` and ``limit`` in V; ``source``
    the scenario that is worst; ``between`` the two things touched.
    """

    worker: str
    at: int
    volts: Value
    limit: Value
    source: str = ""
    between: str = ""


@dataclass(frozen=True)
class Duty:
    """One lead's largest fault current beside what it is rated for, both in A rms; ``at`` is the worst step."""

    lead: str
    amps: Value
    rating: Value
    at: int | None = None
    source: str = ""
    basis: str = ""

    @property
    def short(self) -> bool:
        """Whether the duty is known to be more than the rating."""
        return isinstance(self.amps, float) and isinstance(self.rating, float) and self.amps > self.rating


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
    """All that was computed of one plan. ``missing`` says why there is nothing, where nothing was computed at all."""

    exposures: tuple[Exposure, ...] = ()
    duties: tuple[Duty, ...] = ()
    computed: tuple[Computed, ...] = ()
    assumed: tuple[Assumed, ...] = ()
    missing: str = ""


NOT_COMPUTED = Electrical(missing="the currents and voltages of this plan were not computed")
"""For a briefing without the electrical record."""
