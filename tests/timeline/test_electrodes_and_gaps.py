"""What grounds, what does not, and what the plan must say before it is known."""

from __future__ import annotations

from typing import Any

import pytest

from groundlint.values import FALSE, TRUE, Gap, Unknown


def reported(answer: object) -> object:
    """The facts missing, or the truth."""
    return [gap.fact for gap in answer.gaps] if isinstance(answer, Unknown) else answer


def test_a_set_of_grounds_reaches_its_rod_and_the_neutral(site: Any) -> None:
    made = site()
    made.do("set", rod="R1", structure="211", distance=4.9)
    made.do("mount", bar="K1", structure="211", height="below", conductor="N")
    made.attach("G1", "R1", "K1")
    made.attach("G2", "K1", "211 A")
    rod_only = len(made.actions)
    made.attach("G3", "K1", "211 N")
    timeline = made.run()
    a = made.point("211 A")
    assert timeline.grounded(rod_only - 1, a) is FALSE  # one end on joins nothing
    assert timeline.electrodes(rod_only, a, local=True) == (made.point("R1"),)
    assert timeline.electrodes(timeline.n, a, local=True) == (made.point("211 N"), made.point("R1"))
    assert timeline.electrodes(timeline.n, a) == (
        made.point("211 N"), made.point("212 N"), made.point("213 N"), made.point("R1"),
    )  # fmt: skip
    assert timeline.grounded(timeline.n, made.point("213 A")) is TRUE
    assert timeline.grounded(timeline.n, made.point("213 A"), local=True) is FALSE
    assert timeline.grounded(timeline.n, made.point("213 B")) is FALSE


@pytest.mark.parametrize(
    ("neutral", "here", "anywhere"),
    [
        ("multigrounded", TRUE, TRUE),
        (None, ["whether neutral N is multigrounded"], ["whether neutral N is multigrounded"]),
        ("unigrounded", FALSE, ["a ground at the work beside neutral N"]),
    ],
)
def test_a_neutral_grounds_as_its_earthing_says(site: Any, neutral: str | None, here: object, anywhere: object) -> None:
    made = site(neutral=neutral, source={})
    made.attach("G1", "213 N", "213 A")
    timeline = made.run()
    a = made.point("213 A")
    assert reported(timeline.grounded(0, made.point("213 N"))) == anywhere
    assert reported(timeline.grounded(2, a, local=True)) == here
    assert reported(timeline.grounded(2, a)) == anywhere


def test_a_unigrounded_neutral_that_opens_loses_its_ground(site: Any) -> None:
    made = site(neutral="unigrounded", source={})
    made.attach("G1", "213 N", "213 A")
    made.do("cut", point="212 N")
    timeline = made.run()
    assert reported(timeline.grounded(2, made.point("213 A"))) == ["a ground at the work beside neutral N"]
    assert timeline.grounded(3, made.point("213 A")) is FALSE


def test_a_unigrounded_neutral_without_a_located_source_is_not_known_to_be_grounded(site: Any) -> None:
    made = site(neutral="unigrounded")
    assert reported(made.run().grounded(0, made.point("213 N"))) == ["where neutral N is grounded"]


@pytest.mark.parametrize(
    ("material", "grounded"),
    [("steel", TRUE), ("wood", FALSE), ("concrete", FALSE), (None, ["the material of structure 212"])],
)
@pytest.mark.parametrize("point", ["212 steel", "212 footing", "212 pole", "212 guy"])
def test_steel_grounds_wood_and_concrete_do_not(site: Any, material: str | None, grounded: object, point: str) -> None:
    made = site(material=material)
    timeline = made.run()
    if point in ("212 pole", "212 guy") and material != "steel" and material is not None:
        grounded = FALSE
    assert reported(timeline.grounded(0, made.point(point), local=True)) == grounded


def test_a_bar_on_steel_is_grounded_and_on_wood_it_is_joined_to_the_pole_alone(site: Any) -> None:
    for material, grounded in (("steel", TRUE), ("wood", FALSE), ("concrete", FALSE)):
        made = site(material=material)
        made.do("mount", bar="K1", structure="212")
        timeline = made.run()
        assert timeline.grounded(1, made.point("K1"), local=True) is grounded
        assert timeline.joined(1, made.point("K1"), made.point("212 pole"), local=True) is TRUE
        assert timeline.joined(0, made.point("K1"), made.point("212 pole"), local=True) is FALSE


