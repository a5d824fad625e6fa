"""A plan on its way through rewritings, and what rewritings of every kind share."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from pathlib import PurePosixPath
from random import Random
from typing import Any

from groundlint.language import statements as s
from groundlint.language.nodes import Amount, Name, Node, Point
from groundlint.language.reader import read_statements
from groundlint.language.statements import PlanText
from groundlint.language.writer import write_plan
from groundlint.plan.names import Names
from groundlint.text import Source


@dataclass(frozen=True)
class Sheet:
    """A plan: its statements, or its text where that is not how they are written canonically.

    ``back`` gives for a name of this plan the name of the same thing in the plan that it was made from.
    """

    plan: PlanText
    words: str | None = None
    name: str = "plan.tpg"
    files: Mapping[str, str] = field(default_factory=dict)
    back: Mapping[str, str] = field(default_factory=dict)

    def text(self) -> str:
        return write_plan(self.plan) if self.words is None else self.words

    def opened(self, name: str) -> Source | str:
        """A file that it uses."""
        text = self.files.get(str(PurePosixPath(name)))
        return Source(name, text) if text is not None else "no such file"

    def of(self, statements: Iterable[Any]) -> Sheet:
        """The same with other statements, the steps counted anew where all were numbered, each above the last."""
        plan = replace(self.plan, statements=tuple(statements))
        return replace(self, plan=counted(plan) if counting(self.plan) else plan)


Change = Callable[[Sheet, Random], "Sheet | None"]


@dataclass(frozen=True)
class Rewriting:
    """A way to say the same in other words. ``first`` prepares a plan, so that there is something to say otherwise; the
    plan so prepared is what the rewritten one is compared with. None is made of a plan that has no place for it.

    ``words`` marks those that leave the statements as they are: what is read back must be equal.
    """

    name: str
    meaning: str
    change: Change
    first: Change | None = None
    words: bool = False


REWRITINGS: dict[str, Rewriting] = {}


def rewriting(meaning: str, *, first: Change | None = None, words: bool = False) -> Callable[[Change], Change]:
    """Enters a function among the rewritings, under its own name."""

    def keep(change: Change) -> Change:
        name = change.__name__.replace("_", " ")
        REWRITINGS[name] = Rewriting(name, meaning, change, first, words)
        return change

    return keep


# ---------------------------------------------------------------- statements
def read(text: str, name: str = "plan.tpg") -> PlanText:
    """The statements of a plan that reads whole."""
    found = read_statements(Source(name, text))
    assert not found.diagnostics, (found.diagnostics[0].message, found.diagnostics[0].span.text)
    return found.text


def mapped(value: Any, leaf: Callable[[Node], Node]) -> Any:
    """A statement, a part of one or a row of them with each of its words changed; unchanged words give it back."""
    if isinstance(value, Node):
        return leaf(value)
    if isinstance(value, tuple):
        return tuple(mapped(one, leaf) for one in value)
    if isinstance(value, s.Statement) or (is_dataclass(value) and not isinstance(value, type)):
        changed = {
            f.name: new
            for f in fields(value)  # type: ignore[arg-type]
            if f.name not in ("number", "comment", "before")
            and (new := mapped(old := getattr(value, f.name), leaf)) is not old
            and new != old
        }
        return replace(value, **changed) if changed else value  # type: ignore[type-var]
    return value


PLAIN = {
    "document": ("ident", "revision"),
    "given": ("ident",),
    "waive": ("ident",),
    "measured": ("ident",),
    "lead": ("clamps",),
    "surface": ("layer",),
    "spacing": ("ident",),
    "relay": ("ident", "dial"),
    "fault": ("x_over_r",),
    "power": ("x_over_r",),
    "do": ("ident",),
    "repeat": ("ident",),
    "undo": ("ident",),
    "routine": ("ident",),
}
"""Fields that hold names which stand for nothing that a plan declares."""


def renamed(statement: Any, new: Mapping[str, str]) -> Any:
    """A statement with the names of things changed."""

    def leaf(node: Node) -> Node:
        if isinstance(node, Name):
            return Name(new.get(node, node))
        if isinstance(node, Point):
            words = [new.get(word, str(word)) for word in node.words]
            return Point(" ".join([*words, node.feature] if node.feature else words))
        if isinstance(node, Amount) and node.given is not None:
            return Amount.at(f"given {new.get(node.given, node.given)}")
        return node

    changed = mapped(statement, leaf)
    kept = {name: getattr(statement, name) for name in PLAIN.get(statement.kind, ())}
    return replace(changed, **kept) if kept and changed is not statement else changed


def expanded(plan: PlanText) -> PlanText:
    """Every range of names written out."""

    def names(value: Any) -> Any:
        if isinstance(value, tuple) and any(isinstance(one, Name) for one in value):
            return tuple(
                name for one in value for name in (Names().expand((one,)) if isinstance(one, Name) else (one,))
            )
        return value

    def every(value: Any) -> Any:
        if isinstance(value, tuple):
            return names(tuple(every(one) for one in value))
        if isinstance(value, s.Statement) or (is_dataclass(value) and not isinstance(value, type)):
            old = {f.name: getattr(value, f.name) for f in fields(value) if f.name not in ("number", "comment")}  # type: ignore[arg-type]
            new = {name: each for name, one in old.items() if isinstance(one, tuple) and (each := every(one)) != one}
            return replace(value, **new) if new else value  # type: ignore[type-var]
        return value

    return replace(plan, statements=tuple(every(one) for one in plan.statements))


def used_names(plan: PlanText) -> set[str]:
    """Every name that stands anywhere."""
    found: set[str] = set()

    def leaf(node: Node) -> Node:
        if isinstance(node, Name):
            found.add(str(node))
        elif isinstance(node, Point):
            found.update(map(str, node.words))
        return node

    mapped(plan.statements, leaf)
    return found


def fresh(plan: PlanText, stem: str) -> Iterator[str]:
    """Names that are not in use."""
    taken = used_names(plan)
    return (name for number in range(1, 10_000) if (name := f"{stem}{number}") not in taken)


KINDS: dict[type[Any], str] = {
    s.Structure: "structure",
    s.Rod: "rod",
    s.Bar: "bar",
    s.Lead: "lead",
    s.Detector: "detector",
    s.Tester: "tester",
    s.Stick: "stick",
    s.Switch: "switch",
    s.Capacitor: "capacitor",
    s.Vehicle: "vehicle",
    s.Mat: "mat",
    s.SourceDecl: "source",
    s.Crew: "person",
    s.Phases: "conductor",
}


def kinds(plan: PlanText) -> dict[str, str]:
    """What each declared name stands for, by the word that a routine has for it."""
    found: dict[str, str] = {}
    for one in plan.statements:
        if type(one) in KINDS:
            found.update(dict.fromkeys(map(str, Names().expand(s.declared_names(one))), KINDS[type(one)]))
        if isinstance(one, s.Neutral) and one.name is not None:
            found[str(one.name)] = "conductor"
        if isinstance(one, s.Shield):
            found.update(dict.fromkeys(map(str, Names().expand(one.names)), "conductor"))
        if isinstance(one, s.Route):
            found.update((str(hop.structure), "structure") for hop in one.hops)
        if isinstance(one, s.Cable):
            found.update((str(hop.structure), "structure") for hop in one.vaults)
    return found


# ---------------------------------------------------------------- steps
def steps(plan: PlanText) -> list[Any]:
    """The steps that are not a routine's."""
    return [one for one in plan.statements if isinstance(one, s.Step)]


