"""The stages as a strip: one line of the whole route after each stage, with what is on and who is where."""

from __future__ import annotations

from dataclasses import dataclass

from groundlint.report.brief import symbols
from groundlint.report.brief.scene import Scene
from groundlint.report.brief.svg import Element, box, el, label, line, number, tip, wrap

WIDTH = 900.0
SIDE = 176.0
FEEDS = 92.0
MOST = 10
HEIGHT = 104.0


@dataclass(frozen=True)
class Frame:
    """One frame of the strip: a stage's name, a step of it, and what stands when that is done.

    ``during``: the step is one with people in place, who have left by the stage's end; else it is the stage's last.
    """

    stage: str
    step: str
    during: bool
    scene: Scene

    @property
    def heading(self) -> str:
        """Which moment it is."""
        return f"{'During' if self.during else 'After'} {self.stage or 'the steps'}"


def draw_strip(frames: tuple[Frame, ...], name: str = "strip") -> list[Element]:
    """Each frame as an ``svg`` element without a style."""
    found = []
    for index, frame in enumerate(frames):
        own = f"{name}-{index + 1}"
        root = el("svg", "strip", xmlns="http://www.w3.org/2000/svg", role="img", aria_labelledby=f"{own}-title")
        root.add(el("title", id=f"{own}-title").add(_said(frame)))
        root.add(line(8, 1, WIDTH - 8, 1, "rule"))
        height = number(_frame(root, frame, 2.0) + 6)
        root.attributes.update(viewBox=f"0 0 {number(WIDTH)} {height}", width=number(WIDTH), height=height)
        found.append(root)
    return found


def _said(frame: Frame) -> str:
    """A frame in words."""
    scene = frame.scene
    places = [f"{p.name} {len(p.rungs)}" for p in scene.panels if p.rungs]
    people = [f"{', '.join(g.names)} at {p.name}" for p in scene.panels for g in p.people]
    words = f"{frame.heading} (step {frame.step}): {scene.leads_on} leads on"
    words += f" ({'; '.join(places)})" if places else ""
    return words + (f"; in place: {'; '.join(people)}" if people else "; nobody in place")


def _frame(root: Element, frame: Frame, top: float) -> float:
    scene = frame.scene
    y = top + 20
    for part in wrap(frame.heading, 20, 2):
        root.add(label(8, y, part, 13, "strong"))
        y += 17
    for words in (f"step {frame.step}" if frame.step else "", f"{scene.leads_on} on" if scene.leads_on else "none on"):
        if words:
            root.add(label(8, y, words, columns=22))
            y += 15
    panels = [panel for panel in scene.panels if panel.name]
    rows = [panels[at : at + MOST] for at in range(0, len(panels), MOST)] or [[]]
    height = top
    for index, row in enumerate(rows):
        begins, ends = index == 0, index == len(rows) - 1
        x0, x1 = SIDE + FEEDS, WIDTH - FEEDS
        wire = height + 34
        left = _feeds(root, scene, wire, x0, True) if begins else 0.0
        right = _feeds(root, scene, wire, x1, False) if ends else 0.0
        root.add(line(x0, wire, x1, wire, "wire"))
        step = (x1 - x0) / max(1, len(row))
        for place, panel in enumerate(row):
            x = x0 + (place + 0.5) * step
            group = el("g", "site")
            if panel.people:
                group.add(box(x - step / 2 + 3, wire - 12, step - 6, 40, "zone-tint edge"))
            on = len(panel.rungs)
            group.add(line(x, wire - 8, x, wire + (12 if on else 34), "w"), line(x - 8, wire, x + 8, wire, "w"))
            if on:
                group.add(symbols.earth(x, wire + 12))
            group.add(label(x, wire + 48, panel.name, 11, "strong", "middle", int(step / 7.2)))
            if on:
                group.add(label(x, wire + 64, f"{on} on", 11, "", "middle", int(step / 7.2)))
            workers = sum(len(people.names) for people in panel.people)
            if workers:
                group.add(symbols.person(x - step / 4, wire + 27))
                group.add(label(x + step / 4 - 2, wire + 20, f"×{workers}", 11, "strong", "middle"))
            on_here = f"{on} on: {' '.join(rung.name for rung in panel.rungs)}" if on else "none on"
            lines = [on_here, *(people.words for people in panel.people)]
            root.add(tip(group, f"{panel.name}: {'; '.join(lines)}"))
        height = max(height + HEIGHT, height + 34 + max(left, right) + 14)
    return max(height, y) - top


def _feeds(root: Element, scene: Scene, wire: float, x: float, left: bool) -> float:
    """The sources at one end with the state of their switches; how far down they reach."""
    feeds = scene.left if left else scene.right
    y = wire
    for feed in feeds:
        group = el("g", "feed")
        at = x - symbols.SWITCH_WIDTH if left else x
        gate = feed.gates[0] if feed.gates else None
        closed = next((g for g in feed.gates if g.position == "open"), gate)
        if closed is not None:
            group.add(symbols.switch(at, y, closed.sort, closed.position))
        group.add(symbols.source(x - 54 if left else x + 54, y))
        anchor = "end" if left else ""
        edge = x - 4 if left else x + 4
        group.add(label(edge, y + 27, feed.name, 11, "strong", anchor, 12))
        if closed is not None:
            state = closed.position or "not known"
            group.add(label(edge, y + 41, closed.name, 11, "", anchor, 12))
            group.add(label(edge, y + 55, state + (", tagged" if closed.tagged else ""), 10, "", anchor, 14))
        root.add(tip(group, feed.words))
        if y > wire:
            root.add(line(x, wire, x, y, "w"))
        y += 84
    return y - wire
