"""Facts that need a plan of their own: omissions, cuts, lifts, vehicles, several crews, what is left open."""

from __future__ import annotations

from itertools import product

import pytest
from asked_plans import PLAN, Asked

from groundlint.facts import arrangement
from groundlint.values import Unknown

LINE = """\
line Larkspur
  phases A B C
  neutral N multigrounded
  no shield wire
  route 211 (50 m) 212 (50 m) 213
source West beyond 211
no other source
no parallel line
no live neighbour
switch SW41 between West and 211
structure 211 212 213 wood pole
rod R1
bar K1 K2
lead G1..G6 2/0 copper 25 ft grade 3
detector D1 for 5 kV to 40 kV
stick H1 8 ft
vehicle V1 bucket truck insulated
vehicle V2 crane uninsulated
vehicle V3
mat M5
crew lineman L1 L2, groundman M1
"""


GROUND = (
    "set R1 at 211, 16 ft from the pole, 6 ft deep",
    "attach G1 to R1, then to 211 A by H1",
    "attach G2 to 211 A by H1, then to 211 B by H1",
    "attach G3 to 211 B by H1, then to 211 C by H1",
)


def plan(*steps: str, without: str = "") -> Asked:
    lines = [line for line in LINE.splitlines() if not without or not line.strip().startswith(without)]
    return Asked("\n".join([*lines, *steps]) + "\n")


def missing(found: object) -> list[str]:
    assert isinstance(found, Unknown), found
    return [gap.fact for gap in found.gaps]


@pytest.mark.parametrize(
    ("header", "expected"),
    [
        ("no grounds no contact possible, no induction, impracticable", True),
        ("no grounds no contact possible, no induction, more hazardous", True),
        ("no grounds no contact possible, impracticable", "that there is no induction"),
        ("no grounds no induction, impracticable", "that no contact with another circuit is possible"),
        ('no grounds because "it is quicker", no contact possible, no induction', "that grounds are impracticable"),
    ],
)
def test_grounds_are_left_out_for_all_the_reasons_or_none(header: str, expected: bool | str) -> None:
    asked = plan(header)
    assert asked.ask("grounds-omitted", "plan") is True
    found = asked.ask("omission-justified", "plan")
    if expected is True:
        assert found is True
    else:
        assert expected in missing(found)


def test_numbers_that_stand_and_rise() -> None:
    assert plan("1. brief L1", "2. brief L2").ask("numbered", "plan") is True
    assert "the numbers of the steps" in missing(plan("brief L1", "brief L2").ask("numbered", "plan"))
    assert "the numbers of the steps" in missing(plan("1. brief L1", "brief L2").ask("numbered", "plan"))
    assert plan("2. brief L1", "1. brief L2", "brief M1").ask("numbered", "plan") is False


def test_a_source_that_nobody_can_locate_is_not_located() -> None:
    asked = plan("source Barn customer generation not located", without="no other source")
    assert asked.ask("located", "Barn") is False
    assert isinstance(asked.ask("open", "Barn"), Unknown)
    assert isinstance(asked.ask("voltage", "Barn"), Unknown)
    assert isinstance(asked.ask("switched", "Barn"), Unknown)
    assert asked.trace.closed("source") is not None


def test_silence_about_other_sources_leaves_points_feedable() -> None:
    asked = plan("open SW41 and tag it", without="no other source")
    assert "that there is no other source" in missing(asked.ask("feedable", "212 A"))
    assert asked.ask("source-side-grounded", "212") is False
    grounded = plan(*GROUND, without="no other source")
    assert "that there is no other source" in missing(grounded.ask("source-side-grounded", "212"))
    assert plan(*GROUND).ask("source-side-grounded", "212") is True


def test_a_switch_whose_position_nobody_states() -> None:
    asked = plan("brief L1")
    assert missing(asked.ask("open", "SW41")) == ["the position of SW41"]
    assert isinstance(asked.ask("tagged", "SW41"), Unknown)
    assert asked.ask("open", "West") is not True


def test_reclosing_that_nobody_states_could_reclose() -> None:
    asked = plan("brief L1")
    assert missing(asked.ask("reclosable", "West")) == ["whether source West recloses"]
    blocked = plan("block reclosing on SW41", "unblock reclosing on West")
    assert blocked.ask("reclosable", "West", at="unblock") is False
    assert blocked.ask("reclosable", "West") is not False


