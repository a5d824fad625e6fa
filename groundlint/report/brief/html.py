"""The page as HTML. The template escapes all text; drawings come as elements that escape theirs."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING

from groundlint.report.brief.chart import draw_chart
from groundlint.report.brief.drawing import draw, drawing_style
from groundlint.report.brief.page import Page
from groundlint.report.brief.results import told
from groundlint.report.brief.strip import draw_strip
from groundlint.report.brief.svg import plain_text

if TYPE_CHECKING:
    from jinja2 import Environment

LONG_STAGE = 18
"""Rows of a stage that may still stand on one sheet of paper together; a longer one may be turned in the middle."""

MOST_LISTED = 40
"""Leads that are listed by name after each step; of more at once, each step gives the count alone."""


@lru_cache(maxsize=1)
def _environment() -> Environment:
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    folder = files("groundlint.report.brief") / "templates"
    made = Environment(
        loader=FunctionLoader(lambda name: (folder / name).read_text(encoding="utf-8")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=lambda value: plain_text(value) if type(value) is str else value,
    )
    made.globals.update(long_stage=LONG_STAGE, most_listed=MOST_LISTED)
    return made


def render(page: Page) -> str:
    """The page, whole; the same text for the same page."""
    from markupsafe import Markup

    known = any(told(mark.volts) for mark in page.chart.marks)
    return (
        _environment()
        .get_template("brief.html")
        .render(
            page=page,
            page_style=Markup((files("groundlint.report.brief") / "templates/brief.css").read_text(encoding="utf-8")),
            drawing_style=Markup(drawing_style()),
            drawing=Markup("\n".join(map(str, draw(page.scene)))),
            strip=Markup("\n".join(map(str, draw_strip(page.frames)))),
            chart=Markup(str(draw_chart(page.chart, "chart"))) if known else "",
            tally=dict(page.status.counts),
        )
    )
