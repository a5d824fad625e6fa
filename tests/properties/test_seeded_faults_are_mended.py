"""A fault that is seeded and whose rule offers a repair is mended, and nothing else is broken by it.

Half of the operators at least are of that kind; the others take away what only the writer knows (a size, a date, the
soil, who holds the clearance) or what no single step gives back (a set of grounds).
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from random import Random
from typing import NamedTuple

import pytest
from crowd import on_every_core, reviewed, reviewer
from seeded import OPERATORS, aims, bench, spoiled
from sound_plans import draft

from groundlint.findings.fingerprint import fingerprints

_NAMES = """
asked-after bar-stays-up barricaded-late briefed-late capacitor-by-hand capacitor-no-wait capacitor-short-wait
cleaned-long-before cleared-late closed-after-test closed-before-release closed-on-crew closed-on-grounds
cut-not-joined down-late gap-unseen ground-end-off-first lead-stays-on left-closed lifted-by-hand lifted-over-crew
line-end-first neighbour-uncovered no-hold not-cleaned not-inspected not-rebriefed not-released
not-restored off-by-hand off-by-unsaid off-out-of-order on-by-hand on-by-unsaid opened-late phase-end-first
phase-untested reclosing-left-on released-early released-over-crew restored-by-hand rod-apart rod-open set-stays-on
signed-early stays-up stick-unsaid test-improvised tested-by-hand tested-early unbriefed unlocked unnumbered
unproven-after unproven-before untagged untagged-early untested up-early vehicle-open
"""
MENDED = frozenset(_NAMES.split())
"""Operators whose faults the rule aimed at finds no more once they are mended, but for those within a routine."""
LOT = 30
"""Of each lot of so many plans an operator spoils one: the first that has a place for it."""
SHARE, WHOLE = 1, 12
"""Lots."""
ONE_IN = 4
"""Of the operators one of so many is tried each day, others the next; all of them with ``--long``."""


class Tried(NamedTuple):
    """What came of mending a seeded fault: what is left of the rules aimed at, what is left besides, what is new, and
    steps that are gone."""

    operator: str
    plan: int
    within: bool
    aimed: tuple[str, ...]
    left: tuple[str, ...]
    new: tuple[str, ...]
    gone: tuple[str, ...]


def steps(text: str) -> Counter[str]:
    """The lines of a plan without their numbers."""
    return Counter(re.sub(r"^\s*(?:[0-9]+[a-z]?\.)?\s*", "", line) for line in text.splitlines())


def tried(operator: str, seed: int, text: str) -> Tried:
    before = reviewed(text)
    after = reviewer().mended(before).review
    known = set(fingerprints(before))
    rules = set(aims()[operator].rules)
    slugs = [finding.slug for finding in after.findings]
    # a step worded anew has the same findings under other marks, but never more of them
    more = Counter(slugs) - Counter(finding.slug for finding in before.findings)
    strange = [one.slug for mark, one in zip(fingerprints(after), after.findings, strict=True) if mark not in known]
    there = Counter(after.plan.source.text.replace(",", " ").split())
    words = Counter(" ".join(steps(text.replace(",", " ")).elements()).split()) - there
    return Tried(
        operator,
        seed,
        any(one.use is not None for one in before.findings),
        tuple(sorted({slug for slug in slugs if slug in rules})),
        tuple(sorted({slug for slug in slugs if slug not in rules})),
        tuple(more) + tuple(slug for slug in strange if slug in more),
        tuple(set(words) - {"by", "hand", "improvised"}),
    )


def lot(job: tuple[int, list[str]]) -> list[Tried]:
    """One lot of plans, from this seed on, each operator seeded into one."""
    first, names = job
    found = []
    waiting = [one for one in OPERATORS if one.name in names]
    for seed in range(first, first + LOT):
        home = bench(draft(seed).text())
        for one in list(waiting):
            text = spoiled(home, one, Random(f"{one.name} {seed}"))
            if text is not None:
                waiting.remove(one)
                found.append(tried(one.name, seed, text))
    return found


def test_half_of_the_kinds_of_fault_are_mended() -> None:
    assert set(aims()) >= MENDED
    assert 2 * len(MENDED) >= len(aims())


@pytest.mark.slow
def test_every_seeded_fault_whose_rule_offers_a_repair_is_mended(
    seeds: Callable[[int, int], range], daily_seed: int, long: bool, report: Callable[[str], None]
) -> None:
    pick = Random(daily_seed)
    jobs = [
        (first, [name for name in sorted(aims()) if long or not pick.randrange(ONE_IN)])
        for first in seeds(SHARE * LOT, WHOLE * LOT)[::LOT]
    ]
    found = [one for each in on_every_core(lot, jobs, chunk=1) for one in each]
    whole = [one for one in found if not one.aimed and not one.left]
    report(
        f"faults seeded: {len(found)} by {len({one.operator for one in found})} operators; "
        f"{len(whole)} mended whole, {sum(not one.aimed for one in found)} as far as the rule aimed at is concerned"
    )
    for one in found:
        if one.operator in MENDED and (one.aimed or one.left):
            report(f"  {one.operator} in plan {one.plan}: left {', '.join((*one.aimed, *one.left))}")
    assert [one for one in found if one.new or one.gone] == []
    assert [one for one in found if one.operator in MENDED and one.aimed and not one.within] == []