def test_a_shield_wire_is_grounded_by_steel_structures_alone(site: Any) -> None:
    for material, grounded in (("steel", TRUE), ("wood", FALSE)):
        made = site(material=material, shield=True)
        assert made.run().grounded(0, made.point("212 OHGW")) is grounded


def test_an_insulated_shield_wire_is_no_part_of_the_steel(site: Any) -> None:
    made = site(material="steel", shield=True, insulated=True)
    timeline = made.run()
    assert timeline.grounded(0, made.point("212 OHGW")) is FALSE
    assert timeline.joined(0, made.point("212 OHGW"), made.point("212 steel"), local=True) is FALSE


def test_a_pole_ground_counts_where_the_plan_states_one(site: Any) -> None:
    from groundlint.plan.models import Structure

    made = site()
    made.add(Structure(name="300", span=made.span(0), material="wood", pole_ground=True))
    timeline = made.run()
    assert timeline.grounded(0, made.point("300 pole ground")) is TRUE
    assert reported(timeline.grounded(0, made.point("212 pole ground"))) == ["a pole ground at structure 212"]
    assert timeline.electrode(0, made.point("300 pole ground")) is TRUE
    assert timeline.electrode(0, made.point("300 earth")) is FALSE


def test_a_lead_to_a_place_not_reported_grounds_nothing_and_rules_nothing_out(site: Any) -> None:
    made = site()
    made.attach("G1", "212 A", "?")
    timeline = made.run()
    a, b = made.point("212 A"), made.point("212 B")
    assert timeline.ends(2, made["G1"]) == (a, Gap("a point"))
    assert timeline.grounded(2, a, local=True) == Unknown((Gap("a point"),))
    assert timeline.joined(2, a, b, local=True) == Unknown((Gap("a point"),))
    assert timeline.joined(2, b, made.point("212 C"), local=True) is FALSE
    assert timeline.electrodes(2, a) == ()


def test_a_lead_not_named_joins_nothing_for_sure(site: Any) -> None:
    made = site()
    made.attach("?", "212 A", "212 N")
    timeline = made.run()
    assert reported(timeline.grounded(2, made.point("212 A"))) == ["a lead"]


def test_taking_off_an_end_that_is_not_reported_takes_the_joint_away(site: Any) -> None:
    made = site()
    made.attach("G1", "212 N", "212 A")
    made.do("detach", lead="G1", point="?", stick="H1")
    timeline = made.run()
    assert timeline.grounded(2, made.point("212 A")) is TRUE
    assert timeline.grounded(3, made.point("212 A")) is FALSE
    assert [gap.fact for gap in timeline.ends(3, made["G1"])] == ["which end of G1 is still on"]


def test_taking_off_a_lead_that_is_not_reported_leaves_none_there_certain(site: Any) -> None:
    made = site()
    made.attach("G1", "212 N", "212 A")
    made.attach("G2", "212 N", "212 B")
    made.do("detach", lead="?", point="212 A", stick="H1")
    timeline = made.run()
    assert reported(timeline.grounded(5, made.point("212 A"))) == ["a lead"]
    assert timeline.grounded(5, made.point("212 B")) is TRUE


def test_a_bar_mounted_at_a_place_not_reported_may_be_joined_to_anything(site: Any) -> None:
    made = site()
    made.do("mount", bar="K1", structure="?")
    assert reported(made.run().grounded(1, made.point("K1"))) == ["a structure"]


def test_a_cut_at_a_place_not_reported_leaves_no_span_certain(site: Any) -> None:
    made = site()
    made.attach("G1", "211 N", "211 A")
    made.do("cut", point="?")
    timeline = made.run()
    assert timeline.grounded(2, made.point("213 A")) is TRUE
    assert reported(timeline.grounded(3, made.point("213 A"))) == ["a point"]
    assert timeline.grounded(3, made.point("211 A")) is TRUE


def test_a_structure_off_the_route_may_be_anywhere_along_it(site: Any) -> None:
    from groundlint.plan.models import Structure

    made = site()
    made.add(Structure(name="300", span=made.span(0), material="wood"))
    made.attach("G1", "300 A", "300 B")
    timeline = made.run()
    where = "where structure 300 stands on the route"
    assert reported(timeline.joined(2, made.point("212 A"), made.point("300 A"))) == [where]
    assert timeline.joined(2, made.point("212 A"), made.point("300 A"), local=True) is FALSE


