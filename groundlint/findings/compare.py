"""Two reviews compared by meaning: what a revision of a plan gained and lost, and which findings are new.

A revision is worse if a finding at or above the gate is new or has become graver; and, whether or not a rule sees it,
if something that protected somebody does so no more, or a margin that the plan states is narrower. Where the old plan
had open findings, a rule that was met and is no longer asked counts too, since the others can fall no further.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

from groundlint.findings.likeness import (
    MARKED,
    Label,
    Likeness,
    labels,
    likeness,
    value_differences,
    value_key,
    values_of,
)
from groundlint.findings.margins import MarginChange, changed_margins, computed_margins, margins
from groundlint.findings.model import Finding, Kind, Review
from groundlint.findings.protections import Loss, less_protected
from groundlint.plan.models import Action, Plan, PointRef, Thing
from groundlint.steps import KINDS, step_label
from groundlint.text import Severity, Span
from groundlint.values import Gap, Truth
from groundlint.values.units import UNITS as UNIT_TABLE
from groundlint.words.quantities import rounded

FOOT = UNIT_TABLE["ft"].factor

_WORDS = {Truth.FALSE: "broken", Truth.UNKNOWN: "not shown", Truth.TRUE: "met", None: "not asked"}
_RANK = {Kind.WAIVER: 1, Kind.UNSHOWN: 1, Kind.BROKEN: 2, Kind.IMPOSSIBLE: 2, Kind.UNREAD: 3}


@dataclass(frozen=True)
class StepChange:
    """A step lost, gained, moved or changed. ``old`` and ``new`` are its places; ``words`` name it.

    ``how`` says what is otherwise: the values of a changed step, the step that a moved one now follows.
    """

    words: str
    old: Span | None
    new: Span | None
    protective: bool
    how: tuple[str, ...] = ()


@dataclass(frozen=True)
class RuleChange:
    """A rule whose worst outcome has changed."""

    slug: str
    title: str
    level: Severity
    old: str
    new: str


@dataclass(frozen=True)
class ValueChange:
    """Something stated otherwise of the same thing, or of the plan. ``None`` is not stated; ``site`` is whether it says
    how things are there, not what is used."""

    subject: str
    attribute: str
    old: str | None
    new: str | None
    place: Span | None
    site: bool = True


@dataclass(frozen=True)
class Comparison:
    """What a revision changed, in the order of the plan. Findings of ``new`` reviews stand in the new plan.

    ``worsened`` are pairs of a finding and what it was: not shown and now broken, waived and now open.
    """

    old: Review
    new: Review
    renamed: tuple[tuple[str, str], ...]
    lost: tuple[StepChange, ...]
    gained: tuple[StepChange, ...]
    moved: tuple[StepChange, ...]
    changed: tuple[StepChange, ...]
    things_lost: tuple[Thing, ...]
    things_gained: tuple[Thing, ...]
    rules_lost: tuple[RuleChange, ...]
    rules_gained: tuple[RuleChange, ...]
    values: tuple[ValueChange, ...]
    margins: tuple[MarginChange, ...]
    less: tuple[Loss, ...]
    more: tuple[Loss, ...]
    findings_new: tuple[Finding, ...]
    findings_worsened: tuple[tuple[Finding, Finding], ...]
    findings_eased: tuple[tuple[Finding, Finding], ...]
    findings_fixed: tuple[Finding, ...]
    findings_carried: tuple[Finding, ...]

    @property
    def same(self) -> bool:
        """Whether nothing but names, numbers, layout, title, revision and date is otherwise."""
        return not any(
            (
                self.lost,
                self.gained,
                self.moved,
                self.changed,
                self.things_lost,
                self.things_gained,
                self.values,
                self.findings_new,
                self.findings_worsened,
                self.findings_eased,
                self.findings_fixed,
                self.rules_lost,
                self.rules_gained,
                self.less,
                self.more,
            )
        )

    def grave(self, gate: Severity) -> tuple[Finding, ...]:
        """Open findings at or above the gate that are new or worse."""
        every = (*self.findings_new, *(finding for finding, _ in self.findings_worsened))
        return tuple(f for f in every if f.waiver is None and (f.level >= gate or f.kind is Kind.UNREAD))

    def waived_anew(self, gate: Severity) -> tuple[Finding, ...]:
        """Findings at or above the gate that are waived and were not, of rules that no book says may be waived."""
        eased = (finding for finding, was in self.findings_eased if was.waiver is None)
        return tuple(
            finding
            for finding in (*self.findings_new, *eased)
            if finding.waiver is not None and finding.level >= gate and finding.slug not in self.new.waivable
        )

    def status(self, gate: Severity) -> int:
        """0 if the revision is no worse, 1 if something broke, was lost, or is waived that was not, 2 if something is
        no longer shown."""
        grave = self.grave(gate)
        if any(finding.kind is not Kind.UNSHOWN for finding in grave) or (
            self.new.plan.unread and not self.old.plan.unread
        ):
            return 1
        return 1 if self.reduced(gate) or self.waived_anew(gate) else 2 if grave else 0

    def reduced(self, gate: Severity) -> bool:
        """Whether something that protects is gone or narrower, if the rules still hold or not.

        A margin that is only computed to be narrower does not count: the site's numbers may be what has changed.
        """
        asked_no_more = (change.level >= gate and change.new == _WORDS[None] for change in self.rules_lost)
        rules = self.old.status(gate) != 0 and any(asked_no_more)
        narrower = any(margin.narrower and not margin.computed for margin in self.margins)
        return bool(self.less) or rules or narrower

    @property
    def better(self) -> bool:
        """Whether something protects more, or a finding is gone for another reason than that the site is stated anew;
        and nothing above a notice is found that was not."""
        found = (*self.findings_new, *(finding for finding, _ in self.findings_worsened))
        if any(finding.waiver is None and finding.level > Severity.NOTICE for finding in found):
            return False
        restated = any(change.site and change.old is not None for change in self.values)
        mended = self.findings_fixed or self.findings_eased or self.rules_gained
        return bool(self.more) or (bool(mended) and not restated)


def compare(old: Review, new: Review) -> Comparison:
    """What the new review's plan gained and lost beside the old one's. Both must be held against the same books."""
    laid = likeness(old.plan, new.plan)
    one, other = labels(laid.things)
    first, second = old.plan.actions, new.plan.actions
    paired_new = frozenset(laid.things.values())
    news, worsened, eased, fixed, carried = _findings(old, new, laid)
    rules_lost, rules_gained = _rules(old, new)
    values = value_changes(old.plan, new.plan, laid)
    steps = len(laid.kept) == len(first) == len(second)
    alike = steps and not values and len(laid.things) == len(old.plan.things) == len(new.plan.things)
    less, more = ((), ()) if alike else less_protected(old.plan, new.plan, laid)
    return Comparison(
        old,
        new,
        tuple((a.name, b.name) for a, b in laid.things.items() if a.name != b.name),
        tuple(_step(first[at], None) for at in laid.lost),
        tuple(_step(None, second[to]) for to in laid.gained),
        tuple(_step(first[at], second[to], (_after(second, to),)) for at, to in laid.moved),
        tuple(_step(first[at], second[to], _ways(first[at], second[to], one, other)) for at, to in laid.changed),
        tuple(thing for thing in old.plan.things if thing not in laid.things),
        tuple(thing for thing in new.plan.things if thing not in paired_new),
        rules_lost,
        rules_gained,
        values,
        _margins(old.plan, new.plan, one, other, alike),
        less,
        more,
        news,
        worsened,
        eased,
        fixed,
        carried,
    )


def _margins(old: Plan, new: Plan, one: Label, other: Label, alike: bool) -> tuple[MarginChange, ...]:
    """Those stated; and those computed, unless nothing is otherwise that a computation rests on."""
    stated = changed_margins(margins(old, one), margins(new, other))
    return stated if alike else stated + changed_margins(computed_margins(old, one), computed_margins(new, other))


# ------------------------------------------------------------- steps


def _step(old: Action | None, new: Action | None, how: tuple[str, ...] = ()) -> StepChange:
    action = new if new is not None else old
    assert action is not None
    return StepChange(
        step_label(action, numbered=False),
        _written(old),
        _written(new),
        KINDS[action.kind].protects is not None,
        how,
    )


def _written(action: Action | None) -> Span | None:
    """Where a step stands: for one of a routine, the line that does the routine."""
    return None if action is None else action.use or action.span


def _after(actions: Sequence[Action], at: int) -> str:
    return f"now after `{step_label(actions[at - 1], numbered=False)}`" if at else "now the first step"


def _ways(old: Action, new: Action, one: Label, other: Label) -> tuple[str, ...]:
    """What is otherwise of a step that does the same to the same thing."""
    found = []
    for slot in KINDS[new.kind].slots:
        before, after = old.slots.get(slot.name), new.slots.get(slot.name)
        if value_key(before, one) != value_key(after, other):
            found.append(f"{slot.name}: {said(before, slot.name) or 'none'} -> {said(after, slot.name) or 'none'}")
    return tuple(found)


UNITS = {
    "length": "m",
    "distance": "m",
    "depth": "m",
    "diameter": "m",
    "span_after": "m",
    "across": "m",
    "height": "m",
    "gap": "m",
    "apart": "m",
    "gmr": "m",
    "resistance": "ohm/m",
    "resistance_at": "C",
    "altitude": "m",
    "area": "m2",
    "voltage": "V",
    "lowest": "V",
    "highest": "V",
    "three_phase": "A",
    "to_ground": "A",
    "current": "A",
    "pickup": "A",
    "power": "VA",
    "frequency": "Hz",
    "clearing": "s",
    "breaker": "s",
    "time": "s",
    "footing": "ohm",
    "pole_ground_resistance": "ohm",
}
"""Units of attributes and slots, SI as the plan's records have them."""


