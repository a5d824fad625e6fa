"""The same doings as other steps: one for several, several for one, other kinds of step that come to the same."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from random import Random
from typing import Any

from sheets import Sheet, beside, changed, each_run, each_step, expanded, fresh, kinds, renamed, rewriting, steps

from groundlint.language import statements as s
from groundlint.language.nodes import Name, Point, Word
from groundlint.plan.names import Names

LISTS = {
    s.Open: "names", s.Close: "names", s.Tag: "names", s.Lock: "names", s.Untag: "names", s.Verify: "names",
    s.Block: "names", s.Unblock: "names", s.Inspect: "names", s.Barricade: "names", s.Unbarricade: "names",
    s.Dismount: "names", s.Gloves: "names", s.Enter: "names", s.Move: "names", s.Cover: "names",
    s.Uncover: "names", s.Park: "names", s.Shock: "names", s.Disconnect: "names", s.Discharge: "names",
    s.Set: "names", s.Pull: "names", s.Brief: "people", s.Leave: "people",
    s.Test: "points", s.Clean: "points", s.Cut: "points", s.Join: "points", s.Downed: "points", s.StringIn: "points",
}  # fmt: skip
"""Steps that may be about several things, and the field that names them."""


def ones(field: str, value: tuple[Any, ...], known: dict[str, str]) -> list[tuple[Any, ...]]:
    """The things of a list one by one; of points, each with its structure."""
    if field != "points":
        return [(one,) for one in value]
    found: list[tuple[Any, ...]] = []
    here: tuple[Any, ...] = ()
    for word in value:
        kind = known.get(str(word)) if isinstance(word, Name) else "feature"
        if kind == "structure":
            here = (word,)
        elif kind == "feature" and word in ("near side", "far side", "handle"):
            found[-1] = (*found[-1], word)
        else:
            found.append((*here, word) if kind in ("conductor", "feature") else (word,))
    return found


def with_kinds(sheet: Sheet, change: Any) -> list[Any]:
    """Each step changed, with what the names in it stand for, a routine's parameters too."""
    plan = expanded(sheet.plan)
    known = kinds(plan)
    out: list[Any] = []
    for one in plan.statements:
        if isinstance(one, s.Routine):
            own = known | {str(name): str(param.sort) for param in one.params for name in param.names}
            body = [new for step in one.body for new in beside(step, list(change(step, own)))]
            out.append(replace(one, body=tuple(body)))
        elif isinstance(one, s.Step):
            out += beside(one, list(change(one, known)))
        else:
            out.append(one)
    return out


@rewriting("a step for each of several things: `test 212 A B C` as three")
def one_step_a_thing(sheet: Sheet, rng: Random) -> Sheet | None:
    def apart(one: Any, known: dict[str, str]) -> Iterator[Any]:
        field = LISTS.get(type(one))
        value = getattr(one, field) if field else ()
        if len(value) < 2:
            yield one
            return
        for part in ones(field, value, known):  # type: ignore[arg-type]
            yield replace(one, **{field: part})  # type: ignore[arg-type]

    return changed(sheet, with_kinds(sheet, apart))


@rewriting("neighbouring steps that do the same to several things as one step")
def one_step_for_several_things(sheet: Sheet, rng: Random) -> Sheet | None:
    def run(found: list[Any]) -> list[Any]:
        out: list[Any] = []
        for one in found:
            field = LISTS.get(type(one))
            if out and field and type(out[-1]) is type(one) and getattr(one, field):
                rest = {"number": None, "comment": None, "before": (), field: ()}
                if replace(out[-1], **rest) == replace(one, **rest):
                    out[-1] = replace(out[-1], **{field: (*getattr(out[-1], field), *getattr(one, field))})
                    continue
            out.append(one)
        return out

    return changed(sheet, each_run(sheet.plan, run))


