"""What the facts say of a whole plan, step by step."""

from __future__ import annotations

from typing import Any

import pytest
from asked_plans import PLAN, Asked

from groundlint.values import Unknown

FT = 0.3048


@pytest.fixture(scope="module")
def whole() -> Asked:
    return Asked(PLAN)


def test_the_plan_is_read_whole(whole: Asked) -> None:
    assert [d.message for d in whole.result.diagnostics] == []
    assert whole.trace.timeline.problems == ()
    assert whole.n > 90


# fact, subject, other, at (before the step with these words), what it is
CASES: list[tuple[str, str, str | None, str, Any]] = [
    # the plan
    ("method", "plan", None, "end", "dual-point"),
    ("small-neutral", "plan", None, "end", False),
    ("access", "plan", None, "end", "pole"),
    ("sources-complete", "plan", None, "end", True),
    ("parallel-stated", "plan", None, "end", True),
    ("neighbours-stated", "plan", None, "end", True),
    ("grounds-omitted", "plan", None, "end", False),
    ("numbered", "plan", None, "end", True),
    ("emergency-stated", "plan", None, "end", True),
    ("cautions-stated", "plan", None, "end", True),
    ("soil-resistivity", "plan", None, "end", 120.0),
    ("voltage", "plan", None, "end", 12470.0),
    ("frequency", "plan", None, "end", 60.0),
    ("altitude", "plan", None, "end", 2000 * FT),
    ("date-stated", "plan", None, "end", True),
    ("documented", "plan", None, "end", True),
    ("title-stated", "plan", None, "end", True),
    ("neutral-present", "plan", None, "end", True),
    ("neutral-multigrounded", "plan", None, "end", True),
    ("neutral-too-small", "plan", None, "end", False),
    ("shield-present", "plan", None, "end", False),
    ("clearance-requested", "plan", None, "step 4", False),
    ("clearance-requested", "plan", None, "step 5", True),
    ("cleared", "plan", None, "step 5", False),
    ("cleared", "plan", None, "step 6", True),
    ("cleared", "plan", None, "end", False),
    ("released", "plan", None, "step 19", False),
    ("released", "plan", None, "end", True),
    # sources
    ("open", "West", None, "step 2", False),
    ("open", "West", None, "step 3", True),
    ("located", "West", None, "end", True),
    ("sort", "Solar", None, "end", "customer-generation"),
    ("voltage", "West", None, "end", 12470.0),
    ("voltage", "Solar", None, "end", 480.0),
    ("fault-stated", "West", None, "end", True),
    ("fault-current", "West", None, "end", 6800.0),
    ("ground-fault-current", "West", None, "end", 5200.0),
    ("clearing-time", "West", None, "end", 0.4),
    ("clearing-stated", "West", None, "end", True),
    ("x-over-r", "West", None, "end", 9.0),
    ("never-clears", "West", None, "end", False),
    ("safe-from-reclosing", "West", None, "step 6", False),
    ("safe-from-reclosing", "West", None, "step 7", True),
    ("reclosable", "West", None, "step 6", True),
    ("reclosable", "West", None, "end", False),
    ("reclosable", "Solar", None, "step 1", False),
    ("switched", "West", None, "end", True),
    # switches
    ("open", "SW41", None, "step 1", False),
    ("open", "SW41", None, "step 3", True),
    ("tagged", "SW41", None, "step 1", False),
    ("tagged", "SW41", None, "end", True),
    ("tagged", "SW42", None, "end", False),
    ("gap-visible", "SW42", None, "end", True),
    ("verified", "SW41", None, "end", False),
    ("before", "SW41", "West", "end", True),
    ("before", "SW41", "Solar", "end", False),
    ("control", "SW41", None, "end", "manual"),
    ("sort", "SW41", None, "end", "switch"),
    # parallel circuit and neighbour
    ("distance", "Tall", None, "end", 60 * FT),
    ("voltage", "Tall", None, "end", 115e3),
    ("current", "Tall", None, "end", 400.0),
    ("beside", "Tall", "212", "end", True),
    ("gap", "Under", None, "end", 6 * FT),
    ("voltage", "Under", None, "end", 7200.0),
    ("at-structure", "Under", "212", "end", True),
    ("at-structure", "Under", "211", "end", False),
    ("gap-from", "Under", None, "end", "212 A"),
    ("covered", "Under", None, "end", True),
    # people
    ("briefed", "L1", None, "step 1", False),
    ("briefed", "M1", None, "end", True),
    ("in-place", "L1", None, "step 13", False),
    ("in-place", "L1", None, "step 14", True),
    ("in-place", "L1", None, "end", False),
    ("reaching", "L1", "212 A", "step 14", True),
    ("reaching", "L1", "211 A", "step 14", False),
    ("reaching", "L1", "212 A", "end", False),
    ("gloved", "L1", None, "step 14", True),
    ("on-ground", "L1", None, "step 14", False),
    ("on-structure", "L1", None, "step 14", True),
    ("in-bucket", "L1", None, "step 14", False),
    ("structure", "L1", None, "step 14", "212"),
    ("structure", "L1", None, "end", None),
    ("vehicle", "L1", None, "step 14", None),
    ("stand", "L1", None, "step 14", "212 pole"),
    ("role", "M1", None, "end", "groundman"),
    ("qualified", "L1", None, "end", True),
    ("qualified", "M1", None, "end", False),
    ("reach-stated", "L1", None, "step 14", True),
    ("zone-joined", "L1", None, "step 14", True),
    ("zone-joined-here", "L1", None, "step 14", False),
    ("zone-grounded", "L1", None, "step 14", True),
    ("reaching-conductor", "L1", None, "step 14", True),
    # points
    ("grounded", "212 A", None, "step 9", True),
    ("grounded-here", "212 A", None, "step 9", False),
    ("grounded-here", "211 A", None, "step 9", True),
    ("joined-to", "212 A", "212 B", "step 9", True),
    ("joined-here-to", "212 A", "212 B", "step 9", False),
    ("joined-here-to", "211 A", "211 B", "step 9", True),
    ("electrode", "R1 point", None, "end", True),
    ("electrode", "212 A", None, "end", False),
    ("electrode", "212 N", None, "end", True),
    ("feedable", "212 A", None, "step 1", True),
    ("feedable", "212 A", None, "step 4", False),
    ("tested", "211 A", None, "step 9", True),
    ("tested", "212 A", None, "step 9", False),
    ("found-dead", "211 A", None, "step 9", True),
    ("found-dead", "212 A", None, "step 9", False),
    ("phase", "212 A", None, "end", True),
    ("neutral", "212 N", None, "end", True),
    ("role", "212 N", None, "end", "neutral"),
    ("role", "R1 point", None, "end", "none"),
    ("cut", "212 A", None, "end", False),
    ("bridged", "212 A", None, "end", False),
    ("structure", "212 A", None, "end", "212"),
    ("structure", "K3 point", None, "step 10", "212"),
    ("structure", "R1 point", None, "step 9", "211"),
    ("conductor", "212 A", None, "end", "A"),
    ("rod", "R1 point", None, "end", "R1"),
    ("bar", "K1 point", None, "end", "K1"),
    ("at-worksite", "212 A", None, "end", True),
    ("at-worksite", "211 A", None, "end", False),
    ("in-reach", "212 B", None, "step 14", True),
    ("occupied", "212 A", None, "step 13", True),
    ("occupied", "212 B", None, "step 13", False),
    # leads
    ("on", "G20", None, "step 9", False),
    ("on", "G20", None, "step 13", True),
    ("fully-on", "G20", None, "step 13", True),
    ("floating", "G20", None, "step 13", False),
    ("ends", "G20", None, "step 13", 2.0),
    ("lifted", "G20", None, "step 13", False),
    ("inspected", "G1", None, "end", True),
    ("inspected", "G20", None, "end", False),
    ("length", "G20", None, "end", 10 * FT),
    ("metal", "G20", None, "end", "copper"),
    ("grade-stated", "G20", None, "end", True),
    ("first-point", "G20", None, "step 13", "K3"),
    ("second-point", "G20", None, "step 13", "212 A"),
    ("second-point", "G20", None, "end", None),
    ("structure", "G20", None, "step 13", "212"),
    ("used", "G20", None, "end", True),
    ("ganged-with", "G2", "G3", "step 9", False),
    ("personal", "G20", None, "step 13", True),
    ("personal", "G2", None, "step 9", False),
    ("on-point", "G20", "212 A", "step 13", True),
    ("same-size", "G1", "G2", "end", True),
    ("same-size", "G1", "G20", "end", False),
    ("test-stated", "G1", None, "end", True),
    ("time-since-test", "G1", None, "end", 182 * 86400.0),
    ("overdue", "G1", None, "end", False),
    # rods, bars
    ("set", "R1", None, "step 1", False),
    ("set", "R1", None, "step 9", True),
    ("distance", "R1", None, "step 9", 16 * FT),
    ("distance", "R1", None, "step 1", None),
    ("depth", "R1", None, "step 9", 6 * FT),
    ("length", "R1", None, "end", 6 * FT),
    ("diameter", "R1", None, "end", 5 / 8 * 0.0254),
    ("barricaded", "R1", None, "step 9", True),
    ("barricade-distance", "R1", None, "step 9", 10 * FT),
    ("barricade-distance", "R1", None, "step 1", None),
    ("structure", "R1", None, "step 9", "211"),
    ("in-use", "R1", None, "step 9", True),
    ("in-use", "R1", None, "end", False),
    ("mounted", "K3", None, "step 9", False),
    ("mounted", "K3", None, "step 13", True),
    ("structure", "K3", None, "step 13", "212"),
    ("height", "K3", None, "step 13", "below-feet"),
    ("height", "K1", None, "step 9", "below"),
    ("height-from", "K1", None, "step 9", "N"),
    ("below-feet", "K3", None, "step 13", True),
    ("below-feet-of", "K3", "L1", "step 14", True),
    ("below-feet-of", "K3", "L1", "step 13", True),
    ("below-feet-of", "K3", "L1", "step 9", False),
    # structures
    ("material", "212", None, "end", "wood"),
    ("worksite", "212", None, "end", True),
    ("worksite", "211", None, "end", False),
    ("occupied", "212", None, "step 14", True),
    ("occupied", "212", None, "end", False),
    ("phases-joined", "211", None, "step 9", True),
    ("phases-joined", "212", None, "step 13", False),
    ("grounded", "211", None, "step 9", True),
    ("grounded", "212", None, "step 13", False),
    ("grounded", "211", None, "step 1", False),
    ("phases-grounded", "212", None, "step 9", True),
    ("neutral-joined", "211", None, "step 9", True),
    ("shield-joined", "211", None, "step 9", False),
    ("personal-ground", "212", None, "step 10", False),
    ("personal-ground", "212", None, "step 13", True),
    ("personal-ground", "213", None, "step 10", True),
    ("first-side-grounded", "212", None, "step 9", True),
    ("last-side-grounded", "212", None, "step 9", True),
    ("between-grounds", "212", None, "step 9", True),
    ("between-grounds", "212", None, "step 1", False),
    ("source-side-grounded", "212", None, "step 9", True),
    ("source-side-grounded", "212", None, "step 1", False),
    ("neighbour-span-distance", "212", None, "end", 52.0),
    ("neighbour-span-distance", "213", None, "end", 48.0),
    ("spans-to", "211", "213", "end", 2.0),
    ("distance", "211", "213", "end", 100.0),
    ("nearest-ground", "212", None, "step 9", 48.0),
    ("nearest-ground", "211", None, "step 9", 0.0),
    ("nearest-ground", "212", None, "step 1", None),
    ("spans-to-ground", "212", None, "step 9", 1.0),
    ("has-ground-available", "212", None, "end", True),
    ("rod-alone", "211", None, "step 9", False),
    ("on-route", "212", None, "end", True),
    ("feedable", "212", None, "step 9", False),
    # detector, stick, vehicle, mat
    ("proven", "D1", None, "step 1", False),
    ("proven", "D1", None, "step 9", True),
    ("lowest", "D1", None, "end", 5000.0),
    ("highest", "D1", None, "end", 40000.0),
    ("range-stated", "D1", None, "end", True),
    ("detecting", "D1", None, "end", "contact"),
    ("tests-since-proof", "D1", None, "step 9", 0.0),
    ("length", "H1", None, "end", 8 * FT),
    ("insulated", "V1", None, "end", True),
    ("body", "V1", None, "end", "bucket-truck"),
    ("barricaded", "V1", None, "end", False),
    ("bonded", "V1", None, "end", False),
    ("in-work", "V1", None, "end", False),
    ("used", "V1", None, "end", False),
    ("bonded", "M5", None, "end", False),
]


