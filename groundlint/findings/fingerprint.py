"""Fingerprints of findings: what a finding is about, and not where it stands or how the lines are numbered.

A fingerprint stays the same when a line moves, a step is renumbered, a comment is written or a plan is laid out anew.
It is made of the rule, the things that it was asked of, the step without its number, and, where those are the same,
which one it is in the order of the plan. Whether a rule is broken or not shown is no part of it, nor is a person's
name, since who does the work changes from job to job: people stand in it by their order in the crew.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from groundlint.findings.model import Finding, Review
from groundlint.plan.models import Person, Plan
from groundlint.steps import step_label
from groundlint.values import Unknown

LENGTH = 32
"""Hexadecimal digits of a fingerprint, 128 bits."""


def step_of(finding: Finding, plan: Plan, numbered: bool = True) -> str:
    """The step that a finding is about, in a few words; empty where it is about none. Of what holds from a step on, as
    what is in reach does, it is the step that brought it about, and not the one that comes after it."""
    there = [*plan.actions] if finding.at is None else [*plan.actions[: finding.at + 1]][::-1]
    for action in there:
        if action.span == finding.span and action.span.source is finding.span.source:
            return step_label(action, numbered)
    return step_label(there[0], numbered) if finding.at is not None and finding.at < len(plan.actions) else ""


def subjects_of(finding: Finding) -> tuple[tuple[str, str], ...]:
    """The things that a rule was asked of, as the plan names them; ``?`` where the plan does not say which."""
    return tuple((name, "?" if isinstance(thing, Unknown) else str(thing)) for name, thing in finding.subjects)


def _without_names(plan: Plan) -> Callable[[str], str]:
    """What puts a person's place in the crew for the name, in any text."""
    places = {person.name: f"person {at}" for at, person in enumerate(plan.of(Person), 1)}
    if not places:
        return str
    names = re.compile(rf"(?<![\w-])(?:{'|'.join(map(re.escape, sorted(places, key=len, reverse=True)))})(?![\w-])")
    return lambda text: names.sub(lambda found: places[found[0]], text)


def fingerprints(review: Review) -> tuple[str, ...]:
    """The fingerprint of each finding of a review, in the order of its findings."""
    from hashlib import sha256

    nobody = _without_names(review.plan)
    seen: dict[tuple[str, ...], int] = {}
    found: list[str] = []
    for finding in review.findings:
        subjects = [part for pair in subjects_of(finding) for part in pair]
        words = "" if finding.at is not None else " ".join(finding.span.text.split())
        meaning = (finding.slug, *map(nobody, (step_of(finding, review.plan, numbered=False), words, *subjects)))
        seen[meaning] = occurrence = seen.get(meaning, 0) + 1
        text = "\x1f".join((*meaning, str(occurrence)))
        found.append(sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:LENGTH])
    return tuple(found)
