"""Silence is never safer: a plan that fails the federal book does not pass it by saying less.

From the plan of each failing or unshown example one statement that declares something is taken out at a time (steps
stay). The rule must not come out met. Where it no longer applies, another rule of the book that fails the gate must be
broken or not shown.
"""

from __future__ import annotations

from functools import cache

import pytest

from groundlint.facts import CATALOGUE, PlanTrace
from groundlint.language.reader import read_statements
from groundlint.language.statements import Header, Property, Thing
from groundlint.reading import read_plan
from groundlint.rulebook.evaluate import Program
from groundlint.rulebook.examples import ExampleText, example_text
from groundlint.rulebook.load import load_book
from groundlint.rulebook.model import Example
from groundlint.rulebook.shipped import shipped
from groundlint.text import Severity, Source
from groundlint.timeline import replay
from groundlint.values import Truth

BOOK = "us-29cfr1910-269"


@cache
def program() -> Program:
    book, problems = load_book([shipped()], BOOK, CATALOGUE)
    assert book is not None
    assert not problems
    return Program(book, CATALOGUE)


def traced(text: str) -> PlanTrace | None:
    """The plan carried out; None where it cannot be read whole or done as written, which never passes."""
    read = read_plan(Source("example.tpg", text))
    if read.diagnostics:
        return None
    timeline = replay(read.plan)
    return None if timeline.problems else PlanTrace(timeline)


def gate_fails(trace: PlanTrace) -> bool:
    outcomes = program().review(trace)
    grave = (outcome for outcome in outcomes if outcome.rule.level >= Severity.WARNING)
    return any(outcome.truth in (Truth.FALSE, Truth.UNKNOWN) for outcome in grave)


CLAIMS = {"stringing-kept-off-live-parts": ("switch", "route"), "clamps-kept-off-live-side": ("route",)}
"""Rules on what a plan says of itself, and the word it says it with: a line that is not said to be in parts, or has no
route, has no live side of its own."""

EXAMPLES = [example for example in program().book.shelf().examples if example.sort in ("fails", "unshown")]


@pytest.mark.one_in(12)
@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: f"{example.rule}-{example.line}")
def test_saying_less_satisfies_nothing(example: Example) -> None:
    plan = example_text(example, BOOK, program().book.shelf())
    assert isinstance(plan, ExampleText), plan
    lines = plan.text.split("\n")
    before = traced(plan.text)
    assert before is not None
    assert program().review_rule(example.rule, before).truth in (Truth.FALSE, Truth.UNKNOWN)
    escapes = []
    for statement in read_statements(Source("example.tpg", plan.text)).text.statements:
        if not isinstance(statement, (Header, Property, Thing)):
            continue
        at = statement.span.line - 1
        less = traced("\n".join(lines[:at] + lines[at + 1 :]))
        if less is None:
            continue
        now = program().review_rule(example.rule, less).truth
        claimed = lines[at].split()[0] in CLAIMS.get(example.rule, ())
        if not claimed and (now is Truth.TRUE or (now is None and not gate_fails(less))):
            escapes.append((lines[at].strip(), now))
    assert escapes == []