@pytest.mark.parametrize(("name", "subject", "other", "at", "expected"), CASES)
def test_a_fact_is_as_the_plan_says(
    whole: Asked, name: str, subject: str, other: str | None, at: str, expected: Any
) -> None:
    found = whole.ask(name, subject, other, at=at)
    assert found == (pytest.approx(expected) if isinstance(expected, float) else expected)
    assert type(found) is type(expected)


@pytest.mark.parametrize(
    ("name", "subject", "other", "at", "missing"),
    [
        ("gap-visible", "SW41", None, "end", "whether the gap of SW41 can be seen"),
        ("control", "SW42", None, "end", "how SW42 is operated"),
        ("gloved", "L1", None, "step 1", "whether L1 wears rubber gloves"),
        ("covered", "Under", None, "step 1", "whether Under is covered"),
        ("clamps-stated", "G1", None, "end", "the clamps of lead G1"),
        ("test-stated", "G20", None, "end", "when G20 was last tested"),
        ("time-since-test", "G20", None, "end", "when G20 was last tested"),
        ("overdue", "G20", None, "end", "when the next test of G20 is due"),
        ("below-feet", "K1", None, "step 9", "whether bar K1 is below the feet"),
        ("pole-ground", "212", None, "end", "whether structure 212 has a pole ground"),
        ("in-work", "V1", None, "step 14", "where vehicle V1 stands"),
        ("structure", "V1 point", None, "step 14", "which structure V1 is at"),
    ],
)
def test_what_the_plan_does_not_say_is_not_known(
    whole: Asked, name: str, subject: str, other: str | None, at: str, missing: str
) -> None:
    found = whole.ask(name, subject, other, at=at)
    assert isinstance(found, Unknown)
    assert missing in [gap.fact for gap in found.gaps]
    assert all(gap.write for gap in found.gaps)


