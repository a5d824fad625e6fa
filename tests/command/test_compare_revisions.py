"""`groundlint compare`: two files, two folders, a git revision; and a gate for a utility with many old plans."""

from __future__ import annotations

import os
import re
import subprocess
from pathlib import Path

import pytest
from syrupy.assertion import SnapshotAssertion

from groundlint.cli import main

EXAMPLES = Path(__file__).parents[2] / "examples"
PLANS = ("bucket-cutouts", "delta-jumper", "dual-point-crossarm", "single-point-insulator", "small-neutral")
GIT = ("git", "-c", "user.name=A crew", "-c", "user.email=crew@example.invalid", "-c", "init.defaultBranch=main")


@pytest.fixture(autouse=True)
def here(tmp_path: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))
    for name in list(os.environ):
        if name.startswith("GIT_"):
            monkeypatch.delenv(name)
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
    monkeypatch.setenv("GIT_CONFIG_SYSTEM", os.devnull)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def git(*arguments: str) -> str:
    run = subprocess.run((*GIT, *arguments), check=True, capture_output=True, text=True)
    return run.stdout


def example(name: str) -> str:
    return (EXAMPLES / f"{name}.tpg").read_text("utf-8")


def written(path: str, text: str) -> Path:
    file = Path(path)
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, encoding="utf-8", newline="")
    return file


def edited(path: str, pattern: str, by: str) -> None:
    file = Path(path)
    text, count = re.subn(pattern, by, file.read_text("utf-8"), count=1, flags=re.MULTILINE)
    assert count == 1
    file.write_text(text, encoding="utf-8")


def said(capsys: pytest.CaptureFixture[str], *arguments: str, status: int) -> str:
    capsys.readouterr()
    found = main(["compare", *arguments])
    streams = capsys.readouterr()
    assert found == status, streams.out + streams.err
    return streams.out if status != 3 else streams.err


# ------------------------------------------------------------- files and folders


def test_a_comparison_reads_so(capsys: pytest.CaptureFixture[str], snapshot: SnapshotAssertion) -> None:
    old = example("single-point-insulator")
    new = old.replace("revision 1", "revision 2").replace("20 ft from", "12 ft from").replace("W1", "Wa")
    new = new.replace("Wa..W5", "Wa W2 W3 W4 W5")
    new = re.sub(r"^ 15\. prove.*\n", "", new, flags=re.MULTILINE).replace("4/0 acsr", "336.4 kcmil acsr")
    written("old.tpg", old)
    written("new.tpg", new)
    out = said(capsys, "old.tpg", "new.tpg", status=1)
    assert out == snapshot
    assert said(capsys, "old.tpg", "new.tpg", status=1) == out
    assert said(capsys, "new.tpg", "old.tpg", status=0) == snapshot(name="the other way round")
    assert said(capsys, "--only-worse", "old.tpg", "new.tpg", status=1) == snapshot(name="only what got worse")


def test_the_status_is_that_of_the_new_plan_unless_only_worse(capsys: pytest.CaptureFixture[str]) -> None:
    bad = example("single-point-insulator").replace("20 ft from", "9 ft from")
    written("old.tpg", bad)
    written("new.tpg", bad + "# read over\n")
    said(capsys, "old.tpg", "new.tpg", status=1)
    assert said(capsys, "--only-worse", "old.tpg", "new.tpg", status=0) == "1 plan: 1 the same\n"
    assert said(capsys, "--gate", "danger", "old.tpg", "new.tpg", status=0)
    silent = example("single-point-insulator").replace(", 20 ft from the pole,", ",")
    written("old.tpg", example("single-point-insulator"))
    written("new.tpg", silent)
    said(capsys, "--only-worse", "old.tpg", "new.tpg", status=2)


