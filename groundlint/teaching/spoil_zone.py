"""Spoiled in the zone: where people stand, what they reach, what is joined there, what is lifted."""

from __future__ import annotations

from collections.abc import Iterator

from groundlint.language import statements as s
from groundlint.language.nodes import Name, Word
from groundlint.plan.models import Neighbour, Person, PointRef, Rod, Structure, Vehicle
from groundlint.teaching.bench import Bench, Row, RowOf, Sheet
from groundlint.teaching.operators import change_each, operator

WITHIN_ARMS = 1.8
"""Metres that a worker or what he handles reaches without taking a step (common practice, no source)."""


def seat_rows(b: Bench) -> list[RowOf[s.Enter]]:
    """The rows outside routines by which somebody comes to have a phase in reach, in order."""
    seats = {b.row_of(at): at for at in reversed(b.seats)}
    return sorted((row for row in b.of(s.Enter) if row.owner is None and row in seats), key=lambda row: seats[row])


@operator("up-early", "The crew goes up before the grounds are on", "zone", 2)
def up_early(b: Bench) -> Iterator[Sheet]:
    found, rows = b.on_conductors("attach"), seat_rows(b)
    if not found or not rows:
        return
    to = b.doer(found[0])
    if b.place(to) < b.place(rows[0]):
        yield b.sheet.move([rows[0]], to)


@operator("wrong-structure", "The crew works at another structure than is grounded", "zone", 2)
def wrong_structure(b: Bench) -> Iterator[Sheet]:
    grounded = {b.where(at) for at in b.on_conductors("attach")}
    others = [one for one in b.plan.route if one not in grounded]
    if b.plan.method != "single-point" or not others:
        return
    for row in seat_rows(b):
        one = row.statement
        if one.at is None or b.role_at(b.acts(row)[0], "stand") not in ("pole", "steel", "vehicle"):
            continue
        same = [o for o in others if o.material == _material(b, row)]
        people = {str(b.slot(at, "person")) for at in b.acts(row)}
        for there in same[:2]:
            sheet = b.sheet.put(row, at=Name(there.name))
            for move in b.of(s.Move):
                moved = move.statement
                if {str(name) for name in moved.names} <= people and moved.at == one.at:
                    sheet = sheet.put(move, at=Name(there.name))
            for work in b.of(s.Work):
                if work.statement.at == one.at:
                    sheet = sheet.put(work, at=Name(there.name))
            yield sheet


def _material(b: Bench, row: Row) -> str | None:
    structure = b.slot(b.acts(row)[0], "structure")
    return structure.material if isinstance(structure, Structure) else None


@operator("reach-unsaid", "Nothing is said of what a worker can reach", "zone", 1)
def reach_unsaid(b: Bench) -> Iterator[Sheet]:
    for row in seat_rows(b):
        yield b.sheet.put(row, reaching=None)


@operator("nobody-in-place", "Work is done and nobody is in place", "zone", 1)
def nobody_in_place(b: Bench) -> Iterator[Sheet]:
    works, enters = b.of(s.Work), b.of(s.Enter)
    if works and enters:
        yield b.sheet.without(*b.of(s.Enter, s.Move, s.Leave))


def _vehicles(b: Bench) -> list[Vehicle]:
    """Vehicles that stand where somebody works."""
    found = []
    for at in b.positions("enter"):
        stand = b.slot(at, "stand")
        if isinstance(stand, PointRef) and isinstance(stand.thing, Vehicle):
            found.append(stand.thing)
    return list(dict.fromkeys(found))


@operator("vehicle-open", "A vehicle at the work is neither bonded nor barricaded", "zone", 1)
def vehicle_open(b: Bench) -> Iterator[Sheet]:
    for vehicle in _vehicles(b):
        sheet = b.sheet
        for row in b.of(s.Barricade, s.Unbarricade):
            sheet = b.less(sheet, row, "thing", {vehicle})
        for row in b.of(s.Bond, s.Unbond):
            things = [getattr(b.slot(at, "first"), "thing", None) for at in b.acts(row)]
            if things and all(thing is vehicle for thing in things):
                sheet = sheet.without(row)
        if sheet.changes:
            yield sheet


