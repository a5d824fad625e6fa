"""Facts about capacitors: off the line since when, waited for how long, discharged; and what a step that names none
leaves open."""

from __future__ import annotations

import pytest
from asked_plans import Asked
from hypothesis import given
from hypothesis import strategies as st

from groundlint.values import Unknown

HEAD = """\
line Larkspur
  phases A B C
  route 211 (50 m) 212
given pause as time
given spare as capacitor
capacitor CB1 CB2 at 212
capacitor CB3
stick H1 8 ft
"""


def asked(*steps: str) -> Asked:
    found = Asked(HEAD + "".join(f"{step}\n" for step in steps))
    assert not found.result.diagnostics
    return found


def test_a_capacitor_is_where_the_plan_says() -> None:
    plan = asked()
    assert plan.ask("structure", "CB1") == "212"
    where = plan.ask("structure", "CB3")
    assert isinstance(where, Unknown)
    assert where.gaps[0].write == "capacitor CB3 at 212"


def test_a_capacitor_is_disconnected_and_discharged_by_the_steps_that_name_it() -> None:
    plan = asked("disconnect capacitor CB1", "wait 5 min", "discharge CB1 by H1")
    assert [plan.ask("disconnected", "CB1", at=at) for at in range(4)] == [False, True, True, True]
    assert [plan.ask("discharged", "CB1", at=at) for at in range(4)] == [False, False, False, True]
    assert not plan.ask("disconnected", "CB2")
    assert not plan.ask("discharged", "CB2")


def test_what_is_discharged_while_it_is_connected_is_not_discharged() -> None:
    plan = asked("discharge CB1 by H1", "disconnect capacitor CB1")
    assert plan.ask("discharged", "CB1") is False


def test_waits_count_from_the_step_that_disconnects() -> None:
    plan = asked("wait 10 min", "disconnect capacitor CB1", "wait 90 s", "disconnect capacitor CB2", "wait 2 min")
    since = [plan.ask("time-since-disconnected", "CB1", at=at) for at in range(6)]
    assert since == [None, None, 0.0, 90.0, 90.0, 210.0]
    assert plan.ask("time-since-disconnected", "CB2") == 120.0
    assert plan.ask("time-since-disconnected", "CB3") is None


def test_a_wait_of_no_stated_length_leaves_the_time_open_from_there_on() -> None:
    plan = asked("disconnect capacitor CB1", "wait 5 min", "wait given pause", "disconnect capacitor CB2", "wait 1 min")
    assert plan.ask("time-since-disconnected", "CB1", at=2) == 300.0
    open_ = plan.ask("time-since-disconnected", "CB1")
    assert isinstance(open_, Unknown)
    assert open_.gaps[0].fact == "how long the wait is"
    assert plan.ask("time-since-disconnected", "CB2") == 60.0


@pytest.mark.parametrize("fact", ["disconnected", "time-since-disconnected"])
def test_a_step_that_disconnects_no_capacitor_named_may_mean_each(fact: str) -> None:
    plan = asked("wait 1 min", "disconnect capacitor spare", "disconnect capacitor CB2")
    assert not plan.ask(fact, "CB1", at=1)
    assert isinstance(plan.ask(fact, "CB1"), Unknown)
    assert not isinstance(plan.ask(fact, "CB2"), Unknown)


def test_a_step_that_discharges_no_capacitor_named_may_mean_each() -> None:
    plan = asked("disconnect capacitor CB1 CB2", "discharge CB1 by H1", "discharge spare by H1")
    assert plan.ask("discharged", "CB1") is True
    assert isinstance(plan.ask("discharged", "CB2"), Unknown)


@given(st.lists(st.integers(0, 3600), max_size=6), st.integers(0, 6))
def test_the_time_is_the_sum_of_the_waits_after_it(seconds: list[int], before: int) -> None:
    steps = [f"wait {value} s" for value in seconds]
    steps.insert(min(before, len(steps)), "disconnect capacitor CB1")
    assert asked(*steps).ask("time-since-disconnected", "CB1") == sum(seconds[before:])
