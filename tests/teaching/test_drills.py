"""Drills: one seed gives the same bytes, the key marks its own answers in full, mistakes have their messages."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from crowd import reviewed, reviewer
from seeded import aims, bench
from sound_plans import sound_plan

from groundlint.cli import main
from groundlint.teaching.aims import read_aims, rules_by_slug
from groundlint.teaching.drill import Drills, proof
from groundlint.teaching.finding_faults import mark_faults, read_claims, read_key, rule_meant
from groundlint.teaching.marking import Answer
from groundlint.teaching.scheme import read_scheme
from groundlint.text import Source

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PLAN = str(EXAMPLES / "dual-point-crossarm.tpg")


def drilled(folder: Path, *more: str) -> dict[str, bytes]:
    assert main(["drill", PLAN, "-o", str(folder), "--name", "d", *more]) == 0
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_one_seed_gives_the_same_bytes_and_another_gives_others(tmp_path: Path) -> None:
    one = drilled(tmp_path / "a", "--seed", "5", "--faults", "2")
    assert one == drilled(tmp_path / "b", "--seed", "5", "--faults", "2")
    assert one != drilled(tmp_path / "c", "--seed", "6", "--faults", "2")
    assert sorted(one) == ["d.answers.txt", "d.html", "d.key.toml", "d.tpg", "d.txt"]


@pytest.mark.parametrize("seed", range(6))
def test_several_faults_in_one_plan_are_proven_together(seed: int) -> None:
    drills = Drills(bench(sound_plan(seed)), reviewer(), aims())
    made = drills.exercise("x", seed, 3)
    if drills.sound().open_findings:
        return
    assert made is not None
    assert len(made.faults) == 3
    assert proof(reviewed(made.plan.text), [fault.aim for fault in made.faults]).good
    assert all(fault.lines and fault.found for fault in made.faults)
    assert len({choice.letter for choice in made.choices}) == len(made.choices)
    assert {slug for fault in made.faults for slug in fault.aim.rules} <= {choice.slug for choice in made.choices}


def test_the_key_marks_its_own_answers_in_full_and_says_why(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drilled(tmp_path, "--seed", "7", "--faults", "3")
    key = tomllib.loads((tmp_path / "d.key.toml").read_text("utf-8"))
    letters = {slug: letter for letter, (slug, _) in key["choices"].items()}
    right = [f"line {fault['lines'][0]}: {letters[fault['rules'][0]]}" for fault in key["fault"]]
    sheets = {
        "right.txt": "student: Rook\n" + "\n".join(right),
        "lines.txt": "\n".join(f"{fault['lines'][0]}" for fault in key["fault"]),
        "wild.txt": "\n".join(f"line {number}: A" for number in range(900, 999)),
        "empty.txt": "",
        "odd.txt": "I do not know",
        "bytes.txt": "",
    }
    for name, text in sheets.items():
        (tmp_path / name).write_text(text, "utf-8")
    (tmp_path / "bytes.txt").write_bytes(b"\xff\xfe\x00\x01" * 30)
    capsys.readouterr()
    out = tmp_path / "out"
    assert main(["mark", str(tmp_path / "d.key.toml"), *(str(tmp_path / name) for name in sheets), "-o", str(out)]) == 0
    rows = {row.split(",")[0]: row.split(",") for row in (out / "marks.csv").read_text("utf-8").splitlines()}
    assert rows["right"][1:6] == ["Rook", "12", "12", "100", "yes"]
    assert rows["lines"][2] == "6"
    assert [rows[name][2] for name in ("wild", "empty", "odd", "bytes")] == ["0"] * 4
    assert all(rows[name][7] for name in ("empty", "odd", "bytes"))
    assert "Where it is written:" in (out / "lines.txt").read_text("utf-8")


def test_an_exercise_is_made_of_a_sound_plan_alone(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main(["drill", str(EXAMPLES / "deliberate-sins.tpg"), "-o", str(tmp_path)]) == 3
    assert "a plan with no finding" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--operator", "untesetd"], "did you mean `untested`?"),
        (["--about", "testng"], "did you mean `testing`?"),
        (["--faults", "0"], "write a number from 1 to"),
        (["--name", "../x"], "a plain file name"),
        (["--faults", "2", "--operator", "untested"], "does not take 2 such faults"),
    ],
)
def test_wrong_usage_is_told(more: list[str], said: str, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main(["drill", PLAN, "-o", str(tmp_path), *more]) == 3
    assert said in capsys.readouterr().err


def test_the_list_of_operators_names_what_each_aims_at(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["drill", PLAN, "--list"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) >= 30
    assert all("level" in line and line.endswith("]") for line in lines)


MISTAKES = [
    ("[scheme\n", "not-toml", 1),
    ("[scheme]\npas = 50\n[stage.a.rules]\nrod-distance = 1\n", "unknown-key", 2),
    ("[scheme]\npass = 500\n[stage.a.rules]\nrod-distance = 1\n", "out-of-range", 2),
    ('[scheme]\npass = "half"\n[stage.a.rules]\nrod-distance = 1\n', "wrong-kind", 2),
    ("[stage.a.rules]\nrod-distnace = 1\n", "unknown-rule", 2),
    ("[stage.a.rules]\nrod-distance = { partial = 0.5 }\n", "no-points", 2),
    ('[stage.a.rules]\nrod-distance = { points = 1, steps = ["tset"] }\n', "unknown-step", 2),
    ("[stage.a.rules]\nrod-distance = 1\n[stage.b.rules]\nrod-distance = 1\n", "marked-twice", 4),
    ("[scheme]\n", "no-points", 1),
    ("[stage.a.rules]\nrod-distance = { points = 1, required = 1 }\n", "wrong-kind", 2),
]


@pytest.mark.parametrize(("text", "code", "line"), MISTAKES)
def test_a_mistake_in_a_scheme_has_its_line_and_a_next_action(text: str, code: str, line: int) -> None:
    scheme, problems = read_scheme(Source("s.toml", text), rules_by_slug(reviewer().books))
    assert scheme is None
    assert (code, line) in {(one.code, one.span.line) for one in problems}


def test_a_mistake_in_the_aims_of_a_book_has_its_line() -> None:
    problems: list = []
    read_aims(
        Source("b/drills.toml", '[untested]\nrule = "rod-distnace"\n[nosuch]\nrule = ""\n'), {"rod-distance"}, problems
    )
    assert [(one.code, one.span.line) for one in problems] == [("unknown-rule", 2), ("unknown-operator", 3)]


def test_reasons_are_read_by_letter_by_name_and_by_words() -> None:
    text = (
        '[drill]\nname = "k"\n[choices]\n"A" = ["rod-distance", "A temporary rod stands off from the structure"]\n'
        '"B" = ["rod-barricaded", "A rod is barricaded before anybody goes up"]\n'
        '[[fault]]\nlines = [3]\nrules = ["rod-distance"]\ntitle = "t"\n'
    )
    key, problems = read_key(Source("k.toml", text))
    assert key is not None
    assert not problems
    for words, rule in [
        ("A", "rod-distance"),
        ("b, because", "rod-barricaded"),
        ("(B) the rod", "rod-barricaded"),
        ("rod-distance", "rod-distance"),
        ("the temporary rod is too near the structure", "rod-distance"),
        ("A rod is not barricaded", "rod-barricaded"),
        ("nonsense", ""),
        ("", ""),
    ]:
        assert rule_meant(words, key) == rule, words
    claims, odd = read_claims("student: x\nline 3: A\n- l. 4) B\n# c\n5\nwhat?\n", key)
    assert [(one.number, one.rule) for one in claims] == [(3, "rod-distance"), (4, "rod-barricaded"), (5, "")]
    assert odd == ("what?",)


KEY = """[drill]
name = "k"
[choices]
"A" = ["rod-distance", "A temporary rod stands off from the structure"]
"B" = ["rod-barricaded", "A rod is barricaded before anybody goes up"]
"C" = ["bar-below-feet", "The bar is below the feet"]
[[fault]]
lines = [3, 4]
rules = ["rod-barricaded"]
title = "t"
[[fault]]
lines = [9]
rules = ["bar-below-feet"]
title = "u"
"""


@pytest.mark.parametrize(
    ("sheet", "marks", "off"),
    [
        ("line 3: B\nline 9: C", 8, 0),
        ("line 3: B\nline 4: B\nline 9: C", 8, 0),  # both lines of one fault
        ("line 3: A\nline 3: B\nline 3: C\nline 9: C", 6, 0),  # the first answer of a line counts
        ("line 3: A\nline 4: B\nline 9: C", 7.5, 0.5),  # another reason beside the right one
        ("line 3: A\nline 3: A\nline 9", 4, 0),
        ("line 7: C\nline 7: B", 1, 0),  # one reason named, its line not found
        ("\n".join(f"line {number}: A" for number in range(1, 90)), 2, 2),
    ],
)
def test_guessing_every_reason_earns_no_more_than_the_first_guess(sheet: str, marks: float, off: float) -> None:
    key, _ = read_key(Source("k.toml", KEY))
    assert key is not None
    marked = mark_faults(Answer("a", "a", Source("a.txt", sheet)), key)
    assert (marked.marks, marked.taken_off) == (marks, off)


def test_a_book_that_takes_over_some_rules_of_others_has_aims_for_those_alone() -> None:
    from groundlint.review import load_rulebook
    from groundlint.teaching.aims import load_aims

    book, problems = load_rulebook("electrical")
    assert book is not None
    assert not problems
    found, said = load_aims([book])
    assert said == ()
    assert found
    assert {slug for aim in found.values() for slug in aim.rules} <= {rule.slug for rule in book.rules}
