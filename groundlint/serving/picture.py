"""The line after the step at a place of a plan, as it is shown beside the text: drawn, in words, and who is exposed."""

from __future__ import annotations

from dataclasses import dataclass, replace

from groundlint.findings.model import Review
from groundlint.report.brief.drawing import draw
from groundlint.report.brief.page import Brief, Exposed, exposure_rows
from groundlint.report.brief.results import Electrical
from groundlint.report.brief.sheet import Step


@dataclass(frozen=True)
class Picture:
    """``drawings`` are ``svg`` elements without a style, which name the classes of the briefing's drawings; ``words``
    say the same; ``exposed`` are those in place at the step, empty where nobody is. ``missing`` is why nothing was
    computed of the plan, ``limit`` what voltages are held against, ``worst`` the worst of the whole plan."""

    title: str
    drawings: tuple[str, ...]
    words: tuple[str, ...]
    exposed: tuple[Exposed, ...]
    missing: str
    limit: str
    worst: str


AWAITED = Electrical(missing="it is still being computed")


def picture(review: Review, offset: int, electrical: Electrical | None) -> Picture:
    """The line after the step at an offset, or above it; before the first step, while the work is done. ``electrical``
    is what was computed of the plan; None is not yet there."""
    brief = Brief(review, electrical or AWAITED)
    step = _step_at(brief, offset)
    scene = brief.scene_at(step.number if step is not None else None)
    chart = brief.chart()
    number = step.number if step is not None else brief.at_work
    here = replace(chart, marks=tuple(mark for mark in chart.marks if mark.step == number))
    return Picture(
        scene.title,
        tuple(str(part) for part in draw(scene)),
        tuple(scene.described()),
        tuple(exposure_rows(here)),
        brief.electrical.missing,
        brief.electrical.limit,
        "; ".join(mark.said for mark in chart.worst),
    )


def _step_at(brief: Brief, offset: int) -> Step | None:
    """The step at a place, or the nearest above it. A routine is where it is done; a line of its own text is the first
    step that comes of it."""
    source = brief.plan.source
    line = source.position(offset).line
    above = None
    for step in brief.steps:
        action = brief.plan.actions[step.first]
        if action.use is not None and action.span.source is source and action.span.line == line:
            return step
        place = action.use or action.span
        if place.source is source and place.line <= line:
            above = step
    return above


__all__ = ["Picture", "picture"]
