"""Word documents on the command line: reviewed, commented, compared, begun, and refused where they can't be."""

from __future__ import annotations

import builtins
import re
import subprocess
from pathlib import Path
from typing import Any

import pytest
from documents import data, document, package
from test_comments import words_under

from groundlint.cli import main
from groundlint.commands.walk import is_plan

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SOUND = (EXAMPLES / "dual-point-crossarm.tpg").read_text("utf-8")
CLEAN = " 14. clean   SC16 N A B C\n"
SPOILED = SOUND.replace(CLEAN, "")
BOOK = ("--book", "practice")


@pytest.fixture(autouse=True)
def _folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.chdir(tmp_path)


def write(name: str, text: str, form: str = "in_list") -> Path:
    path = Path(name)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(document(text, form))
    return path


@pytest.mark.one_in(2)
def test_a_review_names_steps_and_writes_comments(capsys: pytest.CaptureFixture[str]) -> None:
    write("proc.docx", SPOILED)
    assert main(["review", *BOOK, "proc.docx", "--comments", "out.docx"]) == 1
    said = capsys.readouterr()
    assert "proc.docx: step 16: warning: " in said.out
    assert "To change: step" in said.out
    assert "line" not in said.out.split("[clean-contact]")[1].split("rule:")[0]
    assert said.err.startswith("out.docx: ")
    under = words_under(Path("out.docx").read_bytes())
    assert any("[clean-contact]" in text for text in under)
    first = Path("out.docx").read_bytes()
    assert main(["review", *BOOK, "out.docx", "--comments", "out.docx"]) == 1
    assert Path("out.docx").read_bytes() == first


