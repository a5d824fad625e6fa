"""A pause ends what was shown before it; a rod that is pulled is an electrode no more."""

from __future__ import annotations

from typing import Any

import pytest

from groundlint.values import FALSE, TRUE


def test_after_a_pause_nothing_is_shown_that_was_shown_before(site: Any) -> None:
    made = site(switch={}, source={})
    made.do("open", switch="SW41", seen=True)
    made.do("verify", switch="SW41")
    made.do("prove", detector="D1", tester="T1")
    made.do("test", point="212 A", detector="D1", stick="H1", result="dead")
    made.do("clean", point="212 A")
    pause = made.do("pause", time=36000.0)
    timeline = made.run()
    point, switch, detector = made.point("212 A"), made["SW41"], made["D1"]
    for at, held in ((pause, True), (pause + 1, False)):
        assert timeline.holds(at, point) is held
        assert timeline.clean(at, point) is held
        assert timeline.proven(at, detector) is held
        assert timeline.verified(at, switch) is held
        assert timeline.gap_visible(at, switch) is held
        assert timeline.switch_position(at, switch) == "open"
    assert timeline.expired_by(pause + 1, point) == pause
    assert timeline.waited(pause + 1).seconds == pytest.approx(36000.0)


def test_a_pulled_rod_grounds_nothing(site: Any) -> None:
    made = site()
    made.do("set", rod="R1", structure="212", distance=5.0, depth=2.0)
    made.do("attach", lead="G1", point="R1")
    made.do("attach", lead="G1", point="212 A")
    pull = made.do("pull", rod="R1")
    timeline = made.run()
    point, rod = made.point("212 A"), made.point("R1")
    assert timeline.grounded(pull, point) is TRUE
    assert timeline.grounded(pull + 1, point) is FALSE
    assert timeline.electrode(pull, rod) is TRUE
    assert timeline.electrode(pull + 1, rod) is FALSE
    assert timeline.electrodes(pull + 1, point) == ()
    assert timeline.rod_set(pull + 1, made["R1"]) is None
    assert [(ground.first, ground.last) for ground in timeline.grounds() if ground.node == rod] == [(1, pull)]


def test_a_rod_is_not_pulled_twice(site: Any) -> None:
    made = site()
    made.do("set", rod="R1", structure="212", distance=5.0, depth=2.0)
    made.do("pull", rod="R1")
    made.do("pull", rod="R1")
    made.do("pull", rod="R2")
    timeline = made.run()
    assert [problem.code for problem in timeline.problems] == ["pull-not-set", "pull-not-set"]


def test_a_rod_that_was_pulled_is_set_again_elsewhere_and_leaves_its_barricade_behind(site: Any) -> None:
    made = site()
    made.do("set", rod="R1", structure="212", distance=5.0, depth=2.0)
    made.do("barricade", thing="R1", distance=4.5)
    made.do("pull", rod="R1")
    made.do("set", rod="R1", structure="213", distance=6.0, depth=1.5)
    made.do("barricade", thing="R1", distance=4.5)
    made.do("pull", rod="R1")
    timeline = made.run()
    assert not timeline.problems
    one, rod = made["R1"], made.point("R1")
    assert [timeline.electrode(at, rod) for at in range(7)] == [FALSE, TRUE, TRUE, FALSE, TRUE, TRUE, FALSE]
    assert [(ground.first, ground.last) for ground in timeline.grounds() if ground.node == rod] == [(1, 2), (4, 5)]
    assert [(found.structure, found.depth) for found in timeline.rod_settings(one)] == [
        (made["212"], 2.0),
        (made["213"], 1.5),
    ]
    assert timeline.barricaded(3, one) is not None
    assert timeline.barricaded(4, one) is None
    assert timeline.barricaded(5, one) is not None


def test_a_barricade_that_went_up_after_the_rod_was_pulled_stands_around_its_new_place(site: Any) -> None:
    made = site()
    made.do("set", rod="R1", structure="212", distance=5.0, depth=2.0)
    made.do("pull", rod="R1")
    made.do("barricade", thing="R1", distance=4.5)
    made.do("set", rod="R1", structure="213", distance=6.0, depth=1.5)
    assert made.run().barricaded(4, made["R1"]) is not None


def test_a_vehicle_that_moves_leaves_its_barricade_behind(site: Any) -> None:
    made = site()
    made.do("park", vehicle="TRUCK", structure="212")
    made.do("barricade", thing="TRUCK", distance=4.5)
    made.do("park", vehicle="TRUCK", structure="212")
    made.do("park", vehicle="TRUCK", structure="213")
    made.do("unbarricade", thing="TRUCK")
    made.do("unbarricade", thing="TRUCK")
    timeline = made.run()
    assert [timeline.barricaded(at, made["TRUCK"]) is not None for at in (2, 3, 4, 6)] == [True, True, False, False]
    assert [problem.code for problem in timeline.problems] == ["unbarricade-not-barricaded"]
