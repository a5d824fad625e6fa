"""Strong Kleene logic: false < unknown < true; `and` is min, `or` is max, `not` turns the order round.

Kleene, "Introduction to Metamathematics", 1952, section 64 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import IntEnum

from groundlint.text import Span


class Truth(IntEnum):
    """A truth value; the integers give the order that the connectives use."""

    FALSE = 0
    UNKNOWN = 1
    TRUE = 2

    def __invert__(self) -> Truth:
        return Truth(2 - self)


FALSE, UNKNOWN, TRUE = Truth.FALSE, Truth.UNKNOWN, Truth.TRUE


@dataclass(frozen=True, slots=True)
class Gap:
    """A fact the plan does not state.

    ``fact`` names it for a person (``the length of lead G20``) and is its identity; ``write`` shows what to write
    (``25 ft``); ``where`` is the statement to write it in, if there is one. One that ``narrows`` is assumed between
    bounds, so that another that is stated may do instead.
    """

    fact: str
    write: str = ""
    where: Span | None = field(default=None, compare=False)
    narrows: bool = field(default=False, compare=False)


@dataclass(frozen=True, slots=True)
class Unknown:
    """The value of something not known, with the gaps that are to blame; at least one."""

    gaps: tuple[Gap, ...]

    def __post_init__(self) -> None:
        if not self.gaps:
            raise ValueError("an unknown must say what is missing")

    @staticmethod
    def of(fact: str, write: str = "", where: Span | None = None) -> Unknown:
        """An unknown with a single gap."""
        return Unknown((Gap(fact, write, where),))

    def __or__(self, other: Unknown) -> Unknown:
        return Unknown(tuple(dict.fromkeys(self.gaps + other.gaps)))
