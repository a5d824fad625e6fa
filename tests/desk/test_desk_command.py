"""What the command says where there is no page to be opened: one line, and status 3."""

from __future__ import annotations

import socket
import sys
from pathlib import Path

import pytest
from desk_at_work import EXAMPLE

from groundlint.cli import main


@pytest.fixture
def plan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A plan in the working folder, beside what is none."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "folder.tpg").mkdir()
    (tmp_path / "latin.tpg").write_bytes('caution "Kälte"\n'.encode("latin-1"))
    (tmp_path / "own.rule").write_text("rule own\n")
    plan = tmp_path / "plan.tpg"
    plan.write_bytes(EXAMPLE.read_bytes())
    return plan


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("procedure.docx", "a word processor's document is not written here; `groundlint review PLAN.docx"),
        ("procedure.odt", "a word processor's document is not written here"),
        ("folder.tpg", "this is a folder; desk takes one plan"),
        ("own.rule", "desk takes a plan whose name ends in .tpg, .md, .markdown"),
        ("-", "desk takes a plan whose name ends in"),
        ("nowhere.tpg", "no such file or folder"),
        ("latin.tpg", "is not UTF-8 (save the file as UTF-8)"),
    ],
)
def test_what_is_no_plan_is_refused_in_one_line(
    plan: Path, name: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["desk", "--no-browser", name]) == 3
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err
    assert err.startswith(f"groundlint: {name}: ")
    assert err.count("\n") == 1


@pytest.mark.parametrize("library", ["rocher", "websockets", "pygls"])
def test_without_the_extra_it_says_what_to_install(
    plan: Path, library: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in list(sys.modules):
        if name.startswith(("groundlint.desk", "groundlint.serving", f"{library}.")):
            monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, library, None)
    assert main(["desk", "--no-browser", plan.name]) == 3
    assert capsys.readouterr().err == (
        "groundlint: desk: the page needs more libraries: pip install 'groundlint[desk]'\n"
    )


def test_a_port_that_is_taken_or_none_is_named(plan: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        for port, why in ((taken.getsockname()[1], "in use"), (70_000, "write a number from 0 to 65535")):
            assert main(["desk", "--no-browser", "--port", str(port), plan.name]) == 3
            out, err = capsys.readouterr()
            assert out == ""
            assert err.startswith(f"groundlint: --port {port}: ")
            assert why in err
