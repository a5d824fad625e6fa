"""Core conditions compiled into functions of a run, a position and an environment; the meaning is that of `core`.

Every function is pure in (position, values of its free names). A fact is a *signal*: it changes where the logs that it
read change, and is worked out once for each stretch between. Whatever a function says of a position holds up to
`Run.until`, which every fact and step that it asks brings nearer, so that who asks at every position asks once a
stretch. Past operators keep a *column* for each binding, a value from each position at which it changes, and extend it
by their recurrence. One node is compiled once however many rules hold it; its columns are shared by all of them. Truth
values are plain ints, 0 false, 1 unknown, 2 true.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Mapping, Sequence
from copy import copy
from typing import Any, TypeAlias

from groundlint.facts.catalogue import Catalogue, Event, Fact, Kind, Thing, Trace, Value
from groundlint.rulebook import core
from groundlint.rulebook.core import Condition, Formula, Term
from groundlint.rulebook.measures import arithmetic, compare, slot_match
from groundlint.rulebook.model import NamedSetting
from groundlint.values import Bounds, Unknown
from groundlint.world.logs import FOREVER, Signal

Env: TypeAlias = dict[str, Any]
Test: TypeAlias = "Callable[[Run, int, Env], int]"
Getter: TypeAlias = "Callable[[Run, int, Env], Value]"
Domain: TypeAlias = "Callable[[Run, int], tuple[Sequence[Thing], bool]]"

UNCOUNTED = Unknown.of("how many there are")


class Run:
    """One trace under review, with what has been computed of it.

    ``kinds`` holds, for each position, a bit for each kind of step and of happening there (`Compiler.bits`);
    ``here`` the events of a kind at a position, ``positions`` all of a kind. ``until`` is the position up to which what
    was asked since it was last set is known to stay the same. ``facts`` has for each fact what it came to, a `Signal`
    where that may change; ``bindings`` for each occasion what its rules are asked of.
    """

    __slots__ = (
        "_domains", "_members", "_named", "bindings", "calls", "columns", "events", "facts", "here", "kinds", "n",
        "plan", "positions", "trace", "until",
    )  # fmt: skip

    def __init__(self, trace: Trace, compiler: Compiler) -> None:
        self.trace = trace
        self.n = trace.n
        self.events: list[Event] = [trace.event(at) for at in range(trace.n)]
        self.kinds: list[int] = [0] * (trace.n + 1)  # the end has no step
        self.here: dict[tuple[str, int], list[Event]] = {}
        self.positions: dict[str, list[tuple[int, Event]]] = {}
        for at, step in enumerate(self.events):
            for event in (step, *trace.happenings(at)):
                self.kinds[at] |= compiler.bits[event.kind]
                self.here.setdefault((event.kind, at), []).append(event)
                self.positions.setdefault(event.kind, []).append((at, event))
        (self.plan,) = trace.domain("plan")
        self.facts: list[dict[Any, Any]] = [{} for _ in range(compiler.facts)]
        self.columns: dict[Any, Any] = {}
        self.calls: dict[Any, Signal[int]] = {}
        self.until = FOREVER
        self._named: dict[tuple[str, str | None], dict[Value, list[int]]] = {}
        self._members: dict[tuple[Kind, str, str], tuple[dict[int, Sequence[Thing]], list[int]]] = {}
        self._domains: dict[Kind, tuple[tuple[Thing, ...], bool]] = {}
        self.bindings: dict[Any, list[tuple[int, Env, int]]] = {}

    def for_another_book(self) -> Run:
        """The same trace and what its facts came to, without what the conditions of one book did."""
        other = copy(self)
        other.columns, other.calls, other.until = {}, {}, FOREVER
        return other

    def domain(self, kind: Kind) -> tuple[tuple[Thing, ...], bool]:
        """The things of a kind, and whether the plan leaves open that there are more."""
        found = self._domains.get(kind)
        if found is None:
            found = self._domains[kind] = (self.trace.domain(kind), self.trace.closed(kind) is not None)
        return found

    def named(self, kind: Kind, step: str, slot: str, at: int) -> tuple[Sequence[Thing], bool]:
        """The things of a kind that an event of a position may name in a slot, and whether there may be more."""
        kept = self._members.get((kind, step, slot))
        if kept is None:
            kept = self._members[kind, step, slot] = self._find_members(kind, step, slot)
        members, positions = kept
        found = members.get(at, ())
        if found:
            until = at + 1
        else:  # and none is named up to the next position that has one
            index = bisect_left(positions, at)
            until = positions[index] if index < len(positions) else FOREVER
        if until < self.until:
            self.until = until
        return found, self.domain(kind)[1]

    def _find_members(self, kind: Kind, step: str, slot: str) -> tuple[dict[int, Sequence[Thing]], list[int]]:
        """The things of a kind that events of a kind may name, by position, and the positions that have any."""
        things = self.domain(kind)[0]
        stated: dict[int, set[Value]] = {}
        for at, event in self.positions.get(step, ()):
            named = event.slots.get(slot)
            stated.setdefault(at, set()).update(named if type(named) is tuple else (named,))
        found: dict[int, Sequence[Thing]] = {}
        for at, here in stated.items():
            anything = any(one.__class__ is Unknown for one in here)
            members = things if anything else [one for one in things if one in here]
            if members:
                found[at] = members
        return found, list(found)

    def comes(self, step: str, slot: str | None, thing: Value, at: int) -> bool:
        """Whether a step or happening of a kind is at a position whose slot, if one is given, may name a thing."""
        named = self._named.get((step, slot))
        if named is None:
            named = self._named[step, slot] = self._find_named(step, slot)
        positions = named.get(thing, named[None])
        index = bisect_left(positions, at)
        if index == len(positions):
            return False
        here = positions[index] == at
        until = at + 1 if here else positions[index]
        if until < self.until:
            self.until = until
        return here

    def _find_named(self, step: str, slot: str | None) -> dict[Value, list[int]]:
        """Positions by what the slot names. Those of steps that leave it open are under None, and under every name."""
        found: dict[Value, list[int]] = {None: []}
        for at, event in self.positions.get(step, ()):
            stated = event.slots.get(slot) if slot is not None else UNCOUNTED
            members = stated if type(stated) is tuple else () if stated is None else (stated,)
            for member in (None,) if any(one.__class__ is Unknown for one in members) else members:
                found.setdefault(member, []).append(at)
        anywhere = found[None]
        return {key: sorted({*positions, *anywhere}) for key, positions in found.items()}


class Compiler:
    """Compiles nodes against a catalogue, a book's settings and its conditions."""

    def __init__(
        self, catalogue: Catalogue, settings: Mapping[str, NamedSetting], conditions: Mapping[str, Condition]
    ) -> None:
        self.catalogue = catalogue
        self.settings = settings
        self.conditions = conditions
        self._tests: dict[Formula, Test] = {}
        self._bodies: dict[str, Test] = {}
        self._numbers: dict[tuple[str, Kind, Kind | None], int] = {key: at for at, key in enumerate(catalogue.facts)}
        self.bits: dict[str, int] = {name: 1 << at for at, name in enumerate(catalogue.steps)}

    @property
    def facts(self) -> int:
        """How many facts a `Run` must keep room for: each, and each once more for the step at hand."""
        return 2 * len(self._numbers)

    # ---- terms ----

    def term(self, node: Term) -> Getter:
        """A function that gives the term's value: `Unknown`, or ``None`` where there is no such thing."""
        match node:
            case core.Var():
                return _variable(node.name)
            case core.Quantity():
                return _constant(node.si)
            case core.Word():
                return _constant(node.word)
            case core.Setting():
                value = self.settings[node.name].value
                return _constant(value.si if isinstance(value, core.Quantity) else value.word)
            case core.Of():
                return self._value(node.fact, node.subject, node.other)
            case core.Negative():
                return _negative(self.term(node.of))
            case core.Arithmetic():
                return _arithmetic(node.sign, self.term(node.left), self.term(node.right))
            case core.Count():
                return _count(node.name, node.kind, self.test(node.where) if node.where is not None else None)

    def _value(self, key: tuple[str, Kind, Kind | None], subject: Term, other: Term | None) -> Getter:
        fact, number = self.catalogue.facts[key], self._numbers[key]
        first = self.term(subject)
        of_step = isinstance(subject, core.Var) and subject.name == "it"
        asked = _timed if fact.timed and not of_step else _kept
        number += of_step * len(self._numbers)  # a step that a condition is asked of may be asked of elsewhere
        if other is None:
            return _fact_of_one(fact, number, first, asked)
        return _fact_of_two(fact, number, first, self.term(other), asked)

    # ---- conditions ----

    def test(self, node: Formula) -> Test:
        """A function that gives the condition's truth."""
        found = self._tests.get(node)
        if found is None:
            found = self._tests[node] = self._compile(node)
        return found

    def _compile(self, node: Formula) -> Test:
        match node:
            case core.Is(fact, core.Var(name), None) if name not in ("plan", "it") and self.catalogue.facts[fact].timed:
                return _truth_of_name(self.catalogue.facts[fact], self._numbers[fact], name)
            case core.Is():
                return _truth(self._value(node.fact, node.subject, node.other))
            case core.Compare():
                return _compare(node.sign, self.term(node.left), self.term(node.right))
            case core.Known():
                if isinstance(node.of, FORMULAS):
                    return _known_truth(self.test(node.of))
                return _known_value(self.term(node.of))
            case core.Did():
                slots = tuple((name, self.term(term)) for name, term in node.slots)
                return _did(node.step, slots)
            case core.Not():
                return _not(self.test(node.of))
            case core.And():
                return _and([self.test(part) for part in sorted(node.parts, key=self._cost)])
            case core.Or():
                return _or([self.test(part) for part in sorted(node.parts, key=self._cost)])
            case core.Implies():
                return _implies(self.test(node.left), self.test(node.right))
            case core.Each() | core.Some():
                where = self.test(node.where) if node.where is not None else None
                make = _each if isinstance(node, core.Each) else _some
                return make(node.name, _things(node), where, self.test(node.body))
            case core.Call():
                return self._call(node)
            case core.Previously():
                return _previously(self.test(node.of))
            case core.After():
                return _after(self.test(node.of))
            case core.Finally():
                return _finally(self.test(node.of))
            case core.Once() | core.Always() | core.Since():
                return self._column(node)

    def _cost(self, node: Formula | Term) -> int:
        """What settles a condition soonest is asked first: what is the same at every position, then what happened at
        one, which is looked up, then facts, then what is kept by stretches, and last what is asked of one thing after
        the other."""
        match node:
            case core.Did():
                return 1
            case core.Not() | core.Known():
                return self._cost(node.of)
            case core.And() | core.Or():
                return max(map(self._cost, node.parts))
            case core.Implies():
                return max(self._cost(node.left), self._cost(node.right))
            case core.Is() | core.Compare():
                return 2 * self._moves(node)
            case core.Each() | core.Some():
                return 4
        return 3

    def _moves(self, node: core.Node) -> bool:
        """Whether a fact or comparison can be another at another position."""
        match node:
            case core.Var():
                return node.name == "it"
            case core.Is() | core.Of() if self.catalogue.facts[node.fact].timed:
                return True
            case core.Count():
                return True
        return any(map(self._moves, core.children(node)))

    def _call(self, node: core.Call) -> Test:
        condition = self.conditions[node.name]
        body = self._bodies.get(node.name)
        if body is None:
            body = self._bodies[node.name] = self.test(condition.body)
        names = tuple(name for name, _ in condition.parameters)
        args = tuple(self.term(arg) for arg in node.args)
        name = node.name

        def call(run: Run, at: int, env: Env) -> int:
            values = [arg(run, at, env) for arg in args]
            key = (name, *values)
            signal = run.calls.get(key)
            if signal is None:
                signal = run.calls[key] = Signal()
            if not signal.knows(at):
                truth, until = _elsewhere(body, run, at, dict(zip(names, values, strict=True)))
                signal.keep(at, until, truth)
            if signal.until < run.until:
                run.until = signal.until
            found: int = signal.value
            return found

        return call

    # ---- past operators ----

    def _column(self, node: core.Once | core.Always | core.Since) -> Test:
        names = tuple(sorted(core.free_names(node)))
        if isinstance(node, core.Since):
            return _since(node, names, self.test(node.left), self.test(node.right))
        if isinstance(node, core.Always):
            return _always(node, names, self.test(node.of))
        if node.within is not None:
            return _once_within(node, names, self.test(node.of), node.within)
        return _once(node, names, self.test(node.of))


