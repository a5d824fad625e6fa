"""A lead that carries the rating of its label, as IEC 61230 has it, and no grade of ASTM F855."""

from __future__ import annotations

import math

import pytest

from groundlint.electrical.study.ratings import rating_of
from groundlint.language.nodes import NOWHERE
from groundlint.plan.models import Lead
from groundlint.values import Bounds, Unknown


def lead(**said: object) -> Lead:
    given = {"size": "50 mm2", "area": 50e-6, "metal": "copper", "rated": (9.9e3, 1.0)} | said
    return Lead(name="Z1", span=NOWHERE, **given)


@pytest.mark.parametrize(("time", "current"), [(1.0, 9.9e3), (0.1, 9.9e3), (4.0, 4.95e3), (2.0, 9.9e3 / math.sqrt(2))])
def test_it_carries_its_current_for_its_time_and_the_same_heat_for_longer(time: float, current: float) -> None:
    rating, words = rating_of(lead(), time, 9.0)
    assert rating == pytest.approx(current)
    assert words == "its label, 9.9 kA for 1 s"


def test_leads_that_share_carry_a_tenth_less() -> None:
    assert rating_of(lead(), 1.0, 9.0, gang=2)[0] == pytest.approx(0.9 * 9.9e3)


def test_it_says_nothing_of_a_fault_that_lasts() -> None:
    assert isinstance(rating_of(lead(), 5.1, 9.0)[0], Unknown)


def test_a_current_without_end_is_held_against_what_its_cable_carries_for_good() -> None:
    assert rating_of(lead(), math.inf, 9.0)[0] == 200.0  # ASTM F855 Table 1, 2 AWG copper; this one is 35 mm2


def test_a_label_is_believed_no_further_than_the_cable() -> None:
    rating, _ = rating_of(lead(rated=(90e3, 1.0)), 1.0, 9.0)
    bound, _ = rating_of(lead(rated=None), 1.0, 9.0)
    assert isinstance(bound, Bounds)
    assert rating == pytest.approx(bound.high)


@pytest.mark.parametrize(("rated", "by"), [((90e3, 1.0), "F855"), ((1e3, 1.0), "its label, 1 kA for 1 s")])
def test_of_grade_and_label_the_lower_counts(rated: tuple[float, float], by: str) -> None:
    by_grade = rating_of(lead(grade="3", rated=None), 0.25, 0.0)
    rating, words = rating_of(lead(grade="3", rated=rated), 0.25, 0.0)
    assert by in words
    assert rating == min(by_grade[0], rated[0])


def test_a_label_says_what_a_grade_does_not_of_a_fault_longer_than_its_table() -> None:
    """ASTM F855 Table 1 ends at 30 cycles; no more than the grade stands there counts."""
    assert isinstance(rating_of(lead(grade="3", rated=None), 2.0, 0.0)[0], Bounds)
    assert rating_of(lead(grade="3"), 2.0, 0.0)[0] == pytest.approx(9.9e3 / math.sqrt(2))
    assert isinstance(rating_of(lead(grade="3", rated=(90e3, 1.0)), 2.0, 0.0)[0], float)
    assert rating_of(lead(grade="3", rated=(90e3, 1.0)), 2.0, 0.0)[0] < 90e3 / math.sqrt(2)
    assert isinstance(rating_of(lead(grade="3"), 6.0, 0.0)[0], Bounds)


@pytest.mark.parametrize(("time", "share"), [(2.0, 0.5), (8.0, 0.25), (0.5, 1.0)])
def test_a_grade_stands_at_least_the_same_heat_for_longer_than_its_table(time: float, share: float) -> None:
    """Of a conductor that loses no heat the final temperature follows from I2t alone, IEEE 80-2013 11.3.1.1 (from
    memory); one that does lose some stays cooler."""
    at_end = rating_of(lead(grade="3", rated=None), 0.5, 0.0)[0]
    rating = rating_of(lead(grade="3", rated=None), time, 0.0)[0]
    assert isinstance(at_end, float)
    low = rating.low if isinstance(rating, Bounds) else rating
    assert low == pytest.approx(share * at_end)


def test_a_grade_stands_what_it_carries_for_good_however_long_it_lasts() -> None:
    rating = rating_of(lead(grade="3", rated=None), 36e3, 0.0)[0]
    assert isinstance(rating, Bounds)
    assert rating.low == rating_of(lead(grade="3", rated=None), math.inf, 0.0)[0]
