"""Two plans laid side by side: which thing of one is which of the other, and which step.

Names are evidence, not identity. Things are paired in two ways, once by name first and once by what is done with them
in which order, and the way that leaves less of a difference is taken; by name where both leave the same. So a plan with
other names, in another order of declarations, or unfolded from other routines is the same plan.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from difflib import SequenceMatcher
from typing import TypeVar

from groundlint.plan.models import (
    Action,
    Cable,
    Capacitor,
    Conductor,
    Line,
    Neighbour,
    ParallelCircuit,
    Plan,
    PointRef,
    Structure,
    SupplySource,
    Switch,
    Thing,
)
from groundlint.values import Gap, Unknown

Key = tuple[Hashable, ...]
T = TypeVar("T", bound=Hashable)

MARKED = (Line, Conductor, Structure, SupplySource, Switch, Capacitor, Cable, ParallelCircuit, Neighbour)
"""Things that stand in the field under their names: where both plans have the name, it is the same thing."""

ROUNDS = 2
"""How often steps are laid side by side anew with the things paired so far."""


@dataclass(frozen=True)
class Likeness:
    """The pairs. ``things`` gives the new thing for an old one; ``steps`` the old position for a new one.

    ``kept`` are the steps that are the same in the same order, ``moved`` the same in another place, ``changed`` those
    that do the same to the same thing in another way; each is a pair of old and new position. ``lost`` are positions in
    the old plan, ``gained`` in the new.
    """

    things: Mapping[Thing, Thing]
    kept: tuple[tuple[int, int], ...]
    moved: tuple[tuple[int, int], ...]
    changed: tuple[tuple[int, int], ...]
    lost: tuple[int, ...]
    gained: tuple[int, ...]

    @property
    def steps(self) -> dict[int, int]:
        """Old position of each new step that has one."""
        return {new: old for old, new in (*self.kept, *self.moved, *self.changed)}


def likeness(old: Plan, new: Plan) -> Likeness:
    """Lay two plans side by side."""
    by_name = _pair(old, new, _same_names(old, new))
    first, cost = _laid(old, new, by_name), _cost_of(old, new)
    if cost(first) == 0:
        return first
    by_work = _pair(old, new, {a: b for a, b in _same_names(old, new).items() if isinstance(a, MARKED)})
    if by_work == by_name:
        return first
    return min((first, _laid(old, new, by_work)), key=cost)


def _cost_of(old: Plan, new: Plan) -> Callable[[Likeness], int]:
    def cost(laid: Likeness) -> int:
        one, other = labels(laid.things)
        values = sum(len(value_differences(a, b, one, other)) for a, b in laid.things.items())
        alone = len(old.things) + len(new.things) - 2 * len(laid.things)
        steps = len(laid.moved) + 2 * len(laid.changed) + 2 * (len(laid.lost) + len(laid.gained))
        return values + alone + steps

    return cost


# ------------------------------------------------------------- keys


class Label:
    """What stands for a thing when two plans are held against each other, and for the things that a text names."""

    def __init__(self, known: Mapping[Thing, Hashable], other: Callable[[Thing], Hashable]) -> None:
        """``known`` labels the things that both plans have, ``other`` any other."""
        self._known = known
        self._other = other
        self.names = {thing.name: label for thing, label in known.items()}

    def __call__(self, thing: Thing) -> Hashable:
        """The thing's label."""
        found = self._known.get(thing)
        return self._other(thing) if found is None else found

    def text(self, words: str) -> Hashable:
        """A text, with labels for names of things that both plans have."""
        return tuple(self.names.get(word, word) for word in re.findall(r"\w+|[^\w\s]", words))


def labels(pairs: Mapping[Thing, Thing]) -> tuple[Label, Label]:
    """Labels that are equal for paired things of both plans, and different for all others."""
    first = {thing: number for number, thing in enumerate(pairs)}
    second = {other: first[thing] for thing, other in pairs.items()}
    return Label(first, lambda thing: ("old", thing.name)), Label(second, lambda thing: ("new", thing.name))


def _sort(thing: Thing) -> Hashable:
    """What a thing is, whatever its name."""
    return (type(thing).__name__, thing.role) if isinstance(thing, Conductor) else type(thing).__name__


def step_key(action: Action, label: Label) -> Key:
    """A step by what it does to what, with things as labelled; not by its number, stage or place."""
    return (action.kind, *((name, value_key(value, label)) for name, value in sorted(action.slots.items())))


