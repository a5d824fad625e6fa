"""How facts answer: what the plan states, or `Unknown` with what to write and where."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any, TypeAlias, TypeVar

from groundlint.plan.models import Plan, PointRef, Thing
from groundlint.text import Span
from groundlint.values import Gap, Truth, Unknown
from groundlint.world.network import plain

if TYPE_CHECKING:
    from groundlint.facts.catalogue import Event
    from groundlint.facts.trace import PlanTrace

R = TypeVar("R")
Answer: TypeAlias = "bool | Unknown"
Lines: TypeAlias = "tuple[tuple[Span, str], ...]"


def here(_case: PlanTrace, _at: int, step: Event, *_others: object) -> Lines:
    """The line of the step that is asked about."""
    return ((step.span, step.label),)


def said(value: Any, fact: str, write: str, where: Span | None) -> Any:
    """A value, or `Unknown` where it is not stated."""
    return Unknown.of(fact, write, where) if value is None else value


def only_if(stated: bool, fact: str, write: str, where: Span | None) -> Answer:
    """True where stated; silence is not known, never false."""
    return True if stated else Unknown.of(fact, write, where)


def settled(value: object, gap: Callable[[], Gap]) -> Answer:
    """A truth as the timeline gives it; ``gap`` is to blame where it names none."""
    if isinstance(value, Unknown):
        return value
    if value is None or value is Truth.UNKNOWN:
        return Unknown((gap(),))
    return bool(value)


def part_of(result: R | Unknown | None, take: Callable[[R], Any]) -> Any:
    """What ``take`` makes of a result; ``None`` and `Unknown` stay as they are."""
    return result if result is None or isinstance(result, Unknown) else take(result)


def all_of(values: Iterable[Answer]) -> Answer:
    """The least of truths (false < unknown < true); true for none."""
    unknown: Unknown | None = None
    for value in values:
        if isinstance(value, Unknown):
            unknown = value if unknown is None else unknown | value
        elif not value:
            return False
    return True if unknown is None else unknown


def any_of(values: Iterable[Answer]) -> Answer:
    """The greatest of truths; false for none."""
    unknown: Unknown | None = None
    for value in values:
        if isinstance(value, Unknown):
            unknown = value if unknown is None else unknown | value
        elif value:
            return True
    return False if unknown is None else unknown


def negated(value: Answer) -> Answer:
    """Turned round; what is not known stays so."""
    return value if isinstance(value, Unknown) else not value


def word(text: str) -> str:
    """A phrase as the one word that rules write: ``customer generation`` as ``customer-generation``."""
    return "-".join(text.lower().split())


# ---- plan lines ----


def at_plan(attribute: str, words: str) -> Callable[..., Lines]:
    """The line of the plan's header that states an attribute."""

    def lines(_case: PlanTrace, _at: int, plan: Plan) -> Lines:
        place = plan.places.get(attribute)
        return ((place, words),) if place is not None else ()

    return lines


def at_line(attribute: str, words: str) -> Callable[..., Lines]:
    """The line that states an attribute of the line worked on."""

    def lines(case: PlanTrace, _at: int, _plan: Plan) -> Lines:
        line = case.plan.line
        return ((line.place(attribute), words),) if line is not None else ()

    return lines


def where_stated(attribute: str) -> Callable[..., Lines]:
    """The line that states an attribute of a thing, or its declaration."""

    def lines(_case: PlanTrace, _at: int, thing: Thing, *_others: object) -> Lines:
        return ((thing.place(attribute), f"{thing} declared"),)

    return lines


def by_steps(*kinds: str) -> Callable[..., Lines]:
    """The last step of these kinds, before the position, that names the thing."""

    def lines(case: PlanTrace, at: int, thing: Any, *_others: object) -> Lines:
        found = case.last(at, kinds, thing)
        if found is None and isinstance(thing, PointRef) and thing.thing is not None:
            found = case.last(at, kinds, thing.thing)
        return (case.line_of(found),) if found is not None else ()

    return lines


def by_change(*logs: str) -> Callable[..., Lines]:
    """The last step, before the position, that said something of the thing, by the names of the world's logs of it:
    whatever the step is called."""

    def lines(case: PlanTrace, at: int, thing: Any, *_others: object) -> Lines:
        found = [case.timeline.changed_by(at, log, key) for log in logs for key in _keys(thing)]
        last = max((step for step in found if step is not None), default=None)
        return (case.line_of(last),) if last is not None else ()

    return lines


def _keys(thing: Any) -> tuple[Any, ...]:
    """What logs may keep a thing under: itself, the conductor of which it is a side, the thing that a point is, the
    point that a thing is."""
    if not isinstance(thing, PointRef):
        return (thing, PointRef(type(thing).__name__.lower(), None, thing))
    point = plain(thing)
    return (point, PointRef("conductor", *point[1:]), point.thing)
