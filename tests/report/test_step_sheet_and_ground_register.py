"""The step sheet says each step in words, and the register counts what is on."""

from __future__ import annotations

import pytest
from briefing_plans import EXAMPLES, example, review_of
from hypothesis import given, settings
from hypothesis import strategies as st
from syrupy.assertion import SnapshotAssertion

from groundlint.plan.models import Lead
from groundlint.report.brief.page import Brief
from groundlint.report.brief.results import NOT_COMPUTED
from groundlint.report.brief.sheet import LIFTED, Sheets
from groundlint.timeline import replay

HEAD = """\
plan "P"
line L
  phases A B C
  neutral N multigrounded
  route S1 (50 m) S2 (50 m) S3
structure S1 S2 S3 wood pole
bar K1
rod R1 8 ft x 5/8 in
lead G1 G2 G3 2/0 copper 25 ft grade 3
stick H1 8 ft
crew lineman L1 L2
vehicle V1 bucket truck insulated
routine pair (structure S, leads a b)
  attach a to K1, then to S N by H1
  attach b to K1, then to S A by H1
stage ground
"""


def sheets(text: str) -> Sheets:
    return Sheets(replay(review_of(HEAD + text).plan))


def rows(text: str) -> list[tuple[str, str, int]]:
    return [(s.number, s.words, s.on) for stage in sheets(text).stages for s in stage.steps]


def test_one_statement_is_one_row() -> None:
    assert rows("1. clean S1 N A B\n2. attach G1 to K1, then to S1 N by H1\n") == [
        ("1", "Clean S1 N, A, B to bright metal", 0),
        ("2", "Attach G1 to K1, then to S1 N by stick H1", 1),
    ]


def test_the_steps_of_a_routine_are_numbered_under_it_with_names_filled_in() -> None:
    found = sheets("4. do pair (S2, G1 G2)\n5. undo pair at S2\n").stages[0]
    assert [block.title for block in found.blocks] == ["4. Routine pair (S2, G1 G2)", "5. Undo, in reverse: pair at S2"]
    assert [(s.number, s.on) for s in found.steps] == [("4.1", 1), ("4.2", 2), ("5.1", 1), ("5.2", 0)]
    assert found.steps[0].words == "Attach G1 to K1, then to S2 N by stick H1"
    assert found.steps[2].words == "Detach G2 from S2 A by stick H1, then from K1"


def test_steps_without_numbers_are_counted() -> None:
    text = "clean S1 A\ndo pair (S2, G1 G2)\nclean S1 B\nstage work\nclean S1 C\n"
    assert [number for number, _, _ in rows(text)] == ["1", "2.1", "2.2", "3", "4"]


def test_the_same_statement_done_twice_is_two_rows() -> None:
    text = HEAD.replace("stage ground", "routine wash (structure S)\n  clean S A\nstage ground\n")
    found = Sheets(replay(review_of(text + "1. do wash (S1)\n2. do wash (S1)\n").plan))
    assert [s.number for s in found.stages[0].steps] == ["1.1", "2.1"]


def test_what_a_plan_does_not_say_is_not_made_up() -> None:
    text = "attach G1 to S1 A\nset R1 at S1\nenter L1 at S1\ntest S1 A\nmount K1 at S1\nbarricade R1\n"
    said = [words for _, words, _ in rows(text)]
    assert said[0] == "Attach G1 to S1 A (by stick or by hand: not stated)"
    assert said[1] == "Set rod R1 at S1, distance from it not stated, depth not stated"
    assert said[2] == "L1 goes to work at S1, standing place not stated; within reach: not stated"
    assert said[3] == "Test S1 A with a detector not stated (by stick or by hand: not stated); must be dead"
    assert said[4] == "Mount bar K1 at S1, height not stated"
    assert said[5] == "Barricade R1: keep people away, distance not stated"


def test_capacitors_and_what_is_done_with_them_are_in_words() -> None:
    text = "disconnect capacitor CB1 CB2\ndischarge CB1 by hand\ndischarge CB2\n"
    assert [words for _, words, _ in rows("capacitor CB1 CB2 at S1\n" + text)] == [
        "Disconnect capacitor CB1, CB2",
        "Short-circuit and ground capacitor CB1 by hand",
        "Short-circuit and ground capacitor CB2 (by stick or by hand: not stated)",
    ]


