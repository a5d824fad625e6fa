"""Marks for whole plans, by a scheme: each from what the review says of a rule, never from likeness to a model.

A rule earns its points where the sound plan of the task meets it and the handout does not. The others are to be
kept: what is not met of them any more is taken off.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from groundlint.findings.model import Finding, Kind, Review
from groundlint.plan.models import Plan
from groundlint.reading.resolve import Opener
from groundlint.review import Reviewer
from groundlint.rulebook.evaluate import Outcome
from groundlint.rulebook.model import Rule
from groundlint.teaching.scheme import Scheme, Worth
from groundlint.teaching.task import Task
from groundlint.text import Diagnostic, Severity, Source
from groundlint.values import Truth

WORDS = {Truth.TRUE: "met", Truth.FALSE: "broken", Truth.UNKNOWN: "not shown", None: "not asked"}


@dataclass(frozen=True)
class Line:
    """A place in an answer, or in the plan of an exercise, with what is said of it."""

    called: str
    words: str
    message: str
    next: str = ""


@dataclass(frozen=True)
class Item:
    """One thing that was marked: a rule, or a seeded fault.

    ``sort`` groups items on the page; ``state`` is what became of it in a word or two; ``lines`` are what it rests on.
    What earns nothing (``points`` 0) and was to be kept has less than 0 in ``earned`` where it was not.
    """

    name: str
    title: str
    sort: str
    earned: float
    points: float
    state: str
    said: str
    why: str
    written: tuple[str, ...]
    lines: tuple[Line, ...] = ()
    required: bool = False

    @property
    def full(self) -> bool:
        """Whether it earned all that it could."""
        return self.earned >= self.points


@dataclass(frozen=True)
class Off:
    """Points taken off, and what for."""

    points: float
    said: str


@dataclass(frozen=True)
class Marked:
    """The marks of one answer. ``note`` is the reason where there is nothing to mark; ``plan`` is None where there is
    no plan, or it is one of another job."""

    name: str
    student: str
    items: tuple[Item, ...]
    off: tuple[Off, ...]
    taken_off: float
    marks: float
    out_of: float
    passed: bool
    lacking: tuple[str, ...]
    note: str = ""
    plan: Plan | None = None
    to_read: tuple[str, ...] = ()
    """What the instructor is to read, since it is not clear what is meant."""

    @property
    def share(self) -> float:
        """The share of the points, 0 to 1."""
        return min(1.0, self.marks / self.out_of) if self.out_of else 0.0  # marks are rounded, what they are of is not


@dataclass(frozen=True)
class Answer:
    """An answer as it was handed in: its text, or why it has none."""

    name: str
    student: str
    source: Source | None
    problems: tuple[Diagnostic, ...] = ()
    reason: str = ""
    opener: Opener | None = None


def mark_plan(answer: Answer, scheme: Scheme, task: Task, reviewer: Reviewer, rules: Mapping[str, Rule]) -> Marked:
    """Mark one plan. Nothing that an answer holds raises: what can't be marked has a note that says why."""
    note = answer.reason
    review = None
    out_of = points_of(scheme, task)
    if answer.source is not None and not note:
        if not answer.source.text.strip():
            note = "the answer is empty"
        else:
            review = reviewer.review(answer.source, answer.opener, None, answer.problems)
            note = _nothing(review) or _another_job(task.otherwise(review.plan))
    if review is None or note:
        items = tuple(_none(worth, rules, stage.title) for stage in scheme.stages for worth in stage.rules)
        return Marked(answer.name, answer.student, items, (), 0.0, 0.0, out_of, False, (), note)
    outcomes = {outcome.rule.slug: outcome for outcome in review.outcomes}
    kinds = {action.kind for action in review.plan.actions}
    items = tuple(
        _item(worth, outcomes.get(worth.slug), review, kinds, task, rules, stage.title)
        for stage in scheme.stages
        for worth in stage.rules
    )
    off = _off(review, scheme)
    taken = min(scheme.most_off, sum(one.points for one in off))
    marks = max(0.0, sum(item.earned for item in items) - taken)
    named = {item.name for item in items}
    dangers = {
        finding.slug: finding.title
        for finding in review.open_findings
        if finding.level is Severity.DANGER and finding.title and finding.slug not in named | task.open
    }
    lacking = (*(item.title for item in items if item.required and not item.full), *dangers.values())
    passed = not lacking and out_of > 0 and marks / out_of >= scheme.passing
    return Marked(
        answer.name, answer.student, items, off, taken, _round(marks), out_of, passed, lacking, "", review.plan
    )


