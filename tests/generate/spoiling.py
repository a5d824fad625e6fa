"""How sound plans are spoiled: the table of operators, and what they are made of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from plan_rows import Draft, Row

Spoil = Callable[[Draft, Random], Draft | None]


@dataclass(frozen=True)
class Operator:
    """One way to spoil a plan. ``seen_by`` are the slugs of which one at least must be among the findings."""

    name: str
    seen_by: tuple[str, ...]
    spoil: Spoil


OPERATORS: list[Operator] = []


def operator(name: str, *seen_by: str) -> Callable[[Spoil], Spoil]:
    """Enters a function into the table."""

    def register(spoil: Spoil) -> Spoil:
        OPERATORS.append(Operator(name, seen_by, spoil))
        return spoil

    return register


def pick(rng: Random, places: list[int]) -> int | None:
    return rng.choice(places) if places else None


def drop(verb: str, where: Callable[[Row], bool] = lambda _row: True) -> Spoil:
    def spoil(plan: Draft, rng: Random) -> Draft | None:
        at = pick(rng, plan.places(verb, where))
        return None if at is None else plan.without(at)

    return spoil


def drop_all(verb: str, where: Callable[[Row], bool] = lambda _row: True) -> Spoil:
    def spoil(plan: Draft, _rng: Random) -> Draft | None:
        found = plan.places(verb, where)
        return plan.without(*found) if found else None

    return spoil


def value(verb: str, where: Callable[[Row], bool] = lambda _row: True, /, first: bool = False, **parts: str) -> Spoil:
    def spoil(plan: Draft, rng: Random) -> Draft | None:
        found = plan.places(verb, where)
        at = pick(rng, found[:1] if first else found)
        return None if at is None else plan.put(at, plan.rows[at].with_(**parts))

    return spoil


def enter(name: str, spoil: Spoil, *seen_by: str) -> None:
    OPERATORS.append(Operator(name, seen_by, spoil))


def first_step(plan: Draft, *verbs: str) -> int | None:
    return next((at for at, one in plan.steps() if one.verb in verbs), None)


def worksite_grounded(plan: Draft) -> bool:
    """Whether the work of a dual-point plan stands on grounds of its own, so that it needs no brackets."""
    about = plan.about
    if about["near"] in ("one", "none"):
        return False
    return about["neutral"] == "multigrounded" or (about["material"] == "steel" and about["near"] == "personal")


def whole(one: Row) -> bool:
    return bool(one["first"]) and bool(one["second"])


def phase_end(one: Row) -> bool:
    return one["role"] == "phase"
