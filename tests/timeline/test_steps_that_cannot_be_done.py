"""Steps that cannot be done as written: each a message with its place, what was seen, and one next action."""

from __future__ import annotations

from typing import Any

import pytest

# code: the steps, the line of the first related place (counted from 1), words of the message and of the next action
CASES: dict[str, tuple[list[tuple[str, dict[str, Any]]], int | None, str, str]] = {
    "lead-already-on": (
        [("attach", {"lead": "G1", "point": "212 A"}), ("attach", {"lead": "G1", "point": "212 A"})],
        1,
        "lead G1 is already on 212 A (since line 1)",
        "name the point that the other end of G1 goes to",
    ),
    "lead-three-ends": (
        [
            ("attach", {"lead": "G1", "point": "212 A"}),
            ("attach", {"lead": "G1", "point": "212 B"}),
            ("attach", {"lead": "G1", "point": "212 C"}),
        ],
        1,
        "lead G1 has two ends, and both are on: G1 is on 212 A and 212 B",
        "`detach G1 from 212 B`",
    ),
    "detach-not-on": (
        [("attach", {"lead": "G1", "point": "212 A"}), ("detach", {"lead": "G1", "point": "212 B"})],
        1,
        "lead G1 is not on 212 B",
        "G1 is on 212 A",
    ),
    "rod-not-set": (
        [("attach", {"lead": "G1", "point": "R1"})],
        1,
        "before the rod is set",
        "`set R1 at",
    ),
    "bar-not-mounted": (
        [("attach", {"lead": "G1", "point": "K1"})],
        1,
        "K1 is used by G1",
        "`mount K1 at",
    ),
    "bar-mounted-twice": (
        [("mount", {"bar": "K1", "structure": "211"}), ("mount", {"bar": "K1", "structure": "212"})],
        1,
        "bar K1 is already mounted at 211 (since line 1)",
        "`dismount K1`",
    ),
    "rod-set-twice": (
        [("set", {"rod": "R1", "structure": "211"}), ("set", {"rod": "R1", "structure": "212"})],
        1,
        "rod R1 is already set at 211 (since line 1)",
        "set another rod",
    ),
    "goods-in-two-places": (
        [("gloves-on", {"person": "L1", "goods": ["RG1"]}), ("gloves-on", {"person": "M1", "goods": ["RG1"]})],
        1,
        "RG1 is on L1 (since line 1), and can't be on M1 too",
        "`gloves off L1`",
    ),
    "pull-not-set": (
        [("pull", {"rod": "R1"})],
        1,
        "rod R1 is pulled, and is not in the ground",
        "`set R1 at ...`",
    ),
    "dismount-with-leads-on": (
        [
            ("mount", {"bar": "K1", "structure": "211"}),
            ("attach", {"lead": "G1", "point": "K1"}),
            ("dismount", {"bar": "K1"}),
        ],
        2,
        "K1 is dismounted while G1 is on it",
        "`detach G1 from K1`",
    ),
    "enter-twice": (
        [("enter", {"person": "L1", "structure": "211"}), ("enter", {"person": "L1", "structure": "212"})],
        1,
        "L1 is already in place at 211 (since line 1)",
        "`move L1 ...`",
    ),
    "leave-not-in-place": (
        [("enter", {"person": "L1", "structure": "211"}), ("leave", {"person": "L1"}), ("leave", {"person": "L1"})],
        2,
        "L1 leaves without being in place (left on line 2)",
        "`enter L1 at ...`",
    ),
    "move-not-in-place": (
        [("move", {"person": "L1", "structure": "211"})],
        1,
        "L1 moves without being in place",
        "`enter L1",
    ),
    "open-already-open": (
        [("open", {"switch": "SW41"}), ("open", {"switch": "SW41"})],
        1,
        "SW41 is already open (since line 1)",
        "close SW41 before",
    ),
    "close-already-closed": (
        [("close", {"switch": "SW41"})],
        1,
        "SW41 is already closed",
        "open SW41 before",
    ),
    "close-while-tagged": (
        [("open", {"switch": "SW41"}), ("tag", {"switch": "SW41"}), ("close", {"switch": "SW41"})],
        2,
        "closed while a tag is on it (since line 2)",
        "`untag SW41`",
    ),
    "close-while-control-tagged": (
        [("open", {"switch": "SW41"}), ("tag-control", {"switch": "SW41"}), ("close", {"switch": "SW41"})],
        1,
        "closed while a tag is on its control",
        "enable control of SW41",
    ),
    "close-while-locked": (
        [("open", {"switch": "SW41"}), ("lock", {"switch": "SW41"}), ("close", {"switch": "SW41"})],
        2,
        "closed while it is locked open (since line 2)",
        "`untag SW41`",
    ),
    "lock-not-open": (
        [("lock", {"switch": "SW41"})],
        1,
        "SW41 is closed, so it cannot be locked open",
        "`open SW41, lock it and tag it`",
    ),
    "untag-not-tagged": (
        [("untag", {"switch": "SW41"})],
        1,
        "no tag is on SW41",
        "`open SW41 and tag it`",
    ),
    "enable-not-disabled": (
        [("enable", {"switch": "SW41"})],
        1,
        "the control of SW41 is neither disabled nor tagged",
        "`disable control of SW41 and tag it`",
    ),
    "handle-not-in-place": (
        [("handle", {"wire": "J1", "person": "L1", "touching": []})],
        1,
        "L1 handles J1 without being in place",
        "`enter L1 at ...`",
    ),
    "stow-not-held": (
        [("stow", {"wire": "J1"})],
        1,
        "J1 is in nobody's hand",
        "`handle J1 by ...`",
    ),
    "verify-not-open": (
        [("verify", {"switch": "SW41"})],
        1,
        "cannot be verified open",
        "`open SW41 and tag it`",
    ),
    "cut-already-cut": (
        [("cut", {"point": "212 A"}), ("cut", {"point": "212 A"})],
        1,
        "212 A is already cut (since line 1)",
        "`join 212 A`",
    ),
    "join-not-cut": (
        [("join", {"point": "212 A"})],
        1,
        "212 A is not cut",
        "`cut 212 A`",
    ),
    "restore-not-lifted": (
        [("restore", {"lead": "G1", "point": "212 A"})],
        1,
        "without having been lifted",
        "`lift G1 from",
    ),
    "unbond-not-bonded": (
        [("unbond", {"first": "TRUCK"})],
        1,
        "TRUCK is not bonded",
        "`bond TRUCK to",
    ),
    "release-without-clearance": (
        [("release", {"holder": "L1"})],
        None,
        "never received, or was released before",
        "`clearance received by L1`",
    ),
    "transfer-without-clearance": (
        [("transfer", {"holder": "L1", "taker": "L2"})],
        None,
        "transferred that was never received, or was released before",
        "`clearance received by L1`",
    ),
    "unbarricade-not-barricaded": (
        [("unbarricade", {"thing": "R1"})],
        1,
        "R1 has no barricade",
        "`barricade R1`",
    ),
    "disconnect-already-disconnected": (
        [("disconnect", {"capacitor": "CB1"}), ("disconnect", {"capacitor": "CB1"})],
        1,
        "capacitor CB1 is already disconnected (since line 1)",
        "name another capacitor",
    ),
    "discharge-while-connected": (
        [("disconnect", {"capacitor": "CB2"}), ("discharge", {"capacitor": "CB1"})],
        1,
        "no step before has disconnected it",
        "`disconnect capacitor CB1`",
    ),
    "spike-already-spiked": (
        [("spike", {"cable": "UG1", "structure": "211"}), ("spike", {"cable": "UG1", "structure": "211"})],
        1,
        "cable UG1 is already spiked at 211 (since line 1)",
        "name another place of UG1",
    ),
}


