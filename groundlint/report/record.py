"""A review as plain values: what every report for programs is made from, and what one process hands to another.

The names and meanings of the fields are those of the published schema (`schema.py`); places count lines and columns
from 1, columns both in characters and in UTF-16 code units, as editors and SARIF count.
"""

# ruff: noqa: RUF009  (a field's meaning is made by a function)
from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from groundlint.findings.fingerprint import fingerprints, step_of, subjects_of
from groundlint.findings.model import Ask, Finding, Kind, Review
from groundlint.findings.pasting import Where
from groundlint.report.plain import doc
from groundlint.rulebook.model import Rulebook
from groundlint.text import Severity, Span
from groundlint.text.edits import Edit
from groundlint.values import Truth

OUTCOMES = {Truth.FALSE: "broken", Truth.UNKNOWN: "not shown", Truth.TRUE: "met", None: "not applicable"}


@dataclass(frozen=True, slots=True)
class Place:
    """A stretch of a file, from its first character up to but not including its end."""

    path: str = doc("the file, as it was named to the command")
    line: int = doc("first line, from 1")
    column: int = doc("first column, from 1, in characters")
    end_line: int = doc("line of the end")
    end_column: int = doc("column just past the end, in characters")
    utf16_column: int = doc("first column, from 1, in UTF-16 code units")
    utf16_end_column: int = doc("column just past the end, in UTF-16 code units")
    called: str | None = doc(
        "the step or paragraph of a Word document, whose lines and columns are those of the text taken out of it; null"
        " for a text"
    )


@dataclass(frozen=True, slots=True)
class RelatedLine:
    """Another line behind a finding."""

    place: Place = doc("where")
    words: str = doc("what stands there, in a few words")


@dataclass(frozen=True, slots=True)
class Missing:
    """What the plan does not state, and the text that states it where it is pasted as it stands."""

    fact: str = doc("what is not stated; several facts where one text states them all")
    level: str = doc("signal word of the gravest rule that waits for it")
    rules: tuple[str, ...] = doc("the rules that wait for it, the gravest first")
    place: str | None = doc(
        "where the text goes: at the `end` of the line, `below` it, `instead` of it, `before` it as a step, or on its"
        " `own` above the steps; null where no text can be given"
    )
    line: int | None = doc("the line that the place is at; null for a line of its own")
    text: str = doc("what to write, or empty")
    yours: tuple[str, ...] = doc("values in the text that only the writer knows, in place of which go the true ones")
    first: str = doc("what to ask before the text is written, or empty")


@dataclass(frozen=True, slots=True)
class NotAsked:
    """Danger rules that were not asked, as the plan never comes to what they ask about."""

    lacking: str = doc("what the plan never comes to")
    rules: tuple[str, ...] = doc("the rules that ask about it")


@dataclass(frozen=True, slots=True)
class LeftOn:
    """What the plan leaves for the part of the job after it."""

    thing: str = doc("its name")
    holder: str | None = doc("whose clearance it stands under, or null")


@dataclass(frozen=True, slots=True)
class WaiverNote:
    """The waiver in the plan that covers a finding."""

    because: str = doc("the reason given")
    approved: str = doc("the role that approves")
    until: str = doc("the date it ends, YYYY-MM-DD")
    place: Place = doc("where the plan waives it")


@dataclass(frozen=True, slots=True)
class Subject:
    """A thing that a rule was asked of."""

    name: str = doc("what the rule calls it")
    thing: str = doc("what the plan calls it; ? where the plan does not say which")


@dataclass(frozen=True, slots=True)
class Replacement:
    """A text to stand in the place of a stretch of the plan, which is empty where it is put in between."""

    place: Place = doc("the stretch that it takes the place of")
    text: str = doc("what to write there")


@dataclass(frozen=True, slots=True)
class RepairEntry:
    """An edit that mends the paper: the plan with it, alone or with its other edits, was reviewed again, and had this
    finding no more and no new one."""

    words: str = doc("the edit in words")
    replacements: tuple[Replacement, ...] = doc("what to write, in the order of the plan")


