"""Silence is never safer: a rule of common practice that an example breaks is not satisfied by saying less.

From the plan of each failing or unshown example one line that declares something is taken out at a time (steps stay).
Where the plan can still be read, the rule must not come out met, nor cease to apply.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import pytest

from groundlint.facts import CATALOGUE, PlanTrace
from groundlint.language.reader import read_statements
from groundlint.language.statements import Header, Property, Thing
from groundlint.reading import read_plan
from groundlint.rulebook.evaluate import Program
from groundlint.rulebook.examples import example_text
from groundlint.rulebook.load import load_book
from groundlint.rulebook.model import Example
from groundlint.rulebook.shipped import shipped
from groundlint.text import Source
from groundlint.timeline import replay
from groundlint.values import Truth


@cache
def program() -> Program:
    book, problems = load_book([shipped()], "practice", CATALOGUE)
    assert book is not None
    assert not problems
    return Program(book, CATALOGUE)


def plan_of(example: Example) -> str:
    found = example_text(example, "practice", program().book.shelf())
    assert not isinstance(found, str), found
    return found.text


def verdict(rule: str, text: str) -> Truth | str | None:
    """What the rule makes of a plan; a word where the plan cannot be read whole or done as written."""
    read = read_plan(Source("example.tpg", text))
    if read.diagnostics:
        return "unread"
    timeline = replay(read.plan)
    return "impossible" if timeline.problems else program().review_rule(rule, PlanTrace(timeline)).truth


def with_one_declaration_less(text: str) -> Iterator[tuple[str, str]]:
    """The line taken out, and the plan without it."""
    lines = text.split("\n")
    for statement in read_statements(Source("example.tpg", text)).text.statements:
        if isinstance(statement, (Header, Property, Thing)):
            at = statement.span.line - 1
            yield lines[at].strip(), "\n".join(lines[:at] + lines[at + 1 :])


CLAIMS = {
    "approach-distance-in-force": ("approach",),
    "electrode-off-last": ("route",),
    "paragraphs-in-force": ("follows",),
    "live-section-not-climbed": ("jumper", "route"),
    "nothing-mounted-on-a-live-section": ("switch", "route"),
    "open-point-in-reach-bridged": ("jumper", "route"),
    "rod-barricaded": ("begins",),
    "words-replace-no-step": ("switch",),
}
"""Rules on what a plan says of itself, notices both, and the word it says it with: without the claim none is wrong.
Of a jumper that is declared nowhere, or of a line without a route, nobody can ask what hangs at the work; where there
is no route, nothing says that one structure was grounded by another, and other rules are not shown; of a line in one
piece, or without a route, no part alone is live.
A rod that the part before has left with no lead on it is no ground. In words, a
name that is declared nowhere is no switch's; a step that opens or closes it could not be read."""

SPOKEN_OF = {"consistency.rule", "owed.rule", "parts.rule"}
"""Known gap: rules on statements that contradict each other, on what is declared and never dealt with, and on what an
earlier part has left, are left out whole. Without the statement many have nothing to ask; which of them may be silent
then, and whether another rule speaks, has not been judged rule by rule."""

EXAMPLES = [
    example
    for example in program().book.shelf().examples
    if example.sort in ("fails", "unshown") and example.file.rpartition("/")[2] not in SPOKEN_OF
]


@pytest.mark.one_in(12)
@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: f"{example.rule}-{example.line}")
def test_saying_less_satisfies_no_rule(example: Example) -> None:
    text = plan_of(example)
    assert verdict(example.rule, text) in (Truth.FALSE, Truth.UNKNOWN)
    escapes = [
        line
        for line, less in with_one_declaration_less(text)
        if verdict(example.rule, less) in (Truth.TRUE, None) and line.split()[0] not in CLAIMS.get(example.rule, ())
    ]
    assert escapes == []
