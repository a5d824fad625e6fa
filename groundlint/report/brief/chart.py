"""The exposure timeline: the worst voltage across each worker at each step against the limit, on a log axis.

What is not known is drawn as a hatched column that says so; it is never left out and never zero.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, log10

from groundlint.report.brief.results import Value, gravity, is_known, share_of
from groundlint.report.brief.svg import Element, box, el, label, line, number, path, tip
from groundlint.report.brief.words import not_shown
from groundlint.values import Unknown
from groundlint.values.bounds import ends, gaps_of
from groundlint.words.quantities import in_words

WIDTH = 900.0
LEFT, RIGHT, TOP, BOTTOM = 74.0, 20.0, 54.0, 52.0
PLOT = 230.0
LOWEST = 1.0
"""Volts at the foot of the axis; what is less stands on the foot, and its number is in its title and in the table."""
MARKS = ("circle", "square", "diamond", "triangle", "cross", "bar")


@dataclass(frozen=True)
class Mark:
    """One worker at one step. ``column`` counts the steps shown; ``volts`` and ``limit`` in V."""

    column: int
    worker: str
    volts: Value
    limit: Value
    step: str
    words: str
    source: str
    between: str

    @property
    def share(self) -> Value:
        """Voltage over limit."""
        return share_of(self.volts, self.limit)

    @property
    def verdict(self) -> str:
        """One word for the table."""
        if isinstance(self.share, Unknown):
            return "not shown"
        return ("within the limit", "not shown", "over the limit")[gravity(self.share)[0]]

    @property
    def why(self) -> str:
        """The reason where something is not shown."""
        if self.verdict != "not shown":
            return ""
        gaps = gaps_of(self.volts, self.limit)
        return not_shown(Unknown(gaps)) if gaps else "its bounds lie on both sides of the limit"

    @property
    def said(self) -> str:
        """One line that tells it."""
        volts, limit = in_words(self.volts, "V"), in_words(self.limit, "V")
        said = f"step {self.step}, {self.words}: {self.worker} {volts}, limit {limit}"
        if self.source:
            said += f", if {self.source} returned"
        if self.between:
            said += f", between {self.between}"
        return f"{said}: {self.verdict}" + (f" ({self.why})" if self.why else "")


@dataclass(frozen=True)
class Chart:
    """The timeline's view model. ``steps`` are the numbers of the steps on the axis, in order; ``stages`` where each
    stage begins (column, name); ``worst`` the marks that come nearest to their limit or pass it most."""

    steps: tuple[str, ...]
    stages: tuple[tuple[int, str], ...]
    workers: tuple[str, ...]
    marks: tuple[Mark, ...]
    worst: tuple[Mark, ...]

    @property
    def unknown(self) -> tuple[Mark, ...]:
        """The marks of which the worse end is not known; with any, the worst step is not known for sure."""
        return tuple(mark for mark in self.marks if not is_known(mark.share))

    @property
    def worst_words(self) -> str:
        """The worst step in words; what is not known is never taken to be less."""
        known = self.worst[0].said if self.worst else ""
        if not self.unknown:
            return known
        steps = len(dict.fromkeys(mark.step for mark in self.unknown))
        words = f"at {steps} of {len(self.steps)} steps the voltage or its limit is not known"
        if self.worst and gravity(self.worst[0].share)[0] == 2:
            return f"{known}; and {words}"
        return f"not shown, since {words}" + (f"; the worst of those known is {known}" if known else "")


def worst_of(marks: Sequence[Mark]) -> tuple[Mark, ...]:
    """The first mark whose worse end comes nearest to its limit or passes it most; none where no mark is known."""
    known = [mark for mark in marks if is_known(mark.share)]
    return (max(known, key=lambda mark: (gravity(mark.share)[1], -mark.column)),) if known else ()


def draw_chart(chart: Chart, name: str = "chart") -> Element:
    """The chart as an ``svg`` element without a style."""
    root = el("svg", "chart", xmlns="http://www.w3.org/2000/svg", role="img", aria_labelledby=f"{name}-title")
    title = "Worst voltage across each worker at each step, against the limit"
    root.add(el("title", id=f"{name}-title").add(title))
    pattern = el("pattern", id=f"{name}-unknown", width=7, height=7, patternUnits="userSpaceOnUse")
    root.add(el("defs").add(pattern.add(el("path", "unknown-line", d="M0 0L7 7M7 0L0 7"))))
    _Plot(root, chart, name).draw()
    height = TOP + PLOT + BOTTOM + 18 * (1 + (len(chart.workers) - 1) // 5)
    root.attributes.update(viewBox=f"0 0 {number(WIDTH)} {number(height)}", width=number(WIDTH), height=number(height))
    return root


class _Plot:
    """The parts of the chart."""

    def __init__(self, root: Element, chart: Chart, name: str) -> None:
        self.root, self.chart, self.name = root, chart, name
        values = [top(v) for m in chart.marks for v in (m.volts, m.limit) if is_known(v) and top(v) > 0]
        self.low = floor(log10(min([LOWEST, *[max(v, LOWEST) for v in values]])))
        self.high = max(ceil(log10(max([10 * LOWEST, *values]) * 1.15)), self.low + 2)
        self.step = (WIDTH - LEFT - RIGHT) / max(1, len(chart.steps))

    def x(self, column: int) -> float:
        """The middle of a column."""
        return LEFT + (column + 0.5) * self.step

    def y(self, value: float) -> float:
        """The height of a voltage."""
        share = (log10(max(value, LOWEST)) - self.low) / (self.high - self.low)
        return TOP + PLOT * (1 - share)

    def draw(self) -> None:
        """Axis, stages, limits, marks, legend."""
        root, foot = self.root, TOP + PLOT
        root.add(label(8, 16, "volts", 11, "soft"))
        for power in range(self.low, self.high + 1):
            y = self.y(10.0**power)
            root.add(line(LEFT, y, WIDTH - RIGHT, y, "grid"))
            root.add(label(LEFT - 8, y + 4, in_words(10.0**power, "V"), 11, anchor="end"))
        root.add(line(LEFT, TOP, LEFT, foot, "w"), line(LEFT, foot, WIDTH - RIGHT, foot, "w"))
        every = max(1, ceil(max([len(s) for s in self.chart.steps] or [1]) * 6.9 / self.step + 0.3))
        for column, step in enumerate(self.chart.steps):
            if column % every == 0:
                root.add(label(self.x(column), foot + 18, step, 11, anchor="middle", columns=8))
        root.add(label(LEFT, foot + 36, "step", 11, "soft"))
        self._stages()
        self._unknown()
        self._limits()
        for index, worker in enumerate(self.chart.workers):
            self._worker(index, worker)
        for mark in self.chart.worst:
            self._worst(mark)

    def _stages(self) -> None:
        starts = [column for column, _ in self.chart.stages] + [len(self.chart.steps)]
        for (column, name), end in zip(self.chart.stages, starts[1:], strict=True):
            x = LEFT + column * self.step
            if column:
                self.root.add(line(x, TOP - 14, x, TOP + PLOT, "rule"))
            room = int(((end - column) * self.step - 8) / 6.9)
            if room >= 3:
                self.root.add(label(x + 4, TOP - 6, name, 11, "soft", columns=room))

    def _unknown(self) -> None:
        columns: dict[int, list[Mark]] = {}
        for mark in self.chart.marks:
            if not is_known(mark.volts) or isinstance(mark.limit, Unknown):
                columns.setdefault(mark.column, []).append(mark)
        for column, marks in columns.items():
            hatch = box(LEFT + column * self.step + 1, TOP, max(self.step - 2, 1), PLOT, "unknown")
            hatch.attributes["fill"] = f"url(#{self.name}-unknown)"
            self.root.add(tip(el("g").add(hatch), "\n".join(mark.said for mark in marks)))

    def _limits(self) -> None:
        """The limit as a thick line of steps; where workers' limits differ, the lowest."""
        lowest: dict[int, float] = {}
        for mark in self.chart.marks:
            if not isinstance(mark.limit, Unknown):
                least = ends(mark.limit)[0]
                lowest[mark.column] = min(least, lowest.get(mark.column, least))
        for column, limit in lowest.items():
            y = self.y(limit)
            self.root.add(line(self.x(column) - self.step / 2, y, self.x(column) + self.step / 2, y, "limit"))
        if lowest:
            column = max(lowest)
            text = f"limit {in_words(lowest[column], 'V')}"
            self.root.add(label(WIDTH - RIGHT, 16, text, 11, "strong", "end"))
            x = WIDTH - RIGHT - len(text) * 7 - 30
            self.root.add(line(x, 12, x + 22, 12, "limit"))

    def _worker(self, index: int, worker: str) -> None:
        marks = [m for m in self.chart.marks if m.worker == worker and is_known(m.volts)]
        runs: list[list[Mark]] = []
        for mark in marks:
            if runs and mark.column == runs[-1][-1].column + 1:
                runs[-1].append(mark)
            else:
                runs.append([mark])
        for run in runs:
            if len(run) > 1:
                points = [(self.x(m.column), self.y(top(m.volts))) for m in run]
                self.root.add(path(points, f"series s{index % len(MARKS)}"))
        for mark in marks:
            assert not isinstance(mark.volts, Unknown)
            low, high = (self.y(end) for end in ends(mark.volts))
            x = self.x(mark.column)
            group = el("g", "mark")
            if low - high > 3:
                group.add(line(x, low, x, high, "whisker"), line(x - 4, low, x + 4, low, "whisker"))
            group.add(_shape(MARKS[index % len(MARKS)], x, high))
            group.add(el("rect", "catch", x=x - 9, y=high - 9, width=18, height=max(18, low - high + 12)))
            self.root.add(tip(group, mark.said))
        x, y = LEFT + (index % 5) * 160, TOP + PLOT + 58 + 18 * (index // 5)
        self.root.add(_shape(MARKS[index % len(MARKS)], x + 6, y - 4), label(x + 18, y, worker, 11, columns=18))

    def _worst(self, mark: Mark) -> None:
        x, y = self.x(mark.column), self.y(top(mark.volts))
        self.root.add(el("circle", "ring", cx=x, cy=y, r=11))
        which = "worst of those known" if self.chart.unknown else "worst"
        words = f"{which}: {mark.worker}, step {mark.step}, {in_words(mark.volts, 'V')}"
        self.root.add(line(x, y - 11, x, 24, "w thin"))
        columns = min(len(words), 60)
        half = columns * 3.5
        self.root.add(
            label(min(max(x, LEFT + half), WIDTH - RIGHT - half - 160), 20, words, 11, "strong", "middle", 60)
        )


def top(value: Value) -> float:
    """The worse end of a value that has one."""
    assert not isinstance(value, Unknown)
    return ends(value)[1]


def _shape(sort: str, x: float, y: float) -> Element:
    if sort == "circle":
        return el("circle", "point", cx=x, cy=y, r=4.5)
    shapes = {
        "square": f"M{x - 4:.1f} {y - 4:.1f}h8v8h-8z",
        "diamond": f"M{x:.1f} {y - 6:.1f}l6 6l-6 6l-6 -6z",
        "triangle": f"M{x:.1f} {y - 5:.1f}l5.5 9.5h-11z",
        "cross": f"M{x - 4:.1f} {y - 4:.1f}l8 8m0 -8l-8 8",
        "bar": f"M{x - 6:.1f} {y - 2:.1f}h12v4h-12z",
    }
    return el("path", "point open" if sort == "cross" else "point", d=shapes[sort])