FORMULAS = (
    core.Is, core.Compare, core.Known, core.Did, core.Not, core.And, core.Or, core.Implies, core.Previously, core.Once,
    core.Always, core.Since, core.Each, core.Some, core.After, core.Finally, core.Call,
)  # fmt: skip


# ---- terms ----


def _constant(value: Value) -> Getter:
    return lambda _run, _at, _env: value


def _variable(name: str) -> Getter:
    if name == "plan":
        return lambda run, _at, _env: run.plan
    if name == "it":
        return _it
    return lambda _run, _at, env: env[name]


def _it(run: Run, at: int, _env: Env) -> Value:
    if at + 1 < run.until:
        run.until = at + 1
    return run.events[at] if at < run.n else None


def _timed(run: Run, fact: Fact, number: int, at: int, key: Thing, *things: Thing) -> Value:
    """A fact's value at a position, worked out where no stretch of it is known to hold there."""
    signals = run.facts[number]
    signal = signals.get(key)
    if signal is None:
        signal = signals[key] = Signal()
    if not signal.since <= at < signal.until:
        signal.at(at, fact.compute, run.trace, at, *things)
    if signal.until < run.until:
        run.until = signal.until
    return signal.value


def _kept(run: Run, fact: Fact, number: int, at: int, key: Thing, *things: Thing) -> Value:
    """The same of a fact that is the same at every position, or is that of the step at one and asked nowhere else."""
    values = run.facts[number]
    found = values.get(key, values)  # itself where there is none yet: a value may well be None
    if found is values:
        found = values[key] = fact.compute(run.trace, at if fact.timed else run.n, *things)
    return found


