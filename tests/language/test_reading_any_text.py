"""Whatever stands in a file, reading gives values, never raises, and takes time linear in the text."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from lark.exceptions import UnexpectedInput

from groundlint.language import reader
from groundlint.language.driver import Driver, Failed
from groundlint.language.reader import MAX_LENGTH, MAX_MISTAKES, MAX_STATEMENTS, Read, read_statements
from groundlint.language.reference import WORKED
from groundlint.language.spellings import spellings
from groundlint.language.statements import Routine
from groundlint.text import Source
from groundlint.text.decode import decode

ROOT = Path(__file__).resolve().parents[2]
PLANS = [path.read_text() for path in sorted((ROOT / "tests" / "rules" / "practice_plans").glob("*.tpg"))]
PIECES = sorted(
    {word for line in WORKED.values() for word in line.split()} | set('#",()\n\t') | {"\r\n", "..", "4.", "é", "\u00a0"}
)


def held(text: str, name: str = "plan.tpg") -> Read:
    """What is read, with what must hold of it for any text."""
    source = Source(name, text)
    found = read_statements(source)
    for diagnostic in found.diagnostics:
        assert diagnostic.span.source is source
        assert 0 <= diagnostic.span.start <= diagnostic.span.end <= len(text)
        assert len(diagnostic.message) < 500
    for statement in found.text.statements:
        assert 0 <= statement.span.start < statement.span.end <= len(text)
        for place in statement.places.values():
            assert statement.span.start <= place.end <= statement.span.end or statement.number
    return found


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=200))
@example("\ud800 open SW41")
@example("open SW41\x00")
@example("#")
def test_any_text(text: str) -> None:
    held(text)


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes(data: bytes) -> None:
    source, _ = decode(data, "plan.tpg")
    read_statements(source)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.sampled_from(PIECES), max_size=30).map(" ".join))
def test_words_of_the_language_in_any_order(text: str) -> None:
    held(text)
    held(f"```tpg\n{text}\n```\n", "plan.md")


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(PLANS), st.data())
def test_a_plan_with_a_stretch_cut_out_or_put_in(plan: str, data: st.DataObject) -> None:
    start = data.draw(st.integers(0, len(plan)))
    end = data.draw(st.integers(start, min(len(plan), start + 40)))
    held(plan[:start] + data.draw(st.text(max_size=5) | st.sampled_from(PIECES)) + plan[end:])


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(sorted(WORKED.values())), st.data())
def test_the_driver_takes_what_lark_takes(line: str, data: st.DataObject) -> None:
    words = line.split(" ")
    at = data.draw(st.integers(0, len(words)))
    change = data.draw(st.lists(st.sampled_from(PIECES), max_size=2))
    text = " ".join([*words[:at], *change, *words[at + data.draw(st.integers(0, 1)) :]]).replace("\n", " ")
    parser = reader._parser()
    driver: Driver = parser.driver
    parser.lowering.problems = []
    try:
        driver.parse(text)
        taken = True
    except Failed:
        taken = False
    try:
        parser.lark.parse(text)
        expected = True
    except UnexpectedInput:
        expected = False
    assert taken == expected or parser.lowering.problems


def test_no_word_is_of_two_clauses_that_can_follow_the_same_words() -> None:
    parser = reader._parser()
    patterns = {terminal.name: terminal.pattern.value for terminal in parser.lark.terminals}
    words = {
        name: {word.lower() for word in spellings(pattern)}
        for name, pattern in patterns.items()
        if "(?!" in pattern
        and name not in {"NAME", "RANGE", "QUANTITY", "WIRESIZE", "DATE", "NUMBER", "GRADE", "STRANDING", "IGNORED"}
    }
    shared = set()
    for state in parser.driver.tables.order:
        accepted = sorted((set(parser.driver.shifts[state]) | set(parser.driver.reductions[state])) & set(words))
        shared |= {pair for pair in combinations(accepted, 2) if words[pair[0]] & words[pair[1]]}
    assert words
    assert shared == {("POLE_WORD", "_STRUCTURE")}  # either is taken after `from`


def test_steps_of_a_routine_that_cannot_be_read_are_not_the_plans_own() -> None:
    found = held('routine ground structure S\n  attach a to S\n\nwork "x"\n')
    assert [type(s).__name__ for s in found.text.statements] == ["Work"]
    assert len(found.diagnostics) == 1


def test_a_thing_in_a_routine_is_refused() -> None:
    found = held("routine ground (lead a)\n  rod R1\n  attach a to R1\n")
    assert [d.code for d in found.diagnostics] == ["not-a-step"]
    (routine,) = found.text.statements
    assert isinstance(routine, Routine)
    assert len(routine.body) == 1


def test_plans_in_markdown_keep_their_lines() -> None:
    text = "# Procedure\n\n1. Steps\n\n   ```tpg\n   routine g (lead a)\n     attach a to R1\n   do g (G1)\n   ```\n"
    found = held(text, "procedure.md")
    assert found.diagnostics == ()
    assert [(type(s).__name__, s.span.line) for s in found.text.statements] == [("Routine", 6), ("Do", 8)]
    assert [d.code for d in held("no plan here\n", "a.md").diagnostics] == ["no-plan-in-markdown"]


def test_blanks_of_word_processors_are_blanks() -> None:
    assert held("open\u00a0SW41,\u202fgap\u2003seen").diagnostics == ()
    assert held('note "a\u00a0b"').text.statements[0].text == "a\u00a0b"  # type: ignore[union-attr]


def test_a_phase_may_be_named_x() -> None:
    assert held("phases Y X Z").diagnostics == held("rod R1 6 ft x 5/8 in").diagnostics == ()
    (phases,) = held("phases Y X Z").text.statements
    assert phases.names == ("Y", "X", "Z")  # type: ignore[union-attr]


def test_limits_are_reported() -> None:
    assert [d.code for d in held("open SW41\n" * (MAX_STATEMENTS + 5)).diagnostics] == ["too-many-statements"]
    assert [d.code for d in held("open " + "SW41 " * MAX_LENGTH).diagnostics] == ["statement-too-long"]
    assert held("opne SW41\n" * (MAX_MISTAKES + 5)).diagnostics[-1].code == "too-many-mistakes"


LONG = {
    "statements": "attach G1 to K1, then to 212 A by H1\n",
    "one long line": "a" * 40,
    "one long list": "open " + "A1 " * 20,
    "commas": "open A1,\n",
    "comments": "# a\n",
    "blanks": " \t",
    "quotes": '"',
    "hashes": "#",
    "routines": 'routine a\n  work "x"\n',
    "numbers": "9",
}


@pytest.mark.parametrize("piece", LONG.values(), ids=LONG.keys())
def test_work_grows_with_the_text_and_no_faster(piece: str, calls: Callable[[Callable[[], object]], int]) -> None:
    def taken(characters: int) -> int:
        source = Source("plan.tpg", piece * (characters // len(piece)))
        return calls(lambda: read_statements(source))

    taken(2_000)  # makes the parser ready
    assert taken(80_000) <= 8.5 * taken(10_000) + 100