def test_the_reclosing_of_a_crossed_circuit_is_known_where_a_step_or_a_line_says_it() -> None:
    near = "neighbour Under live 7.2 kV at 212 6 ft from 212 A"
    steps = ("block reclosing on Under", "string 212 A", 'work "tie it in"', "unblock reclosing on Under")
    unsaid = plan(near, *steps, without="no live neighbour")
    assert missing(unsaid.ask("safe-from-reclosing", "Under", at="block")) == ["whether neighbour Under recloses"]
    assert unsaid.ask("safe-from-reclosing", "Under", at="string") is True
    assert unsaid.ask("safe-from-reclosing", "Under") is False
    assert [unsaid.ask("pulling", "plan", at=at) for at in ("string", "work", "unblock")] == [False, True, False]
    for state, safe in (("on", False), ("off", True), ("blocked", True)):
        assert (
            plan(near, f"  reclosing {state}", without="no live neighbour").ask("safe-from-reclosing", "Under") is safe
        )


def test_clearing_in_cycles_needs_the_frequency() -> None:
    text = PLAN.replace("  frequency 60 Hz\n", "")
    assert "the line's frequency" in missing(Asked(text).ask("clearing-time", "West"))


def test_a_fault_that_never_clears_has_no_clearing_time() -> None:
    asked = Asked(PLAN.replace("clears    in 24 cycles", "clears never"))
    assert asked.ask("never-clears", "West") is True
    assert asked.ask("clearing-time", "West") is None


def test_fault_current_from_power_and_from_impedance() -> None:
    fault = "fault     6.8 kA three-phase, 5.2 kA to ground, x/r 9"
    power = Asked(PLAN.replace(fault, "power 100 MVA x/r 12"))
    assert power.ask("fault-current", "West") == pytest.approx(100e6 / (3**0.5 * 12470))
    assert power.ask("x-over-r", "West") == 12
    assert isinstance(power.ask("ground-fault-current", "West"), Unknown)
    ohms = Asked(PLAN.replace(fault, "impedance positive 0.1 ohm reactance 1.0 ohm, zero 0.3 ohm reactance 3.0 ohm"))
    assert ohms.ask("fault-current", "West") == pytest.approx(12470 / 3**0.5 / abs(0.1 + 1j))
    assert ohms.ask("ground-fault-current", "West") == pytest.approx(12470 * 3**0.5 / abs(0.5 + 5j))
    assert ohms.ask("x-over-r", "West") == pytest.approx(10)


def test_a_cut_conductor_and_its_bridge() -> None:
    asked = plan("bond across 212 A with G1 by H1", "cut 212 A", "unbond 212 A by H1", "join 212 A")
    assert asked.ask("across", "it", at="bond") is True
    assert asked.ask("cut", "212 A", at="unbond") is True
    assert asked.ask("bridged", "212 A", at="unbond") is True
    assert asked.ask("cut", "212 A") is False
    assert asked.ask("joined-to", "211 B", "213 B") is True


def test_grounds_beyond_a_cut_are_no_grounds() -> None:
    asked = plan(*GROUND, "cut 212 A", 'note "end"')
    assert asked.ask("first-side-grounded", "213", at="cut") is True
    assert asked.ask("first-side-grounded", "213", at="note") is False
    assert asked.ask("nearest-ground", "213", at="cut") == pytest.approx(100)
    assert asked.ask("nearest-ground", "213", at="note") is None
    assert asked.ask("rod-alone", "211", at="cut") is True
    assert asked.ask("last-side-grounded", "212", at="cut") is False


def test_a_lifted_lead_floats_and_says_what_protects() -> None:
    asked = plan(
        "attach G1 to 211 N by H1, then to 211 A by H1",
        'lift G1 from 211 A by H1 protected by "the ground at 213" for "a test"',
        "restore G1 to 211 A by H1",
        "lift G1 from 211 A by H1",
        'note "end"',
    )
    assert asked.ask("protected", "it", at="lift") is True
    assert asked.ask("purpose-stated", "it", at="lift") is True
    assert isinstance(asked.ask("protected", "it", at=asked.at("lift", 1)), Unknown)
    assert asked.ask("lifted", "G1", at="restore") is True
    assert asked.ask("floating", "G1", at="restore") is True
    assert asked.ask("lifted", "G1", at=asked.at("lift", 1)) is False


def test_ganged_leads_share_both_points() -> None:
    asked = plan("attach G1 to 211 N by H1, then to 211 A by H1", "attach G2 to 211 A by H1, then to 211 N by H1")
    assert asked.ask("ganged-with", "G1", "G2") is True
    assert asked.ask("ganged-with", "G1", "G1") is False
    assert asked.ask("ganged-with", "G1", "G3") is False