def _fact_of_one(fact: Fact, number: int, subject: Getter, asked: Callable[..., Value]) -> Getter:
    def value(run: Run, at: int, env: Env) -> Value:
        thing = subject(run, at, env)
        if thing is None or thing.__class__ is Unknown:
            return thing
        return asked(run, fact, number, at, thing, thing)

    return value


def _fact_of_two(fact: Fact, number: int, subject: Getter, other: Getter, asked: Callable[..., Value]) -> Getter:
    def value(run: Run, at: int, env: Env) -> Value:
        one, two = subject(run, at, env), other(run, at, env)
        if one is None or two is None:
            return None
        if one.__class__ is Unknown:
            return one | two if two.__class__ is Unknown else one
        if two.__class__ is Unknown:
            return two
        return asked(run, fact, number, at, (one, two), one, two)

    return value


def _negative(of: Getter) -> Getter:
    def value(run: Run, at: int, env: Env) -> Value:
        found = of(run, at, env)
        return found if found is None or found.__class__ is Unknown else -found

    return value


def _arithmetic(sign: str, left: Getter, right: Getter) -> Getter:
    return lambda run, at, env: arithmetic(sign, left(run, at, env), right(run, at, env))


def _count(name: str, kind: Kind, where: Test | None) -> Getter:
    def value(run: Run, at: int, env: Env) -> Value:
        things, more = run.domain(kind)
        if more:
            return UNCOUNTED
        if where is None:
            return float(len(things))
        total = 0
        for thing in things:
            env[name] = thing
            found = where(run, at, env)
            if found == 1:
                return UNCOUNTED
            total += found
        return total / 2  # true is 2

    return value