def value_key(value: object, label: Label) -> Hashable:
    """A value that a plan states, with things as labelled."""
    if isinstance(value, Thing):
        return label(value)
    if isinstance(value, PointRef):
        return (value.sort, value_key(value.structure, label), value_key(value.thing, label))
    if isinstance(value, tuple) and any(isinstance(member, float) for member in value):
        return ("in order", *(value_key(member, label) for member in value))
    if isinstance(value, tuple):
        return ("all", *sorted((value_key(member, label) for member in value), key=repr))
    if isinstance(value, Gap | Unknown):
        return "not stated"
    if isinstance(value, Plan):
        return "the plan"
    if isinstance(value, Action):
        return step_key(value, label)
    if isinstance(value, float):
        return float(f"{value:.9g}")  # 16 ft and 4.8768 m are one distance
    if isinstance(value, str):
        return label.text(value) if " " in value else value
    return value if isinstance(value, Hashable) else repr(value)


_NO_VALUES = ("name", "span", "places", "order")  # a structure's place on the route is the plan's to say


def values_of(thing: Thing) -> dict[str, object]:
    """What a plan states of a thing, by attribute."""
    return {one.name: getattr(thing, one.name) for one in fields(thing) if one.name not in _NO_VALUES}


def value_differences(old: Thing, new: Thing, one: Label, other: Label) -> tuple[str, ...]:
    """The attributes that are stated otherwise of the same thing."""
    before, after = values_of(old), values_of(new)
    return tuple(
        name
        for name, value in before.items()
        if value is not after.get(name) and value_key(value, one) != value_key(after.get(name), other)
    )


# ------------------------------------------------------------- pairs of things


def _same_names(old: Plan, new: Plan) -> dict[Thing, Thing]:
    there = {(_sort(thing), thing.name): thing for thing in new.things}
    pairs = {}
    for thing in old.things:
        other = there.get((_sort(thing), thing.name))
        if other is not None:
            pairs[thing] = other
    return pairs


def _pair(old: Plan, new: Plan, fixed: Mapping[Thing, Thing]) -> dict[Thing, Thing]:
    """Pairs that keep those ``fixed``; the rest by what is done with them, then by what is said of them."""
    pairs = dict(fixed)
    for _ in range(ROUNDS if len(pairs) < min(len(old.things), len(new.things)) else 0):
        one, other = _coarse(pairs)
        votes: Counter[tuple[Thing, Thing]] = Counter()
        first = [step_key(action, one) for action in old.actions]
        second = [step_key(action, other) for action in new.actions]
        for at, to, size in _blocks(first, second):
            for step in range(size):
                _vote(old.actions[at + step], new.actions[to + step], votes)
        _vote_by_order(old, new, votes)
        pairs = dict(fixed)
        _elect(old, new, votes, pairs)
    _rest(old, new, pairs)
    return pairs


def _coarse(pairs: Mapping[Thing, Thing]) -> tuple[Label, Label]:
    """Labels that tell paired things apart and others only by what they are."""
    first = {thing: number for number, thing in enumerate(pairs)}
    return Label(first, _sort), Label({other: first[thing] for thing, other in pairs.items()}, _sort)


def _blocks(first: Sequence[Hashable], second: Sequence[Hashable]) -> Iterable[tuple[int, int, int]]:
    """Stretches that two sequences have in common, in order, as place in each and length."""
    start, stop, end = 0, len(first), len(second)
    while start < min(stop, end) and first[start] == second[start]:
        start += 1
    while stop > start and end > start and first[stop - 1] == second[end - 1]:
        stop, end = stop - 1, end - 1
    if start:
        yield 0, 0, start
    for at, to, size in SequenceMatcher(None, first[start:stop], second[start:end], False).get_matching_blocks():
        if size:
            yield start + at, start + to, size
    if stop < len(first):
        yield stop, end, len(first) - stop


def _vote(old: Action, new: Action, votes: Counter[tuple[Thing, Thing]]) -> None:
    """Things in the same slots of steps that lie side by side are likely the same; a step counts for two."""
    for name, value in old.slots.items():
        for one, other in _facing(value, new.slots.get(name)):
            votes[one, other] += 2


def _facing(one: object, other: object) -> Iterable[tuple[Thing, Thing]]:
    if isinstance(one, PointRef) and isinstance(other, PointRef):
        yield from _facing(one.structure, other.structure)
        yield from _facing(one.thing, other.thing)
    elif isinstance(one, tuple) and isinstance(other, tuple) and len(one) == len(other):
        for first, second in zip(one, other, strict=True):
            yield from _facing(first, second)
    elif isinstance(one, Thing) and isinstance(other, Thing) and _sort(one) == _sort(other):
        yield one, other


def _vote_by_order(old: Plan, new: Plan, votes: Counter[tuple[Thing, Thing]]) -> None:
    """The same place on the route, or among the conductors."""
    orders: list[tuple[Sequence[Thing], Sequence[Thing]]] = [(old.route, new.route)]
    if old.line is not None and new.line is not None:
        orders.append((old.line.conductors, new.line.conductors))
    for one, other in orders:
        if len(one) == len(other):
            votes.update(pair for pair in zip(one, other, strict=True) if _sort(pair[0]) == _sort(pair[1]))


