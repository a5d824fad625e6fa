"""Declarations that don't mean what their author meant: too many phases, ranges and conductors written as one name."""

from __future__ import annotations

import pytest
from crowd import reviewer_by

from groundlint.reading.resolve import read_plan
from groundlint.review import DEFAULT_BOOKS, Reviewer
from groundlint.text import Source

PLAN = """\
line Larkspur
  voltage 12.47 kV
  phases A B C
  neutral N multigrounded
  wires A B C 336.4 kcmil acsr, N 4/0 acsr
  route 211 (52 m) 212 (48 m) 213
source West utility beyond 211
  fault 6.8 kA three-phase, 5.2 kA to ground, x/r 9
  clears in 24 cycles
no other source
structure 211..213 wood pole
soil 100 ohm m
rod R1 6 ft x 5/8 in
bar K1
lead G1..G3 2/0 copper 25 ft grade 3
crew lineman L1
inspect G1..G3
set R1 at 212, 16 ft from the pole, 6 ft deep
mount K1 at 212 below the feet
attach G1 to R1, then to K1
attach G2 to K1, then to 212 N by hand
attach G3 to K1, then to 212 A by hand
clean 212 A B C
"""


def reported(text: str) -> list[tuple[str, str, str]]:
    """Code, marked words and what to do, of every diagnostic of a plan."""
    return [(d.code, d.span.text, d.mend) for d in read_plan(Source("plan.tpg", text)).diagnostics]


def test_the_plan_itself_is_read() -> None:
    assert reported(PLAN) == []


@pytest.mark.parametrize("words", ["A B C D", "A B C D E F", "A..D"])
def test_a_line_has_no_more_than_three_phases(words: str) -> None:
    text = PLAN.replace("phases A B C", f"phases {words}".replace("A..D", "P1..P4"))
    found = read_plan(Source("plan.tpg", text))
    assert "too-many-phases" in [d.code for d in found.diagnostics]
    assert all(d.unread for d in found.diagnostics)
    assert found.plan.line is not None
    assert found.plan.line.phases is None  # which three of them is not known


@pytest.fixture(scope="module")
def reviewer() -> Reviewer:
    return reviewer_by(*DEFAULT_BOOKS)


@pytest.mark.parametrize("words", ["A B C D", "A B C,", "A B", "A", "A B C D E F G H"])
def test_any_number_of_phases_is_reviewed_and_never_clean(reviewer: Reviewer, words: str) -> None:
    review = reviewer.review(Source("plan.tpg", PLAN.replace("phases A B C", f"phases {words}")))
    assert review.plan.unread
    assert review.status() == 1


def test_a_comma_at_the_end_of_a_line_takes_in_the_next() -> None:
    found = reported(PLAN.replace("phases A B C\n", "phases A B C,\n"))
    assert found[0][:2] == ("doubtful-name", "neutral")
    assert found[0][2].startswith("where this line is a statement of its own, take the comma off")


def test_a_capacitor_that_a_plan_takes_for_a_switch_gets_the_words_of_the_step() -> None:
    found = reported(PLAN.replace("inspect G1..G3\n", "capacitor CB1 at 212\ndisconnect CB1\n"))
    assert [(code, marked) for code, marked, _ in found] == [("declared-twice", "CB1")]
    assert found[0][2].startswith("for the step, write `disconnect capacitor CB1`")


@pytest.mark.parametrize(
    ("steps", "code"),
    [
        ("disconnect capacitor CB2", "undeclared-name"),
        ("disconnect capacitor G1", "wrong-kind"),
        ("discharge CB1 by G1", "wrong-kind"),
        ("capacitor CB2 at G1", "wrong-kind"),
        ("capacitor CB1 at 213", "declared-twice"),
    ],
)
def test_what_a_step_of_capacitors_cannot_name_is_reported(steps: str, code: str) -> None:
    found = read_plan(Source("plan.tpg", f"{PLAN}capacitor CB1 at 212\n{steps}\n"))
    assert [d.code for d in found.diagnostics] == [code]
    assert found.plan.unread


def test_a_routine_takes_capacitors() -> None:
    routine = "routine off (capacitors a b)\n  disconnect capacitor a b\n  wait 5 min\n  short-circuit a b by hand\n"
    found = read_plan(Source("plan.tpg", f"{PLAN}capacitor CB1..CB2\n{routine}do off (CB1 CB2)\n"))
    assert not found.diagnostics
    steps = [(action.kind, str(action.slots.get("capacitor"))) for action in found.plan.actions[-5:]]
    assert steps == [
        ("disconnect", "CB1"), ("disconnect", "CB2"), ("wait", "None"), ("discharge", "CB1"), ("discharge", "CB2"),
    ]  # fmt: skip
    assert found.plan.actions[-1].slots["stick"] is None


