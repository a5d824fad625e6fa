"""Named arrangements of conductors on a pole, as coordinates; a plan names one or gives its own.

Positions are (x, height) in feet as printed, returned in metres. Heights matter for electric induction only: modified
Carson needs distances. An arrangement marked as common practice is a typical one, not anybody's standard.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from groundlint.electrical.physics.constants import FOOT
from groundlint.electrical.physics.provenance import HowKnown, Provenance

Position = tuple[float, float]


class Spacing(NamedTuple):
    """Positions of phases left to right (or top to bottom), of the neutral and of shield wires, (x, height) in m."""

    name: str
    phases: tuple[Position, ...]
    neutral: Position | None
    shields: tuple[Position, ...]
    source: Provenance


_FEEDER: Final = Provenance("IEEE distribution test feeders, overhead spacing", HowKnown.RECOMPUTES)
_PRACTICE: Final = Provenance("", HowKnown.PRACTICE, "representative dimensions")
_ROWS: Final[tuple[tuple[str, tuple[Position, ...], Position | None, tuple[Position, ...], Provenance], ...]] = (
    (
        "ieee-500",
        ((0, 29), (2.5, 29), (7, 29)),
        (4, 25),
        (),
        Provenance("IEEE distribution test feeders, overhead spacing 500", HowKnown.SEEN),
    ),
    ("ieee-505", ((0, 29), (7, 29)), (4, 25), (), _FEEDER),
    ("ieee-510", ((0.5, 29),), (0, 24), (), _FEEDER),
    (
        "crossarm-8ft",
        ((-3.67, 34), (0, 35.5), (3.67, 34)),
        (0, 29),
        (),
        _PRACTICE,
    ),
    (
        "crossarm-10ft",
        ((-4.67, 36), (1.5, 36), (4.67, 36)),
        (0, 31),
        (),
        _PRACTICE,
    ),
    (
        "armless",
        ((-1.5, 35), (0, 38), (1.5, 35)),
        (0, 30),
        (),
        _PRACTICE,
    ),
    (
        "vertical-distribution",
        ((0, 38), (0, 35), (0, 32)),
        (0, 28),
        (),
        _PRACTICE,
    ),
    (
        "single-phase",
        ((0, 32),),
        (0, 27),
        (),
        _PRACTICE,
    ),
    (
        "post-69kv",
        ((-4, 48), (4, 45), (-4, 42)),
        None,
        ((0, 56),),
        _PRACTICE,
    ),
    (
        "h-frame-115kv",
        ((-12, 50), (0, 50), (12, 50)),
        None,
        ((-6.5, 62), (6.5, 62)),
        _PRACTICE,
    ),
    (
        "h-frame-230kv",
        ((-19, 55), (0, 55), (19, 55)),
        None,
        ((-10, 72), (10, 72)),
        _PRACTICE,
    ),
)


def _metres(positions: tuple[Position, ...]) -> tuple[Position, ...]:
    return tuple((x * FOOT, y * FOOT) for x, y in positions)


SPACINGS: Final[dict[str, Spacing]] = {
    name: Spacing(name, _metres(phases), _metres((neutral,))[0] if neutral else None, _metres(shields), source)
    for name, phases, neutral, shields, source in _ROWS
}
