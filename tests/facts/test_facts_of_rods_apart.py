"""How far rods are from one another: as either step says, and not known where neither does or the two differ."""

from __future__ import annotations

import pytest
from asked_plans import Asked

from groundlint.values import Unknown

HEAD = """\
line Larkspur
  phases A
  route 211 (50 m) 212
given gap as length
rod R1 R2 R3 6 ft x 5/8 in
"""
FEET = 0.3048


def asked(*steps: str) -> Asked:
    found = Asked(HEAD + "".join(f"{step}\n" for step in steps))
    assert not found.result.diagnostics
    return found


@pytest.mark.parametrize(
    "steps",
    [
        ("set R1 at 211", "set R2 at 211, 7 ft from R1"),
        ("set R1 at 211, 7 ft from R2", "set R2 at 211"),
        ("set R1 at 211, 7 ft from R2", "set R2 at 211, 84 in from R1"),
    ],
)
def test_either_step_may_say_it(steps: tuple[str, ...]) -> None:
    plan = asked(*steps)
    assert plan.ask("apart", "R1", "R2") == pytest.approx(7 * FEET)
    assert plan.ask("apart", "R2", "R1") == pytest.approx(7 * FEET)
    assert plan.ask("apart", "R1", "R2", at=1) is None
    assert plan.ask("apart", "R1", "R3") is None
    assert plan.ask("apart", "R1", "R1") is None


@pytest.mark.parametrize("said", ["", ", 7 ft from R3", ", given gap from R1"])
def test_what_no_step_says_is_not_known(said: str) -> None:
    found = asked("set R3 at 211", "set R1 at 211", f"set R2 at 211{said}").ask("apart", "R1", "R2")
    assert isinstance(found, Unknown)
    assert found.gaps[0].write == "set R2 at 212, 7 ft from R1"


def test_steps_that_differ_settle_nothing() -> None:
    plan = asked("set R1 at 211, 7 ft from R2", "set R2 at 211, 5 ft from R1")
    assert isinstance(plan.ask("apart", "R1", "R2"), Unknown)
