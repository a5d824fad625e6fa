"""A rulebook held against a replayed plan: each rule at each of its occasions met, broken, or not shown.

An instance's verdict is that of *trigger implies demand* in strong Kleene logic. Where the trigger is false the rule
is not applicable there, and counted so. Time is bounded by steps times things for each condition; past operators are
recurrences.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from groundlint.facts.catalogue import Catalogue, SlotValue, Thing, Trace
from groundlint.rulebook.compile import Compiler, Env, Run, Test
from groundlint.rulebook.explain import Explainer, WhyNode
from groundlint.rulebook.model import Demand, Mark, Occasion, Rule, Rulebook
from groundlint.text import Span
from groundlint.values import Gap, Truth, Unknown


@dataclass(frozen=True, slots=True, eq=False)
class Verdict:
    """One instance of a rule that was broken or not shown.

    ``binding`` gives the things by name, ``at`` the position asked at, ``count`` how many positions in a row came out
    the same (only for ``at every step``). ``span`` is the line to report at. ``related`` are plan lines with a few
    words on each. ``why`` explains *trigger implies demand*.
    """

    rule: Rule
    truth: Truth
    binding: tuple[tuple[str, Thing | Unknown], ...]
    at: int
    count: int
    span: Span
    message: str
    mend: str
    gaps: tuple[Gap, ...]
    related: tuple[tuple[Span, str], ...]
    why: WhyNode


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a rule: how many instances came out how, and the verdicts on those not met."""

    rule: Rule
    met: int
    broken: int
    unshown: int
    not_applicable: int
    verdicts: tuple[Verdict, ...] = field(repr=False)

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
            )
            for rule in book.rules
        )

    def review(self, trace: Trace) -> tuple[Outcome, ...]:
        """Every rule of the book on a plan, in the order of slugs."""
        run = Run(trace, self.compiler.facts)
        return tuple(_Judge(self, run, asked).outcome() for asked in self.asked)

    def review_rule(self, slug: str, trace: Trace) -> Outcome:
        """One rule on a plan. Raises `KeyError` for a rule that the book does not have."""
        asked = next((asked for asked in self.asked if asked.rule.slug == slug), None)
        if asked is None:
            raise KeyError(slug)
        return _Judge(self, Run(trace, self.compiler.facts), asked).outcome()


class _Judge:
    """One rule on one run."""

    def __init__(self, program: Program, run: Run, asked: _Asked) -> None:
        self.compiler = program.compiler
        self.run = run
        self.asked = asked
        self.rule = asked.rule

    def outcome(self) -> Outcome:
        met = broken = unshown = beside = 0
        verdicts: list[Verdict] = []
        for at, env, most in instances(self.rule.occasion, self.run, self.compiler.catalogue):
            trigger = most if self.asked.trigger is None else min(most, self.asked.trigger(self.run, at, env))
            if not trigger:
                beside += 1
                continue
            worst, deciding = 2, self.asked.demands[0][0]
            for demand, test in self.asked.demands:
                found = test(self.run, at, env)
                if found < worst:
                    worst, deciding = found, demand
                    if not worst:
                        break
            truth = max(2 - trigger, worst)
            if truth == 2:
                met += 1
                continue
            if truth:
                unshown += 1
            else:
                broken += 1
            names = {name for name, _ in self._names()}
            bound = {name: thing for name, thing in env.items() if name in names}
            if not self._goes_on(verdicts, at, bound, Truth(truth)):
                verdicts.append(self._verdict(at, bound, Truth(truth), Truth(trigger), deciding))
        if self.rule.occasion.things and (met + broken + unshown + beside or self.rule.occasion.step is None):
            opened = self._more_things()
            unshown += len(opened)
            verdicts += opened
        return Outcome(self.rule, met, broken, unshown, beside, tuple(verdicts))

    def _names(self) -> Iterator[tuple[str, str]]:
        for slot in self.rule.occasion.slots:
            yield slot.name, slot.kind
        yield from self.rule.occasion.things

    def _goes_on(self, verdicts: list[Verdict], at: int, bound: Env, truth: Truth) -> bool:
        """Whether this only goes on with what the position before it found; then that verdict's count is raised."""
        if not self.rule.occasion.every:
            return False
        for index in range(len(verdicts) - 1, -1, -1):
            last = verdicts[index]
            if last.truth == truth and dict(last.binding) == bound and last.at + last.count == at:
                verdicts[index] = Verdict(
                    last.rule, last.truth, last.binding, last.at, last.count + 1, last.span, last.message, last.mend,
                    last.gaps, last.related, last.why,
                )  # fmt: skip
                return True
        return False

    def _verdict(self, at: int, bound: Env, truth: Truth, trigger: Truth, demand: Demand) -> Verdict:
        rule = self.rule
        explainer = Explainer(self.compiler, self.run)
        speaker = explainer.speaker
        why = explainer.why(demand.condition, at, bound)
        gaps = why.gaps
        if rule.trigger is not None:
            cause = explainer.why(rule.trigger, at, bound)
            why = WhyNode(
                f"{cause.text} implies {why.text}", truth, at, why.step, (), (cause, why),
            )  # fmt: skip
            gaps = tuple(dict.fromkeys((*cause.gaps, *gaps)))
        unstated = [gap for thing in bound.values() if isinstance(thing, Unknown) for gap in thing.gaps]
        if truth == Truth.UNKNOWN:
            gaps = tuple(dict.fromkeys((*gaps, *(unstated if trigger == Truth.UNKNOWN else ()))))
            message = _unshown(rule, gaps)
        else:
            gaps, message = (), speaker.fill(demand.say, at, bound)
        mend = speaker.fill(rule.mend, at, bound) if rule.mend is not None and truth == Truth.FALSE else ""
        span = self._place(at, bound)
        related = tuple(entry for entry in why.every_line() if entry[0].line != span.line)
        return Verdict(rule, truth, tuple(bound.items()), at, 1, span, message, mend, gaps, related, why)

    def _place(self, at: int, bound: Env) -> Span:
        """Where to report: the marked step, the step asked at, the thing asked for, or the plan's first line."""
        run, mark = self.run, self.asked.mark
        if mark is not None and self.rule.mark is not None:
            marked = self._marked(self.rule.mark, mark, at, bound)
            if marked is not None:
                return marked
        if (self.rule.occasion.step is not None or self.rule.occasion.every) and at < run.n:
            return run.events[at].span
        for name, _ in self.rule.occasion.things:
            thing = bound.get(name)
            place = run.trace.place(thing) if thing is not None and not isinstance(thing, Unknown) else None
            if place is not None:
                return place
        return run.trace.start()

    def _marked(self, mark: Mark, test: Test, at: int, bound: Env) -> Span | None:
        found = [now for now in range(min(at + 1, self.run.n)) if test(self.run, now, dict(bound)) == 2]
        return self.run.events[found[-1 if mark.last else 0]].span if found else None

    def _more_things(self) -> list[Verdict]:
        """A rule asked for each thing of a kind is not shown for those that the plan may have left out."""
        found: list[Verdict] = []
        for _, kind in dict.fromkeys(self.rule.occasion.things):
            gap = self.run.trace.closed(kind)
            if gap is None:
                continue
            at = self.run.n
            why = WhyNode(f"each {kind}", Truth.UNKNOWN, at, "", gaps=(gap,))
            span = gap.where or self.run.trace.start()
            message = _unshown(self.rule, (gap,))
            found.append(Verdict(self.rule, Truth.UNKNOWN, (), at, 1, span, message, "", (gap,), (), why))
        return found


