"""What the steps on remote control, insulating goods and loose wires do to the world."""

from __future__ import annotations

from typing import Any


def test_control_is_disabled_and_tagged_until_it_is_put_back(site: Any) -> None:
    made = site(switch={}, source={})
    made.do("disable", switch="SW41")
    made.do("tag-control", switch="SW41")
    made.do("enable", switch="SW41")
    timeline, switch = made.run(), made["SW41"]
    assert [timeline.control_disabled(at, switch) for at in range(4)] == [False, True, True, False]
    assert [timeline.control_tagged(at, switch) for at in range(4)] == [False, False, True, False]


def test_control_of_a_switch_not_named_takes_certainty_from_all(site: Any) -> None:
    made = site(switch={}, source={})
    made.do("disable", switch="SW41")
    made.do("enable", switch="?")
    assert made.run().control_disabled(2, made["SW41"]) is False


def test_gloves_are_worn_by_name_until_they_come_off(site: Any) -> None:
    made = site()
    made.do("gloves-on", person="L1", goods=["RG1"])
    made.do("gloves-off", person="L1")
    made.do("gloves-on", person="L1", goods=[])
    timeline, person = made.run(), made["L1"]
    assert [timeline.worn(at, person) for at in range(4)] == [(), (made["RG1"],), (), ()]


def test_what_covers_a_live_part_is_what_its_last_cover_names(site: Any) -> None:
    made = site()
    made.do("cover", neighbour="UNDERBUILD", goods=["B1"])
    made.do("cover", neighbour="UNDERBUILD", goods=[])
    timeline, near = made.run(), made["UNDERBUILD"]
    assert [timeline.covered_with(at, near) for at in range(3)] == [(), (made["B1"],), ()]


def test_goods_that_came_off_go_on_elsewhere(site: Any) -> None:
    made = site()
    made.do("cover", neighbour="UNDERBUILD", goods=["B1"])
    made.do("uncover", neighbour="UNDERBUILD")
    made.do("gloves-on", person="L1", goods=["B1"])
    made.do("gloves-off", person="L1")
    made.do("cover", neighbour="UNDERBUILD", goods=["B1"])
    made.do("cover", neighbour="UNDERBUILD", goods=["B1"])
    assert [problem.code for problem in made.run().problems] == []


def test_what_a_wire_in_hand_touches_is_in_reach_until_it_is_put_down(site: Any) -> None:
    made = site()
    made.do("enter", person="L1", structure="212", stand="212 pole", reach=["212 A"])
    made.do("handle", wire="J1", person="L1", touching=["213 A", "212 A"])
    made.do("move", person="L1", structure="212", stand="212 pole", reach=["212 B"])
    made.do("stow", wire="J1")
    made.do("handle", wire="J1", person="L1", touching=["212 B"])
    made.do("stow", wire="J1")
    timeline, person = made.run(), made["L1"]
    reach = [{str(point) for point in timeline.stand(at, person).reach} for at in range(1, 7)]
    kept = {"212 B"}
    assert reach == [{"212 A"}, {"212 A", "213 A"}, {"212 B", "213 A", "212 A"}, kept, kept, kept]


def test_who_leaves_has_no_wire_in_hand(site: Any) -> None:
    made = site()
    made.do("enter", person="L1", structure="212", stand="212 pole", reach=[])
    made.do("handle", wire="J1", person="L1", touching="?")
    made.do("leave", person="L1")
    timeline = made.run()
    held = timeline.held(2, made["J1"])
    assert held is not None
    assert held.person is made["L1"]
    assert timeline.held(3, made["J1"]) is None
