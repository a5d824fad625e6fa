"""Harmed rule files: always diagnostics with a place, never an exception, and in bounded time."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from book_folders import BOOK, RULE, load, write_book
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from toy_catalogue import TOY

from groundlint.rulebook.check import Checker, Scope
from groundlint.rulebook.grammar import MistakeError, parse_text
from groundlint.text import Source

TEXT = BOOK + "condition tested (p point) means once did test p\n" + RULE
WORDS = sorted(
    set(re.findall(r"\S+", TEXT)) | {"since", "each", "(", ")", ":", "{", "}", '"', "#", "\t", "é", "\x00", "|"}
)


@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(edits=st.lists(st.tuples(st.integers(0, 10**6), st.sampled_from(WORDS), st.booleans()), min_size=1, max_size=5))
def test_a_harmed_rule_file_gives_messages_at_places(tmp_path: Path, edits: list[tuple[int, str, bool]]) -> None:
    pieces = re.split(r"(\s+)", RULE)
    for at, word, replaced in edits:
        at %= len(pieces)
        pieces[at : at + replaced] = [f" {word} "]
    write_book(tmp_path, "toy", BOOK, {"order": "".join(pieces)})
    book, problems = load(tmp_path, "toy")
    assert book is not None
    for problem in problems:
        assert 0 <= problem.span.start <= problem.span.end <= len(problem.span.source.text)
        assert problem.message
    assert problems or len(book.rules) <= 1


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(edits=st.lists(st.tuples(st.integers(0, 10**6), st.sampled_from(WORDS), st.booleans()), min_size=1, max_size=5))
def test_a_harmed_book_file_gives_messages_at_places(tmp_path: Path, edits: list[tuple[int, str, bool]]) -> None:
    pieces = re.split(r"(\s+)", BOOK + "condition tested (p point) means once did test p\n")
    for at, word, replaced in edits:
        at %= len(pieces)
        pieces[at : at + replaced] = [f" {word} "]
    write_book(tmp_path, "toy", "".join(pieces), {"order": RULE})
    book, problems = load(tmp_path, "toy")
    assert book is not None
    assert all(problem.message and problem.unread for problem in problems)


@pytest.mark.parametrize(
    "text",
    [
        "(" * 3000 + "p is grounded" + ")" * 3000,
        "(" * 100 + "p is grounded" + ")" * 100,
        "not " * 1900 + "p is grounded",
        "at least 5 times " * 40 + "did test p",
        "p is grounded and " * 400 + "p is grounded",
        "p is grounded " * 800,
        "- " * 200 + "3 ft > 2 ft",
        "length of " * 500 + "p = 3 ft",
    ],
)
def test_long_and_deep_conditions_end_in_a_message_or_a_condition(text: str) -> None:
    source = Source("deep", text)
    try:
        tree, phrase = parse_text(source, source.span(0, len(text)), text, "condition")
        Checker(TOY, {}, lambda name: None, tuple).formula(tree, phrase, Scope({"p": "point"}))
        assert text.startswith("p is grounded and")
        return
    except MistakeError as error:
        code = error.diagnostic.code
    assert code in ("too-deep", "too-long", "unexpected-word")


def test_messages_of_the_harmed_files_are_not_all_alike(tmp_path: Path) -> None:
    """Guards the tests above: harm must reach many parts of the reader."""
    codes = set()
    pieces = re.split(r"(\s+)", RULE)
    for at in range(0, len(pieces), 2):
        write_book(tmp_path, "toy", BOOK, {"order": "".join([*pieces[:at], "oops", *pieces[at + 1 :]])})
        codes |= {problem.code for problem in load(tmp_path, "toy")[1]}
    assert len(codes) > 8, codes
