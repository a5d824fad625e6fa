"""Spoiled in equipment, sizing and electrodes: values and dates of things, and how rods are set."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

from groundlint.language import statements as s
from groundlint.language.nodes import Amount, Date, Name, Point, Size, Word
from groundlint.plan.models import Rod
from groundlint.teaching.bench import Bench, RowOf, Sheet
from groundlint.teaching.operators import operator


def like(written: Amount | None, customary: str, metric: str) -> Amount:
    """A length in the units that the plan has: the first where it is in feet or inches, or says none."""
    return Amount.at(metric if written is not None and written.rstrip().endswith("m") else customary)


# ------------------------------------------------------------------ leads
def _leads(b: Bench) -> Iterator[RowOf[s.Lead]]:
    """Declarations of leads that steps put on."""
    used = {str(lead) for lead in b.every("lead", "attach")}
    yield from (row for row in b.of(s.Lead) if used & {one.name for one in b.declared(row)})


def _with(**fields: Callable[[s.Lead], Any]) -> Callable[[Bench], Iterator[Sheet]]:
    """Each declaration of leads in use with other values."""

    def spoil(b: Bench) -> Iterator[Sheet]:
        for row in _leads(b):
            yield b.sheet.put(row, **{name: value(row.statement) for name, value in fields.items()})

    return spoil


operator("lead-too-thin", "Leads are too thin", "sizing", 1)(
    _with(size=lambda one: Size("16 mm2") if one.size and "mm2" in one.size else Size("4 AWG"))
)
operator("thin-aluminum", "Leads of aluminum are sized as if they were of copper", "sizing", 2)(
    _with(
        size=lambda one: Size("35 mm2") if one.size and "mm2" in one.size else Size("2 AWG"),
        metal=lambda _one: Word("aluminum"),
    )
)
operator("lead-too-long", "Leads are too long", "sizing", 1)(
    _with(length=lambda one: like(one.length, "45 ft", "14 m"))
)
operator("grade-unsaid", "The grade of leads is not stated", "equipment", 1)(_with(grade=lambda _one: None))
operator("test-out-of-date", "Leads are out of test", "equipment", 1)(
    _with(tested=lambda _one: Date("2019-03-01"), due=lambda _one: Date("2020-03-01"))
)
operator("test-unsaid", "Nothing is said of when leads were tested", "equipment", 1)(
    _with(tested=lambda _one: None, due=lambda _one: None)
)


@operator("not-inspected", "Leads go on without being looked over", "equipment", 1)
def not_inspected(b: Bench) -> Iterator[Sheet]:
    leads = b.every("lead", "attach")
    for row in b.of(s.Inspect):
        mine = b.named(row, "item") & leads
        others = {item for other in b.of(s.Inspect) if other is not row for item in b.named(other, "item")}
        if mine - others:
            yield b.sheet.without(row)


def _twins(b: Bench) -> Iterator[tuple[str, str]]:
    """Pairs of leads that lie side by side, as the plan names them."""
    seen: dict[frozenset[object], str] = {}
    ends: dict[str, list[object]] = {}
    for at in b.positions("attach"):
        slots = b.action(at).slots
        ends.setdefault(str(slots["lead"]), []).append(slots["point"])
    for lead, points in ends.items():
        pair = frozenset(points)
        if len(points) == 2 and len(pair) == 2:
            if pair in seen:
                yield seen[pair], lead
            seen.setdefault(pair, lead)


@operator("twins-unlike", "Of two leads side by side one is longer", "sizing", 3)
def twins_unlike(b: Bench) -> Iterator[Sheet]:
    """A declaration of its own for one of the two."""
    for _one, lead in _twins(b):
        for row in b.of(s.Lead):
            declared = row.statement
            names = [thing.name for thing in b.declared(row)]
            if lead not in names or declared.length is None:
                continue
            own = row.but(names=(Name(lead),), length=like(declared.length, "16 ft", "5 m"), before=())
            rest = tuple(Name(name) for name in names if name != lead)
            after = b.sheet.after(row)
            sheet = b.sheet.put(row, names=rest) if rest else b.sheet.without(row)
            if after is not None:
                yield sheet.insert(after, own.statement)


@operator("lead-too-far", "A lead is hung to another structure than its bar is on", "equipment", 2)
def lead_too_far(b: Bench) -> Iterator[Sheet]:
    route = [one.name for one in b.plan.route]
    for row in b.of(s.Attach):
        one = row.statement
        acts = b.acts(row, "attach")
        if row.owner is not None or len(one.ends) != 2 or len(acts) != 2:
            continue
        first, second = (b.slot(at, "point") for at in acts)
        if b.role(first) != "bar" or b.role(second) != "phase":
            continue
        there, _, conductor = str(one.ends[1].point).partition(" ")
        far = [name for name in route if name != there]
        if there in route and far:
            ends = (one.ends[0], replace(one.ends[1], point=Point(f"{far[-1]} {conductor}")))
            sheet = b.sheet.put(row, ends=ends)
            for other in b.lead_rows(row):
                other_one = other.statement
                if other is row or other.owner is not None or not isinstance(other_one, s.Detach):
                    continue
                moved = tuple(
                    replace(end, point=Point(f"{far[-1]} {conductor}")) if end.point == one.ends[1].point else end
                    for end in other_one.ends
                )
                sheet = sheet.put(other, ends=moved)
            yield sheet


# ------------------------------------------------------------------ electrodes
def _rods_set(b: Bench) -> Iterator[tuple[RowOf[s.Set], s.Set]]:
    return ((row, row.statement) for row in b.of(s.Set) if b.acts(row))


@operator("rod-too-near", "A rod is set too near to the pole", "electrode", 1)
def rod_too_near(b: Bench) -> Iterator[Sheet]:
    for row, one in _rods_set(b):
        yield b.sheet.put(row, from_pole=like(one.from_pole, "4 ft", "1.2 m"))


@operator("rod-place-unsaid", "Nothing is said of how far from the pole a rod is set", "electrode", 1)
def rod_place_unsaid(b: Bench) -> Iterator[Sheet]:
    for row, one in _rods_set(b):
        if one.from_pole is not None:
            yield b.sheet.put(row, from_pole=None)


@operator("rod-not-home", "A rod is not driven to its full length", "electrode", 2)
def rod_not_home(b: Bench) -> Iterator[Sheet]:
    for row, one in _rods_set(b):
        yield b.sheet.put(row, deep=like(one.deep, "2 ft", "0.6 m"))


@operator("rod-short", "A rod is too short, though it is driven home", "electrode", 2)
def rod_short(b: Bench) -> Iterator[Sheet]:
    """The declaration, and every step that sets rods of it to the depth declared."""
    for row in b.of(s.Rod):
        one = row.statement
        rods = set(b.declared(row))
        used = [other for other, _ in _rods_set(b) if b.named(other, "rod") & rods]
        if not used or one.length is None:
            continue
        short = like(one.length, "4 ft", "1.2 m")
        sheet = b.sheet.put(row, length=short)
        for other in used:
            if b.named(other, "rod") <= rods:
                sheet = sheet.put(other, deep=short)
        yield sheet


def _in_use(b: Bench, rod: object) -> bool:
    return any(
        b.action(at).slots.get(slot) is not None and getattr(b.action(at).slots[slot], "thing", None) is rod
        for at in b.positions("attach", "bond")
        for slot in ("point", "first", "second")
    )


@operator("rod-open", "A rod in use is not barricaded", "electrode", 1)
def rod_open(b: Bench) -> Iterator[Sheet]:
    for row in b.of(s.Barricade):
        things = b.named(row, "thing")
        if things and all(isinstance(one, Rod) and _in_use(b, one) for one in things):
            yield b.sheet.without(row, *b.only("thing", things, s.Unbarricade))


@operator("barricaded-late", "A rod is barricaded after the crew is up", "electrode", 3)
def barricaded_late(b: Bench) -> Iterator[Sheet]:
    for row in b.of(s.Barricade):
        acts = b.acts(row)
        things = b.named(row, "thing")
        enters = [at for at in b.positions("enter") if acts and at > acts[-1]]
        if row.owner is None and enters and all(isinstance(one, Rod) and _in_use(b, one) for one in things):
            after = b.sheet.after(b.doer(enters[0]))
            if after is not None:
                yield b.sheet.move([row], after)


@operator("soil-slip", "The resistivity of the soil is out by a slip of the unit", "electrode", 2)
def soil_slip(b: Bench) -> Iterator[Sheet]:
    for row in b.of(s.Soil) if b.positions("set") else ():
        one = row.statement
        if one.amount.given is None:
            yield b.sheet.put(row, amount=Amount.at("0.12 ohm m"))


@operator("soil-unsaid", "Nothing is said of the soil, and a rod is set in it", "electrode", 1)
def soil_unsaid(b: Bench) -> Iterator[Sheet]:
    rows = b.of(s.Soil)
    if rows and b.positions("set"):
        yield b.sheet.without(*rows)


__all__ = ["like"]
