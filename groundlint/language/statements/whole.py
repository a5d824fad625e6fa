"""A plan as written, and what its statements may be."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Annotated, Literal

from groundlint.language.nodes import Name
from groundlint.language.statements.base import ByKind, Part, Statement
from groundlint.language.statements.blocks import Routine, Stage
from groundlint.language.statements.headers import AnyHeader
from groundlint.language.statements.properties import AnyProperty, Phases
from groundlint.language.statements.steps import AnyStep
from groundlint.language.statements.things import AnyThing, Crew, Thing

AnyStatement = AnyHeader | AnyThing | AnyProperty | Routine | Stage | AnyStep


@dataclass(frozen=True)
class PlanText(Part):
    """A plan as written: its statements in order, and the comment lines after the last.

    ``tradition`` is ``earth`` where the plan is written in the earthing tradition's words, so that it is written back
    in them.
    """

    statements: tuple[Annotated[AnyStatement, ByKind()], ...]
    after: tuple[str, ...] = ()
    tradition: Literal["ground", "earth"] = "ground"


@cache
def statement_classes() -> dict[str, type[Statement]]:
    """Every kind of statement by the name it has in the grammar."""
    found: dict[str, type[Statement]] = {}
    waiting: list[type[Statement]] = [Statement]
    while waiting:
        cls = waiting.pop()
        waiting.extend(cls.__subclasses__())
        kind = getattr(cls, "kind", None)
        if isinstance(kind, str):
            found[kind] = cls
    return dict(sorted(found.items()))


def declared_names(statement: Statement) -> tuple[Name, ...]:
    """The names that a statement declares, of things, phase conductors or people; ranges as written."""
    if isinstance(statement, Crew):
        return tuple(name for member in statement.members for name in member.names)
    if isinstance(statement, Thing | Phases):
        names: tuple[Name, ...] = getattr(statement, "names", ())
        return names
    return ()
