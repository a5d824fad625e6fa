"""Marks come out as the table of forty answers says: sound in different ways, wrong in part, nothing, copied."""

from __future__ import annotations

import csv
import re
from dataclasses import replace
from pathlib import Path

import pytest
from class_of_forty import FULL, LESSON, SCHEME, SOUND, handed, renamed
from lesson_answers import lesson

from groundlint.cli import main
from groundlint.plan.models import Plan
from groundlint.reading import read_plan
from groundlint.teaching.classes import class_view, note
from groundlint.teaching.likeness import alike
from groundlint.teaching.marking import Marked
from groundlint.text import Source

HANDED = handed()


@pytest.fixture(scope="module")
def marked(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    top = tmp_path_factory.mktemp("class")
    answers = top / "answers"
    answers.mkdir()
    for one in HANDED:
        (answers / f"{one.name}.tpg").write_bytes(one.data)
    assert main(["mark", str(SCHEME), str(answers), "-o", str(top / "out")]) == 0
    return top, ""


def rows(folder: Path) -> dict[str, dict[str, str]]:
    with (folder / "marks.csv").open(encoding="utf-8", newline="") as stream:
        return {row["answer"]: row for row in csv.DictReader(stream)}


def test_each_is_there_once_and_has_a_reason() -> None:
    assert len(HANDED) == len({one.name for one in HANDED})
    assert all(one.why for one in HANDED)


@pytest.mark.parametrize("one", HANDED, ids=lambda one: one.name)
def test_an_answer_gets_what_the_table_says(one: object, marked: tuple[Path, str]) -> None:
    row = rows(marked[0] / "out")[one.name]  # type: ignore[attr-defined]
    marks, out_of = float(row["marks"]), float(row["out of"])
    off = one.off  # type: ignore[attr-defined]
    said = f"{one.name}: {row}"  # type: ignore[attr-defined]
    if off == FULL:
        assert marks == out_of, said
    elif off == "none":
        assert marks == 0, said
        assert row["note"], said
    elif off == "required":
        assert 0 < marks < out_of, said
        assert row["note"].startswith("required to pass"), said
    elif off == "less":
        assert marks < out_of, said
    else:
        assert out_of - marks == pytest.approx(off), said
    assert row["passed"] == ("yes" if one.passed else "no"), said  # type: ignore[attr-defined]


def test_each_answer_has_its_pages(marked: tuple[Path, str]) -> None:
    out = marked[0] / "out"
    for one in HANDED:
        text, page = (out / f"{one.name}.txt").read_text("utf-8"), (out / f"{one.name}.html").read_text("utf-8")
        assert page.startswith("<!doctype html>")
        assert "points" in text
        if one.off == "none":
            assert "could not be marked" in text
    text = (out / "w06-bar-above.txt").read_text("utf-8")
    assert "Why it matters:" in text
    assert "Where it is written:" in text
    assert "below" in text


def test_two_runs_give_the_same_bytes(marked: tuple[Path, str]) -> None:
    top = marked[0]
    assert main(["mark", str(SCHEME), str(top / "answers"), "-o", str(top / "again")]) == 0
    names = sorted(path.name for path in (top / "out").iterdir())
    assert names == sorted(path.name for path in (top / "again").iterdir())
    assert all((top / "out" / name).read_bytes() == (top / "again" / name).read_bytes() for name in names)


COPIES = [
    ("w06-bar-above", "c01-copy-of-w06"),
    ("w07-no-hold", "c02-copy-of-w07"),
    ("w10-lead-left", "c03-copy-of-w10"),
]


def test_copies_with_other_names_come_first_of_what_is_alike(marked: tuple[Path, str]) -> None:
    said = (marked[0] / "out" / "class.txt").read_text("utf-8")
    found = re.findall(r"^ +\d+ %  (\S+) and (\S+?)(, with other names)?$", said.split("Near alike")[1], re.MULTILINE)
    first = {(*sorted(pair[:2]), bool(pair[2])) for pair in found[:5]}
    waived = ("w19-waived", False)  # does what w06 does
    assert first == {(*sorted(pair), True) for pair in COPIES} | {
        ("c01-copy-of-w06", "w19-waived", True),
        ("w06-bar-above", *waived),
    }
    assert "copied" not in said
    assert "cheat" not in said


def test_a_copy_of_what_most_write_is_found_by_its_other_names() -> None:
    handout, sound = (plan_of(lesson(SCHEME.parent)[at]) for at in (0, 1))
    pairs = alike([sound, plan_of(SOUND), plan_of(renamed(SOUND))], 0.9, handout)
    assert [(pair.one, pair.other, pair.likeness) for pair in pairs] == [(0, 2, 1), (1, 2, 1), (0, 1, 1)]


def test_what_was_handed_out_is_no_likeness() -> None:
    handout = plan_of(lesson(SCHEME.parent).handout)
    assert alike([handout, handout], 0.9, handout) == ()


def plan_of(text: str) -> Plan:
    return read_plan(Source("x.tpg", text)).plan


def test_the_class_shows_what_was_missed_and_the_spread(marked: tuple[Path, str]) -> None:
    said = (marked[0] / "out" / "class.txt").read_text("utf-8")
    assert "Missed most:" in said
    assert "Spread: 0 % to 100 %" in said


PAGES = ["class", "s01-as-taught", "w06-bar-above", "w10-lead-left", "e03-bytes", "w20-five-unread"]


@pytest.mark.one_in(4)
@pytest.mark.parametrize("wide", [360, 1024])
@pytest.mark.parametrize("name", PAGES)
def test_no_rule_of_wcag_is_broken(chromium: object, marked: tuple[Path, str], name: str, wide: int) -> None:
    check_page(chromium, marked[0] / "out" / f"{name}.html", wide)


def check_page(chromium: object, path: Path, wide: int) -> None:
    """A page asks for nothing, does not scroll sideways as a whole, and breaks no rule of axe."""
    from axe_playwright_python.sync_playwright import Axe

    page = chromium.new_page(viewport={"width": wide, "height": 800})  # type: ignore[attr-defined]
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if request.url != path.as_uri() else None)
    page.goto(path.as_uri())
    found = Axe().run(page).response
    assert [(one["id"], [node["html"][:200] for node in one["nodes"][:3]]) for one in found["violations"]] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= wide
    assert asked == []
    page.close()


