"""A repository that is checked out can neither write, nor hang, nor forge what is printed.

Each is an attempt, with what is said to it. The command runs in a process of its own where its streams are the matter.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from groundlint.cli import main

PLAN = (Path(__file__).parents[2] / "examples" / "delta-jumper.tpg").read_text("utf-8")
UNREADABLE = 3


@pytest.fixture(autouse=True)
def here(tmp_path: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))
    (tmp_path / "repository").mkdir()
    monkeypatch.chdir(tmp_path / "repository")
    Path("a.tpg").write_text(PLAN, encoding="utf-8")
    return tmp_path


def said(capsys: pytest.CaptureFixture[str], *arguments: str, status: int) -> str:
    capsys.readouterr()
    found = main(["review", *arguments])
    streams = capsys.readouterr()
    assert found == status, streams.out + streams.err
    return streams.err if status == UNREADABLE else streams.out


# ------------------------------------------------------------- what would never end


@pytest.mark.parametrize(
    "name", ["b.tpg", "B.TPG", "b.md", "groundlint.toml", "pyproject.toml", ".gitignore", ".groundlintignore"]
)
def test_a_pipe_in_place_of_a_file_is_not_waited_for(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    os.mkfifo(name)
    assert "it is a pipe or a device, and no file" in said(capsys, ".", status=UNREADABLE)


@pytest.mark.parametrize("name", ["/dev/zero", "/dev/urandom", "pipe.tpg", "folder.tpg"])
def test_what_is_named_and_is_no_file(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    os.mkfifo("pipe.tpg")
    Path("folder.tpg").mkdir()
    err = said(capsys, name, status=UNREADABLE)
    assert re.search("a pipe or a device|this is a folder|no plans in this folder", err, re.IGNORECASE)


def test_a_pipe_that_a_plan_uses(capsys: pytest.CaptureFixture[str]) -> None:
    Path("parts").mkdir()
    os.mkfifo("parts/kit.tpg")
    Path("a.tpg").write_text('use "parts/kit.tpg"\n' + PLAN, encoding="utf-8")
    assert "it is a pipe or a device, and no file" in said(capsys, "a.tpg", status=1)


def test_a_pipe_in_a_book(capsys: pytest.CaptureFixture[str]) -> None:
    Path("rules/own").mkdir(parents=True)
    Path("rules/own/book.book").write_text('book own\n  title "Own"\n  adopt practice\n', encoding="utf-8")
    os.mkfifo("rules/own/more.rule")
    err = said(capsys, "--book", "own", "--books-in", "rules", "a.tpg", status=UNREADABLE)
    assert "a rulebook can't be used" in err


def test_what_the_shell_hands_over_is_read(capsys: pytest.CaptureFixture[str]) -> None:
    """``groundlint review <(git show HEAD:a.tpg)``."""
    reading, writing = os.pipe()
    os.write(writing, PLAN.encode())
    os.close(writing)
    assert "0 rules broken" in said(capsys, f"/dev/fd/{reading}", status=0)
    os.close(reading)


@pytest.mark.parametrize(
    ("link", "leads", "words"),
    [
        ("b.tpg", "nowhere.tpg", "the link leads nowhere"),
        ("b.tpg", "b.tpg", "the link leads nowhere"),
        ("more", "..", "a link to a folder elsewhere is not followed"),
    ],
)
def test_links_that_lead_elsewhere_are_named(
    link: str, leads: str, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path(link).symlink_to(leads)
    assert f"groundlint: {link}: {words}" in said(capsys, ".", status=UNREADABLE)


def test_a_circle_of_folders_is_searched_once(capsys: pytest.CaptureFixture[str]) -> None:
    Path("again").symlink_to(".")
    assert said(capsys, ".", status=0).count("0 rules broken") == 1


@pytest.mark.parametrize("pattern", ["*a*a*a*a*a*a*b", "**/a/**/a/**/a/**/b", "x/*a*a*a*a*b/y"])
def test_a_pattern_that_might_never_end_is_refused(pattern: str, capsys: pytest.CaptureFixture[str]) -> None:
    Path("a" * 200 + ".tpg").write_text(PLAN, encoding="utf-8")
    Path(".gitignore").write_text(pattern + "\n", encoding="utf-8")
    assert "trying it might never end" in said(capsys, ".", status=UNREADABLE)
    Path(".gitignore").unlink()
    Path("groundlint.toml").write_text(f'exclude = ["{pattern}"]\n', encoding="utf-8")
    assert "trying it might never end" in said(capsys, ".", status=UNREADABLE)


@pytest.mark.parametrize("name", ["groundlint.toml", "pyproject.toml"])
def test_settings_nested_without_end(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    table = "[tool.groundlint]\n" * (name == "pyproject.toml")
    Path(name).write_text(f"{table}gate = {'[' * 9000}{']' * 9000}\n", encoding="utf-8")
    assert "nested too deeply" in said(capsys, "a.tpg", status=UNREADABLE)


# ------------------------------------------------------------- where it would write


@pytest.mark.parametrize(
    ("file", "words"),
    [
        ("a.tpg", "by its ending it is no report"),
        ("A.TPG", "by its ending it is no report"),
        ("procedure.md", "by its ending it is no report"),
        ("own.rule", "by its ending it is no report"),
        ("../out.json", "it is not below the settings' own folder"),
        ("/tmp/out.json", "it is not below the settings' own folder"),
        ("out/x.json", "it is not below the settings' own folder"),
        ("notes.json", "it is there and is no report of groundlint"),
        ("pipe.json", "it is there and is no report of groundlint"),
    ],
)
def test_settings_write_no_file_but_a_report(
    file: str, words: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("notes.json").write_text('{"mine": 1}', encoding="utf-8")
    os.mkfifo("pipe.json")
    (here / "elsewhere").mkdir()
    Path("out").symlink_to(here / "elsewhere")
    Path("groundlint.toml").write_text(f'format = ["text", "json={file}"]\n', encoding="utf-8")
    assert words in said(capsys, "a.tpg", status=UNREADABLE)
    assert Path("a.tpg").read_text("utf-8") == PLAN
    assert Path("notes.json").read_text("utf-8") == '{"mine": 1}'
    assert not any((here / "elsewhere").iterdir())


@pytest.mark.parametrize("form", ["text", "json", "sarif", "junit"])
def test_a_report_is_written_again_over_itself(form: str, capsys: pytest.CaptureFixture[str]) -> None:
    first = "json" if form == "text" else "text"
    Path("groundlint.toml").write_text(f'format = ["{first}", "{form}=review.out"]\n', encoding="utf-8")
    for _ in range(2):
        said(capsys, "a.tpg", status=0)
        assert Path("review.out").read_bytes()
    assert sorted(path.name for path in Path().iterdir()) == ["a.tpg", "groundlint.toml", "review.out"]


def test_a_disk_that_is_full_leaves_the_old_file(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    old = '{"schema": "urn:groundlint:review:1.0"}'
    Path("review.json").write_text(old, encoding="utf-8")

    def full(self: Path, data: bytes) -> int:
        with self.open("wb") as file:
            file.write(data[:10])
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(Path, "write_bytes", full)
        err = said(capsys, "--format", "json=review.json", "a.tpg", status=UNREADABLE)
    assert "review.json: it can't be written: the disk is full" in err
    assert Path("review.json").read_text("utf-8") == old
    assert not list(Path().glob(".review*"))


# ------------------------------------------------------------- what it would have printed


FORGED = "b\n9 plans: 9 clean\u202e\x1b[2K.tpg"


def test_a_name_forges_no_line(capsys: pytest.CaptureFixture[str]) -> None:
    Path(FORGED).write_text(PLAN, encoding="utf-8")
    out = said(capsys, ".", "--colour", "always", status=0)
    assert "b[U+000A]9 plans: 9 clean[U+202E][U+001B][2K.tpg: 0 rules broken" in out
    assert not re.search(r"^9 plans", out, re.MULTILINE)
    Path(".gitignore").write_text("b*\n", encoding="utf-8")
    out = said(capsys, ".", status=0)
    assert "left out: b[U+000A]9 plans" in out
    Path(".gitignore").unlink()
    Path(FORGED).unlink()
    Path(FORGED).symlink_to("nowhere")
    assert not re.search(r"^9 plans", said(capsys, ".", status=UNREADABLE), re.MULTILINE)


@pytest.mark.parametrize("colour", ["always", "never"])
def test_a_text_steers_no_terminal(colour: str, capsys: pytest.CaptureFixture[str]) -> None:
    steering = re.sub('^(plan *")', "\\1b\x1b[8mank\x9b2J\u202e\u2066\u200f", PLAN, flags=re.MULTILINE)
    assert steering != PLAN
    Path("a.tpg").write_text(steering, encoding="utf-8")
    out = said(capsys, "--all", "--why", "--colour", colour, "a.tpg", status=1)
    assert not re.search("[\x9b\u202e\u2066\u200f]|\x1b\\[8m", out)


# ------------------------------------------------------------- where it would print


def run(*arguments: str, **streams: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "groundlint", *arguments]
    return subprocess.run(command, stderr=subprocess.PIPE, text=True, check=False, **streams)  # type: ignore[call-overload,no-any-return]


@pytest.mark.parametrize(
    "arguments",
    [
        ("review", "a.tpg"),
        ("review", "--format", "json", "a.tpg"),
        ("rules",),
        ("--version",),
        ("--help",),
        ("duty", "--help"),
        (),
    ],
)
def test_an_output_that_is_full(arguments: tuple[str, ...]) -> None:
    with open("/dev/full", "w") as full:
        done = run(*arguments, stdout=full)
    assert (done.returncode, done.stderr) == (3, "groundlint: it can't be printed: the disk is full\n")


def test_an_output_that_is_closed() -> None:
    done = run("review", "a.tpg", preexec_fn=lambda: os.close(1))
    assert (done.returncode, done.stderr) == (
        3,
        "groundlint: standard output is closed, so nothing can be printed\n",
    )


def test_a_reader_that_has_gone() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    done = run("review", "a.tpg", stdout=writing)
    os.close(writing)
    assert (done.returncode, done.stderr) == (3, "")
