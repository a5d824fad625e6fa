"""A protection taken out of a sound plan is seen by the rule for it: steps dropped, swapped, values spoiled."""

from __future__ import annotations

from random import Random
from time import perf_counter
from typing import NamedTuple

import pytest
from crowd import on_every_core, reviewed, reviewer
from sound_plans import draft
from spoiled_plans import OPERATORS, spoiled

EACH = 4
"""Plans spoiled by each operator."""
SEEDS = 6_000
"""Seeds that are tried for them, the same for every run."""


class Seen(NamedTuple):
    """What came of one operator: plans made, plans in which the rule saw it, and those in which it did not."""

    name: str
    made: int
    hits: int
    missed: tuple[tuple[int, tuple[str, ...]], ...]


def look(number: int) -> Seen:
    one = OPERATORS[number]
    made = hits = 0
    missed = []
    for seed in range(number * 7, SEEDS):
        if made == EACH:
            break
        plan = spoiled(draft(seed), one, Random(f"{one.name} {seed}"))
        if plan is None:
            continue
        made += 1
        found = {finding.slug for finding in reviewed(plan.text()).findings}
        if found & set(one.seen_by):
            hits += 1
        else:
            missed.append((seed, tuple(sorted(found))))
    return Seen(one.name, made, hits, tuple(missed))


@pytest.mark.slow
def test_the_rule_that_should_see_it_does(capsys: pytest.CaptureFixture[str]) -> None:
    began = perf_counter()
    seen = on_every_core(look, range(len(OPERATORS)), chunk=1)
    took = perf_counter() - began
    made, hits = sum(one.made for one in seen), sum(one.hits for one in seen)
    with capsys.disabled():
        share = f"{hits} seen by the rule for it, {hits / made:.1%}"
        print(f"\n{made} plans spoiled in {len(OPERATORS)} ways: {share}; {took:.1f} s")
        for number, one in enumerate(seen):
            print(f"  {one.hits}/{one.made}  {one.name}: {', '.join(OPERATORS[number].seen_by)}")
            for seed, found in one.missed:
                print(f"      missed in plan {seed}, which has {', '.join(found) or 'no finding'}")
    assert [one.name for one in seen if one.made < EACH] == []
    assert hits / made >= 0.97
    # whatever rule was meant to, no spoiled plan goes by without any finding
    assert [(one.name, seed) for one in seen for seed, found in one.missed if not found] == []


def test_there_are_operators_enough_and_their_rules_exist() -> None:
    assert len(OPERATORS) >= 80
    assert len({one.name for one in OPERATORS}) == len(OPERATORS)
    rules = {rule.slug for book in reviewer().books for rule in book.rules}
    assert {slug for one in OPERATORS for slug in one.seen_by} <= rules
    assert len(rules & {slug for one in OPERATORS for slug in one.seen_by}) >= 0.6 * len(rules)