@pytest.mark.parametrize("wide", [360, 1024])
def test_the_handout_breaks_no_rule_either(chromium: object, tmp_path: Path, wide: int) -> None:
    sound = SCHEME.parent / "parts" / "sound.tpg"
    assert main(["drill", str(sound), "-o", str(tmp_path), "--name", "x"]) == 0
    check_page(chromium, tmp_path / "x.html", wide)


def test_full_marks_of_points_that_add_up_to_a_little_less_are_in_the_last_band() -> None:
    points = 0.7 + 0.1
    assert points < 0.8
    one = Marked("a", "a", (), (), 0.0, round(points, 2), points, True, ())
    view = class_view("t", [one])
    assert dict(view.bands()) == {" 90 to 100 %": 1} | {band: 0 for band, _ in list(view.bands())[:-1]}


@pytest.mark.parametrize(
    ("lacking", "said"),
    [
        ((), ""),
        (("a",), "required to pass: a"),
        (("a", "b"), "required to pass: a; b"),
        (("a", "b", "c", "d"), "required to pass: a; b; and 2 more"),
    ],
)
def test_a_row_of_the_class_names_two_of_what_an_answer_lacks_to_pass(lacking: tuple[str, ...], said: str) -> None:
    one = Marked("a", "a", (), (), 0.0, 0.0, 4.0, False, lacking)
    assert note(one) == said
    assert note(one, len(lacking)).count(";") == max(0, len(lacking) - 1)
    assert note(replace(one, note="the answer is empty")) == "the answer is empty"


def test_whoever_guesses_is_told_why_that_is_no_pass_and_every_file_of_a_folder_is_an_answer(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "answers").mkdir()
    (tmp_path / "answers/guess.txt").write_text("line 38: B\nline 12: C\n", encoding="utf-8")
    (tmp_path / "answers/link.txt").symlink_to("nowhere.txt")
    key = LESSON.parent / "lesson-1-one-lead/parts/drill.key.toml"
    assert main(["mark", str(key), "answers"]) == 0
    rows = capsys.readouterr().out.splitlines()[3:5]
    assert rows == [
        "guess       3.5      4   88  no      required to pass: more lines that are right than wrong",
        "link          0      4    0  no      the file can't be read: answers/link.txt: no such file or folder",
    ]
