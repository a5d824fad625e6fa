"""The meaning of the core written straight from its definitions: no caching, no recurrences, no compiled functions.

Past operators are written over all positions, not step by step, so that a mistake in a recurrence shows.
"""

from __future__ import annotations

import operator
from math import isclose, isnan
from typing import Any

from toy_catalogue import TOY

from groundlint.rulebook import core
from groundlint.rulebook.model import Occasion, Rule
from groundlint.values import Bounds, Gap, Unknown

NOTHING = Unknown.of("something")


def unknown(value: Any) -> bool:
    return isinstance(value, Unknown)


class Naive:
    def __init__(self, trace: Any, settings: dict[str, Any], conditions: dict[str, core.Condition]) -> None:
        self.trace, self.settings, self.conditions = trace, settings, conditions

    def term(self, node: core.Term, i: int, env: dict[str, Any]) -> Any:
        match node:
            case core.Var("plan"):
                return "the plan"
            case core.Var("it"):
                return self.trace.event(i) if i < self.trace.n else None
            case core.Var(name):
                return env[name]
            case core.Quantity(si):
                return si
            case core.Word(word):
                return word
            case core.Setting(name):
                value = self.settings[name].value
                return value.si if isinstance(value, core.Quantity) else value.word
            case core.Of(fact, subject, other):
                return self.fact(fact, subject, other, i, env)
            case core.Negative(of):
                value = self.term(of, i, env)
                return value if value is None or unknown(value) else joined("-", 0.0, value)
            case core.Count(name, kind, where):
                truths = [
                    2 if where is None else self.truth(where, i, {**env, name: thing})
                    for thing in self.trace.domain(kind)
                ]
                if 1 in truths or self.trace.closed(kind) is not None:
                    return NOTHING
                return float(truths.count(2))
            case core.Arithmetic(sign, left, right):
                a, b = self.term(left, i, env), self.term(right, i, env)
                if a is None or b is None:
                    return None
                return NOTHING if unknown(a) or unknown(b) else joined(sign, a, b)
        raise AssertionError(node)

    def fact(self, key: Any, subject: Any, other: Any, i: int, env: dict[str, Any]) -> Any:
        things = [self.term(node, i, env) for node in (subject, other) if node is not None]
        if None in things:
            return None
        if any(unknown(thing) for thing in things):
            return NOTHING
        fact = TOY.facts[key]
        return fact.compute(self.trace, i if fact.timed else self.trace.n, *things)

    def truth(self, node: core.Formula, i: int, env: dict[str, Any]) -> int:
        n = self.trace.n
        match node:
            case core.Is(fact, subject, other):
                value = self.fact(fact, subject, other, i, env)
                return 1 if unknown(value) else 2 if value else 0
            case core.Compare(sign, left, right):
                return compare(sign, self.term(left, i, env), self.term(right, i, env))
            case core.Known(of):
                if isinstance(of, (core.Var, core.Of, core.Arithmetic, core.Negative, core.Count, core.Setting)):
                    value = self.term(of, i, env)
                    return 0 if value is None else 1 if unknown(value) or isinstance(value, Bounds) else 2
                return 1 if self.truth(of, i, env) == 1 else 2
            case core.Did(step, slots):
                return max(
                    (
                        min([self.slot(event, name, self.term(term, i, env)) for name, term in slots], default=2)
                        for event in self.occurring(i, step)
                    ),
                    default=0,
                )
            case core.Not(of):
                return 2 - self.truth(of, i, env)
            case core.And(parts):
                return min(self.truth(part, i, env) for part in parts)
            case core.Or(parts):
                return max(self.truth(part, i, env) for part in parts)
            case core.Implies(left, right):
                return max(2 - self.truth(left, i, env), self.truth(right, i, env))
            case core.Previously(of):
                return self.truth(of, i - 1, env) if i > 0 else 0
            case core.Once(of, within):
                first = 0 if within is None else max(0, i - within)
                return max(self.truth(of, j, env) for j in range(first, i + 1))
            case core.Always(of):
                return min(self.truth(of, j, env) for j in range(i + 1))
            case core.Since(left, right):
                return max(
                    min([self.truth(right, j, env), *(self.truth(left, k, env) for k in range(j + 1, i + 1))])
                    for j in range(i + 1)
                )
            case core.After(of):
                return self.truth(of, min(i + 1, n), env)
            case core.Finally(of):
                return self.truth(of, n, env)
            case core.Call(name, args):
                condition = self.conditions[name]
                values = [self.term(arg, i, env) for arg in args]
                return self.truth(
                    condition.body,
                    i,
                    {key: value for (key, _), value in zip(condition.parameters, values, strict=True)},
                )
            case core.Each(name, kind, where, body):
                found = [1] if self.trace.closed(kind) is not None else []
                for thing in self.trace.domain(kind):
                    inner = {**env, name: thing}
                    free = 0 if where is None else 2 - self.truth(where, i, inner)
                    found.append(max(free, self.truth(body, i, inner)))
                return min(found, default=2)
            case core.Some(name, kind, where, body):
                found = [1] if self.trace.closed(kind) is not None else []
                for thing in self.trace.domain(kind):
                    inner = {**env, name: thing}
                    most = 2 if where is None else self.truth(where, i, inner)
                    found.append(min(most, self.truth(body, i, inner)))
                return max(found, default=0)
        raise AssertionError(node)

    def occurring(self, i: int, kind: str) -> list[Any]:
        """The step at a position and what happened there, as far as of the kind."""
        if i == self.trace.n:
            return []
        return [event for event in (self.trace.event(i), *self.trace.happenings(i)) if event.kind == kind]

    def slot(self, event: Any, name: str, wanted: Any) -> int:
        stated = event.slots.get(name)
        members = stated if isinstance(stated, tuple) else (stated,)
        members = tuple(member for member in members if member is not None)
        if not members or wanted is None:
            return 0
        if unknown(wanted):
            return 1
        return max(1 if unknown(member) else 2 if member == wanted else 0 for member in members)

    def verdicts(self, rule: Rule) -> list[int | None]:
        """The truth of each instance, ``None`` where it does not apply."""
        found: list[int | None] = []
        for i, env, most in self.instances(rule.occasion):
            trigger = most if rule.trigger is None else min(most, self.truth(rule.trigger, i, env))
            demand = min(self.truth(demand.condition, i, env) for demand in rule.demands)
            found.append(None if trigger == 0 else max(2 - trigger, demand))
        return found

    def open_kinds(self, rule: Rule) -> int:
        """How many kinds that the rule asks for each of may have a thing more to which it applies at some step."""
        things = rule.occasion.things
        found = 0
        for name, kind in things:
            gap = self.trace.closed(kind)
            if gap is None:
                continue
            if not (rule.occasion.every or rule.occasion.lasting) or rule.trigger is None:
                found += 1
                continue
            assert len(things) == 1, "stated for one kind"
            last = self.trace.n + rule.occasion.lasting
            found += any(self.truth(rule.trigger, i, {name: NOTHING}) for i in range(last))
        return found

    def instances(self, occasion: Occasion) -> list[tuple[int, dict[str, Any], int]]:
        found: list[tuple[int, dict[str, Any], int]] = []
        for i in range(self.trace.n + 1):
            ends = occasion.step is None and not occasion.every
            if not occasion.lasting and ends != (i == self.trace.n):
                continue
            events = [None] if occasion.step is None else self.occurring(i, occasion.step)
            here = [found for event in events for found in self.bound(occasion, i, event)]
            for name, kind in occasion.things:
                here = [(i, {**env, name: thing}, most) for _, env, most in here for thing in self.trace.domain(kind)]
            found += here
        return found

    def bound(self, occasion: Occasion, i: int, event: Any) -> list[tuple[int, dict[str, Any], int]]:
        here: list[tuple[int, dict[str, Any], int]] = [(i, {}, 2)]
        for slot in occasion.slots:
            stated = event.slots.get(slot.slot)
            members = stated if isinstance(stated, tuple) else (stated,)
            grown = []
            for _, env, most in here:
                for member in members:
                    if member is None:
                        continue
                    if unknown(member):
                        open_slot = slot.narrowed or slot.slot == "stick"
                        grown.append((i, {**env, slot.name: member}, 1 if open_slot else most))
                    elif not slot.narrowed or TOY.is_a(self.trace.kind_of(member), slot.kind):
                        grown.append((i, {**env, slot.name: member}, most))
            here = grown
        return here


