"""The page as HTML. The template escapes all text; drawings come as elements that escape theirs."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from groundlint.report.brief.chart import draw_chart
from groundlint.report.brief.drawing import draw, style
from groundlint.report.brief.page import Page
from groundlint.report.brief.results import is_known
from groundlint.report.brief.strip import draw_strip
from groundlint.report.brief.svg import Element
from groundlint.report.pages import environment

LONG_STAGE = 18
"""Rows of a stage that may still stand on one sheet of paper together; a longer one may be turned in the middle."""

MOST_LISTED = 40
"""Leads that are listed by name after each step; of more at once, each step gives the count alone."""


PARTS = {
    "job": "The job",
    "drawing": "Drawing",
    "stages": "Stages",
    "sheet": "Step sheet",
    "register": "Ground register",
    "cautions": "Cautions",
    "findings": "Findings and waivers",
    "exposure": "Exposure",
    "record": "Calculation record",
}
"""The parts of the page in their order: what a crew takes along, then what the review says and what was computed."""

FOR = {
    "all": tuple(PARTS),
    "crew": ("job", "drawing", "sheet", "register", "cautions"),
    "engineer": ("drawing", "register", "findings", "exposure", "record", "cautions"),
}
"""Whom a page can be for, and the parts that they get. A crew gets the findings as well where there are any."""


def render(page: Page, reader: str = "all", picture: Callable[[Element], str] = str, editable: bool = False) -> str:
    """The page for one of those in `FOR`; the same text for the same page.

    ``picture`` makes markup of a drawing. A page that is ``editable`` says that no review sees what is changed in it.
    """
    from markupsafe import Markup

    noted = "findings" if page.findings or page.waived or page.asks else ""
    shown = [name for name in PARTS if name in (*FOR[reader], noted)]
    known = any(is_known(mark.volts) for mark in page.chart.marks)

    def pictures(part: str, drawn: Callable[[], Iterable[Element]]) -> str:
        return Markup("\n".join(map(picture, drawn()))) if part in shown else ""

    return (
        environment("groundlint.report.brief")
        .get_template("brief.html")
        .render(
            page=page,
            reader=reader,
            editable=editable,
            shown=shown,
            parts=[(name, PARTS[name]) for name in shown],
            long_stage=LONG_STAGE,
            most_listed=MOST_LISTED,
            page_style=Markup(style("colours") + style("brief")),
            drawing_style=Markup(style("drawing")),
            drawing=pictures("drawing", lambda: draw(page.scene)),
            strip=pictures("stages", lambda: draw_strip(page.frames)),
            chart=pictures("exposure", lambda: [draw_chart(page.chart, "chart")] if known else []),
            tally=dict(page.status.counts),
        )
    )
