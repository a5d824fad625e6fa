"""Words for people, in the units of the plan; each step as the sentence that its kind declares."""

from __future__ import annotations

from collections.abc import Sequence

from groundlint.plan.models import Action, Plan
from groundlint.steps import KINDS
from groundlint.steps.saying import NOT_STATED
from groundlint.text import Span
from groundlint.values import Bounds, Unknown
from groundlint.words.quantities import stated

MOST_GAPS = 3
"""Things to state or measure that are named for one value; the rest are counted."""


def not_shown(value: Unknown | Bounds) -> str:
    """Why a value is not shown, in one line."""
    said = [gap.fact + (f" (write `{gap.write}`)" if gap.write else "") for gap in value.gaps[:MOST_GAPS]]
    more = len(value.gaps) - MOST_GAPS
    return "; ".join(said) + (f"; and {more} more" if more > 0 else "")


class Words:
    """Turns values and steps of one plan into words; lengths in the plan's own unit."""

    def __init__(self, plan: Plan) -> None:
        self.feet = plan.in_feet
        self.line = plan.line.name if plan.line is not None else ""

    def length(self, value: object, where: Span) -> str:
        """A length in m as the plan states it at a place; what is not known is said to be not stated."""
        return stated(value, "m", where, self.feet) if isinstance(value, (int, float)) else NOT_STATED

    def time(self, value: object, where: Span) -> str:
        """A time in s as the plan states it at a place."""
        return stated(value, "s", where) if isinstance(value, (int, float)) else NOT_STATED

    def step(self, group: Sequence[Action]) -> str:
        """One sentence for the actions that one statement became; they are of one statement, in order."""
        return KINDS[group[0].kind].say(group, self)
