"""`groundlint brief` as a user meets it."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from briefing_plans import EXAMPLES

from groundlint.cli import main

PLAN = str(EXAMPLES / "dual-point-crossarm.tpg")


@pytest.fixture(autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))


def test_a_page_and_a_drawing_are_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page, drawing = tmp_path / "b.html", tmp_path / "b.svg"
    assert main(["brief", PLAN, "-o", str(page), "--drawing", str(drawing)]) == 0
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert "\r" not in page.read_bytes().decode()
    assert ET.parse(drawing).getroot().tag.endswith("svg")
    assert capsys.readouterr().out == ""


def test_the_drawing_at_a_step(tmp_path: Path) -> None:
    drawing = tmp_path / "b.svg"
    assert main(["brief", PLAN, "--drawing", str(drawing), "--step", "8.11"]) == 0
    assert "The line after step 8.11" in drawing.read_text(encoding="utf-8")


def test_a_page_to_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["brief", PLAN, "-o", "-"]) == 0
    assert capsys.readouterr().out.startswith("<!DOCTYPE html>")


def test_the_status_is_that_of_the_review(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = str(tmp_path / "b.html")
    assert main(["brief", str(EXAMPLES / "deliberate-sins.tpg"), "-o", page]) == 1
    assert capsys.readouterr().err.endswith("deliberate-sins.tpg: broken; `groundlint review` lists the findings\n")
    assert main(["brief", str(EXAMPLES / "deliberate-silence.tpg"), "-o", page]) == 2
    assert "deliberate-silence.tpg: not shown; " in capsys.readouterr().err
    (tmp_path / "a.tpg").write_bytes(b"\xff")
    assert main(["brief", str(tmp_path / "a.tpg"), "-o", page]) == 1
    assert "a.tpg: not read whole; " in capsys.readouterr().err
    assert main(["brief", PLAN, "-o", page]) == 0
    assert capsys.readouterr().err == ""


def test_values_that_a_plan_leaves_open_can_be_given(tmp_path: Path) -> None:
    page = tmp_path / "b.html"
    plan = str(EXAMPLES / "standard-procedure.tpg")
    assert main(["brief", plan, "-o", str(page), "--given", "site=PC07"]) == 0
    assert "PC07, on the pole" in page.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([PLAN], "say where to write the page"),
        ([PLAN, "-o", "x.html", "--step", "2"], "--step goes with --drawing"),
        ([PLAN, "--drawing", "x.svg", "--step", "99"], "no step 99 in this plan"),
        (["nowhere.tpg", "-o", "x.html"], "no such file or folder"),
        ([str(EXAMPLES), "-o", "x.html"], "this is a folder"),
        ([PLAN, "-o", "no/such/folder/x.html"], "no such file or folder"),
        ([PLAN, "-o", "x.html", "--book", "no-book"], "rulebook"),
    ],
)
def test_what_cannot_be_done_is_said_in_a_line(
    arguments: list[str], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["brief", *arguments]) == 3
    err = capsys.readouterr().err
    assert said in err
    assert "Traceback" not in err
    assert list(tmp_path.iterdir()) == []
