"""The job briefing: one page to read and print, and its drawing as a file of its own.

A `Review` and what was computed of it become a frozen view model (`page.Brief`), and that becomes HTML, SVG or a
Word document. Nothing
is computed here, and no text of a plan becomes markup.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from groundlint.report.brief.results import NOT_COMPUTED, Electrical
from groundlint.text import Severity

if TYPE_CHECKING:
    from groundlint.findings.model import Review


def brief_html(
    review: Review,
    version: str,
    electrical: Electrical = NOT_COMPUTED,
    gate: Severity = Severity.WARNING,
    reader: str = "all",
) -> str:
    """The briefing page of a reviewed plan; the same text for the same plan. What is at the ``gate`` or above fails.

    ``reader`` is whom it is for: a ``crew``, which takes it up the truck, an ``engineer``, or ``all``. ``electrical``
    is what was computed: `computed.electrical_of` gathers it from the review's trace.
    """
    from groundlint.report.brief.html import render
    from groundlint.report.brief.page import Brief

    return render(Brief(review, electrical, gate).page(version), reader)


def brief_document(
    review: Review,
    version: str,
    electrical: Electrical = NOT_COMPUTED,
    gate: Severity = Severity.WARNING,
    reader: str = "all",
) -> bytes:
    """The same page as a Word document, for a crew that must edit it. `ImportError` without ``groundlint[word]``."""
    from groundlint.report.brief.document import render
    from groundlint.report.brief.page import Brief

    return render(Brief(review, electrical, gate).page(version), reader)


def drawing_svg(review: Review, step: str | None = None, electrical: Electrical = NOT_COMPUTED) -> str:
    """The drawing as a file of its own: after a step, or, without one, at work with the strip of stages under it.

    Raises `page.UnknownStepError` for a step that the plan does not have.
    """
    from groundlint.report.brief.drawing import stacked, style
    from groundlint.report.brief.page import Brief

    brief = Brief(review, electrical)
    scene = brief.scene_at(step)
    return str(stacked(scene, brief.frames() if step is None else (), style("drawing"))) + "\n"


__all__ = ["NOT_COMPUTED", "Electrical", "brief_document", "brief_html", "drawing_svg"]