def test_a_row_of_names_with_a_hyphen_is_one_name() -> None:
    found = reported(PLAN.replace("lead G1..G3", "lead G1-G3"))
    assert {code for code, _, _ in found} == {"doubtful-name", "undeclared-name"}
    assert {mend for code, _, mend in found if code == "undeclared-name"} == {
        "G1-G3 in line 15 is one name; write `G1..G3`"
    }


def test_conductors_written_together_are_one_name() -> None:
    assert reported(PLAN.replace("clean 212 A B C", "clean 212 ABC")) == [
        ("undeclared-name", "ABC", "name each conductor by itself, `A B C`")
    ]


def test_a_slip_in_a_declaration_is_reported_once() -> None:
    found = reported(PLAN.replace("lead G1..G3 2/0", "lead G1..G3 grad 3"))
    assert [entry for entry in found if entry[1] in ("grad", "3")] == [
        ("doubtful-name", "grad", "did you mean `grade`?"),
    ]


def test_a_role_with_a_slip_is_no_person() -> None:
    assert ("doubtful-name", "groundmn", "did you mean `groundmen`?") in reported(
        PLAN.replace("crew lineman L1", "crew lineman L1, groundmn M1")
    )


@pytest.mark.parametrize("words", ["a b c", "x y z", "r s t", "L1 L2 L3"])
def test_phases_may_have_any_names(words: str) -> None:
    text = PLAN.split("neutral")[0].replace("phases A B C", f"phases {words}")
    assert reported(text) == []


@pytest.mark.parametrize("words", ["by hand", "By Hand", "BY HAND", "by  hand", "by\thand", "by\n  hand"])
def test_the_place_of_an_end_takes_in_the_means(words: str) -> None:
    words = words.replace("by\n", "by,\n")
    step = f"attach G3 to K1 by hand, then to 212 A {words}"
    plan = read_plan(Source("plan.tpg", PLAN.replace("attach G3 to K1, then to 212 A by hand", step))).plan
    (action, _) = [action for action in plan.actions if action.span.text == step]
    assert [place.text for place in action.ends] == ["K1 by hand", f"212 A {words}"]


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("grade 3\ncrew", "grade 3 fit 4/0 to 2 AWG\ncrew", "range-backwards"),
        ("grade 3\ncrew", "grade 3 fit 1 in to 0.5 in\ncrew", "range-backwards"),
        ("grade 3\ncrew", "grade 3 fit 1 in to 2/0\ncrew", "missing-unit"),
        ("N 4/0 acsr", "N 4/0 acsr bus", "contradiction"),
        ("N 4/0 acsr", "N 4/0 aac solid", "contradiction"),
    ],
)
def test_what_clamps_and_conductors_cannot_be_is_reported(old: str, new: str, code: str) -> None:
    assert old in PLAN
    assert code in [found[0] for found in reported(PLAN.replace(old, new))]


def test_clamps_fit_one_size_and_no_other() -> None:
    assert reported(PLAN.replace("grade 3\ncrew", "grade 3 clamps C-type fit 4/0 to 4/0\ncrew")) == []


def test_a_rod_is_at_no_distance_from_itself() -> None:
    text = PLAN.replace("16 ft from the pole", "7 ft from R1")
    assert reported(text) == [("from-itself", "R1", "name another rod")]


def test_a_distance_from_a_structure_by_its_name_is_reported_what_to_write() -> None:
    text = PLAN.replace("16 ft from the pole", "16 ft from 212")
    assert reported(text) == [("wrong-kind", "212", "write `16 ft from the pole`")]


@pytest.mark.parametrize(
    ("words", "codes"),
    [
        ("neighbour Elm covered with LH\nneighbour Oak covered with LH\n", ["goods-in-two-places"]),
        ("neighbour Elm Oak covered with LH\n", ["goods-in-two-places"]),
        ("neighbour Elm Oak covered with LH LI\n", []),
        ("neighbour Elm covered with LH\nneighbour Oak covered with LI\n", []),
    ],
)
def test_a_hose_covers_one_live_part(words: str, codes: list[str]) -> None:
    assert [
        code for code, _, _ in reported(PLAN.replace("crew lineman", f"rubber line hose LH LI\n{words}crew lineman"))
    ] == codes


def test_a_crew_may_stand_above_the_one_that_it_works_under() -> None:
    crews = "crew East under Marl: lineman Clay\ncrew Lead: foreman Marl qualified\n"
    assert reported(PLAN + crews) == []
    assert [code for code, *_ in reported(PLAN + crews.replace("under Marl", "under Moor"))] == ["undeclared-name"]
