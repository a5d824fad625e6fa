"""What the processes beside the server do: reviews and repairs, given and answered as plain values.

Offsets are characters of the text that was sent, or of the file that is named.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, Protocol

from groundlint.findings.model import Finding, Review
from groundlint.report.record import FindingEntry
from groundlint.review import Reviewer
from groundlint.text import Diagnostic, Severity, Source
from groundlint.text.edits import Edit

if TYPE_CHECKING:
    from groundlint.report.brief.page import Status
    from groundlint.report.brief.results import Electrical
    from groundlint.serving.picture import Picture
    from groundlint.serving.rules import Wrong

Opener = Callable[[str], "Source | str"]
Pieces = tuple[tuple[int, int, str], ...]
"""What stands in the place of which stretches, as (start, end, text)."""


@dataclass(frozen=True)
class Holding:
    """What holds for a plan: the books, what opens the files that it uses, the values offered, and the lowest level
    that fails (``gate``). ``apart``: it is in a folder of parts of plans, of which no rule is asked."""

    reviewer: Reviewer
    opener: Opener
    offered: Mapping[str, str]
    apart: bool = False
    gate: Severity = Severity.WARNING


@dataclass(frozen=True)
class Refused:
    """Why no plan can be reviewed here, and what is wrong in the settings or books behind it."""

    message: str
    problems: tuple[Diagnostic, ...] = ()


class Desk(Protocol):
    """What the command knows and the server asks: settings, books, the day, and the folder where things are kept. It is
    sent to other processes."""

    def start(self) -> None:
        """Makes ready a process that has just begun."""
        ...

    def holding(self, path: Path | None) -> Holding | Refused:
        """What holds for the plan of a file as things are now; None is a plan that is not saved yet."""
        ...

    def opener(self, path: Path | None) -> Opener:
        """What opens the files that the plan of a file uses."""
        ...

    def shelf(self, path: Path) -> tuple[Path, ...]:
        """The folders in which books are looked for, from a file of a book."""
        ...


@dataclass(frozen=True)
class Text:
    """A text to be reviewed: its name, its file, and the other open texts by theirs."""

    name: str
    path: Path | None
    text: str
    others: Mapping[str, str] = field(repr=False)


At = tuple[str, int, int]
"""The rule of a finding, and where that stands."""


class Stretch(NamedTuple):
    """A stretch of a named text, and a few words on it."""

    name: str
    start: int
    end: int
    words: str


class File(NamedTuple):
    """A file as it was read for a review."""

    path: str
    text: str


@dataclass(frozen=True)
class Hint:
    """What a step leaves behind it, at the end of its line; ``more`` is longer."""

    at: int
    label: str
    more: str = ""


@dataclass(frozen=True)
class Offer:
    """An edit that is offered: what it does, for which findings, as (rule, start, end), and the edit itself.
    ``proven``: the plan was reviewed with it."""

    title: str
    at: tuple[At, ...]
    pieces: Pieces
    proven: bool = False


@dataclass(frozen=True)
class Reviewed:
    """What a review came to. ``failure`` says why there is none; ``unread`` is true where the plan was not read whole;
    ``later`` counts the rules that wait for the circuit; ``rules`` are all that are in use; ``note`` is to be said of
    the whole text. ``help`` is a page for each rule, ``files`` the files that the plan uses by the names that they have
    in findings, ``things`` what was computed of leads, ``people`` of who is in place while a statement that begins at
    an offset is done, ``electrical`` all of that as values. ``status`` is what it came to, once every rule was asked or
    the plan was not read whole."""

    failure: str = ""
    problems: tuple[Stretch, ...] = ()
    findings: tuple[FindingEntry, ...] = ()
    unread: bool = True
    later: int = 0
    note: str = ""
    help: Mapping[str, str] = field(default_factory=dict)
    files: Mapping[str, File] = field(default_factory=dict)
    things: Mapping[str, str] = field(default_factory=dict)
    people: Mapping[tuple[str, int], str] = field(default_factory=dict)
    hints: tuple[Hint, ...] = ()
    offers: tuple[Offer, ...] = ()
    rules: tuple[str, ...] = ()
    electrical: Electrical | None = None
    status: Status | None = None


class Clerk:
    """Does the jobs of one process, one after the other."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._pages: tuple[Reviewer | None, dict[str, str]] = None, {}
        self._last: tuple[Text, Review, Holding, Opener] | None = None
        self._shown: tuple[Text, Review] | None = None

    def first(self, text: Text) -> Reviewed:
        """A review in which no circuit is solved."""
        return self._reviewed(text, set())

    def whole(self, text: Text) -> Reviewed:
        """A review, and what was computed for it."""
        return self._reviewed(text, None)

    def repairs(self, text: Text) -> tuple[Offer, ...]:
        """The edits that mend a plan which was reviewed, each proven by a review of the plan with it."""
        if self._last is None or self._last[0] != text:
            self.whole(text)
        if self._last is None:
            return ()
        _, review, holding, opener = self._last
        edits = holding.reviewer.repairs(review, opener, None, holding.offered)
        places: dict[Edit, list[At]] = {}
        for finding, edit in zip(review.findings, edits, strict=True):
            if edit is not None:
                places.setdefault(edit, []).append(_place(finding, review))
        return tuple(Offer(edit.says, tuple(at), _pieces(edit), True) for edit, at in places.items())

    def mended(self, text: Text) -> str | None:
        """The text of a plan with every edit made that mends it; None where it can't be reviewed or was not read."""
        if self._last is None or self._last[0] != text:
            self.whole(text)
        if self._last is None or self._last[1].plan.unread:
            return None
        _, review, holding, opener = self._last
        return holding.reviewer.mended(review, opener, None, holding.offered).review.plan.source.text

    def picture(self, text: Text, offset: int, electrical: Electrical | None) -> Picture | None:
        """The line after the step at a place, with what was computed so far; None where the plan was not read whole."""
        from groundlint.serving.picture import picture

        if self._shown is None or self._shown[0] != text:
            self.first(text)
        if self._shown is None or self._shown[1].plan.unread:
            return None
        return picture(self._shown[1], offset, electrical)

    def rule(self, path: Path | None, slug: str) -> str:
        """The page of a rule that holds for the plan of a file, with its examples; empty where none has that name."""
        from groundlint.facts import CATALOGUE
        from groundlint.rulebook.reference import rule_page

        holding = self.desk.holding(path)
        books = () if isinstance(holding, Refused) else holding.reviewer.books
        pages = (rule_page(rule, book, CATALOGUE) for book in books if (rule := book.rule(slug)) is not None)
        return next(pages, "")

    def book(self, path: Path, texts: Mapping[str, str]) -> tuple[Wrong, ...]:
        """What is wrong in the book that a file belongs to."""
        from groundlint.serving.rules import wrong_in

        return wrong_in(path, self.desk.shelf(path), texts)

    # ---- a review ----

    def _reviewed(self, text: Text, later: set[str] | None) -> Reviewed:
        from groundlint.report.brief.page import status_of
        from groundlint.report.record import finding_entries
        from groundlint.text.decode import check

        self._last = self._shown = None
        holding = self.desk.holding(text.path)
        if isinstance(holding, Refused):
            problems = tuple(Stretch(d.span.source.name, d.span.start, d.span.end, d.message) for d in holding.problems)
            return Reviewed(holding.message, problems)
        source = Source(text.name, text.text)
        problems_of_text = check(source)
        if any(problem.code == "file-too-large" for problem in problems_of_text):
            source = Source(text.name, "")
        opener = Opened(holding.opener, text)
        review = holding.reviewer.review(source, opener, None, problems_of_text, holding.offered, later)
        if holding.apart:
            return _of_part(review, opener)
        self._shown = text, review
        if later is None:
            self._last = text, review, holding, opener
        findings = finding_entries(review)
        pages = self._rules(holding.reviewer)
        wanted = {entry.rule for entry in findings} | {waiver.rule for waiver in review.plan.waivers}
        made = Reviewed(
            findings=findings,
            unread=review.plan.unread,
            later=len(later or ()),
            help={slug: pages[slug] for slug in sorted(wanted & pages.keys())},
            files=opener.files,
            offers=tuple(_asks(review)),
            rules=tuple(pages),
            status=None if later and not review.plan.unread else status_of(review, holding.gate),
        )
        if later:
            return made
        from groundlint.serving.computed import with_computed

        return with_computed(made, review, holding.reviewer)

    def _rules(self, reviewer: Reviewer) -> dict[str, str]:
        """A page for each rule of the books in use."""
        from groundlint.report.record import rule_entries
        from groundlint.report.sarif import help_page

        if self._pages[0] is not reviewer:
            self._pages = reviewer, {entry.rule: help_page(entry) for entry in rule_entries(reviewer.books)}
        return self._pages[1]