@rewriting("`all` as the names of all who are meant")
def everybody_by_name(sheet: Sheet, rng: Random) -> Sheet | None:
    plan = expanded(sheet.plan)
    people = [name for one in plan.statements if isinstance(one, s.Crew) for name in s.declared_names(one)]
    routines = {str(one.ident): one for one in plan.statements if isinstance(one, s.Routine)}
    if not people or any(isinstance(step, s.Enter | s.Leave) for one in routines.values() for step in one.body):
        return None
    here: list[Any] = []

    def say(one: Any) -> list[Any]:
        if isinstance(one, s.Enter | s.Move):
            here.extend(name for name in one.names if name not in here)
        if isinstance(one, s.Brief) and one.all:
            return [replace(one, all=False, people=tuple(people))]
        if isinstance(one, s.Leave) and one.all and here:
            gone = tuple(here)
            here.clear()
            return [replace(one, all=False, people=gone)]
        if isinstance(one, s.Leave):
            here[:] = [name for name in here if name not in one.people]
        return [one]

    return changed(sheet, each_step(plan, say))


# ---------------------------------------------------------------- isolation
@rewriting("`open X, lock it and tag it` as a step for each")
def locked_and_tagged_apart(sheet: Sheet, rng: Random) -> Sheet | None:
    def apart(one: Any) -> Iterator[Any]:
        if not isinstance(one, s.Open) or not (one.lock_it or one.tag_it):
            yield one
            return
        for name in Names().expand(one.names):
            yield replace(one, names=(name,), lock_it=False, tag_it=False)
            if one.lock_it:
                yield s.Lock(names=(name,))
            if one.tag_it:
                yield s.Tag(names=(name,))

    return changed(sheet, each_step(sheet.plan, apart))


@rewriting("an opening, and the lock and tag that follow it, as one step")
def locked_and_tagged_at_once(sheet: Sheet, rng: Random) -> Sheet | None:
    def run(found: list[Any]) -> list[Any]:
        out: list[Any] = []
        for one in found:
            last = out[-1] if out else None
            if isinstance(last, s.Open) and len(last.names) == 1 and isinstance(one, s.Lock | s.Tag):
                flag = "lock_it" if isinstance(one, s.Lock) else "tag_it"
                if one.names == last.names and not getattr(last, flag) and not (flag == "lock_it" and last.tag_it):
                    out[-1] = replace(last, **{flag: True})
                    continue
            out.append(one)
        return out

    return changed(sheet, each_run(sheet.plan, run))


# ---------------------------------------------------------------- leads
def stick_of_both(ends: tuple[s.End, ...]) -> Any:
    """The stick that is named once for two ends on conductors, by the reference of `attach`."""
    sticks = [end.by for end in ends if end.by is not None]
    wires = all(len(end.point.words) > 1 and end.point.feature is None for end in ends)
    return sticks[0] if wires and len(ends) == 2 and len(sticks) == 1 and not any(end.by_hand for end in ends) else None


@rewriting("both ends of a lead in a step each")
def ends_in_two_steps(sheet: Sheet, rng: Random) -> Sheet | None:
    def apart(one: Any) -> Iterator[Any]:
        if isinstance(one, s.Attach | s.Detach):
            shared = stick_of_both(one.ends)
            yield from (replace(one, ends=(replace(end, by=end.by or shared),)) for end in one.ends)
        else:
            yield one

    return changed(sheet, each_step(sheet.plan, apart))


@rewriting("two steps that put the ends of one lead on, or take them off, as one")
def ends_in_one_step(sheet: Sheet, rng: Random) -> Sheet | None:
    def run(found: list[Any]) -> list[Any]:
        out: list[Any] = []
        for one in found:
            last = out[-1] if out else None
            if (
                isinstance(one, s.Attach | s.Detach)
                and type(last) is type(one)
                and last.name == one.name  # type: ignore[union-attr]
                and len(last.ends) == len(one.ends) == 1  # type: ignore[union-attr]
                and stick_of_both((*last.ends, *one.ends)) is None  # type: ignore[union-attr]
            ):
                out[-1] = replace(last, ends=(*last.ends, *one.ends))  # type: ignore[union-attr]
            else:
                out.append(one)
        return out

    return changed(sheet, each_run(sheet.plan, run))


def means(one: Any) -> dict[str, Any]:
    """By what a lead's end, or a bond, is handled."""
    return {"by": getattr(one, "by", None) or getattr(one, "on_stick", None), "by_hand": one.by_hand}


def of_bond(end: Any) -> dict[str, Any]:
    return {"on_stick": end.by, "by_hand": end.by_hand}