@pytest.mark.parametrize("code", CASES)
def test_a_step_that_cannot_be_done_is_reported_with_its_place_and_a_next_action(site: Any, code: str) -> None:
    steps, related, message, mend = CASES[code]
    made = site(switch={}, source={})
    for kind, slots in steps:
        made.do(kind, **slots)
    timeline = made.run()
    assert [problem.code for problem in timeline.problems] == [code]
    (problem,) = timeline.problems
    assert problem.span == made.actions[-1].span
    assert message in problem.message
    assert mend in problem.mend
    assert [span.line for span, _ in problem.related][:1] == ([related] if related else [])
    assert all(words for _, words in problem.related)


def test_every_code_that_the_replay_gives_has_a_case() -> None:
    import re
    from pathlib import Path

    import groundlint.steps
    from groundlint.timeline import HAPPENINGS

    folder = Path(groundlint.steps.__file__).parent
    text = "".join(path.read_text() for path in sorted(folder.glob("*.py")))
    given = set(re.findall(r'"([a-z]+(?:-[a-z]+)+)"', text))
    assert {code for code in given if code in CASES} == set(CASES)
    known = {
        "gloves-on",
        "gloves-off",
        "tag-control",
        "loose-wire",
        *re.findall(r'names\.refuse\(\s*"([a-z-]+)"', text),
    }
    known |= {kind.name for kind in HAPPENINGS}
    assert given - known == set(CASES)