def points_of(scheme: Scheme, task: Task) -> float:
    """The points that there are to earn."""
    return sum(worth.points for stage in scheme.stages for worth in stage.rules if worth.slug in task.to_earn)


def _round(points: float) -> float:
    """Points to the hundredth, so that sums of shares read as they should."""
    return round(points + 1e-9, 2)


def _nothing(review: Review) -> str:
    """Why there is nothing to mark, or nothing: no statement of the file could be read as one of a plan."""
    plan = review.plan
    if not plan.things and not plan.actions and plan.title is None:
        unread = sum(finding.kind is Kind.UNREAD for finding in review.findings)
        return f"no line could be read as one of a plan ({unread} tried)" if unread else "it holds no plan"
    return ""


def _another_job(otherwise: Sequence[str]) -> str:
    """Why an answer does not answer this task: the first of what was given that it states differently."""
    if not otherwise:
        return ""
    more = f"; and {len(otherwise) - 3} more" if len(otherwise) > 3 else ""
    return f"what was given is not as it was handed out: {'; '.join(otherwise[:3])}{more}"


def _none(worth: Worth, rules: Mapping[str, Rule], stage: str) -> Item:
    rule = rules[worth.slug]
    return Item(
        worth.slug, rule.title, stage, 0.0, worth.points, "not marked", "", rule.because, rule.cites, (), worth.required
    )


def _item(
    worth: Worth,
    outcome: Outcome | None,
    review: Review,
    kinds: set[str],
    task: Task,
    rules: Mapping[str, Rule],
    stage: str,
) -> Item:
    rule = rules[worth.slug]
    earns = worth.slug in task.to_earn
    truth = outcome.truth if outcome is not None else None
    found = [finding for finding in review.findings if finding.slug == worth.slug]
    share, said = 0.0, ""
    if truth is Truth.TRUE:
        share = 1.0
    elif truth is None and worth.slug in task.asked:
        said = "the job needs a step that this rule is about, and the plan has none"
    elif truth is None:
        share = 1.0
    else:
        lacking = [step for step in worth.steps if step not in kinds]
        handed = {action.kind for action in task.handout.plan.actions}
        there = earns and handed.issuperset(worth.steps)  # the steps are no more than what was handed out
        if worth.partial and not lacking and not there:
            share, said = worth.partial, "part of the points, since the step is there"
        elif lacking:
            said = f"the plan has no step {_listed(lacking)}"
    lines = tuple(_line(finding) for finding in found[:12])
    if len(found) > 12:
        said = f"{said}; and {len(found) - 12} more places".removeprefix("; ")
    return Item(
        worth.slug,
        rule.title,
        stage,
        _round(worth.points * (share if earns else share - 1)),
        worth.points if earns else 0.0,
        WORDS[truth],
        said,
        rule.because,
        rule.cites,
        lines,
        worth.required,
    )


def _listed(words: Sequence[str]) -> str:
    quoted = [f"`{word}`" for word in words]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} or {quoted[-1]}"


def _line(finding: Finding) -> Line:
    span = finding.span
    return Line(span.called, span.source.line_text(span.line).strip()[:300], finding.message, finding.mend)


def _off(review: Review, scheme: Scheme) -> tuple[Off, ...]:
    """What is taken off: unread lines, steps that can't be done, and rules beside those of the scheme."""
    marked = {worth.slug for stage in scheme.stages for worth in stage.rules}
    found: list[Off] = []
    others: dict[str, Finding] = {}
    for finding in review.findings:
        line = finding.span.called
        if finding.kind is Kind.UNREAD:
            found.append(Off(scheme.unread, f"{line} can't be read: {finding.message}"))
        elif finding.kind is Kind.IMPOSSIBLE:
            found.append(Off(scheme.impossible, f"{line} can't be done: {finding.message}"))
        elif finding.kind in (Kind.BROKEN, Kind.UNSHOWN) and finding.slug not in marked:
            others.setdefault(finding.slug, finding)
    for finding in others.values():
        points = scheme.others.get(finding.level.word, 0.0)
        found.append(Off(points, f"{finding.span.called}: {finding.message}"))
    return tuple(one for one in found if one.points)


__all__ = ["Answer", "Item", "Line", "Marked", "Off", "mark_plan", "points_of"]