def stated(end: Any) -> bool:
    return bool(end.by or end.by_hand)


def by_the_same_means(sheet: Sheet, rng: Random) -> Sheet | None:
    """Both ends of each lead handled by the means stated for one, as those of a bond are."""

    def say(one: Any) -> list[Any]:
        if isinstance(one, s.Attach | s.Detach) and len(one.ends) == 2:
            said = [end for end in one.ends if stated(end)]
            if len(said) == 1:
                ends = (replace(end, by=said[0].by, by_hand=said[0].by_hand) for end in one.ends)
                return [replace(one, ends=tuple(ends))]
        return [one]

    return sheet.of(each_step(sheet.plan, say))


def unbonded(sheet: Sheet) -> set[str]:
    """What a bond is taken off somewhere, with all the bonds on it; without the structure, which a routine is given."""
    bodies = [step for one in sheet.plan.statements if isinstance(one, s.Routine) for step in one.body]
    return {_last_word(one.point) for one in [*steps(sheet.plan), *bodies] if isinstance(one, s.Unbond)}


def _last_word(point: Any) -> str:
    return str(point).split()[-1]


@rewriting(
    "`bond K to A with G` for `attach G to K, then to A`, where both go on by the same means", first=by_the_same_means
)
def bond_for_attach(sheet: Sheet, rng: Random) -> Sheet | None:
    others = unbonded(sheet)

    def say(one: Any) -> list[Any]:
        if isinstance(one, s.Attach) and len(one.ends) == 2 and means(one.ends[0]) == means(one.ends[1]):
            first, second = one.ends
            if others & {_last_word(first.point), _last_word(second.point)}:
                return [one]
            return [s.Bond(first=first.point, second=second.point, with_=one.name, **of_bond(first))]
        return [one]

    return changed(sheet, each_step(sheet.plan, say))


@rewriting("`unbond A` for `detach G from A, then from K`, where a bond put it there", first=by_the_same_means)
def bond_and_unbond_for_attach_and_detach(sheet: Sheet, rng: Random) -> Sheet | None:
    whole = written_out(sheet)
    on: dict[Any, Any] = {}
    bonded: list[str] = []
    gone: set[str] = set()
    every = [one for one in steps(whole.plan) if isinstance(one, s.Attach | s.Detach | s.Lift | s.Restore | s.Bond)]
    for one in every:  # leads that go on once with both ends at once, and come off so
        lead = str(getattr(one, "name", "") or getattr(one, "with_", ""))
        same = isinstance(one, s.Attach | s.Detach) and len(one.ends) == 2 and means(one.ends[0]) == means(one.ends[1])
        if isinstance(one, s.Attach) and same and lead not in on:
            on[lead] = [str(one.ends[1].point), str(one.ends[0].point)]
        elif not (isinstance(one, s.Detach) and same and on.get(lead) == [str(end.point) for end in one.ends]):
            gone.add(lead)
        if isinstance(one, s.Bond):
            bonded += (str(one.first), str(one.second))
    points = [*bonded, *(point for lead, ends in on.items() if lead not in gone for point in ends)]
    others = unbonded(whole)
    pick = {
        lead
        for lead, ends in on.items()
        if lead not in gone and points.count(ends[0]) == 1 and not others & {*map(_last_word, ends)}
    }

    def say(one: Any) -> list[Any]:
        if isinstance(one, s.Attach) and one.name in pick:
            first, second = one.ends
            return [s.Bond(first=first.point, second=second.point, with_=one.name, **of_bond(first))]
        if isinstance(one, s.Detach) and one.name in pick:
            return [s.Unbond(point=one.ends[0].point, **of_bond(one.ends[0]))]
        return [one]

    return changed(whole, each_step(whole.plan, say)) if pick else None


