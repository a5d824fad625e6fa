"""What was computed of a plan reaches the briefing whole: bounds, reasons, limits, and the end that counts."""

from __future__ import annotations

import math

import pytest
from briefing_plans import EXAMPLES, example, long_plan, review_of
from drawn_labels import labels, overlaps
from hypothesis import given
from hypothesis import strategies as st

from groundlint.electrical.physics.body import CRITERIA
from groundlint.facts import PlanTrace
from groundlint.findings.model import Review
from groundlint.plan.models import Lead
from groundlint.report.brief import Electrical, brief_html
from groundlint.report.brief.chart import Chart, Mark, draw_chart, worst_of
from groundlint.report.brief.computed import Limit, electrical_of, limit_of
from groundlint.report.brief.drawing import draw
from groundlint.report.brief.page import Brief
from groundlint.report.brief.results import Duty, Exposure, gravity, is_known, share_of
from groundlint.values import Bounds, Gap, Unknown
from groundlint.values.bounds import ends
from groundlint.words.quantities import in_words

GAPS = (Gap("the contact resistance", "contact 0.2 mohm"),)


def trace(review: Review) -> PlanTrace:
    assert review.trace is not None
    return review.trace


def test_exposures_are_those_of_the_study_held_against_the_limit() -> None:
    review = example("dual-point-crossarm.tpg")
    found = electrical_of(trace(review))
    assert found.missing == ""
    assert {one.worker for one in found.exposures} == {"Heron", "Rook"}
    people = {person.name: person for person in trace(review).people}
    sources = {source.name: source for source in trace(review).sources}
    for one in found.exposures:
        own = trace(review).exposure(people[one.worker], sources[one.source.split()[0]], one.at)
        assert own is not None
        assert not isinstance(own, Unknown)
        assert one.volts == own.voltage
        assert not isinstance(own.time, Unknown)
        assert not isinstance(one.limit, Unknown)
        assert ends(one.limit)[0] == pytest.approx(0.116 / math.sqrt(ends(own.time)[1]) * 1000.0)
        assert gravity(one.share)[0] == 0


def test_duties_are_the_worst_over_the_sources() -> None:
    review = example("dual-point-crossarm.tpg")
    duties = {duty.lead: duty for duty in electrical_of(trace(review)).duties}
    assert list(duties) == [lead.name for lead in review.plan.of(Lead)]
    for lead in trace(review).all(Lead):
        every = [trace(review).lead_duty(lead, source) for source in trace(review).sources]
        tops = [ends(one.loading)[1] for one in every if one is not None and not isinstance(one, Unknown | None)]
        loading = duties[lead.name].loading
        assert loading is not None
        assert not isinstance(loading, Unknown)
        assert ends(loading)[1] == max(tops)
        assert duties[lead.name].basis.startswith("grade 3")


def test_the_page_of_computed_values() -> None:
    review = example("dual-point-crossarm.tpg")
    page = brief_html(review, "0", electrical_of(trace(review)))
    assert "within the limit" in page
    assert "through 1000 ohm of body" in page
    assert "IEEE 80-2000" in page
    assert "resistance of rod R1" in page
    assert "Values assumed between bounds" in page
    assert "wood pole resistance" in page
    assert 'class="status not-shown"' not in page


def without_a_size() -> Review:
    """A plan that does not say what its shield wire is made of."""
    text = (EXAMPLES / "steel-shield-wire.tpg").read_text(encoding="utf-8")
    assert ", OGW 3/0 acsr" in text
    return review_of(text.replace(", OGW 3/0 acsr", ""), "examples/steel-shield-wire.tpg")


def test_what_the_plan_does_not_say_is_named_and_nothing_is_made_up() -> None:
    review = without_a_size()
    found = electrical_of(trace(review))
    assert all(isinstance(one.volts, Unknown) for one in found.exposures)
    page = brief_html(review, "0", found)
    assert "the size and kind of conductor OGW (write `wires OGW 336.4 kcmil acsr`)" in page
    assert "within the limit" not in page.replace("within the limit of", "")


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ('plan "x"\nstage a\n  1. note "n"\n', "not stated"),
        ("line L\n  phases A B C\n  route S1 (50 m) S2\n", "no source is stated"),
    ],
)
def test_where_nothing_can_be_computed_the_page_says_why(text: str, why: str) -> None:
    found = electrical_of(trace(review_of(text)))
    assert why in found.missing
    assert why in brief_html(review_of(text), "0", found)


def test_a_lead_that_is_never_on_has_no_duty_and_says_so() -> None:
    review = review_of(long_plan().replace("attach LEAD-0-1 to", "clean").replace("attach LEAD-0-2", "attach LEAD-0-3"))
    duties = {duty.lead: duty for duty in electrical_of(trace(review)).duties}
    assert isinstance(duties["LEAD-0-2"].amps, Unknown)
    rated = Brief(review, electrical_of(trace(review))).page("0").rated
    assert any("LEAD-0-2" in row.lead and row.verdict.startswith("not shown") for row in rated)


def test_the_limit_is_that_of_the_books_setting() -> None:
    assert limit_of([]) == Limit("dalziel-50kg", 1000.0)
    assert limit_of([("exposure-limit", "iec-c1"), ("body-resistance", 500.0)]) == Limit("iec-c1", 500.0)
    assert limit_of([("exposure-limit", "no-such"), ("body-resistance", "x")]) == Limit("dalziel-50kg", 1000.0)
    review = example("dual-point-crossarm.tpg")
    by_voltage = electrical_of(trace(review), Limit("doe-voltage")).exposures[0]
    assert by_voltage.limit == 75.0
    for name in CRITERIA:
        assert CRITERIA[name].meaning in Limit(name).words


