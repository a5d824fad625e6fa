"""Which examples a rule must have: one it is met on, and one it is broken or not shown on."""

from __future__ import annotations

from pathlib import Path

import pytest
from book_folders import BOOK, RULE, load, said, sound, write_book

from groundlint.facts import CATALOGUE
from groundlint.review import trace_of
from groundlint.rulebook.examples import run_examples
from groundlint.rulebook.load import load_book

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


REPAIRED = """\
rule looked-over
  level    caution
  title    "A lead is looked over before it goes on"
  cites    common practice, no source
  known    common practice
  because  "a broken strand"
  at       attach lead to point
  require  lead is inspected
  say      "{{lead}} was not looked over"
  repair   {repair}
  passes
    | inspect G1
    | attach G1 to R1
  fails
    > attach G1 to R1, then to 211 A
"""
PLAN = "line Alder\n  phases A\n  route 211\nstructure 211 wood pole\nrod R1 8 ft x 5/8 in\nlead G1 2/0 copper 25 ft\n"


@pytest.mark.parametrize(
    ("repair", "mends"),
    [
        ('before "inspect {lead}"', True),
        ('after "inspect {lead}"', False),
        ('before "inspect {point}"', False),
        ('before "inspekt {lead}"', False),
        ("swap ends", False),
    ],
)
def test_a_repair_mends_one_of_its_examples(tmp_path: Path, repair: str, mends: bool) -> None:
    write_book(tmp_path, "toy", BOOK, {"looked": REPAIRED.format(repair=repair)}, {"base": PLAN})
    book, problems = load_book([tmp_path], "toy", CATALOGUE)
    assert said(problems) == []
    assert book is not None
    said_wrong = [result.problem for result in run_examples(book, CATALOGUE, trace_of) if result.problem]
    assert said_wrong == ([] if mends else ["the `repair` of the rule mends no example that fails"])