@rewriting("`attach G to K, then to A` for `bond K to A with G`, and `detach` of both ends for `unbond A`")
def attach_for_bond(sheet: Sheet, rng: Random) -> Sheet | None:
    whole = written_out(sheet)
    if not any(isinstance(one, s.Bond) and one.with_ for one in steps(whole.plan)):
        return None
    on: list[Any] = []

    def say(one: Any) -> list[Any]:
        if isinstance(one, s.Bond) and one.with_:
            on.append(one)
            ends = tuple(s.End(point=point, **means(one)) for point in (one.first, one.second))
            return [s.Attach(name=one.with_, ends=ends)]
        if isinstance(one, s.Unbond):
            found = [bond for bond in on if bond.first == one.point] or [b for b in on if b.second == one.point]
            on[:] = [bond for bond in on if bond not in found]
            off = [
                s.Detach(
                    name=bond.with_,
                    ends=tuple(
                        s.End(point=point, **means(one))
                        for point in sorted((bond.first, bond.second), key=lambda point: point != one.point)
                    ),
                )
                for bond in found
            ]
            return off or [one]
        return [one]

    return changed(whole, each_step(whole.plan, say))


# ---------------------------------------------------------------- people
def first_on_the_ground(sheet: Sheet, rng: Random) -> Sheet | None:
    """Whoever enters stood on the ground at the structure before, with nothing in reach, and left that place."""

    def say(one: Any) -> list[Any]:
        if isinstance(one, s.Enter) and one.stand is not None and one.reaching is not None:
            before = s.Enter(names=one.names, at=one.at, stand=Point("ground"), reaching=())
            return [before, s.Leave(people=one.names), one]
        return [one]

    return sheet.of(each_step(sheet.plan, say))


@rewriting("`move` for `leave` and `enter`, of somebody who stood on the ground before", first=first_on_the_ground)
def move_for_enter(sheet: Sheet, rng: Random) -> Sheet | None:
    def run(found: list[Any]) -> list[Any]:
        out: list[Any] = []
        for one in found:
            last = out[-1] if out else None
            if (
                isinstance(one, s.Enter)
                and isinstance(last, s.Leave)
                and last.people == one.names
                and one.stand is not None
                and one.reaching is not None
            ):
                out[-1] = s.Move(names=one.names, to=one.at, stand=one.stand, reaching=one.reaching)
            else:
                out.append(one)
        return out

    return changed(sheet, each_run(sheet.plan, run))


@rewriting("`leave` and `enter` for `move`, with all that a move keeps said again")
def leave_and_enter_for_move(sheet: Sheet, rng: Random) -> Sheet | None:
    whole = written_out(sheet)
    here: dict[str, Any] = {}

    def say(one: Any) -> list[Any]:
        if isinstance(one, s.Leave):
            for name in list(here) if one.all else one.people:
                here.pop(str(name), None)
        if isinstance(one, s.Enter):
            here.update((str(name), one) for name in one.names)
        if not isinstance(one, s.Move):
            return [one]
        out: list[Any] = []
        for name in one.names:
            before = here.get(str(name))
            if before is None:  # moves without having been in place, which is a mistake
                return [one]
            at = one.to or one.at or before.at
            same = at == before.at
            new = s.Enter(
                names=(name,),
                at=at,
                stand=one.stand or (before.stand if same else None),
                reaching=one.reaching if one.reaching is not None or not same else before.reaching,
            )
            here[str(name)] = new
            out += [s.Leave(people=(name,)), new]
        return out

    wide = replace(whole, plan=expanded(whole.plan))
    return changed(whole, each_step(wide.plan, say)) if any(isinstance(o, s.Move) for o in steps(wide.plan)) else None


# ---------------------------------------------------------------- routines
class Written:
    """Steps written out, with what each routine put on, for its undoing."""

    def __init__(self, routines: dict[str, Any]) -> None:
        self.routines = routines
        self.done: list[tuple[str, tuple[str, ...], list[Any]]] = []

    def step(self, one: Any, env: dict[str, str]) -> list[Any]:
        if isinstance(one, s.Do | s.Repeat):
            routine = self.routines.get(str(one.ident))
            if routine is None:
                return [one]
            params = [str(name) for param in routine.params for name in param.names]
            args = [env.get(str(name), str(name)) for name in one.names or ()]
            bound = dict(zip(params, args, strict=True))
            out = [new for inner in routine.body for new in self.step(inner, bound)]
            self.done.append((str(one.ident), tuple(args), out))
            return out
        if isinstance(one, s.Undo):
            where = env.get(str(one.at), str(one.at)) if one.at is not None else None
            found = next(
                (d for d in reversed(self.done) if d[0] == one.ident and (where is None or where in d[1])), None
            )
            if found is None:
                return [one]
            self.done.remove(found)
            return [off for new in reversed(found[2]) for off in taken_off(new)]
        return [replace(renamed(one, env), number=None, comment=None, before=())] if env else [one]


