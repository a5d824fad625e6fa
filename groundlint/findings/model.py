"""Findings: everything a review has to say of a plan, in one form, made in one place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import Enum
from functools import cached_property
from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING

from groundlint.findings.pasting import Paste, paster_of
from groundlint.plan.models import Plan, Waiver
from groundlint.rulebook.evaluate import Outcome, Verdict
from groundlint.rulebook.explain import WhyNode
from groundlint.text import Diagnostic, Severity, Span
from groundlint.text.edits import Edit
from groundlint.values import Gap, Truth
from groundlint.words.rows import facts_together

if TYPE_CHECKING:
    from groundlint.facts import PlanTrace


class Kind(Enum):
    """How a finding came about."""

    UNREAD = "unread"
    """A statement could not be taken in."""
    IMPOSSIBLE = "impossible"
    """The plan contradicts itself, or a step can't be done as things stand."""
    BROKEN = "broken"
    """A rule is broken."""
    UNSHOWN = "not shown"
    """The plan does not say enough to tell whether a rule is met."""
    WAIVER = "waiver"
    """A waiver is not what it should be."""


@dataclass(frozen=True, eq=False)
class Finding:
    """One thing to say, at one place. ``slug`` is the rule's, or the code of the message.

    ``book`` is the book that the rule stands in, ``under`` the books of the review that asked it (that one, or others
    that adopt the rule or take it), ``cites`` the clauses that it decides.
    ``waiver`` is set where the plan waives it: then it is listed and never fails the gate. ``use`` is the line that
    brought a routine's step in. ``count`` is how many steps in a row came out the same. ``subjects`` are the things
    that the rule was asked of, by the names it has for them; ``at`` is the position in the plan's actions that it was
    asked at, past the last of them for what is asked at the end, and None for what no rule found.
    """

    kind: Kind
    level: Severity
    slug: str
    span: Span
    message: str
    mend: str = ""
    remedy: str = ""
    title: str = ""
    because: str = ""
    cites: tuple[str, ...] = ()
    book: str = ""
    under: tuple[str, ...] = ()
    related: tuple[tuple[Span, str], ...] = ()
    gaps: tuple[Gap, ...] = ()
    count: int = 1
    use: Span | None = None
    waiver: Waiver | None = None
    why: WhyNode | None = field(default=None, repr=False)
    subjects: tuple[tuple[str, object], ...] = ()
    at: int | None = None
    repairs: tuple[Edit, ...] = ()
    """The edits that the rule offers, one or the other; `Reviewer.repairs` tells which of them mend the plan."""
    possible: tuple[str, str] = ("", "")
    """Of one that is not shown for want of closer bounds alone: what may be wrong, and what would mend that."""

    def place(self) -> tuple[object, ...]:
        """Line order, the gravest first within a line."""
        used = self.use.start if self.use else -1
        return (self.span.source.name, self.span.start, -self.level, self.slug, used)


def from_diagnostic(diagnostic: Diagnostic, kind: Kind | None = None) -> Finding:
    """The finding for what a stage has to say of its input."""
    sort = kind or (Kind.UNREAD if diagnostic.unread else Kind.IMPOSSIBLE)
    return Finding(
        sort,
        diagnostic.severity,
        diagnostic.code,
        diagnostic.span,
        diagnostic.message,
        diagnostic.mend,
        related=diagnostic.related,
    )


class RuleFinding(Finding):
    """The finding for a rule that is broken or not shown; ``under`` are the books of the review that asked it.

    What takes an explanation to say is worked out when it is first asked for: a status and a count need none of it.
    """

    def __init__(self, verdict: Verdict, plan: Plan, waiver: Waiver | None, under: tuple[str, ...] = ()) -> None:
        rule, at = verdict.rule, verdict.at
        here = at < len(plan.actions) and plan.actions[at].span == verdict.span
        self.__dict__.update(
            kind=Kind.UNSHOWN if verdict.truth is Truth.UNKNOWN else Kind.BROKEN,
            level=rule.level,
            slug=rule.slug,
            span=verdict.span,
            title=rule.title,
            because=rule.because,
            cites=rule.cites,
            book=rule.book,
            under=under or (rule.book,),
            count=verdict.count,
            use=plan.actions[at].use if here else None,
            waiver=waiver,
            subjects=verdict.binding,
            at=at,
            _verdict=verdict,
            _plan=plan,
        )

    _verdict: Verdict
    _plan: Plan

    @cached_property
    def message(self) -> str:
        """What is wrong, or what the plan does not state."""
        return self._verdict.message

    @cached_property
    def mend(self) -> str:
        """What to do, or the text to write and where."""
        if self.kind is not Kind.UNSHOWN or self._verdict.mend:
            return self._verdict.mend
        paster = paster_of(self._plan)
        for gap in self.gaps:
            if paste := paster.paste(gap, (self.span,)):
                return str(paste)
        if not self.gaps:
            return ""
        where = f" in {self.gaps[0].where.called}" if self.gaps[0].where else ""
        return f"state {self.gaps[0].fact}{where}"

    @cached_property
    def remedy(self) -> str:
        """What would mend it, broken or not shown, without what the plan is to state."""
        return self._verdict.remedy

    @cached_property
    def possible(self) -> tuple[str, str]:
        """Of one that is not shown for want of closer bounds alone: what may be wrong, and what would mend that."""
        return self._verdict.possible

    @cached_property
    def related(self) -> tuple[tuple[Span, str], ...]:
        """Other lines behind it, the line that used a routine first."""
        related = self._verdict.related
        return related if self.use is None else ((self.use, "done from here"), *related)

    @cached_property
    def gaps(self) -> tuple[Gap, ...]:
        """What the plan does not state; empty if the rule is broken."""
        return tuple(_placed(gap, self._plan) for gap in self._verdict.gaps) if self.kind is Kind.UNSHOWN else ()

    @cached_property
    def why(self) -> WhyNode:
        """The tree of what decided."""
        return self._verdict.why

    @cached_property
    def repairs(self) -> tuple[Edit, ...]:
        """The edits that the rule offers, not yet shown to mend anything."""
        return self._verdict.repairs


