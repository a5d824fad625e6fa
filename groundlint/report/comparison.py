"""A comparison of two revisions as text for people."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from groundlint.facts.kinds import kind_of
from groundlint.findings.compare import Comparison, RuleChange, StepChange, ValueChange, amount
from groundlint.findings.margins import MarginChange
from groundlint.findings.model import Finding, Kind, Review
from groundlint.findings.protections import Loss
from groundlint.text import Severity, Span
from groundlint.words.quantities import figures

MOST_STEPS = 6
"""Steps of one line, as a routine makes them, that are named; the rest are counted."""


VERDICTS = ("worse", "changed", "better", "the same")


def verdict_of(comparison: Comparison, gate: Severity) -> str:
    """The comparison in one of the words of `VERDICTS`."""
    if comparison.status(gate):
        return "worse"
    if comparison.same:
        return "the same"
    return "better" if comparison.better else "changed"


def comparison_text(comparison: Comparison, gate: Severity, *, only_worse: bool = False) -> str:
    """The whole comparison of one plan, ending in a line end; ``only_worse`` leaves out what did not get worse."""
    new = comparison.new.plan
    rows = [f"{new.source.name}: {verdict_of(comparison, gate)}{_revisions(comparison)}"]
    rows += _protections("less", comparison.less)
    rows += _steps("lost", comparison.lost)
    rows += _rules(comparison.rules_lost)
    rows += [
        f"  lost: {kind_of(thing)} {thing}, {thing.span.called} of the old plan" for thing in comparison.things_lost
    ]
    rows += _margins(comparison.margins, narrower=True)
    if not only_worse:
        rows += _protections("more", comparison.more)
        rows += _steps("gained", comparison.gained)
        rows += _rules(comparison.rules_gained)
        rows += [f"  gained: {kind_of(thing)} {thing}, {thing.span.called}" for thing in comparison.things_gained]
        rows += _margins(comparison.margins, narrower=False)
    rows += _steps("moved", comparison.moved)
    rows += _steps("changed", comparison.changed)
    rows += _values(comparison.values)
    if comparison.renamed and not only_worse:
        rows.append("  renamed: " + ", ".join(f"{old} -> {name}" for old, name in comparison.renamed))
    rows += [_finding(finding, "new") for finding in comparison.findings_new]
    rows += [_finding(finding, f"was {_state(was)}") for finding, was in comparison.findings_worsened]
    rows += [
        _finding(finding, f"was {_state(was)}")
        for finding, was in comparison.findings_eased
        if not only_worse or finding.waiver is not None
    ]
    if not only_worse:
        rows += [f"  fixed: {one.message} [{one.slug}]" for one in comparison.findings_fixed]
    rows.append("  " + _counts(comparison))
    if comparison.waived_anew(gate):
        rows.append(
            "  waiving what was not waived before makes it worse, unless a book says that the rule may be waived"
        )
    elif comparison.status(gate) and not comparison.grave(gate):
        rows.append(
            "  no finding at or above the gate is new; what protected somebody before, and does no more, makes it worse"
        )
    return "\n".join(rows) + "\n"


def new_plan_text(review: Review, gate: Severity) -> str:
    """A plan that has no old one, with all its findings at or above the gate."""
    found = [f for f in review.findings if f.level >= gate or f.kind is Kind.UNREAD]
    rows = [f"{review.plan.source.name}: new, {review.word(gate)}", *(_finding(f, "new") for f in found)]
    return "\n".join(rows) + "\n"


def _revisions(comparison: Comparison) -> str:
    old, new = comparison.old.plan, comparison.new.plan
    if old.document != new.document:
        return f" ({old.document or 'no document'} -> {new.document or 'no document'})"
    if old.revision != new.revision:
        return f" ({new.document}, revision {old.revision or 'none'} -> {new.revision or 'none'})"
    return ""


def _steps(word: str, steps: Sequence[StepChange]) -> Iterator[str]:
    """Steps that stand in one line together."""
    groups: dict[tuple[object, ...], list[StepChange]] = {}
    for step in steps:
        place = step.new or step.old
        groups.setdefault((place.source.name, place.start) if place else (), []).append(step)
    for group in groups.values():
        first = group[0]
        names = [step.words + (f" ({'; '.join(step.how)})" if step.how else "") for step in group]
        more = f", and {len(names) - MOST_STEPS} more" if len(names) > MOST_STEPS else ""
        mark = "" if any(step.protective for step in group) else " (no protective step)"
        yield f"  {word}: {_lines(first.old, first.new)}: {'; '.join(names[:MOST_STEPS])}{more}{mark}"


def _protections(word: str, losses: Sequence[Loss]) -> Iterator[str]:
    """What protected, of which things, by which step; and the first moment without it. Things alike are in one line."""
    plan, so = ("old", "no longer so") if word == "less" else ("new", "was not so")
    of_one: dict[tuple[object, ...], list[Loss]] = {}
    for one in losses:
        by_line = one.given.called if one.given is not None else ""
        of_one.setdefault((one.thing, by_line, one.old, one.new, not one.moment), []).append(one)
    alike: dict[tuple[object, ...], list[Loss]] = {}
    for (_, given, *_), found in of_one.items():
        words = ", ".join(dict.fromkeys(one.words for one in found))
        first = found[0]._replace(words=words, more=max(one.more for one in found))
        alike.setdefault((words, given, not first.moment), []).append(first)
    for (_, given, _), group in alike.items():
        first, more = group[0], max(one.more for one in group)
        by = f" ({given} of the {plan} plan)" if given else ""
        things = ", ".join(one.thing for one in group)
        place = _lines(*((first.old, first.new) if word == "less" else (first.new, first.old)))
        when = f"when {first.moment}{', ' * bool(place)}{place}" if first.moment else "at any step"
        others = f", and at {more} moment{'s' * (more > 1)} more" if more else ""
        yield f"  {word}: {things}: {first.words}{by}; {so} {when}{others}"


def _lines(old: Span | None, new: Span | None) -> str:
    if old is None or new is None:
        if old is not None:
            return f"{old.called} of the old plan"
        return new.called if new is not None else ""
    return new.called + (f" (was {old.called.removeprefix('line ')})" if old.called != new.called else "")


def _rules(changes: Sequence[RuleChange]) -> Iterator[str]:
    for change in changes:
        yield f"  rule: {change.title}: was {change.old}, is {change.new} [{change.slug}]"


def _margins(changes: Sequence[MarginChange], *, narrower: bool) -> Iterator[str]:
    word = "narrower" if narrower else "wider"
    groups: dict[tuple[object, ...], list[MarginChange]] = {}
    for change in changes:
        if change.narrower is narrower:
            groups.setdefault((change.words, change.old, change.new), []).append(change)
    for first, *others in groups.values():
        things = ", ".join(change.thing for change in (first, *others))
        digits = figures(first.old, first.new)
        before, after = (amount(one, first.unit, digits) for one in (first.old, first.new))
        yield f"  {word}: {things}: {first.words}, {before} -> {after}"


def _values(changes: Sequence[ValueChange]) -> Iterator[str]:
    groups: dict[tuple[str, str | None, str | None, str], list[ValueChange]] = {}
    for change in changes:
        place = change.place.called if change.place is not None else ""
        groups.setdefault((change.attribute, change.old, change.new, place), []).append(change)
    for (_, _, _, place), group in groups.items():
        where = f"{place}: " if place else ""
        first = group[0]
        things = ", ".join(change.subject for change in group)
        before, after = first.old or "not stated", first.new or "not stated"
        yield f"  changed: {where}{first.attribute} of {things}, {before} -> {after}"


def _state(finding: Finding) -> str:
    return "waived" if finding.waiver is not None else finding.kind.value


def _finding(finding: Finding, word: str) -> str:
    waived = ", waived" if finding.waiver is not None else ""
    said = finding.message if finding.kind is not Kind.UNREAD else f"not read: {finding.message}"
    return f"{finding.span.address}: {finding.level.word}: {said} [{finding.slug}] ({word}{waived})"


def _counts(comparison: Comparison) -> str:
    counts = (
        (len(comparison.findings_new), "new"),
        (len(comparison.findings_worsened), "worse"),
        (len(comparison.findings_eased), "eased"),
        (len(comparison.findings_fixed), "fixed"),
        (len(comparison.findings_carried), "carried"),
    )
    return "findings: " + ", ".join(f"{count} {word}" for count, word in counts)


def comparing_closing(verdicts: Sequence[str], added: int, gone: int, failures: int, settings: Sequence[str]) -> str:
    """The last lines of a run of comparisons: verdicts, plans added and gone, and those not compared."""
    counts = [f"{verdicts.count(word)} {word}" for word in VERDICTS if word in verdicts]
    counts += [f"{added} new"] * bool(added) + [f"{gone} gone"] * bool(gone)
    counts += [f"{failures} not compared"] * bool(failures)
    total = len(verdicts) + added + gone + failures
    lines = [f"{total} plan{'' if total == 1 else 's'}: {', '.join(counts)}"]
    if settings:
        lines.append(f"settings: {', '.join(settings)}")
    return "\n".join(lines) + "\n"
