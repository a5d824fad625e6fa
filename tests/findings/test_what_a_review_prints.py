"""What a review prints for people: what is broken at one step stands together, what is not stated is asked for once."""

from __future__ import annotations

from crowd import reviewer_by

from groundlint.drafting.skeleton import skeleton
from groundlint.findings.model import Kind, Review
from groundlint.report.text import review_text
from groundlint.text import Source

BROKEN = """\
plan "Two mistakes at one step"
line L
  voltage 12.47 kV
  phases A B C
  route S1 S2
rod R1 R2 8 ft x 5/8 in
stage ground
  1. set R1 at S1, 4 ft from the pole, 4 ft deep
  2. set R2 at S1, 4 ft from the pole, 8 ft deep
"""


def reviewed(text: str) -> Review:
    return reviewer_by("practice").review(Source("plan.tpg", text))


def test_a_plan_with_nothing_broken_is_a_form_and_no_list_of_lines() -> None:
    review = reviewed(skeleton("single-point", "pole"))
    assert {finding.kind for finding in review.findings} == {Kind.UNSHOWN}
    printed = review_text(review)
    assert "not shown: the plan does not state" not in printed
    assert printed.startswith("To state: ")
    assert "more; --ask shows all" not in printed
    for ask in review.asks():
        assert printed.count(f"{ask.fact} [") == 1
    assert "not shown: the plan does not state" in review_text(review, everything=True)
    assert "not shown: the plan does not state" in review_text(review, why=True)


def test_the_gravest_of_what_is_not_stated_is_asked_first() -> None:
    levels = [ask.level for ask in reviewed(skeleton("single-point", "pole")).asks()]
    assert levels == sorted(levels, reverse=True)


def test_what_is_broken_at_one_step_stands_under_the_gravest_of_it() -> None:
    review = reviewed(BROKEN)
    at_step = [one for one in review.findings if one.kind is Kind.BROKEN and one.span.line == 8]
    assert len({one.slug for one in at_step}) > 1
    printed = review_text(review)
    assert printed.count("plan.tpg:8:") == 1
    gravest = max(at_step, key=lambda one: one.level)
    assert f"plan.tpg:8:6: {gravest.level.word}: {gravest.message}" in printed
    for one in at_step:
        assert f"{one.message} [{one.slug}]" in printed
        assert f"next: {one.mend}" in printed
    assert "\n    also in line 9: R2 is set 4 ft from S1" in printed.replace("\n      also", "\n    also")


def test_the_last_lines_name_the_lines_to_change() -> None:
    assert "\nTo change: lines 8, 9\n" in review_text(reviewed(BROKEN))
    assert "To change" not in review_text(reviewed(skeleton("single-point", "pole")))
