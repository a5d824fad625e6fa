"""At which kinds of step a rule that asks at every step can ask anything."""

from __future__ import annotations

from groundlint.rulebook.core import (
    After,
    And,
    Call,
    Condition,
    Did,
    Formula,
    Not,
    Or,
    Some,
    kinds_of_step,
)

ENTER, MOVE, CUT = Did("enter", ()), Did("move", ()), Did("cut", ())
CONDITIONS = {"goes": Condition("goes", (), Or((ENTER, MOVE)))}


def kinds(of: Formula) -> set[str] | None:
    found = kinds_of_step(of, CONDITIONS)
    return None if found is None else set(found)


def test_a_step_and_what_narrows_it() -> None:
    assert kinds(ENTER) == {"enter"}
    assert kinds(Or((ENTER, MOVE))) == {"enter", "move"}
    assert kinds(And((Call("goes", ()), Or((MOVE, CUT)), Not(CUT)))) == {"move"}
    assert kinds(And((ENTER, CUT))) == set()


def test_what_may_hold_at_any_step_is_not_narrowed() -> None:
    assert kinds(Not(ENTER)) is None
    assert kinds(Or((ENTER, Not(MOVE)))) is None
    assert kinds(After(ENTER)) is None
    assert kinds(And((Not(ENTER), Not(MOVE)))) is None


def test_a_quantifier_may_be_unknown_at_any_step() -> None:
    """Where not everybody is stated, somebody may be meant at each."""
    assert kinds(Some("who", "person", ENTER, MOVE)) is None
    assert kinds(And((ENTER, Some("who", "person", None, MOVE)))) == {"enter"}
