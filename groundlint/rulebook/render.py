"""The core as text of the rule language, for the reference and for explanations. It reads back to the same core."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from groundlint.facts.catalogue import Catalogue
from groundlint.rulebook import core
from groundlint.rulebook.core import Formula, Node, Term

_BARE = (core.Is, core.Compare, core.Known, core.Did, core.Call)
_PREFIXED = (core.Not, core.Previously, core.Once, core.Always, core.After, core.Finally)


class Style(NamedTuple):
    """How to print: ``name`` says what stands for a bound name (itself, or the thing that it is bound to)."""

    catalogue: Catalogue
    name: Callable[[str], str] = str


def render(node: Node, catalogue: Catalogue) -> str:
    """A term or condition as one line of rule language."""
    return show(node, Style(catalogue))


def show(node: Node, style: Style) -> str:
    """A term or condition as one line, in a style."""
    if isinstance(
        node,
        (core.Var, core.Quantity, core.Word, core.Setting, core.Of, core.Arithmetic, core.Negative, core.Count),
    ):
        return term(node, style)
    return formula(node, style)


def formula(node: Formula, style: Style) -> str:
    """A condition as one line; parentheses wherever two readings could come to mind."""
    match node:
        case core.Is():
            return _is(node, style, "is")
        case core.Compare():
            return f"{_side(node.left, style)} {node.sign} {_side(node.right, style)}"
        case core.Known():
            if isinstance(node.of, (core.Var, core.Of)):
                return f"{term(node.of, style)} is known"
            return f"({show(node.of, style)}) is known"
        case core.Did():
            return _did(node, style)
        case core.Call():
            return f"{node.name}({', '.join(term(arg, style) for arg in node.args)})"
        case core.Not():
            if isinstance(node.of, core.Is):
                return _is(node.of, style, "is not")
            return f"not {_operand(node.of, style)}"
        case core.And():
            return " and ".join(_part(part, style) for part in node.parts)
        case core.Or():
            return " or ".join(_part(part, style) for part in node.parts)
        case core.Implies():
            return f"{_part(node.left, style)} implies {_part(node.right, style)}"
        case core.Since():
            return f"{_operand(node.left, style)} since {_operand(node.right, style)}"
        case core.Once():
            tail = "" if node.within is None else f" within {node.within} steps"
            return f"once {_operand(node.of, style)}{tail}"
        case core.Each() | core.Some():
            where = f" where {formula(node.where, style)}" if node.where is not None else ""
            return f"{node.op} {node.name} {node.kind}{where}: {formula(node.body, style)}"
        case core.Previously() | core.Always() | core.After() | core.Finally():
            return f"{node.op} {_operand(node.of, style)}"


def term(node: Term, style: Style) -> str:
    """A term as one line."""
    match node:
        case core.Var():
            return style.name(node.name)
        case core.Setting():
            return node.name
        case core.Quantity():
            return node.text
        case core.Word():
            return node.word
        case core.Of():
            if node.other is None:
                return f"{node.fact[0]} of {_thing(node.subject, style)}"
            subject = term(node.subject, style)  # in parentheses, lest the inner fact take the outer one's `to`
            subject = subject if isinstance(node.subject, core.Var) else f"({subject})"
            return f"{node.fact[0]} of {subject} to {_thing(node.other, style)}"
        case core.Arithmetic():
            return f"{_factor(node.left, style)} {node.sign} {_factor(node.right, style)}"
        case core.Negative():
            return f"-({term(node.of, style)})"
        case core.Count():
            where = f" where {_operand(node.where, style)}" if node.where is not None else ""
            return f"count of {node.name} {node.kind}{where}"


def _is(node: core.Is, style: Style, verb: str) -> str:
    other = f" {_thing(node.other, style)}" if node.other is not None else ""
    return f"{_thing(node.subject, style)} {verb} {node.fact[0]}{other}"


def _did(node: core.Did, style: Style) -> str:
    kind = style.catalogue.steps[node.step]
    words = ["did", node.step]
    for name, value in node.slots:
        preposition = next(slot.preposition for slot in kind.slots if slot.name == name)
        if preposition is not None:
            words.append(preposition)
        words.append(term(value, style) if isinstance(value, core.Var) else f"({term(value, style)})")
    return " ".join(words)


def _operand(node: Formula, style: Style) -> str:
    """What stands after a prefix or beside ``since``: bare only if it can't be split."""
    text = formula(node, style)
    return text if isinstance(node, _BARE) else f"({text})"


def _part(node: Formula, style: Style) -> str:
    """What stands beside ``and``, ``or``, ``implies``."""
    text = formula(node, style)
    return text if isinstance(node, (*_BARE, *_PREFIXED)) else f"({text})"


def _side(node: Term, style: Style) -> str:
    text = term(node, style)
    return f"({text})" if isinstance(node, (core.Count, core.Arithmetic)) else text


def _factor(node: Term, style: Style) -> str:
    text = term(node, style)
    return f"({text})" if isinstance(node, (core.Arithmetic, core.Count, core.Negative)) else text


def _thing(node: Term, style: Style) -> str:
    text = term(node, style)
    return text if isinstance(node, (core.Var, core.Of)) else f"({text})"