def test_hands_sticks_and_silence_are_three_things() -> None:
    asked = plan("attach G1 to 211 A by H1", "attach G2 to 211 B by hand", "attach G3 to 211 C")
    found = [asked.ask("by-hand", "it", at=f"attach G{number}") for number in (1, 2, 3)]
    assert found[:2] == [False, True]
    assert isinstance(found[2], Unknown)
    assert asked.ask("used", "H1") is True
    assert isinstance(plan("attach G3 to 211 C").ask("used", "H1"), Unknown)
    assert plan("attach G3 to 211 C by hand").ask("used", "H1") is False


def test_a_person_in_an_insulated_bucket_stands_outside_the_zone() -> None:
    ground = "attach G1 to 212 N by H1, then to 212 A by H1"
    insulated = plan(ground, "enter L1 at 212 in V1, reaching A N", 'note "end"')
    assert insulated.ask("in-bucket", "L1", at="note") is True
    assert insulated.ask("vehicle", "L1", at="note") == "V1"
    assert insulated.ask("zone-joined", "L1", at="note") is True
    assert insulated.ask("zone-joined-here", "L1", at="note") is True
    assert insulated.ask("in-work", "V1", at="note") is True
    assert insulated.ask("structure", "V1 point", at="note") == "212"
    bare = plan(ground, "enter L1 at 212 in V2, reaching A N", 'note "end"')
    assert bare.ask("zone-joined", "L1", at="note") is False
    assert bare.ask("in-bucket", "L1", at="note") is False
    bonded = plan(ground, "bond V2 to 212 N", "enter L1 at 212 in V2, reaching A N", 'note "end"')
    assert bonded.ask("zone-joined", "L1", at="note") is True
    assert bonded.ask("bonded", "V2", at="note") is True


def test_a_vehicle_of_which_nothing_is_said() -> None:
    asked = plan("attach G1 to 212 N by H1, then to 212 A by H1", "enter L1 at 212 in V3, reaching A N", 'note "end"')
    assert missing(asked.ask("zone-joined", "L1", at="note")) == ["whether the boom of V3 is insulated"]
    assert missing(asked.ask("in-bucket", "L1", at="note")) == ["what kind of vehicle V3 is"]


def test_parts_in_reach_that_are_not_joined() -> None:
    unknown = plan(
        "attach G1 to 212 N by H1, then to 212 A by H1", "enter L1 at 212 in V3, reaching A B N", 'note "end"'
    )
    assert unknown.ask("zone-joined", "L1", at="note") is False  # whatever the boom
    asked = plan("attach G1 to 212 N by H1, then to 212 A by H1", "enter L1 at 212 in V1, reaching A B N", 'note "end"')
    assert asked.ask("zone-joined", "L1", at="note") is False
    assert asked.ask("zone-grounded", "L1", at="note") is True


def test_reach_that_nobody_states() -> None:
    asked = plan("enter L1 at 212 on the pole", 'note "end"')
    assert asked.ask("in-place", "L1", at="note") is True
    for name in ("reach-stated", "zone-joined", "zone-grounded", "reaching-conductor"):
        assert isinstance(asked.ask(name, "L1", at="note"), Unknown), name
    assert isinstance(asked.ask("reaching", "L1", "212 A", at="note"), Unknown)
    assert isinstance(asked.ask("in-reach", "212 A", at="note"), Unknown)
    nothing = plan("enter L1 at 212 on the pole, reaching nothing", 'note "end"')
    assert nothing.ask("reach-stated", "L1", at="note") is True
    assert nothing.ask("reaching", "L1", "212 A", at="note") is False


def test_a_place_of_work_that_nobody_states() -> None:
    asked = plan("enter L1 on the pole, reaching A", 'note "end"')
    assert isinstance(asked.ask("structure", "L1", at="note"), Unknown)
    assert isinstance(asked.ask("worksite", "212"), Unknown)
    assert isinstance(asked.ask("occupied", "212", at="note"), Unknown)
    assert asked.ask("worksite", "212", at="note") is not False


