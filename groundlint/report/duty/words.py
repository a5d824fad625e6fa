"""Margins, places and steps of a calculation record in words."""

from __future__ import annotations

import math

from groundlint.report.brief.sheet import Sheets
from groundlint.text import Span
from groundlint.timeline import Timeline
from groundlint.values import Unknown
from groundlint.values.bounds import Measure, ends
from groundlint.words.quantities import NOT_SHOWN


def margin_words(value: Measure | Unknown) -> str:
    """A limit over what is held against it: `4.2`; `OVER` where over at both ends, `MAYBE OVER` between."""
    if isinstance(value, Unknown):
        return NOT_SHOWN
    low, high = ends(value)
    if math.isinf(low):
        return "nothing flows"
    first, last = _factor(low), _factor(high)
    words = first if first == last else f"{first}–{last}"
    return words + (" OVER" if high < 1 else " MAYBE OVER" if low < 1 else "")


def _factor(value: float) -> str:
    """A margin, rounded down."""
    if value >= 1000:
        return "1000+"
    if value < 0.01:
        return "<0.01"
    digits = 2 - math.floor(math.log10(value))
    step = 10.0 ** min(digits, 3)
    return f"{math.floor(value * step * (1 + 1e-12)) / step:g}"


class Places:
    """Steps by number, as on the step sheet of the briefing, and lines."""

    def __init__(self, timeline: Timeline) -> None:
        self.timeline = timeline
        self.source = timeline.plan.source
        sheets = Sheets(timeline)
        self.numbers: tuple[str, ...] = tuple(sheets.numbers)

    def number(self, at: int) -> str:
        """The number of the step after which position `at` is; empty at the start."""
        return self.numbers[at - 1] if at else ""

    def span(self, at: int) -> Span:
        """The step after which position `at` is; where the plan begins, for the start."""
        return self.timeline.actions[at - 1].span if at else self.timeline.plan.start

    def line(self, span: Span | None) -> str:
        """A line, with its file where that is not the plan's."""
        if span is None:
            return ""
        return span.called if span.source is self.source else f"{span.source.name} {span.called}"

    def after(self, at: int, last: int | None = None) -> str:
        """``after step 21 (line 89)``, or a run of steps."""
        if not at:
            return "at the start"
        if last is not None and last > at and self.number(last) != self.number(at):
            return f"after steps {self.number(at)} to {self.number(last)} ({self.line(self.span(at))} on)"
        return f"after step {self.number(at)} ({self.line(self.span(at))})"

    def positions(self, number: str) -> list[int]:
        """The positions after the actions of a step, or of all steps of a routine by the number of its `do`."""
        return [at + 1 for at, found in enumerate(self.numbers) if found == number or found.startswith(f"{number}.")]
