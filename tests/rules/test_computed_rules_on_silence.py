"""Silence is never safer where a rule computes: less said never makes a broken or unshown rule of these books met.

From the plan of each failing or unshown example one statement that declares something is taken out at a time (steps
stay). The rule must not come out met. Where it no longer applies, what the rule counts over is gone with the statement,
and another rule of the default books asks for it.
"""

from __future__ import annotations

from functools import cache

import pytest

from groundlint.facts import CATALOGUE, PlanTrace
from groundlint.language.reader import read_statements
from groundlint.language.statements import Header, Property, Thing
from groundlint.reading import read_plan
from groundlint.review import DEFAULT_BOOKS
from groundlint.rulebook.evaluate import Program
from groundlint.rulebook.examples import ExampleText, example_text
from groundlint.rulebook.load import load_book
from groundlint.rulebook.model import Example
from groundlint.rulebook.shipped import shipped
from groundlint.text import Severity, Source
from groundlint.timeline import replay
from groundlint.values import Truth

BOOKS = ("electrical", "equipment-f855")
CONTRADICTED = {("stated-time-is-possible", "clears"), ("stated-time-is-possible", "relay")}
"""Rules of two statements that contradict each other, and a statement without which nothing does: a fault then lasts as
the other says, and the other rules are held against that."""


@cache
def program(name: str) -> Program:
    book, problems = load_book([shipped()], name, CATALOGUE)
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
    return any(
        outcome.truth in (Truth.FALSE, Truth.UNKNOWN)
        for name in DEFAULT_BOOKS
        for outcome in program(name).review(trace)
        if outcome.rule.level >= Severity.WARNING
    )


EXAMPLES = [
    pytest.param(name, example, id=f"{name}-{example.rule}-{example.line}")
    for name in BOOKS
    for example in program(name).book.shelf().examples
    if example.sort in ("fails", "unshown")
    and any(rule.slug == example.rule and rule.book == name for rule in program(name).book.rules)
]


@pytest.mark.one_in(12)
@pytest.mark.parametrize(("name", "example"), EXAMPLES)
def test_saying_less_satisfies_nothing(name: str, example: Example) -> None:
    plan = example_text(example, name, program(name).book.shelf())
    assert isinstance(plan, ExampleText), plan
    lines = plan.text.split("\n")
    before = traced(plan.text)
    assert before is not None
    assert program(name).review_rule(example.rule, before).truth in (Truth.FALSE, Truth.UNKNOWN)
    escapes = []
    for statement in read_statements(Source("example.tpg", plan.text)).text.statements:
        if not isinstance(statement, (Header, Property, Thing)):
            continue
        at = statement.span.line - 1
        if (example.rule, lines[at].split()[0]) in CONTRADICTED:
            continue
        less = traced("\n".join(lines[:at] + lines[at + 1 :]))
        if less is None:
            continue
        now = program(name).review_rule(example.rule, less).truth
        if now is Truth.TRUE or (now is None and not gate_fails(less)):
            escapes.append((lines[at].strip(), now))
    assert escapes == []


def test_every_rule_of_these_books_has_an_example_here() -> None:
    assert {param.values[1].rule for param in EXAMPLES} == {
        rule.slug for name in BOOKS for rule in program(name).book.rules if rule.book == name
    }
