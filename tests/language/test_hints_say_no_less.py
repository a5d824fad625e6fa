"""A statement that a hint gives to write is read, and holds each name and number of the line that it stands for."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundlint.language.reader import read_statement
from groundlint.reading.resolve import read_plan
from groundlint.text import Source
from tests.language.test_words_of_the_trade import ALSO, ANSWERED, IN_WORDS, PLAN

THINGS = """
A B C N 211 212 213 West SW41 CB7 F3 Underbuild C9 R1
K1 G1 G2 G3 G4 D1 T1 H1 V1 L1 L2 M1 F1
"""
NAMES = THINGS.split()
UNREAD = {
    "unexpected-word", "unknown-statement", "cut-short", "more-than-a-statement", "said-in-other-words", "two-points",
    "not-a-point", "which-structure", "undeclared-name", "wrong-kind",
}  # fmt: skip
DONE = """
open|open and lock|rack out|close|isolate|lock and tag|untag|install|attach|hang|clamp|connect|ground
earth|remove|detach|disconnect|take off|pull|unclamp|bond|unbond|unground|test|check|prove|clean
brush|barricade|rope off|set|drive|mount|put up|block reclosing at|restore reclosing on
reclosing restored on|disable remote control at|cover|inspect|look at|leave|climb|park
release clearance of|work on|replace|hold until|cut|verify that|lift
"""
VERBS = st.sampled_from(DONE.strip().replace("\n", "|").split("|"))
NAMED = st.lists(
    st.one_of(
        st.sampled_from(NAMES),
        st.sampled_from(
            ["212 A", "A at 212", "the pole ground at 212", "213 N", "phase B at 212", "G1..G3", "G1 to G3"]
        ),
    ),
    max_size=3,
)
SAID = """
with G2|by H1|with H1|by hand|, then to K1|, then from K1|, then 212 A|at 212|on 213|from West
at 10 ft|at 10'|, gap seen|, lock it and tag it|locked and tagged|below N|below the feet
to a depth of 8 ft|8 ft deep|16 ft from the pole|, finding dead|with D1 on H1|and tag it|by L1
by L1 and L2|at 14:30|and V1 at 5 ft|except F3|with V1
"""
CLAUSES = st.lists(
    st.sampled_from(SAID.strip().replace("\n", "|").split("|")),
    max_size=3,
)


def offered(text: str) -> list[str]:
    """What the hints on a line give to write in its place, each as whole statements, one a line."""
    found = read_plan(Source("plan.tpg", f"{PLAN}{text}\n")).diagnostics
    given = [one.mend.replace(ALSO, "\n") for one in found if one.mend.startswith("write `")]
    each = [piece for mend in given for piece in re.findall(r"`([^`]+)`", mend)]
    return [one for one in each if all(read_statement(line) is not None for line in one.split("\n"))]


def names(text: str) -> set[str]:
    """The names of the plan that stand in a text."""
    spread = re.sub(
        r"G([0-9])(?:\.\.| to )G([0-9])",
        lambda row: " ".join(f"G{one}" for one in range(int(row[1]), int(row[2]) + 1)),
        text,
    )
    return set(re.findall(r"(?<![\w.-])[A-Za-z]*[0-9]+(?![\w-])|\b[A-Z]\w*", spread)) & set(NAMES)


def numbers(text: str) -> set[str]:
    return set(re.findall(r"(?<![\w.-])[0-9]+(?::[0-9]+)?(?![\w-])", text))


def holds(text: str) -> None:
    for hint in offered(text):
        if not re.search(r"\b[A-Z]{4,}\b", hint):  # `attach LEAD to POINT` is a pattern and says so
            assert names(text) <= names(hint)
            assert numbers(text) - names(text) <= numbers(hint)
            for word in ("lock", "seen", "tag") if "hot line tag" not in text else ():
                assert word in hint or "untag" in hint or not re.search(rf"\b{word}(?:ed|ged)?\b", text)
            assert not re.search(r"attach \S+ to \d+ [ABC]\b.*, then to (?:K1|R1|\d+ (?:pole ground|N))", hint)
            wrong = {one.code for one in read_plan(Source("plan.tpg", f"{PLAN}{hint}\n")).diagnostics}
            assert not wrong & UNREAD


@given(VERBS, NAMED, CLAUSES)
def test_a_hint_on_any_line_of_a_crew(verb: str, named: list[str], clauses: list[str]) -> None:
    holds(" ".join([verb, *named, *clauses]).replace(" ,", ","))


@pytest.mark.parametrize("text", [text for text, *_ in ANSWERED + IN_WORDS])
def test_a_hint_on_what_crews_write(text: str) -> None:
    holds(text)


ASIDE = re.compile(r"(?:note|hold|work|brief|pause|crew|lead|vehicle|wires|caution|use)\b")
"""What says a line in its own words, or what it is about in no words at all."""


def hints_of(text: str) -> list[str]:
    """The statements that hints on a line give to write, as what it means or as an example; those that quote aside."""
    found = read_plan(Source("plan.tpg", f"{PLAN}{text}\n")).diagnostics
    mends = [one.mend for one in found if re.match("write (?:`|it whole)", one.mend)]
    # in which `open SWITCH` and the like stand for what the writer has
    given = [mend.replace(ALSO, "\n") for mend in mends if not re.search(r"\b(?!LEAD\b|POINT\b)[A-Z]{3,}\b", mend)]
    each = [piece for mend in given for piece in re.findall(r"`([^`]+)`", mend)]
    return [one for one in each if read_statement(one.split("\n")[0]) is not None and not ASIDE.match(one)]


@pytest.mark.parametrize("text", [text for text, *_ in ANSWERED])
def test_a_line_with_a_word_that_nobody_knows_gets_no_text(text: str) -> None:
    assert hints_of(f"{text} beside the brindle") == []


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (", then test 213 B", r"^test .*213 B"),
        (" and untag F3", r"^untag\b"),
        (", park V1 at 213", r"^park V1 at 213"),
        (" and count the grounds", r"(?!)"),
    ],
)
@pytest.mark.parametrize("text", [text for text, *_ in ANSWERED])
def test_what_else_a_line_does_is_in_its_hint(text: str, more: str, said: str) -> None:
    for hint in hints_of(f"{text}{more}"):
        assert re.search(said, hint, re.MULTILINE)


OFF = re.compile(r"^(?:detach|unbond|dismount|pull|uncover|unbarricade|untag|gloves off|lift|leave|open)\b")
ON = re.compile(r"^(?:attach|bond|mount|set|cover|barricade|tag|lock|gloves on|enter|close)\b")


@pytest.mark.parametrize("what", ["grounds", "G1", "tags", "locks", "covers", "gloves", "barriers", "the rod", "K1"])
@pytest.mark.parametrize("where", ["removed", "are removed", "taken off", "are down", "gone"])
def test_what_is_away_is_not_put_on(what: str, where: str) -> None:
    assert [one for one in hints_of(f"{what} {where}") if ON.match(one)] == []


@pytest.mark.parametrize("what", ["G1", "the grounds", "the tag on SW41", "the clearance", "SW41", "the cover"])
@pytest.mark.parametrize("how", ["leave {} as is", "keep {}", "do not remove {}", "never take off {}", "leave {} on"])
def test_what_stays_is_not_taken_off(what: str, how: str) -> None:
    assert [one for one in hints_of(how.format(what)) if OFF.match(one)] == []
