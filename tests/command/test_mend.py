"""`groundlint mend` as a user meets it: the diff, what is written and what is not, the statuses."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest
from syrupy.assertion import SnapshotAssertion

from groundlint.cli import main

EXAMPLES = Path(__file__).parents[2] / "examples"
BOOKS = ("--book", "practice", "--book", "us-29cfr1910-269")
TEXT = (EXAMPLES / "dual-point-crossarm.tpg").read_text("utf-8")
CLEAN = " 14. clean   SC16 N A B C\n"
FIRST, LAST = "detach P4 from SC16 C by H1, then from K3", "detach P4 from K3, then from SC16 C by H1"


@pytest.fixture(autouse=True)
def _folder(tmp_path: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))
    monkeypatch.setenv("NO_COLOR", "1")
    (tmp_path / "plans").mkdir()
    monkeypatch.chdir(tmp_path / "plans")


def spoiled(text: str = TEXT) -> str:
    for old, new in ((CLEAN, ""), (FIRST, LAST)):
        assert text.count(old) == 1
        text = text.replace(old, new)
    return text


def mend(*words: str) -> int:
    return main(["mend", *BOOKS, *words])


def test_a_diff_that_git_applies_and_the_same_written(
    capsys: pytest.CaptureFixture[str], snapshot: SnapshotAssertion
) -> None:
    plan = Path("plan.tpg")
    plan.write_text(spoiled(), encoding="utf-8")
    assert mend("plan.tpg") == 1
    streams = capsys.readouterr()
    assert (streams.out, streams.err) == snapshot
    assert plan.read_text("utf-8") == spoiled()
    assert mend("--write", "plan.tpg") == 0
    assert capsys.readouterr() == ("", streams.err)
    written = plan.read_text("utf-8")
    plan.write_text(spoiled(), encoding="utf-8")
    subprocess.run(["git", "apply", "-"], input=streams.out.encode(), check=True)
    assert plan.read_text("utf-8") == written
    assert main(["review", *BOOKS, "plan.tpg"]) == 0
    capsys.readouterr()
    assert mend("plan.tpg") == 0
    assert capsys.readouterr() == ("", "")
    assert os.listdir() == ["plan.tpg"]


def test_of_markdown_only_lines_within_the_fences(capsys: pytest.CaptureFixture[str]) -> None:
    head, tail = "# The job\n\n10. clean nothing\n\n```tpg\n", "```\n\n 14. attach nothing\n"
    data = f"\ufeff{head}{spoiled()}{tail}".replace("\n", "\r\n").encode()
    Path("plan.md").write_bytes(data)
    assert mend("--write", "plan.md") == 0
    text = Path("plan.md").read_bytes().decode()
    assert text.startswith(f"\ufeff{head}".replace("\n", "\r\n"))
    assert text.endswith(tail.replace("\n", "\r\n"))
    assert text.count("\n") == text.count("\r\n") == data.decode().count("\n") + 4


def test_what_is_left_is_said_and_keeps_its_status(
    capsys: pytest.CaptureFixture[str], snapshot: SnapshotAssertion, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = spoiled().replace("soil      85 ohm m\n", "")
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode())))
    assert mend("--write", "-") == 2
    streams = capsys.readouterr()
    assert "15a. clean SC16 N\n" in streams.out
    assert streams.err.splitlines()[-1] == snapshot


def test_why_an_edit_that_is_offered_is_not_made(capsys: pytest.CaptureFixture[str]) -> None:
    Path("plan.tpg").write_bytes((EXAMPLES / "deliberate-silence.tpg").read_bytes())
    assert mend("plan.tpg") == 1
    assert [line for line in capsys.readouterr().err.splitlines() if "not made" in line] == [
        "plan.tpg: step 4, clearance received by L1: not made: put in after `detach    X1 from K1, then from R1`: "
        "`clearance released by L1`: holder-releases would come out not shown: the plan does not state "
        "who receives the clearance [clearance-released]",
    ]


def test_nothing_is_mended_before_all_is_read(capsys: pytest.CaptureFixture[str]) -> None:
    text = spoiled() + "  99. fly to 212\n"
    Path("plan.tpg").write_text(text, encoding="utf-8")
    assert mend("--write", "plan.tpg") == 1
    streams = capsys.readouterr()
    assert streams.out == ""
    assert "could not be read" in streams.err
    assert Path("plan.tpg").read_text("utf-8") == text


@pytest.mark.parametrize("hidden", ["\x1b[2J", "\u202e"])
def test_what_would_steer_a_terminal_is_not_printed(hidden: str, capsys: pytest.CaptureFixture[str]) -> None:
    Path("plan.tpg").write_text(spoiled().replace("# Two", f"# {hidden}Two"), encoding="utf-8")
    assert mend("plan.tpg") == 1
    streams = capsys.readouterr()
    assert hidden not in streams.out + streams.err


def test_never_through_a_link_that_leads_elsewhere(capsys: pytest.CaptureFixture[str]) -> None:
    elsewhere = Path("../elsewhere.tpg")
    elsewhere.write_text(spoiled(), encoding="utf-8")
    Path("link.tpg").symlink_to(elsewhere)
    assert mend("--write", "link.tpg") == 3
    assert "a link that leads elsewhere" in capsys.readouterr().err
    assert elsewhere.read_text("utf-8") == spoiled()
    assert Path("link.tpg").is_symlink()


def test_what_cannot_be_written_is_said(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    def full(path: Path, text: str) -> None:
        raise OSError(28, "No space left on device")

    Path("plan.tpg").write_text(spoiled(), encoding="utf-8")
    monkeypatch.setattr("groundlint.text.files.write_file", full)
    assert mend("--write", "plan.tpg") == 3
    assert "can't be written: the disk is full" in capsys.readouterr().err
    assert Path("plan.tpg").read_text("utf-8") == spoiled()
