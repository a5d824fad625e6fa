"""The same plan in other words gets the same verdicts.

Every plan of `corpus` is rewritten by some of `REWRITINGS`, or by all of them under ``--long``, and by several at once;
rules that are broken, not shown or met must be the same ones, asked of the same things, and so must the exit status.
Where they are not, `EXPLAINED` says why, and an explanation that no plan needs any more fails the test.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from random import Random
from typing import NamedTuple

import other_order
import other_steps
import other_words
import pytest
from corpus import sheet, written
from crowd import on_every_core
from explained import EXPLAINED
from sheets import REWRITINGS, Rewriting, Sheet
from verdicts import Verdicts, differences, verdicts

MODULES = (other_order, other_steps, other_words)
DIFFERENT = {one.rewriting for one in EXPLAINED if not one.by_words}
ALIKE = [name for name in REWRITINGS if name not in DIFFERENT]
PARTS = 3
"""Of the written plans one part is rewritten each day."""
TOGETHER = 3
"""Rewritings that are made of a plan at once."""
FILE = "things in a file"
"""Leaves nothing for others to find out what a name stands for."""


class Job(NamedTuple):
    """A plan and the rewritings to make of it, each by itself, and then several at once."""

    plan: str
    rewritings: tuple[str, ...]
    together: tuple[str, ...] = ()


class Done(NamedTuple):
    """What came of one rewriting of a plan: the rules whose verdicts differ, with how they do."""

    plan: str
    rewriting: str
    differences: dict[str, list[str]]
    text: str


def seen(sheet: Sheet, known: dict[str, Verdicts]) -> Verdicts:
    text = sheet.text()
    if text not in known:
        known[text] = verdicts(sheet)
    return known[text]


def compared(name: str, one: Rewriting, before: Sheet, after: Sheet | None, known: dict[str, Verdicts]) -> Done | None:
    if after is None or (after.text() == before.text() and after.files == before.files):
        return None
    if one.words:
        assert list(other_words.words_of(after)) == list(other_words.words_of(before)), (name, one.name)
    return Done(name, one.name, differences(seen(before, known), verdicts(after)), after.text())


def tried(job: Job) -> list[Done]:
    """A plan rewritten as a job asks."""
    known: dict[str, Verdicts] = {}
    plan = sheet(job.plan)
    found: list[Done | None] = []
    for name in job.rewritings:
        one, rng = REWRITINGS[name], Random(f"{name} of {job.plan}")
        before = (one.first(plan, rng) if one.first else plan) or plan
        found.append(compared(job.plan, one, before, one.change(before, rng), known))
    rng = Random(f"together of {job.plan}")
    after = plan
    for name in job.together:
        after = REWRITINGS[name].change(after, rng) or after
    if job.together:
        several = Rewriting(" + ".join(job.together), "", REWRITINGS[job.together[0]].change)
        found.append(compared(job.plan, several, plan, after, known))
    return [done for done in found if done is not None]


def drawn(plan: str, count: int | None) -> Job:
    """A job with so many rewritings drawn for the plan, or all of them; and several at once, the text last."""
    rng = Random(f"drawn for {plan}")
    every = list(REWRITINGS)
    steps = [name for name in ALIKE if not REWRITINGS[name].words and name != FILE]
    last = [name for name in ALIKE if REWRITINGS[name].words]
    several = (*rng.sample(steps, TOGETHER - 2), FILE, rng.choice(last)) if rng.random() < 0.5 else ()
    several = several or (*rng.sample(steps, TOGETHER - 1), rng.choice(last))
    return Job(plan, tuple(every if count is None else sorted(rng.sample(every, count))), several)


def share(plan: str, at: int) -> Job:
    """A job for one of many plans: one rewriting by itself, or several at once."""
    job = drawn(plan, 1)
    return job._replace(rewritings=()) if at % 2 else job._replace(together=())


def unexplained(done: Done) -> dict[str, list[str]]:
    ways = done.rewriting.split(" + ")
    known = {
        slug
        for one in EXPLAINED
        if ways == [one.rewriting] or (one.by_words and one.rewriting in ways)
        for slug in one.rules
    }
    return {slug: found for slug, found in done.differences.items() if slug not in known}


def reported(found: list[Done], kind: str, report: Callable[[str], None]) -> None:
    """Fails with the first differences that nothing explains; else reports the numbers."""
    wrong = [(done, left) for done in found if (left := unexplained(done))]
    for done, left in wrong[:8]:
        print(f"{done.plan}, {done.rewriting}: {left}\n{done.text if len(wrong) == 1 else ''}")
    assert not wrong, sorted(Counter((done.rewriting, slug) for done, left in wrong for slug in left).items())
    plans = len({done.plan for done in found})
    ways = len({done.rewriting for done in found if done.rewriting in REWRITINGS})
    equal = sum(not done.differences for done in found)
    report(
        f"{plans} {kind} plans rephrased {len(found)} times in {ways} ways: {equal} with the same verdicts, "
        f"{len(found) - equal} different as explained"
    )


@pytest.mark.slow
def test_written_plans(daily_seed: int, long: bool, report: Callable[[str], None]) -> None:
    plans = list(written()) if long else list(written())[daily_seed % PARTS :: PARTS]
    jobs = [drawn(name, None) if long else share(name, at) for at, name in enumerate(plans)]
    done = [one for found in on_every_core(tried, jobs, 2) for one in found]
    reported(done, "written", report)


@pytest.mark.slow
def test_generated_plans(seeds: Callable[[int, int], range], long: bool, report: Callable[[str], None]) -> None:
    jobs = [drawn(f"generated/{seed}", 4 if long else 2) for seed in seeds(16, 500)]
    done = [one for found in on_every_core(tried, jobs, 2) for one in found]
    reported(done, "generated", report)


def test_every_rewriting_changes_some_plan() -> None:
    """By its text alone: a rewriting that never finds a place is none."""
    changes: set[str] = set()
    for plan in (*written(), *(f"generated/{seed}" for seed in range(0, 80, 2))):
        for name in sorted(set(REWRITINGS) - changes):
            one, rng = REWRITINGS[name], Random(f"{name} of {plan}")
            before = sheet(plan)
            before = (one.first(before, rng) if one.first else before) or before
            after = one.change(before, rng)
            if after is not None and (after.text() != before.text() or after.files):
                changes.add(name)
    assert set(REWRITINGS) == changes
    assert all(one.meaning for one in REWRITINGS.values())


def test_each_explanation_is_needed(report: Callable[[str], None]) -> None:
    """Each rule that an explanation names comes out otherwise in one of its plans."""
    jobs = sorted({Job(plan, (one.rewriting,)) for one in EXPLAINED for plan in one.plans})
    done = [one for found in on_every_core(tried, jobs, 1) for one in found]
    for one in EXPLAINED:
        differ = {slug for d in done if d.rewriting == one.rewriting and d.plan in one.plans for slug in d.differences}
        idle = sorted(set(one.rules) - differ)
        assert not idle, f"{one.rewriting}: the same verdicts now of {idle}; take them out of the list"
        assert one.reason
    report(f"{len(EXPLAINED)} explanations of {sum(len(one.rules) for one in EXPLAINED)} differences of a rule")