def _placed(gap: Gap, plan: Plan) -> Gap:
    """A gap that points at the plan's first line belongs in no statement there is, and is written as a new line."""
    return Gap(gap.fact, gap.write) if gap.where == plan.start else gap


@dataclass(frozen=True)
class NeverAsked:
    """What a plan never comes to, in words, and the rules that ask about it, which were not asked."""

    lacking: str
    rules: tuple[str, ...]


@dataclass(frozen=True)
class Ask:
    """What the plan does not state: one fact, or several that one text at one place settles; the rules that it would
    help to decide, the gravest first, and how grave that is. ``paste`` is None where no text can be given."""

    gaps: tuple[Gap, ...]
    paste: Paste | None
    level: Severity
    rules: tuple[str, ...]
    waiting: tuple[Finding, ...] = ()
    """The findings that it would help to decide."""

    @property
    def fact(self) -> str:
        """The facts in words; alike ones as one."""
        return facts_together([gap.fact for gap in self.gaps])

    @property
    def narrows(self) -> bool:
        """Whether it is assumed between bounds, so that another that is stated may do instead."""
        return all(gap.narrows for gap in self.gaps)

    @property
    def where(self) -> Span | None:
        """The statement that it belongs in, if there is one."""
        return next((gap.where for gap in self.gaps if gap.where is not None), None)

    def how(self, plan: Plan) -> str:
        """What to do: the text and its place; where none can be given, what else."""
        if self.paste is not None:
            return str(self.paste)
        if self.where is not None:
            file = f"{self.where.source.name}, " if self.where.source is not plan.source else ""
            write = self.gaps[0].write
            if write and not file:  # names in it that the plan has nothing for
                return f"declare first what it names; then say it in {self.where.called}, as in `{write}`"
            remedy = next((one.remedy for one in self.waiting if one.remedy), "")
            return f"in {file}{self.where.called}: {remedy}" if remedy else f"it belongs in {file}{self.where.called}"
        if plan.line is None and any(gap.write for gap in self.gaps):
            return "declare the line first: `line` and its name"
        if self.gaps[0].write:
            return f"say it in each step that names it, as in `{self.gaps[0].write}`"
        if self.narrows:
            return "it follows from the relay and from the current, and so from what else is assumed between bounds"
        waiver = f'`waive {self.rules[0]} because "..." by "ROLE" until DATE`' if self.rules else "a waiver"
        return (
            f"no line of a plan states this; whoever answers for the plan has to judge it, and can say so in {waiver}"
        )


