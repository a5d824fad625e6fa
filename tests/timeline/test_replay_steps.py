"""What each step does to the state of things."""

from __future__ import annotations

from typing import Any

import pytest

from groundlint.plan.models import Person
from groundlint.timeline import Barricade, Mounted, RodSet
from groundlint.values import FALSE, TRUE, Gap, Unknown


def test_a_position_is_the_state_before_its_step(site: Any) -> None:
    made = site(switch={}, source={})
    opened = made.do("open", switch="SW41", seen=True)
    tagged = made.do("tag", switch="SW41")
    verified = made.do("verify", switch="SW41")
    untagged = made.do("untag", switch="SW41")
    closed = made.do("close", switch="SW41")
    timeline = made.run()
    switch = made["SW41"]
    assert [timeline.switch_position(at, switch) for at in range(timeline.n + 1)] == ["closed", *["open"] * 4, "closed"]
    assert not timeline.tagged(tagged, switch)
    assert timeline.tagged(verified, switch)
    assert timeline.tagged(untagged, switch)
    assert not timeline.tagged(closed, switch)
    assert [timeline.gap_visible(at, switch) for at in (opened, tagged, timeline.n)] == [False, True, False]
    assert [timeline.verified(at, switch) for at in (verified, untagged, timeline.n)] == [False, True, False]
    assert timeline.problems == ()


@pytest.mark.parametrize(
    ("declared", "known"),
    [("open", "open"), ("closed", "closed"), ("normally open", None), ("normally closed", "closed"), (None, None)],
)
def test_normally_open_is_not_known_to_be_open(site: Any, declared: str | None, known: str | None) -> None:
    made = site(switch={"position": declared}, source={})
    assert made.run().switch_position(0, made["SW41"]) == known


def test_a_switch_verified_open_is_known_to_be_open(site: Any) -> None:
    made = site(switch={"position": "normally open"}, source={})
    made.do("verify", switch="SW41")
    timeline = made.run()
    assert timeline.switch_position(1, made["SW41"]) == "open"
    assert timeline.source_open(0, made["West"]) == Unknown((Gap("the position of SW41", "open SW41 and tag it"),))
    assert timeline.source_open(1, made["West"]) is TRUE


def test_a_visible_gap_counts_only_while_open(site: Any) -> None:
    made = site(switch={"visible": True}, source={})
    made.do("open", switch="SW41")
    timeline = made.run()
    assert [timeline.gap_visible(at, made["SW41"]) for at in (0, 1)] == [False, True]


def test_reclosing_is_blocked_and_put_back(site: Any) -> None:
    made = site(switch={}, source={})
    made.do("block", circuit="West")
    made.do("unblock", circuit="West")
    timeline = made.run()
    assert [timeline.reclosing_blocked(at, made["West"]) for at in range(3)] == [None, True, False]


@pytest.mark.parametrize(("stated", "blocked"), [("on", False), ("off", True), ("blocked", True), (None, None)])
def test_reclosing_before_the_plan_is_as_declared(site: Any, stated: str | None, blocked: bool | None) -> None:
    made = site(source={"reclosing": stated})
    assert made.run().reclosing_blocked(0, made["West"]) is blocked


def test_unblocking_what_the_plan_does_not_name_leaves_nothing_known_to_be_blocked(site: Any) -> None:
    made = site(source={"reclosing": "off"})
    made.do("unblock", circuit="?")
    assert made.run().reclosing_blocked(1, made["West"]) is None


def test_a_clearance_holds_until_everybody_has_released_theirs(site: Any) -> None:
    made = site()
    other = Person(name="F2", span=made.span(0), role="foreman", crew="Night")
    made.add(other)
    made.do("request")
    made.do("receive", holder="L1")
    made.do("receive", crew="Night")
    made.do("release", holder="L1")
    made.do("release", crew="Night")
    timeline = made.run()
    assert [timeline.clearance(at) for at in range(6)] == [
        None, "requested", "received", "received", "received", "released",
    ]  # fmt: skip
    assert [timeline.clearance(at, made["L1"]) for at in (2, 3, 4)] == ["received", "received", "released"]
    assert [timeline.clearance(at, other) for at in (2, 3, 5)] == ["requested", "received", "released"]
    assert timeline.problems == ()


def test_releasing_without_a_name_leaves_open_whose_clearance_it_was(site: Any) -> None:
    made = site()
    made.do("receive", holder="L1")
    made.do("release")
    timeline = made.run()
    assert timeline.clearance(2) == "unsettled"
    assert timeline.clearance(2, made["L1"]) == "unsettled"
    assert timeline.holds_clearance(1, made["L1"]) is True
    assert timeline.holds_clearance(2, made["L1"]) is None
    assert timeline.holds_clearance(2, "Night") is False
    assert timeline.problems == ()


