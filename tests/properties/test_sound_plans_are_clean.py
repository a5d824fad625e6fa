"""No rule fires on a sound plan, however it is written: each arranged and worded differently."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest
from crowd import COMPUTED, on_every_core, reviewed, reviewer
from plan_rows import STEP
from sound_plans import draft, sound_plan

from groundlint.text import Severity
from groundlint.values import Truth

SHARE, WHOLE = 60, 2_000
COMPUTED_SHARE, COMPUTED_WHOLE = 6, 120
"""Plans whose circuit is solved as well."""


def look(seed: int) -> tuple[list[tuple[str, int, str, str]], frozenset[str], int]:
    """What is found in one plan, as slug, level, line and message; the rules that were met; its steps."""
    plan = draft(seed)
    text = plan.text()
    review = reviewed(text, f"sound-{seed}.tpg")
    lines = text.split("\n")
    found = [
        (one.slug, int(one.level), lines[one.span.line - 1].strip(), one.message)
        for one in review.findings
        # a plan may go without numbers; that is the one thing that a notice may say of it
        if plan.about["numbered"] or one.slug != "steps-numbered-in-order" or one.level >= Severity.WARNING
    ]
    met = frozenset(outcome.rule.slug for outcome in review.outcomes if outcome.truth is Truth.TRUE)
    return found, met, sum(1 for _ in plan.steps())


@pytest.mark.slow
def test_sound_plans_have_no_finding(seeds: Callable[[int, int], range], report: Callable[[str], None]) -> None:
    asked = seeds(SHARE, WHOLE)
    seen = on_every_core(look, asked)
    wrong = [(seed, *one) for seed, (found, _met, _steps) in zip(asked, seen, strict=True) for one in found]
    met: Counter[str] = Counter(slug for _found, slugs, _steps in seen for slug in slugs)
    every = {rule.slug for book in reviewer().books for rule in book.rules}
    steps = sum(steps for *_, steps in seen)
    never = ", ".join(sorted(every - set(met))) or "none"
    report(f"{len(asked)} sound plans of {steps} steps: {len(wrong)} findings")
    report(f"  {len(every & set(met))} of {len(every)} rules were met at least once; never asked: {never}")
    assert wrong == []
    assert len(asked) < WHOLE or len(every & set(met)) >= 0.9 * len(every)


def compute(seed: int) -> tuple[list[tuple[int, str, str]], frozenset[str]]:
    """What is found in one plan by any default book, and the rules that were met. The plan states the strap between a
    bar and a pole: its bounds alone leave open whether the pole is at the voltage of the bar."""
    text = draft(seed).text()
    if "bar-to-pole-resistance" not in text:
        first, *rest = text.split("\n")
        text = "\n".join((first, "measured bar-to-pole-resistance 0.1 ohm", *rest))
    review = reviewed(text, f"sound-{seed}.tpg", computed=True)
    found = [(seed, one.slug, one.message) for one in review.findings if one.slug != "steps-numbered-in-order"]
    return found, frozenset(outcome.rule.slug for outcome in review.outcomes if outcome.truth is Truth.TRUE)


@pytest.mark.slow
def test_sound_plans_have_no_finding_when_their_circuit_is_solved(
    seeds: Callable[[int, int], range], report: Callable[[str], None]
) -> None:
    seen = on_every_core(compute, seeds(COMPUTED_SHARE, COMPUTED_WHOLE), chunk=4)
    found = [one for found, _met in seen for one in found]
    report(f"{len(seen)} sound plans with their circuits solved: {len(found)} findings")
    assert found == []
    (book,) = (book for book in reviewer(computed=True).books if book.head.name == COMPUTED)
    never = {rule.slug for rule in book.rules} - set().union(*(met for _found, met in seen))
    assert len(seen) < COMPUTED_WHOLE or never == set()


def test_the_same_seed_gives_the_same_plan() -> None:
    assert sound_plan(7) == sound_plan(7) != sound_plan(8)


def test_the_plans_differ_in_all_that_a_plan_can_differ_in() -> None:
    plans = [draft(seed) for seed in range(600)]
    texts = [plan.text() for plan in plans]
    assert len(set(texts)) == len(texts)

    def share(key: str, value: Any) -> float:
        return sum(plan.about[key] == value for plan in plans) / len(plans)

    wanted = {
        "dual": (True, False),
        "small": (True, False),
        "material": ("wood", "concrete", "steel"),
        "neutral": ("multigrounded", "unigrounded", "none"),
        "access": ("pole", "bucket", "steel"),
        "shield": (True, False),
        "sources": (1, 2, 3),
        "structures": (3, 4, 5, 6, 7, 8, 9),
        "works": (1, 2),
        "crew": (2, 3, 4, 5),
        "routines": (True, False),
        "earth": (True, False),
        "metric": (True, False),
        "phases": ("A B C", "R Y B", "U V W"),
        "electrode": ("rod", "pole ground", "steel", "neutral"),
        "start": ("bar", "steel", "neutral"),
        "topology": ("chain", "star", "half"),
        "near": ("personal", "one", "joined", "none"),
        "numbered": (True, False),
    }
    rare = [(key, value) for key, values in wanted.items() for value in values if share(key, value) < 0.02]
    assert rare == []
    verbs = {one.verb for plan in plans for one in plan.rows if one.sort == STEP}
    assert verbs >= {
        "brief",
        "request",
        "receive",
        "transfer",
        "release",
        "disconnect",
        "discharge",
        "block",
        "unblock",
        "open",
        "close",
        "tag",
        "untag",
        "verify",
        "inspect",
        "prove",
        "test",
        "clean",
        "set",
        "barricade",
        "unbarricade",
        "mount",
        "dismount",
        "attach",
        "detach",
        "bond",
        "bond_across",
        "unbond",
        "enter",
        "move",
        "leave",
        "work",
        "cut",
        "join",
        "lift",
        "restore",
        "hold",
        "cover",
        "gloves",
        "wait",
        "do",
        "undo",
        "note",
    }
