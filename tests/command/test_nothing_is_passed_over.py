"""What a run over a folder does not read is named, and the counts at its end say what they seem to say."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from groundlint.cli import main

SOUND = (Path(__file__).parents[2] / "examples" / "delta-jumper.tpg").read_text("utf-8")
BOOKS = ("--book", "practice", "--book", "us-29cfr1910-269")
STATEMENTS = "rod R1 6 ft x 5/8 in\nbar K1\n"


@pytest.fixture(autouse=True)
def here(tmp_path: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))
    monkeypatch.chdir(tmp_path)
    put("a.tpg", SOUND)


def put(name: str, text: str) -> None:
    Path(name).parent.mkdir(parents=True, exist_ok=True)
    Path(name).write_text(text, encoding="utf-8")


def said(capsys: pytest.CaptureFixture[str], *arguments: str, status: int) -> str:
    capsys.readouterr()
    found = main(["review", *BOOKS, *arguments])
    streams = capsys.readouterr()
    assert found == status, streams.out + streams.err
    return streams.out + streams.err


@pytest.mark.parametrize("name", ["parts", "bases", ".drafts", "more/parts"])
def test_folders_that_are_not_searched_are_named_where_they_hold_plans(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path(name).mkdir(parents=True)
    assert "passed over" not in said(capsys, ".", status=0)
    put(f"{name}/deep/b.TPG", SOUND)
    assert f"passed over, read where a plan uses it: {name}/ (1 file)" in said(capsys, ".", status=0)


def test_a_hidden_plan_is_named_and_other_programs_folders_are_not(capsys: pytest.CaptureFixture[str]) -> None:
    put(".b.tpg", SOUND)
    put(".git/c.tpg", SOUND)
    put(".venv/d.tpg", SOUND)
    out = said(capsys, ".", status=0)
    assert "passed over, read where a plan uses it: .b.tpg\n" in out


@pytest.mark.parametrize("name", ["b.TPG", "b.Tpg", "b.MD", "b.Markdown"])
def test_an_ending_in_capitals_is_read(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    put(name, f"```tpg\n{STATEMENTS}```\n" if name.lower().endswith(("d", "n")) else STATEMENTS)
    assert "2 plans: 1 clean, 0 broken, 1 not shown" in said(capsys, ".", status=2)


@pytest.mark.parametrize("mark", ["```tpg", "``` tpg", "```TPG", "~~~\tTpg", "```tpg lines"])
def test_a_fence_with_a_space_or_in_capitals_is_read(mark: str, capsys: pytest.CaptureFixture[str]) -> None:
    put("b.md", f"# Job\n\n{mark}\n{STATEMENTS}{mark[:3]}\n")
    assert "2 plans: 1 clean, 0 broken, 1 not shown" in said(capsys, ".", status=2)


@pytest.mark.parametrize("mark", ["```", "~~~", "```tgp", "```{.tpg}", "```tpg,plan", "> ```"])
@pytest.mark.parametrize("beside", ["", f"```tpg\n{SOUND}```\n"])
def test_a_fence_that_is_not_marked_and_holds_statements_is_named(
    mark: str, beside: str, capsys: pytest.CaptureFixture[str]
) -> None:
    lead = "> " if mark[0] == ">" else ""
    put("b.md", f"{beside}\n{mark}\n{lead}  1. rod R1\n{lead}bar K1 # here\n{lead}{mark.strip('> ')[:3]}\n")
    out = said(capsys, ".", status=1)
    line = beside.count("\n") + 2
    assert f"b.md:{line}:" in out
    assert "this fence holds statements of a plan and is not marked `tpg`" in out


@pytest.mark.parametrize("fence", ["```text\nrod R1\nbar K1\n```", "```\nls -l\nbar K1\ncd x\n```", "```\nrod R1\n```"])
def test_other_fences_are_none_of_its_business(fence: str, capsys: pytest.CaptureFixture[str]) -> None:
    put("b.md", fence + "\n")
    out = said(capsys, ".", status=0)
    assert "b.md" not in out


@pytest.mark.parametrize(
    "line",
    [
        " 12. close DS5 by Veery",
        "- close DS5 by Veery",
        "* [ ] **close DS5**",
        "Close DS5.",
        "    close DS5 by Veery",
        "> `untag DS5`",
        "| 12 | close DS5 by Veery |",
        "<pre>\nclose DS5 by Veery\n</pre>",
        "```\nclose DS5 by Veery\n```",
    ],
)
def test_a_step_beside_the_fence_of_a_plan_is_named(line: str, capsys: pytest.CaptureFixture[str]) -> None:
    put("b.md", f"# Job\n\n```tpg\n{SOUND}```\n\n{line}\n")
    assert "is not read" in said(capsys, "b.md", status=1)


@pytest.mark.parametrize(
    "line",
    [
        "Nobody closes DS5.",
        "Leave the gate as it is.",
        "<!-- close DS5 -->",
        "```text\nclose DS5\n```",
        "brief: all, at seven",
    ],
)
def test_prose_beside_the_fence_of_a_plan_is_prose(line: str, capsys: pytest.CaptureFixture[str]) -> None:
    put("b.md", f"# Job\n\n```tpg\n{SOUND}```\n\n{line}\n")
    said(capsys, "b.md", status=0)


def test_a_book_without_rules_reviews_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    put("own/mine/book.book", 'book mine\n  title "Mine"\n  edition "1"\n  scope "all"\n')
    capsys.readouterr()
    assert main(["review", "--book", "mine", "--books-in", "own", "a.tpg"]) == 3
    assert "mine:1:1: danger: the book has no rule" in capsys.readouterr().err


# ------------------------------------------------------------- the counts


def waived(text: str) -> str:
    """The plan against a rule, which it waives."""
    rule = "emergency-and-cautions-stated"
    waiver = f'waive {rule} because "said at the tailboard" by "Wren" until 2027-01-01'
    return "\n".join(waiver if line.startswith("caution") else line for line in text.split("\n"))


def test_a_rule_that_is_waived_is_not_counted_as_broken(capsys: pytest.CaptureFixture[str]) -> None:
    put("a.tpg", waived(SOUND))
    out = said(capsys, "a.tpg", "--format", "text", "--format", "json=out.json", status=0)
    assert "Waived in the plan" in out
    assert "a.tpg: 0 rules broken, 0 not shown, 1 waived, " in out
    counts = json.loads(Path("out.json").read_text("utf-8"))["plans"][0]["counts"]
    assert (counts["broken"], counts["not_shown"], counts["waived"]) == (0, 0, 1)


def test_clean_is_said_of_plans_without_a_finding(capsys: pytest.CaptureFixture[str]) -> None:
    put("b.tpg", waived(SOUND))
    put("c.tpg", "\n".join(line for line in SOUND.split("\n") if not line.startswith("caution")))
    out = said(capsys, ".", status=0)
    assert "3 plans: 1 clean, 2 passed with findings that are waived or below the gate, 0 broken, 0 not shown" in out


@pytest.mark.parametrize("option", ["--ask", "--why", "--all"])
def test_an_option_that_would_do_nothing_is_refused(option: str, capsys: pytest.CaptureFixture[str]) -> None:
    out = said(capsys, option, "--format", "json", "a.tpg", status=3)
    assert f"{option} shapes the text for people, and no text is asked for" in out
    said(capsys, option, "--format", "text=a.txt", "--format", "json", "a.tpg", status=0)
