"""A worker's exposure over the steps, drawn in characters: one row a step, volts on a logarithmic axis."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from groundlint.electrical.physics.body import DESIGN_RESISTANCE
from groundlint.electrical.record.figures import Stretch
from groundlint.report.duty.words import Places
from groundlint.values import Unknown
from groundlint.values.bounds import ends
from groundlint.words.quantities import NOT_SHOWN, in_words

LIMIT = "dalziel-50kg"
LEAST_WIDTH = 20

LEGEND = (
    "o value, o--o low to high, > beyond the axis; | limit: the 50 kg current through 1000 ohm, [ ] low to high; "
    "X where over the limit, at one end or both; ? not shown"
)


def draw(stretches: Sequence[Stretch], worst: Stretch | None, places: Places, width: int) -> Iterator[str]:
    """The chart of one worker and source; `width` characters in all."""
    spans = [_volts(one) for one in stretches]
    limits = [_limit(one) for one in stretches]
    axis = _Axis([*spans, *limits])
    heads = [_head(one, places) for one in stretches]
    values = [in_words(one.exposure.voltage, "V") for one in stretches]
    left, right = max(len("step"), *map(len, heads)), max(map(len, values)) + len(" worst")
    axis.width = max(LEAST_WIDTH, width - left - right - 6)
    yield f"  {'step':<{left}}  {axis.heading()}"
    for one, head, span, limit, value in zip(stretches, heads, spans, limits, values, strict=True):
        row = _row(axis, span, limit)
        mark = " worst" if one is worst else ""
        yield f"  {head:<{left}}  {row}  {value}{mark}".rstrip()


def _head(one: Stretch, places: Places) -> str:
    first, last = places.number(one.first) or "start", places.number(one.last) or "start"
    return first if first == last else f"{first} to {last}"


def _volts(one: Stretch) -> tuple[float, float] | None:
    volts = one.exposure.voltage
    return None if isinstance(volts, Unknown) else ends(volts)


def _limit(one: Stretch) -> tuple[float, float] | None:
    limit = one.limit(LIMIT)
    if isinstance(limit, Unknown):
        return None
    low, high = ends(limit)
    return low * DESIGN_RESISTANCE, high * DESIGN_RESISTANCE


class _Axis:
    """Whole decades of volts that hold every value, three at the least and eight at the most."""

    def __init__(self, spans: Sequence[tuple[float, float] | None]) -> None:
        found = [value for span in spans if span is not None for value in span if 0 < value < math.inf]
        bottom, top = (min(found), max(found)) if found else (1.0, 1.0)
        self.last = min(math.ceil(math.log10(top) + 1e-9), 9)
        self.first = max(math.floor(math.log10(bottom) - 1e-9), self.last - 8)
        self.first = min(self.first, self.last - 3)
        self.width = LEAST_WIDTH

    def column(self, volts: float) -> int:
        """The column of a voltage, from 0; those off the axis at its ends."""
        if volts <= 0:
            return 0
        if math.isinf(volts):
            return self.width - 1
        share = (math.log10(volts) - self.first) / (self.last - self.first)
        return min(max(round(share * (self.width - 1)), 0), self.width - 1)

    def heading(self) -> str:
        """The decades, each starting above its column."""
        line = [" "] * (self.width + 6)
        free = 0
        for decade in range(self.first, self.last + 1):
            at, words = self.column(10.0**decade), in_words(10.0**decade, "V")
            if at >= free:
                line[at : at + len(words)] = words
                free = at + len(words) + 1
        return "".join(line).rstrip()

    def ruled(self) -> list[str]:
        """An empty row: a dot at each decade."""
        row = [" "] * self.width
        for decade in range(self.first, self.last + 1):
            row[self.column(10.0**decade)] = "."
        return row


def _row(axis: _Axis, span: tuple[float, float] | None, limit: tuple[float, float] | None) -> str:
    row = axis.ruled()
    if span is not None:
        low, high = axis.column(span[0]), axis.column(span[1])
        over = limit is not None and span[1] > limit[0]
        row[low : high + 1] = "-" * (high - low + 1)
        row[high] = ">" if math.isinf(span[1]) else "X" if over else "o"
        if low != high:
            row[low] = "X" if over and limit is not None and span[0] > limit[1] else "o"
    if limit is not None:
        low, high = axis.column(limit[0]), axis.column(limit[1])
        for at, sign in ((low, "|" if low == high else "["), (high, "|" if low == high else "]")):
            if row[at] not in "oX>":
                row[at] = sign
    if span is None:
        text = f"? {NOT_SHOWN}"
        row[: len(text)] = text
    return "".join(row)