STATED_DIGITS = 12
"""Digits of what a plan states: two values that differ are never written alike; past these a float has its own."""


def amount(value: float, unit: str, digits: int) -> str:
    """A quantity in words, lengths in feet too, to so many significant digits, and never less than whole units."""
    feet = f" ({rounded(value / FOOT, digits)} ft)" if unit == "m" else ""
    return f"{rounded(value, digits)} {unit}".rstrip() + feet


def said(value: object, name: str) -> str | None:
    """A value in words; None for what is not stated."""
    if value is None or isinstance(value, Gap):
        return None if value is None else "not stated"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return amount(value, UNITS.get(name, ""), STATED_DIGITS)
    if isinstance(value, Action):
        return step_label(value, numbered=False)
    if value == () and name == "shield":
        return "none"  # which the plan says
    if isinstance(value, tuple) and not isinstance(value, PointRef):
        return ", ".join(said(member, name) or "none" for member in value) or None
    return str(value)


# ------------------------------------------------------------- values

_OF_PLAN = {
    "method": "method",
    "small_neutral": "small neutral",
    "access": "access",
    "cautions": "cautions",
    "emergencies": "emergency",
    "no_grounds": "no grounds",
    "soil": "soil",
    "surface": "surface",
    "sources_complete": "no other source",
    "no_parallel": "no parallel line",
    "neighbours_complete": "no other neighbour",
    "part": "part of a job",
    "begins": "what it begins with",
    "leaves": "what it leaves",
    "measured": "measured values",
}
_DERIVED = frozenset({("Lead", "area"), ("SupplySource", "clearing"), ("SupplySource", "breaker")})


