"""Folders, globs, ignore files and processes: which plans are reviewed, with the same outcome however many do it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from sound_plans import sound_plan

from groundlint.cli import main
from groundlint.commands.progress import Progress

ROOT = Path(__file__).parents[2]
PLAN = """\
plan "Set one rod"
document PR-1 revision 1 dated 2026-03-02
rod R1 6 ft x 5/8 in
structure 211 wood pole
stage ground
  1. set R1 at 211, 6 ft from the pole, 6 ft deep
"""


@pytest.fixture(autouse=True)
def here(tmp_path: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def plans(*names: str, text: str = PLAN) -> None:
    for name in names:
        Path(name).parent.mkdir(parents=True, exist_ok=True)
        Path(name).write_text(text, encoding="utf-8")


def reviewed(capsys: pytest.CaptureFixture[str], *arguments: str) -> list[str]:
    """The plans reviewed, in the order of the report."""
    capsys.readouterr()
    assert main(["review", *arguments]) == 1
    return [line.partition(": ")[0] for line in capsys.readouterr().out.splitlines() if "(books: " in line]


# ------------------------------------------------------------- which plans


def test_folders_are_searched_in_order_of_path(capsys: pytest.CaptureFixture[str]) -> None:
    plans("p/b.tpg", "p/a/z.tpg", "p/a.tpg", "p/.hidden/x.tpg", "p/bases/x.tpg", "p/parts/x.tpg", "p/x.txt")
    plans("p/a/m.md", text=f"```tpg\n{PLAN}```\n")
    plans("p/a/n.md", text="# No plan\n")
    assert reviewed(capsys, "p") == ["p/a/m.md", "p/a/z.tpg", "p/a.tpg", "p/b.tpg"]
    assert reviewed(capsys, "p/b.tpg", "p", "./p/b.tpg") == ["p/b.tpg", "p/a/m.md", "p/a/z.tpg", "p/a.tpg"]


@pytest.mark.parametrize(
    ("pattern", "found"),
    [
        ("p/*.tpg", ["p/a.tpg", "p/b.tpg"]),
        ("p/**/*.tpg", ["p/a/z.tpg", "p/a.tpg", "p/b.tpg"]),
        ("p/[ab].tpg", ["p/a.tpg", "p/b.tpg"]),
        ("p/?", ["p/a/z.tpg"]),
        ("*/**", ["p/a/z.tpg", "p/a.tpg", "p/b.tpg"]),
    ],
)
def test_globs_that_no_shell_has_read(capsys: pytest.CaptureFixture[str], pattern: str, found: list[str]) -> None:
    plans("p/b.tpg", "p/a/z.tpg", "p/a.tpg", "p/bases/x.tpg", "p/notes.txt")
    assert reviewed(capsys, pattern) == found


def test_a_file_with_the_signs_of_a_glob_is_a_file(capsys: pytest.CaptureFixture[str]) -> None:
    plans("p/a[1].tpg", "p/a1.tpg")
    assert reviewed(capsys, "p/a[1].tpg") == ["p/a[1].tpg"]


def test_a_glob_without_a_plan_is_a_mistake(capsys: pytest.CaptureFixture[str]) -> None:
    plans("p/a.tpg")
    assert main(["review", "p/*.tgp"]) == 3
    assert "p/*.tgp: no plan has such a name" in capsys.readouterr().err


def test_ignore_files_and_exclude_leave_out_and_say_so(capsys: pytest.CaptureFixture[str]) -> None:
    Path(".git").mkdir()
    plans("p/keep.tpg", "p/drop.tpg", "p/old/a.tpg", "p/old/keep.tpg", "p/deep/x.tpg", "p/deep/y.tpg", "build/z.tpg")
    Path(".gitignore").write_text("build/\n# a comment\n*drop*\n")
    Path("p/deep/.groundlintignore").write_text("*\n!y.tpg\n")
    Path("groundlint.toml").write_text('exclude = ["p/old/*", "!p/old/keep.tpg"]\n')
    assert reviewed(capsys, ".") == ["p/deep/y.tpg", "p/keep.tpg", "p/old/keep.tpg"]
    assert reviewed(capsys, "p/**/*.tpg") == ["p/deep/y.tpg", "p/keep.tpg", "p/old/keep.tpg"]
    main(["review", "."])
    assert "left out: build/, p/drop.tpg, " in capsys.readouterr().out
    assert reviewed(capsys, "p/drop.tpg", "p/old/a.tpg") == ["p/drop.tpg", "p/old/a.tpg"]  # named by themselves
    os.chdir("p")
    assert reviewed(capsys, ".") == ["deep/y.tpg", "keep.tpg", "old/keep.tpg"]


def test_an_ignore_file_above_the_repository_is_none_of_it(capsys: pytest.CaptureFixture[str]) -> None:
    Path(".gitignore").write_text("*\n")
    Path("repo/.git").mkdir(parents=True)
    plans("repo/a.tpg")
    assert reviewed(capsys, "repo") == ["repo/a.tpg"]


def test_a_folder_all_left_out_is_a_mistake(capsys: pytest.CaptureFixture[str]) -> None:
    plans("p/a.tpg")
    Path("p/.groundlintignore").write_text("*.tpg\n")
    assert main(["review", "p"]) == 3
    assert "p: no plans in this folder but what is left out (p/a.tpg)" in capsys.readouterr().err


def test_git_leaves_out_the_same(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What is left out of a repository is what git leaves out of it."""
    names = [f"{a}/{b}.tpg" for a in ("a", "a/b", "b", "b/a", "a/b/a") for b in ("a", "b", "c")]
    plans(*names)
    Path(".gitignore").write_text("b/*\n!b/a.tpg\n/a/c.tpg\n")
    Path("a/.gitignore").write_text("b/a/\n!c.tpg\n")
    git = ("git", "-c", "init.defaultBranch=main")
    subprocess.run((*git, "init", "-q"), check=True, cwd=here)
    listed = subprocess.run(
        (*git, "ls-files", "-co", "--exclude-standard", "*.tpg"), check=True, cwd=here, capture_output=True, text=True
    )
    expected = sorted(map(Path, listed.stdout.split()))
    assert 2 < len(expected) < len(names)
    assert [Path(name) for name in reviewed(capsys, ".")] == expected


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="needs a user that can be refused")
def test_a_folder_that_cannot_be_opened_is_reported(capsys: pytest.CaptureFixture[str]) -> None:
    plans("p/a.tpg", "p/shut/b.tpg")
    os.chmod("p/shut", 0)
    try:
        assert main(["review", "p"]) == 3
    finally:
        os.chmod("p/shut", 0o700)
    streams = capsys.readouterr()
    assert "p/shut: this user has no right to it" in streams.err
    assert "p/a.tpg:6:6" in streams.out