def test_who_stands_on_the_ground_and_reaches_nothing_makes_no_place_of_work() -> None:
    assert plan("enter M1 at 211 on the ground, reaching nothing").ask("worksite", "211") is False
    assert plan("enter M1 at 211 on the ground, reaching N").ask("worksite", "211") is True
    assert plan("enter M1 at 211 on the pole, reaching nothing").ask("worksite", "211") is True
    assert plan("enter M1 at 211, reaching nothing").ask("worksite", "211") is True
    assert plan("enter M1 at 211 on the ground").ask("worksite", "211") is True


def test_a_rod_set_with_nothing_said_of_it() -> None:
    asked = plan("set R1 at 211", "barricade R1", "mount K1 at 211", 'note "end"')
    for name, subject in (("distance", "R1"), ("depth", "R1"), ("barricade-distance", "R1"), ("height", "K1")):
        assert isinstance(asked.ask(name, subject, at="note"), Unknown), name
    assert isinstance(asked.ask("length", "R1"), Unknown)
    assert isinstance(asked.ask("distance", "it", at="barricade"), Unknown)


def test_a_neutral_that_nobody_states() -> None:
    asked = plan("brief L1", without="neutral")
    for name in ("neutral-present", "neutral-multigrounded", "neutral-too-small", "small-neutral"):
        assert isinstance(asked.ask(name, "plan"), Unknown), name
    assert isinstance(asked.ask("neutral-joined", "212"), Unknown)
    assert asked.trace.closed("neutral") is not None
    assert asked.trace.closed("conductor-point") is not None
    assert asked.trace.closed("phase-point") is None


def test_copper_that_conducts_as_aluminium_does() -> None:
    asked = Asked(LINE.replace("2/0 copper", "2/0 aluminium"))
    assert asked.ask("metal", "G1") == "aluminium"
    assert asked.ask("copper-area", "G1") == pytest.approx(0.61 * asked.ask("area", "G1"))
    bare = Asked(LINE.replace("2/0 copper", "2/0"))
    assert missing(bare.ask("copper-area", "G1")) == ["the metal of lead G1"]


def test_what_a_detector_is_proven_on() -> None:
    asked = plan("prove D1 on live 211 A", "prove D1")
    assert asked.ask("live-part", "it", at=0) == "211 A"
    assert asked.ask("live-part", "it", at=1) is None or isinstance(asked.ask("live-part", "it", at=1), Unknown)


def test_who_does_it() -> None:
    asked = plan("open SW41 by L1", "open SW41", "close SW41 by L2")
    assert asked.ask("operator", "it", at=0) == "L1"
    assert asked.ask("crew-stated", "it", at=0) is True
    assert isinstance(asked.ask("crew-stated", "it", at=1), Unknown)
    assert asked.ask("by-other-crew", "it", at=0) is False


def test_people_on_the_ground_and_mats() -> None:
    asked = plan(
        "bond M5 to 212 N",
        "enter M1 at 212 on the ground, reaching nothing",
        "enter L1 at 212 on M5, reaching N",
        'note "end"',
    )
    assert asked.ask("on-ground", "M1", at="note") is True
    assert asked.ask("on-ground", "L1", at="note") is False
    assert asked.ask("bonded", "M5", at="note") is True
    assert asked.ask("zone-joined", "L1", at="note") is True


def test_a_wait_says_how_long() -> None:
    assert plan("wait 5 min").ask("waiting-time", "it", at=0) == 300


def test_who_closes_a_switch_has_no_bearing_on_what_it_ends() -> None:
    asked = plan("open SW41", "test 211 A with D1 on H1", "close SW41", 'note "end"')
    assert asked.ask("found-dead", "211 A", at="close") is True
    assert asked.ask("found-dead", "211 A", at="note") is False


def test_a_bar_of_which_nobody_tells_where_it_is_may_have_ended_a_test() -> None:
    text = PLAN.replace("mount     K at S below N", "mount     K below N")
    asked = Asked(text)
    assert asked.ask("found-dead", "211 A", at="clean 211 N") is True
    assert missing(asked.ask("found-dead", "211 A", at="step 9")) == ["at which structure K1 is mounted"]


def test_a_neutral_too_small_for_the_fault_wants_the_alternative() -> None:
    duty = "multigrounded carries the fault"
    small = Asked(PLAN.replace(duty, "multigrounded too small for the fault"))
    assert small.ask("neutral-too-small", "plan") is True
    assert isinstance(small.ask("small-neutral", "plan"), Unknown)
    declared = Asked(PLAN.replace("method    dual-point", "method    dual-point small neutral"))
    assert declared.ask("small-neutral", "plan") is True
    silent = Asked(PLAN.replace(duty, "multigrounded"))
    assert missing(silent.ask("small-neutral", "plan")) == missing(silent.ask("neutral-too-small", "plan"))


