"""Silence never helps: a plan that fails does not come out clean by saying less, whatever is taken out but a step.

Taken from sound plans that already say less, from spoiled plans and from the examples: one declaration, one clause or
one name of a list at a time. Only plans that read whole are asked, and what a plan says less is written back in
canonical words.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest
from crowd import on_every_core, opener, reviewed
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from less_said import less
from seeded import OPERATORS, bench, spoiled
from sound_plans import sound_plan

from groundlint.language.reader import read_statements
from groundlint.language.statements import PlanText
from groundlint.language.writer import write_plan
from groundlint.text import Source

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
CLEAN = 0
PARTS = 40
"""An example's things are left out a part a day."""


def read(text: str) -> PlanText:
    found = read_statements(Source("plan.tpg", text))
    assert not found.diagnostics, found.diagnostics[0].message
    return found.text


def fails(text: str) -> bool:
    """Whether a plan reads whole and its review is not clean."""
    review = reviewed(text)
    return not review.plan.unread and review.status() != CLEAN


def one_less(text: str, rng: Random) -> tuple[str, str]:
    """A plan that says one thing less, and what that is."""
    what, plan = rng.choice(list(less(read(text))))
    return write_plan(plan), what


@pytest.mark.slow
@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(seed=st.integers(0, 10**6), way=st.integers(0, len(OPERATORS) - 1), random=st.integers(0, 10**6))
def test_a_spoiled_plan_that_says_less_is_not_clean(seed: int, way: int, random: int) -> None:
    rng = Random(f"less {random}")
    plan = spoiled(bench(sound_plan(seed)), OPERATORS[way], rng)
    if plan is None or not fails(plan):
        return
    for _ in range(2):
        text, what = one_less(plan, rng)
        if OPERATORS[way].name == "never-clears" and what.startswith("clears"):
            continue  # with it goes what contradicts the relay, which says the time by itself
        assert reviewed(text).status() != CLEAN, f"{OPERATORS[way].name}, without {what}:\n{text}"


@pytest.mark.slow
@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(seed=st.integers(0, 10**6), random=st.integers(0, 10**6))
def test_a_sound_plan_that_says_less_and_less_is_not_clean_again(seed: int, random: int) -> None:
    rng = Random(f"less and less {random}")
    text = sound_plan(seed)
    gone: list[str] = []
    failed = False
    for _ in range(4):
        text, what = one_less(text, rng)
        gone.append(what)
        review = reviewed(text)
        if review.plan.unread:
            return
        assert not (failed and review.status() == CLEAN), f"clean without {', '.join(gone)}:\n{text}"
        failed = review.status() != CLEAN


def look(job: tuple[str, int, int]) -> tuple[int, list[str]]:
    """An example with one thing left out, for a share of its things: how many were asked, what came out clean."""
    path, part, parts = job
    text = Path(path).read_text(encoding="utf-8")
    at_home = opener(Path(path).parent)
    before = reviewed(text, path, at_home)
    if before.plan.unread or before.status() == CLEAN:
        return 0, []
    plans = list(less(read_statements(Source(path, text)).text))[part::parts]
    return len(plans), [what for what, plan in plans if reviewed(write_plan(plan), path, at_home).status() == CLEAN]


@pytest.mark.slow
def test_no_example_that_fails_is_clean_when_it_says_less(
    daily_seed: int, long: bool, report: Callable[[str], None]
) -> None:
    parts = range(PARTS) if long else (daily_seed % PARTS,)
    jobs = [(str(path), part, PARTS) for path in sorted(EXAMPLES.glob("*.tpg")) for part in parts]
    seen = on_every_core(look, jobs, chunk=1)
    wrong = [(job[0], what) for job, (_, clean) in zip(jobs, seen, strict=True) for what in clean]
    asked = sum(count for count, _ in seen)
    report(f"{asked} plans that say one thing less than an example that fails: {len(wrong)} come out clean")
    assert wrong == []
    assert asked
