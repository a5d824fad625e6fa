"""What could energize a point, and which steps end a test that found it dead."""

from __future__ import annotations

from typing import Any

import pytest

from groundlint.plan.models import Structure, SupplySource, Switch
from groundlint.values import FALSE, TRUE, UNKNOWN, Unknown


def reported(answer: object) -> object:
    """The facts missing, or the truth."""
    return [gap.fact for gap in answer.gaps] if isinstance(answer, Unknown) else answer


def test_an_open_switch_isolates_its_source(site: Any) -> None:
    made = site(switch={}, source={})
    made.do("open", switch="SW41")
    timeline = made.run()
    west, a = made["West"], made.point("213 A")
    assert [timeline.source_open(at, west) for at in (0, 1)] == [FALSE, TRUE]
    assert [timeline.feeding(at, a) for at in (0, 1)] == [TRUE, FALSE]


def test_where_the_sources_are_not_complete_nothing_is_surely_dead(site: Any) -> None:
    made = site(switch={"position": "open"}, source={}, complete=False)
    assert reported(made.run().feeding(0, made.point("212 A"))) == ["that there is no other source"]


def test_a_source_without_a_switch_is_not_known_to_be_open(site: Any) -> None:
    made = site(source={})
    timeline = made.run()
    assert reported(timeline.source_open(0, made["West"])) == ["what opens source West"]
    assert reported(timeline.feeding(0, made.point("212 A"))) == ["what opens source West"]


def test_a_source_that_is_not_located_could_reach_anything(site: Any) -> None:
    made = site(source={"located": False, "at": None, "beyond": False})
    timeline = made.run()
    assert reported(timeline.source_open(0, made["West"])) == ["where source West is"]
    assert reported(timeline.feeding(0, made.point("212 A"))) == ["where source West is"]


@pytest.mark.parametrize(("position", "fed"), [("closed", ["what stands on either side of SW1"]), ("open", FALSE)])
def test_a_switch_whose_other_side_nobody_tells_may_lead_to_any_place(site: Any, position: str, fed: object) -> None:
    made = site(source={"at": None, "beyond": False})
    west = made["West"]
    made.add(Switch(name="SW1", span=made.span(0), position=position, sides=(west,), sources=(west,)))
    timeline = made.run()
    assert [reported(timeline.feeding(0, made.point(f"{pole} A"))) for pole in ("211", "213")] == [fed, fed]


@pytest.mark.parametrize(("first", "second", "isolated"), [("open", "closed", TRUE), ("closed", "closed", FALSE)])
def test_open_points_in_series_isolate_by_one(site: Any, first: str, second: str, isolated: object) -> None:
    made = site(source={})
    west, inner = made["West"], Switch(name="SW2", span=made.span(0), position=second)
    outer = Switch(name="SW1", span=made.span(0), position=first, sides=(west, inner), sources=(west,))
    object.__setattr__(inner, "sides", (outer, made["211"]))
    made.add(inner, outer)
    timeline = made.run()
    assert timeline.source_open(0, west) is isolated
    assert timeline.feeding(0, made.point("212 A")) is (FALSE if isolated is TRUE else TRUE)


@pytest.mark.parametrize(
    ("first", "second", "isolated"),
    [("open", "open", TRUE), ("open", "closed", FALSE), ("open", None, ["the position of SW2"])],
)
def test_open_points_side_by_side_isolate_together(site: Any, first: str, second: str, isolated: object) -> None:
    made = site(source={})
    west = made["West"]
    for name, position in (("SW1", first), ("SW2", second)):
        sides = {"sides": (west, made["211"]), "sources": (west,)}
        made.add(Switch(name=name, span=made.span(0), position=position, **sides))
    assert reported(made.run().source_open(0, west)) == isolated


def test_an_open_point_whose_other_side_is_not_reported_isolates_only_when_open(site: Any) -> None:
    for position, isolated in (("open", TRUE), ("closed", ["what stands on either side of SW1"])):
        made = site(source={})
        west = made["West"]
        made.add(Switch(name="SW1", span=made.span(0), position=position, sources=(west,)))
        assert reported(made.run().source_open(0, west)) == isolated


