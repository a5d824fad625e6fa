"""Spoiled in the order of attaching, and in what the grounds make up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from groundlint.language import statements as s
from groundlint.language.nodes import Amount, Name, Point, Word
from groundlint.plan.models import Bar, Conductor, PointRef, Structure
from groundlint.teaching.bench import CONDUCTORS, Bench, Hung, Row, RowOf, Sheet, said
from groundlint.teaching.operators import operator
from groundlint.values import TRUE


def rows_once(found: list[Hung]) -> list[Hung]:
    """The first use of each row."""
    kept: dict[RowOf[s.Attach], Hung] = {}
    for one in found:
        kept.setdefault(one.row, one)
    return list(kept.values())


def uses(b: Bench, row: Row) -> list[Hung]:
    """Every use of a row."""
    return [one for one in b.hung if one.row is row]


def alone(b: Bench, one: Hung) -> bool:
    """Whether no other lead lies beside it."""
    return sum({other.first, other.second} == {one.first, one.second} for other in b.hung) == 1


def without_leads(b: Bench, *rows: RowOf[s.Attach]) -> Sheet:
    """The sheet without some leads: what puts them on, takes them off, lifts and restores them."""
    gone: dict[Row, None] = {}
    for row in rows:
        gone.update(dict.fromkeys(b.lead_rows(row)))
    return b.sheet.without(*gone)


def needs_brackets(b: Bench) -> bool:
    """Whether the work of a dual-point plan stands on the brackets alone, with no electrode at the work itself."""
    points = []
    for at in b.seats:
        structure = b.slot(at, "structure")
        if isinstance(structure, Structure):
            points += [(at, point) for point in b.case.phase_points(structure)]
    return b.dual and bool(points) and not any(b.tl.grounded(at, point, True) is TRUE for at, point in points)


# ------------------------------------------------------------------ order
@operator("line-end-first", "The line end of a lead goes on before its ground end", "order", 1)
def line_end_first(b: Bench) -> Iterator[Sheet]:
    for one in rows_once(b.hung):
        statement = one.row.statement
        begins = b.role(one.first) in ("bar", "steel")
        if (
            begins
            and b.role(one.second) == "phase"
            and any(not b.grounded(use.at, use.second) and b.grounded(use.at, use.first) for use in uses(b, one.row))
        ):
            yield b.sheet.put(one.row, ends=tuple(reversed(statement.ends)))


@operator(
    "phase-end-first",
    "Where grounds elsewhere hold a phase, a lead's end at it goes on before its ground end",
    "order",
    1,
)
def phase_end_first(b: Bench) -> Iterator[Sheet]:
    for one in rows_once(b.hung):
        if b.role(one.first) == "phase" or b.role(one.second) != "phase":
            continue
        grounded = [
            (
                b.grounded(use.at, use.second),
                *(b.tl.grounded(use.at, end, True) is TRUE for end in (use.second, use.first)),
            )
            for use in uses(b, one.row)
        ]
        if all(found == (True, False, True) for found in grounded):
            yield b.sheet.put(one.row, ends=tuple(reversed(one.row.statement.ends)))


def _how(one: s.Attach, end: int, **fields: Any) -> dict[str, Any]:
    return {"ends": tuple(replace(e, **fields) if at == end else e for at, e in enumerate(one.ends))}


def unsaid(one: s.Attach | s.Detach) -> tuple[s.End, ...]:
    """The ends of a lead with nothing said of how: a stick named for one end may be meant for both."""
    return tuple(replace(end, by=None, by_hand=False) for end in one.ends)


@operator("on-by-hand", "The line end of a lead goes on by hand", "order", 1)
def on_by_hand(b: Bench) -> Iterator[Sheet]:
    for one in rows_once(b.hung):
        if b.role(one.second) == "phase":
            yield b.sheet.put(one.row, **_how(one.row.statement, 1, by=None, by_hand=True))


@operator("on-by-unsaid", "Nothing is said of how the line end of a lead goes on", "order", 1)
def on_by_unsaid(b: Bench) -> Iterator[Sheet]:
    for one in rows_once(b.hung):
        if b.role(one.second) == "phase":
            yield b.sheet.put(one.row, ends=unsaid(one.row.statement))


def _clamped(b: Bench, row: Row) -> bool:
    """Whether the first clamp on some point of a conductor that a row cleans relies on that row."""
    for at in b.acts(row, "clean"):
        if b.role_at(at) not in CONDUCTORS:
            continue
        point = b.slot(at, "point")
        clamps = [on for on in b.positions("attach") if b.slot(on, "point") == point]
        later = [on for on in clamps if on > at]
        if later and not any(on < at for on in clamps) and b.tl.cleaned_at(later[0], point) == at:
            return True
    return False


@operator("not-cleaned", "A conductor is not cleaned where a clamp goes on", "order", 1)
def not_cleaned(b: Bench) -> Iterator[Sheet]:
    for row in b.of(s.Clean):
        if _clamped(b, row):
            yield b.sheet.without(row)


@operator("cleaned-long-before", "Half an hour lies between the brush and the clamp", "order", 2)
def cleaned_long_before(b: Bench) -> Iterator[Sheet]:
    for row in b.of(s.Clean):
        after = b.sheet.after(row)
        if _clamped(b, row) and after is not None and isinstance(after.statement, s.Step):
            yield b.sheet.insert(after, said(s.Wait, amount=Amount.at("30 min")))


# ------------------------------------------------------------------ arrangement
@operator("phase-left-out", "A phase gets no lead", "arrangement", 1)
def phase_left_out(b: Bench) -> Iterator[Sheet]:
    """Where one set alone grounds the line, so that nothing else grounds the phase; on steel, a lead to the shield wire
    does."""
    sets = {b.at_structure(one.at, one.second) for one in b.hung if b.role(one.second) == "phase"}
    shield = any(b.role(one.second) == "shield" and b.role(one.first) == "phase" for one in b.hung)
    if b.dual or len(sets) != 1 or (shield and any(one.material == "steel" for one in sets if one is not None)):
        return
    for one in rows_once(b.hung):
        at_work = b.at_structure(one.at, one.second) in b.worksites
        if at_work and b.role(one.second) == "phase" and alone(b, one):
            yield without_leads(b, one.row)


@operator("bracket-phase-left-out", "A phase gets no lead in a bracket", "arrangement", 3)
def bracket_phase_left_out(b: Bench) -> Iterator[Sheet]:
    if not needs_brackets(b):
        return
    for one in rows_once(b.hung):
        away = b.at_structure(one.at, one.second) not in b.worksites
        if away and b.role(one.second) == "phase" and alone(b, one):
            yield without_leads(b, one.row)


@operator("neutral-left-out", "The neutral gets no lead", "arrangement", 1)
def neutral_left_out(b: Bench) -> Iterator[Sheet]:
    for one in rows_once(b.hung):
        from_neutral = any(o.first == one.second for o in b.hung)
        twin = any(o.row is not one.row and o.second == one.second for o in b.hung)
        if b.role(one.second) != "neutral" or from_neutral or twin:
            continue
        if b.role(one.first) == "steel" or (b.role(one.first) == "bar" and _tied(b, one.first)):
            yield without_leads(b, one.row)


def _tied(b: Bench, bar: PointRef) -> bool:
    """Whether some lead joins a bar to a rod, a pole ground or steel."""
    return any(
        (one.first == bar and b.role(one.second) in ELECTRODES)
        or (one.second == bar and b.role(one.first) in ELECTRODES)
        for one in _pairs(b)
    )


ELECTRODES = ("rod", "pole ground", "steel")


def _pairs(b: Bench) -> list[Hung]:
    """Every lead with the first two points that it is on, whether in one row or in two."""
    ends: dict[object, list[int]] = {}
    for at in b.positions("attach"):
        ends.setdefault(b.slot(at, "lead"), []).append(at)
    found = []
    for lead, ats in ends.items():
        points = [b.slot(at, "point") for at in ats[:2]]
        if len(points) == 2 and all(isinstance(one, PointRef) for one in points):
            found.append(Hung(b.row_of(ats[0]), ats[0], lead, points[0], points[1]))  # type: ignore[arg-type]
    return found


@operator("shield-left-out", "The shield wire gets no lead at the work", "arrangement", 2)
def shield_left_out(b: Bench) -> Iterator[Sheet]:
    for one in rows_once(b.hung):
        structure = b.at_structure(one.at, one.second)
        if b.role(one.second) != "shield" or structure not in b.worksites or structure is None:
            continue
        if structure.material == "steel" or (b.dual and needs_brackets(b)):
            continue
        yield without_leads(b, one.row)


@operator("bar-untied", "The bar is not tied to earth", "arrangement", 2)
def bar_untied(b: Bench) -> Iterator[Sheet]:
    """Every lead left out that joins a bar to a rod or a pole ground, where the neutral is not multigrounded."""
    line = b.plan.line
    if line is None or line.neutral_earthing == "multigrounded":
        return
    tied: dict[frozenset[object], list[RowOf[s.Attach]]] = {}
    for row in b.of(s.Attach):
        sorts = {role for roles in b.ends_of(row) for role in roles}
        if "bar" in sorts and sorts & {"rod", "pole ground"} and len(sorts) == 2:
            bars = {
                b.slot(other, "point")
                for at in b.acts(row, "attach")
                for other in b.positions("attach")
                if b.slot(other, "lead") is b.slot(at, "lead") and b.role_at(other) == "bar"
            }
            tied.setdefault(frozenset(bars), []).append(row)
    for at_bars, rows in tied.items():
        starts = [one for one in b.hung if one.first in at_bars and b.role(one.second) in ("phase", "neutral")]
        if starts:
            yield without_leads(b, *rows)


@operator("loose-end", "A lead keeps a loose end", "arrangement", 2)
def loose_end(b: Bench) -> Iterator[Sheet]:
    for one in rows_once(b.hung):
        statement = one.row.statement
        if b.role(one.second) != "phase" or not b.seats or one.at > b.seats[-1]:
            continue
        sheet = b.sheet.put(one.row, ends=statement.ends[:1])
        firsts = {use.first for use in uses(b, one.row)}
        for other in b.lead_rows(one.row):
            off = other.statement
            if isinstance(off, s.Lift | s.Restore):
                sheet = sheet.without(other)
            if other is one.row or not isinstance(off, s.Detach):
                continue
            kept = tuple(
                end
                for end, at in zip(off.ends, b.acts(other, "detach"), strict=False)
                if b.role_at(at) != "phase" or b.slot(at, "point") in firsts
            )
            sheet = sheet.put(other, ends=kept) if kept else sheet.without(other)
        yield sheet


@operator("phases-apart", "The phases are not joined where the bucket works", "arrangement", 3)
def phases_apart(b: Bench) -> Iterator[Sheet]:
    """In dual-point work from a bucket: a lead that joins a phase to the others at the work."""
    if not b.dual or b.plan.access != "bucket":
        return
    for one in rows_once(b.hung):
        at_work = b.at_structure(one.at, one.second) in b.worksites
        reach = [point for at in b.seats for point in _reach(b, at)]
        star = sum(other.first == one.first and b.role(other.second) == "phase" for other in b.hung) > 1
        parts = b.role(one.first) == "phase" or star
        if at_work and parts and b.role(one.second) == "phase" and alone(b, one) and one.second in reach:
            yield without_leads(b, one.row)


def _reach(b: Bench, at: int) -> tuple[Any, ...]:
    reach = b.slot(at, "reach")
    return reach if isinstance(reach, tuple) else ()


@operator("chain-on-small-neutral", "The phases hang on a neutral too small for the fault", "arrangement", 2)
def chain_on_small_neutral(b: Bench) -> Iterator[Sheet]:
    line = b.plan.line
    small = b.plan.small_neutral or (line is not None and line.neutral_duty == "too small for the fault")
    if not small or line is None or not isinstance(line.neutral, Conductor):
        return
    by_structure: dict[object, list[Hung]] = {}
    for one in b.hung:
        structure = b.at_structure(one.at, one.second)
        if b.role(one.first) == "bar" and b.role(one.second) == "phase" and not (b.dual and structure in b.worksites):
            by_structure.setdefault(one.row.owner or structure, []).append(one)
    for found in by_structure.values():
        sheet = b.sheet
        for row in dict.fromkeys(one.row for one in found):
            statement = row.statement
            there = str(statement.ends[1].point).partition(" ")[0]
            first = replace(statement.ends[0], point=Point(f"{there} {line.neutral}"), by=statement.ends[1].by)
            sheet = sheet.put(row, ends=(first, statement.ends[1]))
            places = {one.lead: one.second.structure for one in found if one.row is row}
            for other in b.lead_rows(row):
                if isinstance(other.statement, s.Detach):
                    lead = b.slot(b.acts(other, "detach")[0], "lead")
                    sheet = _off_neutral(b, sheet, other, f"{places.get(lead)} {line.neutral}", first.by)
        yield sheet


def _off_neutral(b: Bench, sheet: Sheet, row: Row, point: str, by: Name | None) -> Sheet:
    """The end that a lead had on a bar comes off the neutral."""
    one = row.statement
    assert isinstance(one, s.Detach)
    acts = b.acts(row, "detach")
    bars = [b.role_at(at) == "bar" for at in acts[: len(one.ends)]]
    ends = tuple(
        replace(end, point=Point(point), by=by) if bar else end for end, bar in zip(one.ends, bars, strict=True)
    )
    return sheet.put(row, ends=ends)


def without_set(b: Bench, structure: Structure) -> Sheet:
    """The sheet without the grounds of one structure: what puts them on, takes them off and clears up after them."""
    rows, bars = _set_rows(b, structure)
    sheet = b.sheet.without(*rows)
    for row in b.of(s.Dismount, s.Unbarricade):
        if row not in rows:
            sheet = b.less(sheet, row, "bar" if isinstance(row.statement, s.Dismount) else "thing", bars)
    return sheet


def _set_rows(b: Bench, structure: Structure) -> tuple[list[Row], set[object]]:
    """The rows outside routines about the grounds of one structure, and the bars and rods of its routine."""
    leads = {b.slot(at, "lead") for at in b.positions("attach") if _there(b, at, structure)}
    whole = {b.doer(at) for at in b.positions("attach") if b.slot(at, "lead") in leads}
    whole = {row for row in whole if isinstance(row.statement, s.Do | s.Repeat)}
    leads |= {b.slot(at, "lead") for at in b.positions("attach") if b.doer(at) in whole}
    gone: dict[Row, None] = {}
    for at in b.positions("attach", "detach", "lift", "restore"):
        if b.slot(at, "lead") in leads:
            gone[b.doer(at)] = None
    bars: set[object] = set()
    for row in [row for row in gone if isinstance(row.statement, s.Do | s.Repeat)]:
        mounts = [at for at in b.positions("mount", "barricade") if b.doer(at) is row]
        bars |= {(b.slot(at, "bar") or b.slot(at, "thing")) for at in mounts}
    for row in b.of(s.Dismount, s.Unbarricade):
        named = {(b.slot(at, "bar") or b.slot(at, "thing")) for at in b.acts(row)}
        if named and named <= bars:
            gone[row] = None
    for row in b.of(s.Bond, s.Unbond):  # what was bonded to such a bar
        named = {
            getattr(b.action(at).slots.get(end), "thing", None) for at in b.acts(row) for end in ("first", "second")
        }
        if named & (bars - {None}):
            gone[row] = None
            offs = b.only("first", b.named(row, "first"), s.Unbond)
            gone.update((off, None) for off in [o for o in offs if b.place(o) > b.place(row)][:1])
    return list(gone), bars


def _there(b: Bench, at: int, structure: Structure) -> bool:
    return b.role_at(at) in CONDUCTORS and b.where(at) is structure


def _grounded_structures(b: Bench) -> list[Structure]:
    found = (b.where(at) for at in b.positions("attach"))
    return [one for one in dict.fromkeys(found) if one is not None]


@operator("bracket-left-out", "A bracket is not built", "arrangement", 1)
def bracket_left_out(b: Bench) -> Iterator[Sheet]:
    if not needs_brackets(b):
        return
    for structure in _grounded_structures(b):
        phases = [at for at in b.positions("attach") if _there(b, at, structure)]
        if structure not in b.worksites and phases:
            yield without_set(b, structure)


@operator("worksite-ungrounded", "The worksite is not grounded", "arrangement", 1)
def worksite_ungrounded(b: Bench) -> Iterator[Sheet]:
    if b.dual:
        return
    for structure in b.worksites:
        if _set_rows(b, structure)[0]:
            yield without_set(b, structure)


@operator("personal-left-out", "No personal ground is built at the work", "arrangement", 2)
def personal_left_out(b: Bench) -> Iterator[Sheet]:
    if not b.dual or not b.from_structures:
        return
    for structure in b.worksites:
        bars = [
            at
            for at in b.positions("attach")
            if isinstance(getattr(b.slot(at, "point"), "thing", None), Bar) and b.where(at) is structure
        ]
        if bars and _set_rows(b, structure)[0]:
            yield without_set(b, structure)


@operator("bar-above-feet", "The bar is above the feet of the worker", "arrangement", 1)
def bar_above_feet(b: Bench) -> Iterator[Sheet]:
    wanted = [
        one
        for at in b.seats
        if b.role_at(at, "stand") == "pole" and isinstance(one := b.slot(at, "structure"), Structure)
    ]
    for row in b.of(s.Mount):
        there = [b.slot(at, "structure") for at in b.acts(row)]
        bars_there = [at for at in b.positions("mount") if b.slot(at, "structure") in wanted]
        ours = [at for at in b.acts(row) if b.slot(at, "structure") in wanted]
        wood = [one for one in there if one in wanted and getattr(one, "material", None) in ("wood", "concrete")]
        if ours and wood and len(bars_there) <= len(ours) * max(1, len(set(wanted))):
            yield b.sheet.put(row, height=Word("above feet"), height_of=None)


__all__ = ["alone", "needs_brackets", "rows_once", "uses", "without_leads", "without_set"]
