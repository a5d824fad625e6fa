"""Values and messages in words, for one run and one binding."""

from __future__ import annotations

from math import isinf

from groundlint.facts.catalogue import Value
from groundlint.rulebook import core
from groundlint.rulebook.compile import Compiler, Env, Run
from groundlint.rulebook.core import Node, Term
from groundlint.rulebook.model import Later, Template
from groundlint.rulebook.render import Style, show
from groundlint.rulebook.written import Written
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
        self.written = Written(run.trace.quantities())

    def fill(self, template: Template, at: int, env: Env) -> str:
        """A message with its placeholders filled in."""
        said = []
        for part in template:
            if isinstance(part, Later):
                said.append(self.value(part.of, min(at + 1, self.run.n), env))
            else:
                said.append(part if isinstance(part, str) else self.value(part, at, env))
        return "".join(said)

    def can_fill(self, template: Template, at: int, env: Env) -> bool:
        """Whether there is something to put for each placeholder."""
        values = (self.compiler.term(part)(self.run, at, env) for part in template if not isinstance(part, str | Later))
        return not any(value is None or isinstance(value, Unknown) for value in values)

    def value(self, node: Term, at: int, env: Env) -> str:
        """What a term comes to, in words."""
        return self.say(self.compiler.term(node)(self.run, at, env), node)

    def say(self, value: Value, node: Term) -> str:
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
                return between(value, own, dimension)
            return self.written.exactly(value, dimension) or quantity(float(value), own, dimension)
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
        return value.text if own == unit else f"{value.text} ({quantity(value.si, own, value.dimension)})"

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


SMALLER = {"kA": "A", "A": "mA", "kV": "V", "V": "mV", "h": "min", "min": "s"}
"""The unit that people say instead where there is less than one."""

MOST_FEET = 20
"""Feet up to which inches are said too."""


def quantity(si: float, unit: str, dimension: str) -> str:
    """An SI value in a unit of its dimension (in SI where it is empty) or a smaller one, to four figures."""
    if isinf(si):
        return "an unlimited time" if dimension == "time" else "no limit"
    return _between(si, si, unit, dimension)


def between(value: Bounds, unit: str, dimension: str) -> str:
    """Bounds in words: ``1.2 to 3.4 kA``, ``at least 20 V``; one value where four figures do not tell them apart."""
    return _between(value.low, value.high, unit, dimension)


def _between(least: float, greatest: float, unit: str, dimension: str) -> str:
    unit = unit or units.SI_UNIT.get(dimension) or _DERIVED.get(dimension, "")
    most = least if isinf(greatest) else greatest
    while unit in SMALLER and 0 < abs(_in(most, unit, dimension)) < 1:
        unit = SMALLER[unit]
    low, high = (_figures(_in(end, unit, dimension), unit) for end in (least, greatest))
    if isinf(greatest):
        return "(not known)" if least <= 0 else f"at least {low}"
    if isinf(least):
        return f"at most {high}"
    if low == high:
        return low
    bare = low.removesuffix(f" {unit}") if high.endswith(f" {unit}") else low
    return f"{bare} to {high}"


def _in(si: float, unit: str, dimension: str) -> float:
    return units.Quantity(si, dimension).to(unit) if dimension in units.SI_UNIT and unit else si


def _figures(value: float, unit: str) -> str:
    """Four figures and the unit; feet with their inches, as a tape has them; whole numbers up to ten million written
    out, which people read better than powers of ten."""
    if unit == "ft" and value < MOST_FEET and value != round(value, 6) // 1:
        feet, inches = divmod(round(value * 12, 1), 12)
        return " ".join([f"{feet:.0f} ft"] * (feet > 0) + [f"{inches:.3g} in"] * (inches > 0)) or "0 ft"
    number = f"{value:.0f}" if 1e4 <= abs(value) < 1e7 else f"{value:.4g}"
    return f"{number} {unit}".rstrip()
