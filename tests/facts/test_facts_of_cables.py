"""Facts about cables: their places, who is at them, what was spiked, and what a step or a declaration leaves open."""

from __future__ import annotations

import pytest
from asked_plans import Asked

from groundlint.values import Unknown

HEAD = """\
line Larkspur
  phases A B C
  neutral N multigrounded
  route 211 (50 m) 212 (100 m) 213 (60 m) 214
structure 211 212 213 214 wood pole
cable UG1 from 212 to 213 by MH1 (60 m) MH2 (25 m)
given where as structure
given which as cable
lead G1 G2
stick H1 8 ft
detector D1 for 5 kV to 40 kV
crew lineman L1
"""


def asked(*steps: str, head: str = HEAD) -> Asked:
    found = Asked(head + "".join(f"{step}\n" for step in steps))
    assert not found.result.diagnostics
    return found


def test_a_cable_ends_at_its_terminals_and_comes_by_its_vaults() -> None:
    plan = asked()
    assert [plan.ask("terminal-of", name, "UG1") for name in ("211", "212", "MH1", "213")] == [False, True, False, True]
    assert [plan.ask("vault-of", name, "UG1") for name in ("212", "MH1", "MH2", "213")] == [False, True, True, False]


def test_vaults_stand_on_the_route_with_their_lengths() -> None:
    plan = asked()
    assert plan.ask("distance", "212", "MH1") == pytest.approx(15.0)
    assert plan.ask("distance", "MH1", "213") == pytest.approx(85.0)
    assert plan.ask("spans-to", "211", "214") == 5.0
    assert plan.ask("on-route", "MH2") is True


def test_a_vault_has_nothing_of_a_pole() -> None:
    plan = asked()
    assert plan.ask("material", "MH1") is None
    assert plan.ask("pole-ground", "MH1") is False
    assert plan.ask("material", "212") == "wood"


def test_who_is_in_a_vault_of_a_cable_is_at_it() -> None:
    plan = asked("enter L1 at MH1 on the ground, reaching A", "move L1 to 213 on the pole, reaching A", "leave L1")
    assert [plan.ask("at-cable", "L1", "UG1", at=at) for at in range(4)] == [False, True, False, False]


def test_who_is_nobody_knows_where_may_be_at_a_cable() -> None:
    assert isinstance(asked("enter L1 reaching nothing").ask("at-cable", "L1", "UG1"), Unknown)


def test_a_cable_is_spiked_at_the_place_that_the_step_names() -> None:
    plan = asked("spike UG1 at MH1")
    assert [plan.ask("spiked-at", "UG1", name) for name in ("MH1", "MH2", "212")] == [True, False, False]
    assert plan.ask("spiked-at", "UG1", "MH1", at=0) is False


@pytest.mark.parametrize("step", ["spike UG1", "spike UG1 at where", "spike which at MH1"])
def test_a_spike_of_which_the_cable_or_the_place_is_not_reported_leaves_it_open_for_each(step: str) -> None:
    plan = asked(step, "spike UG1 at MH2")
    assert isinstance(plan.ask("spiked-at", "UG1", "MH1"), Unknown)
    assert plan.ask("spiked-at", "UG1", "MH2") is True


def test_what_is_spiked_is_found_dead_there_until_something_could_energize_it() -> None:
    feed = "source West utility beyond 211\nno other source\nswitch SW1 between West and 211 open\n"
    plan = asked("spike UG1 at MH1", "close SW1", head=HEAD + feed)
    points = [("MH1", "A"), ("MH1", "C"), ("MH2", "A"), ("MH1", "N")]
    truths = [[plan.ask("found-dead", f"{at} {wire}", at=step) for at, wire in points] for step in range(3)]
    assert truths[0] == [False] * 4
    assert truths[1] == [True, True, False, False]
    assert truths[2][0] is not True


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("", None),
        ("transfer of potential possible", True),
        ("transfer of potential not possible", None),
        ('because "the duct is bonded"', None),
        ('transfer of potential not possible because "the duct is bonded"', False),
        ('transfer of potential possible because "nothing is bonded"', True),
    ],
)
def test_transfer_is_ruled_out_by_a_reason_alone(words: str, found: bool | None) -> None:
    plan = asked(head=HEAD.replace("MH2 (25 m)", f"MH2 (25 m) {words}"))
    value = plan.ask("transfer-possible", "UG1")
    assert isinstance(value, Unknown) if found is None else value is found


def test_one_phase_that_is_grounded_at_a_structure_is_enough() -> None:
    plan = asked("attach G1 to 213 N, then to 213 B by H1", "detach G1 from 213 B by H1")
    assert [plan.ask("some-phase-grounded", "213", at=at) for at in range(4)] == [False, False, True, False]
    assert plan.ask("some-phase-grounded", "MH1", at=2) is False
    vague = asked("attach G1 to 213 B by H1", "attach G1 to where A by H1")
    assert isinstance(vague.ask("some-phase-grounded", "213"), Unknown)


def test_grounds_that_are_left_off_are_safer_only_where_the_plan_says_so() -> None:
    assert isinstance(asked().ask("omission-safer", "plan"), Unknown)
    assert isinstance(asked(head=HEAD + "no grounds impracticable\n").ask("omission-safer", "plan"), Unknown)
    assert (
        asked(head=HEAD + 'no grounds more hazardous because "bared conductors"\n').ask("omission-safer", "plan")
        is True
    )


def test_nothing_is_computed_where_the_line_is_cable_in_part() -> None:
    feed = "source West utility beyond 211\n  fault 5 kA three-phase\n  clears in 20 cycles\nno other source\n"
    steps = ("attach G1 to 212 N, then to 212 A by H1",)
    found = asked(*steps, head=HEAD + feed).ask("fault-current", "G1", "West")
    assert isinstance(found, Unknown)
    assert "impedances of cable UG1" in found.gaps[0].fact


def test_that_no_potential_comes_along_a_cable_needs_its_reason() -> None:
    cable = "cable UG1 from 212 to 213 by MH1 (60 m) MH2 (25 m)"
    for words, found in (("possible", True), ('not possible because "it lies in the same ring"', False)):
        head = HEAD.replace(cable, f"{cable} transfer of potential {words}")
        assert asked(head=head).ask("transfer-possible", "UG1") is found
    for words, missing in ((" transfer of potential not possible", "why no transfer"), ("", "whether a transfer")):
        unknown = asked(head=HEAD.replace(cable, cable + words)).ask("transfer-possible", "UG1")
        assert isinstance(unknown, Unknown)
        (gap,) = unknown.gaps
        assert missing in gap.fact
        assert ("because" in gap.write) is (missing == "why no transfer")
