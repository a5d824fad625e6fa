"""What the unfolding of steps of every kind shares: the actions so far, and the parts that steps name."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

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


class Steps:
    """The actions gathered so far, with the stage, number and routine of the step at hand."""

    def __init__(self, names: Names, declared: Declarations) -> None:
        self.names = names
        self.declared = declared
        self.actions: list[Action] = []
        self.stage: str | None = None
        self.number: str | None = None
        self.use: Span | None = None
        self._full = False

    def _put(self, kind: str, st: s.Step, **slots: object) -> None:
        self._add(kind, st, slots)

    def _add(self, kind: str, st: s.Step, slots: Mapping[str, object], ends: tuple[Span, ...] = ()) -> None:
        if len(self.actions) >= MAX_ACTIONS:
            if not self._full:
                self._full = True
                self.names.refuse(
                    "too-many-steps",
                    st.span,
                    f"the plan unfolds to more than {MAX_ACTIONS:,} primitive steps; the rest is not read",
                    "split the plan",
                )
            return
        self.actions.append(Action(kind, slots, st.span, self.number, self.stage, self.use, ends))

    # ------------------------------------------------------------- parts
    def _things(self, names: tuple[Name, ...], env: Env, *classes: type[Thing]) -> list[Thing]:
        found = (self.names.find(name, env, *classes) for name in self.names.expand(names))
        return [thing for thing in found if thing is not None]

    def _person(self, name: Name | None, env: Env) -> Person | None:
        """A person, or None where no one is named or a crew is."""
        if name is None or env.get(name, str(name)) in self.declared.crews:
            return None
        return cast("Person | None", self.names.find(name, env, Person))

    def _crew(self, name: Name | None, env: Env) -> str | None:
        text = None if name is None else env.get(name, str(name))
        return text if text in self.declared.crews else None

    def _holder(self, name: Name | None, env: Env, what: str, st: s.Step, write: str = "by L1") -> Person | Gap | None:
        return Gap(what, write, st.span) if name is None else self._person(name, env)

    def _stick(self, by: Name | None, by_hand: bool, env: Env, what: str, st: s.Step) -> Thing | Gap | None:
        if by_hand:
            return None
        if by is None:
            return Gap(f"whether {what} by stick or by hand", "by H1", st.span)
        return self.names.find(by, env, Stick) or Gap(f"which stick {by} is", "by H1", by.span)

    def _at(self, name: Name | None, env: Env, what: str, st: s.Step) -> Structure | Gap:
        if name is None:
            return Gap(f"at which structure {what}", "at 212", st.span)
        gap = self.names.open_value(name, env)
        if gap is not None:
            return gap
        found = self.names.find(name, env, Structure)
        return cast(Structure, found) if found is not None else Gap(f"at which structure {what}", "at 212", name.span)

    def _length(self, amount: Any, what: str, write: str, st: s.Step) -> float | Gap:
        value = self.declared.amount(amount, "length")
        return value if value is not None else Gap(what, write, st.span)
