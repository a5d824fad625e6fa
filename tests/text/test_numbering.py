"""Numbers of steps: how procedures write them (common practice, no source), and in which order they are."""

from __future__ import annotations

import re

import pytest

from groundlint.language.reader import read_statements
from groundlint.reading.resolve import read_plan
from groundlint.text import Source
from groundlint.text.edits import lead_between, number_of
from groundlint.text.numbering import WRITTEN, bare, order_of


@pytest.mark.parametrize(
    "written",
    [
        *["4.", "4)", "4a.", "4a)", "3.2", "3.2.", "3.2.1", "3.2.1)", "3.2b", "2.a.", "2.a"],
        *["4", "4a", "4:", "4a.1", "4a.1.", "Step 4", "step 4.", "Step 4:", "Step 3.2"],
    ],
)
def test_a_number_is_read_with_its_step(written: str) -> None:
    read = read_statements(Source("plan.tpg", f"  {written} open SW1\n"))
    assert not read.diagnostics
    (step,) = read.text.statements
    assert step.number == bare(written)  # type: ignore[attr-defined]
    assert step.span.text == "open SW1"


@pytest.mark.parametrize("other", ["4", "4.open", "a.", "4..1", "4.1.", "1.2.3.4.5.6.7", "4 213", "4 (48 m)", "Step"])
def test_what_could_be_something_else_is_no_number(other: str) -> None:
    found = re.fullmatch(WRITTEN, other)
    assert (found is not None) == (other == "4.1.")


def test_numbers_rise() -> None:
    rising = [
        "1",
        "1.1",
        "1.1.1",
        "1.2",
        "1.10",
        "2",
        "2a",
        "2a.1",
        "2b",
        "2.a",
        "2.b",
        "3",
        "3.2",
        "3.2a",
        "3.3",
        "10",
    ]
    orders = [order_of(one) for one in rising]
    assert orders == sorted(set(orders))


@pytest.mark.parametrize(
    ("above", "beside", "between"),
    [
        ("7", "  8. ", "7a"),
        ("7a", "  8. ", "7b"),
        ("3.2", "  3.3 ", "3.2a"),
        ("3.2a", "  3.3. ", "3.2b"),
        ("2.a", " 2.b. ", "2.aa"),
        ("36d", " 36e. ", "36d.1"),
        ("36d.1", " 36e. ", "36d.1a"),
        ("7", " 8: ", "7a"),
    ],
)
def test_a_step_put_in_between_is_numbered_so(above: str, beside: str, between: str) -> None:
    lead = lead_between(beside, above)
    assert number_of(lead) == between
    assert lead.rstrip()[-1] == (beside.strip()[-1] if beside.strip()[-1] in ".:" else between[-1])
    assert order_of(above) < order_of(between) < order_of(bare(beside.strip()))


def test_where_no_number_is_between_none_is_given() -> None:
    assert number_of(lead_between("  7a. ", "7")) is None


def test_numbers_of_levels_are_held_to_their_order() -> None:
    body = 'plan "x"\nswitch SW1\ncrew lineman L1\nstage isolate\n  1.2. open SW1\n  {} brief L1\n'
    codes = [
        [one.code for one in read_plan(Source("p.tpg", body.format(n))).diagnostics] for n in ("1.10", "1.1", "1.2")
    ]
    assert ["numbers-not-rising" in one for one in codes] == [False, True, True]
