"""The course: a lesson lacks what its comments say, its sound plan is sound and earns all, its key is true."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from crowd import reviewed, reviewer
from seeded import aims

from groundlint.cli import main
from groundlint.findings.model import Kind
from groundlint.teaching.aims import rules_by_slug
from groundlint.teaching.finding_faults import mark_faults, read_key
from groundlint.teaching.marking import Answer
from groundlint.text import Severity, Source

COURSE = Path(__file__).resolve().parents[2] / "examples" / "course"
LESSONS = sorted(path for path in COURSE.iterdir() if path.is_dir())
DECLARED = re.compile(r"^# (finds|not shown): (.+)$")


def declared(text: str) -> set[tuple[int, str, str]]:
    found, waiting = set(), []
    for number, line in enumerate(text.split("\n"), 1):
        said = DECLARED.match(line)
        if said:
            waiting += [(said[1], slug.strip()) for slug in said[2].split(",")]
        elif line.strip():
            found |= {(number, kind, slug) for kind, slug in waiting}
            waiting = []
    return found


def test_there_are_six_lessons_and_the_read_me_tells_of_them() -> None:
    assert [path.name.split("-")[1] for path in LESSONS] == ["1", "2", "3", "4", "5", "6"]
    text = (COURSE / "README.md").read_text("utf-8")
    assert all(f"| {number} |" in text for number in range(1, 7))


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.name)
def test_a_lesson_lacks_what_its_comments_say(lesson: Path) -> None:
    (plan,) = lesson.glob("*.tpg")
    text = plan.read_text("utf-8")
    words = {Kind.BROKEN: "finds", Kind.UNSHOWN: "not shown"}
    found = {(one.span.line, words.get(one.kind, one.message), one.slug) for one in reviewed(text).findings}
    assert found
    assert found == declared(text)


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.name)
def test_the_sound_plan_is_sound_and_earns_all_and_the_lesson_as_it_is_does_not(
    lesson: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sound = lesson / "parts" / "sound.tpg"
    assert [one.message for one in reviewed(sound.read_text("utf-8")).findings] == []
    (plan,) = lesson.glob("*.tpg")
    assert main(["mark", str(lesson / "scheme.toml"), str(sound), str(plan), "-o", str(tmp_path)]) == 0
    capsys.readouterr()
    rows = (tmp_path / "marks.csv").read_text("utf-8").splitlines()
    assert rows[1].split(",")[4:6] == ["100", "yes"]
    assert rows[2].split(",")[5] == "no"


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.name)
def test_nobody_passes_with_a_rule_on_danger_that_is_not_met(lesson: Path) -> None:
    stages = tomllib.loads((lesson / "scheme.toml").read_text("utf-8"))["stage"].values()
    worth = {slug: one for stage in stages for slug, one in stage["rules"].items()}
    rules = rules_by_slug(reviewer().books)
    required = {slug for slug, one in worth.items() if isinstance(one, dict) and one.get("required")}
    assert {slug for slug in worth if rules[slug].level is Severity.DANGER} <= required


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.name)
def test_the_drill_has_the_faults_of_its_key_and_no_others_and_the_key_s_answers_earn_all(lesson: Path) -> None:
    parts = lesson / "parts"
    key = tomllib.loads((parts / "drill.key.toml").read_text("utf-8"))
    found = reviewed((parts / "drill.tpg").read_text("utf-8")).findings
    for fault in key["fault"]:
        lines = {one.span.line for one in found if one.slug in fault["rules"]}
        assert lines
        assert lines <= {line for line, slug in fault["shows"] if slug in fault["rules"]}
    rules = {slug for fault in key["fault"] for slug in fault["rules"]}
    assert {one.slug for one in found if one.level > Severity.NOTICE} <= rules | {
        slug for fault in key["fault"] for slug in aims()[fault["operator"]].allowed
    }
    sheet = "".join(f"line {fault['lines'][0]}: {fault['rules'][0]}\n" for fault in key["fault"])
    read, problems = read_key(Source("drill.key.toml", (parts / "drill.key.toml").read_text("utf-8")))
    assert read is not None, problems
    marked = mark_faults(Answer("a", "a", Source("a.txt", sheet)), read)
    assert (marked.marks, marked.off) == (read.out_of, ())


def test_the_lessons_do_not_keep_the_folder_of_examples_from_being_reviewed(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["review", str(COURSE)]) == 1
    said = capsys.readouterr().out
    assert "parts/" in said.split("passed over")[1]
    assert said.count("(books: ") >= len(LESSONS)
