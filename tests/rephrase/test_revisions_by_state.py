"""What protected somebody and no longer does makes a revision worse, whatever the rules find and the words say.

Every statement that protects is taken out of every sound example, one at a time, and the state must show it; every
plan said in other words must lose nothing.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from pathlib import PurePosixPath
from random import Random
from typing import Any, NamedTuple

import other_order
import other_steps
import other_words
import pytest
from corpus import sheet, written
from crowd import on_every_core, reviewed
from sheets import REWRITINGS, Sheet, each_run

from groundlint.findings.compare import Comparison, compare
from groundlint.findings.likeness import likeness
from groundlint.findings.protections import Loss, less_protected
from groundlint.language import statements as s
from groundlint.language.nodes import Text
from groundlint.language.writer import write_statement
from groundlint.plan.models import Plan
from groundlint.reading import read_plan
from groundlint.report.comparison import comparison_text, verdict_of
from groundlint.steps import KINDS
from groundlint.text import Severity, Source

MODULES = (other_order, other_steps, other_words)
SOUND = [name for name in written() if re.match(r"examples/(?!deliberate|comparison|.*/|old-)", name)]
PROTECTING = tuple({made: None for kind in KINDS.values() if kind.protects is not None for made in kind.made_of})
GATE = Severity.WARNING

NOT_LESS = {
    (
        "examples/dual-point-crossarm",
        "prove D1 on T1",
    ): "it was proven after the tests before, and has not tested since",
    ("examples/lesson-5", "prove D1 on T1"): "as above",
    ("examples/storm-repair", "prove D61 on T61"): "as above",
    ("examples/two-days-first", "prove D1 on T1"): "as above",
}
"""Statements of a plan one of which may go, with the reason. The others of the same words are seen."""


def read(one: Sheet) -> Plan:
    def home(name: str) -> Source | str:
        text = one.files.get(str(PurePosixPath(name)))
        return Source(name, text) if text is not None else "no such file"

    return read_plan(Source(one.name, one.text()), home).plan


def lost(old: Plan, new: Plan) -> tuple[Loss, ...]:
    return less_protected(old, new, likeness(old, new))[0]


# ------------------------------------------------------------- statements taken out


def fewer(one: Any) -> Iterator[list[Any]]:
    """A step without each of the protections that it states."""
    if isinstance(one, s.Open):
        if one.lock_it:
            yield [replace(one, lock_it=False)]
        if one.tag_it:
            yield [replace(one, tag_it=False)]
    gives = getattr(one, "state", None) in (None, "received", "on")  # a clearance, gloves
    if isinstance(one, PROTECTING) and gives:
        yield []
    if isinstance(one, s.Test) and one.result is None:
        yield [replace(one, result=Text("live"))]


class Taken(NamedTuple):
    """A plan with a statement taken out or weakened; ``losses`` are the words of what it lost."""

    plan: str
    statement: str
    losses: tuple[str, ...]


def places(whole: Sheet) -> list[tuple[int, int]]:
    found: list[tuple[int, int]] = []
    count = 0

    def run(steps: list[Any]) -> list[Any]:
        nonlocal count
        for one in steps:
            found.extend((count, way) for way, _ in enumerate(fewer(one)))
            count += 1
        return steps

    each_run(whole.plan, run)
    return found


def without(whole: Sheet, place: tuple[int, int]) -> tuple[str, Sheet]:
    """The plan without the statement at a place, which is said too."""
    at, which = place
    said = ""
    count = 0

    def run(steps: list[Any]) -> list[Any]:
        nonlocal count, said
        out = []
        for one in steps:
            if count == at:
                new = list(fewer(one))[which]
                said = write_statement(one)
                out += new
            else:
                out.append(one)
            count += 1
        return out

    made = each_run(whole.plan, run)
    return said, whole.of(made)


def taken(job: tuple[str, tuple[tuple[int, int], ...]]) -> list[Taken]:
    name, where = job
    whole = sheet(name)
    old = read(whole)
    out = []
    for place in where:
        said, made = without(whole, place)
        new = read(made)
        if len(new.actions) < len(old.actions) or place[1]:  # else it is of a routine that is never done
            out.append(Taken(name, said, tuple(one.words for one in lost(old, new))))
    return out


def test_each_protection_taken_out_is_seen(long: bool, daily_seed: int, report: Callable[[str], None]) -> None:
    rng = Random(daily_seed)
    jobs = []
    for name in SOUND:
        every = places(sheet(name))
        jobs.append((name, tuple(every if long else rng.sample(every, min(5, len(every))))))
    done = [one for found in on_every_core(taken, jobs, 1) for one in found]
    unseen = Counter((one.plan, one.statement) for one in done if not one.losses)
    assert unseen <= Counter(dict.fromkeys(NOT_LESS, 1)), unseen
    assert not long or unseen == Counter(dict.fromkeys(NOT_LESS, 1))
    report(f"{len(done)} protections taken out of {len(SOUND)} sound examples, each seen by the state alone")


# ------------------------------------------------------------- other words


def rephrased(job: tuple[str, tuple[str, ...]]) -> list[tuple[str, str, tuple[str, ...]]]:
    name, rewritings = job
    plan = sheet(name)
    out = []
    for which in rewritings:
        one, rng = REWRITINGS[which], Random(f"{which} of {name}")
        before = (one.first(plan, rng) if one.first else plan) or plan
        after = one.change(before, rng)
        if after is None:
            continue
        old, new = read(before), read(after)
        out.append((name, which, tuple(loss.words for loss in (*lost(old, new), *lost(new, old)))))
    return out


def test_other_words_lose_nothing(long: bool, daily_seed: int, report: Callable[[str], None]) -> None:
    rng = Random(daily_seed)
    names = list(written()) if long else SOUND
    jobs = [(name, tuple(REWRITINGS if long else rng.sample(list(REWRITINGS), 4))) for name in names]
    done = [one for found in on_every_core(rephrased, jobs, 1) for one in found]
    wrong = [one for one in done if one[2]]
    assert not wrong, (Counter(which for _, which, _ in wrong), wrong[:5])
    report(f"{len(done)} rephrasings of {len(names)} plans, none of which loses a protection")


# ------------------------------------------------------------- some by name


@cache
def example(name: str) -> str:
    return written()[f"examples/{name}"].read_text("utf-8")


def edited(text: str, *edits: tuple[str, str]) -> str:
    for pattern, by in edits:
        text, count = re.subn(pattern, by, text, flags=re.MULTILINE)
        assert count, pattern
    return text


def compared(old: str, new: str) -> Comparison:
    return compare(reviewed(old, "old.tpg"), reviewed(new, "new.tpg"))


DUAL, SINGLE = "dual-point-crossarm", "single-point-insulator"
WORSE: dict[str, tuple[str, tuple[tuple[str, str], ...], tuple[str, ...]]] = {
    "a lock left off": (SINGLE, (("lock it and tag it", "tag it"),), ("S211: locked",)),
    "a tag left off": (SINGLE, (("lock it and tag it", "lock it"),), ("S211: tagged",)),
}
EQUAL: dict[str, tuple[str, tuple[tuple[str, str], ...]]] = {"a larger lead": (SINGLE, (("1/0 copper", "4/0 copper"),))}


@pytest.mark.parametrize("name", WORSE)
def test_less_protection_is_worse(name: str) -> None:
    plan, edits, words = WORSE[name]
    old = example(plan)
    comparison = compared(old, edited(old, *edits))
    text = comparison_text(comparison, GATE)
    assert comparison.status(GATE) == 1, text
    assert verdict_of(comparison, GATE) == "worse"
    for said in words:
        assert said in text, text


@pytest.mark.parametrize("name", EQUAL)
def test_equal_or_more_protection_is_not_worse(name: str) -> None:
    plan, edits = EQUAL[name]
    old = example(plan)
    comparison = compared(old, edited(old, *edits))
    assert comparison.status(GATE) == 0, comparison_text(comparison, GATE)