def test_the_replay_goes_on_as_if_the_step_had_been_meant_sensibly(site: Any) -> None:
    made = site(switch={}, source={})
    made.do("attach", lead="G1", point="K1")  # not mounted
    made.do("attach", lead="G1", point="212 A")
    made.do("attach", lead="G1", point="212 B")  # a third end
    made.do("enter", person="L1", structure="211")
    made.do("enter", person="L1", structure="212")
    made.do("detach", lead="G1", point="212 C")
    timeline = made.run()
    assert timeline.ends(timeline.n, made["G1"]) == (made.point("K1"), made.point("212 A"))
    stand = timeline.stand(timeline.n, made["L1"])
    assert stand is not None
    assert stand.structure is made["212"]
    assert timeline.people_in_place(timeline.n) == (made["L1"],)


def test_a_step_of_a_routine_points_at_its_use(site: Any) -> None:
    from groundlint.plan.models import Action
    from groundlint.timeline import replay

    made = site()
    made.do("cut", point="212 A")
    use = made.span(40)
    again = Action("cut", made.actions[0].slots, made.span(9), use=use)
    made.actions.append(again)
    (problem,) = replay(made.plan()).problems
    assert problem.span.line == 10
    assert [(span.line, words) for span, words in problem.related] == [
        (1, "212 A is cut here"), (41, "the routine is done here"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("vague", "then"),
    [
        (("mount", {"bar": "?", "structure": "212"}), ("attach", {"lead": "G1", "point": "K1"})),
        (("set", {"rod": "?", "structure": "212"}), ("attach", {"lead": "G1", "point": "R1"})),
        (("enter", {"person": "?", "structure": "212"}), ("leave", {"person": "L1"})),
        (("attach", {"lead": "?", "point": "212 A"}), ("detach", {"lead": "G1", "point": "212 A"})),
        (("attach", {"lead": "G1", "point": "?"}), ("detach", {"lead": "G1", "point": "212 A"})),
        (("cut", {"point": "?"}), ("join", {"point": "212 A"})),
        (("barricade", {"thing": "?"}), ("unbarricade", {"thing": "R1"})),
        (("bond", {"first": "?", "second": "R1"}), ("unbond", {"first": "TRUCK"})),
        (("disconnect", {"capacitor": "?"}), ("discharge", {"capacitor": "CB1"})),
        (("disconnect", {"capacitor": "?"}), ("disconnect", {"capacitor": "CB1"})),
    ],
)
def test_what_a_step_with_a_gap_may_have_done_is_not_reported_as_impossible(site: Any, vague: Any, then: Any) -> None:
    made = site()
    made.do("set", rod="R2", structure="211")
    made.do(vague[0], **vague[1])
    made.do(then[0], **then[1])
    assert [p.code for p in made.run().problems if p.span == made.actions[-1].span] == []
