"""Spoiled in removing the grounds and giving the line back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from groundlint.language import statements as s
from groundlint.plan.models import Switch
from groundlint.teaching.bench import Bench, Row, RowOf, Sheet
from groundlint.teaching.operators import operator
from groundlint.teaching.spoil_grounds import unsaid
from groundlint.teaching.spoil_isolation import clearance


def _taken_off(b: Bench) -> Iterator[tuple[RowOf[s.Detach], s.Detach, list[int]]]:
    """The rows outside routines that take both ends of a lead off."""
    for row in b.of(s.Detach):
        one = row.statement
        acts = b.acts(row, "detach")
        if row.owner is None and len(one.ends) == 2 and len(acts) == 2:
            yield row, one, acts


def _last_leaves(b: Bench) -> list[Row]:
    """The row by which the last who have a phase in reach come down, where nothing comes off before it."""
    removals = b.on_conductors("detach")
    found = [at for at in b.positions("leave") if removals and at < removals[0]]
    return [b.row_of(found[-1])] if found and b.row_of(found[-1]).owner is None else []


def _up(b: Bench, row: Row) -> bool:
    """Whether somebody who comes down by a row has a phase in reach."""
    for at in b.acts(row, "leave"):
        reach = b.case.reach(at, b.slot(at, "person"))
        if isinstance(reach, tuple) and any(b.role(point) == "phase" for point in reach):
            return True
    return False


@operator("stays-up", "The crew does not come down before the grounds come off", "removal", 1)
def stays_up(b: Bench) -> Iterator[Sheet]:
    for row in _last_leaves(b):
        if _up(b, row) and not any(on > b.acts(row)[-1] for on in b.positions("enter")):
            yield b.sheet.without(row)


@operator("down-late", "The crew comes down after the first lead is off", "removal", 3)
def down_late(b: Bench) -> Iterator[Sheet]:
    removals = b.on_conductors("detach")
    for row in _last_leaves(b):
        if not _up(b, row):
            continue
        off = next(at for at in removals if at > b.acts(row)[-1])
        here = {b.case.person_structure(at, b.slot(at, "person")) for at in b.acts(row, "leave")}
        if not b.dual and b.where(off) not in here:  # who stands at a set of their own loses nothing
            continue
        first = b.doer(off)
        if not _steps_between(b, row, first, s.Unbond, s.Lift):
            after = b.sheet.after(first)
            if after is not None:
                yield b.sheet.move([row], after)


def _steps_between(b: Bench, one: Row, other: Row, *classes: type[s.Statement]) -> bool:
    rows = b.sheet.rows[b.place(one) + 1 : b.place(other)]
    return any(isinstance(row.statement, classes) for row in rows)


def _off_phases(b: Bench) -> Iterator[tuple[Row, s.Detach]]:
    yield from ((row, one) for row, one, acts in _taken_off(b) if b.role_at(acts[0]) == "phase")


@operator("off-by-hand", "The line end of a lead comes off by hand", "removal", 1)
def off_by_hand(b: Bench) -> Iterator[Sheet]:
    for row, one in _off_phases(b):
        yield b.sheet.put(row, ends=(replace(one.ends[0], by=None, by_hand=True), one.ends[1]))


@operator("off-by-unsaid", "Nothing is said of how the line end of a lead comes off", "removal", 1)
def off_by_unsaid(b: Bench) -> Iterator[Sheet]:
    for row, one in _off_phases(b):
        yield b.sheet.put(row, ends=unsaid(one))


@operator("lead-stays-on", "A lead is left on the line", "removal", 2)
def lead_stays_on(b: Bench) -> Iterator[Sheet]:
    for row, _one, _acts in _taken_off(b):
        yield b.sheet.without(row)


@operator("set-stays-on", "A set of grounds is left on the line", "removal", 1)
def set_stays_on(b: Bench) -> Iterator[Sheet]:
    for row in b.of(s.Undo):
        if row.owner is None:
            yield b.sheet.without(row)


@operator("off-out-of-order", "Leads come off in another order than the reverse", "removal", 3)
def off_out_of_order(b: Bench) -> Iterator[Sheet]:
    found: dict[Row, list[int]] = {row: acts for row, _one, acts in _taken_off(b)}
    for row, acts in found.items():
        after = b.sheet.after(row)
        if after is None or after not in found:
            continue
        first, second = b.action(acts[0]).slots, b.action(found[after][0]).slots
        if b.at_structure(acts[0], first["point"]) is not b.at_structure(found[after][0], second["point"]):
            continue
        later = [at for at in b.positions("attach") if b.slot(at, "lead") is first["lead"]]
        sooner = [at for at in b.positions("attach") if b.slot(at, "lead") is second["lead"]]
        points = [{b.slot(at, "point") for at in ats} for ats in (later, sooner)]
        # a lead that hangs on a point of the other would lose its ground, which is another fault
        if later and sooner and max(sooner) < min(later) and _hang_apart(b, points):
            yield b.sheet.move([after], row)


def _hang_apart(b: Bench, points: list[set[object]]) -> bool:
    common = points[0] & points[1]
    return bool(common) and all(b.role(one) in ("bar", "steel") for one in common)


@operator("ground-end-off-first", "The ground end of a lead comes off before its line end", "removal", 1)
def ground_end_off_first(b: Bench) -> Iterator[Sheet]:
    for row, one, acts in _taken_off(b):
        roles = [b.role_at(at) for at in acts]
        if roles[0] == "phase" and roles[1] in ("bar", "steel"):
            yield b.sheet.put(row, ends=tuple(reversed(one.ends)))


@operator("personal-off-last", "A personal ground comes off after a bracket", "removal", 2)
def personal_off_last(b: Bench) -> Iterator[Sheet]:
    if not b.dual or not b.from_structures:
        return
    near: dict[Row, None] = {}
    far: dict[Row, None] = {}
    for at in b.on_conductors("detach"):
        place = b.where(at)
        (near if place in b.worksites else far)[b.doer(at)] = None
    if not near or not far or set(near) & set(far):
        return
    whole = [row for row in near if row.owner is None and isinstance(row.statement, s.Undo | s.Detach)]
    last_far = max(far, key=b.place)
    after = b.sheet.after(last_far)
    if len(whole) == len(near) and after is not None and max(map(b.place, near)) < b.place(last_far):
        leads = {b.slot(at, "lead") for at in b.positions("detach") if b.doer(at) in near}
        extra = {b.doer(at) for at in b.positions("detach") if b.slot(at, "lead") in leads}
        downs = [
            row
            for row in b.of(s.Dismount)
            if b.place(row) < b.place(last_far) and b.place(row) > min(map(b.place, near))
        ]
        moved = [row for row in b.sheet.rows if row in near or row in extra or row in downs]
        if not set(moved) & set(far):
            yield b.sheet.move(moved, after)


def _only_release(b: Bench) -> list[RowOf[s.Clearance]]:
    found = clearance(b, "released")
    return found if len(found) == 1 and found[0].owner is None else []


def _handed_over(b: Bench, release: Row) -> list[Row]:
    """A release with what hands the clearance over to whoever releases it."""
    passed = clearance(b, "transferred")
    return [one for one in b.sheet.rows if one in passed or one is release]


@operator("released-early", "The clearance is released before the grounds are off", "removal", 2)
def released_early(b: Bench) -> Iterator[Sheet]:
    removals = b.on_conductors("detach")
    for row in _only_release(b):
        if removals and b.place(b.doer(removals[0])) < b.place(row):
            more = [at for at in b.positions("enter", "attach") if at > removals[0]]
            if not more and not b.tl.people_in_place(removals[0]):
                yield b.sheet.move(_handed_over(b, row), b.doer(removals[0]))


@operator("released-over-crew", "The clearance is released while somebody is up", "removal", 2)
def released_over_crew(b: Bench) -> Iterator[Sheet]:
    works = b.positions("work")
    for row in _only_release(b):
        if works and b.tl.people_in_place(works[-1]) and b.place(b.doer(works[-1])) < b.place(row):
            yield b.sheet.move(_handed_over(b, row), b.doer(works[-1]))


@operator("not-released", "The clearance is not released", "removal", 1)
def not_released(b: Bench) -> Iterator[Sheet]:
    found = clearance(b, "released")
    if found and clearance(b, "received"):
        gone = [row for row in b.of(s.Untag, s.Close, s.Unblock) if b.place(row) > b.place(found[0])]
        yield b.sheet.without(*found, *gone)


def _before(b: Bench, rows: list[Row], to: Row | None) -> Iterator[Sheet]:
    if rows and to is not None and to.owner is None and all(b.place(row) > b.place(to) for row in rows):
        yield b.sheet.move(rows, to)


@operator("untagged-early", "A tag comes off before the clearance is released", "removal", 2)
def untagged_early(b: Bench) -> Iterator[Sheet]:
    release = clearance(b, "released")
    for row in b.of(s.Untag):
        yield from _before(b, [row], release[0] if release else None)


def _closings(b: Bench) -> Iterator[Row]:
    """The rows outside routines that close a switch which a step opened, after every ground is off."""
    opened = b.every("switch", "open")
    for row in b.of(s.Close):
        switches = b.named(row, "switch")
        if row.owner is None and switches and switches <= opened and all(isinstance(o, Switch) for o in switches):
            yield row


@operator("closed-before-release", "A switch is closed before the clearance is released", "removal", 2)
def closed_before_release(b: Bench) -> Iterator[Sheet]:
    release = clearance(b, "released")
    for row in _closings(b):
        yield from _before(b, [row], release[0] if release else None)


@operator("closed-on-grounds", "A switch is closed with grounds on the line", "removal", 3)
def closed_on_grounds(b: Bench) -> Iterator[Sheet]:
    removals = b.on_conductors("detach")
    to = b.doer(removals[0]) if removals else None
    if to is None or b.tl.people_in_place(removals[0]):
        return
    for row in _closings(b):
        yield from _before(b, [row], to)


@operator("closed-on-crew", "A switch is closed while somebody is up", "removal", 3)
def closed_on_crew(b: Bench) -> Iterator[Sheet]:
    works = [at for at in b.positions("work") if b.tl.people_in_place(at)]
    to = b.doer(works[0]) if works else None
    for row in _closings(b):
        yield from _before(b, [row], to)