_ATTRIBUTES = {
    "bundle": "subconductors",
    "apart": "distance between subconductors",
    "resistance_at": "temperature of the resistance",
    "gmr": "geometric mean radius",
}
"""Attributes in words, where the words are not the attribute's name."""


def value_changes(old: Plan, new: Plan, laid: Likeness) -> tuple[ValueChange, ...]:
    """What is stated otherwise of the plan, and of the things that both plans have."""
    one, other = labels(laid.things)
    found = []
    for name, words in _OF_PLAN.items():
        before, after = _of_plan(old, name), _of_plan(new, name)
        if value_key(before, one) != value_key(after, other):
            place = new.places.get(name)
            found.append(ValueChange("the plan", words, said(before, name), said(after, name), place))
    if [one(structure) for structure in old.route] != [other(structure) for structure in new.route]:
        place = new.line.place("route") if new.line is not None else None
        found.append(ValueChange("the line", "route", said(old.route, "route"), said(new.route, "route"), place))
    if _waivers(old, one) != _waivers(new, other):
        found.append(ValueChange("the plan", "waivers", _waived(old), _waived(new), None))
    for before, after in laid.things.items():
        stated, now = values_of(before), values_of(after)
        differing = value_differences(before, after, one, other)
        for name in differing:
            if (type(after).__name__, name) in _DERIVED and len(differing) > 1:
                continue  # follows from what is reported beside it
            words = _ATTRIBUTES.get(name, name.replace("_", " "))
            both = said(stated[name], name), said(now[name], name)
            found.append(ValueChange(str(after), words, *both, after.place(name), isinstance(after, MARKED)))
    return tuple(found)


