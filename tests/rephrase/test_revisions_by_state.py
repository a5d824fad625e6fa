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
    (
        "examples/storm-repair",
        "inspect X61..X66",
    ): "looked over the day before; again is a rule's to ask",
    ("examples/two-days-first", "prove D1 on T1"): "as above",
}
"""Statements of a plan one of which may go, with the reason. The others of the same words are seen."""


NOT_ALIKE = {
    ("incidents/ontario-2014-vault.case", "other names"): "switches alike in all but their names are paired crosswise",
    ("incidents/ontario-2014-vault.twin", "other names"): "switches alike in all but their names are paired crosswise",
}
"""Plans that lose something by other words, with the reason; to mend."""


def read(one: Sheet) -> Plan:
    return read_plan(Source(one.name, one.text()), one.opened).plan


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
    report(f"{len(done)} protections taken out of {len(SOUND)} examples, each seen by the state alone")


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
    wrong = [one for one in done if one[2] and one[:2] not in NOT_ALIKE]
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
OFF = r"^ *\d+\. "
WORSE: dict[str, tuple[str, tuple[tuple[str, str], ...], tuple[str, ...]]] = {
    "a lock left off": (SINGLE, (("lock it and tag it", "tag it"),), ("S211: locked (line 42 of the old plan)",)),
    "a tag left off": (SINGLE, (("lock it and tag it", "lock it"),), ("S211: tagged (line 42 of the old plan)",)),
    "locked after the work": (
        SINGLE,
        (("lock it and tag it", "tag it"), (OFF + "leave .*", r"\g<0>\n lock S211")),
        ("S211: locked (line 42 of the old plan); no longer so when W1 goes on R4, line 49, and at ",),
    ),
    "reclosing not blocked": (SINGLE, ((OFF + "block.*\n", ""),), ("Wendover: reclosing blocked",)),
    "a live result": (
        SINGLE,
        (("test      OS07 C B A with V2 on H3", r"\g<0> finding live"),),
        ("OS07 C, OS07 B, OS07 A: found dead (line 54 of the old plan); no longer so when test OS07 C",),
    ),
    "a personal ground gone": (
        DUAL,
        ((OFF + "attach  P2.*\n", ""), (OFF + "detach P2.*\n", "")),
        ("SC16 A: ", "joined to SC16 pole by leads", "no longer so when Heron has SC16 A in reach, line 93 (was 94)"),
    ),
    "a personal ground taken off under the men": (
        DUAL,
        ((OFF + "leave Heron Rook\n", ""), (OFF + "dismount K3\n", "leave Heron Rook\n")),
        ("SC16 A: ", "67.4 mm2 of leads on it, joined to SC16 pole by leads"),
    ),
    "clamp and ground end of a removal swapped": (
        SINGLE,
        (("detach    W5 from OS07 C by H3, then from K4", "detach    W5 from K4, then from OS07 C by H3"),),
        ("the lead from K4: grounded by a rod, grounded by OS07 N", "no longer so when W5 comes off OS07 C, line 72"),
    ),
    "the neutral's lead off before the phases'": (
        SINGLE,
        (
            (OFF + r"detach    W2.*\n", ""),
            (OFF + "leave .*", r"\g<0>\n detach W2 from OS07 N by H3, then from K4"),
        ),
        ("the lead from K4: grounded by OS07 N", "no longer so when W5 comes off OS07 C, line 73 (was 72)"),
    ),
    "a lower grade": (SINGLE, (("grade 2", "grade 1"),), ("narrower: W1, W2, W3, W4, W5: current of its grade",)),
    "one thinner lead": (
        SINGLE,
        (("W1..W5      1/0", "W1..W4      1/0"), ("(lead.*)1/0(.*)", r"\g<0>\nlead W5 #2\2")),
        ("OS07 C: 53.5 mm2 of leads on it (now 33.6 mm2 of leads on it)",),
    ),
    "cover gone": ("bucket-cutouts", ((OFF + "cover.*\n", ""), (OFF + "uncover.*\n", "")), ("covered (line ",)),
    "clearance gone": (
        SINGLE,
        ((OFF + "clearance .* received.*\n", ""), (OFF + "clearance .* released.*\n", "")),
        ("OtterSlough: under a clearance", "Pipit: holding a clearance"),
    ),
    "a lead left on": (SINGLE, ((OFF + r"detach    W5.*\n", ""),), ("OS07 C: without leads", "when S211 closes")),
    "a man left up": (SINGLE, (("leave     Sora Wren", "leave     Wren"),), ("Sora: away",)),
}
EQUAL: dict[str, tuple[str, tuple[tuple[str, str], ...]]] = {
    "larger leads": (SINGLE, (("1/0 copper", "4/0 copper"),)),
    "one lead in another's place, larger": (
        SINGLE,
        (
            ("W1..W5 (.*)1/0(.*)", r"W1..W4 \g<1>1/0\2\nlead W9 4/0\2"),
            ("W1 W2 W3 W4 W5", "W1 W2 W3 W4 W9"),
            ("tach    W5", "tach W9"),
        ),
    ),
    "a second rod": (
        SINGLE,
        (
            ("^rod       R4 ", "rod R4 R5 "),
            ("W1..W5", "W1..W6"),
            (
                OFF + "barricade R4 at 10 ft",
                r"\g<0>\n inspect W6\n set R5 at OS07, 22 ft from the pole, 6 ft deep"
                r"\n attach W6 to R5, then to R4\n barricade R5 at 10 ft",
            ),
            (OFF + "detach    W1 .*", r"\g<0>\n detach W6 from R4, then from R5"),
        ),
    ),
    "a test more": (SINGLE, (("test      OS07 C B A", "test OS07 N C B A"),)),
    "another hand tags": (SINGLE, (("lock it and tag it, by Sora", r"\g<0>\n lock S211\n tag S211"),)),
    "tested in another order": (SINGLE, (("test      OS07 C B A", "test OS07 A B C"),)),
    "phases grounded in another order": (
        SINGLE,
        (
            (r"^ 18.*\n", ""),
            (r"^ 20.*", r"\g<0>\n attach W3 to K4, then to OS07 B by H3"),
            (r"^ 28.*\n", ""),
            (r"^ 30.*", r"\g<0>\n detach W5 from OS07 C by H3, then from K4"),
        ),
    ),
    "a hold and the work in other words": (
        SINGLE,
        (("until Pipit has looked over every clamp", "Pipit walks round first"), ("lift the centre phase, ", "")),
    ),
}


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
