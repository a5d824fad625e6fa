"""What a review computed of leads and people, and what each step leaves, in words for hovers and hints."""

from __future__ import annotations

from dataclasses import replace

from groundlint.findings.model import Review
from groundlint.report.brief.computed import electrical_of, limit_of
from groundlint.report.brief.results import Electrical, Exposure, gravity
from groundlint.report.brief.sheet import Sheets
from groundlint.report.brief.words import not_shown
from groundlint.review import Reviewer
from groundlint.rulebook.core import Quantity
from groundlint.serving.jobs import Hint, Reviewed
from groundlint.values import Unknown
from groundlint.values.bounds import Measure
from groundlint.words.quantities import in_words


def with_computed(made: Reviewed, review: Review, reviewer: Reviewer) -> Reviewed:
    """A review with what it computed. Where its books asked for no circuit, none is solved for this."""
    trace = review.trace
    if trace is None:
        return made
    asked = "study" in vars(trace)
    settings = [
        (name, one.value.si if isinstance(one.value, Quantity) else one.value.word)
        for book in reviewer.books
        for name, one in book.settings.items()
    ]
    electrical = electrical_of(trace, limit_of(settings)) if asked else Electrical()
    things = {
        duty.lead: f"duty {_said(duty.amps, 'A')}, rated {_said(duty.rating, 'A')}"
        + (f"; worst with {duty.source} returning" if duty.source and not isinstance(duty.amps, Unknown) else "")
        for duty in electrical.duties
    }
    worst: dict[tuple[str, int], Exposure] = {}
    for exposure in electrical.exposures:
        key = exposure.worker, exposure.at
        if key not in worst or gravity(exposure.share) > gravity(worst[key].share):
            worst[key] = exposure
    people: dict[tuple[str, int], str] = {}
    hints: list[Hint] = []
    on = 0
    for step in (step for stage in Sheets(trace.timeline).stages for step in stage.steps):
        action = review.plan.actions[step.first]
        place = action.use or action.span
        if place.source is not review.plan.source:
            on = step.on
            continue
        mine = [one for (_, at), one in worst.items() if at == step.last + 1]
        for one in mine:
            people[one.worker, place.start] = _exposed(one)
        gravest = max(mine, key=lambda one: gravity(one.share), default=None)
        label = [f"{step.on} on"] * (step.on != on) + ([_short(gravest)] if gravest is not None else [])
        on = step.on
        if hints and hints[-1].at == place.end:  # of the steps of a routine the last
            hints.pop()
        if label:
            hints.append(Hint(place.end, ", ".join(label), "\n".join(map(_exposed, mine))))
    return replace(made, things=things, people=people, hints=tuple(hints), electrical=electrical)


def _said(value: Measure | Unknown, unit: str) -> str:
    """A value in words, or what it waits for."""
    return f"not shown ({not_shown(value)})" if isinstance(value, Unknown) else in_words(value, unit)


def _short(exposure: Exposure) -> str:
    return f"{exposure.worker} {in_words(exposure.volts, 'V')}"


def _exposed(exposure: Exposure) -> str:
    """A worker's worst voltage after a step, beside the limit."""
    said = f"{exposure.worker}, after this step: {_said(exposure.volts, 'V')}"
    if isinstance(exposure.volts, Unknown):
        return said
    return f"{said} between {exposure.between} should {exposure.source} return; limit {_said(exposure.limit, 'V')}"