def test_the_gaps_are_those_of_the_way_with_the_fewest(site: Any) -> None:
    made = site(material=None)
    made.attach("G1", "211 A", "212 steel")
    made.attach("G2", "212 pole", "213 steel")
    timeline = made.run()
    a = made.point("211 A")
    assert reported(timeline.grounded(4, a)) == ["the material of structure 212"]
    assert reported(timeline.joined(4, a, made.point("213 pole"))) == [
        "the material of structure 212", "the material of structure 213",
    ]  # fmt: skip


def test_a_cut_has_two_sides_and_a_clamp_there_may_be_on_either(site: Any) -> None:
    made = site()
    made.attach("G1", "211 N", "211 A")
    made.do("cut", point="212 A")
    one_side = len(made.actions)
    made.attach("G2", "213 N", "213 A")
    timeline = made.run()
    a, near, far = made.point("212 A"), made.point("212 A near"), made.point("212 A far")
    assert timeline.grounded(2, a) is TRUE
    assert (timeline.grounded(one_side, near), timeline.grounded(one_side, far)) == (TRUE, FALSE)
    assert reported(timeline.grounded(one_side, a)) == ["which side of the cut at 212 A is meant"]
    assert timeline.grounded(timeline.n, a) is TRUE  # both sides are
    assert timeline.joined(timeline.n, near, far) is TRUE  # by way of the neutral
    assert timeline.electrodes(timeline.n, a) == tuple(made.point(f"{s} N") for s in (211, 212, 213))
    assert timeline.cut(one_side, made["212"], made["A"])


def test_a_bond_across_keeps_the_two_sides_one(site: Any) -> None:
    made = site(source={})
    made.do("bond", first="212 A", second="212 A far", lead="G1", stick="H1", across=True)
    made.do("cut", point="212 A")
    made.do("unbond", first="212 A")
    made.do("join", point="212 A")
    timeline = made.run()
    one, other = made.point("211 A"), made.point("213 A")
    assert [timeline.joined(at, one, other) for at in range(5)] == [TRUE, TRUE, TRUE, FALSE, TRUE]
    assert [timeline.bridged(at, made["212"], made["A"]) for at in range(5)] == [False, True, True, False, False]
    assert [timeline.cut(at, made["212"], made["A"]) for at in range(5)] == [False, False, True, True, False]
    assert timeline.problems == ()


def test_a_cut_at_a_place_not_reported_may_be_where_a_bond_lies_across(site: Any) -> None:
    made = site("212")
    made.do("bond", first="212 A", second="212 A far", across=True)
    made.do("unbond", first="212 A")
    made.do("cut", point="?")
    timeline = made.run()
    a, far = made.point("212 A"), made.point("212 A far")
    assert [reported(timeline.joined(at, a, far)) for at in (1, 2, 3)] == [TRUE, TRUE, ["a point"]]


def test_grounds_on_both_sides_do_not_bridge_a_cut(site: Any) -> None:
    made = site()
    made.attach("G1", "211 N", "211 A")
    made.attach("G2", "213 N", "213 A")
    made.do("cut", point="212 A")
    made.attach("G3", "212 A near", "212 A far")
    timeline = made.run()
    near, far = made.point("212 A near"), made.point("212 A far")
    cut = timeline.n - 2
    assert timeline.joined(cut, near, far) is TRUE  # by way of the neutral
    assert timeline.joined(cut, near, far, local=True) is FALSE
    assert timeline.joined(timeline.n, near, far, local=True) is TRUE


def test_bonds_are_known_with_the_step_that_took_them_off(site: Any) -> None:
    made = site()
    made.do("bond", first="212 A", second="212 pole ground")
    made.do("bond", first="TRUCK", second="212 pole ground")
    off = made.do("unbond", first="212 A")
    timeline = made.run()
    assert list(timeline.every_bond().values()) == [off, None]
    assert [len(timeline.bonds(at)) for at in range(timeline.n + 1)] == [0, 1, 2, 1]


def test_a_lead_whose_other_end_nobody_tells_hangs_on_either_side_of_a_cut(site: Any) -> None:
    made = site()
    made.attach("G1", "212 A", "?")
    made.do("cut", point="212 A")
    timeline = made.run()
    assert reported(timeline.joined(timeline.n, made.point("212 A"), made.point("211 A"))) == [
        "which side of the cut at 212 A is meant"
    ]
