"""Linter for written temporary protective grounding plans on overhead lines.

It checks what a plan says, not what is in the field; it does not replace the employer's rules, local codes, a
qualified person's judgement, or a licensed engineer's calculation.

The names below are the public ones; they are imported when first asked for, so that ``import groundlint`` costs little.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from groundlint.electrical.record.record import CalculationRecord, calculation_record
    from groundlint.findings import Finding, Review
    from groundlint.plan.models import Plan
    from groundlint.reading import read_plan
    from groundlint.review import Reviewer, load_rulebook, review_plan
    from groundlint.rulebook.evaluate import Verdict
    from groundlint.rulebook.model import Rulebook
    from groundlint.text import Diagnostic, Severity, Source, Span
    from groundlint.timeline import Timeline, replay

_HOME = {
    "CalculationRecord": "electrical.record.record",
    "Diagnostic": "text",
    "Finding": "findings",
    "Plan": "plan.models",
    "Review": "findings",
    "Reviewer": "review",
    "Rulebook": "rulebook.model",
    "Severity": "text",
    "Source": "text",
    "Span": "text",
    "Timeline": "timeline",
    "Verdict": "rulebook.evaluate",
    "calculation_record": "electrical.record.record",
    "load_rulebook": "review",
    "read_plan": "reading",
    "replay": "timeline",
    "review_plan": "review",
}

__all__ = [
    "CalculationRecord",
    "Diagnostic",
    "Finding",
    "Plan",
    "Review",
    "Reviewer",
    "Rulebook",
    "Severity",
    "Source",
    "Span",
    "Timeline",
    "Verdict",
    "calculation_record",
    "load_rulebook",
    "read_plan",
    "replay",
    "review_plan",
]


def __getattr__(name: str) -> object:
    if name not in _HOME:
        raise AttributeError(f"module 'groundlint' has no attribute {name!r}")
    return getattr(import_module(f"groundlint.{_HOME[name]}"), name)