# ---- conditions on one position ----


def _truth(value: Getter) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        found = value(run, at, env)
        return 1 if found.__class__ is Unknown else 2 if found else 0

    return test


def _truth_of_name(fact: Fact, number: int, name: str) -> Test:
    """`_truth` of a fact asked of a bound name: the commonest atom by far, in one call instead of four."""

    def test(run: Run, at: int, env: Env) -> int:
        thing = env[name]
        if thing is None:
            return 0
        if thing.__class__ is Unknown:
            return 1
        signal = run.facts[number].get(thing)
        if signal is not None and signal.since <= at < signal.until:
            if signal.until < run.until:
                run.until = signal.until
            found = signal.value
        else:
            found = _timed(run, fact, number, at, thing, thing)
        return 1 if found.__class__ is Unknown else 2 if found else 0

    return test


def _compare(sign: str, left: Getter, right: Getter) -> Test:
    return lambda run, at, env: compare(sign, left(run, at, env), right(run, at, env))


def _known_value(value: Getter) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        found = value(run, at, env)
        return 0 if found is None else 1 if found.__class__ is Unknown or found.__class__ is Bounds else 2

    return test


def _known_truth(of: Test) -> Test:
    return lambda run, at, env: 1 if of(run, at, env) == 1 else 2


def _did(step: str, slots: tuple[tuple[str, Getter], ...]) -> Test:
    first, thing = slots[0] if slots else (None, None)

    def test(run: Run, at: int, env: Env) -> int:
        named = thing(run, at, env) if thing is not None else None
        if named.__class__ is Unknown:  # any may be meant
            if not run.comes(step, None, None, at):
                return 0
        elif not run.comes(step, first, named, at):
            return 0
        if not slots:
            return 2
        best = 0
        for event in run.here[step, at]:
            found = min([slot_match(event.slots.get(name), wanted(run, at, env)) for name, wanted in slots])
            if found > best:
                if found == 2:
                    return 2
                best = found
        return best

    return test


