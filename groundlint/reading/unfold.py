"""From the steps of a plan to its primitive actions: each as its kind declares, routines unfolded and undone."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from functools import partial
from typing import Any, NamedTuple

from groundlint.language import statements as s
from groundlint.plan.declare import Declarations
from groundlint.plan.models import Action, Thing
from groundlint.plan.names import PARAM_CLASSES, Names
from groundlint.steps import KINDS, unfolding
from groundlint.steps.leads import taken_off
from groundlint.steps.unfolding import Env, Unfolding
from groundlint.text import Span
from groundlint.text.near import nearest
from groundlint.words.rows import counted

UNFOLDING = unfolding(KINDS)
"""What makes actions of each statement that is a step, but for those of routines."""

MAX_DEPTH = 8
"""Routines within routines."""
MOST_WALKED = 4
"""Statements that are walked for an action that may be taken. Routines that do each other many times over, and come to
few actions or none, would else go on for hours."""


class Done(NamedTuple):
    """A routine that was done: with which names, and what it put on."""

    routine: str
    names: tuple[str, ...]
    actions: tuple[Action, ...]
    span: Span


class Unfolder(Unfolding):
    """Walks the steps in order and gathers actions."""

    def __init__(
        self, names: Names, declared: Declarations, routines: Mapping[str, s.Routine], left_out: Collection[str] = ()
    ) -> None:
        super().__init__(names, declared)
        self.routines = routines
        self._left_out = left_out  # routines of which a message says enough
        self._done: list[Done] = []
        self._walked = 0  # statements, those among them of which no action came
        self._not_read: set[str] = set()  # routines of which a `do` was refused
        self._depth: list[str] = []
        self._steps: dict[type[s.Step], Callable[[Any, Env], None]] = {
            statement: partial(unfold, self) for statement, unfold in UNFOLDING.items()
        }
        self._steps |= {s.Do: self._do, s.Repeat: self._do, s.Undo: self._undo}

    # ------------------------------------------------------------- walking
    def step(self, st: s.Step, env: Env) -> None:
        """Carries one statement over into actions."""
        self._walked += 1
        if self.goes_on(self._walked // MOST_WALKED, st.span):
            self._steps[type(st)](st, env)

    # ------------------------------------------------------------- routines
    def _do(self, st: s.Do | s.Repeat, env: Env) -> None:
        name = str(st.ident)
        routine = self.routines.get(name)
        if routine is None:
            near = nearest(name, self.routines)
            self.names.refuse(
                "undeclared-routine",
                st.ident.span,
                f"no routine is named {name}",
                f"did you mean {near}?"
                if near
                else 'write the routine; what is done at the place of work is a step `work "..."`',
            )
            return
        if name in self._left_out:
            self._not_read.add(name)
            return
        if name in self._depth:
            self.names.refuse(
                "routine-does-itself",
                st.ident.span,
                f"routine {name} does itself",
                "take this step out of the routine",
                (routine.span, f"routine {name}"),
            )
            return
        if len(self._depth) >= MAX_DEPTH:
            self.names.refuse(
                "routines-too-deep",
                st.span,
                f"routines within routines go {MAX_DEPTH} deep at most",
                "write the steps out",
            )
            return
        bound = self._bind(st, routine, env)
        if bound is None:
            self._not_read.add(name)
            return
        start = len(self.actions)
        outer = self.use
        self.use = outer or st.span
        self._depth.append(name)
        for inner in routine.body:
            self.step(inner, bound)
        self._depth.pop()
        self.use = outer
        self._done.append(Done(name, tuple(bound.values()), tuple(self.actions[start:]), st.span))

    def _bind(self, st: s.Do | s.Repeat, routine: s.Routine, env: Env) -> dict[str, str] | None:
        params = [(str(name), str(param.sort)) for param in routine.params for name in self.names.expand(param.names)]
        args = list(self.names.expand(st.names or ()))
        if len(args) != len(params):
            self.names.refuse(
                "wrong-number-of-names",
                st.span,
                f"routine {routine.ident} takes {counted(len(params), 'name')} and is given {len(args)}",
                "give " + (" ".join(f"{sort} {name}," for name, sort in params).rstrip(",") or "none"),
                (routine.span, f"routine {routine.ident}"),
            )
            return None
        bound: dict[str, str] = {}
        for (param, sort), arg in zip(params, args, strict=True):
            thing = self.names.find(arg, env, PARAM_CLASSES.get(sort, Thing))
            if thing is None and self.names.open_value(arg, env) is None:
                return None
            bound[param] = env.get(arg, str(arg))
        return bound

    def _undo(self, st: s.Undo, env: Env) -> None:
        name = str(st.ident)
        if name not in self.routines:
            self.names.refuse("undeclared-routine", st.ident.span, f"no routine is named {name}", "write the routine")
            return
        where = env.get(st.at, str(st.at)) if st.at is not None else None
        if where is not None and self.names.find(st.at, env) is None:  # type: ignore[arg-type]
            return
        for done in reversed(self._done):
            if done.routine == name and (where is None or where in done.names):
                break
        else:
            if name in self._not_read:  # it may have been done there
                return
            at = f" at {where}" if where else ""
            self.names.refuse(
                "undo-not-done",
                st.span,
                f"routine {name} was not done{at}, or is undone already",
                "name a place where it was done",
            )
            return
        self._done.remove(done)
        outer = self.use
        self.use = outer or st.span
        for action, kind, slots in taken_off(done.actions):
            if self.goes_on(len(self.actions), st.span):
                self.actions.append(Action(kind.name, slots, action.span, self.number, self.stage, self.use))
        self.use = outer
