"""Rules that were never asked are no evidence: the review says which danger rules they are, and what was lacking."""

from __future__ import annotations

from pathlib import Path

from crowd import reviewer

from groundlint.findings.model import Kind, Review
from groundlint.report.text import review_text
from groundlint.text import Severity, Source
from groundlint.values import Truth

EXAMPLE = Path(__file__).parents[2] / "examples" / "single-point-insulator.tpg"
REACHED = "the person can reach a conductor of the line"


def reviewed(text: str) -> Review:
    return reviewer(computed=True).review(Source("plan.tpg", text))


def out_of_reach() -> str:
    lines = EXAMPLE.read_text("utf-8").split("\n")
    return "\n".join(line.partition(", reaching")[0] + ", reaching nothing" * (", reaching" in line) for line in lines)


def test_each_danger_rule_that_never_applied_is_named_once_with_what_was_lacking() -> None:
    review = reviewed(EXAMPLE.read_text("utf-8"))
    groups = review.never_asked()
    named = [slug for one in groups for slug in one.rules]
    assert sorted(named) == sorted(
        one.rule.slug for one in review.outcomes if one.truth is None and one.rule.level is Severity.DANGER
    )
    assert all(one.lacking for one in groups)
    assert REACHED not in {one.lacking for one in groups}
    assert all(not one.never for one in review.outcomes if one.truth is Truth.TRUE)


def test_work_out_of_everybodys_reach_is_not_shown_and_what_nobody_asked_is_said() -> None:
    review = reviewed(out_of_reach())
    (said,) = [one for one in review.findings if one.kind is Kind.UNSHOWN]
    assert (said.slug, said.level) == ("line-in-somebodys-reach", Severity.DANGER)
    assert review.status() == 2
    lacking = {one.lacking: one.rules for one in review.never_asked()}
    assert "worker-inside-zone" in lacking[REACHED]
    assert f"{len(lacking[REACHED])} rules: {REACHED}" in review_text(review)


def test_a_condition_that_compares_is_said_in_words() -> None:
    review = reviewed(EXAMPLE.read_text("utf-8"))
    assert "the method of the plan is dual-point" in {one.lacking for one in review.never_asked()}
