"""What a class is asked to do: the plan as it is handed out, and one sound way to complete it.

What is handed out is given: the site, how the line is fed, the method, and the work with its place and reach. An answer
that says otherwise of it does another job, and a review of that says nothing of this one. What the handout has
already earns nothing either.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from groundlint.findings.compare import value_changes
from groundlint.findings.likeness import MARKED, Label, labels, likeness, value_key
from groundlint.findings.model import Review
from groundlint.plan.models import Plan, PointRef, Structure
from groundlint.timeline import replay
from groundlint.values import Truth

FREE = frozenset({"cautions", "emergency", "waivers"})
"""What a plan says of itself that is the student's own."""


@dataclass(frozen=True)
class Task:
    """A handout and a sound plan, as reviewed by the books that answers are marked by."""

    handout: Review
    sound: Review

    @cached_property
    def had(self) -> frozenset[str]:
        """The rules that the handout meets."""
        return _rules(self.handout, Truth.TRUE)

    @cached_property
    def to_earn(self) -> frozenset[str]:
        """The rules that the sound plan meets and the handout does not: points are earned by these alone."""
        return _rules(self.sound, Truth.TRUE) - self.had

    @cached_property
    def asked(self) -> frozenset[str]:
        """The rules that are asked of the sound plan."""
        return frozenset(outcome.rule.slug for outcome in self.sound.outcomes if outcome.truth is not None)

    @cached_property
    def open(self) -> frozenset[str]:
        """The rules that the sound plan has open findings of."""
        return frozenset(finding.slug for finding in self.sound.open_findings)

    def wrong(self, slugs: Iterable[str]) -> str:
        """Why answers can't be marked by these rules; empty where they can."""
        marked = set(slugs)
        broken = sorted(marked & self.open)
        if broken:
            return f"the sound plan of the task does not hold {', '.join(broken)}"
        if not marked & self.to_earn:
            return "there is nothing to earn: the handout holds every rule of the scheme that the sound plan does"
        said = self.otherwise(self.sound.plan)
        return f"the sound plan is one of another job than the handout: {'; '.join(said[:3])}" if said else ""

    def otherwise(self, answer: Plan) -> tuple[str, ...]:
        """What an answer says otherwise than it was given, in words; empty where it does this job.

        What the handout leaves open may be as the sound plan has it.
        """
        given = dict(_otherwise(self.handout.plan, answer))
        if given:
            completed = dict(_otherwise(self.sound.plan, answer))
            given = {what: words for what, words in given.items() if what in completed}
        return tuple(given.values())


def _rules(review: Review, truth: Truth) -> frozenset[str]:
    return frozenset(outcome.rule.slug for outcome in review.outcomes if outcome.truth is truth)


def _otherwise(given: Plan, answer: Plan) -> Iterator[tuple[Hashable, str]]:
    laid = likeness(given, answer)
    for change in value_changes(given, answer, laid):
        if change.site and change.attribute not in FREE:
            said = (
                f"{change.subject}, {change.attribute}: given {change.old or 'nothing'}, here {change.new or 'nothing'}"
            )
            yield (change.subject, change.attribute), said
    there = frozenset(laid.things.values())
    for thing in given.things:
        if isinstance(thing, MARKED) and thing not in laid.things:
            yield ("gone", thing.name), f"{type(thing).__name__.lower()} {thing} is not there"
    for thing in answer.things:
        if isinstance(thing, MARKED) and thing not in there:
            yield ("new", thing.name), f"{type(thing).__name__.lower()} {thing} was not given"
    one, other = labels(laid.things)
    done = list(_works(answer, other))
    for place, reach, words in _works(given, one):
        if not any(place == where and reach <= touched for where, touched, _ in done):
            yield (place, reach), f"the work is to be done {words}"


def _works(plan: Plan, label: Label) -> Iterator[tuple[Hashable, frozenset[Hashable], str]]:
    """Where somebody is in place and what is in reach, for each step at which work is done: once as keys, then in
    words."""
    timeline = replay(plan)
    for at, action in enumerate(plan.actions):
        if action.kind != "work":
            continue
        for person in timeline.people_in_place(at):
            stand = timeline.stand(at, person)
            if stand is None or stand.structure is None or stand.reach is None:
                continue
            reach = [point for point in stand.reach if isinstance(point, PointRef)]
            on = stand.point.sort if stand.point is not None else ""
            touched = ", ".join(map(str, reach)) or "nothing"
            keys = frozenset(_point(point, label) for point in reach)
            yield (label(stand.structure), on), keys, f"at {stand.structure} on the {on}, with {touched} in reach"


def _point(point: PointRef, label: Label) -> Hashable:
    """A point of the site by what it is; one of the student's equipment by its kind alone."""
    if isinstance(point.thing, MARKED) or point.thing is None:
        return value_key(point, label)
    return (point.sort, label(point.structure) if isinstance(point.structure, Structure) else None)


__all__ = ["Task"]
