"""A rulebook held against a replayed plan: each rule at each of its occasions met, broken, or not shown.

An instance's verdict is that of *trigger implies demand* in strong Kleene logic. Where the trigger is false the rule
is not applicable there, and counted so. Time is bounded by steps times things for each condition; past operators are
recurrences.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import product
from math import prod
from operator import attrgetter

from groundlint.facts.catalogue import Catalogue, Event, LaterError, SlotValue, Thing, Trace
from groundlint.rulebook import core
from groundlint.rulebook.compile import Compiler, Env, Run, Test
from groundlint.rulebook.core import kinds_of_step
from groundlint.rulebook.explain import Explainer, WhyNode
from groundlint.rulebook.model import Demand, Mark, Occasion, Repair, Rule, Rulebook
from groundlint.rulebook.render import render
from groundlint.text import Span
from groundlint.text.edits import Edit
from groundlint.values import Gap, Truth, Unknown
from groundlint.world.logs import FOREVER


@dataclass(frozen=True, eq=False)
class Verdict:
    """One instance of a rule that was broken or not shown.

    What explains it is worked out when first asked for: a bad plan has hundreds of these, and a count needs none of it.

    ``binding`` gives the things by name, ``at`` the position asked at, ``count`` how many positions in a row came out
    the same (only for ``at every step`` and ``while``). ``span`` is the line to report at.
    """

    rule: Rule
    truth: Truth
    binding: tuple[tuple[str, Thing | Unknown], ...]
    at: int
    count: int
    span: Span
    _judge: _Judge = field(repr=False)
    _trigger: Truth = field(repr=False)
    _demand: Demand = field(repr=False)
    _opened: Gap | None = field(default=None, repr=False)  # of a kind whose things may not all be stated

    @cached_property
    def why(self) -> WhyNode:
        """The tree of what decided, with ``gaps`` where it is not shown."""
        return self._judge.why(self.at, dict(self.binding), self.truth, self._trigger, self._demand, self._opened)

    @property
    def gaps(self) -> tuple[Gap, ...]:
        """What the plan does not state; empty if the rule is broken."""
        return self.why.gaps

    @cached_property
    def message(self) -> str:
        """The rule's ``say`` if it is broken; what is missing if it is not shown."""
        if self.truth is Truth.UNKNOWN:
            return _unshown(self.gaps)
        return self._judge.speaker.fill(self._demand.say, self.at, dict(self.binding))

    @cached_property
    def possible(self) -> tuple[str, str]:
        """Where what is not shown rests on nothing but values that are assumed between bounds: the rule's ``say`` with
        those bounds, and its ``mend``; else empty texts."""
        judge, env, demand = self._judge, dict(self.binding), self._demand
        sure = self.truth is Truth.UNKNOWN and self._trigger is Truth.TRUE and all(gap.narrows for gap in self.gaps)
        if not sure or self._opened is not None or not judge.speaker.can_fill(demand.say, self.at, env):
            return "", ""
        mend = demand.mend if demand.mend is not None and judge.speaker.can_fill(demand.mend, self.at, env) else None
        said = judge.speaker.fill(demand.say, self.at, env)
        return said, judge.speaker.fill(mend, self.at, env) if mend is not None else ""

    @cached_property
    def mend(self) -> str:
        """The rule's ``mend`` for what decided, if it has one and is broken."""
        if self._demand.mend is None or self.truth is Truth.UNKNOWN:
            return ""
        return self._judge.speaker.fill(self._demand.mend, self.at, dict(self.binding))

    @cached_property
    def remedy(self) -> str:
        """The same where it is not shown too, if the plan has all that it names."""
        env, mend, speaker = dict(self.binding), self._demand.mend, self._judge.speaker
        return speaker.fill(mend, self.at, env) if mend is not None and speaker.can_fill(mend, self.at, env) else ""

    @cached_property
    def repairs(self) -> tuple[Edit, ...]:
        """The edits that the rule offers, one or the other, not yet shown to mend anything; none in words that the plan
        has no name or value for."""
        choices: list[list[Repair]] = []
        for one in self.rule.repairs:
            if one.instead or not choices:
                choices.append([])
            choices[-1].append(one)
        if self.truth is Truth.UNKNOWN:
            sure = self._trigger is Truth.TRUE  # else the rule may ask nothing here, and what it offers be wrong
            choices = [choice for choice in choices if sure and all(one.answers_gaps for one in choice)]
        made = (self._edit(choice) for choice in choices)
        return tuple(edit for edit in made if edit is not None)

    def _edit(self, repairs: list[Repair]) -> Edit | None:
        from groundlint.rulebook.repair import edit_of

        judge, env = self._judge, dict(self.binding)
        step = judge.step(self.at, env)
        if not judge.run.events or (step is None and any(one.how != "number" for one in repairs)):
            return None
        if not all(judge.speaker.can_fill(one.text, self.at, env) for one in repairs):
            return None
        filled = [
            (one, judge.speaker.fill(one.text, self.at, env), judge.beside(step or 0, one.step, env)) for one in repairs
        ]
        return edit_of(filled, judge.run.events, step or 0)

    @cached_property
    def related(self) -> tuple[tuple[Span, str], ...]:
        """Other lines of the plan behind the verdict, with a few words on each."""
        return tuple(entry for entry in self.why.every_line() if entry[0].line != self.span.line)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a rule: how many instances came out how, and the verdicts on those not met."""

    rule: Rule
    met: int
    broken: int
    unshown: int
    not_applicable: int
    verdicts: tuple[Verdict, ...] = field(repr=False)
    _judge: _Judge | None = field(default=None, repr=False)

    @property
    def never(self) -> str:
        """Of a rule that never applied, what the plan never comes to and the rule asks about, in words; else empty."""
        return self._judge.never() if self._judge is not None and self.truth is None else ""

    @property
    def truth(self) -> Truth | None:
        """The worst of its instances; ``None`` if the rule never applied."""
        if self.broken:
            return Truth.FALSE
        if self.unshown:
            return Truth.UNKNOWN
        return Truth.TRUE if self.met else None


@dataclass(frozen=True, slots=True)
class _Asked:
    """A compiled rule."""

    rule: Rule
    trigger: Test | None
    demands: tuple[tuple[Demand, Test], ...]
    mark: Test | None
    kinds: int | None
    """The bits of the kinds at which a rule that asks at every step can ask anything; None for any."""


class Program:
    """A rulebook compiled against a catalogue; holds nothing of any plan, so one serves every plan of a process."""

    def __init__(self, book: Rulebook, catalogue: Catalogue) -> None:
        self.book = book
        self.compiler = Compiler(catalogue, book.settings, book.conditions)
        test = self.compiler.test
        self.asked = tuple(
            _Asked(
                rule,
                test(rule.trigger) if rule.trigger is not None else None,
                tuple((demand, test(demand.condition)) for demand in rule.demands),
                test(rule.mark.step) if rule.mark is not None else None,
                self._bits(kinds_of_step(rule.trigger, book.conditions) if rule.trigger is not None else None),
            )
            for rule in book.rules
        )

    def _bits(self, kinds: frozenset[str] | None) -> int | None:
        return None if kinds is None else sum(self.compiler.bits[kind] for kind in kinds)

    def review(self, trace: Trace, run: Run | None = None, later: set[str] | None = None) -> tuple[Outcome, ...]:
        """Every rule of the book on a plan, in the order of slugs; ``run`` is that of another book on the same trace,
        under the same catalogue. Rules that ask for what is worked out later are left out, and put into ``later``,
        where it is given."""
        run = Run(trace, self.compiler) if run is None else run.for_another_book()
        explainer = Explainer(self.compiler, run)
        found: list[Outcome] = []
        for asked in self.asked:
            try:
                found.append(_Judge(explainer, run, asked).outcome())
            except LaterError:
                if later is None:
                    raise
                later.add(asked.rule.slug)
        return tuple(found)

    def review_rule(self, slug: str, trace: Trace) -> Outcome:
        """One rule on a plan. Raises `KeyError` for a rule that the book does not have."""
        asked = next((asked for asked in self.asked if asked.rule.slug == slug), None)
        if asked is None:
            raise KeyError(slug)
        run = Run(trace, self.compiler)
        return _Judge(Explainer(self.compiler, run), run, asked).outcome()


class _Judge:
    """One rule on one run."""

    def __init__(self, explainer: Explainer, run: Run, asked: _Asked) -> None:
        self.compiler = explainer.compiler
        self.run = run
        self.asked = asked
        self.rule = asked.rule
        self.explainer = explainer
        self.speaker = explainer.speaker

    def outcome(self) -> Outcome:
        met = broken = unshown = beside = 0
        verdicts: list[Verdict] = []
        occasion, run, trigger_test, demands = self.rule.occasion, self.run, self.asked.trigger, self.asked.demands
        names = (*(slot.name for slot in occasion.slots), *(name for name, _ in occasion.things))
        last: dict[object, int] = {}  # where the latest verdict of each binding stands, to merge what goes on
        steps = None
        if occasion.every and self.asked.kinds is not None:
            steps = [at for at in range(run.n) if run.kinds[at] & self.asked.kinds]
        for at, end, env, most in stretches(occasion, run, self.compiler.catalogue, steps):
            trigger = most if trigger_test is None else min(most, trigger_test(run, at, env))
            if not trigger:
                beside += min(end, run.until) - at
                continue
            worst, deciding = 2, demands[0][0]
            for demand, test in demands:
                found = test(run, at, env)
                if found < worst:
                    worst, deciding = found, demand
                    if not worst:
                        break
            truth = max(2 - trigger, worst)
            count = min(end, run.until) - at
            run.until = at + count  # what is asked from here on is asked at other positions
            if truth == 2:
                met += count
                continue
            if truth:
                unshown += count
            else:
                broken += count
            binding = tuple([(name, env[name]) for name in names])
            if occasion.every or occasion.lasting:
                before = last.get((binding, truth))
                if before is not None and verdicts[before].at + verdicts[before].count == at:
                    verdicts[before] = replace(verdicts[before], count=verdicts[before].count + count)
                    continue
                last[binding, truth] = len(verdicts)
            span = self._place(at, dict(binding))
            run.until = at + count
            verdicts.append(
                Verdict(self.rule, _TRUTHS[truth], binding, at, count, span, self, _TRUTHS[trigger], deciding)
            )
        if steps is not None:
            beside = run.n * prod(len(run.domain(kind)[0]) for _, kind in occasion.things) - met - unshown - broken
        verdicts.sort(key=attrgetter("at"))
        if occasion.things and (met + broken + unshown + beside or occasion.step is None):
            opened = self._more_things()
            unshown += len(opened)
            verdicts += opened
        return Outcome(self.rule, met, broken, unshown, beside, tuple(verdicts), self)

    def never(self) -> str:
        """What the rule asks about and the plan never comes to: what happens, what there is, or the condition."""
        occasion, run, catalogue = self.rule.occasion, self.run, self.compiler.catalogue
        if occasion.step is not None and not any(True for _ in _at(occasion, run, catalogue)):
            return self._step_in_words(occasion.step)
        for _, kind in occasion.things:
            if not run.domain(kind)[0]:
                return f"there is a {kind.replace('-', ' ')}"
        trigger = self.rule.trigger
        assert trigger is not None  # without one, whatever it is asked of would be met or not
        parts = trigger.parts if isinstance(trigger, core.And) else (trigger,)
        for part, test in ((part, self.compiler.test(part)) for part in parts):
            if not any(test(run, at, env) for at, _, env, _ in stretches(occasion, run, catalogue)):
                return self._in_words(part)
        return self._in_words(trigger)

    def _step_in_words(self, name: str) -> str:
        """What happens; of a kind of step, its word, since its meaning says what is written there."""
        kind = self.compiler.catalogue.steps[name]
        return kind.meaning if kind.happening else f"a step says `{name}`"

    def _in_words(self, part: core.Formula) -> str:
        """A condition by the meaning of its fact or happening, where there is one in it; else as it is written."""
        catalogue = self.compiler.catalogue
        match part:
            case core.Is():
                return catalogue.facts[part.fact].meaning
            case core.Did():
                return self._step_in_words(part.step)
            case core.Call():
                return self._in_words(self.compiler.conditions[part.name].body)
            case core.Some() | core.Once():
                return self._in_words(part.body if isinstance(part, core.Some) else part.of)
            case core.And():
                return self._in_words(part.parts[0])
            case core.Or():
                return " or ".join(dict.fromkeys(self._in_words(one) for one in part.parts))
            case core.Compare():
                left = (
                    render(part.left, catalogue).replace("-", " ").replace(" of ", " of the ").replace("the it", "it")
                )
                return f"the {left} {_COMPARED[part.sign]} {render(part.right, catalogue)}"
        return render(part, catalogue)

    def why(self, at: int, bound: Env, truth: Truth, trigger: Truth, demand: Demand, opened: Gap | None) -> WhyNode:
        """Why an instance came out as it did: its trigger, and the demand that decided."""
        rule, explainer = self.rule, self.explainer
        if opened is not None:
            kinds = " and ".join(kind for _, kind in rule.occasion.things)
            return WhyNode(f"each {kinds} is among those stated", truth, at, "", gaps=(opened,))
        decided = explainer.why(demand.condition, at, bound)
        cause = explainer.why(rule.trigger, at, bound) if rule.trigger is not None else None
        gaps: tuple[Gap, ...] = ()
        if truth is Truth.UNKNOWN:
            found = list(cause.gaps) if cause is not None else []
            if trigger is Truth.UNKNOWN:
                found += [gap for thing in bound.values() if isinstance(thing, Unknown) for gap in thing.gaps]
            for other in rule.demands:
                found += decided.gaps if other is demand else explainer.why(other.condition, at, bound).gaps
            gaps = tuple(dict.fromkeys(found))
        if cause is None:
            return replace(decided, truth=truth, gaps=gaps)
        text = f"{cause.text} implies {decided.text}"
        return WhyNode(text, truth, at, decided.step, (), (cause, decided), gaps)

    def _place(self, at: int, bound: Env) -> Span:
        """Where to report: the marked step, the step asked at, the thing asked for, or the plan's first line."""
        run = self.run
        step = self.step(at, bound)
        if step is not None:
            return run.events[step].span
        for name, _ in self.rule.occasion.things:
            thing = bound.get(name)
            place = run.trace.place(thing) if thing is not None and not isinstance(thing, Unknown) else None
            if place is not None:
                return place
        return run.trace.start()

    def step(self, at: int, bound: Env) -> int | None:
        """The position of the marked step, or of the step asked at."""
        mark, test = self.rule.mark, self.asked.mark
        if mark is not None and test is not None:
            found = [now for now in range(min(at + 1, self.run.n)) if test(self.run, now, dict(bound)) == 2]
            if found:
                return found[-1 if mark.last else 0]
        occasion = self.rule.occasion
        if occasion.lasting:  # the step that left the world so
            return at - 1 if at else None
        return at if (occasion.step is not None or occasion.every) and at < self.run.n else None

    def beside(self, at: int, mark: Mark | None, bound: Env) -> int | None:
        """The position of the first or the last step after one that matches, if there is one."""
        if mark is None:
            return None
        test = self.compiler.test(mark.step)
        found = [now for now in range(at + 1, self.run.n) if test(self.run, now, dict(bound)) == 2]
        return found[-1 if mark.last else 0] if found else None

    def _more_things(self) -> list[Verdict]:
        """A rule asked for each thing of a kind is not shown for those that the plan may have left out."""
        found: list[Verdict] = []
        for kind in dict.fromkeys(kind for _, kind in self.rule.occasion.things):
            gap = self.run.trace.closed(kind)
            if gap is not None and self._may_apply(kind, gap):
                span = gap.where or self.run.trace.start()
                demand = self.rule.demands[0]
                found.append(
                    Verdict(self.rule, Truth.UNKNOWN, (), self.run.n, 1, span, self, Truth.UNKNOWN, demand, gap)
                )
        return found

    def _may_apply(self, kind: str, gap: Gap) -> bool:
        """Whether a thing of the kind that the plan leaves out could be one that the rule is asked of at some step."""
        occasion, run, trigger = self.rule.occasion, self.run, self.asked.trigger
        if not (occasion.every or occasion.lasting) or trigger is None:
            return True
        more = Unknown((gap,))
        chosen: list[Env] = [{}]
        for name, of in occasion.things:
            options = (more,) if of == kind else (*run.domain(of)[0], *((more,) if run.trace.closed(of) else ()))
            chosen = [{**bound, name: thing} for bound in chosen for thing in options]
        end = run.n + occasion.lasting
        return any(trigger(run, at, bound) for bound in chosen for at in _each_stretch(run, end))