@pytest.mark.one_in(3)
def test_repairs_are_proposed(capsys: pytest.CaptureFixture[str]) -> None:
    write("proc.docx", SPOILED)
    assert main(["review", *BOOK, "proc.docx", "--comments", "out.docx", "--propose"]) == 1
    assert "with repairs as tracked changes" in capsys.readouterr().err
    assert main(["review", *BOOK, "out.docx"]) == 1
    assert "tracked insertion" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["plan.tpg", "--comments", "out.docx"], "--comments goes with one Word document"),
        (["a.docx", "b.docx", "--comments", "out.docx"], "--comments goes with one Word document"),
        (["a.docx", "--comments", "out.pdf"], "ends in .docx"),
        (["a.docx", "--propose"], "--propose goes with --comments"),
        (["a.doc"], "save it as a Word document (.docx)"),
        (["a.docm"], "save it as a Word document (.docx)"),
        (["no.docx"], "no Word document"),
    ],
)
def test_what_can_not_be_done_is_said_in_one_line(
    words: list[str], why: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("plan.tpg").write_text(SOUND, encoding="utf-8")
    for name in ("a.docx", "b.docx"):
        write(name, 'plan "x"')
    for name in ("a.doc", "a.docm", "no.docx"):
        Path(name).write_bytes(b"\x00" * 100)
    assert main(["review", *BOOK, *words]) == 3
    said = capsys.readouterr().err
    assert why in said
    assert said.count("\n") == 1
    assert not Path("out.docx").exists()


def test_without_python_docx_it_says_what_to_install(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    write("a.docx", SOUND)
    real = builtins.__import__

    def without(name: str, *more: Any, **named: Any) -> Any:
        if name.partition(".")[0] in ("docx", "lxml"):
            raise ImportError(name)
        return real(name, *more, **named)

    monkeypatch.setattr(builtins, "__import__", without)
    assert main(["review", *BOOK, "a.docx"]) == 3
    assert capsys.readouterr().err == "groundlint: a.docx: to read Word documents, install `groundlint[word]`\n"
    assert main(["new", "-o", "b.docx"]) == 3
    assert "install `groundlint[word]`" in capsys.readouterr().err


@pytest.mark.one_in(3)
def test_a_folder_is_searched_for_documents_that_hold_a_plan(capsys: pytest.CaptureFixture[str]) -> None:
    write("plans/one.docx", SOUND)
    write("plans/fenced.docx", SOUND, "in_fence")
    write("plans/boxed.docx", SOUND, "in_table")
    made = package()
    made.add_paragraph("Minutes of the meeting: nothing to be done.")
    Path("plans/minutes.docx").write_bytes(data(made))
    Path("plans/~$one.docx").write_bytes(b"\x00" * 162)
    Path("plans/broken.docx").write_bytes(b"PK")
    assert main(["review", *BOOK, "plans"]) == 3
    said = capsys.readouterr()
    assert "4 plans: 3 clean, 0 broken, 0 not shown, 1 not reviewed" in said.out
    assert "broken.docx" in said.err
    assert not is_plan(Path("plans/minutes.docx"))


@pytest.mark.one_in(3)
def test_documents_are_compared(capsys: pytest.CaptureFixture[str]) -> None:
    write("old.docx", SOUND)
    write("new.docx", SPOILED, "in_style")
    assert main(["compare", *BOOK, "old.docx", "new.docx", "--only-worse"]) == 1
    said = capsys.readouterr().out
    assert "new.docx: worse" in said
    assert "lost: step 14 of the old plan: " in said
    write("same.docx", SOUND, "in_table")
    assert main(["compare", *BOOK, "old.docx", "same.docx", "--only-worse"]) == 0


@pytest.mark.one_in(3)
def test_documents_are_compared_with_a_revision(capsys: pytest.CaptureFixture[str]) -> None:
    def git(*words: str) -> None:
        subprocess.run(["git", "-c", "user.name=a", "-c", "user.email=a@b.c", *words], check=True, capture_output=True)

    git("init", "-q")
    write("plans/job.docx", SOUND)
    git("add", ".")
    git("commit", "-qm", "plans")
    assert main(["compare", *BOOK, "--since", "HEAD", "--only-worse", "plans"]) == 0
    write("plans/job.docx", SPOILED)
    capsys.readouterr()
    assert main(["compare", *BOOK, "--since", "HEAD", "--only-worse", "plans"]) == 1
    assert "job.docx: worse" in capsys.readouterr().out
    Path("plans/job.docx").rename("plans/moved.docx")
    assert main(["compare", *BOOK, "--since", "HEAD", "--only-worse", "plans"]) == 1
    assert "moved.docx: worse" in capsys.readouterr().out


@pytest.mark.one_in(3)
def test_the_same_words_struck_through_are_worse(capsys: pytest.CaptureFixture[str]) -> None:
    old = write("old.docx", SOUND, "in_style")
    import docx

    made = docx.Document(str(old))
    next(one for one in made.paragraphs if "clean   SC16" in one.text).runs[0].font.strike = True
    made.save("new.docx")
    assert main(["compare", *BOOK, "old.docx", "new.docx", "--only-worse"]) == 1
    assert "struck through" in capsys.readouterr().out


@pytest.mark.one_in(3)
def test_a_new_document_reads_as_a_new_plan_does(capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("job.docx", "job.tpg"):
        assert main(["new", "--method", "dual-point", "--from", "bucket", "-o", name]) == 0
    found = []
    for name in ("job.docx", "job.tpg"):
        assert main(["review", *BOOK, "--format", "json", name]) == 2
        import json

        plan = json.loads(capsys.readouterr().out)["plans"][0]
        found.append([(one["rule"], one["message"], one["step"]) for one in plan["findings"]])
    assert found[0] == found[1]
    assert main(["new", "-o", "job.docx"]) == 3


@pytest.mark.parametrize("command", ["mend", "tidy"])
def test_what_changes_text_leaves_documents_alone(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    before = write("a.docx", SPOILED).read_bytes()
    assert main([command, *(BOOK if command == "mend" else ()), "--write", "a.docx"]) == 3
    assert ".docx" in capsys.readouterr().err
    assert Path("a.docx").read_bytes() == before


@pytest.mark.one_in(4)
@pytest.mark.parametrize("command", [["duty"], ["brief", *BOOK, "-o", "brief.html"]])
def test_other_commands_read_documents(command: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    write("a.docx", SOUND)
    assert main([*command, "a.docx"]) in (0, 2)
    said = capsys.readouterr().out + (Path("brief.html").read_text("utf-8") if "brief" in command else "")
    assert "Brant" in said or "step" in said


@pytest.mark.one_in(3)
def test_reports_for_programs_name_steps(capsys: pytest.CaptureFixture[str]) -> None:
    import json

    write("a.docx", SPOILED)
    main(["review", *BOOK, "--format", "sarif", "a.docx"])
    results = json.loads(capsys.readouterr().out)["runs"][0]["results"]
    assert results
    for one in results:
        assert "region" not in one["locations"][0]["physicalLocation"]
        assert one["locations"][0]["message"]["text"].startswith(("Step ", "Paragraph "))
        assert "fixes" not in one
    main(["review", *BOOK, "--format", "junit", "a.docx"])
    assert "a.docx: step 16: warning" in capsys.readouterr().out


def test_a_dash_in_a_date_is_said_once_with_what_to_type(capsys: pytest.CaptureFixture[str]) -> None:
    write("a.docx", 'plan "x"\ndocument PR-1 revision 1 dated 2026\u201303\u201302\ntester T1\n')
    assert main(["review", *BOOK, "a.docx"]) == 1
    said = capsys.readouterr().out
    assert said.count("[doubtful-dash]") == 1
    assert "next: type it with the keys: `2026-03-02`" in said


def test_no_line_is_named_where_a_document_shows_none(capsys: pytest.CaptureFixture[str]) -> None:
    write("plan.docx", SOUND)
    assert main(["draft", "plan.docx"]) == 3
    assert (
        "it has steps already, the first in paragraph 52 (routine bracket (structure S,...); a head has none"
        in capsys.readouterr().err
    )

    lesson = EXAMPLES / "course/lesson-1-one-lead"
    sound = (lesson / "parts/sound.tpg").read_text("utf-8")
    write("answer.docx", re.sub(r"(?m)^.* clean .*\n", "", sound) + "  99. fly to 212\n")
    assert main(["mark", str(lesson / "scheme.toml"), "answer.docx", "-o", "marks"]) == 0
    for page in ("marks/answer.txt", "marks/answer.html"):
        said = Path(page).read_text("utf-8")
        assert re.search(r"\bstep \d+( |:)", said)
        assert not re.search(r"\bline \d", said)