def test_bounds_on_both_sides_of_the_limit_are_not_shown_and_say_what_to_measure() -> None:
    review = example("dual-point-crossarm.tpg")
    brief = Brief(review, Electrical())
    at = next(step.first for step in brief.steps if step.number == "22")

    def row(value: object, limit: object = 100.0) -> tuple[str, str, str]:
        one = Exposure("Heron", at, value, limit)  # type: ignore[arg-type]
        shown = Brief(review, Electrical((one,))).page("0").exposed
        found = next(r for r in shown if r.worker == "Heron" and "22" in r.steps.split(" to "))
        return found.volts, found.verdict, found.why

    assert row(Bounds(40.0, 90.0, GAPS)) == ("40–90 V", "within the limit", "")
    assert row(Bounds(40.0, 120.0, GAPS))[1:] == ("not shown", "the contact resistance (write `contact 0.2 mohm`)")
    assert row(Bounds(110.0, 120.0, GAPS))[:2] == ("110–120 V", "over the limit")
    assert row(Bounds(3.0, math.inf, GAPS))[:2] == ("3 V or more", "not shown")
    assert row(90.0, Bounds(80.0, 100.0, GAPS))[1] == "not shown"
    assert row(70.0, Bounds(80.0, 100.0, GAPS))[1] == "within the limit"


def test_the_worst_step_is_not_reported_where_something_is_not_known() -> None:
    def mark(column: int, value: float | Unknown) -> Mark:
        return Mark(column, "Heron", value, 100.0, str(column), "work", "", "")

    def words(*marks: Mark) -> str:
        return Chart(tuple(m.step for m in marks), (), ("Heron",), marks, worst_of(marks)).worst_words

    low, high, missing = mark(0, 2.0), mark(1, 120.0), mark(2, Unknown(GAPS))
    assert words(low, high).startswith("step 1, work: Heron 120 V")
    assert words(low, missing).startswith(
        "not shown, since at 1 of 2 steps the voltage or its limit is not known; the worst"
    )
    assert words(missing) == "not shown, since at 1 of 1 steps the voltage or its limit is not known"
    assert words(high, missing).startswith("step 1, work: Heron 120 V")
    assert words(high, missing).endswith("and at 1 of 2 steps the voltage or its limit is not known")


def test_of_a_value_that_is_not_known_no_pair_is_the_worst() -> None:
    found = electrical_of(trace(without_a_size()))
    assert {(one.source, one.between) for one in found.exposures} == {("Basalt", ""), ("Cottonwood", "")}
    assert {duty.source for duty in found.duties} <= {"Basalt", "Cottonwood"}


def test_the_drawing_shows_the_duty_that_counts() -> None:
    review = example("dual-point-crossarm.tpg")
    duties = (
        Duty("G1", Bounds(900.0, 16000.0, GAPS), 14000.0),
        Duty("G2", Bounds(3.0, math.inf, GAPS), 14000.0),
        Duty("G3", 15000.0, Bounds(12000.0, 14000.0, GAPS)),
    )
    brief = Brief(review, Electrical(duties=duties))
    said = [one.text for svg in draw(brief.scene_at()) for one in labels(svg)]
    assert "≤16 kA" in said
    assert "15 kA" in said
    assert "12 kA" in said
    assert [pair for svg in draw(brief.scene_at()) for pair in overlaps(svg)] == []
    rated = {row.lead: row for row in brief.page("0").rated}
    assert rated["G1"].verdict == "not shown: the contact resistance (write `contact 0.2 mohm`)"
    assert rated["G2"].duty == "3 A or more"
    assert rated["G2"].verdict.startswith("not shown")
    assert rated["G3"].verdict == "over its rating"


@pytest.mark.parametrize("name", ["dual-point-crossarm.tpg", "steel-shield-wire.tpg", "small-neutral.tpg"])
def test_labels_are_apart_with_computed_values(name: str) -> None:
    review = example(name)
    brief = Brief(review, electrical_of(trace(review)))
    for svg in (*draw(brief.scene_at()), draw_chart(brief.chart())):
        assert overlaps(svg) == []


AMOUNTS = st.floats(0.001, 1e6)


@given(AMOUNTS, AMOUNTS, AMOUNTS, AMOUNTS)
def test_a_share_is_judged_as_its_corners_are(a: float, b: float, c: float, d: float) -> None:
    value, most = (Bounds(min(x, y), max(x, y), GAPS) for x, y in ((a, b), (c, d)))
    corners = [v / m for v in (a, b) for m in (c, d)]
    grade, size = gravity(share_of(value, most))
    assert size == pytest.approx(max(corners), rel=1e-3)  # to four digits, so that those alike are
    assert grade == (2 if min(corners) > 1 else 1 if max(corners) > 1 else 0)
    assert is_known(share_of(value, most))


@given(AMOUNTS, AMOUNTS)
def test_unknown_is_never_a_share_and_lies_between_over_and_within(a: float, b: float) -> None:
    missing = Unknown(GAPS)
    assert share_of(missing, a) == share_of(a, missing) == missing
    assert not is_known(missing)
    assert not is_known(Bounds(a, math.inf, GAPS))
    assert gravity(missing) > gravity(share_of(min(a, b), max(a, b)))
    assert gravity(missing) < gravity(share_of(max(a, b) * 1.001, min(a, b)))


@given(AMOUNTS, AMOUNTS)
def test_bounds_are_never_reported_by_the_safe_end_alone(a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert in_words(Bounds(low, high, GAPS), "V").endswith(in_words(high, "V"))
    assert in_words(Bounds(low, math.inf, GAPS), "V") == f"{in_words(low, 'V')} or more"
    assert in_words(math.inf, "V") == "without end"
