"""What a part of a job begins with stands at position 0; what it leaves is named with its clearance."""

from __future__ import annotations

import pytest
from crowd import reviewer

from groundlint.plan.models import Lead, Person, PlanResult, PointRef, Rod
from groundlint.reading.resolve import read_plan
from groundlint.text import Source
from groundlint.timeline import replay
from groundlint.values import TRUE

PLAN = """\
part 2 of 3
line Larkspur
  phases A B C
  neutral N
  route 211 (52 m) 212 (48 m) 213
structure 211..213 wood pole
rod R1 R2 6 ft x 5/8 in
bar K1
lead G1..G3 2/0 copper 25 ft
crew lineman L1
begins with clearance of L1
begins with R1 at 212, 16 ft from the pole, 6 ft deep
begins with K1 at 212 below the feet
begins with G1 from R1 to K1
begins with G2 from K1 to 212 A
begins with cut 212 B
leaves G1 R1 on under the clearance of L1
1. detach G2 from 212 A by hand, then from K1
"""


def read(text: str = PLAN) -> PlanResult:
    return read_plan(Source("plan.tpg", text))


def named(found: PlanResult, name: str) -> object:
    return next(thing for thing in found.plan.things if thing.name == name)


def test_all_that_the_part_before_has_left_stands_at_the_beginning() -> None:
    found = read()
    assert found.diagnostics == ()
    plan, timeline = found.plan, replay(found.plan)
    assert timeline.problems == ()
    assert plan.part == (2, 3)
    rod, lead, second, tower = (named(found, name) for name in ("R1", "G1", "G2", "212"))
    assert isinstance(rod, Rod)
    assert isinstance(lead, Lead)
    assert isinstance(second, Lead)
    point = PointRef("conductor", tower, plan.line.phases[0])  # type: ignore[arg-type,index,union-attr]
    assert timeline.n == 2
    assert timeline.grounded(0, point) is TRUE
    assert len(timeline.ends(0, lead)) == 2
    assert timeline.rod_set(0, rod).depth == pytest.approx(1.8288)  # type: ignore[union-attr]
    assert timeline.clearance(0, named(found, "L1")) == "received"  # type: ignore[arg-type]
    assert timeline.cut(0, tower, plan.line.phases[1])  # type: ignore[arg-type,index,union-attr]
    assert not timeline.holds(0, point)  # a test of the day before shows nothing
    assert timeline.ends(2, second) == ()
    assert timeline.grounded(2, point) is not TRUE
    assert plan.step(timeline.rod_set(0, rod).index).span.line == 12  # type: ignore[union-attr]


def test_what_is_left_is_named_with_whose_clearance_it_stands_under() -> None:
    found = read()
    holder = named(found, "L1")
    assert isinstance(holder, Person)
    assert [(left.thing.name, left.holder) for left in found.plan.leaves] == [("G1", holder), ("R1", holder)]


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("part 2 of 3\n", "", "begins-without-part"),
        ("part 2 of 3", "part 1 of 3", "begins-without-part"),
        ("part 2 of 3", "part 3 of 3", "leaves-to-no-part"),
        ("part 2 of 3", "part 4 of 3", "no-such-part"),
        ("part 2 of 3", "part 0", "no-such-part"),
        ("part 2 of 3", "part 1.5", "no-such-part"),
        ("begins with G1 from R1 to K1", "begins with G1", "lead-without-points"),
        ("begins with G1 from R1 to K1", "begins with T7 from R1 to K1", "undeclared-name"),
    ],
)
def test_a_part_that_cannot_be_is_not_read(old: str, new: str, code: str) -> None:
    found = read(PLAN.replace(old, new))
    assert code in [d.code for d in found.diagnostics]
    assert found.plan.unread


def test_what_cannot_stand_at_the_beginning_is_said_at_its_line() -> None:
    found = read(PLAN.replace("from R1 to K1", "from R2 to K1"))
    assert [(d.code, d.span.line) for d in replay(found.plan).problems] == [("rod-not-set", 14)]


def test_the_review_lists_what_is_left() -> None:
    from groundlint.report.text import review_text

    by = reviewer(computed=True)
    review = by.review(Source("plan.tpg", PLAN))
    text = review_text(review)
    assert "Left on for the next part of the job, which begins with it:\n  G1, R1, under the clearance of L1\n" in text
    assert not any(f.slug == "every-ground-accounted" for f in review.findings)
    without = by.review(Source("plan.tpg", PLAN.replace("begins with clearance of L1\n", "")))
    assert any(f.slug == "every-ground-accounted" for f in without.findings)