def test_folders_are_compared_plan_by_plan(capsys: pytest.CaptureFixture[str]) -> None:
    for folder in ("old", "new"):
        for name in PLANS:
            written(f"{folder}/{name[0]}/{name}.tpg", example(name))
    os.rename("new/b", "new/moved")
    os.remove("new/s/small-neutral.tpg")
    written("new/added.tpg", example("steel-shield-wire"))
    edited("new/d/delta-jumper.tpg", r"^ +[0-9]+\. brief.*\n", "")
    out = said(capsys, "old", "new", status=1)
    assert "new/d/delta-jumper.tpg: worse" in out
    assert "new/added.tpg: new, clean" in out
    assert "old/s/small-neutral.tpg: gone" in out
    assert out.endswith("6 plans: 1 worse, 3 the same, 1 new, 1 gone\n")
    assert said(capsys, "old", "new", "--jobs", "2", status=1) == out
    short = said(capsys, "--only-worse", "old", "new", status=1)
    assert "gone\n" not in short.replace("1 gone\n", "")
    assert "new/d/delta-jumper.tpg: worse" in short


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "the old plan and the new one"),
        (["a.tpg"], "the old plan and the new one"),
        (["a.tpg", "b.tpg", "c"], "the old plan and the new one"),
        (["a.tpg", "gone.tpg"], "gone.tpg: no such file"),
        (["a.tpg", "folder"], "give two plans, or two folders"),
        (["--since", "HEAD"], "git"),
        (["a.tpg", "bad.tpg", "--gate", "sometimes"], "sometimes is not among danger"),
        (["a.tpg", "a.tpg", "--book", "no-such"], "a rulebook can't be used"),
    ],
)
def test_what_cannot_be_compared(arguments: list[str], words: str, capsys: pytest.CaptureFixture[str]) -> None:
    written("a.tpg", example("single-point-insulator"))
    written("folder/a.tpg", example("single-point-insulator"))
    assert words in said(capsys, *arguments, status=3)


def test_bytes_that_are_no_plan_are_worse_and_hide_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    for name in PLANS[:3]:
        written(f"old/{name}.tpg", example(name))
        written(f"new/{name}.tpg", example(name).replace("20 ft from", "9 ft from"))
    Path(f"new/{PLANS[0]}.tpg").write_bytes(b"\xff\x00\xfe" * 50)
    out = said(capsys, "--only-worse", "old", "new", status=1)
    assert f"new/{PLANS[0]}.tpg: worse" in out
    assert f"new/{PLANS[2]}.tpg: worse" in out


# ------------------------------------------------------------- a repository of old plans


@pytest.fixture
def repository(here: Path) -> Path:
    """Plans of many years, each with findings; the tools of the gate came after them."""
    git("init", "-q")
    for name in PLANS:
        text = example(name)
        text = re.sub(r"[0-9]+ ft from the pole", "9 ft from the pole", text)
        text = re.sub(r"^ +[0-9]+\. brief.*\n", "", text, flags=re.MULTILINE)
        written(f"plans/{name}.tpg", text)
    used = 'use "parts/kit.tpg"\n' + re.sub(r"^(stick|tester) .*\n", "", example("single-point-insulator"), flags=re.M)
    written("plans/with-parts.tpg", used.replace("20 ft from", "9 ft from"))
    written("plans/parts/kit.tpg", "tester    T2\nstick     H3          8 ft\n")
    written("plans/notes.md", "# Notes\n")
    git("add", "-A")
    git("commit", "-qm", "As they were")
    return here


def test_old_plans_with_known_findings_pass_unchanged(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["review", "plans"]) == 1
    assert capsys.readouterr().out.count("[rod-distance]") >= 3
    assert said(capsys, "--since", "HEAD", "--only-worse", status=0) == "6 plans: 6 the same\n"
    assert said(capsys, "--since", "HEAD", "--only-worse", "--jobs", "2", "plans", status=0) == "6 plans: 6 the same\n"


