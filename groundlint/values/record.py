"""Records: frozen dataclasses that cost little to define, for the stages that every start of the command must define.

A dataclass writes and compiles its methods when it is made, which for the hundred records of plans takes longer than reading a plan.
`record` makes a dataclass without them; `Record` has them once for all. ``dataclasses.fields`` and ``replace`` work as ever
(``tests/bench/bench_records.py`` has the times).
"""

from __future__ import annotations

from dataclasses import MISSING, FrozenInstanceError, dataclass, field, fields
from functools import cache
from typing import Any, NoReturn, TypeVar, dataclass_transform

T = TypeVar("T", bound="type[Record]")


@cache
def _layout(cls: type) -> tuple[tuple[str, ...], dict[str, Any], dict[str, Any], frozenset[str]]:
    """Names in order, defaults, default factories, and the names that comparisons leave out."""
    every = fields(cls)
    return (
        tuple(f.name for f in every),
        {f.name: f.default for f in every if f.default is not MISSING},
        {f.name: f.default_factory for f in every if f.default_factory is not MISSING},
        frozenset(f.name for f in every if not f.compare),
    )


class Record:
    """What records have in common: made by keywords, frozen, compared by class and fields, shown by fields."""

    def __init__(self, **values: Any) -> None:
        names, defaults, factories, _ = _layout(type(self))
        mine = self.__dict__
        mine.update(defaults)
        for name, factory in factories.items():
            if name not in values:
                mine[name] = factory()
        mine.update(values)
        if len(mine) != len(names) or not mine.keys() <= set(names):
            unknown = [name for name in values if name not in names]
            lacking = [name for name in names if name not in mine]
            raise TypeError(f"{type(self).__name__}: unknown {unknown}, lacking {lacking}")

    def __setattr__(self, name: str, value: Any) -> NoReturn:
        raise FrozenInstanceError(f"cannot assign to field {name!r}")

    def __delattr__(self, name: str) -> NoReturn:
        raise FrozenInstanceError(f"cannot delete field {name!r}")

    def _values(self) -> tuple[Any, ...]:
        names, _, _, apart = _layout(type(self))
        return tuple(self.__dict__[name] for name in names if name not in apart)

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return self._values() == other._values()  # type: ignore[attr-defined]

    def __hash__(self) -> int:
        return hash((type(self), self._values()))

    def __repr__(self) -> str:
        shown = ", ".join(f"{f.name}={self.__dict__[f.name]!r}" for f in fields(self) if f.repr)  # type: ignore[arg-type]
        return f"{type(self).__name__}({shown})"


@dataclass_transform(kw_only_default=True, frozen_default=True, field_specifiers=(field,))
def record(cls: T) -> T:
    """Make a subclass of `Record` into a dataclass without methods of its own."""
    return dataclass(init=False, repr=False, eq=False, kw_only=True)(cls)
