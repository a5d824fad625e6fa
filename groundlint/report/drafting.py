"""What is said of a draft: what its steps lack, and why there is no plan."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from groundlint.electrical.physics.leads import LeadSize
from groundlint.electrical.record.record import calculation_record
from groundlint.findings.model import Ask, Kind, Review
from groundlint.findings.pasting import paster_of
from groundlint.plan.models import Lead, Plan
from groundlint.report.text import ask_text, broken_text
from groundlint.text import Severity
from groundlint.values import Gap, Unknown
from groundlint.values.bounds import ends
from groundlint.words.rows import names_together


def lacking_text(plan: Plan, lacks: Iterable[Gap]) -> str:
    """What the steps need and a head does not state, each with its text and place."""
    paster = paster_of(plan)
    asks = [Ask((gap,), paster.paste(gap), Severity.DANGER, ()) for gap in lacks]
    rows = "".join(ask_text(ask.fact, ask.how(plan), ask.level) for ask in asks)
    return f"To state: the steps need this, and {plan.source.name} does not say it\n{rows}"


def no_plan_text(review: Review, gate: Severity, head_lines: int) -> str:
    """What is broken at or above a gate in a plan that is not printed; leads large enough, where leads are not."""
    name = review.plan.source.name
    return "".join(
        (
            broken_text(review, gate),
            *(f"{line}\n" for line in _larger_leads(review)),
            f"{name}: no plan: the steps for this head break what is said above; lines past {head_lines} are theirs\n",
        )
    )


def _larger_leads(review: Review) -> Iterator[str]:
    broken = [one for one in review.open_findings if one.kind is Kind.BROKEN]
    leads = {id(thing): thing for one in broken for _, thing in one.subjects if isinstance(thing, Lead)}
    if not leads or review.trace is None:
        return
    record = calculation_record(review.trace.timeline, things=tuple(leads.values()))
    enough: dict[Lead, LeadSize] = {}
    for one in record.leads:
        over = not isinstance(one.loading, Unknown) and ends(one.loading)[1] > 1
        if over and isinstance(one.enough, LeadSize) and one.enough.area > getattr(enough.get(one.lead), "area", 0.0):
            enough[one.lead] = one.enough
    sizes: dict[str, list[str]] = {}
    for lead, size in enough.items():
        sizes.setdefault(size.designation, []).append(lead.name)
    for designation, names in sizes.items():
        yield f"large enough for that fault: {' '.join(names_together(names))} of {designation}"
    if sizes:
        yield ""