def _elect(old: Plan, new: Plan, votes: Counter[tuple[Thing, Thing]], pairs: dict[Thing, Thing]) -> None:
    """The pairs with most votes; where these are the same, namesakes, then by the order declared."""
    first = {thing: at for at, thing in enumerate(old.things)}
    second = {thing: at for at, thing in enumerate(new.things)}
    taken = set(pairs.values())

    def rank(pair: tuple[Thing, Thing]) -> tuple[object, ...]:
        one, other = pair
        return (-votes[pair], one.name != other.name, first.get(one, -1), second.get(other, -1))

    for one, other in sorted(votes, key=rank):
        if one in first and other in second and one not in pairs and other not in taken:
            pairs[one] = other
            taken.add(other)


def _rest(old: Plan, new: Plan, pairs: dict[Thing, Thing]) -> None:
    """Things that no step names: namesakes, then those of which the same is said, then the only ones of their kind."""
    for same in (_by_name, _by_values, _alone):
        taken = set(pairs.values())
        ones = [thing for thing in old.things if thing not in pairs]
        others = [thing for thing in new.things if thing not in taken]
        if not ones or not others:
            return
        for one, other in same(ones, others, pairs):
            if one not in pairs and other not in taken:
                pairs[one] = other
                taken.add(other)


def _by_name(ones: list[Thing], others: list[Thing], _pairs: Mapping[Thing, Thing]) -> list[tuple[Thing, Thing]]:
    there = {(_sort(thing), thing.name): thing for thing in others}
    return [(one, there[_sort(one), one.name]) for one in ones if (_sort(one), one.name) in there]


def _by_values(ones: list[Thing], others: list[Thing], pairs: Mapping[Thing, Thing]) -> list[tuple[Thing, Thing]]:
    first, second = labels(pairs)
    found = []
    free = list(others)
    for one in ones:
        for other in free:
            if _sort(one) == _sort(other) and not value_differences(one, other, first, second):
                found.append((one, other))
                free.remove(other)
                break
    return found


def _alone(ones: list[Thing], others: list[Thing], _pairs: Mapping[Thing, Thing]) -> list[tuple[Thing, Thing]]:
    found = []
    for sort in dict.fromkeys(map(_sort, ones)):
        mine = [one for one in ones if _sort(one) == sort]
        theirs = [other for other in others if _sort(other) == sort]
        if len(mine) == len(theirs) == 1:
            found.append((mine[0], theirs[0]))
    return found


# ------------------------------------------------------------- steps


def _laid(old: Plan, new: Plan, pairs: Mapping[Thing, Thing]) -> Likeness:
    one, other = labels(pairs)
    first = [step_key(action, one) for action in old.actions]
    second = [step_key(action, other) for action in new.actions]
    kept = [(at + step, to + step) for at, to, size in _blocks(first, second) for step in range(size)]
    left = _without(len(first), (at for at, _ in kept))
    right = _without(len(second), (to for _, to in kept))
    moved = _matched(left, right, first, second)
    left = [at for at in left if at not in {old_at for old_at, _ in moved}]
    right = [to for to in right if to not in {new_at for _, new_at in moved}]
    changed = _matched(
        left, right, [subject_key(action, one) for action in old.actions], [subject_key(a, other) for a in new.actions]
    )
    lost = [at for at in left if at not in {old_at for old_at, _ in changed}]
    gained = [to for to in right if to not in {new_at for _, new_at in changed}]
    return Likeness(pairs, tuple(kept), tuple(moved), tuple(changed), tuple(lost), tuple(gained))


def _without(count: int, taken: Iterable[int]) -> list[int]:
    gone = set(taken)
    return [at for at in range(count) if at not in gone]


def _matched(
    left: Sequence[int], right: Sequence[int], first: Sequence[T], second: Sequence[T]
) -> list[tuple[int, int]]:
    """Positions with equal keys paired in their order."""
    waiting: dict[T, list[int]] = {}
    for to in right:
        waiting.setdefault(second[to], []).append(to)
    found = []
    for at in left:
        there = waiting.get(first[at])
        if there:
            found.append((at, there.pop(0)))
    return found


def subject_key(action: Action, label: Label) -> Key:
    """What a step is done to: all but how it is done, and with what."""
    whole = [
        (name, value_key(value, label))
        for name, value in sorted(action.slots.items())
        if isinstance(value, Thing | PointRef) and name not in _MEANS
    ]
    return (action.kind, *whole)


_MEANS = ("stick", "detector", "tester", "operator", "holder", "conductor")
"""Slots that say how a step is done, or by whom."""
