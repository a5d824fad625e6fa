"""Spoiled among neighbours, openings and people: distances, what is said of feeds, what is signed for, what changes."""

from __future__ import annotations

from collections.abc import Iterator

from groundlint.language import statements as s
from groundlint.language.nodes import Amount, Name, Word
from groundlint.plan.models import Neighbour, Person, SupplySource, Vehicle
from groundlint.teaching.bench import Bench, Row, Sheet, said
from groundlint.teaching.operators import change_each, drop_all, drop_each, operator
from groundlint.teaching.spoil_things import like
from groundlint.teaching.spoil_zone import seat_rows


# ------------------------------------------------------------------ neighbours and feeds
@operator("neighbour-too-near", "A bare live part is within an arm's length of the work", "zone", 2)
def neighbour_too_near(b: Bench) -> Iterator[Sheet]:
    for row in b.of(s.Neighbour):
        one = row.statement
        mine = [thing for thing in b.plan.of(Neighbour) if str(thing) in {str(name) for name in one.names}]
        if len(mine) != 1 or one.gap is None or getattr(mine[0], "at", None) not in b.worksites:
            continue
        sheet = b.sheet.put(row, gap=like(one.gap, "8 in", "0.2 m"), covered=False, bare=True)
        for cover in b.of(s.Cover, s.Uncover):
            sheet = b.less(sheet, cover, "neighbour", set(mine))
        yield sheet


operator("neighbours-unsaid", "Nothing is said of live neighbours", "paper", 1)(drop_all(s.NoNeighbour))


def _customers(b: Bench) -> Iterator[Row]:
    """The rows that say the voltage of a source that is no utility's."""
    holder: Row | None = None
    for row in b.sheet.rows:
        if isinstance(row.statement, s.Thing):
            holder = row
        elif isinstance(row.statement, s.Voltage) and holder is not None:
            names = {str(name) for name in getattr(holder.statement, "names", ())}
            sources = [one for one in b.plan.of(SupplySource) if one.name in names]
            if isinstance(holder.statement, s.SourceDecl) and sources:
                yield row


@operator("feed-below-range", "A source feeds at a voltage below the detector's range", "testing", 3)
def feed_below_range(b: Bench) -> Iterator[Sheet]:
    for row in _customers(b):
        yield b.sheet.put(row, amount=Amount.at("240 V"))


@operator("feed-unsaid", "Nothing is said of the voltage that a source feeds at", "testing", 2)
def feed_unsaid(b: Bench) -> Iterator[Sheet]:
    for row in _customers(b):
        yield b.sheet.without(row)


operator("test-improvised", "A test is improvised, with no detector", "testing", 1)(
    change_each(s.Test, with_=None, improvised=True, on_stick=None, by_hand=True, result=None)
)


# ------------------------------------------------------------------ openings, bars and rods
@operator("cut-not-joined", "What is cut is not joined again", "zone", 1)
def cut_not_joined(b: Bench) -> Iterator[Sheet]:
    cut = b.every("point", "cut")
    for row in b.of(s.Join):
        if b.named(row, "point") & cut:
            yield b.sheet.without(row)


operator("bar-stays-up", "A bar is left on the structure", "removal", 1)(drop_each(s.Dismount))


@operator("rod-apart", "A rod stands at the work, joined to nothing", "electrode", 3)
def rod_apart(b: Bench) -> Iterator[Sheet]:
    """One more rod is declared beside another, and set at the work before anybody goes up."""
    for seat in seat_rows(b)[:1]:
        enter = seat.statement
        for row in b.of(s.Rod)[:1]:
            one = row.statement
            if enter.at is None or one.length is None:
                continue
            more = tuple(Name(rod.name) for rod in b.declared(row))
            new = Name(b.next_name(more[-1]))
            step = said(s.Set, names=(new,), at=enter.at, from_pole=like(one.length, "20 ft", "6 m"), deep=one.length)
            yield b.sheet.put(row, names=(*more, new)).insert(seat, step)


# ------------------------------------------------------------------ people
@operator("signed-early", "Grounds are signed for before they are on", "paper", 3)
def signed_early(b: Bench) -> Iterator[Sheet]:
    kinds = ("set", "mount", "attach", "inspect", "prove", "clean")
    first = b.first(*kinds)
    for row in b.of(s.Certify):
        to = b.doer(first) if first is not None else None
        if row.owner is None and to is not None and b.place(to) < b.place(row):
            yield b.sheet.move([row], to)


@operator("not-rebriefed", "The job changes and nobody is briefed again", "paper", 2)
def not_rebriefed(b: Bench) -> Iterator[Sheet]:
    changes = b.positions("replan")
    again = [row for row in b.of(s.Brief) if changes and b.acts(row) and b.acts(row)[0] > changes[0]]
    if again and len(again) < len(b.of(s.Brief)):
        yield b.sheet.without(*again)


@operator("works-on-after-shock", "Somebody feels a shock and the work goes on", "zone", 2)
def works_on_after_shock(b: Bench) -> Iterator[Sheet]:
    works = b.positions("work")
    up = [one for one in b.tl.people_in_place(works[0]) if isinstance(one, Person)] if works else []
    if up and b.doer(works[0]).owner is None:
        yield b.sheet.insert(b.doer(works[0]), said(s.Shock, names=(Name(up[0].name),)))


@operator("paused-up-there", "Bad weather is waited out with somebody up", "zone", 1)
def paused_up_there(b: Bench) -> Iterator[Sheet]:
    works = b.positions("work")
    if works and b.tl.people_in_place(works[0]) and b.doer(works[0]).owner is None:
        yield b.sheet.insert(b.doer(works[0]), said(s.Pause, spell=Word("for weather")))


@operator("drives-off-bonded", "A vehicle drives off with its bond on", "removal", 2)
def drives_off_bonded(b: Bench) -> Iterator[Sheet]:
    away = [one for one in b.plan.route if one not in b.worksites]
    for row in b.of(s.Unbond):
        trucks = [one for one in b.plan.of(Vehicle) if one.name == str(row.statement.point)]
        if trucks and away and row.owner is None:
            yield b.sheet.insert(row, said(s.Park, names=(Name(trucks[0].name),), at=Name(away[0].name)))
