"""A fault seeded by any operator is found by the rule that the operator aims at, and nothing but the fault is found.

Nothing is left out that the drills would: every place that an operator offers may be drawn, proven or not.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from random import Random
from typing import NamedTuple

import pytest
from crowd import on_every_core, opener, reviewed, reviewer
from seeded import OPERATORS, aims, bench, seeded
from sound_plans import draft

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SOUND = (
    "bucket-cutouts.tpg",
    "customer-generation.tpg",
    "delta-jumper.tpg",
    "dual-point-crossarm.tpg",
    "earthing-words.tpg",
    "single-point-insulator.tpg",
    "small-neutral.tpg",
    "standard-procedure.tpg",
    "steel-shield-wire.tpg",
    "two-crews-procedure.md",
)
LOT = 40
"""Of each lot of so many plans every operator spoils one: the first that has a place for it."""
SHARE, WHOLE = 1, 25
"""Lots."""
ONE_IN = 5
"""Of the operators one of so many spoils an example each day, others the next; all of them with ``--long``."""
RARE = {
    "cut-unbridged",
    "ground-crew-at-rod",
    "guy-unbonded",
    "holder-unnamed",
    "neighbour-uncovered",
    "not-restored",
    "twins-unlike",
}
"""Operators that few plans have a place for, so that they spoil each plan that does."""
MOST_BESIDE = 0.02
"""Share of the faults of a day's plans beside which something may be found that no book names: each day draws others,
and what they break as well is printed. In the examples all is named."""
LEAST, LEAST_RARE = 12, 6
"""Faults that an operator has to have seeded in all, where all lots are tried."""


class Fault(NamedTuple):
    """One seeded fault: by which operator, in which plan; whether its aim was found; what was found beside."""

    operator: str
    plan: str
    found: bool
    beside: tuple[str, ...]
    seen: tuple[str, ...]


class Lot(NamedTuple):
    """What came of some plans: findings on them as they are, and the faults seeded into them."""

    unseeded: tuple[tuple[str, str], ...]
    faults: tuple[Fault, ...]


def lot(first: int) -> Lot:
    """One lot of generated plans, from this seed on."""
    unseeded: list[tuple[str, str]] = []
    faults: list[Fault] = []
    waiting = list(OPERATORS)
    for seed in range(first, first + LOT):
        plan = draft(seed)
        home = bench(plan.text())
        found = {one.slug for one in reviewed(home.source.text).findings}
        bare = UNNUMBERED if plan.about["numbered"] is False else set()
        unseeded += [(f"plan {seed}", slug) for slug in found - bare]
        for one in Random(seed).sample(waiting, len(waiting)):
            made = seeded(home, one, Random(f"{one.name} {seed}")) if one.name in aims() else None
            if made is not None:
                waiting = waiting if one.name in RARE else [other for other in waiting if other is not one]
                faults.append(fault(one.name, f"plan {seed}", made.proof.found, made.proof.beside, made.seen, found))
    return Lot(tuple(unseeded), tuple(faults))


UNNUMBERED = {"steps-numbered-in-order"}
"""A generated plan may go without numbers; that is the one thing that a notice may say of it."""


def fault(
    operator: str, plan: str, found: bool, beside: Iterable[str], seen: tuple[str, ...], before: set[str]
) -> Fault:
    """A fault, with what the plan had before it was seeded taken out of what was found beside it."""
    return Fault(operator, plan, found, tuple(slug for slug in beside if slug not in before), seen)


def example(job: tuple[str, list[str]]) -> Lot:
    """One sound example, spoiled by each of these operators that has a place there."""
    name, chosen = job
    home = bench((EXAMPLES / name).read_text(encoding="utf-8"), opener(EXAMPLES), name)
    found = {one.slug for one in reviewed(home.source.text).findings}
    faults = []
    for one in OPERATORS:
        made = seeded(home, one, Random(f"{one.name} {name}")) if one.name in chosen else None
        if made is not None:
            faults.append(fault(one.name, name, made.proof.found, made.proof.beside, made.seen, found))
    return Lot(tuple((name, slug) for slug in found), tuple(faults))


def reported(what: str, lots: list[Lot], say: Callable[[str], None]) -> tuple[list[Fault], list[Fault]]:
    """Print what came of them; the faults missed, and those with something found beside."""
    faults = [one for each in lots for one in each.faults]
    missed = [one for one in faults if not one.found]
    beside = [one for one in faults if one.beside]
    unseeded = sum(len(each.unseeded) for each in lots)
    say(
        f"faults seeded into {what}: {len(faults)} by {len({one.operator for one in faults})} operators, "
        f"{len(faults) - len(missed)} found by the rule aimed at ({(len(faults) - len(missed)) / len(faults):.1%}), "
        f"{len(beside)} with anything else found; findings on the unseeded plans: {unseeded}"
    )
    for one in (*missed, *beside):
        say(f"  {one.operator} in {one.plan}: {', '.join(one.seen) or 'no finding'}; beside: {', '.join(one.beside)}")
    return missed, beside


@pytest.mark.slow
def test_every_fault_in_generated_plans_is_found_by_the_rule_aimed_at(
    seeds: Callable[[int, int], range], report: Callable[[str], None]
) -> None:
    plans = seeds(SHARE * LOT, WHOLE * LOT)
    lots = on_every_core(lot, plans[::LOT], chunk=1)
    missed, beside = reported(f"{len(lots) * LOT} generated plans", lots, report)
    made: dict[str, int] = {}
    for each in lots:
        for one in each.faults:
            made[one.operator] = made.get(one.operator, 0) + 1
    assert [one for each in lots for one in each.unseeded] == []
    if len(lots) >= WHOLE:
        few = {name: made.get(name, 0) for name in aims()}
        assert {name: n for name, n in few.items() if n < (LEAST_RARE if name in RARE else LEAST)} == {}
    assert missed == []
    assert len(beside) <= MOST_BESIDE * sum(made.values()), "name it in `also` of drills.toml, with the reason"


@pytest.mark.slow
def test_every_fault_in_the_sound_examples_is_found_by_the_rule_aimed_at(
    daily_seed: int, long: bool, report: Callable[[str], None]
) -> None:
    pick = Random(daily_seed)
    jobs = [(name, [one for one in sorted(aims()) if long or not pick.randrange(ONE_IN)]) for name in SOUND]
    lots = on_every_core(example, jobs, chunk=1)
    missed, beside = reported(f"{len(SOUND)} examples", lots, report)
    assert [one for each in lots for one in each.unseeded] == []
    assert missed == []
    assert beside == []
    assert sum(len(each.faults) for each in lots) >= 30 * len(SOUND) / (1 if long else 2 * ONE_IN)


def test_each_operator_aims_at_one_rule_of_a_book() -> None:
    assert len({one.name for one in OPERATORS}) == len({one.title for one in OPERATORS}) == len(OPERATORS)
    assert {one.name for one in OPERATORS} - set(aims()) <= {"neighbour-uncovered"}
    by_book = [{rule.slug for rule in book.rules} for book in reviewer().books]
    for name, aim in aims().items():
        assert all(sum(slug in rules for slug in aim.rules) <= 1 for rules in by_book), name
    # a drill seeds a fault of the work; what a plan states twice and otherwise is a slip of the pen
    slips = {rule.slug for book in reviewer().books for rule in book.rules if "consistency" in rule.file}
    rules = set().union(*by_book) - slips
    assert len({slug for aim in aims().values() for slug in aim.rules}) >= 0.48 * len(rules)
    groups = {one.group for one in OPERATORS}
    assert groups >= {"testing", "order", "equipment", "arrangement", "sizing", "zone", "removal", "paper"}