def test_areas_of_leads(whole: Asked) -> None:
    assert whole.ask("area", "G20") == pytest.approx(67.43e-6, rel=1e-3)  # 133.1 kcmil
    assert whole.ask("copper-area", "G20") == whole.ask("area", "G20")


@pytest.mark.parametrize(
    ("words", "name", "expected"),
    [
        ("attach G20 to K3", "by-hand", None),
        ("attach G20 to 212 A", "by-hand", False),
        ("test 211 A", "result", "dead"),
        ("step 1", "result", None),
        ("set R1", "distance", 16 * FT),
        ("set R1", "depth", 6 * FT),
        ("step 1", "distance", None),
        ("barricade R1", "distance", 10 * FT),
        ("step 10", "numbered", True),
        ("step 3", "seen", True),
        ("step 14", "text-stated", True),
        ("step 1", "stage-change", True),
        ("step 2", "stage-change", False),
        ("step 9", "stage-change", True),
        ("set R1", "in-routine", True),
        ("step 9", "in-routine", False),
        ("step 9", "across", False),
    ],
)
def test_facts_of_a_step(whole: Asked, words: str, name: str, expected: Any) -> None:
    found = whole.ask(name, "it", at=words)
    if expected is None and name == "by-hand":
        assert isinstance(found, Unknown)
    else:
        assert found == (pytest.approx(expected) if isinstance(expected, float) else expected)


