"""Drills: one seed gives the same bytes, the key marks its own answers in full, mistakes have their messages."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from crowd import opener, reviewed, reviewer
from seeded import aims, bench
from sound_plans import sound_plan

from groundlint.cli import main
from groundlint.language.statements.whole import declared_names
from groundlint.rulebook.shipped import shipped
from groundlint.teaching.aims import read_aims, rules_by_slug
from groundlint.teaching.drill import Drills, proof
from groundlint.teaching.finding_faults import Key, mark_faults, read_claims, read_key, rule_meant
from groundlint.teaching.marking import Answer
from groundlint.teaching.operators import operators
from groundlint.teaching.scheme import read_scheme
from groundlint.text import Source
from groundlint.values import Truth

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PLAN = str(EXAMPLES / "dual-point-crossarm.tpg")
BOOKS = ("--book", "practice", "--book", "us-29cfr1910-269")
"""Without the circuit, which is solved anew for each place that a fault is tried in."""


def drilled(folder: Path, *more: str) -> dict[str, bytes]:
    assert main(["drill", PLAN, "-o", str(folder), "--name", "d", *BOOKS, *more]) == 0
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_one_seed_gives_the_same_bytes_and_another_gives_others(tmp_path: Path) -> None:
    one = drilled(tmp_path / "a", "--seed", "5", "--faults", "2")
    assert one == drilled(tmp_path / "b", "--seed", "5", "--faults", "2")
    assert one != drilled(tmp_path / "c", "--seed", "6", "--faults", "2")
    assert sorted(one) == ["d.answers.txt", "d.html", "d.key.toml", "d.tpg", "d.txt"]


@pytest.mark.one_in(6)
@pytest.mark.parametrize("seed", range(12))
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
    assert main(["drill", str(EXAMPLES / "deliberate-sins.tpg"), "-o", str(tmp_path), *BOOKS]) == 3
    said = capsys.readouterr().err
    assert "a plan with no finding" in said
    assert "deliberate-sins.tpg:" in said.splitlines()[0]
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
def test_wrong_usage_is_reported(
    more: list[str], said: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert main(["drill", PLAN, "-o", str(tmp_path), *BOOKS, *more]) == 3
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
        assert rule_meant(words, key)[0] == rule, words
    claims, odd = read_claims("student: x\nline 3: A\n- l. 4) B\n# c\n5\nwhat?\n", key)
    assert [(one.number, one.rule) for one in claims] == [(3, "rod-distance"), (4, "rod-barricaded"), (5, "")]
    assert odd == ("what?",)


def test_a_reason_copied_from_the_handout_is_that_reason(drills_with_keys: list[tuple[str, Key]]) -> None:
    for _, key in drills_with_keys:
        for letter, (slug, title) in key.choices.items():
            for words in (title, f"{title.lower()}.", f"{letter}  {title}", f'"{title}", so it is wrong'):
                assert rule_meant(words, key) == (slug, True), words


TAGS = """[drill]
name = "k"
[choices]
"A" = ["clearance-released", "A clearance that was received is released"]
"B" = ["release-after-all-off", "Every ground is off before the clearance is released"]
"C" = ["every-ground-accounted", "Every ground that went on has come off when the plan ends"]
"F" = ["tags-stay-until-release", "No tag comes off before the clearance is released"]
"G" = ["no-energizing-with-grounds-on", "Nothing is closed while a ground is on the line"]
[[fault]]
lines = [77]
rules = ["tags-stay-until-release"]
title = "t"
"""


@pytest.mark.parametrize(
    ("words", "state", "to_read"),
    [
        ("No tag comes off before the clearance is released", "found", 0),
        ("tag removed too early, clearance not released yet", "found", 0),
        ("he untags while the clearance still holds", "line found", 1),
        ("tag gone, and every ground is off before release", "line found", 1),  # which of two is not clear
        ("the tag, and every ground that went on is off at the end", "line found", 1),
        ("the grounds", "line found", 1),
        ("every ground that went on has not come off at the end", "line found", 0),  # clearly another
        ("B", "line found", 0),
        ("", "line found", 0),
    ],
)
def test_words_of_ones_own_are_wrong_only_where_another_reason_is_clearly_meant(
    words: str, state: str, to_read: int
) -> None:
    key, _ = read_key(Source("k.toml", TAGS))
    assert key is not None
    marked = mark_faults(Answer("a", "a", Source("a.txt", f"line 77: {words}")), key)
    assert (marked.items[0].state, len(marked.to_read)) == (state, to_read)
    assert marked.taken_off == 0


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
        ("\n".join(f"line {number}: A" for number in range(1, 90)), 0, 43.5),
    ],
)
def test_guessing_every_reason_earns_no_more_than_the_first_guess(sheet: str, marks: float, off: float) -> None:
    key, _ = read_key(Source("k.toml", KEY))
    assert key is not None
    marked = mark_faults(Answer("a", "a", Source("a.txt", sheet)), key)
    assert (marked.marks, marked.taken_off) == (marks, off)


@pytest.mark.parametrize("name", sorted(path.parent.name for path in shipped().glob("*/book.book")))
def test_each_book_by_itself_has_aims_for_its_own_rules_alone(name: str) -> None:
    from groundlint.review import load_rulebook
    from groundlint.teaching.aims import load_aims

    book, problems = load_rulebook(name)
    assert book is not None
    assert not problems
    found, said = load_aims([book])
    assert said == ()
    assert found
    assert {slug for aim in found.values() for slug in aim.rules} <= {rule.slug for rule in book.rules}


def keys(folder: Path) -> list[tuple[str, Key]]:
    """The plan and key of each drill of the course, and of some of several faults."""
    for seed, faults in ((1, 2), (2, 3)):
        drilled(folder / str(seed), "--seed", str(seed), "--faults", str(faults))
    found = []
    for path in (*sorted(folder.glob("*/*.key.toml")), *sorted(EXAMPLES.glob("course/*/parts/*.key.toml"))):
        key, problems = read_key(Source(path.name, path.read_text("utf-8")))
        assert key is not None, problems
        found.append((path.with_name(path.name.replace(".key.toml", ".tpg")).read_text("utf-8"), key))
    return found


@pytest.fixture(scope="module")
def drills_with_keys(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[str, Key]]:
    return keys(tmp_path_factory.mktemp("drills"))


def test_naming_every_line_or_one_reason_for_all_is_no_pass(drills_with_keys: list[tuple[str, Key]]) -> None:
    for plan, key in drills_with_keys:
        lines = plan.rstrip("\n").split("\n")
        every = range(1, len(lines) + 1)
        tried = {
            "every line": every,
            "every step": [at for at in every if lines[at - 1].strip()[:1].isdigit()],
            "the last half": every[len(every) // 2 :],
            "each line ten times": [at for at in every for _ in range(10)],
            "every second line": every[::2],
            "lines past the end": range(1, 3000),
        }
        for name, numbers in tried.items():
            for letter in ("", *key.choices):
                sheet = "\n".join(f"line {number}: {letter}" for number in numbers)
                marked = mark_faults(Answer("a", "a", Source("a.txt", sheet)), key)
                assert not marked.passed, (key.title, name, letter, marked.marks)


def test_one_reason_for_all_of_the_right_lines_is_no_pass(drills_with_keys: list[tuple[str, Key]]) -> None:
    for _, key in drills_with_keys:
        for letter in key.choices if len(key.faults) > 1 else ():
            sheet = "\n".join(f"line {fault.lines[0]}: {letter}" for fault in key.faults)
            marked = mark_faults(Answer("a", "a", Source("a.txt", sheet)), key)
            assert not marked.passed, (key.title, letter, marked.marks)


def test_every_true_answer_at_its_place_earns_all(drills_with_keys: list[tuple[str, Key]]) -> None:
    several = 0
    for _, key in drills_with_keys:
        for at, fault in enumerate(key.faults):
            for rule in (*fault.rules, *fault.also):
                several += rule in fault.also
                for line in fault.lines:
                    marked = mark_faults(Answer("a", "a", Source("a.txt", f"line {line}: {rule}")), key)
                    assert (marked.items[at].earned, marked.taken_off) == (key.line + key.reason, 0), (line, rule)
            for line, rule in fault.shows - {(line, rule) for line in fault.lines for _, rule in fault.shows}:
                marked = mark_faults(Answer("a", "a", Source("a.txt", f"line {line}: {rule}")), key)
                assert (marked.items[at].earned, marked.taken_off) == (key.reason, 0), (line, rule)
    assert several, "of no fault is more than one reason true"


def test_every_reason_offered_is_one_that_the_plan_comes_to(drills_with_keys: list[tuple[str, Key]]) -> None:
    for plan, key in drills_with_keys:
        asked = {outcome.rule.slug: outcome.truth for outcome in reviewed(plan).outcomes}
        right = {rule for fault in key.faults for rule in fault.rules}
        offered = {slug for slug, _ in key.choices.values()}
        assert right & set(asked) <= offered
        assert {slug: asked[slug] for slug in offered - right} == dict.fromkeys(offered - right, Truth.TRUE)


def test_what_is_put_in_has_a_name_as_the_plan_s_writer_gives_them() -> None:
    home = bench((EXAMPLES / "dual-point-crossarm.tpg").read_text("utf-8"), opener(EXAMPLES))
    known = {thing.name for thing in home.plan.things}
    stems = {name.rstrip("0123456789") for name in known}
    new = {
        str(name)
        for operator in operators().values()
        for sheet in operator.spoil(home)
        for change in sheet.changes
        if change.after is not None
        for name in declared_names(change.after.statement)
        if ".." not in name
    } - known
    assert new
    for name in new:
        stem = name.rstrip("0123456789")
        assert stem in stems, name
        assert f"{stem}{int(name[len(stem) :]) - 1}" in known, name


def test_words_that_nothing_matches_are_for_the_instructor_to_read(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "k.toml").write_text(KEY, "utf-8")
    (tmp_path / "rook.txt").write_text("line 9: the grip is gone\nI am not sure\n", "utf-8")
    assert main(["mark", str(tmp_path / "k.toml"), str(tmp_path / "rook.txt"), "-o", str(tmp_path / "out")]) == 0
    said = capsys.readouterr().out
    assert "To be read by the instructor" in said
    assert "rook: line 9: the grip is gone" in said
    assert "rook: I am not sure" in said
    assert "the instructor reads it" in (tmp_path / "out" / "rook.txt").read_text("utf-8")
    assert "the grip is gone" in (tmp_path / "out" / "class.html").read_text("utf-8")
    row = (tmp_path / "out" / "marks.csv").read_text("utf-8").splitlines()
    assert dict(zip(row[0].split(","), row[1].split(","), strict=True))["to read"] == "2"
