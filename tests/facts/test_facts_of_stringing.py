"""How far a conductor that is pulled in runs from its grounds, along spans whose lengths are stated."""

from __future__ import annotations

import pytest
from asked_plans import Asked
from hypothesis import given
from hypothesis import strategies as st

from groundlint.values import Unknown

HEAD = """\
line Larkspur
  phases A B
  neutral N multigrounded
  route {route}
structure 1 2 3 4 5 wood pole
lead G1..G5 2/0 copper 25 ft
"""
ROUTE = "1 (100 m) 2 (200 m) 3 (400 m) 4 (50 m) 5"


def asked(*steps: str, route: str = ROUTE) -> Asked:
    found = Asked(HEAD.format(route=route) + "".join(f"{step}\n" for step in steps))
    assert not found.result.diagnostics
    return found


def ground(lead: str, structure: int) -> str:
    return f"attach {lead} to {structure} N, then to {structure} A by hand"


@pytest.mark.parametrize(
    ("at", "farthest"),
    [((1,), 750), ((2,), 650), ((3,), 450), ((5,), 750), ((1, 5), 375), ((1, 3, 5), 225), ((2, 4), 300), ((), None)],
)
def test_the_farthest_point_is_at_an_end_or_half_way_between_grounds(at: tuple[int, ...], farthest: int | None) -> None:
    plan = asked(*(ground(f"G{number}", structure) for number, structure in enumerate(at, 1)))
    assert plan.ask("farthest-from-ground", "3 A point") == farthest
    assert plan.ask("farthest-from-ground", "3 B point") is None


@pytest.mark.parametrize("route", ["1 (100 m) 2 3 (400 m) 4 (50 m) 5", "1 (100 m) 2 (200 m) 3 (400 m) 4 5"])
def test_a_span_without_its_length_leaves_it_open(route: str) -> None:
    found = asked(ground("G1", 3), route=route).ask("farthest-from-ground", "3 A point")
    assert isinstance(found, Unknown)
    assert found.gaps[0].fact.startswith("the length of the span from")


def test_an_opening_ends_what_is_pulled_in() -> None:
    plan = asked("cut 4 A", ground("G1", 3))
    assert plan.ask("farthest-from-ground", "3 A point") == 400
    assert plan.ask("farthest-from-ground", "5 A point") is None


@given(st.sets(st.integers(1, 5), min_size=1), st.integers(1, 5))
def test_a_ground_more_brings_none_farther(at: set[int], more: int) -> None:
    one = asked(*(ground(f"G{n}", n) for n in sorted(at))).ask("farthest-from-ground", "3 A point")
    two = asked(*(ground(f"G{n}", n) for n in sorted(at | {more}))).ask("farthest-from-ground", "3 A point")
    assert isinstance(one, float)
    assert isinstance(two, float)
    assert two <= one