class Opened:
    """Opens the files that a plan uses: those that are open as they stand in the editor. Remembers which they were."""

    def __init__(self, opener: Opener, text: Text) -> None:
        self.opener = opener
        self.folder = text.path.parent if text.path is not None else None
        self.others = text.others
        self.files: dict[str, File] = {}

    def __call__(self, name: str) -> Source | str:
        """The file, or why it can't be had."""
        found = self.opener(name)
        if isinstance(found, Source) and self.folder is not None:
            path = str(self.folder / name)
            if path in self.others:
                found = Source(found.name, self.others[path])
            self.files[found.name] = File(path, found.text)
        return found


def _of_part(review: Review, opener: Opened) -> Reviewed:
    """What reading alone says of a file that plans use."""
    from dataclasses import replace

    from groundlint.findings.model import Kind
    from groundlint.report.record import finding_entries

    read = tuple(finding for finding in review.findings if finding.kind is Kind.UNREAD)
    note = "this file is in a folder of parts of plans: it is read, and no rule is asked of it by itself"
    alone = replace(review, findings=read)
    return Reviewed(findings=finding_entries(alone), unread=bool(read), note=note, files=opener.files)


def _pieces(edit: Edit) -> Pieces:
    return tuple((span.start, span.end, put) for span, put in edit.pieces)