@dataclass(frozen=True, slots=True)
class FindingEntry:
    """One finding."""

    kind: str = doc("how it came about")
    level: str = doc("signal word")
    rule: str = doc("name of the rule, or code of the message where no rule found it")
    message: str = doc("what was found")
    next: str = doc("one next action, or empty")
    place: Place = doc("the words that it is about")
    step: str = doc("the step it is about, with its number, or empty")
    subjects: tuple[Subject, ...] = doc("the things that the rule was asked of")
    count: int = doc("how many steps in a row came out the same")
    related: tuple[RelatedLine, ...] = doc("other lines behind it")
    missing: tuple[str, ...] = doc("the facts not stated that leave it open")
    waiver: WaiverNote | None = doc("the waiver that covers it, or null: a waived finding fails no gate")
    fingerprint: str = doc("the same for the same finding when lines move or steps are renumbered")
    repair: RepairEntry | None = doc("an edit that mends it, or null where its rule offers none")
    provisional: bool = doc("true where a statement was not read: the finding may change once it is")


@dataclass(frozen=True, slots=True)
class RuleOutcome:
    """What became of one rule on a plan."""

    rule: str = doc("its name")
    outcome: str = doc("the worst of the times it was asked")


@dataclass(frozen=True, slots=True)
class Counts:
    """Rules by the worst of the times they were asked that no waiver covers."""

    broken: int = doc("rules broken")
    not_shown: int = doc("rules not shown")
    met: int = doc("rules met each time")
    not_applicable: int = doc("rules that never applied")
    waived: int = doc("rules of which a waiver covers all that is found")


@dataclass(frozen=True, slots=True)
class PlanEntry:
    """The review of one plan."""

    path: str = doc("the file, as it was named to the command")
    title: str | None = doc("the plan's title, or null")
    document: str | None = doc("its document number, or null")
    revision: str | None = doc("its revision, or null")
    books: tuple[str, ...] = doc("rulebooks that it was held against")
    gate: str = doc("the lowest level that fails")
    status: int = doc("0 clean, 1 something is broken or was not read, 2 something is not shown, at or above the gate")
    read: bool = doc("false if a statement was not read: then the plan is never clean")
    counts: Counts = doc("rules by what became of them")
    findings: tuple[FindingEntry, ...] = doc("in line order")
    missing: tuple[Missing, ...] = doc("the facts not stated, those first that most rules wait for")
    not_asked: tuple[NotAsked, ...] = doc("danger rules that were not asked, by what the plan never comes to")
    leaves: tuple[LeftOn, ...] = doc("what the plan leaves for the part of the job after it")
    outcomes: tuple[RuleOutcome, ...] = doc("each rule and what became of it")
    as_of: str | None = doc("the day that waivers were held against, YYYY-MM-DD, or null for the plan's own date alone")


@dataclass(frozen=True, slots=True)
class Failure:
    """A plan that was not reviewed at all."""

    path: str = doc("the file, as it was named to the command")
    message: str = doc("why it was not reviewed")


@dataclass(frozen=True, slots=True)
class RuleEntry:
    """A rule of the books in use."""

    rule: str = doc("its name")
    book: str = doc("the book that it stands in")
    level: str = doc("signal word")
    title: str = doc("what it demands")
    because: str = doc("what goes wrong if it is broken")
    cites: tuple[str, ...] = doc("its sources")
    known: str = doc("how its source is known: published, common practice, from memory")
    changes: tuple[str, ...] = doc("what adopting books changed of it, and why")
    text: str = doc("the rule as written")


@dataclass(frozen=True, slots=True)
class Run:
    """Everything that a run of the command had to say. ``status`` is that of the command."""

    version: str
    status: int
    plans: tuple[PlanEntry, ...]
    failures: tuple[Failure, ...]
    rules: tuple[RuleEntry, ...]