_TRUTHS = (Truth.FALSE, Truth.UNKNOWN, Truth.TRUE)


MOST_MISSING = 3
"""Missing facts named in a message; the rest are counted, and all of them stand in the ask list."""


def _unshown(gaps: tuple[Gap, ...]) -> str:
    """The message for a rule that the plan does not say enough to decide."""
    facts = list(dict.fromkeys(gap.fact for gap in gaps))
    missing = ", ".join(facts[:MOST_MISSING]) or "enough to tell"
    if len(facts) > MOST_MISSING:
        missing += f", and {len(facts) - MOST_MISSING} more"
    return f"not shown: the plan does not state {missing}"


_COMPARED = {
    "=": "is",
    "!=": "is not",
    "<": "is less than",
    "<=": "is no more than",
    ">": "is more than",
    ">=": "is no less than",
}


def stretches(
    occasion: Occasion, run: Run, catalogue: Catalogue, steps: Iterable[int] | None = None
) -> Iterator[tuple[int, int, Env, int]]:
    """Each position and binding that a rule asks at, or at these steps alone, with the most that its trigger can be,
    and the end of what it asks at: who has asked at a position is asked next at `Run.until`, unless that is the end.

    The trigger is at most unknown where a slot that may be empty, or that must hold a particular kind of thing, is
    unstated.
    """
    names = [name for name, _ in occasion.things]
    domains = [run.domain(kind)[0] for _, kind in occasion.things]
    if steps is None and (occasion.every or occasion.lasting):
        end = run.n + occasion.lasting
        for things in product(*domains):
            env = dict(zip(names, things, strict=True))
            for at in _each_stretch(run, end):
                yield at, end, env, 2
        return
    if steps is not None:
        for things in product(*domains):
            env = dict(zip(names, things, strict=True))
            until = 0
            for at in steps:
                if at >= until:
                    run.until = FOREVER
                    yield at, at + 1, env, 2
                    until = run.until
        return
    for at, bound, most in _at(occasion, run, catalogue):
        for things in product(*domains):
            run.until = FOREVER
            yield at, at + 1, {**bound, **dict(zip(names, things, strict=True))} if names else bound, most