def _not(of: Test) -> Test:
    return lambda run, at, env: 2 - of(run, at, env)


def _and(parts: list[Test]) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        worst, outer = 2, run.until
        until = outer
        for part in parts:
            run.until = FOREVER
            found = part(run, at, env)
            if not found:  # and so it stays as long as this one does, whatever the others come to
                if outer < run.until:
                    run.until = outer
                return 0
            if run.until < until:
                until = run.until
            if found < worst:
                worst = found
        run.until = until
        return worst

    return test


def _or(parts: list[Test]) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        best, outer = 0, run.until
        until = outer
        for part in parts:
            run.until = FOREVER
            found = part(run, at, env)
            if found == 2:  # as in `_and`
                if outer < run.until:
                    run.until = outer
                return 2
            if run.until < until:
                until = run.until
            if found > best:
                best = found
        run.until = until
        return best

    return test


def _implies(left: Test, right: Test) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        free = 2 - left(run, at, env)
        return free if free == 2 else max(free, right(run, at, env))

    return test


def _things(node: core.Each | core.Some) -> Domain:
    """The things to ask about at a position, and whether there may be more: of a kind, or, where it is asked of those
    that a step or happening names, those that are named there."""
    kind = node.kind
    wheres = node.where.parts if isinstance(node.where, core.And) else (node.where,)
    for part in wheres:
        if isinstance(part, core.Did):
            for slot, term in part.slots:
                if isinstance(term, core.Var) and term.name == node.name:
                    return lambda run, at: run.named(kind, part.step, slot, at)
    return lambda run, _at: run.domain(kind)


