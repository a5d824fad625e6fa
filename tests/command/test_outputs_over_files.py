"""No command writes over what it read, a plan, a book or anything else that is no older output of its own."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from groundlint.cli import main

EXAMPLES = Path(__file__).parents[2] / "examples"
BOOK = ("--book", "practice")
REFUSED = 3


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))
    monkeypatch.chdir(tmp_path)
    for name in ("own.tpg", "other.tpg", "plan.txt"):
        shutil.copy(EXAMPLES / "single-point-insulator.tpg", name)
    shutil.copytree(EXAMPLES / "quillback-rules", "quillback-rules")
    for name in ("mine.html", "mine.svg", "mine.json"):
        Path(name).write_text("<p>what somebody wrote</p>\n", encoding="utf-8")
    Path("link.html").symlink_to("own.tpg")
    assert main(["new", "-o", "proc.docx"]) == 0
    shutil.copy("proc.docx", "other.docx")


@pytest.mark.parametrize(
    "words",
    [
        "brief own.tpg -o own.tpg",
        "brief own.tpg -o other.tpg",
        "brief own.tpg -o mine.html",
        "brief own.tpg -o link.html",
        "brief own.tpg -o plan.txt",
        "brief proc.docx -o proc.docx",
        "brief proc.docx -o other.docx",
        "brief own.tpg --drawing own.tpg",
        "brief own.tpg --drawing mine.svg",
        "review own.tpg --format text=own.tpg",
        "review own.tpg --format text=other.tpg",
        "review own.tpg --format text=new.tpg",
        "review plan.txt --format text=plan.txt",
        "review own.tpg --format text --format json=mine.json",
        "review own.tpg --format sarif=quillback-rules/quillback/book.book",
        "review own.tpg --format sarif=groundlint.toml",
        "review proc.docx --comments other.docx",
        "new -o own.tpg",
        "draft own.tpg -o own.tpg",
        "drill own.tpg --name own",
        "drill own.tpg --name other",
    ],
)
def test_an_output_goes_over_nothing_but_an_older_one(words: str, capsys: pytest.CaptureFixture[str]) -> None:
    before = {path: path.read_bytes() for path in Path().rglob("*") if path.is_file()}
    command, *rest = words.split()
    assert main([command, *rest, *(BOOK if command != "new" else ())]) == REFUSED
    after = {path: path.read_bytes() for path in Path().rglob("*") if path.is_file()}
    assert after == before
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1


@pytest.mark.parametrize(
    ("words", "ends"),
    [
        ("brief own.tpg -o b.pdf", ".html, .htm or .docx"),
        ("brief own.tpg -o brief.txt", ".html, .htm or .docx"),
        ("brief own.tpg -o briefing", ".html, .htm or .docx"),
        ("brief own.tpg --drawing x.png", ".svg"),
        ("brief own.tpg -o b.html --drawing x", ".svg"),
        ("review proc.docx --comments out.pdf", ".docx"),
        ("new -o job.pdf", ".tpg, .md or .docx"),
        ("draft own.tpg -o job.html", ".tpg, .md or .docx"),
    ],
)
def test_nothing_is_written_under_a_false_name(words: str, ends: str, capsys: pytest.CaptureFixture[str]) -> None:
    before = set(Path().iterdir())
    command, *rest = words.split()
    assert main([command, *rest, *(BOOK if command != "new" else ())]) == REFUSED
    assert f"is written to a file that ends in {ends}\n" in capsys.readouterr().err
    assert set(Path().iterdir()) == before


@pytest.mark.parametrize(
    ("words", "files"),
    [
        ("brief own.tpg -o b.html --drawing d.svg", "b.html d.svg"),
        ("review own.tpg --format text=r.txt --format sarif=r --format junit=r.xml --format json=a", "r.txt r r.xml a"),
    ],
)
def test_an_older_output_is_written_over(words: str, files: str) -> None:
    for _ in range(2):
        Path(files.split()[0]).touch()  # an empty file is nobody's work
        assert main([*words.split(), *BOOK]) == 0
        assert all(Path(name).stat().st_size for name in files.split())


def test_a_device_is_written_to() -> None:
    assert main(["brief", "own.tpg", "-o", "/dev/null", *BOOK]) == 0
    assert main(["review", "own.tpg", "--format", "json=/dev/null", *BOOK]) == 0


def test_sheets_that_were_handed_out_stay(capsys: pytest.CaptureFixture[str]) -> None:
    drill = ["drill", "own.tpg", "-o", "d", *BOOK, "--operator"]
    assert main([*drill, "untested"]) == 0
    before = {path.name: path.read_bytes() for path in Path("d").iterdir()}
    assert main([*drill, "rod-too-near"]) == REFUSED
    assert main([*drill, "rod-too-near", "--count", "2", "--name", "own"]) == 0
    assert main([*drill, "untested", "--count", "3", "--name", "own"]) == REFUSED
    assert {name: (Path("d") / name).read_bytes() for name in before} == before
    capsys.readouterr()
    Path("d/own-drill.tpg").unlink()
    assert main([*drill, "rod-too-near"]) == REFUSED  # a key left behind is one that sheets are marked by
    assert "d/own-drill.html: there is a file already" in capsys.readouterr().err


def test_marks_go_over_no_answer(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["drill", "own.tpg", "--name", "x", "--operator", "untested", *BOOK]) == 0
    Path("in").mkdir()
    answers = {"anna.txt": "line 3: A\n", "empty.txt": "", "feedback.txt": "Feedback on nothing\nline 3: A\n"}
    for name, text in answers.items():
        (Path("in") / name).write_text(text, encoding="utf-8")
    capsys.readouterr()
    for name in answers:
        assert main(["mark", "x.key.toml", f"in/{name}", "-o", "in"]) == REFUSED
        assert f"in/{name}: " in capsys.readouterr().err
    assert {path.name: path.read_text("utf-8") for path in Path("in").iterdir()} == answers
    for _ in range(2):
        assert main(["mark", "x.key.toml", "in", "-o", "out"]) == 0
    shutil.copy("mine.html", "out/class.html")
    assert main(["mark", "x.key.toml", "in", "-o", "out"]) == REFUSED