def _each_stretch(run: Run, end: int) -> Iterator[int]:
    """The first position, and each at which what was asked at the one before may be another, up to an end."""
    at = 0
    while at < end:
        run.until = FOREVER
        yield at
        at = max(run.until, at + 1)


def _at(occasion: Occasion, run: Run, catalogue: Catalogue) -> Iterable[tuple[int, Env, int]]:
    if occasion.step is None:
        return [(run.n, {}, 2)]
    key = (occasion.step, occasion.slots)
    kept = run.bindings.get(key)  # many rules ask at one kind of step
    if kept is None:
        optional = {slot.name for slot in catalogue.steps[occasion.step].slots if slot.optional}
        kept = run.bindings[key] = [
            found
            for at, event in run.positions.get(occasion.step, ())
            for found in _bindings(occasion, run, catalogue, optional, at, event)
        ]
    return kept


def _bindings(
    occasion: Occasion, run: Run, catalogue: Catalogue, optional: set[str], at: int, event: Event
) -> Iterator[tuple[int, Env, int]]:
    found: list[tuple[Env, int]] = [({}, 2)]
    for slot in occasion.slots:
        options: list[tuple[SlotValue, int]] = []
        stated = event.slots.get(slot.slot)
        for member in stated if type(stated) is tuple else (stated,):
            if member is None:
                continue
            if isinstance(member, Unknown):
                options.append((member, 1 if slot.narrowed or slot.slot in optional else 2))
            elif not slot.narrowed or catalogue.is_a(run.trace.kind_of(member), slot.kind):
                options.append((member, 2))
        if len(options) == 1 and options[0][1] == 2:  # nearly always
            for bound, _ in found:
                bound[slot.name] = options[0][0]
            continue
        found = [({**bound, slot.name: member}, min(most, sure)) for bound, most in found for member, sure in options]
    for bound, most in found:
        yield at, bound, most