def test_a_step_puts_points_in_reach(whole: Asked) -> None:
    assert whole.ask("reaching", "it", "212 A", at="step 13") is True
    assert whole.ask("reaching", "it", "211 A", at="step 13") is False
    assert whole.ask("reaching", "it", "212 A", at="step 12") is False


def test_cleaning_lasts_until_the_clamp_comes_off(whole: Asked) -> None:
    clean, off = whole.at("clean 211 A"), whole.at("detach G3 from 211 A")
    assert whole.ask("clean", "211 A", at=clean) is False
    assert whole.ask("clean", "211 A", at=clean + 1) is True
    assert whole.ask("clean", "211 A", at=whole.at("attach G4 to 211 A") + 1) is True
    assert whole.ask("clean", "211 A", at=off + 1) is False


def test_a_detector_is_proven_until_it_is_used(whole: Asked) -> None:
    tests = whole.at("test 211 A"), whole.at("test 211 C")
    assert whole.ask("tests-since-proof", "D1", at=tests[0]) == 0
    assert whole.ask("tests-since-proof", "D1", at=tests[1] + 1) == 3


def test_labels_and_lines(whole: Asked) -> None:
    assert whole.trace.event(whole.at("step 10")).label == "step 10, attach G20 to K3"
    assert whole.trace.event(whole.at("step 13")).label == "step 13, enter L1 at 212 on 212 pole"
    assert whole.trace.event(whole.at("step 5")).label == "step 5, clearance received by L1"
    point = whole.thing("212 A")
    place = whole.trace.place(point)
    assert place is not None
    assert whole.trace.kind_of(point) == "phase-point"
    assert whole.trace.label(whole.trace.plan) == "Change out crossarm at structure 212"


def test_domains(whole: Asked) -> None:
    def names(kind: str) -> list[str]:
        return [whole.trace.label(thing) for thing in whole.trace.domain(kind)]

    assert names("structure") == ["211", "212", "213"]
    assert names("phase") == ["A", "B", "C"]
    assert names("conductor") == ["A", "B", "C", "N"]
    assert names("neutral-point") == ["211 N", "212 N", "213 N"]
    assert names("person") == ["L1", "M1"]
    assert names("rod-point") == ["R1", "R2"]
    assert names("shield") == []
    assert set(names("rod")) < set(names("equipment")) < set(names("thing"))
    assert whole.trace.domain("plan") == (whole.trace.plan,)


def test_sets_that_the_plan_says_are_whole(whole: Asked) -> None:
    kinds = (
        "source",
        "parallel",
        "neighbour",
        "conductor",
        "conductor-point",
        "phase-point",
        "structure",
        "lead",
        "point",
    )
    assert {kind: whole.trace.closed(kind) for kind in kinds} == dict.fromkeys(kinds)