def plan_entry(review: Review, gate: Severity, repairs: Sequence[Edit | None] = ()) -> PlanEntry:
    """The review of one plan as plain values, with the edit that mends each finding, as far as they are given."""
    plan = review.plan
    return PlanEntry(
        plan.source.name,
        plan.title,
        plan.document,
        plan.revision,
        review.books,
        gate.word,
        review.status(gate),
        _read_whole(review),
        Counts(**{name.replace(" ", "_"): count for name, count in review.counts().items()}),
        finding_entries(review, repairs),
        tuple(_missing(ask) for ask in review.asks()),
        tuple(NotAsked(one.lacking, one.rules) for one in review.never_asked()),
        tuple(LeftOn(one.thing.name, str(one.holder) if one.holder else None) for one in plan.leaves),
        tuple(RuleOutcome(outcome.rule.slug, OUTCOMES[outcome.truth]) for outcome in review.outcomes),
        str(review.as_of) if review.as_of is not None else None,
    )


def finding_entries(review: Review, repairs: Sequence[Edit | None] = ()) -> tuple[FindingEntry, ...]:
    """The findings of a review as plain values, each with the edit that mends it, as far as they are given."""
    marks = fingerprints(review)
    return tuple(
        _entry(finding, mark, edit, review)
        for finding, mark, edit in zip(review.findings, marks, repairs or [None] * len(marks), strict=True)
    )


def _missing(ask: Ask) -> Missing:
    paste = ask.paste
    if paste is None:
        line = ask.where.line if ask.where is not None else None
        return Missing(ask.fact, ask.level.word, ask.rules, None, line, "", (), "")
    line = None if paste.place is Where.OWN else paste.line
    return Missing(ask.fact, ask.level.word, ask.rules, paste.place.value, line, paste.text, paste.yours, paste.before)


def place_of(span: Span) -> Place:
    """A span in lines and columns. One that ends with a line end ends on that line."""
    source = span.source
    stop = max(span.start, span.end)
    while stop > span.start and source.text[stop - 1] in "\r\n":
        stop -= 1
    line, column = source.position(span.start)
    end_line, end_column = source.position(stop)
    return Place(
        source.name,
        line,
        column,
        end_line,
        end_column,
        source.utf16_column(span.start) + 1,
        source.utf16_column(stop) + 1,
        None if source.marks is None else span.called,
    )


def _entry(finding: Finding, mark: str, edit: Edit | None, review: Review) -> FindingEntry:
    waiver = finding.waiver
    note = None
    if waiver is not None:
        note = WaiverNote(waiver.because or "", waiver.approved or "", str(waiver.until or ""), place_of(waiver.span))
    return FindingEntry(
        finding.kind.value,
        finding.level.word,
        finding.slug,
        finding.message,
        finding.mend,
        place_of(finding.span),
        step_of(finding, review.plan),
        tuple(Subject(name, thing) for name, thing in subjects_of(finding)),
        finding.count,
        tuple(RelatedLine(place_of(span), words) for span, words in finding.related),
        tuple(gap.fact for gap in finding.gaps),
        note,
        mark,
        _repair(edit) if edit is not None else None,
        finding.kind is not Kind.UNREAD and not _read_whole(review),
    )


def _read_whole(review: Review) -> bool:
    return not (review.plan.unread or any(f.kind is Kind.UNREAD for f in review.findings))


def _repair(edit: Edit) -> RepairEntry:
    return RepairEntry(edit.says, tuple(Replacement(place_of(span), text) for span, text in edit.pieces))


def rule_entries(books: Iterable[Rulebook]) -> tuple[RuleEntry, ...]:
    """The rules of books by name; of a rule that two books have, the first one's, as a review asks it."""
    found: dict[str, RuleEntry] = {}
    for book in books:
        texts = book.shelf().rule_texts
        for rule in book.rules:
            changes = tuple(f"{change.what} by {change.book}: {change.because}" for change in rule.changes)
            entry = RuleEntry(
                rule.slug,
                rule.book,
                rule.level.word,
                rule.title,
                rule.because,
                rule.cites,
                rule.known,
                changes,
                texts.get(rule.slug, ""),
            )
            found.setdefault(rule.slug, entry)
    return tuple(found[slug] for slug in sorted(found))
