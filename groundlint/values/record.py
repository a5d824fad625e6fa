"""Records: frozen dataclasses that cost little to define, for the stages that every start of the command must define.

A dataclass writes and compiles its methods when it is made, which for the hundred records of plans takes longer than
reading a plan.
`record` makes a dataclass without them; `Record` has them once for all. ``dataclasses.fields`` and ``replace`` work as
ever
(``tests/bench/bench_records.py`` has the times).
"""

from __future__ import annotations

from dataclasses import MISSING, FrozenInstanceError, dataclass, field, fields
from typing import Any, NamedTuple, NoReturn, TypeVar, dataclass_transform

T = TypeVar("T")


class _Layout(NamedTuple):
    names: tuple[str, ...]
    defaults: dict[str, Any]
    factories: dict[str, Any]
    apart: frozenset[str]  # names that comparisons leave out
    hidden: frozenset[str]  # names that are not shown


_LAYOUTS: dict[Any, _Layout] = {}


def _layout_of(record: Any) -> _Layout:
    cls = type(record)
    found = _LAYOUTS.get(cls)
    if found is None:
        every = fields(cls)
        found = _LAYOUTS[cls] = _Layout(
            tuple(f.name for f in every),
            {f.name: f.default for f in every if f.default is not MISSING},
            {f.name: f.default_factory for f in every if f.default_factory is not MISSING},
            frozenset(f.name for f in every if not f.compare),
            frozenset(f.name for f in every if not f.repr),
        )
    return found


class Record:
    """What records have in common: made by keywords, frozen, compared by class and fields, shown by fields."""

    def __init__(self, **values: Any) -> None:
        names, defaults, factories, _, _ = _layout_of(self)
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
        names, _, _, apart, _ = _layout_of(self)
        return tuple(self.__dict__[name] for name in names if name not in apart)

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return self._values() == other._values()

    def __hash__(self) -> int:
        return hash((type(self), self._values()))

    def __repr__(self) -> str:
        names, _, _, _, hidden = _layout_of(self)
        shown = ", ".join(f"{name}={self.__dict__[name]!r}" for name in names if name not in hidden)
        return f"{type(self).__name__}({shown})"


@dataclass_transform(kw_only_default=True, frozen_default=True, field_specifiers=(field,))
def record(cls: type[T]) -> type[T]:
    """Make a subclass of `Record` into a dataclass without methods of its own."""
    return dataclass(init=False, repr=False, eq=False, kw_only=True)(cls)