def test_a_tie_to_another_source_is_a_way_to_the_line(site: Any) -> None:
    made = site(switch={"position": "closed"}, source={})
    east = SupplySource(name="East", span=made.span(0), sort="tie", at=made["213"], beyond=True)
    made.add(east)
    sides = {"sides": (east, made["West"]), "sources": (east, made["West"])}
    made.add(Switch(name="TIE", span=made.span(0), position="closed", **sides))
    made.do("open", switch="TIE")
    timeline = made.run()
    assert [timeline.source_open(at, east) for at in (0, 1)] == [FALSE, TRUE]


def test_cutting_every_phase_where_the_source_comes_in_opens_it(site: Any) -> None:
    made = site(source={}, switch={})
    for phase in "ABC":
        made.do("cut", point=f"211 {phase}")
    timeline = made.run()
    assert [timeline.source_open(at, made["West"]) for at in range(4)] == [FALSE, FALSE, FALSE, TRUE]
    assert timeline.feeding(3, made.point("212 A")) is FALSE
    assert timeline.feeding(3, made.point("211 A near")) is TRUE
    assert isinstance(timeline.feeding(3, made.point("211 A")), Unknown)  # one of its two sides is live


def test_a_switch_in_a_span_parts_the_line(site: Any) -> None:
    made = site(switch={"position": "closed"}, source={})
    made.add(Switch(name="SPAN", span=made.span(0), sides=(made["212"], made["213"]), position="closed"))
    made.do("open", switch="SPAN")
    timeline = made.run()
    assert [timeline.feeding(at, made.point("213 A")) for at in (0, 1)] == [TRUE, FALSE]
    assert timeline.feeding(1, made.point("212 A")) is TRUE
    assert timeline.joined(1, made.point("212 N"), made.point("213 N")) is TRUE  # switches open phases
    assert timeline.source_open(1, made["West"]) is FALSE


def test_a_tap_is_fed_through_its_switch_alone(site: Any) -> None:
    made = site(switch={"position": "closed"}, source={})
    made.add(Structure(name="T1A", span=made.span(0), material="wood"))
    made.add(Switch(name="TAP", span=made.span(0), sides=(made["212"], made["T1A"]), position="closed"))
    made.do("open", switch="TAP")
    timeline = made.run()
    assert [timeline.feeding(at, made.point("T1A A")) for at in (0, 1)] == [TRUE, FALSE]


def test_a_jumper_at_a_structure_opens_the_line_there(site: Any) -> None:
    made = site(switch={"position": "closed"}, source={})
    made.add(Switch(name="J1", sort="jumper", span=made.span(0), sides=(made["212"], made["212"]), position="closed"))
    made.do("open", switch="J1")
    made.do("close", switch="J1")
    timeline = made.run()
    assert [timeline.feeding(at, made.point("213 A")) for at in (0, 1, 2)] == [TRUE, FALSE, TRUE]


def test_what_touches_a_live_neighbour_is_fed_by_it(site: Any) -> None:
    made = site(switch={"position": "open"}, source={})
    made.attach("G1", "212 A", "UNDERBUILD")
    timeline = made.run()
    assert timeline.feeding(2, made.point("213 A")) is TRUE


# ---- tests ----


def isolated(site: Any, **kwargs: Any) -> Any:
    """A line behind an open switch, its phase A at 213 found dead in the first step."""
    made = site(switch={"position": "open"}, source={}, **kwargs)
    made.do("test", point="213 A", detector="D1", stick="H1", result="dead")
    return made


def test_a_test_holds_while_nothing_could_energize_the_point(site: Any) -> None:
    made = isolated(site)
    made.do("mount", bar="K1", structure="213")
    made.attach("G1", "K1", "213 A")
    made.do("tag", switch="SW41")
    made.do("untag", switch="SW41")
    made.do("cut", point="212 A")
    made.do("enter", person="L1", structure="213", stand="213 pole", reach=["213 A"])
    timeline = made.run()
    a = made.point("213 A")
    assert [timeline.holds(at, a) for at in (0, 1, timeline.n)] == [False, True, True]
    assert timeline.tested(timeline.n, a) == 0
    assert timeline.tested(0, a) is None
    assert timeline.expired_by(timeline.n, a) is None
    assert not timeline.holds(timeline.n, made.point("213 B"))


