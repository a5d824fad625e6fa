"""What a rule offers to write into a plan where it is broken, as an edit of the plan's text.

Only a step that is written where it is done can be edited so: within a routine the same line stands for several places.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from groundlint.facts.catalogue import Event
from groundlint.rulebook.model import Repair
from groundlint.text.edits import Edit, lead_between, lead_of, line_after, line_before

if TYPE_CHECKING:
    from collections.abc import Sequence


def edit_of(repair: Repair, text: str, events: Sequence[Event], at: int) -> Edit | None:
    """The edit at the step ``events[at]``, or ``None`` where none can be made. ``text`` is the repair's text, filled
    in."""
    event = events[at]
    if event.use is not None:
        return None
    if repair.how == "swap":
        if len(event.ends) != 2:
            return None
        one, other = event.ends
        words = f"`{other.text}` first, then `{one.text}`"
        return Edit(f"swap the ends: {words}", ((one, other.text), (other, one.text)))
    if repair.how == "before":
        lead = lead_between(lead_of(event.span), _number_above(events, at))
        return Edit(f"put in before this step: `{text}`", (line_before(event.span, lead, text),))
    lead = lead_between(lead_of(event.span), event.number)
    return Edit(f"put in after this step: `{text}`", (line_after(event.span, lead, text),))


def _number_above(events: Sequence[Event], at: int) -> str | None:
    """The number of the step written above."""
    here = events[at].span
    for event in reversed(events[:at]):
        written = event.use or event.span
        if written.source is here.source and written.start < here.start:
            return event.number
    return None
