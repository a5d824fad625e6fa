"""A fact is worked out once for each stretch of steps in which nothing that it read has changed. Shown here: asked anew
at each position it says the same, whatever the plan and in whatever order the positions are asked.

Were one to look at the position without saying so, a verdict could be that of another step. The second test refuses
what would do so by how it is written.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterator
from itertools import product
from pathlib import Path
from random import Random
from typing import Any

import pytest
from harm_plans import unsound
from sound_plans import draft

from groundlint.facts import CATALOGUE, PlanTrace
from groundlint.facts.catalogue import Fact
from groundlint.reading import read_plan
from groundlint.reading.resolve import Opener
from groundlint.text import Source
from groundlint.timeline import replay
from groundlint.world.logs import Signal

ROOT = Path(__file__).resolve().parents[2]
WRITTEN = sorted(
    path
    for folder in ("examples", "tests/harm/plans", "tests/sound", "tests/rules")
    for path in (ROOT / folder).rglob("*.tpg")
)
TIMED = [fact for fact in CATALOGUE.facts.values() if fact.timed and "step" not in (fact.subject, fact.other)]
COMPUTED = {"exposure", "over-exposed", "clearing-time"}  # solve the circuit: asked by the tests of the study
MOST = 24
"""As many things, or pairs of them, are asked about of each fact in a plan; drawn at random."""


def traced(text: str, opener: Opener | None = None) -> PlanTrace | None:
    plan = read_plan(Source("plan.tpg", text), opener).plan
    return PlanTrace(replay(plan)) if plan is not None else None


def asked(trace: PlanTrace, fact: Fact, rng: Random) -> list[tuple[Any, ...]]:
    subjects = trace.domain(fact.subject)
    things = list(product(subjects, trace.domain(fact.other)) if fact.other is not None else product(subjects))
    return rng.sample(things, min(len(things), MOST))


def strays(trace: PlanTrace, rng: Random) -> Iterator[str]:
    """The facts that say another thing where they were kept than where they are asked anew."""
    for fact in TIMED:
        if fact.name in COMPUTED:
            continue
        for things in asked(trace, fact, rng):
            signal: Signal[Any] = Signal()
            for at in rng.sample(range(trace.n + 1), trace.n + 1):
                kept = signal.at(at, fact.compute, trace, at, *things).value
                if kept != fact.compute(trace, at, *things):
                    yield f"{fact.reads()}: {' '.join(map(str, things))} at {at}"
                    break


@pytest.mark.one_in(80)
@pytest.mark.parametrize("path", WRITTEN, ids=lambda path: path.stem)
def test_a_fact_holds_for_its_stretch_in_written_plans(path: Path, daily_seed: int) -> None:
    def at_home(name: str) -> Source | str:
        there = path.parent / name
        return Source(name, there.read_text("utf-8")) if there.is_file() else "no such file"

    trace = traced(path.read_text("utf-8"), at_home)
    assert trace is None or list(strays(trace, Random(daily_seed))) == []


def test_a_fact_holds_for_its_stretch_in_plans_from_seeds(seeds: Callable[[int, int], range]) -> None:
    for seed in seeds(2, 200):
        for text in (draft(seed).text(), unsound(seed, 1)):
            trace = traced(text)
            assert trace is None or list(strays(trace, Random(seed))) == [], text


# ---- by how it is written ----

ASKERS = sorted(path for folder in ("facts", "world") for path in (ROOT / "groundlint" / folder).glob("*.py"))
ASKERS = [path for path in ASKERS if path.name != "logs.py"] + [ROOT / "groundlint/timeline/timeline.py"]
"""All that is asked at a position, but for the logs, which tell the reader where they change."""

LOOKING = {"bisect_left", "bisect_right", "range", "min", "max", "event", "happenings"}
"""What tells one position from another without a log."""


def looks(function: ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    """Whether a function that is asked at a position does anything with it but hand it on."""
    parents = {child: node for node in ast.walk(function) for child in ast.iter_child_nodes(node)}
    for node in ast.walk(function):
        if isinstance(node, ast.Name) and node.id == "at" and isinstance(node.ctx, ast.Load):
            parent = parents[node]
            name = parent.func if isinstance(parent, ast.Call) and node in parent.args else None
            name = name.func if isinstance(name, ast.Call) else name  # a function that was made by another
            called = name.attr if isinstance(name, ast.Attribute) else name.id if isinstance(name, ast.Name) else None
            if called is None or called in LOOKING:
                return True
    return False


def says_so(function: ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    return any(isinstance(node, ast.Name) and node.id == "READING" for node in ast.walk(function))


@pytest.mark.parametrize("path", ASKERS, ids=lambda path: path.stem)
def test_who_looks_at_the_position_says_so(path: Path) -> None:
    functions = [node for node in ast.walk(ast.parse(path.read_text("utf-8"))) if isinstance(node, ast.FunctionDef)]
    positions = [one for one in functions if any(argument.arg == "at" for argument in one.args.args)]
    assert [one.name for one in positions if looks(one) and not says_so(one) and one.name not in LOOKING] == []


def test_a_look_at_the_position_is_seen() -> None:
    def function(body: str) -> Any:
        return ast.parse(f"def f(case, at):\n    return {body}").body[0]

    assert [looks(function(body)) for body in ("case.stand(at, x)", "at - 1", "steps[at]", "bisect_left(l, at)")] == [
        False,
        True,
        True,
        True,
    ]