def _of_plan(plan: Plan, name: str) -> object:
    if name == "leaves":
        return tuple((left.thing, left.holder) for left in plan.leaves)
    if name == "measured":
        return tuple(f"{words} {value:.9g}" for words, value in plan.measured.items())
    return getattr(plan, name)


def _waivers(plan: Plan, label: Label) -> Counter[Hashable]:
    return Counter(
        (w.rule, value_key(w.subjects, label), value_key(w.because, label), w.approved, w.until) for w in plan.waivers
    )


def _waived(plan: Plan) -> str | None:
    return ", ".join(f"{waiver.rule} until {waiver.until}" for waiver in plan.waivers) or None


# ------------------------------------------------------------- rules and findings


def _rules(old: Review, new: Review) -> tuple[tuple[RuleChange, ...], tuple[RuleChange, ...]]:
    before, after = _outcomes(old), _outcomes(new)
    lost, gained = [], []
    for slug in sorted(before.keys() | after.keys()):
        was, now = before.get(slug), after.get(slug)
        if was == now:
            continue
        review = new if slug in after else old
        rule = next(outcome.rule for outcome in review.outcomes if outcome.rule.slug == slug)
        change = RuleChange(slug, rule.title, rule.level, _WORDS[was], _WORDS[now])
        if was is Truth.TRUE:
            lost.append(change)
        elif now is Truth.TRUE:
            gained.append(change)
    return tuple(lost), tuple(gained)


def _outcomes(review: Review) -> dict[str, Truth | None]:
    """The worst outcome of each rule."""
    found: dict[str, Truth | None] = {}
    for outcome in review.outcomes:
        known = found.get(outcome.rule.slug)
        if known is None or (outcome.truth is not None and outcome.truth < known):
            found[outcome.rule.slug] = outcome.truth
    return found


_Sorted = tuple[
    tuple[Finding, ...],
    tuple[tuple[Finding, Finding], ...],
    tuple[tuple[Finding, Finding], ...],
    tuple[Finding, ...],
    tuple[Finding, ...],
]


def _findings(old: Review, new: Review, laid: Likeness) -> _Sorted:
    """Findings new, graver, eased, fixed and carried."""
    one, other = labels(laid.things)
    every = frozenset(
        outcome.rule.slug for review in (old, new) for outcome in review.outcomes if outcome.rule.occasion.every
    )
    steps = laid.steps
    before = _keyed(old, one, every, {at: at for at in range(len(old.plan.actions))})
    after = _keyed(new, other, every, steps)
    news, worsened, eased, carried = [], [], [], []
    for key, finding in after.items():
        was = before.get(key)
        if was is None:
            news.append(finding)
        elif _gravity(finding) > _gravity(was):
            worsened.append((finding, was))
        elif _gravity(finding) < _gravity(was):
            eased.append((finding, was))
        else:
            carried.append(finding)
    fixed = tuple(finding for key, finding in before.items() if key not in after and finding.waiver is None)
    return tuple(news), tuple(worsened), tuple(eased), fixed, tuple(carried)


def _gravity(finding: Finding) -> int:
    return 0 if finding.waiver is not None else _RANK[finding.kind]


def _keyed(review: Review, label: Label, every: frozenset[str], steps: Mapping[int, int]) -> dict[Hashable, Finding]:
    """Findings by what they are about, in terms that both plans share."""
    seen: Counter[Hashable] = Counter()
    found: dict[Hashable, Finding] = {}
    for finding in review.findings:
        about = _about(finding, review.plan, label, every, steps)
        seen[about] += 1
        found[about, seen[about]] = finding
    return found


def _about(
    finding: Finding,
    plan: Plan,
    label: Label,
    every: frozenset[str],
    steps: Mapping[int, int],
) -> Hashable:
    if finding.at is not None:
        subjects = tuple((name, value_key(thing, label)) for name, thing in finding.subjects)
        step: Hashable = "end" if finding.at >= len(plan.actions) else steps.get(finding.at, ("new", finding.at))
        return (finding.slug, subjects, "any" if finding.slug in every else step)
    at = next((at for at, action in enumerate(plan.actions) if action.span == finding.span), None)
    if at is not None:
        return (finding.slug, "step", steps.get(at, ("new", at)))
    return (finding.slug, "text", label.text(finding.span.text))
