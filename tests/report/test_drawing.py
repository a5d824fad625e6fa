"""The drawing shows what the replay says, no label lies on another, and it is well-formed whatever a plan says."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest
from briefing_plans import EVERY_EXAMPLE, EVIL, example, hostile_plan, long_plan, made_up, review_of
from drawn_labels import labels, overlaps
from hypothesis import given, settings
from hypothesis import strategies as st
from syrupy.assertion import SnapshotAssertion

from groundlint.report.brief import NOT_COMPUTED, drawing_svg
from groundlint.report.brief.chart import draw_chart
from groundlint.report.brief.drawing import draw
from groundlint.report.brief.page import Brief, UnknownStepError
from groundlint.report.brief.scene import Panel, Scene
from groundlint.report.brief.strip import draw_strip
from groundlint.report.brief.svg import el, escape, fit, label, plain_text, wrap
from groundlint.text.columns import width

HEAD = """\
plan "P"
line L
  phases A B C
  neutral N multigrounded
  route S1 (50 m) S2 (50 m) S3
source West beyond S1
source Dairy at S2 customer generation
source Ghost not located
switch SW1 between West and S1 normally closed
switch SW2 between Dairy and S2 normally open
switch SW3 between S2 and S3 normally closed
structure S1 S2 S3 wood pole guyed
bar K1 K2
rod R1 8 ft x 5/8 in
lead G1 G2 G3 G4 2/0 copper 25 ft grade 3
stick H1 8 ft
crew lineman L1 L2 L3
vehicle V1 bucket truck insulated
neighbour Under live 2.4 kV at S2, 7 ft from S2 N
stage ground
"""


def scene(text: str, step: str) -> Scene:
    return Brief(review_of(HEAD + text), NOT_COMPUTED).scene_at(step)


def panel(found: Scene, name: str) -> Panel:
    return next(one for one in found.panels if one.name == name)


def test_leads_stand_in_the_order_they_went_on_with_their_ends_in_order() -> None:
    found = scene("1. mount K1 at S2 below the feet\n2. attach G3 to K1, then to S2 N by H1\n3. attach G1 to K1\n", "3")
    two = panel(found, "S2")
    assert [(rung.name, rung.order) for rung in two.rungs] == [("G3", 1), ("G1", 2)]
    rails = [rail.name for rail in two.rails]
    assert [rails[end.rail] for end in two.rungs[0].ends if end.rail is not None] == ["K1", "N"]
    assert two.rungs[1].words == "G1 (2/0 copper, 25 ft, grade 3) on K1 only; the other end is loose"


def test_a_step_shows_what_stands_after_it_and_no_more() -> None:
    text = "1. mount K1 at S2 below the feet\n2. attach G1 to K1, then to S2 A by H1\n3. detach G1 from S2 A by H1\n"
    assert not panel(scene(text, "1"), "S2").rungs
    assert len(panel(scene(text, "2"), "S2").rungs[0].ends) == 2
    assert len(panel(scene(text, "3"), "S2").rungs[0].ends) == 1


def test_a_routine_can_be_asked_for_whole_or_by_step() -> None:
    text = HEAD.replace("stage ground\n", "routine r (structure S)\n  mount K1 at S\n  attach G1 to K1\nstage ground\n")
    brief = Brief(review_of(text + "7. do r (S1)\n"), NOT_COMPUTED)
    assert brief.scene_at("7.1").leads_on == 0
    assert brief.scene_at("7").leads_on == brief.scene_at("7.2").leads_on == 1
    for wrong in ("8", "7.3", "", "x"):
        with pytest.raises(UnknownStepError):
            brief.scene_at(wrong)


def test_sources_and_switches_with_their_state() -> None:
    found = scene("1. open SW1 and tag it\n", "1")
    (left,) = found.left
    assert left.words.startswith("source West (utility), beyond S1: SW1 open, tagged; ")
    feeds = [rail.feed.words for rail in panel(found, "S2").rails if rail.feed is not None]
    assert any(words.startswith("source Dairy (customer generation), at S2: SW2 position not known") for words in feeds)
    assert any("SW3 closed" in words for words in feeds)
    assert any("Ghost" in words and "place not stated" in words for words in found.loose)


def test_a_closed_switch_is_connected() -> None:
    (feed,) = scene("1. clean S1 A\n", "1").left
    assert feed.words.endswith("SW1 closed; CONNECTED to the line")


def test_the_zone_is_what_is_in_reach_and_no_more() -> None:
    found = panel(scene("1. enter L1 L2 at S2 on the pole, reaching N B and the guy\n", "1"), "S2")
    (group,) = found.people
    names = [rail.name for rail in found.rails]
    assert group.names == ("L1", "L2")
    assert sorted(names[at] for at in group.reach) == ["B", "N", "guy"]
    assert group.stand is not None
    assert names[group.stand] == "pole"
    assert not group.unknown


def test_a_reach_that_is_not_reported_is_marked() -> None:
    (group,) = panel(scene("1. enter L1 at S2 on the pole\n", "1"), "S2").people
    assert group.unknown
    assert "within reach: not stated" in group.words


def test_a_live_neighbour_stands_where_it_is_with_its_voltage_and_cover() -> None:
    rails = panel(scene("1. cover Under at S2\n", "1"), "S2").rails
    (live,) = [rail for rail in rails if rail.kind == "neighbour"]
    assert live.details == ("LIVE 2.4 kV", "covered", "7 ft from N")


def test_a_cut_conductor_is_drawn_as_two_sides() -> None:
    text = "1. bond across S2 A with G1 by H1\n2. cut S2 A\n3. join S2 A\n"
    split = {step: next(r.split for r in panel(scene(text, step), "S2").rails if r.name == "A") for step in "123"}
    assert split == {"1": "whole", "2": "cut", "3": "whole"}
    (bond,) = panel(scene(text, "2"), "S2").rungs
    assert [end.side for end in bond.ends] == ["near", "far"]


def test_what_the_plan_does_not_place_has_a_panel_of_its_own() -> None:
    found = scene("1. attach G1 to K1\n", "1")
    (rung,) = panel(found, "").rungs
    assert rung.name == "G1"


def test_a_lead_between_two_structures_is_drawn_at_both() -> None:
    found = scene("1. attach G1 to S1 A by H1, then to S2 A by H1\n", "1")
    one, two = panel(found, "S1").rungs[0], panel(found, "S2").rungs[0]
    assert [end.rail is None for end in one.ends] == [False, True]
    assert [end.rail is None for end in two.ends] == [True, False]
    assert overlaps(draw(found)[0]) == []


def test_a_vehicle_stands_where_people_stand_in_it_or_where_its_bond_is() -> None:
    assert any(r.name == "V1" for r in panel(scene("1. enter L1 at S3 in V1, reaching A\n", "1"), "S3").rails)
    bonded = scene("1. mount K2 at S1 below N\n2. bond V1 to K2 with G4\n", "2")
    assert any(r.name == "V1" for r in panel(bonded, "S1").rails)


def test_the_drawing_in_words(snapshot: SnapshotAssertion) -> None:
    brief = Brief(example("bucket-cutouts.tpg"), made_up(example("bucket-cutouts.tpg").plan))
    assert "\n".join(brief.scene_at().described()) == snapshot


def every_svg(brief: Brief) -> list[object]:
    return [*draw(brief.scene_at()), *draw_strip(brief.frames()), draw_chart(brief.chart())]


@pytest.mark.one_in(2)
@pytest.mark.parametrize("path", EVERY_EXAMPLE, ids=lambda path: path.stem)
@pytest.mark.parametrize("computed", [False, True])
def test_no_two_labels_lie_on_each_other_at_any_stage_of_an_example(path: object, computed: bool) -> None:
    review = example(path.name)  # type: ignore[attr-defined]
    brief = Brief(review, made_up(review.plan) if computed else NOT_COMPUTED)
    count = 0
    for frame in brief.frames():
        for svg in draw(frame.scene):
            assert overlaps(svg) == []
            count += len(list(labels(svg)))
    assert count > 10
    for svg in every_svg(brief):
        assert overlaps(svg) == []  # type: ignore[arg-type]


@pytest.mark.one_in(3)
@pytest.mark.parametrize("computed", [False, True])
@pytest.mark.parametrize("size", [(12, 6, 5), (12, 12, 5), (12, 1, 30), (1, 1, 3), (2, 2, 15), (40, 6, 5)])
def test_nor_on_plans_of_many_structures_and_leads(size: tuple[int, int, int], computed: bool) -> None:
    review = review_of(long_plan(*size) if size[0] > 1 else long_plan(2, 2, size[2]))
    assert not [f for f in review.findings if f.kind.value == "not read"]
    brief = Brief(review, made_up(review.plan) if computed else NOT_COMPUTED)
    drawn = draw(brief.scene_at())
    assert [pair for svg in drawn for pair in overlaps(svg)] == []
    said = {one.text for svg in drawn for one in labels(svg)}
    assert {f"LEAD-{i}-{j}"[:5] + "…" for i in range(1) for j in range(1)} <= said
    for svg in every_svg(brief):
        assert overlaps(svg) == []  # type: ignore[arg-type]


@st.composite
def crowded(draw_: st.DrawFn) -> str:
    """Steps that hang all sorts of things on three structures, with names of all lengths."""
    lines = []
    points = ["K1", "K2", "R1", "V1", "S1 A", "S2 B", "S3 N", "S2 guy", "S2 C", "Under"]
    for _ in range(draw_(st.integers(0, 12))):
        lead, one, other = (draw_(st.sampled_from(values)) for values in (["G1", "G2", "G3", "G4"], points, points))
        site, who = draw_(st.sampled_from(["S1", "S2", "S3"])), draw_(st.sampled_from(["L1", "L2", "L3", "L1 L2 L3"]))
        where = draw_(st.sampled_from(["on the pole", "on the ground", "in V1", ""]))
        forms = (
            f"attach {lead} to {one}, then to {other} by H1",
            f"attach {lead} to {one}",
            f"bond {one} to {other} with {lead}",
            f"bond {one} to {other}",
            f"mount K1 at {site} below the feet",
            f"mount K2 at {site}",
            f"set R1 at {site}, 20 ft from the pole",
            "barricade R1 V1 at 10 ft",
            f"enter {who} at {site} {where}, reaching {one} and {other}",
            f"enter {who} at {site} {where}",
            f"cut {site} A",
            f"bond across {site} B with {lead} by H1",
            f'lift {lead} from {one} by H1 for "x" protected by "y"',
            "open SW1 and tag it",
            "cover Under at S2",
        )
        lines.append(draw_(st.sampled_from(forms)))
    return "\n".join(lines) + "\n"


@settings(max_examples=80, deadline=None)
@given(crowded(), st.booleans())
def test_nor_on_any_plan(text: str, computed: bool) -> None:
    review = review_of(HEAD + text)
    brief = Brief(review, made_up(review.plan) if computed else NOT_COMPUTED)
    for svg in every_svg(brief):
        assert overlaps(svg) == []  # type: ignore[arg-type]
    on = brief.scene_at()
    reported = {rung.name for one in on.panels for rung in one.rungs}
    at = brief._at_work()
    assert reported >= set(brief.sheets.holds.at(at)), "each lead that is on is drawn somewhere"


@pytest.mark.parametrize("text", [*EVIL, "", "x" * 10_000, "\ud800 lone"])
def test_any_text_becomes_text_in_svg(text: str) -> None:
    svg = el("svg", xmlns="http://www.w3.org/2000/svg").add(label(1, 2, text, columns=20), el("title").add(text))
    root = ET.fromstring(str(svg))
    assert len(list(root.iter())) in (3, 4)
    assert root[-1].text in (plain_text(text), None)
    assert width((root[0][-1].tail if len(root[0]) else root[0].text) or "") <= 20


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=80), st.integers(2, 40))
def test_escaped_text_reads_back_and_is_never_too_wide(text: str, columns: int) -> None:
    assert ET.fromstring(f'<a b="{escape(text)}">{escape(text)}</a>').text in (plain_text(text), None)
    assert width(fit(text, columns)) <= columns
    lines = wrap(text, columns, 3)
    assert len(lines) <= 3
    assert all(width(line) <= columns for line in lines)


def test_the_file_of_a_drawing_is_well_formed_and_the_same_each_time() -> None:
    review = review_of(hostile_plan())
    once = drawing_svg(review)
    assert once == drawing_svg(review)
    root = ET.fromstring(once)
    assert {tag.rpartition("}")[2] for tag in (node.tag for node in root.iter())} <= {
        *("svg", "title", "style", "rect", "text", "g", "path", "circle", "defs", "pattern")
    }
    assert "The line after each stage" in once
    assert "The line after each stage" not in drawing_svg(review, "1")
    ids = [node.attrib["id"] for node in root.iter() if "id" in node.attrib]
    assert len(ids) == len(set(ids))
