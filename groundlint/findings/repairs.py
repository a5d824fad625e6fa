"""Which of the edits that rules offer mend a plan: those with which it was reviewed again and is better."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence, Set
from typing import NamedTuple

from groundlint.findings.fingerprint import fingerprints, step_of
from groundlint.findings.model import Finding, Kind, Review
from groundlint.steps import step_label
from groundlint.text import Source
from groundlint.text.edits import Edit, edited
from groundlint.values import Truth

MOST_TRIED = 24
"""Groups of edits that are tried on a plan; what is not settled by then is reported without an edit."""
MOST_MENDING = 240
"""Groups of edits that are tried to mend a plan as far as it can be; what is not settled by then is left as it is."""

Again = Callable[[Source], Review]
"""Reviews the plan with another text."""
First = Callable[[Source, set[str]], Review]
"""The same without its circuit: the rules that ask for it are left out, and put into the set."""


class Made(NamedTuple):
    """An edit that was made: the rule that offered it, the step that it was offered at, and what it does."""

    slug: str
    step: str
    says: str


class Vain(NamedTuple):
    """An edit that was not made, as `Made` has one, and why: with it there would be another finding of this ``kind``,
    with the slug ``why`` and this ``message``; or the rule ``why``, which was met, would not be asked any more; where
    ``why`` is empty, its own finding would stay."""

    slug: str
    step: str
    says: str
    kind: Kind | None = None
    why: str = ""
    message: str = ""


class Mended(NamedTuple):
    """What came of mending a plan: the review of it as it then stands, the edits made in their order, those that it
    could not be made better by, and whether the bound was reached before everything was tried."""

    review: Review
    made: tuple[Made, ...]
    stopped: bool
    vain: tuple[Vain, ...] = ()


class _Tried(NamedTuple):
    """A finding, by its place in the review, with the edit that its rule offers."""

    at: int
    edit: Edit


def edits_that_mend(review: Review, again: Again, first: First | None = None) -> tuple[Edit | None, ...]:
    """For each finding of a review the edit that mends it; ``None`` where its rule offers none.

    Edits at different places are tried together, and in ever smaller groups where they fail together: one review tells
    of many edits, and what is known of an edit is known of it among those of its group. `_Basis.with_edits` says what
    counts. Most edits that fail do so by a rule that takes no circuit, and ``first`` shows that sooner.
    """
    basis = _Basis(review, again, first)
    found: list[Edit | None] = [None] * len(review.findings)
    waiting = _apart(_offered(review))
    for _ in range(MOST_TRIED):
        if not waiting:
            break
        group = [one for one in waiting.pop(0) if found[one.at] is None]
        if group and isinstance(basis.with_edits(group), Review):
            for at, edit in group:
                found[at] = edit
        else:
            waiting += _halves(group)
    return tuple(found)


def mended(review: Review, again: Again, first: First | None = None, most: int = MOST_MENDING) -> Mended:
    """A plan with every edit made that mends it, each counting only as it does among the others.

    Those of one rule are tried together, in the order of the plan; those that mend are made, and the plan as it stands
    is asked anew, until no edit is left that mends it, or ``most`` groups were tried. Where none mends it alone, each
    is tried with what is offered for what it brings about.
    """
    made: list[Made] = []
    in_vain: set[tuple[str, tuple[str, ...]]] = set()
    while most > 0:
        basis = _Basis(review, again, first)

        def mark(one: _Tried, basis: _Basis = basis) -> tuple[str, tuple[str, ...]]:
            return basis.marks[one.at], tuple(put for _, put in one.edit.pieces)

        def rule(one: _Tried, basis: _Basis = basis) -> object:
            # what mends one finding often mends those of other rules with it, and makes it needless to move a step
            return one if one.edit.moves else basis.review.findings[one.at].slug

        offered = sorted(_offered(review), key=lambda one: min(span.start for span, _ in one.edit.pieces))
        waiting = _apart((one for one in offered if mark(one) not in in_vain), rule)
        # what failed alone before may do now, but is not tried again with others, which would fail with it
        waiting += [[one] for one in offered if mark(one) in in_vain]
        better: Review | None = None
        barred: list[_Tried] = []
        while waiting and most > 0 and better is None:
            group = waiting.pop(0)
            after, most = basis.with_edits(group), most - 1
            if isinstance(after, Review):
                better = after
                made += [_made(review, one) for one in group]
            elif len(group) > 1:
                waiting = [*_halves(group), *waiting]
            else:
                in_vain.add(mark(group[0]))
                barred.append(group[0])
        vain: list[Vain] = []
        for one in barred if better is None else ():
            offer, after = _made(review, one), basis.whole([one])
            assert isinstance(after, _Barred)
            then = after.then(offer)
            if then and most > 0:
                better, most = basis.followed([one], after.review.plan.source, [edit for edit, _ in then]), most - 1
            if better is not None:
                more = (f"and at {step or 'the end'}, {edit.says}" for edit, step in then)
                made.append(offer._replace(says="; ".join((offer.says, *more))))
                break
            vain.append(after.why(offer))
        if better is None:
            return Mended(review, tuple(made), bool(waiting), tuple(vain))
        review = better
    return Mended(review, tuple(made), True)


def _made(review: Review, one: _Tried) -> Made:
    finding = review.findings[one.at]
    return Made(finding.slug, _step(finding, review), one.edit.says)


def _step(finding: Finding, review: Review) -> str:
    """The step that a finding is reported at, in a few words; for what is asked at the end, the step on its line."""
    of_line = (action for action in review.plan.actions if action.span == finding.span)
    return step_of(finding, review.plan) or next(map(step_label, of_line), "")


class _Barred(NamedTuple):
    """Why edits do not mend a plan: the review of it with them, what that finds newly, and a rule that was met and is
    not asked any more."""

    review: Review
    new: tuple[Finding, ...]
    unasked: str

    def why(self, offer: Made) -> Vain:
        """In words that need no review."""
        if self.new:
            return Vain(*offer, self.new[0].kind, self.new[0].slug, self.new[0].message)
        return Vain(*offer, None, self.unasked)

    def then(self, offer: Made) -> list[tuple[Edit, str]]:
        """What is offered, and at which step, once the edit is made that mends nothing alone: for what it brought
        about, or, where that is nothing, for what its rule still finds."""
        source = self.review.plan.source
        edits: list[tuple[Edit, str]] = []
        lines: set[int] = set()
        for finding in self.new or [one for one in self.review.open_findings if one.slug == offer.slug]:
            edit = next((one for one in finding.repairs if one.says != offer.says), None)
            if edit is not None and all(span.source is source and span.line not in lines for span, _ in edit.pieces):
                lines |= {span.line for span, _ in edit.pieces}
                edits.append((edit, _step(finding, self.review)))
        return edits


class _Basis:
    """A review that edits are tried on."""

    def __init__(self, review: Review, again: Again, first: First | None = None) -> None:
        self.review = review
        self.again = again
        self.first = first
        self.marks = fingerprints(review)
        self.known = _kinds(review)
        self.met = {one.rule.slug for one in review.outcomes if one.truth is Truth.TRUE}

    def with_edits(self, group: Sequence[_Tried]) -> Review | _Barred:
        """The review of the plan with these edits made, if they mend it; else why not.

        It must be read as far as before, have none of their findings any more and none that it did not have, break
        nothing that was not shown, and come to each rule that was met before, unless all that changed is the order of
        two ends. Of a step that an edit words anew, a finding is one that it had where its rule has no more of them
        than before.
        """
        if self.first is not None:
            later: set[str] = set()
            sooner = self.first(self._edited(group), later)
            judged = self._judged(sooner, group, _worded_anew(self.review.plan.source, group), later)
            if not later or isinstance(judged, _Barred):
                return judged
        return self.whole(group)

    def whole(self, group: Sequence[_Tried]) -> Review | _Barred:
        """The same, by every rule at once."""
        return self._judged(self.again(self._edited(group)), group, _worded_anew(self.review.plan.source, group))

    def _edited(self, group: Sequence[_Tried]) -> Source:
        return edited(self.review.plan.source, [edit for _, edit in group])

    def followed(self, group: Sequence[_Tried], source: Source, then: Sequence[Edit]) -> Review | None:
        """The review of the plan as it is with edits that mend nothing alone, and others made ``then``, if it is
        mended."""
        after = self._judged(self.again(edited(source, then)), group, set())
        return after if isinstance(after, Review) else None

    def _judged(
        self, after: Review, group: Sequence[_Tried], anew: set[int], later: Set[str] = frozenset()
    ) -> Review | _Barred:
        """The review of a plan with edits if it is mended, as far as rules other than those left for ``later`` say."""
        new = [
            finding
            for mark, finding in zip(fingerprints(after), after.findings, strict=True)
            if not self._had(mark, finding, after, anew)
        ]
        left, unasked = _kinds(after), set() if all(map(_reorders, group)) else self.met - _asked(after) - later
        if not new and not unasked and not any(self.marks[at] in left for at, _ in group):
            return after
        unread_first = sorted(new, key=lambda finding: finding.kind is not Kind.UNREAD)
        return _Barred(after, tuple(unread_first), min(unasked, default=""))

    def _had(self, mark: str, finding: Finding, after: Review, anew: set[int]) -> bool:
        """Whether a finding of the plan with edits is one that it had, or had worse."""
        if mark in self.known:
            return finding.kind in (self.known[mark], Kind.UNSHOWN)
        return finding.span.line in anew and _count(after, finding) <= _count(self.review, finding)


def _reorders(tried: _Tried) -> bool:
    """Whether an edit puts the same words in another order; what is asked of the wrong order alone need not come."""
    return sorted(span.text for span, _ in tried.edit.pieces) == sorted(put for _, put in tried.edit.pieces)


def _worded_anew(source: Source, group: Sequence[_Tried]) -> set[int]:
    """The lines, as they are numbered with the edits made, in which these put words in the place of others."""
    lines, below = set(), 0
    for span, put in sorted((piece for _, edit in group for piece in edit.pieces), key=lambda piece: piece[0].start):
        if put and "\n" not in put:
            lines.add(source.position(span.start).line + below)
        below += put.count("\n") - span.text.count("\n")
    return lines


def _count(review: Review, like: Finding) -> int:
    return sum(one.slug == like.slug and like.kind in (one.kind, Kind.UNSHOWN) for one in review.findings)


def _kinds(review: Review) -> dict[str, Kind]:
    """How each finding came about, by its fingerprint, which is the same for a rule broken and not shown."""
    return {mark: one.kind for mark, one in zip(fingerprints(review), review.findings, strict=True)}


def _asked(review: Review) -> set[str]:
    """The rules that the plan comes to."""
    return {one.rule.slug for one in review.outcomes if one.truth is not None}


def _offered(review: Review) -> Iterator[_Tried]:
    """The edits that rules offer for findings that no waiver covers, within the plan's own file."""
    source = review.plan.source
    for at, finding in enumerate(review.findings):
        for edit in finding.repairs if finding.waiver is None else ():
            if all(span.source is source for span, _ in edit.pieces):
                yield _Tried(at, edit)


def _halves(group: list[_Tried]) -> list[list[_Tried]]:
    half = len(group) // 2
    return [group[:half], group[half:]] if half else []


def _apart(edits: Iterable[_Tried], rule: Callable[[_Tried], object] = lambda _: "") -> list[list[_Tried]]:
    """Edits in groups within which no two are of one finding or line or say the same, and all are of one ``rule``."""
    groups: list[tuple[object, set[object], list[_Tried]]] = []
    for one in edits:
        marks: set[object] = {("finding", one.at), one.edit.says, *(span.line for span, _ in one.edit.pieces)}
        mine = rule(one)
        for of, taken, members in groups:
            if of == mine and not taken & marks:
                taken |= marks
                members.append(one)
                break
        else:
            groups.append((mine, marks, [one]))
    return [members for *_, members in groups]