def test_who_receives_a_clearance_without_a_name_may_be_who_releases_it(site: Any) -> None:
    made = site()
    made.do("receive")
    made.do("release", holder="L1")
    made.do("receive", holder="L1")
    timeline = made.run()
    assert [timeline.clearance(at) for at in range(4)] == [None, "received", "unsettled", "received"]
    assert [timeline.holds_clearance(at, made["L1"]) for at in range(4)] == [False, None, None, True]
    assert timeline.problems == ()


def test_more_releases_than_clearances_are_a_mistake_whoever_is_named(site: Any) -> None:
    for holder in ({}, {"holder": "L1"}):
        made = site()
        made.do("receive", holder="L1")
        made.do("release", **holder)
        made.do("release", **holder)
        assert [said.code for said in made.run().problems] == ["release-without-clearance"]


def test_who_takes_a_clearance_over_holds_it_and_who_gave_it_away_does_not(site: Any) -> None:
    made = site()
    made.do("receive", holder="L1")
    made.do("transfer", holder="L1", taker="M1")
    made.do("transfer", holder="M1", taker_crew="Night")
    made.do("release", crew="Night")
    timeline = made.run()
    assert [timeline.clearance(at) for at in range(5)] == [None, "received", "received", "received", "released"]
    assert [timeline.clearance(at, made["L1"]) for at in (1, 2, 3)] == ["received", "transferred", "transferred"]
    assert [timeline.holds_clearance(at, made["M1"]) for at in range(5)] == [False, False, True, False, False]
    assert [timeline.holds_clearance(at, "Night") for at in range(5)] == [False, False, False, True, False]
    assert timeline.problems == ()


def test_who_takes_a_second_clearance_over_has_two_to_release(site: Any) -> None:
    made = site()
    made.do("receive", holder="L1")
    made.do("receive", holder="M1")
    made.do("transfer", holder="L1", taker="M1")
    made.do("release", holder="M1")
    made.do("release", holder="M1")
    timeline = made.run()
    assert [timeline.clearance(at) for at in (3, 4, 5)] == ["received", "received", "released"]
    assert [timeline.holds_clearance(at, made["M1"]) for at in (3, 4, 5)] == [True, True, False]


@pytest.mark.parametrize("slots", [{"holder": "M1", "taker": "M1"}, {"holder": "M1", "taker_crew": "Night"}])
def test_what_somebody_does_not_hold_passes_to_nobody(site: Any, slots: dict[str, str]) -> None:
    made = site()
    made.do("receive", holder="L1")
    made.do("transfer", **slots)
    timeline = made.run()
    assert [timeline.holds_clearance(2, who) for who in (made["L1"], made["M1"], "Night")] == [True, False, False]
    assert timeline.problems == ()


@pytest.mark.parametrize("slots", [{"taker": "M1"}, {}])
def test_a_transfer_that_names_nobody_leaves_open_who_holds_it(site: Any, slots: dict[str, str]) -> None:
    made = site()
    made.do("receive", holder="L1")
    made.do("transfer", **slots)
    timeline = made.run()
    assert [timeline.holds_clearance(2, made[who]) for who in ("L1", "M1")] == [None, None]
    assert timeline.clearance(2) == "received"


def test_a_transfer_of_nothing_is_a_mistake_and_leaves_all_as_it_was(site: Any) -> None:
    made = site()
    made.do("receive", holder="L1")
    made.do("release", holder="L1")
    made.do("transfer", holder="L1", taker="M1")
    timeline = made.run()
    assert [said.code for said in timeline.problems] == ["transfer-without-clearance"]
    assert timeline.clearance(3) == "released"
    assert timeline.holds_clearance(3, made["M1"]) is False