def between(value: Any) -> tuple[float, float]:
    return (value.low, value.high) if isinstance(value, Bounds) else (value, value)


def joined(sign: str, a: Any, b: Any) -> Any:
    """The least interval that holds whatever comes of a value between the ends of each, found at the ends."""
    if sign == "/" and between(b)[0] <= 0 <= between(b)[1]:
        return NOTHING
    join = {"+": operator.add, "-": operator.sub, "*": operator.mul, "/": operator.truediv}[sign]
    found = [value for x in between(a) for y in between(b) if not isnan(value := join(x, y))]
    if not found:
        return NOTHING
    return max(found) if min(found) == max(found) else Bounds(min(found), max(found), (Gap("something"),))


def compare(sign: str, a: Any, b: Any) -> int:
    if a is None or b is None:
        return 2 if sign == "!=" else 0
    if unknown(a) or unknown(b):
        return 1
    if isinstance(a, Bounds) or isinstance(b, Bounds):
        ends = sorted((*between(a), *between(b)))  # between two neighbours of these nothing new comes in
        xs, ys = ([x for x in ends if low <= x <= high] for low, high in (between(a), between(b)))
        truths = {compare(sign, x, y) for x in xs for y in ys}
        return truths.pop() if len(truths) == 1 else 1
    same = a == b or (isinstance(a, float) and isinstance(b, float) and isclose(a, b, rel_tol=1e-9))
    holds = {
        "=": lambda: same,
        "!=": lambda: not same,
        "<": lambda: a < b and not same,
        ">": lambda: a > b and not same,
        "<=": lambda: a < b or same,
        ">=": lambda: a > b or same,
    }[sign]()
    return 2 if holds else 0
