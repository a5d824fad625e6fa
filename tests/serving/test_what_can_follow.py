"""Completion by place: what the tables allow, and what the names are."""

from __future__ import annotations

import pytest

from groundlint.language.following import following
from groundlint.language.reader import begun, read_statement
from groundlint.language.reference import WORKED, first_words, main_words
from groundlint.language.statements import statement_classes
from groundlint.serving.completion import completions
from groundlint.serving.document import Document

PLAN = """\
line Larkspur
  phases A B C
structure 211 212
rod R1
bar K1
lead G1 G2
stick H1
detector D1
crew lineman L1
routine up (leads a)
  attach a to K1
"""


def offered(end: str, plan: str = PLAN) -> list[str]:
    """What is offered at the end of a plan, the likeliest first."""
    text = plan + end
    document = Document("untitled:plan.tpg", "tpg", 1, text, len)
    found = completions(document, len(text), ("some-rule",))
    return [item.label for item in sorted(found, key=lambda item: item.sort_text or "")]


@pytest.mark.parametrize("kind", sorted(WORKED))
def test_each_word_of_an_example_can_stand_where_it_stands(kind: str) -> None:
    text = WORKED[kind]
    assert read_statement(text) is not None
    for at in [at for at, letter in enumerate(text) if letter == " " and text[:at].count('"') % 2 == 0]:
        after = following(text[:at])
        if after is None:  # within an amount, or a keyword of several words
            continue
        begins = [word for terminal in first_words(kind) for word in main_words(terminal, kind)]
        assert after.kind == kind or any(
            word.startswith(text[:at]) for word in begins
        )  # `bond` is not yet `bond across`
        assert after.terminals


def test_every_kind_of_statement_is_offered_at_the_beginning_of_a_line() -> None:
    words = offered("")
    for kind in statement_classes():
        assert any(WORKED[kind].startswith(word) for word in words), kind


@pytest.mark.parametrize(
    ("end", "first"),
    [
        ("attach ", ["G1", "G2"]),
        ("4. attach ", ["G1", "G2"]),
        ("attach G1 to K1, then to 212 A by ", ["H1"]),
        ("attach G1 to K1,\n  then to 212 A by ", ["H1"]),
        ("test 212 A with ", ["D1"]),
        ("set ", ["R1"]),
        ("set R1 at 2", ["211", "212"]),
        ("brief ", ["L1"]),
        ("do ", ["up"]),
        ("waive ", ["some-rule"]),
    ],
)
def test_names_that_belong_there_come_first(end: str, first: list[str]) -> None:
    assert offered(end)[: len(first)] == first


def test_words_are_offered_where_they_can_stand() -> None:
    assert "copper" in offered("lead G3 2/0 ")
    assert "tested" in offered("lead G3 2/0 copper ")
    assert "attach" in offered("att")
    assert "attach" not in offered("lead G3 ")
    assert offered('hold "until ') == []
    assert offered("# att") == []
    assert offered("attach zzz zzz ") == []


def test_a_plan_in_the_earthing_traditions_words_is_completed_in_them() -> None:
    assert "earthing-lead" in offered("", "earthing-lead G1\n")
    assert "lead" in offered("", "lead G1\n")


def test_what_is_begun_goes_on_over_lines() -> None:
    text = "attach G1 to K1, # why\n  then to 212"
    assert begun(text, len(text)) == "attach G1 to K1, then to 212"
