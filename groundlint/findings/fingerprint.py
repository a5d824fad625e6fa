"""Fingerprints of findings: what a finding is about, and not where it stands or how the lines are numbered.

A fingerprint stays the same when a line moves, a step is renumbered, a comment is written or a plan is laid out anew.
It is made of the rule, the things that it was asked of, the step without its number, and, where those are the same,
which one it is in the order of the plan. Whether a rule is broken or not shown is no part of it.
"""

from __future__ import annotations

from groundlint.findings.model import Finding, Review
from groundlint.plan.models import Plan
from groundlint.steps import step_label
from groundlint.values import Unknown

LENGTH = 32
"""Hexadecimal digits of a fingerprint, 128 bits."""


def step_of(finding: Finding, plan: Plan, numbered: bool = True) -> str:
    """The step that a finding is about, in a few words; empty where it is about none."""
    if finding.at is not None:
        return step_label(plan.actions[finding.at], numbered) if finding.at < len(plan.actions) else ""
    for action in plan.actions:
        if action.span == finding.span and action.span.source is finding.span.source:
            return step_label(action, numbered)
    return ""


def subjects_of(finding: Finding) -> tuple[tuple[str, str], ...]:
    """The things that a rule was asked of, as the plan names them; ``?`` where the plan does not say which."""
    return tuple((name, "?" if isinstance(thing, Unknown) else str(thing)) for name, thing in finding.subjects)


def fingerprints(review: Review) -> tuple[str, ...]:
    """The fingerprint of each finding of a review, in the order of its findings."""
    from hashlib import sha256

    seen: dict[tuple[str, ...], int] = {}
    found: list[str] = []
    for finding in review.findings:
        subjects = [part for pair in subjects_of(finding) for part in pair]
        words = "" if finding.at is not None else " ".join(finding.span.text.split())
        meaning = (finding.slug, step_of(finding, review.plan, numbered=False), words, *subjects)
        seen[meaning] = occurrence = seen.get(meaning, 0) + 1
        text = "\x1f".join((*meaning, str(occurrence)))
        found.append(sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:LENGTH])
    return tuple(found)