def test_equipment_and_people_carry_what_was_done(site: Any) -> None:
    made = site()
    made.do("brief", person="L1")
    made.do("inspect", item="G1")
    made.do("set", rod="R1", structure="211", distance=4.9, depth="?")
    made.do("barricade", thing="R1", distance=3.0)
    made.do("unbarricade", thing="R1")
    made.do("mount", bar="K1", structure="212", height="below", conductor="N")
    made.do("dismount", bar="K1")
    made.do("gloves-on", person="L1")
    made.do("gloves-off", person="L1")
    made.do("cover", neighbour="UNDERBUILD")
    made.do("uncover", neighbour="UNDERBUILD")
    made.do("note", text="nothing changes")
    timeline = made.run()
    assert [timeline.briefed(at, made["L1"]) for at in (0, 1)] == [False, True]
    assert [timeline.inspected(at, made["G1"]) for at in (1, 2)] == [False, True]
    assert timeline.inspected_at(9, made["G1"]) == 1
    assert [timeline.rod_set(at, made["R1"]) for at in (2, 3)] == [None, RodSet(made["211"], 4.9, None, 2)]
    assert [timeline.barricaded(at, made["R1"]) for at in (3, 4, 5)] == [None, Barricade(3.0, 3), None]
    assert [timeline.mounted(at, made["K1"]) for at in (5, 6, 7)] == [
        None,
        Mounted(made["212"], "below", made["N"], 5),
        None,
    ]
    assert [timeline.gloved(at, made["L1"]) for at in (7, 8, 9)] == [None, True, False]
    assert [timeline.covered(at, made["UNDERBUILD"]) for at in (9, 10, 11)] == [False, True, False]
    assert timeline.problems == ()


def test_a_worker_keeps_place_stand_and_reach_until_moving(site: Any) -> None:
    made = site()
    made.do("enter", person="L1", structure="212", stand="212 pole", reach=["212 A", "212 pole"])
    made.do("enter", person="M1", structure="212", stand="212 earth", reach=[])
    made.do("move", person="L1", reach=["212 B"])
    made.do("move", person="L1", structure="213")
    made.do("leave", person="L1")
    timeline = made.run()
    first = timeline.stand(1, made["L1"])
    assert first is not None
    assert (first.structure, first.point, first.reach) == (
        made["212"], made.point("212 pole"), (made.point("212 A"), made.point("212 pole")),
    )  # fmt: skip
    reached = timeline.stand(3, made["L1"])
    assert reached is not None
    assert (reached.structure, reached.point, reached.reach) == (
        made["212"],
        made.point("212 pole"),
        (made.point("212 B"),),
    )
    moved = timeline.stand(4, made["L1"])
    assert moved is not None
    assert (moved.structure, moved.point, moved.reach) == (
        made["213"],
        None,
        None,
    )  # what is in reach there is not said
    second = timeline.stand(2, made["M1"])
    assert second is not None
    assert second.reach == ()  # the plan says that nothing is in reach
    assert [timeline.people_in_place(at) for at in (0, 1, 2, 5)] == [
        (),
        (made["L1"],),
        (made["L1"], made["M1"]),
        (made["M1"],),
    ]


def test_what_a_stand_leaves_out_is_reported_as_gaps(site: Any) -> None:
    made = site()
    made.do("enter", person="L1", structure="212", stand="?", reach="?")
    stand = made.run().stand(1, made["L1"])
    assert stand is not None
    assert (stand.point, stand.reach) == (None, None)
    assert stand.gaps == (Gap("a point"), Gap("a point"))


def test_ends_stand_in_the_order_they_went_on(site: Any) -> None:
    made = site()
    made.do("mount", bar="K1", structure="212")
    made.attach("G1", "K1", "212 A")
    made.detach("G1", "K1")
    made.attach("G1", "212 B")
    timeline = made.run()
    lead, bar, a, b = made["G1"], made.point("K1"), made.point("212 A"), made.point("212 B")
    assert [timeline.ends(at, lead) for at in range(1, 6)] == [(), (bar,), (bar, a), (a,), (a, b)]
    assert timeline.end_index(3, lead, a) == 2
    assert timeline.end_index(3, lead, b) is None
    assert timeline.problems == ()


def test_a_lifted_lead_is_off_until_restored(site: Any) -> None:
    made = site()
    made.do("mount", bar="K1", structure="212")
    made.attach("G1", "K1", "212 A")
    made.do("lift", lead="G1", point="212 A", stick="H1", purpose="test")
    made.do("restore", lead="G1", point="212 A", stick="H1")
    timeline = made.run()
    a, bar = made.point("212 A"), made.point("K1")
    assert [timeline.lifted(at, made["G1"]) for at in (3, 4, 5)] == [None, a, None]
    assert [timeline.joined(at, a, bar, local=True) for at in (3, 4, 5)] == [TRUE, FALSE, TRUE]
    assert timeline.problems == ()


def test_a_lead_used_for_a_bond_has_both_ends_on(site: Any) -> None:
    made = site()
    made.do("set", rod="R1", structure="212")
    made.do("bond", first="TRUCK", second="R1", lead="G1", stick="H1")
    made.do("unbond", first="TRUCK")
    timeline = made.run()
    truck, rod = made.point("TRUCK"), made.point("R1")
    assert [timeline.ends(at, made["G1"]) for at in (1, 2, 3)] == [(), (truck, rod), ()]
    assert [timeline.grounded(at, truck, local=True) for at in (1, 2, 3)] == [FALSE, TRUE, FALSE]
    assert timeline.problems == ()


