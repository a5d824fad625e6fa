"""The command as a user meets it: arguments, streams, exit statuses."""

from __future__ import annotations

import io
import re
import sys
from pathlib import Path

import pytest
from syrupy.assertion import SnapshotAssertion

from groundlint.cli import main

SHORT = """\
plan "Set one rod"
document PR-1 revision 1 dated 2026-03-02
rod R1 6 ft x 5/8 in
structure 211 wood pole
stage ground
  1. set R1 at 211, 6 ft from the pole, 6 ft deep
"""


@pytest.fixture(autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))
    monkeypatch.delenv("NO_COLOR", raising=False)


def plan(folder: Path, text: str = SHORT, name: str = "plan.tpg") -> str:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_a_review_prints_place_level_message_and_rule(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], snapshot: SnapshotAssertion
) -> None:
    plan(tmp_path)
    monkeypatch.chdir(tmp_path)
    assert main(["review", "plan.tpg"]) == 1
    out = capsys.readouterr().out
    assert "plan.tpg:6:6: danger" in out or "plan.tpg:6:6: warning" in out
    assert "[rod-distance]" in out
    assert re.sub(r"\d+ not applicable", "the rest not applicable", out) == snapshot  # books grow


def test_why_shows_what_a_finding_rests_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    plan(tmp_path)
    monkeypatch.chdir(tmp_path)
    main(["review", "plan.tpg"])
    short = capsys.readouterr().out
    main(["review", "--why", "plan.tpg"])
    long = capsys.readouterr().out
    assert "because: " in long
    assert len(long) > len(short)


def test_the_same_input_gives_the_same_bytes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = plan(tmp_path)
    main(["review", file])
    first = capsys.readouterr().out
    main(["review", file, "--no-cache"])
    assert capsys.readouterr().out == first


def test_standard_input_is_read(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(SHORT.encode())))
    assert main(["review", "-"]) == 1
    assert "<stdin>:6:6:" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["review", "nowhere.tpg"], "no such file or folder"),
        (["review", "."], "no plans in this folder"),
        (["review", "plan.tpg", "--book", "pratice"], "practice"),
        (["review", "plan.tpg", "--given", "fault"], "NAME=VALUE"),
        (["review", "plan.tpg", "--books-in", "nowhere"], "no such folder"),
        (["review"], "PLAN"),
        (["review", "plan.tpg", "--gate", "alarming"], "alarming"),
        (["rules", "ground-end-frist"], "ground-end-first"),
        (
            ["rules", "grade-fits-asymmetry", "--book", "practice"],
            "the book equipment-f855 has it: add --book equipment-f855",
        ),
        (["revue", "plan.tpg"], "groundlint: error: argument COMMAND: revue is not among new, draft, review, duty"),
        (["revew", "plan.tpg"], "; did you mean review?\n"),
        (["help", "revew"], "; did you mean review?\n"),
        (
            ["review", "plan.tpg", "--aks"],
            "groundlint review: error: --aks: there is no such option; did you mean --ask?",
        ),
        (
            ["compare", "--sicne=main", "plan.tpg"],
            "groundlint compare: error: --sicne: there is no such option; did you",
        ),
        (["brief", "plan.tpg", "--for", "crw", "-o", "-"], "crw is not among all, crew, engineer; did you mean crew?"),
        (["duty", "plan.tpg", "other.tpg"], "groundlint duty: error: other.tpg: this is one more than can be given"),
        (["--verson"], "groundlint: error: --verson: there is no such option; did you mean --version?"),
        (
            ["review", "plan.tpg", "--books-in", "own/mybook"],
            "a rulebook itself; name the folder that it stands in, own",
        ),
        (["tidy", "notes.txt"], ".tpg"),
        (["review", "plan.tpg", "--given", "fault=6 kA", "--given", "fault=9 kA"], "fault is given twice"),
        (["drill", "plan.tpg", "--faults", "two"], "argument --faults: two: write a number"),
        (["review", ""], "an empty name stands for no plan"),
        (["rules", "--check", "mybok", "--books-in", "own"], "there is no book `mybok`"),
        (["rules", "--language", "mybook"], "mybook: this is one more than can be given"),
        (["rules", "--check", "--coverage", "practice"], "not allowed with argument --check"),
    ],
)
def test_what_cannot_be_done_is_said_with_status_3(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], arguments: list[str], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    if "plan.tpg" in arguments:
        plan(tmp_path)
    plan(tmp_path, "book mybook\n", "own/mybook/book.book")
    assert main(arguments) == 3
    streams = capsys.readouterr()
    assert said in streams.err
    assert "Traceback" not in streams.err


