"""Random conditions and traces over the toy catalogue, for the tests that hold evaluators against each other."""

from __future__ import annotations

from math import inf
from random import Random
from typing import Any

from toy_catalogue import STEPS, TOY, TableTrace

from groundlint.facts.catalogue import TRUTH, Event, StepKind
from groundlint.rulebook import core
from groundlint.rulebook.model import NamedSetting
from groundlint.text import Source
from groundlint.values import Bounds, Gap, Unknown

DOMAINS = {
    "lead": ("G1", "G2"),
    "conductor": ("A", "B"),
    "rod": ("R1",),
    "detector": ("D1",),
    "stick": ("H1",),
    "source": ("W", "E"),
}
SETTINGS = {
    "rod-away": NamedSetting("rod-away", core.Quantity(15 * 0.3048, "length", "15 ft"), (), "published", "", "toy"),
    "way": NamedSetting("way", core.Word("dual-point"), ("single-point", "dual-point"), "published", "", "toy"),
}
CONDITIONS = {
    "readied": core.Condition(
        "readied",
        (("p", "point"),),
        core.Once(core.Did("test", (("point", core.Var("p", "point")),))),
    ),
    "joined": core.Condition(
        "joined",
        (("l", "lead"), ("p", "point")),
        core.Is(("joined-to", "lead", "point"), core.Var("l", "lead"), core.Var("p", "point")),
    ),
}
STATE_ONLY = {"joined"}
FT15 = core.Quantity(15 * 0.3048, "length", "15 ft")
QUANTITIES = (0.0, 3.0, 15 * 0.3048, 9.0)


class Maker:
    """Makes random core. ``random`` decides everything, so that one seed is one condition."""

    def __init__(self, random: Random) -> None:
        self.random = random
        self.names = 0

    def formula(self, depth: int, scope: dict[str, str], loops: int = 0, after: bool = False) -> core.Formula:
        r = self.random
        if depth <= 0 or r.random() < 0.15:
            return self.atom(scope, after, loops)
        simple = ["not", "and", "or", "implies", "known"]
        past = ["previously", "once", "within", "always", "since", "since", "finally", "after"]
        options = simple + ([] if after else past) + (["each", "some", "each", "some"] if loops < 2 else [])
        match r.choice(options):
            case "not":
                return core.Not(self.formula(depth - 1, scope, loops, after))
            case "and":
                return core.And(tuple(self.formula(depth - 1, scope, loops, after) for _ in range(r.randint(2, 3))))
            case "or":
                return core.Or(tuple(self.formula(depth - 1, scope, loops, after) for _ in range(r.randint(2, 3))))
            case "implies":
                return core.Implies(
                    self.formula(depth - 1, scope, loops, after), self.formula(depth - 1, scope, loops, after)
                )
            case "known":
                return core.Known(self.formula(depth - 1, scope, loops, after))
            case "previously":
                return core.Previously(self.formula(depth - 1, scope, loops))
            case "once":
                return core.Once(self.formula(depth - 1, scope, loops))
            case "within":
                return core.Once(self.formula(depth - 1, scope, loops), r.randint(0, 3))
            case "always":
                return core.Always(self.formula(depth - 1, scope, loops))
            case "since":
                return core.Since(self.formula(depth - 1, scope, loops), self.formula(depth - 1, scope, loops))
            case "finally":
                return core.Finally(self.formula(depth - 1, scope, loops))
            case "after":
                return core.After(self.formula(depth - 1, scope, loops, after=True))
            case word:
                self.names += 1
                name, kind = f"x{self.names}", r.choice(["lead", "point", "conductor", "source"])
                inner = {**scope, name: kind}
                where = self.formula(depth - 2, inner, loops + 1, after) if r.random() < 0.5 else None
                body = self.formula(depth - 1, inner, loops + 1, after)
                return core.Each(name, kind, where, body) if word == "each" else core.Some(name, kind, where, body)

    def thing(self, scope: dict[str, str], kind: str) -> core.Term | None:
        found: list[core.Term] = [core.Var(name, own) for name, own in scope.items() if TOY.is_a(own, kind)]
        if kind == "point":
            found += [
                core.Of(("end", "lead", None), core.Var(name, own)) for name, own in scope.items() if own == "lead"
            ]
        return self.random.choice(found) if found else None

    def atom(self, scope: dict[str, str], after: bool, loops: int) -> core.Formula:
        r = self.random
        made: list[core.Formula] = []
        for fact in TOY.facts.values():
            if fact.subject in ("plan", "step"):
                continue
            subject = self.thing(scope, fact.subject)
            other = self.thing(scope, fact.other) if fact.other else None
            if subject is None or (fact.other and other is None):
                continue
            if fact.returns == TRUTH:
                made.append(core.Is(fact.key, subject, other))
                continue
            value = core.Of(fact.key, subject, other)
            sign = r.choice(["=", "!="])
            order = r.choice(["<", "<=", ">", ">=", "=", "!="])
            if fact.returns == "length":
                right: core.Term = r.choice([FT15, core.Setting("rod-away")])
                if r.random() < 0.3:
                    right = core.Arithmetic(r.choice("+-"), right, core.Negative(value))
                if r.random() < 0.3:
                    sign_, top = r.choice("+-"), core.Arithmetic("*", right, value)
                    right = core.Arithmetic("/", top, core.Arithmetic(sign_, value, FT15))
                made.append(core.Compare(order, value, right))
            elif fact.returns == "point" and (point := self.thing(scope, "point")) is not None:
                made.append(core.Compare(sign, value, point))
            elif fact.returns == frozenset({"copper", "steel"}):
                made.append(core.Compare(sign, value, core.Word("steel")))
            if r.random() < 0.3:
                made.append(core.Known(value))
        if not after:
            made.append(core.Is(("by-hand", "step", None), core.Var("it", "step")))
            step = r.choice(STEPS)
            slots = []
            for slot in step.slots:
                term = self.thing(scope, slot.kind)
                if term is not None and r.random() < 0.7:
                    slots.append((slot.name, term))
            if slots:
                made += [core.Did(step.name, tuple(slots))] * 3
            if (point := self.thing(scope, "point")) is not None:
                made.append(core.Call("readied", (point,)))
        lead, point = self.thing(scope, "lead"), self.thing(scope, "point")
        if lead is not None and point is not None:
            made.append(core.Call("joined", (lead, point)))
        made.append(core.Compare("=", core.Of(("method", "plan", None), core.Var("plan", "plan")), core.Setting("way")))
        if loops < 2:
            name = f"x{self.names + 100}"
            where = core.Is(("on", "lead", None), core.Var(name, "lead"))
            made.append(core.Compare(r.choice(["<", ">=", "="]), core.Count(name, "lead", where), one()))
        return r.choice(made)


