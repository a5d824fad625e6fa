"""Steps as crews of both traditions write them: read, or answered by the statement to write in the plan's own names.

`trade_words.txt` is the table: a line, then ``=`` and the statement that it is read as, or ``->`` and the statements
that the hint gives to write, several where the line could mean several things (`|`) or needs a line more (`&`); ``~>``
where the hint gives them as an example, since the line leaves something out; ``!>`` and the hint, where no statement in
the plan's own names would say all that the line does.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from groundlint.language.reader import read_statements
from groundlint.language.writer import write_statement
from groundlint.reading.resolve import read_plan
from groundlint.text import Source

TABLE = Path(__file__).with_name("trade_words.txt").read_text(encoding="utf-8")
PLAN = """\
line Larkspur
  voltage 12.47 kV
  phases A B C
  neutral N multigrounded
  route 211 (52 m) 212 (48 m) 213
source West utility beyond 211
switch SW41 between West and 211
breaker CB7 between SW41 and 211
fuse F3 between CB7 and 211
structure 211..213 wood pole
neighbour Underbuild live 7.2 kV at 212
capacitor C9 at 213
rod R1 6 ft x 5/8 in
bar K1
lead G1..G4 2/0 copper 25 ft
detector D1 for 5 kV to 40 kV
tester T1
stick H1 8 ft
vehicle V1 bucket truck
crew lineman L1 L2, groundman M1, foreman F1
"""


def rows() -> Iterator[tuple[str, str, tuple[str, ...]]]:
    for line in TABLE.splitlines():
        found = re.fullmatch(r"(.+?) (=|->|~>|!>) (.+)", line)
        if found and not line.startswith("#"):
            yield found[1], found[2], tuple(found[3].split(" | "))


ROWS = list(rows())
READ = [(text, said[0]) for text, how, said in ROWS if how == "="]
ANSWERED = [(text, how, said) for text, how, said in ROWS if how in ("->", "~>")]
IN_WORDS = [(text, said[0]) for text, how, said in ROWS if how == "!>"]
ALSO = "` and, on a line of its own, `"


def written(hint: str) -> tuple[str, ...]:
    """The statements that a hint gives to write."""
    return tuple(re.findall(r"`([^`]+)`", hint.replace(ALSO, " & ")))


def test_the_table_is_whole(report: Callable[[str], None]) -> None:
    lines = [line for line in TABLE.splitlines() if line and not line.startswith("#")]
    assert len(ROWS) == len(lines)
    assert len({text for text, _, _ in ROWS}) == len(ROWS) >= 150
    report(f"{len(ROWS)} phrases of the trade: {len(READ)} read, {len(ANSWERED)} answered with what to write")


@pytest.mark.parametrize(("text", "said"), READ, ids=[text for text, _ in READ])
def test_a_phrase_that_is_read(text: str, said: str) -> None:
    found = read_statements(Source("plan.tpg", f"{text}\n"))
    assert [one.message for one in found.diagnostics] == []
    assert [write_statement(one) for one in found.text.statements] == [said]


@pytest.mark.parametrize(("text", "how", "said"), ANSWERED, ids=[text for text, _, _ in ANSWERED])
def test_a_phrase_that_is_answered(text: str, how: str, said: tuple[str, ...]) -> None:
    found = read_plan(Source("plan.tpg", f"{PLAN}{text}\n"))
    hints = [written(one.mend) for one in found.diagnostics]
    assert hints == [said]
    example = found.diagnostics[0].mend.startswith("write it whole, such as `")
    assert ("~>" if example else "->") == how


@pytest.mark.parametrize(("text", "said"), IN_WORDS, ids=[text for text, _ in IN_WORDS])
def test_a_phrase_of_which_no_statement_says_all(text: str, said: str) -> None:
    found = read_plan(Source("plan.tpg", f"{PLAN}{text}\n"))
    assert [one.mend for one in found.diagnostics] == [said]


@pytest.mark.parametrize("said", sorted({one for _, _, said in ANSWERED for one in said}))
def test_what_a_hint_gives_to_write_is_read_in_the_plan(said: str) -> None:
    said = said.replace("LEAD", "G1").replace("POINT", "K1", 1).replace("POINT", "212 A")
    found = read_plan(Source("plan.tpg", PLAN + said.replace(" & ", "\n") + "\n"))
    assert [(one.message, one.mend) for one in found.diagnostics] == []


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("brief smith", "undeclared-name"),
        ("brief K1", "wrong-kind"),
        ("inspect gx", "undeclared-name"),
        ("tag SW42", "undeclared-name"),
        ("attach g1 to 212 A", "undeclared-name"),
        ("discharge G1 by H1", "wrong-kind"),
    ],
)
def test_a_slip_in_a_name_is_no_phrase_of_the_trade(text: str, code: str) -> None:
    found = read_plan(Source("plan.tpg", f"{PLAN}{text}\n"))
    assert [one.code for one in found.diagnostics] == [code]