# ------------------------------------------------------------- many at once


def test_what_cannot_be_read_hides_no_other(capsys: pytest.CaptureFixture[str]) -> None:
    plans(*(f"p/{number:02}.tpg" for number in range(6)))
    os.symlink("nowhere", "p/03.md")
    Path("p/02.tpg").write_bytes(b"\x00\xff" * 100)
    Path("p/04.tpg").write_bytes(b"# " + b"x" * 2_000_001)
    for jobs in ("1", "2"):
        capsys.readouterr()
        assert main(["review", "--jobs", jobs, "gone.tpg", "p"]) == 3
        assert "no such file" in capsys.readouterr().err
        os.symlink("nowhere", "p/gone.tpg")
        assert main(["review", "--jobs", jobs, "p/gone.tpg", "p"]) == 3
        os.unlink("p/gone.tpg")
        streams = capsys.readouterr()
        assert "groundlint: p/gone.tpg: no such file or folder" in streams.err
        assert streams.out.count("(books: ") == 6
        assert "8 plans: 0 clean, 6 broken, 0 not shown, 2 not reviewed" in streams.out


def test_a_fault_of_the_program_hides_no_other_plan(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from groundlint import review

    sound = review.replay

    def faulty(plan: object) -> object:
        if "b.tpg" in plan.source.name:  # type: ignore[attr-defined]
            raise RuntimeError("a fault planted by this test")
        return sound(plan)  # type: ignore[arg-type]

    monkeypatch.setattr(review, "replay", faulty)
    plans("a.tpg", "b.tpg", "c.tpg")
    for jobs in ("1", "2"):
        assert main(["review", "--no-cache", "--jobs", jobs, "."]) == 3  # another test may have had the same b.tpg
        streams = capsys.readouterr()
        assert "groundlint: b.tpg: groundlint failed on it (RuntimeError at test_many_plans.py:" in streams.err
        assert "a fault planted" in streams.err
        assert "Traceback" not in streams.err
        assert "a.tpg:6:6:" in streams.out
        assert "c.tpg:6:6:" in streams.out


def test_the_same_comes_out_of_one_process_and_of_two(capsys: pytest.CaptureFixture[str]) -> None:
    for seed in range(3):
        text = sound_plan(seed)
        if seed % 3 == 0:
            text = "\n".join(line for at, line in enumerate(text.splitlines()) if at % 11 != seed % 11) + "\n"
        plans(f"p/{seed:03}.tpg", text=text)
    forms = ["--format=sarif=s{}", "--format=json=j{}", "--format=junit=u{}", "--format=text"]
    outs, statuses = [], []
    for jobs in ("1", "2"):
        capsys.readouterr()
        statuses.append(main(["review", "--jobs", jobs, "p", *(form.format(jobs) for form in forms)]))
        outs.append(capsys.readouterr().out)
    assert statuses[0] == statuses[1] == 1
    assert outs[0] == outs[1]
    assert "3 plans: " in outs[0]
    for report in "sju":
        assert Path(f"{report}1").read_bytes() == Path(f"{report}2").read_bytes()


def test_a_process_that_dies_is_reported(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    from groundlint import review

    monkeypatch.setattr(review, "replay", lambda plan: os._exit(9))
    plans("a.tpg", "b.tpg", "c.tpg")
    assert main(["review", "--no-cache", "--jobs", "2", "."]) == 3
    assert "a process that was reviewing plans has ended" in capsys.readouterr().err


def test_jobs_are_a_number(capsys: pytest.CaptureFixture[str]) -> None:
    plans("a.tpg")
    for wrong in ("0", "-1", "two", "1e3", "9999"):
        assert main(["review", f"--jobs={wrong}", "a.tpg"]) == 3
        assert "write a number from 1 to 256" in capsys.readouterr().err


# ------------------------------------------------------------- progress


def test_progress_is_for_a_terminal_alone(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    plans("a.tpg", "b.tpg")
    main(["review", "."])
    assert capsys.readouterr().err == ""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    monkeypatch.setenv("TERM", "xterm")
    with Progress(4) as progress:
        progress.step()
        progress.step()
        progress.clear()
    shown = capsys.readouterr().err
    assert "\r[######..................] 1 of 4 plans" in shown
    assert shown.endswith("2 of 4 plans\r\x1b[K\r\x1b[K")
    monkeypatch.setenv("TERM", "dumb")
    with Progress(4) as progress:
        progress.step()
    assert capsys.readouterr().err == ""
