"""Names, facts and near words, as people write them."""

from __future__ import annotations

import pytest

from groundlint.text.near import nearest
from groundlint.words.rows import counted, facts_together, listed, names_together


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        (["the length of lead G2", "the length of lead G3", "the length of lead G1"], "the length of leads G1..G3"),
        (
            ["the metal of lead G1", "the metal of lead G2", "the size of lead G1", "the size of lead G2"],
            "the metal and the size of leads G1 and G2",
        ),
        (["when G1 was last tested", "when G2 was last tested"], "when G1 and G2 were last tested"),
        (
            ["when the next test of G1 is due", "when the next test of G2 is due"],
            "when the next test of G1 and G2 is due",
        ),
        (["whether L1 wears rubber gloves", "whether L2 wears rubber gloves"], "whether L1 and L2 wear rubber gloves"),
        (["the material of structure 211", "the material of structure 213"], "the material of structures 211 and 213"),
        (
            ["whether neutral N is multigrounded", "how the neutral is grounded"],
            "whether neutral N is multigrounded; how the neutral is grounded",
        ),
        (
            ["the fault current of source Feed", "the fault current to ground of source Feed"],
            "the fault current and the fault current to ground of source Feed",
        ),
        (["the soil's resistivity"], "the soil's resistivity"),
        (["whether G1 goes on E2 A by stick or by hand"], "whether G1 goes on E2 A by stick or by hand"),
    ],
)
def test_alike_facts_are_said_as_one(facts: list[str], said: str) -> None:
    assert facts_together(facts) == said


def test_names_and_numbers() -> None:
    assert names_together(["G09", "G10", "G11"]) == ["G09", "G10", "G11"]
    assert names_together(["G1", "G2", "G3", "G5", "H9", "H10"]) == ["G1..G3", "G5", "H9", "H10"]
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert [counted(1, "rule"), counted(2, "rule")] == ["1 rule", "2 rules"]


@pytest.mark.parametrize(("word", "near"), [("Wset", "West"), ("west", "West"), ("zzz", ""), ("", "")])
def test_the_nearest_known_word(word: str, near: str) -> None:
    assert nearest(word, ["West", "East"]) == near