def test_closing_a_switch_ends_the_tests_that_it_could_feed(site: Any) -> None:
    made = isolated(site)
    made.do("cut", point="212 A")
    made.do("test", point="211 A", detector="D1", stick="H1", result="dead")
    closed = made.do("close", switch="SW41")
    timeline = made.run()
    assert timeline.expired_by(timeline.n, made.point("211 A")) == closed
    assert not timeline.holds(timeline.n, made.point("211 A"))
    assert timeline.holds(timeline.n, made.point("213 A"))  # behind the cut


def test_closing_a_switch_onto_what_nothing_feeds_leaves_the_tests(site: Any) -> None:
    made = isolated(site)
    made.add(Switch(name="SPAN", span=made.span(0), sides=(made["211"], made["212"]), position="open"))
    closed = made.do("close", switch="SPAN")
    assert made.run().holds(closed + 1, made.point("213 A"))  # SW41 is open still


def test_joining_what_was_cut_ends_the_tests_behind_it(site: Any) -> None:
    made = site(switch={}, source={})
    made.do("cut", point="212 A")
    made.do("test", point="213 A", detector="D1", stick="H1", result="dead")
    joined = made.do("join", point="212 A")
    timeline = made.run()
    assert timeline.holds(joined, made.point("213 A"))
    assert timeline.expired_by(joined + 1, made.point("213 A")) == joined


def test_bridging_what_was_cut_ends_the_tests_behind_it(site: Any) -> None:
    made = site(switch={}, source={})
    made.do("cut", point="212 A")
    made.do("test", point="213 A", detector="D1", stick="H1", result="dead")
    bridged = made.do("bond", first="212 A", second="212 A far", lead="G1", stick="H1", across=True)
    assert made.run().expired_by(bridged + 1, made.point("213 A")) == bridged


def test_a_lead_to_a_live_neighbour_or_to_a_place_not_reported_ends_tests(site: Any) -> None:
    for other in ("UNDERBUILD", "?"):
        made = isolated(site)
        made.attach("G1", "211 A", other)
        assert made.run().expired_by(3, made.point("213 A")) == 2


def test_closing_what_the_plan_does_not_name_ends_every_test(site: Any) -> None:
    made = isolated(site)
    closed = made.do("close", switch="?")
    timeline = made.run()
    assert timeline.expired_by(closed + 1, made.point("213 A")) == closed
    assert timeline.switch_position(closed + 1, made["SW41"]) is None
    assert timeline.source_open(closed + 1, made["West"]) is not TRUE


def test_closing_an_open_point_with_sides_not_reported_ends_every_test(site: Any) -> None:
    made = isolated(site)
    made.add(Switch(name="SW9", span=made.span(0), position="open"))
    closed = made.do("close", switch="SW9")
    assert made.run().expired_by(closed + 1, made.point("213 A")) == closed


def test_a_test_that_finds_live_never_holds_and_ends_those_of_the_same_conductor(site: Any) -> None:
    made = isolated(site)
    live = made.do("test", point="211 A", detector="D1", stick="H1", result="live")
    made.do("test", point="211 B", detector="D1", stick="H1", result="?")
    timeline = made.run()
    assert not timeline.holds(timeline.n, made.point("211 A"))
    assert timeline.tested(timeline.n, made.point("211 A")) == live
    assert timeline.expired_by(timeline.n, made.point("213 A")) == live
    assert not timeline.holds(timeline.n, made.point("211 B"))  # what it found is not stated


def test_a_test_made_again_holds_again(site: Any) -> None:
    made = isolated(site)
    made.do("close", switch="SW41")
    made.do("open", switch="SW41")
    again = made.do("test", point="213 A", detector="D1", stick="H1", result="dead")
    timeline = made.run()
    a = made.point("213 A")
    assert [timeline.holds(at, a) for at in (1, 2, 3, 4)] == [True, False, False, True]
    assert timeline.tested(4, a) == again
    assert timeline.expired_by(4, a) is None


def test_unknown_is_not_a_truth_that_rules_may_take_for_yes() -> None:
    assert UNKNOWN is not TRUE
    assert UNKNOWN is not FALSE
