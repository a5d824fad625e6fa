"""What the replay says of a thing that is somewhere.

Named tuples, since a run that starts must define them; ``index`` is the step, and hides a method of tuples that
nobody asks for here.
"""

from __future__ import annotations

from collections.abc import Hashable
from typing import NamedTuple

from groundlint.plan.models import Away, Conductor, Lead, Person, PointRef, Structure
from groundlint.values import Gap


class RodSet(NamedTuple):
    """A rod in the ground: where, how far from the structure and how deep, in m, None where not stated; and how
    far from the rods that its step names."""

    structure: Structure | None
    distance: float | None
    depth: float | None
    index: int  # type: ignore[assignment]
    away: tuple[Away, ...] = ()


class Mounted(NamedTuple):
    """A bar on a structure; ``height``: as in the step `mount`, of the feet or ``conductor``; None is not stated."""

    structure: Structure | None
    height: str | None
    conductor: Conductor | None
    index: int  # type: ignore[assignment]


class Barricade(NamedTuple):
    """People are kept ``distance`` m away; None is not stated."""

    distance: float | None
    index: int  # type: ignore[assignment]


class Stand(NamedTuple):
    """Where a person works. None is not stated (``gaps`` tell what to write); an empty ``reach`` is: nothing."""

    structure: Structure | None
    point: PointRef | None
    reach: tuple[PointRef | Gap, ...] | None
    index: int  # type: ignore[assignment]
    gaps: tuple[Gap, ...] = ()


class Held(NamedTuple):
    """Who has a loose wire in hand, and what it touches; a `Gap` is not stated."""

    person: Person
    touching: tuple[PointRef | Gap, ...]


class Waited(NamedTuple):
    """The waits of a plan up to a position: those that state how long, added up in s, and how many do not, with the
    `Gap` of the last of these."""

    seconds: float = 0.0
    unstated: int = 0
    gap: Gap | None = None


class Joint(NamedTuple):
    """Two nodes joined from position ``first`` to ``last``, both included; ``other`` is None where it leads to a place
    not stated. A `gap` says why it is not known to be there. ``key``: a `Lead`, or a tuple that begins with its sort:
    ``bond``, ``bar``, ``span``, ``switch``, ``near``, ``through``, ``structure``, ``off route``, ``loose``, ``lead not
    named``."""

    key: Hashable
    one: Hashable
    other: Hashable | None
    first: int
    last: int
    local: bool
    gap: Gap | None


class Ground(NamedTuple):
    """A node that is an electrode from position ``first`` to ``last``, both included; a `gap` says why it is not known
    to be one."""

    node: Hashable
    first: int
    last: int
    gap: Gap | None


End = PointRef | Gap
"""Where a lead's end is; a `Gap` is a place that the plan does not tell."""


class Bond(NamedTuple):
    """Two places that a step bonds: with a lead, or with something that the plan does not name."""

    points: tuple[End, End]
    lead: Lead | None
    step: int
