"""Stages and routines, which hold steps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from groundlint.language.nodes import Name, Text, Word
from groundlint.language.statements.base import ByKind, Names, Part, Statement, doc, need, statement
from groundlint.language.statements.steps import AnyStep


@dataclass(frozen=True)
class Param(Part):
    """Parameters of one kind."""

    sort: Word
    names: Names


@statement
class Stage(Statement):
    """Begins a stage of the job."""

    group = "blocks"

    kind: Literal["stage"] = "stage"
    title: Text = need("its name")


@statement
class Routine(Statement):
    """Steps with parameters, to be done at several places."""

    group = "blocks"

    kind: Literal["routine"] = "routine"
    ident: Name = need("its name")
    params: tuple[Param, ...] = doc("parameters by kind", clause="param", many=True)
    body: tuple[Annotated[AnyStep, ByKind()], ...] = doc("its steps: the indented lines below", many=True)