def counting(plan: PlanText) -> bool:
    """Whether every step has a number, each above the last."""
    numbers = [one.number for one in steps(plan)]
    if not numbers or None in numbers:
        return False
    keys = [(int(number.rstrip("abcdefghijklmnopqrstuvwxyz")), number) for number in numbers]
    return all(one < other for one, other in itertools.pairwise(keys))


def counted(plan: PlanText, by: int = 1, suffix: str = "") -> PlanText:
    """The steps numbered in their order."""
    number = 0
    out = []
    for one in plan.statements:
        if isinstance(one, s.Step):
            number += by
            out.append(replace(one, number=f"{number}{suffix}"))
        else:
            out.append(one)
    return replace(plan, statements=tuple(out))


def each_run(plan: PlanText, change: Callable[[list[Any]], list[Any]]) -> list[Any]:
    """The statements of a plan with each run of steps changed, in stages and in routines."""
    out: list[Any] = []
    run: list[Any] = []
    for one in [*plan.statements, None]:
        if isinstance(one, s.Step):
            run.append(one)
            continue
        if run:
            out.extend(change(run))
            run = []
        if isinstance(one, s.Routine):
            out.append(replace(one, body=tuple(change(list(one.body)))))
        elif one is not None:
            out.append(one)
    return out


def each_step(plan: PlanText, change: Callable[[Any], Iterable[Any]]) -> list[Any]:
    """The statements of a plan with each step made into others; what stood beside it goes to the first."""

    def run(before: list[Any]) -> list[Any]:
        return [new for one in before for new in beside(one, list(change(one)))]

    return each_run(plan, run)


def beside(old: Any, new: list[Any]) -> list[Any]:
    """New steps in the place of an old one, with its number, and comments on the first."""
    if not new or new[0] is old:
        return new
    first = replace(new[0], number=old.number, comment=old.comment, before=old.before)
    return [first, *(replace(one, number=None, comment=None, before=()) for one in new[1:])]


def changed(sheet: Sheet, statements: Iterable[Any]) -> Sheet | None:
    """A sheet of these statements; None if they are as before."""
    new = tuple(statements)
    return None if new == sheet.plan.statements else sheet.of(new)
