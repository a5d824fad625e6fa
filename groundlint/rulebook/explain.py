"""Why a condition came out as it did: the parts that decided, the lines of the plan behind them, the gaps to blame."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from groundlint.facts.catalogue import Kind, Value
from groundlint.rulebook import compile as compiled
from groundlint.rulebook import core
from groundlint.rulebook.compile import Compiler, Env, Run
from groundlint.rulebook.core import Formula, Node, Term
from groundlint.rulebook.measures import UNDEFINED
from groundlint.rulebook.saying import Speaker
from groundlint.text import Span
from groundlint.values import Gap, Truth, Unknown
from groundlint.values.bounds import gaps_of

MOST_CHILDREN = 6
"""Parts shown where many decide alike (the members of a set, the steps of a stretch); the rest are counted."""


@dataclass(frozen=True, slots=True)
class WhyNode:
    """One condition in the plan's own names, its truth, and what decided it.

    ``at`` is the position it was asked at, ``step`` the label of the step there (empty at the end). ``lines`` are
    places in the plan with a few words; ``gaps`` what the plan fails to say, only where ``truth`` is unknown.
    """

    text: str
    truth: Truth
    at: int
    step: str
    lines: tuple[tuple[Span, str], ...] = ()
    children: tuple[WhyNode, ...] = ()
    gaps: tuple[Gap, ...] = ()

    def every_line(self) -> tuple[tuple[Span, str], ...]:
        """Lines of this node and those below it, each once, in the order found."""
        found = {(span.start, words): (span, words) for node in self._walk() for span, words in node.lines}
        return tuple(found.values())

    def _walk(self) -> Iterable[WhyNode]:
        yield self
        for child in self.children:
            yield from child._walk()

    def render(self, depth: int = 0) -> str:
        """The tree as indented text, a line a node; a gap is said under the node that it left open."""
        mark = ("no ", "?  ", "yes")[self.truth]
        pad = "  " * depth
        place = f"  [before {self.step}]" if self.step else ""
        said = "".join(f"; {span.called}: {words}" for span, words in self.lines)
        rows = [f"{pad}{mark} {self.text}{place if depth == 0 else ''}{said}"]
        if not self.children:
            rows += [
                f"{pad}    not stated: {gap.fact}" + (f" (write `{gap.write}`)" if gap.write else "")
                for gap in self.gaps
            ]
        rows += [child.render(depth + 1) for child in self.children]
        return "\n".join(rows)


class Explainer:
    """Explains conditions of one run, with the functions that decided them."""

    def __init__(self, compiler: Compiler, run: Run) -> None:
        self.compiler = compiler
        self.run = run
        self.speaker = Speaker(compiler, run)

    def why(self, node: Formula, at: int, env: Env) -> WhyNode:
        """Why ``node`` came out as it did at a position."""
        truth = self.truth(node, at, env)
        lines: tuple[tuple[Span, str], ...] = ()
        children: list[WhyNode] = []
        gaps: tuple[Gap, ...] = ()
        text = self.speaker.text(node, env)
        match node:
            case core.Is():
                lines = self.lines(node, at, env)
                gaps = self.gaps(node, at, env) if truth == Truth.UNKNOWN else ()
            case core.Compare() | core.Known():
                if isinstance(node, core.Known) and isinstance(node.of, compiled.FORMULAS):
                    children = [self.why(node.of, at, env)]
                else:
                    text = self._measured(node, text, at, env)
                    lines = self.lines(node, at, env)
                gaps = self.gaps(node, at, env) if truth == Truth.UNKNOWN else ()
            case core.Did():
                if truth != Truth.FALSE:
                    lines = ((self.run.events[at].span, self.run.events[at].label),)
                gaps = self.gaps(node, at, env) if truth == Truth.UNKNOWN else ()
            case core.Not() | core.After() | core.Finally() | core.Previously():
                there = self._there(node, at)
                children = [self.why(node.of, there, env)] if there >= 0 else []
            case core.And() | core.Or():
                children = self._deciding([(part, at, env) for part in node.parts], truth)
            case core.Implies():
                if truth == Truth.TRUE:
                    side = node.right if self.truth(node.right, at, env) == Truth.TRUE else node.left
                    children = [self.why(side, at, env)]
                else:
                    children = [self.why(node.left, at, env), self.why(node.right, at, env)]
            case core.Call():
                inner = self._inner(node, at, env)
                children = [self.why(self.compiler.conditions[node.name].body, at, inner)]
            case core.Each() | core.Some():
                children = self._members(node, at, env, truth)
                gaps = self._open(node.kind) if truth == Truth.UNKNOWN else ()
            case core.Once() | core.Always():
                children = self._positions(node, at, env, truth)
            case core.Since():
                children = self._since(node, at, env, truth)
        if truth == Truth.UNKNOWN:
            gaps = _merged([gaps, *(child.gaps for child in children)])
        step = self.run.events[at].label if at < self.run.n else ""
        return WhyNode(text, truth, at, step, lines, tuple(children), gaps)

    def truth(self, node: Formula, at: int, env: Env) -> Truth:
        """Its truth, from the compiled function."""
        return Truth(self.compiler.test(node)(self.run, at, dict(env)))

    # ---- leaves ----

    def gaps(self, node: Node, at: int, env: Env) -> tuple[Gap, ...]:
        """What an atom or a term needs and the plan does not state."""
        match node:
            case core.Var():
                value = env.get(node.name)
                return value.gaps if isinstance(value, Unknown) else ()
            case core.Quantity() | core.Word() | core.Setting():
                return ()
            case core.Count():
                return self._count_gaps(node, at, env)
            case core.Of() | core.Is():
                below = [self.gaps(child, at, env) for child in core.children(node)]
                if any(below):
                    return _merged(below)
                return gaps_of(self._value(node, at, env))
            case core.Arithmetic() | core.Negative() | core.Compare():
                found = _merged(self.gaps(child, at, env) for child in core.children(node))
                if found or not isinstance(node, core.Arithmetic):
                    return found or self._undefined(node)
                return gaps_of(self.compiler.term(node)(self.run, at, dict(env)))
            case core.Did():
                return self._slot_gaps(node, at, env)
            case core.Known():
                if isinstance(node.of, compiled.FORMULAS):
                    return self.why(node.of, at, env).gaps
                return self.gaps(node.of, at, env)
            case _:
                return self.why(node, at, env).gaps

    def _undefined(self, node: Node) -> tuple[Gap, ...]:
        return UNDEFINED.gaps if isinstance(node, core.Compare) else ()

    def _value(self, node: core.Of | core.Is, at: int, env: Env) -> Value:
        """The fact's own value, whether it is a truth or not."""
        return self.compiler.term(core.Of(node.fact, node.subject, node.other))(self.run, at, dict(env))

    def _slot_gaps(self, node: core.Did, at: int, env: Env) -> tuple[Gap, ...]:
        found: list[tuple[Gap, ...]] = []
        for event in self.run.here.get((node.step, at), ()):
            for name, term in node.slots:
                found.append(self.gaps(term, at, env))
                value = event.slots.get(name)
                members = value if type(value) is tuple else (value,)
                found += [member.gaps for member in members if isinstance(member, Unknown)]
        return _merged(found)

    def _count_gaps(self, node: core.Count, at: int, env: Env) -> tuple[Gap, ...]:
        found = [self._open(node.kind)]
        for thing in self.run.domain(node.kind)[0]:
            inner = {**env, node.name: thing}
            if node.where is not None and self.truth(node.where, at, inner) == Truth.UNKNOWN:
                found.append(self.why(node.where, at, inner).gaps)
        return _merged(found)

    def _open(self, kind: Kind) -> tuple[Gap, ...]:
        gap = self.run.trace.closed(kind)
        return (gap,) if gap is not None else ()

    def lines(self, node: Node, at: int, env: Env) -> tuple[tuple[Span, str], ...]:
        """Plan lines behind the facts in an atom."""
        found: list[tuple[Span, str]] = []
        if isinstance(node, (core.Is, core.Of)):
            fact = self.compiler.catalogue.facts[node.fact]
            things = [self.compiler.term(child)(self.run, at, dict(env)) for child in _terms(node)]
            if fact.lines is not None and not any(thing is None or isinstance(thing, Unknown) for thing in things):
                found += fact.lines(self.run.trace, at if fact.timed else self.run.n, *things)
        if not isinstance(node, core.Count):
            for child in core.children(node):
                found += self.lines(child, at, env)
        return tuple({(span.start, words): (span, words) for span, words in found}.values())

    def _measured(self, node: core.Compare | core.Known, text: str, at: int, env: Env) -> str:
        """The comparison with what its facts came to: ``length of G20 (3.05 m) >= 15 ft``."""
        measured = (core.Of, core.Arithmetic, core.Count, core.Setting, core.Negative)
        terms = [child for child in core.children(node) if isinstance(child, measured)]
        values = self.speaker.said([(term, self.compiler.term(term)(self.run, at, dict(env))) for term in terms])
        said = [f"{self.speaker.text(term, env)} is {value}" for term, value in zip(terms, values, strict=True)]
        return f"{text}, where {' and '.join(said)}" if said else text

    # ---- what decides ----

    def _deciding(self, parts: list[tuple[Formula, int, Env]], truth: Truth) -> list[WhyNode]:
        """The parts whose truth is that of the whole; one is enough where one settles it."""
        found = [part for part in parts if self.truth(*part) == truth]
        return [self.why(*part) for part in found[:MOST_CHILDREN]]

    def _members(self, node: core.Each | core.Some, at: int, env: Env, truth: Truth) -> list[WhyNode]:
        member: Formula = node.body
        if node.where is not None:
            where, body = node.where, node.body
            member = core.Implies(where, body) if isinstance(node, core.Each) else core.And((where, body))
        parts = [(member, at, {**env, node.name: thing}) for thing in self.run.domain(node.kind)[0]]
        return self._deciding(parts, truth)

    def _positions(self, node: core.Once | core.Always, at: int, env: Env, truth: Truth) -> list[WhyNode]:
        """The latest positions that made it so; nothing where it is so at every one alike."""
        within = node.within if isinstance(node, core.Once) else None
        first = 0 if within is None else max(0, at - within)
        settled = Truth.FALSE if isinstance(node, core.Once) else Truth.TRUE
        if truth == settled:
            return []
        found = [now for now in range(at, first - 1, -1) if self.truth(node.of, now, env) == truth]
        return [self.why(node.of, now, env) for now in found[:MOST_CHILDREN]]

    def _since(self, node: core.Since, at: int, env: Env, truth: Truth) -> list[WhyNode]:
        """Back from here to the position that decides: where it began, where it broke off, or where that is unknown."""
        found: list[WhyNode] = []
        for now in range(at, -1, -1):
            begun = self.truth(node.right, now, env)
            if begun == truth and truth != Truth.FALSE:
                found.append(self.why(node.right, now, env))
                break
            held = self.truth(node.left, now, env)
            if held == truth and truth != Truth.TRUE and self._once_before(node.right, now, env):
                found.append(self.why(node.left, now, env))
            if held == Truth.FALSE or begun == Truth.TRUE or len(found) == MOST_CHILDREN:
                break
        return found

    def _once_before(self, node: Formula, at: int, env: Env) -> bool:
        """Whether it was so, or may have been, at a position before this one."""
        return self.truth(core.Previously(core.Once(node)), at, env) != Truth.FALSE

    def _there(self, node: core.Not | core.After | core.Finally | core.Previously, at: int) -> int:
        if isinstance(node, core.Not):
            return at
        if isinstance(node, core.After):
            return min(at + 1, self.run.n)
        return self.run.n if isinstance(node, core.Finally) else at - 1

    def _inner(self, node: core.Call, at: int, env: Env) -> Env:
        parameters = self.compiler.conditions[node.name].parameters
        values = [self.compiler.term(arg)(self.run, at, dict(env)) for arg in node.args]
        return dict(zip([name for name, _ in parameters], values, strict=True))


def _terms(node: core.Is | core.Of) -> list[Term]:
    return [node.subject] if node.other is None else [node.subject, node.other]


def _merged(groups: Iterable[tuple[Gap, ...]]) -> tuple[Gap, ...]:
    return tuple(dict.fromkeys(gap for group in groups for gap in group))
