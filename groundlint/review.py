"""The stages in their order, and nothing else: text, plan, timeline, facts, rules, findings. It knows no rule."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from math import inf
from pathlib import Path

from groundlint.facts import CATALOGUE, PlanTrace
from groundlint.facts.catalogue import LaterError
from groundlint.findings.model import Kind, Review, RuleFinding, from_diagnostic, in_order
from groundlint.findings.repairs import Again, First, Mended, edits_that_mend, mended
from groundlint.findings.waivers import Waivers
from groundlint.reading import read_plan
from groundlint.reading.resolve import Opener
from groundlint.rulebook.compile import Run
from groundlint.rulebook.evaluate import Outcome, Program
from groundlint.rulebook.load import load_book
from groundlint.rulebook.model import Rulebook
from groundlint.rulebook.shipped import DEFAULT_BOOKS as DEFAULT_BOOKS
from groundlint.rulebook.shipped import shipped
from groundlint.rulebook.together import together
from groundlint.text import Diagnostic, Source
from groundlint.text.collector import collector_paused
from groundlint.text.edits import Edit
from groundlint.timeline import replay


def load_rulebook(name: str, search: Sequence[Path] = ()) -> tuple[Rulebook | None, tuple[Diagnostic, ...]]:
    """A rulebook by name, from ``search`` folders first, then from those that come with groundlint.

    Any diagnostic means that the book is not fit to review with.
    """
    return load_book([*search, shipped()], name, CATALOGUE)


class Reviewer:
    """Books made ready once, to review any number of plans."""

    def __init__(self, books: Sequence[Rulebook], as_of: date | None = None) -> None:
        """``as_of`` is the day that waivers are held against; without one, each plan's own date alone."""
        self.books = tuple(books)
        self.as_of = as_of
        shared = together(books)
        self.problems = shared.problems
        """Where two of the books mean different rules by one name; for the caller to say."""
        self.under = shared.under
        self.programs = tuple(Program(book, CATALOGUE) for book in shared.books)
        self.slugs = frozenset(rule.slug for book in books for rule in book.rules)
        self.waivable = frozenset(slug for book in books for slug in book.waivable)
        self.barred = {slug: change for book in books for slug, change in book.unwaivable.items()}
        self.longest = min((book.longest_waiver for book in books), default=inf)

    def review(
        self,
        source: Source,
        opener: Opener | None = None,
        given: Mapping[str, str] | None = None,
        problems: Sequence[Diagnostic] = (),
        offered: Mapping[str, str] | None = None,
        later: set[str] | None = None,
        said: bool = True,
    ) -> Review:
        """Review one plan. ``problems`` are what decoding its bytes had to say.

        A name of ``given`` must be one that the plan leaves open; one of ``offered`` is used where it is. With
        ``later`` no circuit is solved: rules that ask for what it takes are left out of the review, and named there;
        where findings are to be ``said``, so are rules whose findings can't be worded without it.
        """
        with collector_paused():
            result = read_plan(source, opener, given, offered)
            plan = result.plan
            if any(d.unread for d in problems):
                plan = replace(plan, unread=True)
            timeline = replay(plan)
            trace = PlanTrace(timeline, computes=later is None)
            findings = [
                from_diagnostic(d, Kind.UNREAD if d.unread else None)
                for d in (*problems, *result.diagnostics, *timeline.problems)
            ]
            waivers = Waivers(plan, self.slugs, self.barred, self.as_of, self.longest)
            outcomes: list[Outcome] = []
            run = Run(trace, self.programs[0].compiler) if self.programs else None
            for program, under in zip(self.programs, self.under, strict=True):
                for outcome in program.review(trace, run, later):
                    books = under[outcome.rule.slug]
                    found = [
                        RuleFinding(verdict, plan, waivers.covering(verdict), books) for verdict in outcome.verdicts
                    ]
                    if later is not None and said and not all(map(_can_be_said, found)):
                        later.add(outcome.rule.slug)
                        continue
                    outcomes.append(outcome)
                    findings += found
            findings.extend(waivers.findings(later or ()))
            names = tuple(book.head.name for book in self.books)
            return Review(plan, names, in_order(findings), tuple(outcomes), trace, self.as_of, self.waivable)

    def repairs(
        self,
        review: Review,
        opener: Opener | None = None,
        given: Mapping[str, str] | None = None,
        offered: Mapping[str, str] | None = None,
    ) -> tuple[Edit | None, ...]:
        """For each finding of a review the edit that mends it; ``None`` where its rule offers none.

        The names and openers are those of the review; `edits_that_mend` says what counts.
        """
        return edits_that_mend(review, *self._again(opener, given, offered))

    def mended(
        self,
        review: Review,
        opener: Opener | None = None,
        given: Mapping[str, str] | None = None,
        offered: Mapping[str, str] | None = None,
    ) -> Mended:
        """A reviewed plan with every edit made that mends it; the names and openers are those of the review."""
        return mended(review, *self._again(opener, given, offered))

    def _again(
        self, opener: Opener | None, given: Mapping[str, str] | None, offered: Mapping[str, str] | None
    ) -> tuple[Again, First]:
        return (
            lambda source: self.review(source, opener, given, (), offered),
            lambda source, later: self.review(source, opener, given, (), offered, later, said=False),
        )


def _can_be_said(finding: RuleFinding) -> bool:
    """Whether what explains a finding takes no circuit, of which its verdict took none."""
    try:
        for part in ("message", "mend", "related", "gaps"):
            getattr(finding, part)
    except LaterError:
        return False
    return True


def review_plan(
    source: Source, books: Sequence[Rulebook], opener: Opener | None = None, given: Mapping[str, str] | None = None
) -> Review:
    """Review one plan against books; for many plans make one `Reviewer`."""
    return Reviewer(books).review(source, opener, given)


def trace_of(text: str) -> PlanTrace | tuple[Diagnostic, ...]:
    """A plan's text replayed, for running the examples of rules; what is wrong with it, if anything is."""
    result = read_plan(Source("example.tpg", text))
    timeline = replay(result.plan)
    unread = tuple(d for d in result.diagnostics if d.unread)
    return unread or PlanTrace(timeline)
