"""The book of common practice held against whole plans that are sound: nothing may fire, and most of it must apply."""

from __future__ import annotations

from pathlib import Path

import pytest

from groundlint.facts import CATALOGUE, PlanTrace
from groundlint.reading import read_plan
from groundlint.rulebook.evaluate import Outcome, Program
from groundlint.rulebook.load import load_book
from groundlint.rulebook.shipped import shipped
from groundlint.text import Source
from groundlint.timeline import replay
from groundlint.values import Truth

PLANS = sorted((Path(__file__).parent / "practice_plans").glob("*.tpg"))
NOT_IN_THE_PLANS = {
    "briefed-again-after-a-pause": "no plan pauses",
    "capacitor-by-stick": "no plan has a capacitor",
    "cover-for-the-voltage": "nothing is covered",
    "covered-in-gloves-or-by-stick": "nothing is covered",
    "gloves-rated-and-tested": "nobody wears gloves",
    "gloves-where-no-stick": "no line is of 600 V or less",
    "stringing-gear-bonded": "nothing is pulled in with a tensioner",
    "voltage-stops-the-grounding": "no test finds a conductor live",
    "what-is-left-is-on": "no plan is a part that leaves leads on",
    "bond-across-opening": "no conductor is open",
    "cable-spiked-before-cut": "no cable is cut",
    "cable-spiked-before-work": "nobody works in a vault",
    "bond-before-cut": "no conductor is cut",
    "breaker-before-disconnect": "no disconnect stands beside a breaker",
    "capacitor-dealt-with": "no capacitor is on the line",
    "cover-where-the-part-is": "nothing is covered",
    "clamp-on-metal": "no lead goes to steel, a down-lead or a guy",
    "cut-joined-again": "no conductor is cut",
    "declared-protection-has-steps": "nothing is signed for",
    "down-before-the-last-ground": "nobody is up at another pole when a set comes off",
    "downed-conductor-kept-clear": "nothing is found down",
    "downed-conductor-treated-live": "nothing is found down",
    "downed-conductor-up-before-closing": "nothing is found down",
    "energized-neighbour-covered": "no live part is near",
    "ganged-leads-match": "no lead lies beside another",
    "groundman-clear": "nobody takes up work on the ground",
    "grounds-looked-over-again": "no pause falls into the work",
    "inherited-clearance-held": "the job is one part",
    "down-in-a-thunderstorm": "no storm comes",
    "loose-wire-in-hands-of-one-place": "no loose wire is handled",
    "loose-wire-made-fast": "no loose wire is handled",
    "machine-bonded-under-its-people": "nobody is on a machine whose boom is not insulated",
    "open-point-in-reach-bridged": "no open point hangs at the work",
    "open-points-verified-again": "no pause falls into the work",
    "parallel-counted-as-neighbour": "no circuit runs beside the line",
    "pause-under-clearance": "no pause falls into the work",
    "pause-with-nobody-up": "no pause falls into the work",
    "proven-on-a-live-part": "every detector is proven on a tester",
    "replanned-means-rebriefed": "the job stays as it was briefed",
    "rod-pulled-last": "no rod is pulled",
    "second-crew-coordinated": "one crew does the work",
    "steel-cleaned": "no lead goes to steel, a down-lead or a guy",
    "stop-after-shock": "nobody has a shock",
    "switch-operator-protected": "nobody holds a handle",
    "vehicle-free-before-it-moves": "no vehicle takes a place",
    "work-on-a-protected-line": "whoever works has a phase in reach",
    "worker-at-the-work": "no step names who works",
    "worker-in-place": "no step names who works",
    "worker-reaches-the-work": "no step names what is worked on",
}


def program() -> Program:
    book, problems = load_book([shipped()], "practice", CATALOGUE)
    assert book is not None
    assert not problems, [(problem.span.source.name, problem.span.line, problem.message) for problem in problems]
    return Program(book, CATALOGUE)


def reviewed(path: Path) -> tuple[Outcome, ...]:
    read = read_plan(Source(path.name, path.read_text(encoding="utf-8")))
    assert not read.diagnostics, [(said.span.line, said.message) for said in read.diagnostics]
    timeline = replay(read.plan)
    assert not timeline.problems, [(said.span.line, said.message) for said in timeline.problems]
    return program().review(PlanTrace(timeline))


def test_the_plans_are_there() -> None:
    assert [path.stem for path in PLANS] == ["bucket", "delta", "dual-point", "single-point", "small-neutral", "steel"]


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_nothing_fires_on_a_sound_plan(path: Path) -> None:
    said = [
        f"{outcome.rule.slug}, line {verdict.span.line}: {verdict.message}"
        for outcome in reviewed(path)
        for verdict in outcome.verdicts
    ]
    assert said == []


def test_every_rule_applies_to_one_plan_at_least() -> None:
    met = {outcome.rule.slug for path in PLANS for outcome in reviewed(path) if outcome.truth is Truth.TRUE}
    every = {rule.slug for rule in program().book.rules}
    assert every - met == set(NOT_IN_THE_PLANS)
