"""Waivers of a plan: which verdicts they cover, and what is wrong with them.

A waiver counts only if it gives a reason, the role that approves, and an end date not before the plan's own date. One
that lacks any of these, is of a rule that a book bars from waivers, stands longer than a book lets it, has ended, or
waives nothing covers nothing, and is a finding itself. Where the day of the review is given, an end before it has
passed too, whenever the plan was dated.
"""

from __future__ import annotations

import math
from collections.abc import Container, Iterable, Mapping
from datetime import date

from groundlint.findings.model import Finding, Kind
from groundlint.plan.models import Plan, PointRef, Thing, Waiver
from groundlint.rulebook.evaluate import Verdict
from groundlint.rulebook.model import Change
from groundlint.text import Severity
from groundlint.text.near import nearest


class Waivers:
    """The waivers of one plan, with a count of what each covers."""

    def __init__(
        self,
        plan: Plan,
        slugs: frozenset[str],
        barred: Mapping[str, Change] | None = None,
        as_of: date | None = None,
        longest: float = math.inf,
    ) -> None:
        """``slugs`` are the rules of the books under review, ``barred`` those that no plan may waive, ``as_of`` the day
        that waivers are held against beside the plan's own date, ``longest`` the days for which one may stand."""
        self.plan = plan
        self.as_of = as_of
        self.longest = longest
        self.slugs = slugs
        self.barred = barred or {}
        self.problems = {id(w): problem for w in plan.waivers if (problem := self._problem(w)) is not None}
        self.sound = [w for w in plan.waivers if id(w) not in self.problems]
        self.used: set[int] = set()

    def _problem(self, waiver: Waiver) -> tuple[str, str, str] | None:
        lacking = [
            words
            for value, words in (
                (waiver.because, 'a reason (`because "..."`)'),
                (waiver.approved, 'the role that approves (`by "..."`)'),
                (waiver.until, "an end date (`until 2026-12-31`)"),
            )
            if not value
        ]
        if waiver.rule not in self.slugs:
            near = nearest(waiver.rule, self.slugs)
            hint = f"did you mean {near}?" if near else "name a rule of the books in use"
            return "waiver-of-no-rule", f"no rule in use is named {waiver.rule}; this waives nothing", hint
        if waiver.rule in self.barred:
            bar = self.barred[waiver.rule]
            return (
                "waiver-not-allowed",
                f"book {bar.book} lets no plan waive {waiver.rule}: {bar.because}",
                "keep to the rule, or have the book changed",
            )
        if lacking:
            return (
                "waiver-incomplete",
                f"the waiver of {waiver.rule} lacks {' and '.join(lacking)}; it waives nothing",
                "complete it",
            )
        if self.plan.dated is None:
            return (
                "waiver-undated",
                f"the plan has no date, so whether the waiver of {waiver.rule} has ended is not known",
                "date the document",
            )
        for day, whose in ((self.plan.dated, "the plan is dated"), (self.as_of, "this review is as of")):
            if waiver.until is not None and day is not None and waiver.until < day:
                return (
                    "waiver-ended",
                    f"the waiver of {waiver.rule} ended on {waiver.until}, and {whose} {day}",
                    "take it out, or have it renewed",
                )
        if waiver.until is not None and (waiver.until - self.plan.dated).days > self.longest:
            return (
                "waiver-too-long",
                f"the waiver of {waiver.rule} stands until {waiver.until}, more than {self.longest:.0f} days from the "
                f"plan's date; it waives nothing",
                f"end it within {self.longest:.0f} days, and have it renewed then",
            )
        return None

    def covering(self, verdict: Verdict) -> Waiver | None:
        """The waiver that covers a verdict, if one does."""
        for waiver in self.sound:
            if waiver.rule == verdict.rule.slug and (not waiver.subjects or self._names(waiver.subjects, verdict)):
                self.used.add(id(waiver))
                return waiver
        return None

    @staticmethod
    def _names(subjects: tuple[Thing, ...], verdict: Verdict) -> bool:
        bound: set[int] = set()
        for _, thing in verdict.binding:
            parts: Iterable[object] = (thing.structure, thing.thing) if isinstance(thing, PointRef) else (thing,)
            bound.update(id(part) for part in parts)
        return any(id(subject) in bound for subject in subjects)

    def findings(self, later: Container[str] = ()) -> list[Finding]:
        """What is wrong with the waivers; to be asked after every verdict was offered, but those of rules that are left
        for ``later``."""
        found = []
        for waiver in self.plan.waivers:
            problem = self.problems.get(id(waiver))
            if problem is None and id(waiver) not in self.used and waiver.rule not in later:
                problem = (
                    "waiver-unused",
                    f"the waiver of {waiver.rule} waives nothing: no such finding is there",
                    "take it out",
                )
            if problem is not None:
                code, message, mend = problem
                found.append(Finding(Kind.WAIVER, Severity.WARNING, code, waiver.span, message, mend))
        return found