BLANK = "?"
"""Stands for a value that only the writer of the plan knows. No statement reads with it, so that what is put in and not
filled in is never taken for stated."""


def _asks(review: Review) -> Iterator[Offer]:
    """Texts that state what findings wait for, at their places; the writer's own values are left blank."""
    places: dict[str, list[At]] = {}
    for finding in review.open_findings:
        for gap in finding.gaps:
            places.setdefault(gap.fact, []).append(_place(finding, review))
    for ask in review.asks():
        if ask.paste is None:
            continue
        at = {place for gap in ask.gaps for place in places.get(gap.fact, ())}
        title = str(ask.paste)
        pieces = tuple((start, end, _blanked(put, ask.paste.yours)) for start, end, put in _pieces(ask.paste.edit))
        yield Offer(f"{title[:1].upper()}{title[1:]}", tuple(sorted(at)), pieces)


def _place(finding: Finding, review: Review) -> At:
    """Where a finding of the plan stands; the beginning for one of another file."""
    span = finding.span
    start, end = (span.start, span.end) if span.source is review.plan.source else (0, 0)
    return finding.slug, start, end


def _blanked(text: str, yours: Sequence[str]) -> str:
    """A text with the values that only its writer knows left blank, whole words of it."""
    import re

    for value in sorted(yours, key=len, reverse=True):
        text = re.sub(rf"(?<![\w.-]){re.escape(value)}(?![\w-])", BLANK, text)
    return text
