"""A review as text for people: findings in line order, the ask list, one line that sums up."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

from groundlint.findings.model import Ask, Finding, Kind, Review
from groundlint.findings.unread import NotRead, not_read
from groundlint.plan.models import Plan
from groundlint.text import Severity, Span
from groundlint.text.columns import marked_line
from groundlint.words.rows import counted

MOST_ASKS = 12
"""Asks printed; the rest are counted."""
MOST_WAITING = 3
"""Rules named that wait for a fact; the rest are counted."""
MOST_NARROWING = 3
"""Values printed of those that are assumed between bounds and may do instead of each other; the rest are counted."""
MOST_RELATED = 4
"""Related lines printed under a finding; the rest are counted."""

MOST_LINES = 8
"""Lines that use a name declared nowhere which are named; the rest are counted."""

MOST_ALIKE = 12
"""Further findings of the same rule on the same line that are printed, a line each; the rest are counted."""

ANSI = {
    Severity.DANGER: "\x1b[1;31m",
    Severity.WARNING: "\x1b[1;33m",
    Severity.CAUTION: "\x1b[33m",
    Severity.NOTICE: "\x1b[36m",
}
_RESET, _BOLD, _DIM = "\x1b[0m", "\x1b[1m", "\x1b[2m"
CODES = (*ANSI.values(), _RESET, _BOLD, _DIM)
"""All that this report sends to a terminal but text."""

Paint = Callable[[str, str], str]


def _painter(colour: bool) -> Paint:
    return (lambda code, text: f"{code}{text}{_RESET}") if colour else (lambda _code, text: text)


def review_text(review: Review, *, why: bool = False, colour: bool = False, everything: bool = False) -> str:
    """The report of one plan, ending in a line end. Where a statement was not read, what the rules say rests on a plan
    that nobody wrote, so that the statements not read are all there is, unless ``everything`` is asked for."""
    paint = _painter(colour)
    lines = [] if everything else _not_read_alone(review, paint)
    if lines:
        return "\n".join(lines) + "\n"
    apart = why or everything
    # what is not stated is asked for once, below, and not again at each line that waits for it
    shown = [one for one in review.open_findings if apart or one.kind is not Kind.UNSHOWN or not one.gaps]
    for place in _places(_groups(shown, apart=why), apart=why):
        lines.extend(_at_one_place(place, paint, why))
    if review.waived:
        as_of = f", as of {review.as_of}" if review.as_of is not None else ""
        lines.append(paint(_BOLD, f"Waived in the plan{as_of}:"))
        for finding in review.waived:
            waiver = finding.waiver
            assert waiver is not None
            lines.append(f"  {finding.span.address}: {finding.message} [{finding.slug}]")
            lines.append(
                f'    waived at {waiver.span.called} until {waiver.until} by {waiver.approved}: "{waiver.because}"'
            )
        lines.append("")
    lines.extend(_left(review, paint))
    there = (one.span for one in shown if one.kind is not Kind.UNSHOWN and one.span.source is review.plan.source)
    broken = [span.called for span in sorted(there, key=lambda span: span.start)]
    every = len(review.outcomes)
    lines.extend(_asks(review, paint, MOST_ASKS if broken else every + len(review.asks())))
    lines.extend(_never_asked(review, paint))
    if broken:
        lines.append(f"To change: {places(broken)}")
    lines.append(_summary(review))
    return "\n".join(lines) + "\n"


def review_notes(review: Review, *, everything: bool = False) -> list[tuple[Span, str]]:
    """What the report says, to be written beside the words of the plan: where, and what. Each finding that no waiver
    covers, and each thing that is not stated, where it goes; where a statement was not read, what was not alone,
    unless ``everything`` is asked for."""
    plan = review.plan
    unread = [] if everything else [_Group(one.finding) for one in not_read(review.findings)]
    stated = [one for one in review.open_findings if one.kind is not Kind.UNSHOWN or not one.gaps]
    found = []
    for group in unread or _groups(stated, apart=True):
        first = group.first
        away = "" if first.span.source is plan.source else f"{first.span.address}: "
        rows = [f"{away}{first.level.word}: {first.message} [{first.slug}]", *(row.strip() for row in _more(group))]
        found.append((plan.start if away else first.span, "\n".join(rows)))
    for ask in () if unread else review.asks():
        place = ask.paste.edit.pieces[0][0] if ask.paste is not None else ask.where
        where = place if place is not None and place.source is plan.source else plan.start
        waiting = ", ".join(ask.rules[:MOST_WAITING])
        found.append((where, f"{ask.level.word}: not stated: {ask.fact} [{waiting}]\n{ask.how(plan)}"))
    return found


def broken_text(review: Review, gate: Severity, *, colour: bool = False) -> str:
    """What is broken at or above a gate, alone; empty where nothing is."""
    paint = _painter(colour)
    found = [one for one in review.open_findings if one.kind is not Kind.UNSHOWN and one.level >= gate]
    lines = [
        line
        for place in _places(_groups(found, apart=False), apart=False)
        for line in _at_one_place(place, paint, False)
    ]
    return "".join(f"{line}\n" for line in lines)


def ask_text(fact: str, how: str, level: Severity = Severity.DANGER) -> str:
    """One thing to state, and how."""
    return f"  {level.word}: {fact}\n    {how}\n"


def _not_read_alone(review: Review, paint: Paint) -> list[str]:
    """The report of a plan in which a statement was not read: those statements; of any other plan, nothing."""
    unread = not_read(review.findings)
    if not unread:
        return []
    waiting = sum(one.truth is not None for one in review.outcomes)
    return [
        *(line for one in unread for line in _not_read(one, paint)),
        f"{counted(waiting, 'rule')} wait until this is read; --all shows what can be said of the rest before then",
        f"{review.plan.source.name}: {_not_whole(review)} (books: {', '.join(review.books)})",
    ]


def places(called: Iterable[str], most: int = MOST_LINES) -> str:
    """Places as people call them, each once: ``lines 3, 4 and 2 more``."""
    every = list(dict.fromkeys(called))
    found: dict[str, list[str]] = {}
    for one in every[:most]:
        word, _, number = one.partition(" ")
        found.setdefault(word, []).append(number)
    said = ", ".join(f"{word}{'s' * (len(some) > 1)} {', '.join(some)}" for word, some in found.items())
    return said + f" and {len(every) - most} more" * (len(every) > most)


class _Group(NamedTuple):
    """Findings that are one thing to the writer: the one printed whole, the rules and lines that wait for the same
    facts, and what the same rule finds of other things."""

    first: Finding
    waiting: tuple[Finding, ...] = ()
    alike: tuple[Finding, ...] = ()


def _groups(findings: Sequence[Finding], apart: bool) -> list[_Group]:
    """One mistake once, under the gravest of what is found of it: rules that wait for the same facts; a rule that is
    broken at several steps; ten leads declared in one line that lack the same date. ``apart`` keeps lines apart."""
    same: dict[object, list[Finding]] = {}
    for finding in findings:
        facts = frozenset(gap.fact for gap in finding.gaps) if finding.kind is Kind.UNSHOWN and not apart else None
        same.setdefault(facts or id(finding), []).append(finding)
    kept: dict[object, list[list[Finding]]] = {}
    for group in same.values():
        group.sort(key=lambda one: -one.level)
        first = group[0]
        place = None if first.kind is Kind.BROKEN and not apart else (first.span.source.name, first.span.line)
        kept.setdefault((first.kind, place, first.slug, frozenset(one.slug for one in group)), []).append(group)
    found = (_Group(one[0], tuple(one[1:]), tuple(group[0] for group in more)) for one, *more in kept.values())
    return sorted(found, key=lambda group: (*group.first.place(), group.first.message))


def _places(groups: Sequence[_Group], apart: bool) -> list[list[_Group]]:
    """Groups by where they are: what is broken at one step stands under the gravest of it."""
    found: dict[object, list[_Group]] = {}
    for group in groups:
        first = group.first
        together = first.kind is Kind.BROKEN and not apart
        place = (first.span.source.name, first.span.start, first.span.end, first.use) if together else id(group)
        found.setdefault(place, []).append(group)
    return list(found.values())


def _at_one_place(groups: Sequence[_Group], paint: Paint, why: bool) -> Iterator[str]:
    """The first whole; of the others what they say more."""
    *lines, end = _finding(groups[0], paint, why)
    yield from lines
    for group in groups[1:]:
        one = group.first
        word = paint(ANSI[one.level], one.level.word)
        yield f"    also {word}: {one.message} {paint(_DIM, f'[{one.slug}]')}"
        yield f"      rule: {one.title} ({'; '.join(one.cites)}; {_books(one)})"
        if one.mend:
            yield f"      next: {one.mend}"
        yield from (f"  {line}" for line in _alike(group))
    yield end


def _alike(group: _Group) -> Iterator[str]:
    """What the same rule finds of other things."""
    for other in group.alike[:MOST_ALIKE]:
        away = f" in {other.span.called}" if other.span.line != group.first.span.line else ""
        yield f"    also{away}: {other.message.removeprefix('not shown: ')}"
    if len(group.alike) > MOST_ALIKE:
        yield f"    and {len(group.alike) - MOST_ALIKE} more like it"


def _finding(group: _Group, paint: Paint, why: bool) -> Iterator[str]:
    finding = group.first
    word = paint(ANSI[finding.level], finding.level.word)
    yield f"{paint(_BOLD, f'{finding.span.address}:')} {word}: {finding.message} {paint(_DIM, f'[{finding.slug}]')}"
    text, marks = marked_line(finding.span)
    if text.strip():
        number = str(finding.span.line) if finding.span.source.marks is None else ""
        yield f"  {number} | {text.rstrip()}"
        yield f"  {' ' * len(number)} | {paint(ANSI[finding.level], marks.rstrip())}"
    yield from _more(group)
    if why and finding.why is not None:
        if finding.because:
            yield f"    because: {finding.because}"
        yield from ("      " + row for row in finding.why.render().splitlines())
    yield ""


def _more(group: _Group) -> Iterator[str]:
    """What is said below a finding: the rule, other lines, what to do, what else is like it."""
    finding = group.first
    if finding.title:
        yield f"    rule: {finding.title} ({'; '.join(finding.cites)}; {_books(finding)})"
    found = {(span.source.name, span.line, words): (span, words) for span, words in finding.related}
    related = sorted(found.values(), key=lambda entry: (entry[0].source is not finding.span.source, entry[0].start))
    for span, words in related[:MOST_RELATED]:
        yield (
            f"    {span.called}: {words.removeprefix(f'{span.called}, ')}"
            if span.source is finding.span.source
            else f"    {span.source.name}:{span.line}: {words}"
        )
    if len(related) > MOST_RELATED:
        yield f"    and {counted(len(related) - MOST_RELATED, 'more line')}"
    if finding.count > 1:
        after = "step" if finding.count == 2 else f"{finding.count - 1} steps"
        yield f"    the same holds for the {after} after it"
    if finding.mend:
        yield f"    next: {finding.mend}"
    yield from _alike(group)
    yield from _waiting(group)


def _waiting(group: _Group) -> Iterator[str]:
    """The other rules and lines that wait for the same facts, the gravest first."""
    finding = group.first
    lines: dict[tuple[Severity, str], dict[str, None]] = {}
    for other in (finding, *group.waiting):
        lines.setdefault((other.level, other.slug), {})[other.span.called] = None
    by_level: dict[Severity, list[str]] = {}
    for (level, slug), called in lines.items():
        away = [one for one in called if one != finding.span.called]
        if slug == finding.slug and not away:
            continue
        by_level.setdefault(level, []).append(slug + (f" ({places(away)})" if away else ""))
    for level in sorted(by_level, reverse=True):
        yield f"    also not shown, {level.word}: {', '.join(by_level[level])}"


def _not_read(one: NotRead, paint: Paint) -> Iterator[str]:
    *lines, end = _finding(_Group(one.finding), paint, why=False)
    yield from lines
    if one.again:
        yield f"    also in {places(span.called for span in one.again)}"
    if one.uses:
        lines_ = places(use.called for use in one.uses)
        names = ", ".join(one.names)
        verb = "is" if len(one.names) == 1 else "are"
        yield f"    {names} {verb} declared nowhere else, and used in {lines_}" if names else f"    also in {lines_}"
    yield end


def _books(finding: Finding) -> str:
    """The book that the rule stands in, and the books that asked it where they are not the same."""
    if finding.book in finding.under:
        return f"book {finding.book}"
    return f"book {finding.book}, by {' and '.join(finding.under)}"


def _left(review: Review, paint: Paint) -> Iterator[str]:
    """What the plan leaves on for the part of the job after it, which owes it."""
    by_holder: dict[str, list[str]] = {}
    for left in review.plan.leaves:
        names = by_holder.setdefault(f"the clearance of {left.holder}" if left.holder else "no clearance named", [])
        names.append(left.thing.name)
    if by_holder:
        yield paint(_BOLD, "Left on for the next part of the job, which begins with it:")
        yield from (f"  {', '.join(names)}, under {holder}" for holder, names in by_holder.items())
        yield ""


def _asks(
    review: Review, paint: Paint, most: int = MOST_ASKS, rules: int = MOST_WAITING, narrowing: int = MOST_NARROWING
) -> Iterator[str]:
    asks = review.asks()
    if not asks:
        return
    yield paint(_BOLD, "To state: the plan does not say this, and rules wait for it")
    groups: list[list[Ask]] = []
    for ask in asks:  # of what is assumed between bounds, all that the same rules wait for is one thing to ask
        beside = (one for one in groups if ask.narrows and one[0].narrows and set(ask.rules) <= set(one[0].rules))
        if (group := next(beside, None)) is not None:
            group.append(ask)
        else:
            groups.append([ask])
    for first, *more in groups[:most]:
        if more:
            yield f"  {_asked(first, 'values that are assumed between bounds', paint, rules)}"
            yield from _any_of([first, *more], review.plan, narrowing)
        else:
            yield f"  {_asked(first, first.fact, paint, rules)}"
            yield f"    {first.how(review.plan)}"
    if len(groups) > most:
        yield f"  and {len(groups) - most} more; --ask shows all"
    yield ""


def _any_of(group: Sequence[Ask], plan: Plan, most: int) -> Iterator[str]:
    """What may be wrong within the bounds of assumed values, and which of these to state, any of which may do."""
    found: dict[str, Finding] = {}
    for one in (one for ask in group for one in ask.waiting):
        if one.slug not in found and one.possible[0]:
            found[one.slug] = one
    for one in (found[slug] for slug in group[0].rules if slug in found):
        message, mend = one.possible
        yield f"    {one.span.called}: it may be that {message}"
        yield from [f"      {mend}"] if mend else []
    placed = [ask for ask in group if ask.paste is not None] or group
    one_of = "or state one" if found else "state one"
    yield f"    {one_of} that you know and review again; all are seldom needed, and the first counts most:"
    yield from (f"    {ask.how(plan)}" for ask in placed[:most])
    if len(placed) > most:
        yield f"    or one of {len(placed) - most} more, which --ask shows"


def _asked(ask: Ask, fact: str, paint: Paint, rules: int) -> str:
    """What is asked for, how grave that is, and the rules that wait for it."""
    named = ", ".join(ask.rules[:rules]) + f" and {len(ask.rules) - rules} more" * (len(ask.rules) > rules)
    return f"{paint(ANSI[ask.level], ask.level.word)}: {fact} {paint(_DIM, f'[{named}]')}"


def asks_text(review: Review, *, colour: bool = False, everything: bool = False) -> str:
    """A form to fill in: all that the plan does not state and rules wait for; before that, what was not read alone,
    unless ``everything`` is asked for."""
    paint, every = _painter(colour), len(review.outcomes)
    if not everything and (lines := _not_read_alone(review, paint)):
        return "\n".join(lines) + "\n"
    lines = list(_asks(review, paint, every + len(review.asks()), every, len(review.asks())))
    return "\n".join([*lines, _summary(review)]) + "\n"


def _never_asked(review: Review, paint: Paint) -> Iterator[str]:
    groups = review.never_asked()
    if not groups:
        return
    every = sum(len(one.rules) for one in groups)
    yield paint(_BOLD, f"{counted(every, 'danger rule')} not asked, since this is never so in the plan:")
    named = [one for one in groups if len(one.rules) > 1][:MOST_LACKING]
    for one in named:
        yield f"  {counted(len(one.rules), 'rule')}: {one.lacking}"
    if len(named) < len(groups):
        rest = every - sum(len(one.rules) for one in named)
        yield f"  {counted(rest, 'rule')}: other things, which `--format json` names"
    yield ""


def _summary(review: Review) -> str:
    counts = review.counts()
    said = ", ".join(
        [f"{counted(counts['broken'], 'rule')} broken"]
        + [f"{counts[word]} {word}" for word in counts if word != "broken" and (counts[word] or word != "waived")]
    )
    odd = sum(f.kind is Kind.IMPOSSIBLE for f in review.findings)
    more = [_not_whole(review)] * bool(not_read(review.findings))
    more += [f"{counted(odd, 'place')} where the plan does not fit itself"] * bool(odd)
    said = "; ".join([*more, said])
    return f"{review.plan.source.name}: {said} (books: {', '.join(review.books)})"


def _not_whole(review: Review) -> str:
    return f"{counted(sum(f.kind is Kind.UNREAD for f in review.findings), 'statement')} not read"


MOST_LACKING = 6
"""Reasons named for which rules were not asked; the rules of the others are counted."""