@operator("guy-unbonded", "A guy in reach is not joined to the zone", "zone", 2)
def guy_unbonded(b: Bench) -> Iterator[Sheet]:
    reach = {
        point
        for at in b.positions("enter", "move")
        if isinstance(b.slot(at, "reach"), tuple)
        for point in b.slot(at, "reach")
    }
    for row in b.of(s.Bond):
        firsts = b.named(row, "first")
        if firsts and all(b.role(one) == "guy" and one in reach for one in firsts):
            yield b.sheet.without(row, *b.only("first", firsts, s.Unbond))


@operator("cut-unbridged", "A conductor is cut with nothing bridging the opening", "zone", 1)
def cut_unbridged(b: Bench) -> Iterator[Sheet]:
    cut = {str(point) for point in b.every("point", "cut")}
    for row in b.of(s.BondAcross):
        bridged = str(row.statement.point)
        if bridged in cut:
            yield b.sheet.without(row, *(o for o in b.of(s.Unbond) if str(o.statement.point) == bridged))


operator("lift-unprotected", "A ground is lifted and nothing is said of what protects meanwhile", "zone", 1)(
    change_each(s.Lift, protected=None)
)
operator("lifted-by-hand", "A ground is lifted by hand", "zone", 1)(change_each(s.Lift, on_stick=None, by_hand=True))
operator("restored-by-hand", "A lifted ground goes back by hand", "zone", 1)(
    change_each(s.Restore, on_stick=None, by_hand=True)
)


@operator("not-restored", "A lifted ground does not go back before somebody goes up", "zone", 2)
def not_restored(b: Bench) -> Iterator[Sheet]:
    for row in b.of(s.Restore):
        at = b.acts(row)[0]
        lead = b.slot(at, "lead")
        later = [
            b.action(on)
            for on in b.positions("enter", "detach")
            if on > at and (b.action(on).kind == "enter" or b.slot(on, "lead") is lead)
        ]
        if row.owner is None and later and later[0].kind == "enter":
            yield b.sheet.without(row)


@operator("lifted-over-crew", "A ground is lifted while somebody has the line in reach", "zone", 3)
def lifted_over_crew(b: Bench) -> Iterator[Sheet]:
    for row in b.of(s.Lift):
        at = b.acts(row)[0]
        leaves = [b.row_of(on) for on in b.positions("leave") if on < at]
        leaves = [one for one in leaves if one.owner is None and one.statement is not row.statement]
        if row.owner is None and leaves and not b.tl.people_in_place(at):
            to = leaves[-1]
            up = b.acts(to, "leave")[0]
            bare = [
                person
                for person in b.tl.people_in_place(up)
                if not b.tl.gloved(up, person) and _touching(b, up, person)
            ]
            if bare:
                yield b.sheet.move([row], to)


def _touching(b: Bench, at: int, person: Person) -> bool:
    reach = b.case.reach(at, person)
    return isinstance(reach, tuple) and any(b.role(point) == "phase" for point in reach)


@operator("ground-crew-at-rod", "A groundman stands within reach of a rod in use", "zone", 2)
def ground_crew_at_rod(b: Bench) -> Iterator[Sheet]:
    for row in b.of(s.Enter):
        acts = b.acts(row)
        slots = b.action(acts[0]).slots if acts else {}
        stand, reach, structure = slots.get("stand"), slots.get("reach"), slots.get("structure")
        if row.owner is not None or reach != () or b.role(stand) != "earth":
            continue
        for rod in b.plan.of(Rod):
            set_at = b.tl.rod_set(acts[0], rod)  # type: ignore[arg-type]
            if set_at is not None and set_at.structure is structure:
                yield b.sheet.put(row, reaching=(Word(rod.name),))


@operator("neighbour-uncovered", "A live neighbour is not covered", "zone", 2)
def neighbour_uncovered(b: Bench) -> Iterator[Sheet]:
    for row in b.of(s.Cover):
        named = b.named(row, "neighbour")
        if any(isinstance(one, Neighbour) and one.covered for one in named):
            continue
        near = [one for one in named if isinstance(one, Neighbour) and one.at in b.worksites]
        if any(one.gap is not None and one.gap < WITHIN_ARMS for one in near):
            yield b.sheet.without(row, *b.only("neighbour", named, s.Uncover))


__all__ = ["seat_rows"]