def _unshown(rule: Rule, gaps: tuple[Gap, ...]) -> str:
    """The message for a rule that the plan does not say enough to decide."""
    missing = ", ".join(gap.fact for gap in gaps) or "enough to tell"
    return f"not shown: {rule.title[:1].lower()}{rule.title[1:]}; the plan does not state {missing}"


def instances(occasion: Occasion, run: Run, catalogue: Catalogue) -> Iterator[tuple[int, Env, int]]:
    """Each position and binding that a rule asks at, with the most that its trigger can be.

    The trigger is at most unknown where a slot that may be empty, or that must hold a particular kind of thing, is
    unstated.
    """
    for at, bound, most in _at(occasion, run, catalogue):
        yield from _for(occasion.things, run, at, bound, most)


def _at(occasion: Occasion, run: Run, catalogue: Catalogue) -> Iterator[tuple[int, Env, int]]:
    if occasion.every:
        for at in range(run.n):
            yield at, {}, 2
    elif occasion.step is None:
        yield run.n, {}, 2
    else:
        step = catalogue.steps[occasion.step]
        optional = {slot.name for slot in step.slots if slot.optional}
        for at in run.positions.get(occasion.step, ()):
            yield from _bindings(occasion, run, catalogue, optional, at)


def _bindings(
    occasion: Occasion, run: Run, catalogue: Catalogue, optional: set[str], at: int
) -> Iterator[tuple[int, Env, int]]:
    found: list[tuple[Env, int]] = [({}, 2)]
    for slot in occasion.slots:
        options: list[tuple[SlotValue, int]] = []
        stated = run.events[at].slots.get(slot.slot)
        for member in stated if isinstance(stated, tuple) else (stated,):
            if member is None:
                continue
            if isinstance(member, Unknown):
                options.append((member, 1 if slot.narrowed or slot.slot in optional else 2))
            elif not slot.narrowed or catalogue.is_a(run.trace.kind_of(member), slot.kind):
                options.append((member, 2))
        found = [({**bound, slot.name: member}, min(most, sure)) for bound, most in found for member, sure in options]
    for bound, most in found:
        yield at, bound, most


def _for(
    things: tuple[tuple[str, str], ...], run: Run, at: int, bound: Env, most: int
) -> Iterator[tuple[int, Env, int]]:
    if not things:
        yield at, bound, most
        return
    (name, kind), *rest = things
    for thing in run.domain(kind)[0]:
        yield from _for(tuple(rest), run, at, {**bound, name: thing}, most)


def explain(program: Program, trace: Trace, rule: Rule, at: int, binding: Env) -> tuple[WhyNode, ...]:
    """Why each demand of a rule came out as it did at a position and binding, met ones too."""
    explainer = Explainer(program.compiler, Run(trace, program.compiler.facts))
    return tuple(explainer.why(demand.condition, at, dict(binding)) for demand in rule.demands)
