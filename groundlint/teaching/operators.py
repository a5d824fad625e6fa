"""The table of operators: each a way to spoil a sound plan that has a name, a subject and a level of difficulty.

Which rule an operator aims at is not said here but in the ``drills.toml`` of the rulebooks (`aims`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from groundlint.language.statements import Statement
from groundlint.teaching.bench import Bench, Sheet
from groundlint.teaching.subjects import GROUPS, LEVELS

Spoil = Callable[[Bench], Iterator[Sheet]]


@dataclass(frozen=True)
class Operator:
    """One way to spoil a plan.

    ``spoil`` gives every plan spoiled in this way that is no longer safe, one place at a time; nothing where the plan
    has nothing of the kind, or stays safe without it.
    """

    name: str
    title: str
    group: str
    level: int
    spoil: Spoil


_TABLE: dict[str, Operator] = {}


def operator(name: str, title: str, group: str, level: int) -> Callable[[Spoil], Spoil]:
    """Enter a function into the table."""
    if name in _TABLE or group not in GROUPS or level not in LEVELS:
        raise ValueError(f"operator {name} is in the table already, or its group or level is none")

    def enter(spoil: Spoil) -> Spoil:
        _TABLE[name] = Operator(name, title, group, level, spoil)
        return spoil

    return enter


# ------------------------------------------------------------------ what many operators do
def drop_each(*classes: type[Statement]) -> Spoil:
    """Each statement of these kinds left out alone."""

    def spoil(b: Bench) -> Iterator[Sheet]:
        for row in b.of(*classes):
            yield b.sheet.without(row)

    return spoil


def drop_all(*classes: type[Statement]) -> Spoil:
    """Every statement of these kinds left out at once."""

    def spoil(b: Bench) -> Iterator[Sheet]:
        found = b.of(*classes)
        if found:
            yield b.sheet.without(*found)

    return spoil


def change_each(kind: type[Statement], **fields: Any) -> Spoil:
    """Each statement of a kind with other fields, where it does not have them so already."""

    def spoil(b: Bench) -> Iterator[Sheet]:
        for row in b.of(kind):
            if any(getattr(row.statement, name) != value for name, value in fields.items()):
                yield b.sheet.put(row, **fields)

    return spoil


@cache
def operators() -> dict[str, Operator]:
    """Every operator by name, by subject in the order of a job, then by name."""
    from groundlint.teaching import (  # noqa: F401 - importing them fills the table
        spoil_grounds,
        spoil_isolation,
        spoil_people,
        spoil_removal,
        spoil_things,
        spoil_zone,
    )

    order = sorted(_TABLE.values(), key=lambda one: (GROUPS.index(one.group), one.name))
    return {one.name: one for one in order}


__all__ = ["GROUPS", "LEVELS", "Operator", "change_each", "drop_all", "drop_each", "operator", "operators"]
