"""The names of a plan as written: where each is declared and where it is used, read off the statements.

Things, conductors, people, crews and open values share one space of names, routines have their own, and so have the
parameters of each routine within it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import fields, is_dataclass
from functools import cached_property
from typing import NamedTuple

from groundlint.language import statements as s
from groundlint.language.nodes import Amount, Name, Node, Point
from groundlint.language.reference import numbers
from groundlint.language.trade import KINDS
from groundlint.plan.names import Names as Declared
from groundlint.text import Source

NOT_OF_THE_PLAN = {
    "document": ("ident", "revision"),
    "given": ("ident",),
    "lead": ("clamps",),
    "measured": ("ident",),
    "relay": ("ident",),
    "spacing": ("ident",),
    "surface": ("layer",),
    "waive": ("ident",),
}
"""Fields whose word names nothing that the plan declares: a curve, a dimension, a rule. Nor do numbers."""

ROUTINES = (s.Routine, s.Do, s.Repeat, s.Undo)
_KINDS: dict[type[s.Statement], str] = {
    **{cls: kind.lower() for cls, kind in KINDS.items()},
    s.Neutral: "conductor",
    s.Shield: "conductor",
    s.Route: "structure",
    s.Given: "open value",
    s.Parallel: "parallel circuit",
}


class Key(NamedTuple):
    """What a name stands for: in one routine alone, among the routines, or in the plan."""

    name: str
    space: str = ""


class Use(NamedTuple):
    """A name where it stands, or one of a range there, in offsets. ``kind`` says what it is declared as, and is empty
    where it is used; ``sure`` is false where it is declared only if nothing else does, as a structure by the route."""

    key: Key
    start: int
    end: int
    kind: str = ""
    sure: bool = True
    of_range: bool = False


class Names:
    """The names of one text."""

    def __init__(self, statements: Sequence[s.Statement], source: Source) -> None:
        self.source = source
        self.uses = sorted((use for one in statements for use in self._of(one)), key=lambda use: use.start)

    @cached_property
    def declared(self) -> dict[Key, Use]:
        """Where each name is declared."""
        found: dict[Key, Use] = {}
        for use in sorted(self.uses, key=lambda use: not use.sure):
            if use.kind:
                found.setdefault(use.key, use)
        return found

    def at(self, offset: int) -> Use | None:
        """The name at a place; of a range the first."""
        return next((use for use in self.uses if use.start <= offset <= use.end), None)

    def of(self, key: Key) -> list[Use]:
        """Every place of a name."""
        return [use for use in self.uses if use.key == key]

    def of_kind(self, kind: str) -> list[str]:
        """What is declared as of a kind, in the order of the text."""
        return [key.name for key, use in self.declared.items() if use.kind == kind]

    # ---- statements ----

    def _of(self, one: s.Statement) -> Iterator[Use]:
        if not isinstance(one, s.Routine):
            yield from self._in(one, frozenset(), "")
            return
        space = f"within {one.ident}"
        yield from self._name(one.ident, "routine", kind="routine")
        mine: set[str] = set()
        for param in one.params:
            for name in param.names:
                mine.update(map(str, _each(name)))
                yield from self._name(name, space, kind=str(param.sort))
        for step in one.body:
            yield from self._in(step, frozenset(mine), space)

    def _in(self, one: s.Statement, params: frozenset[str], space: str) -> Iterator[Use]:
        kind = str(one.kind)  # type: ignore[attr-defined]
        left_out = {*NOT_OF_THE_PLAN.get(kind, ()), *numbers()}
        declares = {id(name) for name in _declares(one)}
        for field in fields(one):
            if field.name in left_out:
                continue
            for node in _nodes(getattr(one, field.name)):
                if node.place[0] is not self.source:
                    continue
                if field.name == "ident" and isinstance(one, ROUTINES):
                    yield from self._name(node, "routine")
                    continue
                said = _KINDS.get(type(one), kind) if id(node) in declares else ""
                if isinstance(one, s.Crew) and node is one.crew_name:
                    said = "crew"
                for use in self._name(node, "", kind=said):
                    known = use.key.name in params
                    yield (
                        use._replace(key=Key(use.key.name, space), sure=True)
                        if known
                        else use._replace(sure=not isinstance(one, s.Route))
                    )

    def _name(self, node: Node, space: str, *, kind: str = "") -> Iterator[Use]:
        _, start, end = node.place
        if isinstance(node, Point):
            at = start
            for word in node.words:
                found = re.compile(rf"(?<![\w.-]){re.escape(word)}(?![\w-])").search(self.source.text, at, end)
                if found is not None:
                    at = found.end()
                    yield Use(Key(word, space), *found.span(), kind)
            return
        for name in _each(node):
            yield Use(Key(str(name), space), start, end, kind, True, name != node)


def _each(node: Node) -> Iterator[Name]:
    """A name, or each of a range; nothing for a range that can't be one."""
    return Declared().expand((Name.at(str(node), node.place),))


def _nodes(value: object) -> Iterator[Node]:
    """Names and points in a field; of an amount that is left open its name."""
    if isinstance(value, Amount):
        if value.given is not None:
            yield value.given
    elif isinstance(value, Name | Point):
        yield value
    elif isinstance(value, tuple):
        for one in value:
            yield from _nodes(one)
    elif is_dataclass(value) and not isinstance(value, s.Statement):
        for field in fields(value):
            yield from _nodes(getattr(value, field.name))


def _declares(one: s.Statement) -> Sequence[Name]:
    """The names that a statement declares."""
    if isinstance(one, s.Neutral | s.Given):
        return (one.name,) if one.name is not None else ()
    if isinstance(one, s.Shield):
        return one.names
    if isinstance(one, s.Route):
        return [hop.structure for hop in one.hops]
    if isinstance(one, s.Cable):
        return [one.name, *(hop.structure for hop in one.vaults)]
    if isinstance(one, s.Crew):
        return [*([one.crew_name] if one.crew_name is not None else []), *s.declared_names(one)]
    return s.declared_names(one)