def test_the_gate_names_plan_line_and_rule_of_what_got_worse(
    repository: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = "plans/dual-point-crossarm.tpg"
    edited(path, r"^  test      S A B C with D1 on H2\n", "")
    out = said(capsys, "--since", "HEAD", "--only-worse", status=1)
    assert out.startswith(f"{path}: worse\n")
    lines = Path(path).read_text("utf-8").splitlines()
    found = re.findall(rf"^{re.escape(path)}:(\d+):\d+: danger: (.*) \[(.*)\] \(new\)$", out, re.MULTILINE)
    assert "test-before-ground" in {rule for _, _, rule in found}
    line = next(int(line) for line, _, rule in found if rule == "test-before-ground")
    assert "attach" in lines[line - 1]
    assert "lost: line " in out
    assert "plans/delta" not in out
    assert "[rod-distance]" not in out  # known, and carried
    assert out.endswith("6 plans: 1 worse, 5 the same\n")
    git("commit", "-qam", "worse")
    assert said(capsys, "--since", "HEAD", "--only-worse", status=0)
    assert said(capsys, "--since", "HEAD~1", "--only-worse", status=1) == out.replace("@HEAD", "@HEAD~1")


def test_edits_that_do_no_harm_pass(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edited("plans/dual-point-crossarm.tpg", r"^rod ", "# seen\nrod ")
    edited("plans/delta-jumper.tpg", r"9 ft from the pole", "108 in from the pole")
    main(["tidy", "--write", "plans/small-neutral.tpg"])
    capsys.readouterr()
    git("mv", "plans/single-point-insulator.tpg", "plans/renamed.tpg")
    assert said(capsys, "--since", "HEAD", "--only-worse", status=0) == "6 plans: 6 the same\n"


def test_a_new_plan_is_held_against_the_rules_whole(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    written("plans/sound.tpg", example("steel-shield-wire"))
    assert "1 new" in said(capsys, "--since", "HEAD", "--only-worse", status=0)
    written("plans/bad.tpg", example("earthing-words").replace("QR-", "XX-").replace('plan      "', 'plan      "Not '))
    edited("plans/bad.tpg", r"^ +[0-9]+\. brief.*\n", "")
    out = said(capsys, "--since", "HEAD", "--only-worse", status=1)
    assert re.search(r"^plans/bad.tpg:\d+:\d+: warning: .* \[briefing-before-work\] \(new\)$", out, re.MULTILINE)


def test_a_plan_taken_away_is_worse_unless_it_is_meant(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    os.remove("plans/delta-jumper.tpg")
    for named in ((), ("plans",), ("plans/delta-jumper.tpg",)):
        out = said(capsys, "--since", "HEAD", "--only-worse", *named, status=1)
        assert "HEAD:plans/delta-jumper.tpg: gone; worse" in out
        assert "1 gone" in said(capsys, "--since", "HEAD", "--only-worse", "--gone-ok", *named, status=0)
    assert "plans/delta-jumper.tpg: gone\n" in said(capsys, "--since", "HEAD", status=1)
    assert "no plans of this name" in said(capsys, "--since", "HEAD", "plans/never.tpg", status=3)


@pytest.mark.parametrize("all_of_them", [False, True])
@pytest.mark.parametrize("way", ["deleted", ".groundlintignore", ".gitignore", "exclude", "parts", "hidden", "renamed"])
def test_a_plan_out_of_reach_is_worse(
    way: str, all_of_them: bool, repository: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pattern = "*" if all_of_them else "delta-jumper.tpg"
    match way:
        case "exclude":
            written("groundlint.toml", f'exclude = ["plans/{pattern}"]\n')
        case ".groundlintignore" | ".gitignore":
            written(f"plans/{way}", f"{pattern}\n")
        case _:
            folder = {"parts": "plans/parts/old", "hidden": "plans/.old"}.get(way, "plans")
            Path(folder).mkdir(exist_ok=True)
            for path in sorted(Path("plans").glob(pattern if pattern != "*" else "*.tpg")):
                path.rename(f"{folder}/{path.name}.bak" if way in ("deleted", "renamed") else f"{folder}/{path.name}")
    out = said(capsys, "--since", "HEAD", "--only-worse", status=1)
    why = "left out now" if "ignore" in way or way == "exclude" else "gone"
    assert f"HEAD:plans/delta-jumper.tpg: {why}; worse" in out
    said(capsys, "--since", "HEAD", "--only-worse", "--gone-ok", status=0)


def test_the_old_plan_is_read_with_the_parts_it_had(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edited("plans/parts/kit.tpg", "8 ft", "6 ft")
    out = said(capsys, "--since", "HEAD", "--only-worse", status=1)
    assert "plans/with-parts.tpg: worse" in out
    assert "narrower: H3: length, 2.44 m (8 ft) -> 1.83 m (6 ft)" in out
    edited("plans/with-parts.tpg", "parts/kit.tpg", "../outside.tpg")
    assert "not read" in said(capsys, "--since", "HEAD", "--only-worse", status=1)


def test_it_works_from_a_folder_of_the_repository(
    repository: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(repository / "plans")
    edited("delta-jumper.tpg", r"9 ft from the pole", "8 ft from the pole")
    out = said(capsys, "--since", "HEAD", "--only-worse", status=1)
    assert out.startswith("delta-jumper.tpg: worse")
    assert out.endswith("6 plans: 1 worse, 5 the same\n")


@pytest.mark.parametrize(
    ("revision", "words"),
    [("nowhere", "no such revision"), ("--output=x", "no such revision"), ("HEAD:plans", "no such revision")],
)
def test_revisions_that_are_none(
    repository: Path, revision: str, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert words in said(capsys, f"--since={revision}", status=3)
    assert not Path("x").exists()


def test_without_git_it_is_said(
    repository: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", "")
    assert "git can't be run" in said(capsys, "--since", "HEAD", status=3)


def test_outside_of_a_repository_two_plans_can_be_named(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "name the old plan and the new one" in said(capsys, "--since", "HEAD", ".", status=3)


def test_settings_hold_for_both_sides(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    written("plans/groundlint.toml", 'gate = "notice"\nbooks = ["practice"]\n')
    edited("plans/delta-jumper.tpg", r"^ +9\. ", "  ")
    out = said(capsys, "--since", "HEAD", "--only-worse", status=2)
    assert "steps-numbered-in-order" in out
    assert "settings: plans/groundlint.toml" in out
    assert "1 changed" in said(capsys, "--since", "HEAD", "--only-worse", "--gate", "warning", status=0)


# ------------------------------------------------------------- settings are part of it


def test_a_gate_made_easier_does_not_let_pass(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    written("groundlint.toml", 'gate = "notice"\n')
    git("add", "-A")
    git("commit", "-qm", "A strict gate")
    edited("plans/delta-jumper.tpg", r"^ +9\. ", "  ")  # steps out of number are a notice
    written("groundlint.toml", 'gate = "danger"\n')
    out = said(capsys, "--since", "HEAD", "--only-worse", status=2)
    assert "settings changed: the gate was notice and is danger; held against notice" in out
    assert "steps-numbered-in-order" in out
    git("commit", "-qam", "An easy gate, by another way")
    written("groundlint.toml", 'gate = "notice"\n')
    assert "the gate was danger and is notice; held against notice" in said(
        capsys, "--since", "HEAD", "--only-worse", status=0
    )


def test_books_made_easier_do_not_let_pass(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    written("groundlint.toml", 'books = ["practice", "us-29cfr1910-269"]\n')
    git("add", "-A")
    git("commit", "-qm", "Books")
    edited("plans/dual-point-crossarm.tpg", r"^  test      S A B C with D1 on H2\n", "")
    written("groundlint.toml", 'books = ["us-29cfr1910-269"]\n')
    out = said(capsys, "--since", "HEAD", "--only-worse", status=1)
    assert "the books were practice, us-29cfr1910-269 and are us-29cfr1910-269; held against both" in out


def test_a_rule_taken_out_of_ones_own_book_does_not_let_pass(
    repository: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = EXAMPLES / "quillback-rules"
    for path in own.rglob("*"):
        if path.is_file():
            target = Path("rules") / path.relative_to(own)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(path.read_bytes())
    written("groundlint.toml", 'books = ["quillback"]\nbooks-in = ["rules"]\n')
    git("add", "-A")
    git("commit", "-qm", "A book of one's own")
    assert said(capsys, "--since", "HEAD", "--only-worse", status=0) == (
        "6 plans: 6 the same\nsettings: groundlint.toml\n"
    )
    (file,) = Path("rules").rglob("book.book")
    text = file.read_text("utf-8")
    file.write_text(text.replace("20 ft", "5 ft"), encoding="utf-8")
    assert file.read_text("utf-8") != text
    edited("plans/delta-jumper.tpg", "9 ft from the pole", "8 ft from the pole")
    out = said(capsys, "--since", "HEAD", "--only-worse", status=1)
    assert "the books quillback read otherwise; held against both" in out


def test_each_side_has_the_values_of_its_own_settings(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edited("plans/delta-jumper.tpg", r"^line ", "given fault\nline ")
    written("groundlint.toml", 'given = { fault = "6.8 kA" }\n')
    git("add", "-A")
    git("commit", "-qm", "A value")
    written("groundlint.toml", 'given = { fault = "2 kA" }\n')
    out = said(capsys, "--since", "HEAD", status=1)
    assert "settings changed: given fault was 6.8 kA and is 2 kA; each side has its own" in out


# ------------------------------------------------------------- Markdown, first commits, clones


def in_markdown(name: str) -> str:
    return f"# A procedure\n\nDo it so.\n\n```tpg\n{example(name)}```\n"


def test_markdown_of_a_revision_is_read_as_markdown(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    git("init", "-q")
    written("procedures/A.MD", in_markdown("single-point-insulator"))
    written("procedures/b.md", in_markdown("delta-jumper"))
    git("add", "-A")
    git("commit", "-qm", "Procedures")
    edited("procedures/b.md", "Do it so", "Do it as follows")
    assert "2 the same" in said(capsys, "--since", "HEAD", status=0)
    assert "2 the same" in said(capsys, "--since", "HEAD", "--only-worse", status=0)
    edited("procedures/b.md", r"^ +[0-9]+\. brief.*\n", "")
    assert "procedures/b.md: worse" in said(capsys, "--since", "HEAD", "--only-worse", status=1)


def test_before_the_first_commit_every_plan_is_new(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    git("init", "-q")
    written("a.tpg", example("single-point-insulator"))
    assert said(capsys, "--since", "HEAD", "--only-worse", status=0).endswith("1 plan: 1 new\n")
    written("b.tpg", re.sub(r"^  1\..*\n", "", example("delta-jumper"), flags=re.MULTILINE))
    said(capsys, "--since", "HEAD", "--only-worse", status=1)


def test_a_shallow_clone_is_said_with_what_to_do(
    repository: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    written("plans/more.md", "# More\n")
    git("add", "-A")
    git("commit", "-qm", "More")
    first = git("rev-parse", "HEAD~1").strip()
    git("clone", "-q", "--depth", "1", f"file://{repository}", "shallow")
    monkeypatch.chdir("shallow")
    err = said(capsys, "--since", first, status=3)
    assert "shallow clone; fetch the rest with `git fetch --unshallow`" in err
    assert len(err.splitlines()) == 1


def test_a_link_of_a_revision_leads_nowhere(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Path("plans/link.tpg").symlink_to(repository / "plans/delta-jumper.tpg")
    git("add", "-A")
    git("commit", "-qm", "A link")
    assert "1 new" in said(capsys, "--since", "HEAD", status=1)
