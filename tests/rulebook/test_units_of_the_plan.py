"""Messages say a plan's values as it writes them, and other values in the units that it uses."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from crowd import reviewer

from groundlint.rulebook.written import Written
from groundlint.text import Source
from groundlint.values.units import Quantity, parse_quantity

PLAN = (Path(__file__).parents[1] / "rules" / "sound_practice" / "own-cutout-no-clearance.tpg").read_text("utf-8")
FEET = re.compile(r"([0-9.]+) ft")


def reviewed(text: str) -> list[str]:
    review = reviewer().review(Source("plan.tpg", text))
    return [f"{finding.message}; {finding.mend}" for finding in review.findings]


def changed(text: str, one: str, other: str) -> str:
    assert text.count(one) == 1
    return text.replace(one, other)


def test_a_value_is_said_as_the_plan_writes_it() -> None:
    said = reviewed(changed(PLAN, "set R at 3, 16 ft", "set R at 3, 4.2 m"))
    assert "R is set 4.2 m from 3, nearer than 15 ft; set R 15 ft or more from 3" in said


def test_a_plan_in_metres_is_answered_in_metres() -> None:
    metric = FEET.sub(lambda feet: f"{float(feet[1]) * 0.3:.4g} m", PLAN).replace("5/8 in", "16 mm")
    said = reviewed(changed(metric, "set R at 3, 4.8 m", "set R at 3, 4.2 m"))
    assert "R is set 4.2 m from 3, nearer than 15 ft (4.572 m); set R 15 ft (4.572 m) or more from 3" in said


def test_what_is_computed_of_stated_values_is_in_feet_for_who_writes_feet() -> None:
    said = reviewed(changed(PLAN, "7.5 ft deep", "6 ft deep"))
    assert any("2 ft of it stands out of the soil, more than 1 ft" in message for message in said)


def stated(*texts: str) -> Written:
    read = [parse_quantity(text) for text in texts]
    return Written([one for one in read if isinstance(one, Quantity)])


@pytest.mark.parametrize(
    ("texts", "unit", "dimension", "said"),
    [
        (("4 m", "16 mm"), "ft", "length", "m"),
        (("4 m", "6 ft"), "ft", "length", "ft"),
        (("4 m", "5/8 in"), "ft", "length", "ft"),
        (("6 ft 4 in",), "ft", "length", "ft"),
        ((), "ft", "length", "ft"),
        (("95 mm2",), "kcmil", "area", "mm2"),
        (("95 mm2", "336.4 kcmil"), "kcmil", "area", "kcmil"),
        (("4 m",), "kA", "current", "kA"),
    ],
)
def test_a_unit_is_metric_for_who_writes_no_other(texts: tuple[str, ...], unit: str, dimension: str, said: str) -> None:
    assert stated(*texts).unit(unit, dimension) == said


def test_a_value_that_a_plan_writes_twice_is_said_as_it_stands_first() -> None:
    written = stated("180 in", "15 ft", "0 m")
    assert written.exactly(4.572, "length") == "180 in"
    assert written.exactly(0.0, "length") == ""
    assert written.exactly(4.572, "resistance") == ""
