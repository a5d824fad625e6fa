"""Core conditions compiled into functions of a run, a position and an environment; the meaning is that of `core`.

Every function is pure in (position, values of its free names), so that past operators can keep a *column* of values
over positions for each binding and extend it by their recurrence. One node is compiled once however many rules hold
it; its columns are shared by all of them. Truth values are plain ints, 0 false, 1 unknown, 2 true.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import reduce
from operator import or_
from typing import Any, TypeAlias

from groundlint.facts.catalogue import Catalogue, Event, Fact, Kind, Thing, Trace, Value
from groundlint.rulebook import core
from groundlint.rulebook.core import Condition, Formula, Term
from groundlint.rulebook.measures import arithmetic, compare, slot_match
from groundlint.rulebook.model import NamedSetting
from groundlint.values import Bounds, Unknown

Env: TypeAlias = dict[str, Any]
Test: TypeAlias = "Callable[[Run, int, Env], int]"
Getter: TypeAlias = "Callable[[Run, int, Env], Value]"

UNCOUNTED = Unknown.of("how many there are")
_MISSING: Any = object()


class Run:
    """One trace under review, with what has been computed of it.

    ``kinds`` holds, for each position, a bit for each kind of step and of happening there (`Compiler.bits`);
    ``here`` the events of a kind at a position, ``positions`` all of a kind.
    """

    __slots__ = ("_domains", "calls", "columns", "events", "facts", "here", "kinds", "n", "plan", "positions", "trace")

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
        self.facts: list[dict[Any, Value]] = [{} for _ in range(compiler.facts)]
        self.columns: dict[Any, Any] = {}
        self.calls: dict[Any, int] = {}
        self._domains: dict[Kind, tuple[tuple[Thing, ...], bool]] = {}

    def domain(self, kind: Kind) -> tuple[tuple[Thing, ...], bool]:
        """The things of a kind, and whether the plan leaves open that there are more."""
        found = self._domains.get(kind)
        if found is None:
            found = self._domains[kind] = (self.trace.domain(kind), self.trace.closed(kind) is not None)
        return found


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
        self._sparse: dict[Formula, tuple[int, int] | None] = {}
        self._numbers: dict[tuple[str, Kind, Kind | None], int] = {key: at for at, key in enumerate(catalogue.facts)}
        self.bits: dict[str, int] = {name: 1 << at for at, name in enumerate(catalogue.steps)}

    @property
    def facts(self) -> int:
        """How many facts a `Run` must keep room for."""
        return len(self._numbers)

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
        if other is None:
            return _fact_of_one(fact, number, first)
        return _fact_of_two(fact, number, first, self.term(other))

    # ---- conditions ----

    def test(self, node: Formula) -> Test:
        """A function that gives the condition's truth."""
        found = self._tests.get(node)
        if found is None:
            found = self._tests[node] = self._compile(node)
        return found

    def _compile(self, node: Formula) -> Test:
        match node:
            case core.Is(fact, core.Var(name), None) if name not in ("plan", "it"):
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
                return _did(node.step, self.bits[node.step], slots)
            case core.Not():
                return _not(self.test(node.of))
            case core.And():
                return _and([self.test(part) for part in node.parts])
            case core.Or():
                return _or([self.test(part) for part in node.parts])
            case core.Implies():
                return _implies(self.test(node.left), self.test(node.right))
            case core.Each() | core.Some():
                where = self.test(node.where) if node.where is not None else None
                make = _each if isinstance(node, core.Each) else _some
                return make(node.name, node.kind, where, self.test(node.body))
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

    def _call(self, node: core.Call) -> Test:
        condition = self.conditions[node.name]
        body = self._bodies.get(node.name)
        if body is None:
            body = self._bodies[node.name] = self.test(condition.body)
        names = tuple(name for name, _ in condition.parameters)
        args = tuple(self.term(arg) for arg in node.args)
        name = node.name

        def call(run: Run, at: int, env: Env) -> int:
            values = tuple([arg(run, at, env) for arg in args])
            key = (name, at, values)
            found = run.calls.get(key)
            if found is None:
                found = run.calls[key] = body(run, at, dict(zip(names, values, strict=True)))
            return found

        return call

    # ---- past operators ----

    def _column(self, node: core.Once | core.Always | core.Since) -> Test:
        names = tuple(sorted(core.free_names(node)))
        if isinstance(node, core.Since):
            return _since(node, names, self._thin(node.left), self._thin(node.right))
        if isinstance(node, core.Always):
            return _always(node, names, self._thin(node.of))
        if node.within is not None:
            return _once_within(node, names, self._thin(node.of), node.within)
        return _once(node, names, self._thin(node.of))

    def _thin(self, node: Formula) -> Test:
        """The test of a node that skips positions at which its value follows from the kind of step alone."""
        test, thin = self.test(node), self.sparse(node)
        if thin is None:
            return test
        kinds, default = thin

        def thinned(run: Run, at: int, env: Env) -> int:
            return test(run, at, env) if run.kinds[at] & kinds else default

        return thinned

    def sparse(self, node: Formula) -> tuple[int, int] | None:
        """Bits of the kinds of step and happening without which a condition has a fixed value, and that value;
        ``None`` if there are none."""
        if node not in self._sparse:
            self._sparse[node] = self._find_sparse(node)
        return self._sparse[node]

    def _find_sparse(self, node: Formula) -> tuple[int, int] | None:
        if isinstance(node, core.Did):
            return self.bits[node.step], 0
        if isinstance(node, core.Not):
            inner = self.sparse(node.of)
            return (inner[0], 2 - inner[1]) if inner is not None else None
        if isinstance(node, core.Implies):
            return self.sparse(core.Or((core.Not(node.left), node.right)))
        if isinstance(node, (core.And, core.Or)):
            # one part that is false settles an `and`, one that is true an `or`; failing that, all must be settled
            settles = 0 if isinstance(node, core.And) else 2
            parts = [self.sparse(part) for part in node.parts]
            settling = [part[0] for part in parts if part is not None and part[1] == settles]
            if settling:
                return min(settling, key=int.bit_count), settles
            if all(part is not None for part in parts):
                return reduce(or_, (part[0] for part in parts if part is not None)), 2 - settles
        return None


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
        return lambda run, at, _env: run.events[at] if at < run.n else None
    return lambda _run, _at, env: env[name]