@dataclass(frozen=True, eq=False)
class Review:
    """What came of holding a plan against its books."""

    plan: Plan
    books: tuple[str, ...]
    findings: tuple[Finding, ...]
    outcomes: tuple[Outcome, ...] = field(repr=False)
    trace: PlanTrace | None = field(default=None, repr=False)
    """The replayed plan that was asked, with what was computed of it."""
    as_of: date | None = None
    """The day that waivers were held against, beside the plan's own date."""
    waivable: frozenset[str] = frozenset()
    """Rules that the books let a revision begin to waive."""

    @property
    def open_findings(self) -> tuple[Finding, ...]:
        """Findings that no waiver covers."""
        return tuple(f for f in self.findings if f.waiver is None)

    @property
    def waived(self) -> tuple[Finding, ...]:
        """Findings that a waiver covers."""
        return tuple(f for f in self.findings if f.waiver is not None)

    def asks(self) -> tuple[Ask, ...]:
        """What the plan does not state: the gravest first, then what nothing else can do instead, then that for which
        most rules wait, then what decides most of a finding, then in the order of the plan."""
        found = [(finding, at, gap) for finding in self.open_findings for at, gap in enumerate(finding.gaps)]
        placed = {gap.fact: gap.where for _, _, gap in reversed(found) if gap.where is not None}
        rules: dict[tuple[str, Span | None], dict[str, Severity]] = {}
        gaps: dict[tuple[str, Span | None], Gap] = {}
        asked: dict[tuple[str, Span | None], list[Finding]] = {}
        first: dict[tuple[str, Span | None], int] = {}
        for finding, at, gap in found:
            key = gap.fact, gap.where or placed.get(gap.fact)
            if key not in gaps or gaps[key].where is None:
                gaps[key] = gap
            rules.setdefault(key, {})[finding.slug] = finding.level
            asked.setdefault(key, []).append(finding)
            first[key] = min(at, first.get(key, at))
        order = sorted(gaps, key=lambda key: (-len(rules[key]), first[key], _start(gaps[key]), key[0]))
        paster = paster_of(self.plan)
        groups: list[tuple[Paste | None, list[tuple[str, Span | None]]]] = []
        for key in order:
            paste = paster.paste(gaps[key], [finding.span for finding in asked[key]])
            for number, (before, keys) in enumerate(groups):
                if (both := paster.together(before, paste)) is not None:
                    groups[number] = both, [*keys, key]
                    break
            else:
                groups.append((paste, [key]))
        asks = []
        for paste, keys in groups:
            wait = {slug: level for key in keys for slug, level in rules[key].items()}
            gravest = tuple(sorted(wait, key=lambda slug: -wait[slug]))
            waiting = tuple(dict.fromkeys(finding for key in keys for finding in asked[key]))
            asks.append(Ask(tuple(gaps[key] for key in keys), paste, max(wait.values()), gravest, waiting))
        return tuple(sorted(asks, key=lambda ask: (-ask.level, ask.narrows, -len(ask.rules))))

    def never_asked(self) -> tuple[NeverAsked, ...]:
        """The danger rules that were not asked, by what the plan never comes to, the most rules first. A plan without
        findings in which they never came up is not shown to be safe by them."""
        groups: dict[str, list[str]] = {}
        for outcome in self.outcomes:
            if outcome.rule.level is Severity.DANGER and (lacking := outcome.never):
                groups.setdefault(lacking, []).append(outcome.rule.slug)
        return tuple(
            NeverAsked(lacking, tuple(groups[lacking]))
            for lacking in sorted(groups, key=lambda g: (-len(groups[g]), g))
        )

    def status(self, gate: Severity = Severity.WARNING) -> int:
        """Exit status: 0 clean, 1 something is broken or was not read, 2 something is not shown, at or above the
        gate."""
        open_at_gate = [f for f in self.open_findings if f.level >= gate or f.kind is Kind.UNREAD]
        if self.plan.unread or any(f.kind is not Kind.UNSHOWN for f in open_at_gate):
            return 1
        return 2 if open_at_gate else 0

    def word(self, gate: Severity = Severity.WARNING) -> str:
        """What the review came to: ``clean`` where it has no finding at all, ``passed`` where those that it has are
        waived or below the gate, ``broken``, ``not shown``."""
        status = self.status(gate)
        return ("passed" if self.findings else "clean", "broken", "not shown")[status]

    def counts(self) -> dict[str, int]:
        """Rules by what became of them: broken, not shown, waived (whatever is found of it is), met, not applicable."""
        found = {"broken": 0, "not shown": 0, "waived": 0, "met": 0, "not applicable": 0}
        kinds: dict[str, set[Kind]] = {}
        for finding in self.open_findings:
            kinds.setdefault(finding.slug, set()).add(finding.kind)
        for outcome in self.outcomes:
            if outcome.truth is None or outcome.truth is Truth.TRUE:
                word = "met" if outcome.truth else "not applicable"
            else:
                of_it = kinds.get(outcome.rule.slug, set())
                word = "broken" if Kind.BROKEN in of_it else "not shown" if Kind.UNSHOWN in of_it else "waived"
            found[word] += 1
        return found


def _start(gap: Gap) -> tuple[int, int]:
    return (0, gap.where.start) if gap.where is not None else (1, 0)


def in_order(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Findings in line order, each once."""
    kept: list[Finding] = []
    for _, group in groupby(sorted(findings, key=Finding.place), key=Finding.place):
        alike = list(group)
        if len(alike) > 1:  # the message, which takes an explanation to say, settles nothing else
            alike = sorted({one.message: one for one in reversed(alike)}.values(), key=attrgetter("message"))
        kept += alike
    return tuple(kept)
