"""Two points where one belongs, and words of the language where a name belongs, are refused and never half read."""

from __future__ import annotations

import pytest

from groundlint.reading.resolve import read_plan
from groundlint.text import Source

PLAN = """\
line Larkspur
  phases A B C
  neutral N multigrounded
  route 211 (52 m) 212 (48 m) 213
source West utility beyond 211
switch SW41 between West and 211
structure 211..213 wood pole
rod R1 6 ft x 5/8 in
bar K1
lead G1 G2 2/0 copper 25 ft
detector D1 for 5 kV to 40 kV
vehicle V1 bucket truck
vehicle V2 crane
crew lineman L1
"""


def said(text: str) -> list[tuple[str, str]]:
    return [(one.code, one.mend) for one in read_plan(Source("plan.tpg", f"{PLAN}{text}\n")).diagnostics]


@pytest.mark.parametrize(
    ("text", "mend"),
    [
        (
            "bond V1 V2 to K1 with G1",
            "give each a statement of its own, such as `bond V1 to K1 with G1` and `bond V2 to K1 with ...`",
        ),
        (
            "bond V1 to K1 and R1 with G1",
            "give each a statement of its own, such as `bond V1 to K1 with G1` and `bond V1 to R1 with ...`",
        ),
        ("3. unbond V1 V2  # both", "give each a statement of its own, such as `unbond V1` and `unbond V2`"),
        ("attach G1 to R1 K1", "write one end after the other, `to R1, then to K1`"),
        ("detach G1 from V1 K1", "write one end after the other, `from V1, then from K1`"),
        ("detach G1 from 212 A pole", "write one end after the other, `from 212 A, then from 212 pole`"),
        ("attach G1 to L1 K1", "write one end after the other, `to L1, then to K1`"),
        (
            "attach G1 to R1, then to K1 V1",
            "a lead has two ends; a third is that of another lead, in a statement of its own",
        ),
        (
            "lift G1 from K1 R1",
            "give each a statement of its own, such as `lift G1 from K1` and `lift G1 from R1`",
        ),
        (
            "prove D1 on live V1 K1",
            "give each a statement of its own, such as `prove D1 on live V1` and `prove D1 on live K1`",
        ),
    ],
)
def test_two_points_where_one_belongs(text: str, mend: str) -> None:
    assert said(text) == [("two-points", mend)]


@pytest.mark.parametrize("text", ["attach G1 to 212 K1", "clean 212 K1", "test 212 V1", "attach G1 to 212 213 pole"])
def test_what_is_no_part_of_a_structure_is_not_named_at_one(text: str) -> None:
    assert [code for code, _ in said(text)] == ["not-a-point"]


@pytest.mark.parametrize(
    "text", ["clean K1 V1 212 A", "attach G1 to 212 SW41 handle", "clean 212 A pole, 213 B", "unbond V1"]
)
def test_several_points_where_several_belong(text: str) -> None:
    assert said(text) == []


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("crew groundman M1, spotter M2", "spotter"),
        ("crew lineman Bo, tailman Dov", "tailman"),
        ("vehicle V3 aerial lift", "aerial"),
        ("vehicle aerial lift", "aerial"),
        ("lead new G7", "new"),
        ("stick hot H4", "hot"),
    ],
)
def test_a_word_is_no_name(text: str, word: str) -> None:
    found = read_plan(Source("plan.tpg", f"{PLAN}{text}\n")).diagnostics
    assert [(one.code, one.span.text, one.unread) for one in found] == [("doubtful-name", word, True)]


@pytest.mark.parametrize(
    ("old", "new", "word"),
    [
        ("route 211 (52 m)", "route from 211 (52 m)", "from"),
        ("(48 m) 213", "(48 m) to 213", "to"),
        ("neutral N", "neutral the grounded", "grounded"),
    ],
)
def test_a_word_of_the_language_is_no_structure_and_no_neutral(old: str, new: str, word: str) -> None:
    found = read_plan(Source("plan.tpg", PLAN.replace(old, new))).diagnostics
    assert ("doubtful-name", word) in [(one.code, one.span.text) for one in found]


@pytest.mark.parametrize(
    "text", ["crew foreman smith, lineman jones", "bar k", "shield top bottom", "crew lineman A-team"]
)
def test_a_name_in_small_letters_is_one_beside_its_like(text: str) -> None:
    assert [
        one.code for one in read_plan(Source("plan.tpg", f"{PLAN}{text}\n")).diagnostics if one.code == "doubtful-name"
    ] == []


def touched(by: str) -> list[str]:
    """The points of `work` by somebody, where two people are at two structures."""
    enter = "enter L1 at 212 on the pole, reaching A\nenter L2 at 213 on the pole, reaching A\n"
    text = f'{PLAN}crew lineman L2, groundman M1\n{enter}work "tie in"{by} touching A B\n'
    read = read_plan(Source("plan.tpg", text))
    work = next(one for one in read.plan.actions if one.kind == "work")
    return [str(one) for one in work.slots["touch"]] + [one.code for one in read.diagnostics]  # type: ignore[attr-defined]


def test_conductors_alone_are_those_where_the_worker_is() -> None:
    assert touched(" by L1") == ["212 A", "212 B"]
    assert touched(" by L2") == ["213 A", "213 B"]
    assert touched(" by L2 at 211") == ["211 A", "211 B"]


@pytest.mark.parametrize("by", ["", " by M1"])
def test_where_it_is_not_known_which_structure_is_meant_that_is_asked_once(by: str) -> None:
    assert touched(by)[2:] == ["which-structure"]
