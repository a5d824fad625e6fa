"""The drawing: a scene as SVG, structures side by side in as many rows as it takes, each a ladder of rails and rungs.

Every label has a place of its own that grows with it or cuts it (what was cut is in its title), so that none lies on
another however many leads there are. Units are those of the user: one is about 0.8 px on letter paper.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from importlib.resources import files
from itertools import pairwise

from groundlint.report.brief import symbols
from groundlint.report.brief.results import Value, is_known
from groundlint.report.brief.scene import BELOW, WIRES, Feed, Panel, People, Rail, Rung, Scene, chunked
from groundlint.report.brief.strip import Frame, draw_strip
from groundlint.report.brief.svg import COLUMN, Element, box, el, fit, label, line, number, path, tip, wrap
from groundlint.text.columns import width
from groundlint.values import Unknown
from groundlint.values.bounds import ends
from groundlint.words.quantities import in_words

WIDTH = 900.0
MARGIN = 16.0
LANE = 56.0
LABELS = 104.0
LABEL_COLUMNS = 13
POLE = 20.0
WORKER = 64.0
END = 164.0
EMPTY = 76.0
ROW = 34.0
TEXT = 14.0
HEAD = 42.0
MOST_LANES = 14


@dataclass(frozen=True)
class Placed:
    """A panel or an end of the line with its place in a row."""

    panel: Panel | None
    feeds: tuple[Feed, ...]
    x: float
    width: float
    last: bool = False


def style(name: str) -> str:
    """A style of the briefing: of ``drawing``s, for a page or a file of its own; the ``colours`` of pages, light and
    dark; the ``brief`` itself."""
    return files("groundlint.report.brief").joinpath(f"templates/{name}.css").read_text(encoding="utf-8")


def draw(scene: Scene, name: str = "drawing") -> list[Element]:
    """The scene as ``svg`` elements, one for each row, so that a page may turn between them; without a style.

    ``name`` begins the ids in them, which a page must not repeat.
    """
    found: list[Element] = []
    rows = _rows(scene)
    for index, row in enumerate(rows):
        own = f"{name}-{index + 1}"
        there = ", ".join(p.panel.name or "place not stated" for p in row if p.panel is not None)
        part = f", part {index + 1} of {len(rows)}" if len(rows) > 1 else ""
        root = _svg(own, f"{scene.title}{part}: {there or 'no structures'}")
        root.add(_hatches(own))
        y = 4 + _Row(root, scene, row, 4.0, own, (index > 0, index < len(rows) - 1)).draw() + 14
        if index == len(rows) - 1:
            for words in scene.loose:
                for part in wrap(words, 118, 3):
                    root.add(label(MARGIN, y + 8, part))
                    y += 15
            root.add(label(MARGIN, y + 12, scene.soil, css="soft", columns=118), _legend(y + 36))
            y += 52
        found.append(_sized(root, y))
    return found


def _svg(name: str, title: str) -> Element:
    root = el("svg", "drawing", xmlns="http://www.w3.org/2000/svg", role="img", aria_labelledby=f"{name}-title")
    return root.add(el("title", id=f"{name}-title").add(title))


def _sized(root: Element, height: float) -> Element:
    root.attributes.update(viewBox=f"0 0 {number(WIDTH)} {number(height)}", width=number(WIDTH), height=number(height))
    return root


def stacked(scene: Scene, frames: tuple[Frame, ...], style: str) -> Element:
    """A drawing with the strip of stages under it, and the style in it: a file of its own."""
    root = _svg("file", scene.title)
    paper = box(0, 0, WIDTH, 0, "paper")
    root.add(el("style").add(style), paper)
    y = 6.0
    for heading, parts in ((scene.title, draw(scene)), ("The line after each stage", draw_strip(frames))):
        if parts:
            root.add(label(MARGIN, y + 18, heading, 14, "strong", columns=100))
            y += 30
        for part in parts:
            root.add(el("g", "", transform=f"translate(0 {number(y)})").add(*part.children))
            y += float(part.attributes["height"]) + 4
    paper.attributes["height"] = number(y)
    return _sized(root, y)


def _hatches(name: str) -> Element:
    def pattern(ident: str, size: float, d: str, css: str) -> Element:
        found = el("pattern", id=f"{name}-{ident}", width=size, height=size, patternUnits="userSpaceOnUse")
        return found.add(el("path", css, d=d))

    zone = pattern("zone", 8, "M-2 10L10 -2M-2 2L2 -2M6 10L10 6", "zone-line")
    soil = pattern("soil", 10, "M0 10L10 0", "soil-line")
    return el("defs").add(zone, soil)


def _legend(y: float) -> Element:
    """What the marks mean, in one line."""
    group = el("g", "legend")
    x = MARGIN
    for mark, words in (
        (box(x - 5, y - 5, 10, 10, "clamp"), "end on first"),
        (el("circle", "clamp", cx=0, cy=y, r=5), "end on second"),
        (el("circle", "w hollow", cx=0, cy=y, r=5), "end lifted"),
        (el("path", "cut", d=f"M-5 {y - 5:g}l10 10m0 -10l-10 10"), "end loose, or cut"),
        (box(-9, y - 7, 18, 14, "zone-tint edge"), "within reach"),
        (line(-12, y, 12, y, "live"), "live"),
    ):
        group.add(
            el("g", "", transform=f"translate({number(x + 10 - (MARGIN if not group.children else 0))} 0)").add(mark)
        )
        group.add(label(x + 28, y + 4, words, 11, "soft"))
        x += 44 + len(words) * 7
    return group


def _width(panel: Panel) -> float:
    if not panel.busy:
        return EMPTY
    lanes = max(len(panel.rungs) * LANE, 110.0 if any(rail.feed for rail in panel.rails) else 30.0)
    return LABELS + POLE + WORKER * len(panel.people) + lanes + 14


def _rows(scene: Scene) -> list[list[Placed]]:
    """Panels in rows that are no wider than the drawing; ends of the line at its ends."""
    parts: list[tuple[Panel | None, tuple[Feed, ...], float]] = []
    if scene.left:
        parts.append((None, scene.left, END))
    for panel in scene.panels:
        room = WIDTH - 2 * MARGIN - LABELS - POLE - 14 - WORKER * len(panel.people)
        most = max(2, min(MOST_LANES, int(room // LANE)))
        parts.extend((one, (), _width(one)) for one in chunked(panel, most))
    if scene.right:
        parts.append((None, scene.right, END))
    rows: list[list[tuple[Panel | None, tuple[Feed, ...], float]]] = [[]]
    used = 0.0
    for index, part in enumerate(parts):
        if rows[-1] and used + part[2] > WIDTH - 2 * MARGIN:
            rows.append([])
            used = 0.0
            if index == len(parts) - 1 and part[0] is None and len(rows[-2]) > 1:  # an end of the line never alone
                moved = rows[-2].pop()
                rows[-1].append(moved)
                used = moved[2]
        rows[-1].append(part)
        used += part[2]
    placed: list[list[Placed]] = []
    for row in rows:
        spare = WIDTH - 2 * MARGIN - sum(part[2] for part in row)
        each = min(max(spare, 0.0) / max(1, len(row)), 56.0)
        x, places = MARGIN, []
        for one, feeds, wide in row:
            places.append(Placed(one, feeds, x, wide + each, last=one is None and feeds is scene.right))
            x += wide + each
        placed.append(places)
    return placed


def _heights(rail: Rail, names: int) -> tuple[float, float]:
    """How much room a rail takes over and under it, for its label and the people who stand on it."""
    if rail.feed is not None:
        return 34.0, 28 + TEXT * (1 + 2 * len(rail.feed.gates))
    over = 34 + TEXT * min(names, 4) if names else 16.0
    under = 12 + TEXT * len(rail.details)
    return over, max(under, 16.0)


class _Row:
    """One row of the drawing."""

    def __init__(
        self, root: Element, scene: Scene, row: list[Placed], top: float, name: str, ends: tuple[bool, bool]
    ) -> None:
        self.before, self.after = ends
        self.root, self.scene, self.row, self.name = root, scene, row, name
        self.start, self.top = top, top + 19 * len(scene.parallels)
        self.back, self.rails_layer, self.front = el("g"), el("g"), el("g")
        self.wires = next((p.panel.rails[: p.panel.wires] for p in row if p.panel and p.panel.wires), ())
        rungs = [rung for p in row if p.panel for rung in p.panel.rungs]
        known = all(rung.duty and is_known(rung.duty.amps) and is_known(rung.duty.rating) for rung in rungs)
        self.value_rows = 1 if known else 2
        self.head = HEAD + self._columns_head()
        self.wire_y = {rail.name: self.top + self.head + 22 + ROW * i for i, rail in enumerate(self.wires)}

    def _columns_head(self) -> float:
        busy = any(p.panel and p.panel.rungs for p in self.row)
        if not busy:
            return 0.0
        return 24 + TEXT + 20 + (self.value_rows * 2 * 12 + 6 if self.scene.has_values else 0)

    def draw(self) -> float:
        """Put the row into the root; its height."""
        self.root.add(self.back, self.rails_layer, self.front)
        for index, words in enumerate(self.scene.parallels):
            y = self.start + 7 + 19 * index
            shown = fit(words, 84)
            x = MARGIN + 22 + (width(shown) + 1) * 12 * COLUMN
            self.front.add(symbols.live(MARGIN + 8, y), label(MARGIN + 22, y + 5, words, css="strong", columns=84))
            self.front.add(line(x, y, WIDTH - MARGIN, y, "live"))
        wires_end = self.top + self.head + 22 + ROW * len(self.wires)
        bottoms = [wires_end + 20]
        for placed in self.row:
            if placed.panel is not None:
                bottoms.append(self._panel(placed, placed.panel, wires_end))
            else:
                bottoms.append(self._end(placed))
        self._wires()
        return max(bottoms) - self.start

    # ---- the line ----

    def _wires(self) -> None:
        """The conductors through the row, from one end to the other; broken where a panel draws its two sides."""
        panels = [p for p in self.row if p.panel is not None and p.panel.wires]
        if not panels:
            return
        begin, end = panels[0].x, panels[-1].x + panels[-1].width
        starts_line = self.row[0].panel is None
        ends_line = self.row[-1].panel is None
        begin -= 12 if starts_line else 8
        end += 12 if ends_line else 8
        for rail in self.wires:
            y = self.wire_y[rail.name]
            x = begin
            for placed in panels:
                assert placed.panel is not None
                here = next((one for one in placed.panel.rails if one.name == rail.name and one.split), None)
                if here is None:
                    continue
                self.rails_layer.add(line(x, y, placed.x, y, f"wire {rail.kind}"))
                self._split(placed, y, rail, here)
                x = placed.x + placed.width
            self.rails_layer.add(line(x, y, end, y, f"wire {rail.kind}"))
            for edge, goes_on, way in ((begin, self.before, -1), (end, self.after, 1)):
                if goes_on:
                    self.rails_layer.add(path([(edge, y - 3), (edge + 4 * way, y), (edge, y + 3)], "w thin"))

    def _split(self, placed: Placed, y: float, rail: Rail, here: Rail) -> None:
        """A conductor drawn as two sides: the near one above, the far one below, with a link while it is whole."""
        x0, x1 = placed.x, placed.x + placed.width
        css = f"wire {rail.kind}"
        near, far = y - 7, y + 7
        self.rails_layer.add(
            path([(x0, y), (x0 + 6, near), (x1 - 12, near)], css),
            path([(x0 + LABELS + 6, far), (x1 - 6, far), (x1, y)], css),
        )
        x = x0 + LABELS + 6
        if here.split == "whole":
            self.rails_layer.add(line(x, near, x, far, css))
        else:
            self.rails_layer.add(
                line(x - 5, far - 5, x + 5, far + 5, "cut"), line(x - 5, far + 5, x + 5, far - 5, "cut")
            )

    def _end(self, placed: Placed) -> float:
        """An end of the line: each source that feeds it, with its switches."""
        right = placed.last
        x0, x1 = placed.x, placed.x + placed.width
        bus = x0 + 12 if right else x1 - 12
        phases = [self.wire_y[rail.name] for rail in self.wires if rail.kind == "phase"]
        y = min(phases, default=self.top + self.head + 22)
        low = max(phases, default=y)
        for feed in placed.feeds:
            low = max(low, y)
            self._feed(feed, bus, y, mirrored=right, room=placed.width - 16)
            y += 34 + TEXT * (1 + len(feed.gates)) + 12
        self.rails_layer.add(
            line(bus, min(phases, default=y), bus, max([*phases, low if len(placed.feeds) > 1 else 0]), "w")
        )
        return y

    def _feed(self, feed: Feed, bus: float, y: float, mirrored: bool, room: float) -> None:
        """A source and its switches on one line that ends at ``bus``, with their states under it."""
        group = el("g", "feed")
        shown = feed.gates[:2]
        sign = 1 if mirrored else -1
        x = bus
        for gate in reversed(shown) if not mirrored else shown:
            left = x if mirrored else x - symbols.SWITCH_WIDTH
            group.add(symbols.switch(left, y, gate.sort, gate.position))
            if gate.tagged:
                group.add(symbols.tag(left + 20, y + 3))
            x += sign * symbols.SWITCH_WIDTH
        if feed.name:
            group.add(line(x, y, x + sign * 8, y, "w"), symbols.source(x + sign * 20, y))
        tip(group, feed.words)
        left = bus - room if not mirrored else bus + 10
        ty = y + 32
        group.add(label(left, ty, f"{feed.name or feed.place}", css="strong", columns=18))
        for gate in feed.gates:
            ty += TEXT
            group.add(label(left, ty, gate.words, size=11, columns=20))
        self.front.add(group)

    # ---- a structure ----

    def _panel(self, placed: Placed, panel: Panel, wires_end: float) -> float:
        x = placed.x
        lines = [(panel.name or "Place not stated", "strong big"), (panel.material, "soft")]
        columns = max(6, int(placed.width / 9) - 1)
        for index, (words, css) in enumerate(lines):
            if words:
                size = 15 if index == 0 else 11
                self.front.add(label(x + 4, self.top + 14 + 15 * index, words, size, css, columns=columns))
        if panel.span:
            words = f"span {panel.span} →" if panel.busy else f"{panel.span} →"
            self.front.add(
                label(x + placed.width - 6, self.top + (29 if panel.busy else 44), words, 11, "soft", "end", 20)
            )
        ys, ground, bottom = self._levels(panel, wires_end)
        pole = x + (LABELS + POLE / 2 if panel.busy else placed.width / 2)
        if panel.wires:
            top = self.top + self.head + 4
            self.back.add(
                box(pole - 4, top, 8, ground + 12 - top, f"pole {'hollow' if panel.material == 'steel' else ''}")
            )
        self._ground(placed, ground)
        if not panel.busy:
            for rail in panel.rails:
                if rail.kind == "pole ground":
                    self.front.add(tip(symbols.earth(pole, ground + 12), " ".join([rail.name, *rail.details])))
                    return ground + 36
            return ground + 20
        for group_index, people in enumerate(panel.people):
            self._people(placed, people, group_index, ys, ground)
        for index, rail in enumerate(panel.rails):
            self._rail(placed, panel, rail, ys[index], pole, index)
        for lane, rung in enumerate(panel.rungs):
            self._rung(placed, panel, rung, lane, ys)
        if panel.rungs:
            self._head(placed, panel)
        return bottom

    def _levels(self, panel: Panel, wires_end: float) -> tuple[list[float], float, float]:
        """The height of each rail, of the ground line, and the bottom."""
        names = {people.stand: len(people.names) for people in panel.people if people.stand is not None}
        ys: list[float] = []
        y = wires_end - 6
        ground: float | None = None
        for index, rail in enumerate(panel.rails):
            if rail.kind in WIRES:
                ys.append(self.wire_y.get(rail.name, wires_end))
                continue
            if rail.kind == "earth":  # people on the ground stand on the ground line
                ground = y + max(22, _heights(rail, names.get(index, 0))[0])
                ys.append(ground)
                y = ground + 8
                continue
            if rail.kind in BELOW and ground is None:
                ground = y + 22
                y = ground + 8
            over, under = _heights(rail, names.get(index, 0))
            ys.append(y + over)
            y += over + under
        if ground is None:
            ground = y + 22
            y = ground + 6
        return ys, ground, y + 14

    def _ground(self, placed: Placed, y: float) -> None:
        x0, x1 = placed.x + 2, placed.x + placed.width - 6
        self.back.add(line(x0, y, x1, y, "ground"), box(x0, y, x1 - x0, 7, "soil", 0))
        self.back.children[-1].attributes["fill"] = f"url(#{self.name}-soil)"  # type: ignore[union-attr]

    def _lanes(self, placed: Placed, panel: Panel) -> float:
        return placed.x + LABELS + POLE + WORKER * len(panel.people)

    def _rail(self, placed: Placed, panel: Panel, rail: Rail, y: float, pole: float, index: int) -> None:
        x = placed.x
        first = self._lanes(placed, panel)
        used = [lane for lane, rung in enumerate(panel.rungs) if any(end.rail == index for end in rung.ends)]
        left, right = first, first + max(1, len(panel.rungs)) * LANE
        if rail.feed is not None:
            self._inside(rail.feed, x, y)
            return
        text_y = y - (13 if rail.split else 6) if rail.kind in (*WIRES, "earth") else y + 4
        words = rail.name if rail.kind not in WIRES else " ".join([rail.name, *(d for d in rail.details if d)])
        group = el("g", "rail")
        group.add(label(x + 4, text_y, words, css="strong", columns=LABEL_COLUMNS))
        if rail.kind not in WIRES:
            for number_, words in enumerate(rail.details, start=1):
                group.add(label(x + 4, text_y + TEXT * number_, words, size=11, columns=LABEL_COLUMNS + 2))
            end = first + (used[-1] + 0.5) * LANE + 12 if used else max(first + 12, pole + 30)
            end = min(end, right)
            if rail.kind == "earth":
                if used:
                    group.add(line(first + (used[0] + 0.5) * LANE, y, end, y, "ground"))
            elif rail.kind == "bar":
                group.add(box(pole - 2, y - 4, max(end - pole, 30) + 2, 8, "bar"))
            elif rail.kind == "rod":
                off = right + 4  # away from the pole, and under no lead
                group.add(line(first + ((used[0] + 0.5) * LANE if used else 20), y, off, y, "w"), symbols.earth(off, y))
            elif rail.kind in ("pole ground", "footing"):
                group.add(line(pole, y, max(end, pole + 20), y, "w"), symbols.earth(pole, y))
            elif rail.kind == "neighbour":
                group.add(line(pole - 8, y, right, y, "live"), symbols.live(pole - 2, y))
            elif rail.kind in ("pole", "steel"):
                group.add(line(pole, y, max(end, left + 6), y, "w"), el("circle", "dot", cx=pole, cy=y, r=3))
            else:
                group.add(line(pole - 6, y, max(end, left + 10), y, "w"))
                group.add(el("rect", "w hollow", x=pole - 11, y=y - 5, width=10, height=10))
        self.front.add(
            tip(group, f"{rail.name}: {', '.join(d for d in rail.details if d)}" if rail.details else rail.name)
        )

    def _inside(self, feed: Feed, x: float, y: float) -> None:
        """A source or switch that stands at a structure within the line; all of it left of the leads."""
        group = el("g", "feed")
        group.add(label(x + 4, y - 16, feed.name or feed.gates[0].sort, css="strong", columns=LABEL_COLUMNS))
        at = x + 4
        if feed.name:
            group.add(symbols.source(at + 12, y))
            at += 24
        for gate in feed.gates[:2]:
            group.add(symbols.switch(at, y, gate.sort, gate.position))
            if gate.tagged:
                group.add(symbols.tag(at + 20, y + 3))
            at += symbols.SWITCH_WIDTH
        group.add(line(at, y, max(at, x + LABELS + POLE / 2), y, "w"))
        ty = y + 30
        for words in ([feed.sort] if feed.name else [feed.place]) + [gate.words for gate in feed.gates]:
            for part in wrap(words, LABEL_COLUMNS + 4, 2):
                group.add(label(x + 4, ty, part, size=11))
                ty += TEXT
        self.front.add(tip(group, feed.words))

    # ---- leads ----

    def _head(self, placed: Placed, panel: Panel) -> None:
        """The heads of the leads' lanes: the order in which they went on, the name, the duty beside the rating."""
        first = self._lanes(placed, panel)
        y = self.top + HEAD + 8
        self.front.add(label(placed.x + 4, y + 4, "order on", size=11, css="soft"))
        name_y = y + 22
        self.front.add(label(placed.x + 4, name_y, "lead", size=11, css="soft"))
        if self.scene.has_values:
            self.front.add(label(placed.x + 4, name_y + TEXT, "fault duty", size=11, css="soft"))
            self.front.add(label(placed.x + 4, name_y + TEXT + self.value_rows * 12 + 2, "rated", size=11, css="soft"))
        else:
            self.front.add(label(placed.x + 4, name_y + TEXT + 2, "duty, rating: not shown", size=10, css="soft"))
        for lane, rung in enumerate(panel.rungs):
            x = first + (lane + 0.5) * LANE
            group = el("g", "lane")
            if lane % 2 == 0:
                self.back.add(box(x - LANE / 2, self.top + HEAD - 4, LANE, self.head - HEAD + 4, "zebra"))
            group.add(el("circle", "w hollow", cx=x, cy=y, r=8.5))
            group.add(label(x, y + 4, str(rung.order), size=11, anchor="middle"))
            group.add(label(x, name_y, rung.name, css="strong", anchor="middle", columns=6))
            if self.scene.has_values:
                short = rung.duty is not None and rung.duty.short
                for row, value in enumerate(self._pair(rung)):
                    top = name_y + TEXT + row * (self.value_rows * 12 + 2)
                    css = "over" if short and row == 0 else ""
                    for part, words in enumerate(_lane_value(value)):
                        group.add(label(x, top + part * 12, words, size=10, css=css, anchor="middle"))
                if short:
                    group.add(box(x - LANE / 2 + 1, name_y + 4, LANE - 2, self.value_rows * 24 + 6, "over-box"))
            self.front.add(group)

    @staticmethod
    def _pair(rung: Rung) -> tuple[Value | None, Value | None]:
        """Duty at its highest and rating at its lowest."""
        if rung.duty is None:
            return None, None
        rating = rung.duty.rating
        return rung.duty.amps, ends(rating)[0] if not isinstance(rating, Unknown) else rating

    def _rung(self, placed: Placed, panel: Panel, rung: Rung, lane: int, ys: list[float]) -> None:
        """A lead: a stroke between its ends, the first a square, the second a dot; its name on it."""
        x = self._lanes(placed, panel) + (lane + 0.5) * LANE
        group = el("g", "lead-group")
        shift = {"near": -7.0, "far": 7.0}
        spots = [
            (ys[end.rail] + shift.get(end.side, 0.0), end.lifted, True) for end in rung.ends if end.rail is not None
        ]
        away = [end for end in rung.ends if end.rail is None]
        if not spots:
            spots.append((ys[-1] if ys else self.top + self.head + 30, False, False))
        if len(spots) == 1:
            low = spots[0][0]
            spots.append((low - 18 if low > self.top + self.head + 60 else low + 18, True, False))
        (y1, lifted1, _), (y2, lifted2, _) = spots[0], spots[1]
        top, bottom = min(y1, y2), max(y1, y2)
        loose = lifted1 or lifted2
        group.add(line(x, top, x, bottom, "lead dashes" if loose else "lead"))
        for place, (y, lifted, real) in enumerate(spots[:2]):
            if not real:
                group.add(line(x - 5, y - 5, x + 5, y + 5, "cut"), line(x - 5, y + 5, x + 5, y - 5, "cut"))
            elif lifted:
                group.add(el("circle", "w hollow", cx=x, cy=y, r=5))
            elif place == 0:
                group.add(box(x - 5, y - 5, 10, 10, "clamp"))
            else:
                group.add(el("circle", "clamp", cx=x, cy=y, r=5))
        tag_y = self._tag_y(top, bottom, ys)
        if tag_y is not None:
            w = min(6, len(rung.name)) * 7.0 + 8
            group.add(box(x - w / 2, tag_y - 8, w, 15, "tag", 3))
            group.add(label(x, tag_y + 4, rung.name, size=11, css="strong", anchor="middle", columns=6))
        if away:
            words = away[0].words
            group.add(label(x, bottom + 18, f"→ {words}", size=10, anchor="middle", columns=7))
        self.front.add(tip(group, rung.words))

    @staticmethod
    def _tag_y(top: float, bottom: float, ys: list[float]) -> float | None:
        """The middle of the lowest stretch of a lead between two rails where its name has room."""
        inside = sorted({top, bottom, *(y for y in ys if top < y < bottom)}, reverse=True)
        for low, high in pairwise(inside):
            if low - high >= 26:
                return (low + high) / 2
        return None

    # ---- people ----

    def _people(self, placed: Placed, people: People, group_index: int, ys: list[float], ground: float) -> None:
        """The zone, shaded: a spine where the people stand and a tooth along each rail within their reach."""
        x = placed.x + LABELS + POLE + WORKER * group_index
        right = placed.x + placed.width - 10
        stand = ys[people.stand] if people.stand is not None else ground - 8
        levels = [ys[index] for index in people.reach]
        group = el("g", "zone")
        if levels:
            top, low = min([*levels, stand]) - 11, max([*levels, stand]) + 11
            group.add(self._shade(x + 2, top, WORKER - 4, low - top))
            for y in levels:
                group.add(self._shade(x + WORKER - 2, y - 11, right - x - WORKER + 2, 22))
        elif people.unknown:
            group.add(self._shade(x + 2, stand - 40, WORKER - 4, 44))
        self.back.add(group)
        man = el("g", "people")
        man.add(symbols.person(x + WORKER / 2, stand - 2))
        names = list(people.names)
        shown = names if len(names) <= 4 else [*names[:3], f"and {len(names) - 3} more"]
        for index, name in enumerate(reversed(shown)):
            man.add(
                label(
                    x + WORKER / 2,
                    stand - 33 - TEXT * index,
                    name,
                    size=11,
                    css="strong halo",
                    anchor="middle",
                    columns=8,
                )
            )
        if people.unknown:
            man.add(label(x + WORKER / 2, stand + 14, "reach ?", size=10, css="halo", anchor="middle"))
        self.front.add(tip(man, people.words))

    def _shade(self, x: float, y: float, w: float, h: float) -> Element:
        found = el("g")
        tint = box(x, y, w, h, "zone-tint")
        hatch = box(x, y, w, h, "zone-hatch")
        hatch.attributes["fill"] = f"url(#{self.name}-zone)"
        return found.add(tint, hatch)


def _lane_value(value: Value | None) -> list[str]:
    """A current in the lane of a lead, which has room for nine columns; of bounds, the one that counts."""
    if value is None or isinstance(value, Unknown):
        return ["not", "shown"]
    low, high = ends(value)
    if math.isinf(high):
        return ["not", "shown"]
    return [in_words(high, "A") if low == high else f"≤{in_words(high, 'A')}"]