def test_cleaning_lasts_until_a_clamp_comes_off(site: Any) -> None:
    made = site()
    made.do("clean", point="212 A")
    made.attach("G1", "212 A")
    made.attach("G2", "212 A")
    made.detach("G2", "212 A")
    timeline = made.run()
    a = made.point("212 A")
    assert [timeline.clean(at, a) for at in range(5)] == [False, True, True, True, False]
    assert timeline.cleaned_at(2, a) == 0


def test_a_bond_with_a_lead_goes_on_and_comes_off_as_the_lead_does(site: Any) -> None:
    made = site()
    made.do("clean", point="212 A")
    made.do("bond", first="212 A", second="212 B", lead="G1", stick="H1")
    made.do("unbond", first="212 A", stick="H1")
    timeline = made.run()
    a, lead = made.point("212 A"), made["G1"]
    assert [timeline.leads_on(at, a) for at in range(4)] == [(), (), (lead,), ()]
    assert [timeline.clean(at, a) for at in range(4)] == [False, True, True, False]


def test_a_bond_without_a_lead_is_on_until_it_is_unbonded(site: Any) -> None:
    made = site()
    made.do("bond", first="212 A", second="212 B", stick="H1")
    made.do("unbond", first="212 B", stick="H1")
    timeline = made.run()
    for point in (made.point("212 A"), made.point("212 B")):
        assert [timeline.bonded_by_no_lead(at, point) for at in range(3)] == [False, True, False]
        assert not timeline.leads_on(1, point)


def test_an_end_at_a_place_not_reported_may_be_anywhere(site: Any) -> None:
    made = site()
    made.do("attach", lead="G1", point="?", stick="H1")
    made.do("detach", lead="G1", point="212 A", stick="H1")
    timeline = made.run()
    found = [timeline.loaded(at, made.point("212 B")) for at in range(3)]
    assert found[0] is False
    assert isinstance(found[1], Unknown)
    assert found[2] is False


def test_a_detector_is_proven_until_the_tests_after_are_counted(site: Any) -> None:
    made = site()
    made.do("test", point="212 A", detector="D1", stick="H1")
    made.do("prove", detector="D1", tester="T1")
    made.do("test", point="212 A", detector="D1", stick="H1")
    made.do("test", point="212 B", detector="D1", stick="H1")
    made.do("prove", detector="D1", live="211 A")
    timeline = made.run()
    d = made["D1"]
    assert [timeline.proven(at, d) for at in (0, 1, 2)] == [False, False, True]
    assert [timeline.last_proof(at, d) for at in (1, 4, 5)] == [None, 1, 4]
    assert [timeline.tests_since_proof(at, d) for at in range(6)] == [0, 1, 0, 1, 2, 0]


def test_a_rod_is_one_point_wherever_it_stands(site: Any) -> None:
    from groundlint.plan.models import PointRef

    made = site()
    made.do("set", rod="R1", structure="211")
    timeline = made.run()
    assert timeline.grounded(1, PointRef("rod", made["211"], made["R1"])) is TRUE


def test_a_plan_without_anything_is_carried_out(site: Any) -> None:
    made = site()
    timeline = made.run()
    assert timeline.n == 0
    assert timeline.people_in_place(0) == ()
    assert timeline.clearance(0) is None
    assert timeline.problems == ()


def test_a_tag_that_may_be_that_of_any_switch_is_on_none_any_more(site: Any) -> None:
    made = site(switch={}, source={})
    made.do("open", switch="SW41", seen=True)
    made.do("lock", switch="SW41")
    made.do("tag", switch="SW41")
    before = made.do("untag", switch=Gap("off which switch", "untag SW41"))
    timeline = made.run()
    assert (timeline.tagged(before, made["SW41"]), timeline.locked(before, made["SW41"])) == (True, True)
    assert not timeline.tagged(timeline.n, made["SW41"])
    assert not timeline.locked(timeline.n, made["SW41"])


@pytest.mark.parametrize("on", [["212 N"], ["212 N", "212 B"]])
def test_a_lead_is_restored_that_was_not_lifted(site: Any, on: list[str]) -> None:
    """It is a mistake of the plan; the end that is off goes on all the same, and a third there is not."""
    made = site()
    made.attach("G1", *on)
    made.do("restore", lead="G1", point="212 A", stick="H1")
    timeline = made.run()
    assert [problem.code for problem in timeline.problems] == ["restore-not-lifted"]
    assert (made.point("212 A") in timeline.ends(timeline.n, made["G1"])) is (len(on) == 1)
    assert len(timeline.ends(timeline.n, made["G1"])) == 2
