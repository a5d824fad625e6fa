"""The same things and steps in another order or another place, where the order is free."""

from __future__ import annotations

from dataclasses import replace
from random import Random
from typing import Any

from sheets import Sheet, changed, counted, counting, each_run, expanded, fresh, rewriting, steps

from groundlint.language import statements as s
from groundlint.language.nodes import Text
from groundlint.language.statements import PlanText
from groundlint.language.writer import write_plan

Block = list[Any]
ORDERED = (s.Begins, s.Leaves)
"""Headers that stand in the order in which things went on."""


def blocks(plan: PlanText) -> tuple[list[Block], list[Any]]:
    """What is declared, a thing with the properties below it in a block; and the steps, with their stages."""
    declared: list[Block] = []
    rest: list[Any] = []
    for one in plan.statements:
        if (isinstance(one, s.Property) and declared) or (
            isinstance(one, ORDERED) and declared and isinstance(declared[-1][0], ORDERED)
        ):
            declared[-1].append(one)
        elif isinstance(one, s.Step | s.Stage):
            rest.append(one)
        else:
            declared.append([one])
    return declared, rest


def flat(found: list[Block]) -> list[Any]:
    return [one for block in found for one in block]


@rewriting("declarations in another order, a thing's properties too, those of a line below the line")
def declarations_shuffled(sheet: Sheet, rng: Random) -> Sheet | None:
    declared, rest = blocks(sheet.plan)
    for block in declared:
        below = block[1:]
        if not isinstance(block[0], ORDERED):
            rng.shuffle(below)
        block[1:] = below
    rng.shuffle(declared)
    return changed(sheet, [*flat(declared), *rest])


@rewriting("declarations after the steps")
def declarations_last(sheet: Sheet, rng: Random) -> Sheet | None:
    declared, rest = blocks(sheet.plan)
    headers = [block for block in declared if isinstance(block[0], s.Header)]
    things = [block for block in declared if not isinstance(block[0], s.Header)]
    return changed(sheet, [*flat(headers), *rest, *flat(things)])


@rewriting("the things and routines in a file that the plan uses")
def things_in_a_file(sheet: Sheet, rng: Random) -> Sheet | None:
    declared, rest = blocks(sheet.plan)
    here = [block for block in declared if isinstance(block[0], s.Header)]
    there = [block for block in declared if not isinstance(block[0], s.Header)]
    if not there:
        return None
    register = write_plan(replace(sheet.plan, statements=tuple(flat(there)), after=()))
    use = s.Use(path=Text("parts/register.tpg"))
    new = sheet.of([*flat(here), use, *rest])
    return replace(new, files={**sheet.files, "parts/register.tpg": register})


@rewriting("one declaration for each of several things alike")
def one_declaration_a_thing(sheet: Sheet, rng: Random) -> Sheet | None:
    out: list[Any] = []
    for one in expanded(sheet.plan).statements:
        if isinstance(one, s.Structure | s.Equipment | s.Mat | s.Capacitor) and len(one.names) > 1:
            out += [replace(one, names=(name,)) for name in one.names]
        else:
            out.append(one)
    return changed(sheet, out)


ALIKE = (s.Inspect, s.Brief)
APART = (s.Tag, s.Lock, s.Verify, s.Block, s.Mount, s.Barricade, s.Dismount, s.Park, s.Gloves)


def free(one: Any, other: Any) -> bool:
    """Whether two steps may change places without a difference to anybody."""
    if isinstance(one, s.Note) or isinstance(other, s.Note):
        return True
    if isinstance(one, ALIKE) and isinstance(other, ALIKE):
        return True
    if type(one) is not type(other) or not isinstance(one, APART):
        return False
    names = [{str(name) for name in (getattr(step, "names", None) or (step.name,))} for step in (one, other)]
    return not names[0] & names[1] and not any(".." in name for name in names[0] | names[1])


@rewriting("neighbouring steps that have nothing to do with each other, such as two inspections, change places")
def free_steps_swapped(sheet: Sheet, rng: Random) -> Sheet | None:
    def run(found: list[Any]) -> list[Any]:
        out = list(found)
        for at in range(len(out) - 1):
            if free(out[at], out[at + 1]):
                out[at], out[at + 1] = out[at + 1], out[at]
        return out

    return changed(sheet, each_run(sheet.plan, run))


@rewriting("steps with other numbers, in their order", words=True)
def steps_renumbered(sheet: Sheet, rng: Random) -> Sheet | None:
    if not counting(sheet.plan):
        return None
    by, suffix = rng.choice(((10, ""), (5, ""), (1, "a")))
    return replace(sheet, plan=counted(sheet.plan, by, suffix))


@rewriting("steps without numbers", words=True)
def steps_unnumbered(sheet: Sheet, rng: Random) -> Sheet | None:
    if not any(one.number for one in steps(sheet.plan)):
        return None
    out = (replace(one, number=None) if isinstance(one, s.Step) else one for one in sheet.plan.statements)
    return replace(sheet, plan=replace(sheet.plan, statements=tuple(out)))


@rewriting("without the titles of stages")
def stages_dropped(sheet: Sheet, rng: Random) -> Sheet | None:
    return changed(sheet, [one for one in sheet.plan.statements if not isinstance(one, s.Stage)])


@rewriting("with titles of stages, put in anywhere")
def stages_added(sheet: Sheet, rng: Random) -> Sheet | None:
    names = fresh(sheet.plan, "part ")

    def run(found: list[Any]) -> list[Any]:
        out: list[Any] = []
        for one in found:
            if rng.random() < 0.2:
                out.append(s.Stage(title=Text(next(names))))
            out.append(one)
        return out

    whole = replace(
        sheet.plan, statements=tuple(one for one in sheet.plan.statements if not isinstance(one, s.Routine))
    )
    routines = [one for one in sheet.plan.statements if isinstance(one, s.Routine)]
    return changed(sheet, [*routines, *each_run(whole, run)]) if steps(sheet.plan) else None


@rewriting("notes to the crew between the steps, which change nothing")
def notes_strewn(sheet: Sheet, rng: Random) -> Sheet | None:
    def run(found: list[Any]) -> list[Any]:
        out: list[Any] = []
        for one in found:
            if rng.random() < 0.3:
                out.append(s.Note(text=Text("mind the ditch")))
            out.append(one)
        return out

    return changed(sheet, each_run(sheet.plan, run))