def test_a_hold_a_note_and_the_work_are_told_apart() -> None:
    found = sheets('hold "until looked over"\nnote "wind"\nwork "change arm" at S1\nclean S1 A\n').stages[0]
    assert [step.kind for step in found.steps] == ["hold", "note", "work", "step"]
    assert [step.words for step in found.steps[:3]] == ["until looked over", "Note: wind", "Work at S1: change arm"]


def test_the_register_follows_a_lead_on_and_off() -> None:
    register = sheets("1. attach G1 to K1, then to S1 A by H1\n2. detach G1 from S1 A by H1, then from K1\n").register()
    (entry,) = register.leads
    assert (entry.name, entry.first_end, entry.second_end, entry.on, entry.off) == ("G1", "K1", "S1 A", "1", "2")
    assert [(c.step, c.put_on, c.taken_off, c.on) for c in register.counts] == [
        ("1", ("G1",), (), ("G1",)),
        ("2", (), ("G1",), ()),
    ]
    assert register.left == ()


def test_a_lead_left_on_is_said() -> None:
    register = sheets("1. attach G1 to K1, then to S1 A by H1\n2. detach G1 from S1 A by H1\n").register()
    assert register.left == ("G1",)
    assert register.leads[0].off == ""


def test_a_lead_used_twice_is_in_the_register_twice() -> None:
    text = "1. do pair (S1, G1 G2)\n2. undo pair at S1\n3. do pair (S2, G2 G1)\n4. undo pair at S2\n"
    register = sheets(text).register()
    assert [(e.name, e.second_end, e.on, e.off) for e in register.leads] == [
        ("G1", "S1 N", "1.1", "2.2"),
        ("G1", "S2 A", "3.2", "4.1"),
        ("G2", "S1 A", "1.2", "2.1"),
        ("G2", "S2 N", "3.1", "4.2"),
    ]


def test_a_lifted_lead_is_named_and_not_counted() -> None:
    text = '1. attach G1 to K1, then to S1 A by H1\n2. lift G1 from S1 A by H1 for "test" protected by "nobody up"\n'
    found = sheets(text + "3. restore G1 to S1 A by H1\n4. detach G1 from S1 A by H1, then from K1\n")
    assert [s.on for s in found.stages[0].steps] == [1, 0, 1, 0]
    register = found.register()
    assert [(c.put_on, c.taken_off, c.on, c.standing) for c in register.counts] == [
        (("G1",), (), ("G1",), 1),
        ((), ("G1",), ("G1 (lifted)",), 0),
        (("G1",), (), ("G1",), 1),
        ((), ("G1",), (), 0),
    ]
    assert [(e.on, e.off, e.lifted) for e in found.register().leads] == [("1", "4", "2")]


def test_a_bond_without_a_named_lead_is_counted_too() -> None:
    register = sheets("1. bond V1 to K1\n2. unbond V1\n").register()
    assert [(e.name, e.what, e.first_end, e.second_end, e.on, e.off) for e in register.leads] == [
        ("bond 1", "lead not stated", "V1", "K1", "1", "2")
    ]
    assert sheets("1. bond V1 to K1\n").register().left == ("bond 1",)


def test_lengths_are_in_the_units_of_the_plan() -> None:
    feet = rows("set R1 at S1, 20 ft from the pole, 8 ft deep\n")
    assert feet[0][1] == "Set rod R1 at S1, 20 ft from the structure, 8 ft deep"
    metric = HEAD.replace("8 ft x 5/8 in", "2.4 m x 16 mm").replace("25 ft", "7.5 m").replace("8 ft", "2.5 m")
    plan = review_of(metric + "set R1 at S1, 6 m from the pole, 2.4 m deep\n").plan
    found = Sheets(replay(plan)).stages[0].steps[0].words
    assert found == "Set rod R1 at S1, 6 m from the structure, 2.4 m deep"


