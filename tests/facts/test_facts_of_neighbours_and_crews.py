"""Facts about live neighbours, conductors that are down, vehicles in their place, and who holds a clearance."""

from __future__ import annotations

import pytest
from asked_plans import Asked

from groundlint.electrical.physics.approach import TABLE_R6
from groundlint.values import Unknown

HEAD = """\
line Larkspur
  voltage 12.47 kV
  phases A B C
  neutral N multigrounded
  no shield wire
  route 211 (50 m) 212 (50 m) 213
  altitude 300 m
source West utility beyond 211
no other source
no parallel line
neighbour U1 live 12.47 kV at 212 4 ft from 212 A bare
neighbour U2 live 240 V at 213 1 ft from 213 A
neighbour U3 live 69 kV at 213 20 ft from 213 A, covered
no neighbour but U1 U2 U3
switch SW41 between West and 211
structure 211 212 213 wood pole with pole ground
lead G1 2/0 copper 25 ft
lead G2 2/0 copper 1 ft
detector D1 for 5 kV to 40 kV
stick H1 8 ft
vehicle V1 tensioner
crew North: lineman L1 L2
crew South: lineman S1
"""


class Plan(Asked):
    __call__ = Asked.ask


def asked(*steps: str, head: str = HEAD) -> Plan:
    return Plan(head + "".join(f"{step}\n" for step in steps))


def without(line: str) -> str:
    assert line in HEAD
    return HEAD.replace(line, "")


def test_the_approach_distance_is_that_of_the_rule_at_the_neighbours_voltage() -> None:
    """29 CFR 1910.269 Table R-6 (2014 rule), phase to ground: 5.1 to 15 kV, and 46.1 to 72.5 kV."""
    plan = asked()
    assert plan("approach-distance", "U1") == TABLE_R6[2][1] == 0.65
    assert plan("approach-distance", "U3") == TABLE_R6[5][1] == 1.00
    assert plan("approach-distance", "plan") == 0.65
    assert plan("approach-distance", "U2") == 0.0  # up to 300 V: avoid contact


def test_without_an_altitude_the_approach_distance_is_known_within_bounds() -> None:
    """From that of low land to that of 6000 m, the end of Table R-5, where the factor is 1.44 (from memory)."""
    plan = asked(head=without("  altitude 300 m\n"))
    found = str(plan("approach-distance", "U1"))
    assert found.startswith(f"Bounds(low=0.65, high={0.65 * 1.44}")
    assert "the line's altitude" in found
    assert plan("approach-distance", "U2") == 0.0
    unstated = asked(head=HEAD.replace("neighbour U1 live 12.47 kV", "neighbour U1"))
    assert isinstance(unstated("approach-distance", "U1"), Unknown)


def test_a_neighbour_is_bare_only_where_the_plan_says_so() -> None:
    plan = asked("cover U1", "uncover U1")
    assert plan("covered", "U1", at=0) is False
    assert plan("covered", "U1", at=1) is True
    assert plan("covered", "U1") is False
    assert plan("covered", "U3") is True
    assert isinstance(plan("covered", "U2"), Unknown)


@pytest.mark.parametrize(
    ("steps", "expected"),
    [
        ((), False),
        (("attach G1 to 212 pole ground",), True),
        (("attach G1 to 212 pole ground, then to 212 N by H1",), False),
        (("attach G2 to 212 pole ground",), False),  # 1 ft and 0.65 m are less than 4 ft
        (("attach G1 to 211 pole ground",), False),
    ],
)
def test_a_loose_lead_reaches_as_far_as_it_is_long(steps: tuple[str, ...], expected: bool) -> None:
    assert asked(*steps)("within-loose-end", "U1") is expected


def test_a_lead_of_unstated_length_may_reach() -> None:
    plan = asked("attach G1 to 212 pole ground", head=HEAD.replace("lead G1 2/0 copper 25 ft", "lead G1 2/0 copper"))
    assert isinstance(plan("within-loose-end", "U1"), Unknown)


def test_a_conductor_that_is_down_is_open_until_it_is_joined() -> None:
    plan = asked("open SW41", "test 212 A with D1 on H1", "downed 212 A", "join 212 A")
    assert [plan("downed", "212 A", at=at) for at in range(5)] == [False, False, False, True, False]
    assert [plan("cut", "212 A", at=at) for at in (2, 3, 4)] == [False, True, False]
    assert plan("found-dead", "212 A", at=2) is True
    assert plan("found-dead", "212 A", at=3) is False


def test_an_improvised_test_finds_nothing_dead() -> None:
    plan = asked("open SW41", "test 212 A improvised by hand")
    assert plan("tested", "212 A") is True
    assert plan("found-dead", "212 A") is False


def test_the_sides_of_an_open_conductor_are_tested_each_for_itself() -> None:
    plan = asked("open SW41", "downed 212 A", "test 212 A near side with D1 on H1", "test 212 A far side with D1 on H1")
    assert (plan("tested", "212 A", at=3), plan("tested", "212 A near side", at=3)) == (False, True)
    assert (plan("tested", "212 A"), plan("found-dead", "212 A")) == (True, True)
    assert (plan("downed", "212 A near side"), plan("one-side", "212 A near side")) == (True, True)
    assert plan("one-side", "212 A") is False


def test_a_conductor_that_is_pulled_in_is_to_be_tested_again() -> None:
    plan = asked("open SW41", "test 212 A B with D1 on H1", "string 212 A")
    assert plan("found-dead", "212 A") is False
    assert plan("found-dead", "212 B") is True
    assert plan("tested", "212 A") is True


