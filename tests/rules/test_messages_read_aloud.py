"""Every message of a shipped rule at danger or warning, as the rule's own failing examples come to it.

They are read over here as a foreman reads them: who, where, by how much, what to do.
"""

from __future__ import annotations

import re
from functools import cache

import pytest
from syrupy.assertion import SnapshotAssertion

from groundlint.facts import CATALOGUE
from groundlint.facts.trace import PlanTrace
from groundlint.review import trace_of
from groundlint.rulebook.evaluate import Program
from groundlint.rulebook.examples import ExampleText, example_text
from groundlint.rulebook.load import available, load_book
from groundlint.rulebook.shipped import shipped
from groundlint.text import Severity
from groundlint.values import Truth

BOOKS = available([shipped()])
WITHOUT_OWN = ("ieee-c2", "us-29cfr1926-v")
"""Books that take all their rules from others."""
NAMELESS = re.compile(r"\(not stated\)|\bsome (person|lead|structure|source|rod|[a-z]+-point)\b")
"""What stands in a message where its placeholder came to nothing."""


@cache
def messages(name: str) -> tuple[tuple[str, str, str], ...]:
    """Rule, message and mend for each thing that a rule of the book says at danger or warning, once each."""
    book, problems = load_book([shipped()], name, CATALOGUE)
    assert book is not None
    assert not problems
    program, shelf = Program(book, CATALOGUE), book.shelf()
    own = {rule.slug for rule in book.rules if rule.book == name and rule.level in (Severity.DANGER, Severity.WARNING)}
    found: dict[tuple[str, str, str], None] = {}
    for example in shelf.examples:
        if example.rule not in own or example.sort != "fails":
            continue
        plan = example_text(example, name, shelf)
        assert isinstance(plan, ExampleText)
        trace = trace_of(plan.text)
        assert isinstance(trace, PlanTrace)
        for verdict in program.review_rule(example.rule, trace).verdicts:
            if verdict.truth is Truth.FALSE:
                found[example.rule, verdict.message, verdict.mend] = None
    return tuple(found)


@pytest.mark.parametrize("name", [name for name in BOOKS if name not in WITHOUT_OWN])
def test_messages_as_they_are_read(name: str, snapshot: SnapshotAssertion) -> None:
    said = [f"{slug}: {message}\n    {mend}" for slug, message, mend in messages(name)]
    assert said
    assert "\n".join(said) == snapshot


@pytest.mark.parametrize("name", BOOKS)
def test_a_message_names_who_and_what_it_speaks_of(name: str) -> None:
    assert [(slug, message) for slug, message, mend in messages(name) if NAMELESS.search(f"{message}\n{mend}")] == []
