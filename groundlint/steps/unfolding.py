"""From a statement to its primitive actions: the actions so far, and what the unfolding of several kinds shares."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeAlias, cast

from groundlint.language import statements as s
from groundlint.language.nodes import Name
from groundlint.plan.declare import Declarations
from groundlint.plan.models import Action, Person, Stick, Structure, Thing
from groundlint.plan.names import Names
from groundlint.text import Span
from groundlint.values import Gap

MAX_ACTIONS = 50_000
"""Primitive actions of one plan, after its routines are unfolded."""

Env = Mapping[str, str]
"""The names that a routine's parameters stand for."""


class Unfolding:
    """The actions gathered so far, with the stage, number and routine of the step at hand."""

    def __init__(self, names: Names, declared: Declarations) -> None:
        self.names = names
        self.declared = declared
        self.actions: list[Action] = []
        self.stage: str | None = None
        self.number: str | None = None
        self.use: Span | None = None
        self.full = False  # no more actions are taken
        self.where: dict[Person, dict[str, object]] = {}  # where each was last said to be

    def put(self, kind: str, st: s.Step, **slots: object) -> None:
        """One more action of a kind."""
        self.add(kind, st, slots)

    def add(self, kind: str, st: s.Step, slots: Mapping[str, object], ends: tuple[Span, ...] = ()) -> None:
        """One more action, with its slots; ``ends`` are the places of both ends of a lead, where its line has both."""
        if self.goes_on(len(self.actions), st.span):
            self.actions.append(Action(kind, slots, st.span, self.number, self.stage, self.use, ends))

    def goes_on(self, taken: int, span: Span) -> bool:
        """Whether one more is taken of what there are so many of already; says once that no more are."""
        if taken >= MAX_ACTIONS and not self.full:
            self.full = True
            message = f"the plan unfolds to more than {MAX_ACTIONS:,} primitive steps; the rest is not read"
            self.names.refuse("too-many-steps", span, message, "split the plan")
        return not self.full

    # ------------------------------------------------------------- parts
    def things(self, names: tuple[Name, ...], env: Env, *classes: type[Thing]) -> list[Thing]:
        """The things that names stand for, of these classes."""
        found = (self.names.find(name, env, *classes) for name in self.names.expand(names))
        return [thing for thing in found if thing is not None]

    def person(self, name: Name | None, env: Env) -> Person | None:
        """A person, or None where no one is named or a crew is."""
        if name is None or env.get(name, str(name)) in self.declared.crews:
            return None
        return cast("Person | None", self.names.find(name, env, Person))

    def crew(self, name: Name | None, env: Env) -> str | None:
        """A crew by its name, or None where no one is named or a person is."""
        text = None if name is None else env.get(name, str(name))
        return text if text in self.declared.crews else None

    def holder(self, name: Name | None, env: Env, what: str, st: s.Step, write: str = "by L1") -> Person | Gap | None:
        """A person; None where a crew is named."""
        return Gap(what, write, st.span) if name is None else self.person(name, env)

    def stick(self, by: Name | None, by_hand: bool, env: Env, what: str, st: s.Step | s.End) -> Thing | Gap | None:
        """The stick by which something is done; None where it is by hand."""
        if by_hand:
            return None
        if by is None:
            return Gap(f"whether {what} by stick or by hand", "by H1", st.span)
        return self.names.find(by, env, Stick) or Gap(f"which stick {by} is", "by H1", by.span)

    def at(self, name: Name | None, env: Env, what: str, st: s.Step) -> Structure | Gap:
        """The structure at which something is."""
        if name is None:
            return Gap(f"at which structure {what}", "at 212", st.span)
        gap = self.names.open_value(name, env)
        if gap is not None:
            return gap
        found = self.names.find(name, env, Structure)
        return cast(Structure, found) if found is not None else Gap(f"at which structure {what}", "at 212", name.span)

    def length(self, amount: Any, what: str, write: str, st: s.Step) -> float | Gap:
        """A length in m."""
        value = self.declared.amount(amount, "length")
        return value if value is not None else Gap(what, write, st.span)


Unfold: TypeAlias = Callable[[Unfolding, Any, Env], None]


def each(slot: str, *classes: type[Thing]) -> Unfold:
    """One action for each thing of these classes that a statement names."""

    def unfold(to: Unfolding, st: Any, env: Env) -> None:
        for thing in to.things(st.names, env, *classes):
            to.put(st.kind, st, **{slot: thing})

    return unfold


def each_point(to: Unfolding, st: Any, env: Env) -> None:
    """One action for each point that a statement names."""
    for point in to.names.points(st.points, env):
        to.put(st.kind, st, point=point)


def text(to: Unfolding, st: Any, _env: Env) -> None:
    """One action, with the statement's own words."""
    to.put(st.kind, st, text=str(st.text))