def _fact_of_one(fact: Fact, number: int, subject: Getter) -> Getter:
    compute, timed = fact.compute, fact.timed

    def value(run: Run, at: int, env: Env) -> Value:
        thing = subject(run, at, env)
        if thing is None or thing.__class__ is Unknown:
            return thing
        if not timed:
            at = run.n
        kept = run.facts[number]
        key = (at, thing)
        found = kept.get(key, _MISSING)
        if found is _MISSING:
            found = kept[key] = compute(run.trace, at, thing)
        return found

    return value


def _fact_of_two(fact: Fact, number: int, subject: Getter, other: Getter) -> Getter:
    compute, timed = fact.compute, fact.timed

    def value(run: Run, at: int, env: Env) -> Value:
        one, two = subject(run, at, env), other(run, at, env)
        if one is None or two is None:
            return None
        if one.__class__ is Unknown:
            return one | two if two.__class__ is Unknown else one
        if two.__class__ is Unknown:
            return two
        if not timed:
            at = run.n
        kept = run.facts[number]
        key = (at, one, two)
        found = kept.get(key, _MISSING)
        if found is _MISSING:
            found = kept[key] = compute(run.trace, at, one, two)
        return found

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
    """`_truth` of a fact asked of a bound name: the commonest atom by far, in one call instead of three."""
    compute, timed = fact.compute, fact.timed

    def test(run: Run, at: int, env: Env) -> int:
        thing = env[name]
        if thing is None:
            return 0
        if thing.__class__ is Unknown:
            return 1
        if not timed:
            at = run.n
        kept = run.facts[number]
        key = (at, thing)
        found = kept.get(key, _MISSING)
        if found is _MISSING:
            found = kept[key] = compute(run.trace, at, thing)
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


def _did(step: str, bit: int, slots: tuple[tuple[str, Getter], ...]) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        if not run.kinds[at] & bit:
            return 0
        best = 0
        for event in run.here[step, at]:
            found = min([slot_match(event.slots.get(name), wanted(run, at, env)) for name, wanted in slots], default=2)
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
        worst = 2
        for part in parts:
            found = part(run, at, env)
            if found < worst:
                if not found:
                    return 0
                worst = found
        return worst

    return test


def _or(parts: list[Test]) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        best = 0
        for part in parts:
            found = part(run, at, env)
            if found > best:
                if found == 2:
                    return 2
                best = found
        return best

    return test


def _implies(left: Test, right: Test) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        free = 2 - left(run, at, env)
        return free if free == 2 else max(free, right(run, at, env))

    return test


def _each(name: str, kind: Kind, where: Test | None, body: Test) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        things, more = run.domain(kind)
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


def _some(name: str, kind: Kind, where: Test | None, body: Test) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        things, more = run.domain(kind)
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


def _previously(of: Test) -> Test:
    return lambda run, at, env: of(run, at - 1, env) if at else 0


def _after(of: Test) -> Test:
    return lambda run, at, env: of(run, at + 1 if at < run.n else at, env)


def _finally(of: Test) -> Test:
    return lambda run, _at, env: of(run, run.n, env)


def _kept(run: Run, node: Formula, names: tuple[str, ...], env: Env) -> list[int]:
    """The column of a node for this binding; empty when new."""
    key = (id(node), *[env[name] for name in names])
    column: list[int] | None = run.columns.get(key)
    if column is None:
        column = run.columns[key] = []
    return column


def _once(node: core.Once, names: tuple[str, ...], of: Test) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        column = _kept(run, node, names, env)
        best = column[-1] if column else 0
        for now in range(len(column), at + 1):
            if best < 2:
                best = max(best, of(run, now, env))
            column.append(best)
        return column[at]

    return test


def _always(node: core.Always, names: tuple[str, ...], of: Test) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        column = _kept(run, node, names, env)
        worst = column[-1] if column else 2
        for now in range(len(column), at + 1):
            if worst:
                worst = min(worst, of(run, now, env))
            column.append(worst)
        return column[at]

    return test


def _since(node: core.Since, names: tuple[str, ...], left: Test, right: Test) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        column = _kept(run, node, names, env)
        held = column[-1] if column else 0
        for now in range(len(column), at + 1):
            begun = right(run, now, env)
            # max(begun, min(held, left)), asking left only where it can matter
            held = max(begun, min(held, left(run, now, env))) if begun < 2 and held > begun else begun
            column.append(held)
        return column[at]

    return test


def _once_within(node: core.Once, names: tuple[str, ...], of: Test, within: int) -> Test:
    def test(run: Run, at: int, env: Env) -> int:
        column = _kept(run, node, names, env)
        for now in range(len(column), at + 1):
            column.append(of(run, now, env))
        return max(column[max(0, at - within) : at + 1])

    return test
