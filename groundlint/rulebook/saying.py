"""Values and messages in words, for one run and one binding."""

from __future__ import annotations

from math import isinf

from groundlint.facts.catalogue import Value
from groundlint.rulebook import core
from groundlint.rulebook.compile import Compiler, Env, Run
from groundlint.rulebook.core import Node, Term
from groundlint.rulebook.model import Later, Template
from groundlint.rulebook.render import Style, show
from groundlint.values import Bounds, Unknown, units

# Dimensions that a rule's arithmetic can come to and the table of units has no unit of.
_DERIVED = {
    "volume": "m3",
    "speed": "m/s",
    "force": "N",
    "energy": "J",
    "heat": "A2 s",
    "charge": "C",
    "inductance": "H",
    "capacitance": "F",
}


class Speaker:
    """Says terms and templates of one run."""

    def __init__(self, compiler: Compiler, run: Run) -> None:
        self.compiler = compiler
        self.run = run

    def fill(self, template: Template, at: int, env: Env) -> str:
        """A message with its placeholders filled in."""
        said = []
        for part in template:
            if isinstance(part, Later):
                said.append(self.value(part.of, min(at + 1, self.run.n), env))
            else:
                said.append(part if isinstance(part, str) else self.value(part, at, env))
        return "".join(said)

    def value(self, node: Term, at: int, env: Env) -> str:
        """What a term comes to, in words."""
        return self.say(self.compiler.term(node)(self.run, at, env), node)

    def say(self, value: Value, node: Term) -> str:
        """A value of a term, in the unit that its fact or its literal has."""
        if value is None:
            return "none"
        if isinstance(value, Unknown):
            return "(not stated)"
        if isinstance(node, (core.Quantity, core.Setting)):
            return self._literal(node)
        if isinstance(value, (int, float)):
            return quantity(float(value), *self._unit(node))
        if isinstance(value, Bounds):
            return between(value, *self._unit(node))
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
        if isinstance(node, core.Quantity):
            return node.text
        value = self.compiler.settings[node.name].value
        return value.text if isinstance(value, core.Quantity) else value.word

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


def quantity(si: float, unit: str, dimension: str) -> str:
    """An SI value in a unit of its dimension (in SI where it is empty), to four figures."""
    if unit:
        return f"{_figures(units.Quantity(si, dimension).to(unit))} {unit}"
    return f"{_figures(si)} {units.SI_UNIT.get(dimension) or _DERIVED.get(dimension, '')}".rstrip()


def between(value: Bounds, unit: str, dimension: str) -> str:
    """Bounds in words: ``1.2 to 3.4 kA``, ``at least 20 V``; one value where four figures do not tell them apart."""
    low, high = (quantity(end, unit, dimension) for end in (value.low, value.high))
    if isinf(value.high):
        return "(not known)" if value.low <= 0 or isinf(value.low) else f"at least {low}"
    if isinf(value.low):
        return f"at most {high}"
    if low == high:
        return low
    bare, _, _ = low.partition(" ")
    return f"{bare} to {high}"


def _figures(value: float) -> str:
    """Four figures; whole numbers up to a million written out, which people read better than powers of ten."""
    return f"{value:.0f}" if 1e4 <= abs(value) < 1e7 else f"{value:.4g}"