def _each(name: str, domain: Domain, where: Test | None, body: Test) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        things, more = domain(run, at)
        worst = 1 if more else 2
        for thing in things:
            env[name] = thing
            free = 0 if where is None else 2 - where(run, at, env)
            if free < worst:
                found = body(run, at, env)
                if found < worst:
                    worst = max(found, free)
                    if not worst:
                        return 0
        return worst

    return test


def _some(name: str, domain: Domain, where: Test | None, body: Test) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        things, more = domain(run, at)
        best = 1 if more else 0
        for thing in things:
            env[name] = thing
            most = 2 if where is None else where(run, at, env)
            if most > best:
                found = body(run, at, env)
                if found > best:
                    best = min(found, most)
                    if best == 2:
                        return 2
        return best

    return test


# ---- other positions ----


def _elsewhere(of: Test, run: Run, there: int, env: Env) -> tuple[int, int]:
    """A condition's truth at another position, and the position up to which it stays so there."""
    outer, run.until = run.until, FOREVER
    found, until = of(run, there, env), run.until
    run.until = outer
    return found, until


def _previously(of: Test) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        found, until = _elsewhere(of, run, at - 1, env) if at else (0, 0)
        run.until = min(run.until, until + 1)
        return found

    return test


def _after(of: Test) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        found, until = _elsewhere(of, run, min(at + 1, run.n), env)
        run.until = min(run.until, max(until - 1, at + 1))
        return found

    return test


def _finally(of: Test) -> Test:
    return lambda run, _at, env: _elsewhere(of, run, run.n, env)[0]


class _Column:
    """Truth by position of a past operator for one binding: what it is from each change on, up to ``until``."""

    __slots__ = ("since", "truth", "truths", "until")

    def __init__(self, truth: int) -> None:
        self.truth = truth  # the newest
        self.since: list[int] = []
        self.truths: list[int] = []
        self.until = 0


def _fold(node: Formula, names: tuple[str, ...], first: int, step: Callable[[Run, int, Env, int], int]) -> Test:
    """A past operator: ``step`` gives its truth at a position from that before, and is the same over a stretch in
    which what it asks is."""

    def test(run: Run, at: int, env: Env) -> int:
        key = (id(node), *[env[name] for name in names])
        column: _Column | None = run.columns.get(key)
        if column is None:
            column = run.columns[key] = _Column(first)
        if column.until <= at:
            outer = run.until
            while column.until <= at:
                now, run.until = column.until, FOREVER
                truth = step(run, now, env, column.truth)
                if truth != column.truth or not column.since:
                    column.since.append(now)
                    column.truths.append(truth)
                    column.truth = truth
                column.until = run.until
            run.until = outer
        if at >= column.since[-1]:
            found, until = column.truth, column.until
        else:
            index = bisect_right(column.since, at)
            found, until = column.truths[index - 1], column.since[index]
        if until < run.until:
            run.until = until
        return found

    return test


def _once(node: core.Once, names: tuple[str, ...], of: Test) -> Test:
    return _fold(node, names, 0, lambda run, at, env, best: best if best == 2 else max(best, of(run, at, env)))


def _always(node: core.Always, names: tuple[str, ...], of: Test) -> Test:
    return _fold(node, names, 2, lambda run, at, env, worst: worst and min(worst, of(run, at, env)))


def _since(node: core.Since, names: tuple[str, ...], left: Test, right: Test) -> Test:
    def step(run: Run, at: int, env: Env, held: int) -> int:
        begun = right(run, at, env)
        # max(begun, min(held, left)), asking left only where it can matter
        return max(begun, min(held, left(run, at, env))) if begun < 2 and held > begun else begun

    return _fold(node, names, 0, step)


def _once_within(node: core.Once, names: tuple[str, ...], of: Test, within: int) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        key = (id(node), *[env[name] for name in names])
        column: list[int] = run.columns.setdefault(key, [])
        column += [_elsewhere(of, run, now, env)[0] for now in range(len(column), at + 1)]
        run.until = min(run.until, at + 1)
        return max(column[max(0, at - within) : at + 1])

    return test
