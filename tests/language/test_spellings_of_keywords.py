"""The words of a keyword's pattern, none left out however many there are."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import groundlint.language
from groundlint.language.reader import read_statements
from groundlint.language.spellings import spellings
from groundlint.text import Source

GRAMMAR = Path(groundlint.language.__file__).with_name("plan.lark").read_text(encoding="utf-8")
PATTERNS = re.findall(r"^_?[A-Z_]+(?:\.\d+)?: /(.*\(\?!\[\\w-\]\))/i$", GRAMMAR, re.MULTILINE)


def test_as_many_words_as_the_pattern_has() -> None:
    words = [f"word{chr(97 + one)}{chr(97 + other)}" for one in range(12) for other in range(8)]
    assert spellings(f"({'|'.join(f'{word}s?' for word in words)})(?![\\w-])") == tuple(
        spelling for word in words for spelling in (word, f"{word}s")
    )


def test_each_word_matches_its_pattern_whole() -> None:
    assert PATTERNS
    wrong = [
        (pattern, word)
        for pattern in PATTERNS
        if "[1-7]" not in pattern  # a grade, which is read by its shape
        for word in spellings(pattern)
        if re.fullmatch(pattern, word, re.IGNORECASE) is None
    ]
    assert wrong == []


NAMED = ("Bar", "Bond", "Crane", "Grade", "Guy", "Lead", "Lift", "Park", "Rod", "Steel", "Stick", "Truck", "Wood")
"""People are named so, and the language has a word that is spelled alike."""
WITH_NAMES = """\
crew foreman {0}, lineman Rook {0} Finch
brief Rook {0} Finch
brief {0}
enter Rook {0} at 12 on the pole, reaching A
open SW1 SW2 by {0}
leave Rook {0}
"""


@pytest.mark.parametrize("name", NAMED)
def test_a_word_with_a_capital_that_can_not_stand_there_is_a_name(name: str) -> None:
    read = read_statements(Source("named.tpg", WITH_NAMES.format(name)))
    assert read.diagnostics == ()
    assert str(read.text.statements).count(f"'{name}'") >= 6


SWITCHES = """\
switch {0} between West and 12
through SW1 {0}
open SW1 {0}, lock it and tag it
verify SW1 {0} open
lock SW1 {0}
tag SW1 {0}
untag SW1 {0}
untag {0} SW1
close SW1 {0}
"""


@pytest.mark.parametrize("name", ["TIE", "BAR", "LEAD", "GUY", "BUS", "Tie"])
def test_a_switch_may_be_called_by_a_word_in_capitals_wherever_it_is_named(name: str) -> None:
    read = read_statements(Source("named.tpg", SWITCHES.format(name)))
    assert [one.message for one in read.diagnostics] == []
    assert str(read.text.statements).count(f"'{name}'") >= 9


@pytest.mark.parametrize("text", ["LOCK SW41 TAG", "lock SW41 tag"])
def test_no_word_of_a_line_in_one_case_is_a_name_where_it_can_not_stand(text: str) -> None:
    assert read_statements(Source("named.tpg", text)).diagnostics != ()


def test_a_word_in_its_place_is_the_word_whatever_its_capitals() -> None:
    small = read_statements(Source("named.tpg", "vehicle V1 crane insulated\nclean 12 steel\n"))
    large = read_statements(Source("named.tpg", "vehicle V1 Crane insulated\nclean 12 Steel\n"))
    assert str(small.text.statements).lower() == str(large.text.statements).lower()
