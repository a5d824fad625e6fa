"""The words of a keyword's pattern, none left out however many there are."""

from __future__ import annotations

import re
from pathlib import Path

import groundlint.language
from groundlint.language.spellings import spellings

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