def one() -> core.Quantity:
    return core.Quantity(1.0, "number", "1")


def random_trace(random: Random, known: float) -> TableTrace:
    """A trace of up to ten steps in which each value is stated with probability ``known``, or else maybe bounded."""
    trace = TableTrace([], dict(DOMAINS), {}, frozenset(), Source("random", "plan\n"))
    for at in range(random.choice((0, 1, 2, 3, 4, 5, 6, 6, 8, 10))):
        step = random.choice([step for step in STEPS if not step.happening])
        trace.events.append(random_event(random, trace, step, known, at))
        happening = random.choice([step for step in STEPS if step.happening])
        trace.happened[at] = tuple(
            random_event(random, trace, happening, known, at) for _ in range(random.choice([0, 1, 1, 2]))
        )
    trace.open_kinds = frozenset(kind for kind in ("source", "lead") if random.random() < 0.15 * (known < 1))
    fill(random, trace, known)
    return trace


def random_event(random: Random, trace: TableTrace, step: StepKind, known: float, at: int) -> Event:
    slots: dict[str, Any] = {}
    for slot in step.slots:
        slots[slot.name] = slot_value(random, slot.kind, slot.many, slot.optional, known, f"{slot.name} at {at}")
    return Event(step.name, slots, trace.start(), str(at), f"step {at}")


def slot_value(random: Random, kind: str, many: bool, optional: bool, known: float, said: str) -> Any:
    things = members(kind)
    if random.random() > known:
        return Unknown.of(said)
    if optional and random.random() < 0.3:
        return None
    if not many:
        return random.choice(things)
    found = [thing for thing in things if random.random() < 0.6]
    return tuple(thing if random.random() <= known else Unknown.of(f"{said} member") for thing in found)


def members(kind: str) -> tuple[str, ...]:
    return TableTrace([], dict(DOMAINS), {}).domain(kind)


def fill(random: Random, trace: TableTrace, known: float) -> None:
    """State each fact that is not stated yet with probability ``known``; bound some quantities of the others."""
    for fact in TOY.facts.values():
        for at in range(trace.n + 1) if fact.timed else (trace.n,):
            for subject in things_of(trace, fact.subject):
                for other in things_of(trace, fact.other) if fact.other else (None,):
                    key = (fact.name, at, subject) if other is None else (fact.name, at, subject, other)
                    if key in trace.table:
                        continue
                    before = (fact.name, at - 1, *key[2:])
                    if before in trace.table and random.random() < 0.5:  # most facts stay as they are at most steps
                        trace.table[key] = trace.table[before]
                    elif random.random() < known:
                        trace.table[key] = fact_value(random, fact.returns)
                    elif fact.returns in ("length", "current") and random.random() < 0.7:
                        low, high = sorted(random.sample((*QUANTITIES, inf), 2))
                        trace.table[key] = Bounds(low, high, (Gap(f"{fact.name} to nearer than bounds"),))


def things_of(trace: TableTrace, kind: str) -> tuple[Any, ...]:
    return tuple(range(trace.n)) if kind == "step" else trace.domain(kind)


def fact_value(random: Random, returns: Any) -> Any:
    if returns == TRUTH:
        return random.random() < 0.5
    if isinstance(returns, frozenset):
        return random.choice(sorted(returns))
    if returns == "point":
        return random.choice([*members("point"), None])
    return random.choice(QUANTITIES)


def inside(random: Random, value: Any) -> Any:
    """A value that the bounds leave, often an end; what is not bounds stays."""
    if not isinstance(value, Bounds):
        return value
    high = min(value.high, value.low + 50.0)
    return random.choice([value.low, high, random.uniform(value.low, high)])


def refined(random: Random, trace: TableTrace) -> TableTrace:
    """The same trace with everything stated: what was stated stays, each gap is filled at random, within its bounds."""
    events = [refined_event(random, event) for event in trace.events]
    happened = {at: tuple(refined_event(random, event) for event in found) for at, found in trace.happened.items()}
    table = {key: inside(random, value) for key, value in trace.table.items()}
    full = TableTrace(events, trace.domains, table, frozenset(), trace.source, happened)
    fill(random, full, 1.0)
    return full


def refined_event(random: Random, event: Event) -> Event:
    slots = {}
    for slot in TOY.steps[event.kind].slots:
        value = event.slots[slot.name]
        if isinstance(value, Unknown):
            value = slot_value(random, slot.kind, slot.many, slot.optional, 1.0, "")
        elif isinstance(value, tuple):
            value = tuple(
                random.choice(members(slot.kind)) if isinstance(member, Unknown) else member for member in value
            )
        slots[slot.name] = value
    return Event(event.kind, slots, event.span, event.number, event.label)
