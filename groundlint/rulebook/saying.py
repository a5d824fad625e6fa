"""Values and messages in words, for one run and one binding."""

from __future__ import annotations

from collections.abc import Sequence

from groundlint.facts.catalogue import Value
from groundlint.rulebook import core
from groundlint.rulebook.compile import Compiler, Env, Run
from groundlint.rulebook.core import Node, Term
from groundlint.rulebook.model import Later, Template, Those
from groundlint.rulebook.render import Style, show
from groundlint.rulebook.written import Written
from groundlint.values import Bounds, Unknown
from groundlint.values.bounds import ends
from groundlint.words.quantities import FIGURES, MOST_FIGURES, between, figures, quantity
from groundlint.words.rows import listed, names_together


class Speaker:
    """Says terms and templates of one run."""

    def __init__(self, compiler: Compiler, run: Run) -> None:
        self.compiler = compiler
        self.run = run
        self.written = Written(run.trace.quantities())

    def fill(self, template: Template, at: int, env: Env) -> str:
        """A message with its placeholders filled in."""
        parts: list[tuple[Term, Value] | str] = []
        for part in template:
            if isinstance(part, Those):
                parts.append(self._names(part.of, at, env))
                continue
            node, when = (part.of, min(at + 1, self.run.n)) if isinstance(part, Later) else (part, at)
            parts.append(node if isinstance(node, str) else (node, self.compiler.term(node)(self.run, when, env)))
        said = iter(self.said([part for part in parts if isinstance(part, tuple)]))
        return "".join(part if isinstance(part, str) else next(said) for part in parts)

    def _names(self, node: core.Count, at: int, env: Env) -> str:
        """The things that satisfy a condition, by their names; what may satisfy it is not named."""
        test = self.compiler.test(node.where) if node.where is not None else None
        things = [
            thing
            for thing in self.run.domain(node.kind)[0]
            if test is None or test(self.run, at, {**env, node.name: thing}) == 2
        ]
        return listed(names_together(map(self.run.trace.label, things))) if things else f"some {node.kind}"

    def said(self, parts: Sequence[tuple[Term, Value]]) -> list[str]:
        """Values of terms beside each other, unlike ones in unlike words."""
        measures = [value for _, value in parts if isinstance(value, float | Bounds)]
        digits = figures(*(end for one in measures for end in ends(one)))
        return [self.say(value, node, digits) for node, value in parts]

    def can_fill(self, template: Template, at: int, env: Env) -> bool:
        """Whether there is something to put for each placeholder."""
        values = (
            self.compiler.term(part.of)(self.run, min(at + 1, self.run.n), env)
            if isinstance(part, Later)
            else self.compiler.term(part)(self.run, at, env)
            for part in template
            if not isinstance(part, str | Those)
        )
        return not any(value is None or isinstance(value, Unknown) for value in values)

    def say(self, value: Value, node: Term, digits: int = FIGURES) -> str:
        """A value of a term, as the plan writes it, else in the unit that its fact or its literal has."""
        if value is None:
            return "none"
        if isinstance(value, Unknown):
            return "(not stated)"
        if isinstance(node, (core.Quantity, core.Setting)):
            return self._literal(node)
        if isinstance(value, int | float | Bounds):
            unit, dimension = self._unit(node)
            own = self.written.unit(unit, dimension)
            if isinstance(value, Bounds):
                return between(value, own, dimension, digits)
            return self.written.exactly(value, dimension) or quantity(float(value), own, dimension, digits)
        if isinstance(value, str) and isinstance(node, (core.Of, core.Word)) and not self._gives_thing(node):
            return value
        if isinstance(node, core.Var) and node.name == "it":
            return self.run.events[at].label if (at := self._position(value)) >= 0 else "the step"
        return self.run.trace.label(value)

    def text(self, node: Node, env: Env) -> str:
        """A term or condition with the things in place of their names: ``212 A is grounded``."""

        def name(bound: str) -> str:
            if bound not in env:
                return bound
            thing = env[bound]
            return f"(some {bound})" if thing is None or isinstance(thing, Unknown) else self.run.trace.label(thing)

        return show(node, Style(self.compiler.catalogue, name))

    def _position(self, event: Value) -> int:
        return next((at for at, other in enumerate(self.run.events) if other is event), -1)

    def _literal(self, node: core.Quantity | core.Setting) -> str:
        value = node if isinstance(node, core.Quantity) else self.compiler.settings[node.name].value
        if not isinstance(value, core.Quantity):
            return value.word
        unit = value.text.rpartition(" ")[2]
        own = self.written.unit(unit, value.dimension)
        return value.text if own == unit else f"{value.text} ({quantity(value.si, own, value.dimension, MOST_FIGURES)})"

    def _gives_thing(self, node: core.Of | core.Word) -> bool:
        if isinstance(node, core.Word):
            return False
        returns = self.compiler.catalogue.facts[node.fact].returns
        return isinstance(returns, str)

    def _unit(self, node: Node) -> tuple[str, str]:
        """The unit that a quantity is said in, and its dimension, from the first fact or literal in the term."""
        if isinstance(node, core.Of):
            fact = self.compiler.catalogue.facts[node.fact]
            returns = fact.returns if isinstance(fact.returns, str) else ""
            return fact.unit, returns
        if isinstance(node, core.Quantity):
            return "", node.dimension
        if isinstance(node, core.Setting):
            value = self.compiler.settings[node.name].value
            return "", value.dimension if isinstance(value, core.Quantity) else ""
        if isinstance(node, core.Arithmetic) and node.sign in "*/":
            return "", ""
        if isinstance(node, (core.Arithmetic, core.Negative)):
            found = [self._unit(child) for child in core.children(node)]
            return next((unit for unit in found if unit[0]), found[0])
        return "", "number"
