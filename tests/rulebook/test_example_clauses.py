"""Which examples a rule must have: one it is met on, and one it is broken or not shown on."""

from __future__ import annotations

from pathlib import Path

from book_folders import BOOK, RULE, load, said, sound, write_book

FAILS = "  fails\n    > attach G2 to A by H1\n"


def test_unshown_stands_in_for_fails(tmp_path: Path) -> None:
    assert FAILS in RULE
    write_book(tmp_path, "toy", BOOK, {"order": RULE.replace(FAILS, FAILS.replace("fails", "unshown"))})
    assert [example.sort for example in sound(tmp_path, "toy").shelf().examples] == ["passes", "unshown"]


def test_a_rule_with_neither_is_refused(tmp_path: Path) -> None:
    write_book(tmp_path, "toy", BOOK, {"order": RULE.replace(FAILS, "")})
    _, problems = load(tmp_path, "toy")
    assert said(problems) == [
        "toy/order.rule:1:6 `ground-end-first` clause-missing: this rule has no `fails`; an example on which it is "
        "broken; `unshown` stands in for it where a plan can only fail to say"
    ]
