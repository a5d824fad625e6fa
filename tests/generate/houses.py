"""Heads of plans, and the ways of houses in which steps are drafted for them."""

from __future__ import annotations

from dataclasses import fields
from random import Random
from typing import Any, get_args, get_origin, get_type_hints

from groundlint.drafting.policy import Choices
from groundlint.language.reader import read_statements
from groundlint.language.statements import Routine, Stage, Step
from groundlint.text import Source

LENGTHS = {
    "rod_away": (("16 ft", "5 m"), ("20 ft", "6 m")),
    "rod_barricade": (("15 ft", "4.6 m"), ("16 ft", "5 m")),
    "vehicle_barricade": (("10 ft", "3 m"), ("12 ft", "4 m")),
}


def house(rng: Random, *, metric: bool = False) -> Choices:
    """Choices at random."""
    kinds = get_type_hints(Choices)
    return Choices(**{one.name: _drawn(one.name, kinds[one.name], rng, metric) for one in fields(Choices)})


def _drawn(name: str, kind: Any, rng: Random, metric: bool) -> Any:
    if kind is bool:
        return rng.random() < 0.5
    if get_origin(kind) is tuple:
        return tuple(rng.sample((1, 2, 3), 3))
    return rng.choice(LENGTHS[name])[metric] if name in LENGTHS else rng.choice(get_args(kind))


def head_of(text: str) -> str:
    """A plan's text without its routines and steps."""
    read = read_statements(Source("plan.tpg", text)).text
    steps = [one.span.start for one in read.statements if isinstance(one, Routine | Stage | Step)]
    return text[: text.rfind("\n", 0, min(steps)) + 1] if steps else text