def taken_off(one: Any) -> list[Any]:
    """The steps that undo one."""
    if isinstance(one, s.Attach):
        return [s.Detach(name=one.name, ends=tuple(reversed(one.ends)))]
    if isinstance(one, s.Bond) and one.with_:
        return [
            s.Detach(name=one.with_, ends=tuple(s.End(point=point, **means(one)) for point in (one.second, one.first)))
        ]
    if isinstance(one, s.Bond):
        return [s.Unbond(point=one.second, on_stick=one.on_stick, by_hand=one.by_hand)]
    return []


def written_out(sheet: Sheet) -> Sheet:
    """The plan without routines."""
    plan = expanded(sheet.plan)
    book = Written({str(one.ident): one for one in plan.statements if isinstance(one, s.Routine)})
    if any(isinstance(step, s.BondAcross) for one in book.routines.values() for step in one.body):
        return sheet
    out: list[Any] = []
    for one in plan.statements:
        if isinstance(one, s.Step):
            out += beside(one, book.step(one, {}))
        elif not isinstance(one, s.Routine):
            out.append(one)
    return sheet.of(out)


@rewriting("a routine's own steps wherever it is done or undone")
def routines_written_out(sheet: Sheet, rng: Random) -> Sheet | None:
    if not any(isinstance(one, s.Do | s.Repeat) for one in steps(sheet.plan)):
        return None
    return written_out(sheet)


@rewriting("some steps as a routine that is done in their place, some of the things in them its parameters")
def steps_as_a_routine(sheet: Sheet, rng: Random) -> Sheet | None:
    plan = expanded(sheet.plan)
    known = kinds(plan)
    names, idents, params = fresh(plan, "Q"), fresh(plan, "part-"), []
    routines: list[Any] = []

    def fold(found: list[Any]) -> Any:
        standing: dict[str, None] = {}
        for one in found:
            renamed(one, _Seen(standing))  # type: ignore[arg-type]
        picked = [name for name in standing if name in known and rng.random() < 0.5]
        new = {name: next(names) for name in picked}
        params[:] = [s.Param(sort=Word(known[name]), names=(Name(new[name]),)) for name in picked]
        body = tuple(replace(renamed(one, new), number=None) for one in found)
        routines.append(s.Routine(ident=Name(next(idents)), params=tuple(params), body=body))
        return s.Do(ident=routines[-1].ident, names=tuple(Name(name) for name in picked))

    def run(found: list[Any]) -> list[Any]:
        out: list[Any] = []
        at = 0
        while at < len(found):
            size = rng.randint(2, 6)
            part = found[at : at + size]
            if len(part) > 1 and rng.random() < 0.7:
                out.append(fold(part))
            else:
                out += part
            at += size
        return out

    rest = replace(plan, statements=tuple(one for one in plan.statements if not isinstance(one, s.Routine)))
    out = each_run(rest, run)
    old = [one for one in plan.statements if isinstance(one, s.Routine)]
    first = next((at for at, one in enumerate(out) if isinstance(one, s.Step | s.Stage)), len(out))
    return sheet.of([*out[:first], *old, *routines, *out[first:]]) if routines else None


class _Seen(dict[str, str]):
    """Notes the names that are looked up in it, and changes none."""

    def __init__(self, seen: dict[str, None]) -> None:
        super().__init__()
        self.seen = seen

    def get(self, name: Any, default: Any = None) -> Any:
        self.seen[str(name)] = None
        return default


@rewriting("`repeat` for `do`")
def repeat_for_do(sheet: Sheet, rng: Random) -> Sheet | None:
    def say(one: Any) -> list[Any]:
        if isinstance(one, s.Do):
            return [s.Repeat(ident=one.ident, names=one.names)]
        return [one]

    return changed(sheet, each_step(sheet.plan, say))