def test_a_file_that_cannot_be_asked_about_is_named(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def denied(path: Path) -> bool:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(Path, "is_dir", denied)
    assert main(["review", "closed/plan.tpg"]) == 3
    assert capsys.readouterr().err == "groundlint: closed/plan.tpg: this user has no right to it\n"


def test_one_file_that_cannot_be_read_does_not_hide_the_others(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    good = plan(tmp_path)
    bad = tmp_path / "bad.tpg"
    bad.write_bytes(b"plan \xff\xfe\x00\n")
    assert main(["review", str(bad), good]) == 1
    out = capsys.readouterr().out
    assert "[rod-distance]" in out
    assert "bad.tpg:1:" in out


def test_a_folder_is_searched_but_not_its_parts(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plan(tmp_path, name="a/one.tpg")
    plan(tmp_path, name="a/parts/register.tpg", text="rod R1 6 ft x 5/8 in\n")
    plan(tmp_path, name="a/notes.md", text="# No plan\n")
    plan(tmp_path, name="a/two.md", text=f"# A plan\n\n```tpg\n{SHORT}```\n")
    main(["review", str(tmp_path)])
    out = capsys.readouterr().out
    assert "2 plans:" in out
    assert "two.md:9:6:" in out


def test_a_used_file_outside_the_folder_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plan(tmp_path, name="secret.tpg", text="rod R1 6 ft x 5/8 in\n")
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "link.tpg").symlink_to(tmp_path / "secret.tpg")
    for path in ("../secret.tpg", "link.tpg", str(tmp_path / "secret.tpg"), "missing.tpg"):
        file = plan(tmp_path, name="in/plan.tpg", text=f'use "{path}"\n')
        assert main(["review", file]) == 1
        out = capsys.readouterr().out
        assert "outside" in out or "can't be read" in out


def test_open_values_are_given_on_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = "given away as length\n" + SHORT.replace("6 ft from", "given away from")
    file = plan(tmp_path, text=text)
    main(["review", file])
    assert "warning: the distance of rod R1 [rod-distance]" in capsys.readouterr().out
    main(["review", file, "--given", "away=16 ft"])
    assert "[rod-distance]" not in capsys.readouterr().out
    assert main(["review", file, "--given", "away=16 kA"]) == 1
    assert "wrong-dimension" in capsys.readouterr().out
    assert main(["review", file, "--given", "elsewhere=16 ft"]) == 1
    assert "undeclared-given" in capsys.readouterr().out


def test_colour_only_where_asked_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = plan(tmp_path)
    main(["review", file])
    assert "\x1b[" not in capsys.readouterr().out
    main(["review", file, "--colour", "always"])
    assert "\x1b[" in capsys.readouterr().out


def test_rules_are_listed_and_explained(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules"]) == 0
    listed = capsys.readouterr().out
    assert "ground-end-first" in listed
    assert main(["rules", "ground-end-first"]) == 0
    page = capsys.readouterr().out
    assert "29 CFR 1910.269(n)(6)" in page
    assert main(["rules", "--language"]) == 0
    assert "since" in capsys.readouterr().out


def test_a_plan_is_laid_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = plan(tmp_path)
    main(["tidy", file])
    tidy = capsys.readouterr().out
    assert main(["tidy", "--write", file]) == 0
    assert Path(file).read_text(encoding="utf-8") == tidy
    assert main(["tidy", "--check", file]) == 0
    Path(file).write_text(tidy.replace("set", "SET  "), encoding="utf-8")
    assert main(["tidy", "--check", file]) == 1


@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_a_file_that_is_laid_out_keeps_its_mark_and_line_ends(
    mark: str, end: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    laid_out = SHORT.replace("\n", end)
    file = tmp_path / "plan.tpg"
    file.write_bytes(f"{mark}{laid_out}".encode())
    main(["tidy", "--write", str(file)])
    tidy = file.read_bytes().decode()
    assert tidy.startswith(f'{mark}plan      "Set one rod"{end}')
    assert tidy.count("\n") == tidy.count(end)
    assert main(["tidy", "--check", str(file)]) == 0


def test_what_cannot_be_laid_out_hides_no_other_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("here").mkdir()
    Path("elsewhere.tpg").write_text(SHORT.replace("set", "SET  "), encoding="utf-8")
    before = Path("elsewhere.tpg").read_bytes()
    Path("here/link.tpg").symlink_to("../elsewhere.tpg")
    good = plan(tmp_path, SHORT.replace("set", "SET  "))
    assert main(["tidy", "--write", "nowhere.tpg", "here", "here/link.tpg", good]) == 3
    assert capsys.readouterr().err.splitlines() == [
        "groundlint: nowhere.tpg: no such file or folder",
        "groundlint: here: this is a folder; name the files in it",
        "groundlint: here/link.tpg: it is a link that leads elsewhere; name the file itself",
    ]
    assert Path("elsewhere.tpg").read_bytes() == before
    assert "SET" not in Path(good).read_text("utf-8")


def test_a_book_is_checked_by_its_name(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plan(tmp_path, 'book mine\n  title "Mine"\n  edition "2026"\n', "mine/book.book")
    assert main(["rules", "--check", "mine", "--books-in", str(tmp_path)]) == 3
    assert "mine" in capsys.readouterr().err
    assert main(["rules", "--book", "mne", "--books-in", str(tmp_path)]) == 3
    assert capsys.readouterr().err.startswith("danger: there is no book `mne`; did you mean `mine`?")
    assert main(["rules", "--check", "handbook-doe-hdbk-1092"]) == 0
    assert "in 1 book, all as they say" in capsys.readouterr().out


def test_help_says_the_statuses_and_the_caution(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["review", "--help"]) == 0
    out = capsys.readouterr().out
    assert "exit status" in out
    assert "not what is in the field" in out


def test_rules_coverage_prints_the_clause_table_of_a_book(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", "--coverage", "practice"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("# practice\n")
    assert "Not decidable from a written plan" in out


def test_rules_coverage_of_no_such_book_fails(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", "--coverage", "practise"]) == 3
    assert "did you mean `practice`?" in capsys.readouterr().err


def test_the_plan_language_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "--language"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("# The plan language\n")
    assert "\n### attach\n" in out


def test_rules_scaffold_prints_a_rule_to_start_from(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", "--scaffold", "my-rule"]) == 0
    out = capsys.readouterr().out
    assert "rule my-rule\n" in out
    for sort in ("passes", "nearmiss", "fails", "unshown", "exempts"):
        assert f"\n  {sort}" in out


def test_a_book_begun_with_what_the_scaffold_prints_checks(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], snapshot: SnapshotAssertion
) -> None:
    main(["rules", "--scaffold", "my-rule"])
    rule = capsys.readouterr().out
    file = Path(plan(tmp_path, rule, "mybook/my-rule.rule"))
    check = ["rules", "--check", "mybook", "--books-in", str(tmp_path)]
    assert main(check) == 3
    assert "the folder `mybook` holds no file `book.book`" in capsys.readouterr().err
    plan(
        tmp_path, "".join(f"{line[4:]}\n" for line in rule.splitlines() if line.startswith("#   ")), "mybook/book.book"
    )
    assert main(check) == 0
    file.write_text(rule.replace("  stable   no", "  #"), encoding="utf-8")
    assert main(check) == 0
    file.write_text(rule.replace("15 ft from the pole", "13 ft from the pole"), encoding="utf-8")
    assert main(check) == 1
    assert capsys.readouterr().out == snapshot


def test_a_book_is_named_without_its_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", "--check", "own/mybook"]) == 3
    assert "write --book mybook --books-in own\n" in capsys.readouterr().err


def test_rules_scaffold_with_a_bad_name_says_what_a_name_is(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", "--scaffold", "My Rule"]) == 3
    assert "names are lower-case words joined by hyphens" in capsys.readouterr().err


def test_books_that_mean_two_rules_by_one_name_stop_the_review(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rule = (
        'rule rod-distance\n  level notice\n  title "t"\n  cites x\n  known common practice\n'
        '  because "b"\n  stable no\n'
        '  once\n  require plan is numbered\n  say "s"\n  passes\n    | note "x"\n  unshown\n    | note "x"\n'
    )
    home = tmp_path / "own"
    (home / "bases").mkdir(parents=True)
    (home / "bases" / "base.tpg").write_text("")
    (home / "book.book").write_text('book own\n  title "t"\n  scope "s"\n  edition "e"\n')
    (home / "own.rule").write_text(rule)
    plan(tmp_path)
    books = ["--book", "practice", "--book", "own", "--books-in", str(tmp_path)]
    assert main(["review", *books, str(tmp_path / "plan.tpg")]) == 3
    assert "rule `rod-distance` stands in `practice` and in `own`, line 1" in capsys.readouterr().err


def test_help_is_a_command_too(capsys: pytest.CaptureFixture[str]) -> None:
    for short, long in ((["help"], ["--help"]), (["help", "review"], ["review", "--help"])):
        assert main(short) == 0
        said = capsys.readouterr().out
        assert main(long) == 0
        assert capsys.readouterr().out == said
    assert "-h" in said
