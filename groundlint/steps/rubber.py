"""Insulating goods that a step puts on: what the steps that do so share."""

from __future__ import annotations

from collections.abc import Iterator

from groundlint.plan.models import Action, Neighbour, Person, Rubber
from groundlint.steps.kind import Slot
from groundlint.steps.run import Run

GOODS = Slot("goods", "rubber", "with", many=True, optional=True, meaning="the insulating goods that go on")


def rubber(action: Action) -> tuple[Rubber, ...]:
    """The insulating goods that a step puts on; empty where it names none."""
    goods = action.slots.get("goods")
    return tuple(one for one in goods if isinstance(one, Rubber)) if isinstance(goods, tuple) else ()


def with_rubber(action: Action) -> str:
    """Those goods in words, with their class."""
    named = (f"{one} (class {one.rating})" if one.rating else str(one) for one in rubber(action))
    return f" with {', '.join(named)}" if rubber(action) else ""


def put(run: Run, holder: Neighbour | Person, action: Action) -> None:
    """What a step names goes over a live part or on a person, and is nowhere else."""
    goods = rubber(action)
    for one in goods:
        # of several that one statement puts on several, which goes where is the crew's to see to
        elsewhere = [(other, on) for other, on in _where(run, one) if other is not holder]
        together = [on for _, on in elsewhere if on is not None and _one_statement(run.world.plan.step(on), action)]
        if len(elsewhere) > len(together) or (together and len(goods) <= len(together)):
            other, on = elsewhere[0]
            off = f"uncover {other}" if isinstance(other, Neighbour) else f"gloves off {other}"
            run.mistake(
                "goods-in-two-places",
                f"{one} is on {other}{run.since(on)}, and can't be on {holder} too",
                f"take it off there first: `{off}`; or declare another for {holder}, with a name of its own",
                run.place(on, f"{one} goes on {other} here", other.span),
            )
    if isinstance(holder, Neighbour):
        run.world.covered_with.put(holder, run.position, goods)
    else:
        run.world.worn.put(holder, run.position, goods)


def _one_statement(one: Action, other: Action) -> bool:
    return (one.span, one.use) == (other.span, other.use)


def _where(run: Run, one: Rubber) -> Iterator[tuple[Neighbour | Person, int | None]]:
    """What insulating goods are on, each with the step that put them there; None where they were there before."""
    world = run.world
    for neighbour, log in world.covered_with.by_key.items():
        if world.covered.last(neighbour) and one in (log.last or ()):
            yield neighbour, log.positions[-1] - 1 if log.positions[-1] else None
    for person, worn in world.worn.by_key.items():
        if world.gloves.last(person) and one in (worn.last or ()):
            yield person, worn.positions[-1] - 1 if worn.positions[-1] else None