@pytest.mark.parametrize("name", ["dual-point-crossarm.tpg", "delta-jumper.tpg", "two-crews-procedure.md"])
def test_sheets_of_examples(name: str, snapshot: SnapshotAssertion) -> None:
    brief = Brief(example(name), NOT_COMPUTED)
    lines = []
    for stage in brief.sheets.stages:
        lines.append(f"== {stage.name}")
        for block in stage.blocks:
            lines += [block.title] * bool(block.title)
            lines += [f"{s.number:>6} {s.kind:5} {s.on:3} {s.words}" for s in block.steps]
    assert "\n".join(lines) == snapshot


WITHOUT = (
    "README.md",
    "deliberate-open-wire.tpg",
    "deliberate-second-day.tpg",
    "deliberate-sins.tpg",
    "deliberate-ungrounded.tpg",
    "two-days-first.tpg",
)
"""What is no plan, leaves grounds on, or has none."""
TIDY = [path.name for path in sorted(EXAMPLES.glob("*")) if path.suffix in (".tpg", ".md") and path.name not in WITHOUT]


@pytest.mark.parametrize("name", TIDY)
def test_the_register_of_every_example_that_clears_up_ends_at_zero(name: str) -> None:
    brief = Brief(example(name), NOT_COMPUTED)
    register = brief.sheets.register()
    assert register.leads, name
    assert register.left == ()
    assert register.counts[-1].on == ()
    assert all(entry.off for entry in register.leads)


POINTS = ["K1", "R1", "S1 A", "S2 B", "S3 N"]


@st.composite
def moves(draw: st.DrawFn) -> str:
    lines = []
    for _ in range(draw(st.integers(1, 14))):
        lead, point = draw(st.sampled_from(["G1", "G2", "G3"])), draw(st.sampled_from(POINTS))
        other = draw(st.sampled_from(POINTS))
        verb = draw(
            st.sampled_from(
                ["attach {0} to {1} by H1", "attach {0} to {1}, then to {2} by H1"] * 2
                + [
                    "detach {0} from {1} by H1",
                    "detach {0} from {1} by H1, then from {2}",
                    "lift {0} from {1} by H1",
                    "restore {0} to {1} by H1",
                    "bond {1} to {2}",
                    "unbond {1}",
                    "bond {1} to {2} with {0}",
                ]
            )
        )
        lines.append(verb.format(lead, point, other))
    return "\n".join(lines) + "\n"


@settings(max_examples=60, deadline=None)
@given(moves())
def test_the_count_is_always_what_the_replay_has_on(text: str) -> None:
    found = sheets(text)
    timeline = found.timeline
    register = found.register()
    bonds = found.bonds

    def on(at: int) -> set[str]:
        leads = {
            lead.name + LIFTED * (timeline.lifted(at, lead) is not None)
            for lead in timeline.plan.of(Lead)
            if isinstance(lead, Lead) and (timeline.ends(at, lead) or timeline.lifted(at, lead) is not None)
        }
        return leads | {b.name for b in bonds if b.on < at and (b.off is None or at <= b.off)}

    running: set[str] = set()
    for count in register.counts:
        running = (running | set(count.put_on)) - set(count.taken_off)
        assert running == {name for name in count.on if not name.endswith(LIFTED)}
    assert set(register.left) == on(timeline.n)
    for stage in found.stages:
        for step in stage.steps:
            assert step.on == sum(not name.endswith(LIFTED) for name in on(step.last + 1))
    still = [entry.name for entry in register.leads if not entry.off]
    assert sorted(still) == sorted(name.removesuffix(LIFTED) for name in register.left)
    covered = [at for stage in found.stages for s in stage.steps for at in range(s.first, s.last + 1)]
    assert covered == list(range(timeline.n)), "each action stands in one row, in order"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('hold until "all are down"', "until all are down"),
        ('hold "until all are down"', "until all are down"),
        ('stop until "until all are down"', "until all are down"),
        ('hold "all are down"', "all are down"),
        ('pause 14 h overnight for "the storm"', "Pause 14 h: overnight, the storm"),
        ("pause 14 h overnight", "Pause 14 h: overnight"),
        ('pause 14 h for "the storm"', "Pause 14 h: the storm"),
    ],
)
def test_a_stop_is_printed_in_all_of_its_words(text: str, words: str) -> None:
    assert [row[1] for row in rows(f"{text}\n")] == [words]