def test_a_parked_vehicle_is_in_the_work_of_its_structure() -> None:
    somebody = "enter L1 at 212 on the pole, reaching nothing"
    assert asked("park V1 at 212", somebody)("in-work", "V1") is True
    assert asked("park V1 at 213", somebody)("in-work", "V1") is False
    assert isinstance(asked("park V1", somebody)("in-work", "V1"), Unknown)
    assert asked("park V1 at 212")("in-work", "V1") is False


def test_a_crew_is_cleared_by_one_of_its_own() -> None:
    plan = asked("clearance Larkspur received by L1", "clearance Larkspur released by L1")
    assert (plan("cleared", "L2", at=1), plan("cleared", "S1", at=1)) == (True, False)
    assert (plan("cleared", "L2"), plan("cleared", "S1")) == (False, False)
    assert asked("clearance Larkspur received by South")("cleared", "S1") is True
    assert isinstance(asked("clearance Larkspur received")("cleared", "S1"), Unknown)


def test_two_crews_with_steps_are_several_and_unnamed_ones_may_be() -> None:
    steps = ("gloves on L1", "gloves on S1")
    assert asked(*steps)("several-crews", "plan") is True
    assert asked(steps[0])("several-crews", "plan") is False
    assert asked("brief all")("several-crews", "plan") is False
    assert asked(steps[0], "clearance Larkspur received by South")("several-crews", "plan") is True
    unnamed = HEAD.replace("South: ", "").replace("North: ", "")
    assert isinstance(asked(*steps, head=unnamed)("several-crews", "plan"), Unknown)


def test_clamps_on_both_sides_bridge_an_opening() -> None:
    plan = asked(
        "cut 212 A",
        "attach G1 to 212 pole ground, then to 212 A near side by H1",
        "attach G2 to 212 pole ground, then to 212 A far side by H1",
        "detach G2 from 212 A far side by H1",
    )
    assert [plan("bridged", "212 A", at=at) for at in (1, 3, 5, 6)] == [False, False, True, False]
    assert plan("grounded-here", "212 A", at=5) is True
    assert plan("joined-here-to", "212 A near side", "212 A far side", at=5) is True
    assert plan("joined-here-to", "212 A near side", "212 A far side") is False


def test_goods_at_hand_cover_nothing_and_are_of_a_class_for_the_voltage() -> None:
    head = HEAD.replace(
        "stick H1", "rubber gloves RG1 class 4\nrubber blanket B1 class 0\nrubber line hose LH1 LH2 class 2\nstick H1"
    )
    plan = asked("cover U1 with LH1", "uncover U1", head=head)
    assert [str(plan("cover-at-hand", "U1", at=at)) for at in range(3)] == ["LH1", "LH2", "LH1"]
    assert str(plan("cover-at-hand", "U2")) == "B1"
    assert plan("cover-at-hand", "U3") is None
    assert asked()("cover-at-hand", "U1") is None
    assert isinstance(asked(head=head.replace("B1 class 0", "B1"))("cover-at-hand", "U1"), Unknown)
    assert isinstance(asked(head=head.replace("live 12.47 kV", "live"))("cover-at-hand", "U1"), Unknown)


@pytest.mark.parametrize(
    ("crews", "several"),
    [
        ("crew North: lineman L1\ncrew North: lineman S1\n", False),  # one crew in two lines
        ("crew North: lineman L1\ncrew South: lineman S1\n", True),
        ("crew lineman L1 S1\n", False),
        ("crew North: lineman L1\ncrew lineman S1\n", None),
    ],
)
def test_crews_are_several_by_their_names(crews: str, several: bool | None) -> None:
    head = without("crew North: lineman L1 L2\n").replace("crew South: lineman S1\n", crews)
    plan = asked("enter L1 at 212 on the pole, reaching A", "enter S1 at 213 on the pole, reaching B", head=head)
    found = plan("several-crews", "plan")
    assert isinstance(found, Unknown) if several is None else found is several


@pytest.mark.parametrize(("crew", "controlled"), [("South", False), ("North", None)])
def test_a_clearance_that_a_crew_holds_is_in_the_hand_of_nobody_of_another(crew: str, controlled: bool | None) -> None:
    plan = asked(
        "open SW41, in sight, within reach, one crew, under sole control of L1", f"clearance received by {crew}"
    )
    found = plan("controlled-by-holder", "SW41")
    assert isinstance(found, Unknown) if controlled is None else found is controlled


def test_a_span_has_a_length_and_the_end_of_the_route_none_after_it() -> None:
    plan = asked()
    assert plan("span-after", "211") == 50.0
    assert plan("span-after", "213") is None
    assert isinstance(asked(head=HEAD.replace("211 (50 m)", "211"))("span-after", "211"), Unknown)


def test_who_moves_on_reaches_there_what_is_said_there() -> None:
    """At the same structure the reach stays; at another it is not known until it is said."""
    up = "enter L1 at 212 on the pole, reaching A"
    reach = asked(up, "move L1 at 212 on the pole")
    assert reach("reaching", "L1", "212 A") is True
    moved = asked(up, "move L1 to 213 on the pole")
    assert isinstance(moved("reaching", "L1", "213 B"), Unknown)


def test_a_neighbour_is_at_the_structure_that_its_distance_is_measured_from() -> None:
    head = HEAD.replace(
        "neighbour U1 live 12.47 kV at 212 4 ft from 212 A bare", "neighbour U1 live 12.47 kV 4 ft from 212 A"
    )
    plan = asked(head=head)
    assert plan("at-structure", "U1", "212") is True
    assert plan("at-structure", "U1", "213") is False


def test_without_a_neutral_nothing_hangs_on_it_alone() -> None:
    steps = ("attach G1 to 212 A by H1, then to 212 B by H1",)
    assert (
        asked(*steps, head=HEAD.replace("neutral N multigrounded", "no neutral"))("on-neutral-alone", "212 A") is False
    )
