"""The federal book held against whole plans that are sound, and against the same plans with one protection left out."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from groundlint.facts import CATALOGUE, PlanTrace
from groundlint.reading import read_plan
from groundlint.rulebook.evaluate import Outcome, Program
from groundlint.rulebook.load import load_book
from groundlint.rulebook.shipped import shipped
from groundlint.text import Source
from groundlint.timeline import replay

HERE = Path(__file__).parent
TWO_CREWS = HERE / "federal_plans" / "two-crews.tpg"
PLANS = [TWO_CREWS, *sorted((HERE / "practice_plans").glob("*.tpg"))]

LEFT_OUT = {
    "  test      S A B C with D1 on H1": {"test-before-ground", "every-conductor-tested"},
    "  attach    d to S A, then to S B by H1": {
        "between-work-and-every-source",
        "every-conductor-tested",
        "ground-end-first",
        "ground-end-grounded",
        "grounds-or-lawful-omission",
        "line-end-off-first",
        "worker-inside-zone",
    },
    "  1. brief     L1 L2 M1": {"briefing-before-work", "briefing-opens-the-job", "holder-briefed"},
    "  3. block reclosing on West": {"automatic-switch-disabled"},
    " 6b. wait 5 min": {"capacitor-waits-before-discharge"},
    " 6c. discharge CB1 by H1": {"capacitor-discharged-before-ground", "capacitor-discharged-before-work"},
    " 10. attach G20 to K3, then to 212 A by H1": {"worker-inside-zone"},
    " 19. leave  L2": {
        "between-work-and-every-source",
        "clearance-before-work",
        "crew-clear-before-release",
        "cut-off-while-handled",
        "everybody-left-before-release",
        "grounds-or-lawful-omission",
        "no-close-while-occupied",
        "nobody-up-after-release",
        "worker-inside-zone",
    },
    " 21. undo ground at 213": {
        "cut-off-while-handled",
        "every-ground-accounted",
        "no-energizing-with-grounds-on",
        "release-after-all-off",
    },
    " 24. clearance Larkspur released by L2": {
        "clearance-released",
        "control-off-until-release",
        "reenergize-last",
        "tags-stay-until-release",
    },
}
"""A line of the plan of two crews, and the rules that are broken without it: no more and no fewer."""

NOT_ASKED = {
    "clamps-kept-off-live-side": "no open point hangs beside a clamp",
    "live-side-out-of-hand": "nobody has an open point in hand",
    "machine-grounded-beside-live-parts": "no crane works beside a live part",
    "live-finding-settled": "no test finds anything live",
    "live-side-kept-away": "no open point hangs beside the work",
    "cable-terminal-ungrounded": "the line has no cable",
    "equipment-watched-near-live-parts": "no crane works beside a live part",
    "found-open-verified": "every open point is opened by the crew",
    "holder-transfers": "nobody hands a clearance over",
    "crossed-circuit-does-not-reclose": "nothing is pulled in",
    "new-conductor-grounded": "nothing is pulled in",
    "new-conductor-grounds-apart": "nothing is pulled in",
    "stringing-beside-dead-phases": "nothing is pulled in",
    "stringing-kept-off-live-parts": "nothing is pulled in",
    "crew-clear-of-lifted-ground": "nobody is up while the ground is lifted",
    "hands-off-after-release": "nothing is done at a pole after the last release",
    "nobody-up-after-release": "nobody is up after the last release, and none is received again",
    "reclosing-stays-blocked-while-occupied": "no reclosing is put back",
    "sole-control-complete": "every open point carries a tag, and none is said to be under control in its place",
    "sole-control-kept": "every open point carries a tag, and none is said to be under control in its place",
    "taker-briefed": "nobody hands a clearance over",
    "taker-named": "nobody hands a clearance over",
    "tested-dead-in-reach": "no plan here goes without grounds",
    "transfer-told": "nobody hands a clearance over",
}
"""Rules that the plan of two crews gives no occasion to."""


@cache
def program() -> Program:
    book, problems = load_book([shipped()], "us-29cfr1910-269", CATALOGUE)
    assert book is not None
    assert not problems
    return Program(book, CATALOGUE)


def reviewed(text: str, *, doable: bool = True) -> tuple[Outcome, ...]:
    read = read_plan(Source("plan.tpg", text))
    assert not read.diagnostics, [(said.span.line, said.message) for said in read.diagnostics]
    timeline = replay(read.plan)
    assert not (doable and timeline.problems), [(said.span.line, said.message) for said in timeline.problems]
    return program().review(PlanTrace(timeline))


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_nothing_fires_on_a_sound_plan(path: Path) -> None:
    said = [
        f"{outcome.rule.slug}, line {verdict.span.line}: {verdict.message}"
        for outcome in reviewed(path.read_text(encoding="utf-8"))
        for verdict in outcome.verdicts
    ]
    assert said == []


def test_every_rule_applies_to_the_plan_of_two_crews() -> None:
    met = {outcome.rule.slug for outcome in reviewed(TWO_CREWS.read_text(encoding="utf-8")) if outcome.met}
    assert {rule.slug for rule in program().book.rules} - met == set(NOT_ASKED)


@pytest.mark.parametrize("line", LEFT_OUT, ids=lambda line: line.strip())
def test_a_protection_left_out_breaks_its_rules(line: str) -> None:
    lines = TWO_CREWS.read_text(encoding="utf-8").split("\n")
    lines.remove(line)
    broken = {outcome.rule.slug for outcome in reviewed("\n".join(lines), doable=False) if outcome.broken}
    assert broken == LEFT_OUT[line]