@pytest.mark.parametrize(
    "text", [PLAN, PLAN.replace("K at S below N", "K below N"), PLAN.replace("211 212 213 wood pole", "211 212 213")]
)
def test_what_is_kept_between_two_changes_is_what_would_be_found_anew(text: str) -> None:
    asked = Asked(text)
    trace, seen = asked.trace, set()
    for structure, at in product(trace.domain("structure"), range(asked.n + 1)):
        for fact, anew in (
            (arrangement.grounded, arrangement._grounded),
            (arrangement.phases_joined, arrangement._phases_joined),
        ):
            kept, fresh = fact.compute(trace, at, structure), anew(trace, at, structure)
            assert kept == fresh or (isinstance(kept, Unknown) and isinstance(fresh, Unknown)), (structure, at)
            seen.add(type(kept) if isinstance(kept, Unknown) else kept)
    assert {True, False} <= seen


def test_metal_stays_bright_while_nothing_else_is_done() -> None:
    asked = plan("clean 212 A", "clean 212 B", 'note "bright"', "wait 5 min", "clean 212 B", 'note "end"')
    assert asked.ask("cleaned-just-before", "212 A", at=0) is False
    assert asked.ask("cleaned-just-before", "212 A", at="wait") is True
    assert asked.ask("cleaned-just-before", "212 A") is False
    assert asked.ask("cleaned-just-before", "212 B") is True
    assert asked.ask("cleaned-just-before", "212 C") is False


def test_phases_grounded_one_by_one_are_apart() -> None:
    apart = plan(
        "set R1 at 211, 16 ft from the pole, 6 ft deep",
        "attach G1 to 211 N by H1, then to 211 A by H1",
        "attach G2 to 211 N by H1, then to 211 B by H1",
    )
    assert apart.ask("phases-apart", "211") is False  # the neutral joins them
    asked = plan(
        "set R1 at 211, 16 ft from the pole, 6 ft deep",
        "attach G1 to R1, then to 211 A by H1",
        "attach G2 to 211 N by H1, then to 211 B by H1",
        "attach G3 to 211 A by H1, then to 211 N by H1",
        'note "end"',
    )
    assert asked.ask("phases-apart", "211", at="attach G2 to 211 N") is False
    assert asked.ask("phases-apart", "211", at="attach G3 to 211 A") is True
    assert asked.ask("phases-apart", "211", at="note") is False


def test_a_lead_that_hangs_loose() -> None:
    asked = plan(
        "attach G2 to 211 A by H1", "attach G1 to 211 B by H1", "attach G1 to 211 C by H1", "lift G1 from 211 C by H1"
    )
    assert asked.ask("lead-loose", "plan", at=0) is False
    assert asked.ask("loose-lead", "plan", at=0) is None
    assert asked.ask("loose-lead", "plan", at=1) == "G2"
    assert asked.ask("loose-lead", "plan", at=2) == "G1"
    assert asked.ask("loose-lead", "plan") == "G2"
    assert asked.ask("lead-loose", "plan") is True


def test_the_lead_that_went_on_last_is_outermost() -> None:
    asked = plan(
        "attach G1 to 211 N by H1, then to 211 A by H1",
        "attach G2 to 211 A by H1, then to 211 B by H1",
        "attach G3 to 213 N by H1, then to 213 A by H1",
    )
    assert [asked.ask("outermost", lead) for lead in ("G1", "G2", "G3", "G4")] == [False, True, True, False]
    assert asked.ask("outermost", "G1", at="attach G2 to 211 A") is True


def test_a_ground_that_was_lifted_and_put_back_hangs_where_it_hung() -> None:
    asked = plan(
        "attach G1 to 211 N by H1, then to 211 A by H1",
        "attach G2 to 211 A by H1, then to 211 B by H1",
        'lift G1 from 211 A by H1 protected by "nobody on the pole"',
        "restore G1 to 211 A by H1",
    )
    assert [asked.ask("outermost", lead) for lead in ("G1", "G2")] == [False, True]


def test_each_span_that_is_not_stated_is_asked_for() -> None:
    plan = Asked("line L\n  phases A\n  route 1 2 (50 m) 3 4\nstructure 1..4\n")
    assert missing(plan.ask("distance", "1", "4")) == [
        "the length of the span from 1 to 2",
        "the length of the span from 3 to 4",
    ]
