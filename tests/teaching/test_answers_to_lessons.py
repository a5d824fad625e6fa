"""Of each lesson: who does the job gets all marks, in whatever way; who only tries to get marks passes by none."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from crowd import reviewer
from lesson_answers import LESSONS, Edited, done_in_another_way, lesson, without_the_job

from groundlint.teaching.aims import rules_by_slug
from groundlint.teaching.feedback import feedback_text
from groundlint.teaching.marking import Answer, Marked, mark_plan
from groundlint.teaching.scheme import read_scheme
from groundlint.teaching.task import Task
from groundlint.text import Source


@cache
def task(folder: Path) -> Task:
    here = lesson(folder)
    return Task(*(reviewer().review(Source("x.tpg", text)) for text in (here.handout, here.sound)))


def marked(folder: Path, text: str) -> Marked:
    rules = rules_by_slug(reviewer().books)
    scheme, problems = read_scheme(Source("scheme.toml", lesson(folder).scheme), rules)
    assert scheme is not None, problems
    return mark_plan(Answer("a", "a", Source("a.tpg", text)), scheme, task(folder), reviewer(), rules)


TRIES = [
    pytest.param(folder, one, id=f"{folder.name[:8]}: {one.name}")
    for at, folder in enumerate(LESSONS)
    for one in without_the_job(lesson(folder), lesson(LESSONS[at - 1]))
]
SOUND = [
    pytest.param(folder, one, id=f"{folder.name[:8]}: {one.name}")
    for folder in LESSONS
    for one in done_in_another_way(lesson(folder))
]


@pytest.mark.parametrize(("folder", "one"), TRIES)
def test_nobody_passes_who_does_not_do_the_job(folder: Path, one: Edited) -> None:
    got = marked(folder, one.text)
    assert not got.passed, (got.marks, got.out_of)
    assert got.note or got.lacking or got.marks < got.out_of


@pytest.mark.parametrize(("folder", "one"), SOUND)
def test_the_job_done_in_another_way_gets_all_marks(folder: Path, one: Edited) -> None:
    got = marked(folder, one.text)
    assert (got.marks, got.passed, got.note, got.off) == (got.out_of, True, "", ()), got.lacking


@pytest.mark.parametrize("folder", LESSONS, ids=lambda path: path.name)
def test_what_is_handed_out_earns_nothing_and_is_praised_for_nothing(folder: Path) -> None:
    got = marked(folder, lesson(folder).handout)
    assert got.marks == 0
    assert "What was right" not in feedback_text(got, "a lesson")
