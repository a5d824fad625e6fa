"""What the pages of the teaching commands have in common: HTML from templates that escape values, and text in lines.

A page is one file and asks nothing of a network.
"""

from __future__ import annotations

import textwrap
from typing import Any

from groundlint.report.pages import environment

WIDTH = 100
"""Letters of a line of text."""


def wrapped(text: str, lead: str = "") -> list[str]:
    """A text in lines, the first with a lead and the others below it; nothing of an empty text."""
    if not text:
        return []
    return textwrap.wrap(text, WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead)) or [lead]


def page(template: str, /, **values: Any) -> str:
    """A page from a template of this package."""
    return environment(__package__).get_template(template).render(kind=template.partition(".")[0], **values) + "\n"


__all__ = ["page", "wrapped"]
