"""A job done in parts: which part a plan is, what the part before has left, and what this one leaves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from groundlint.language import statements as s
from groundlint.language.nodes import Name, Word
from groundlint.plan.models import Action, Bar, Lead, Left, Person, Rod
from groundlint.plan.names import Names

if TYPE_CHECKING:
    from groundlint.reading.unfold import Unfolder

MOST_PARTS = 999
"""Parts of one job."""


def part_number(names: Names, st: s.PartOf) -> tuple[int, int | None] | None:
    """Which part a plan says it is, and of how many; a message and None where there can be no such part."""
    if not all(number.isdigit() and 1 <= int(number[:7]) <= MOST_PARTS for number in (st.which, st.of_parts or "1")):
        names.refuse("no-such-part", st.span, "parts are counted by whole numbers from 1", "write `part 2 of 3`")
        return None
    which, of = int(st.which), int(st.of_parts) if st.of_parts else None
    if of is not None and of < which:
        names.refuse("no-such-part", st.span, f"of {of} parts none is part {which}", "correct one of the numbers")
        return None
    return which, of


def begin(unfolder: Unfolder, part: tuple[int, int | None] | None, begins: Iterable[s.Begins]) -> tuple[Action, ...]:
    """What the part before has left, as the actions that would bring it about."""
    for st in begins:
        if part is None or part[0] == 1:
            unfolder.names.refuse(
                "begins-without-part",
                st.span,
                "no part of the job comes before this plan, so that nothing can be left to begin with",
                "write `part 2 of 2`, with its own numbers, above; or write the steps instead of this line",
            )
            continue
        for step in _as_steps(unfolder.names, st):
            step.placed(st.span, dict(st.places))
            unfolder.step(step, {})
    found = tuple(unfolder.actions)
    unfolder.actions.clear()
    return found


def _as_steps(names: Names, st: s.Begins) -> Iterator[s.Step]:
    """The steps that would bring about what the plan begins with."""
    if st.clearance:
        yield _step(s.Clearance, state=Word("received", st.span), by=st.by)
    elif st.points:
        yield _step(s.Cut, points=st.points)
    for name in names.expand(st.names):
        thing = names.find(name, {}, Rod, Bar, Lead)
        if isinstance(thing, Rod):
            yield _step(s.Set, names=(name,), at=st.at, from_pole=st.from_pole, from_rod=st.from_rod, deep=st.deep)
        elif isinstance(thing, Bar):
            yield _step(s.Mount, name=name, at=st.at, height=st.height, height_of=st.height_of)
        elif isinstance(thing, Lead) and st.first is not None and st.second is not None:
            yield _step(s.Attach, name=name, ends=(s.End(st.first), s.End(st.second)))
        elif thing is not None:
            _no_points(names, name)


def _step(kind: Any, **values: Any) -> s.Step:
    """A step of a kind; what is not given is as where it was not said."""
    made: s.Step = kind(**values)
    return made


def _no_points(names: Names, name: Name) -> None:
    names.refuse(
        "lead-without-points",
        name.span,
        f"on which two points lead {name} is, is not said",
        f"write `begins with {name} from ... to ...`",
    )


def left(unfolder: Unfolder, part: tuple[int, int | None] | None, leaves: Iterable[s.Leaves]) -> tuple[Left, ...]:
    """What stays on when the plan ends, and under whose clearance."""
    found: list[Left] = []
    names = unfolder.names
    for st in leaves:
        if part is None or part[0] == part[1]:
            names.refuse(
                "leaves-to-no-part",
                st.span,
                "no part of the job comes after this plan, so that nothing can be left on for it",
                "write `part 1 of 2`, with its own numbers, above; or take off what is on",
            )
            continue
        crew = st.under is not None and st.under in unfolder.declared.crews
        holder = str(st.under) if crew else names.find(st.under, {}, Person) if st.under is not None else None
        for name in names.expand(st.names):
            thing = names.find(name, {}, Lead, Rod, Bar)
            if thing is not None:
                found.append(Left(thing, holder if isinstance(holder, Person | str) else None, st.span))
    return tuple(found)
