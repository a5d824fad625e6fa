"""Settings files: found upward from each plan, checked with care, reported at their lines, weaker than the command."""

from __future__ import annotations

from pathlib import Path

import pytest

from groundlint.cli import main
from groundlint.commands.settings import OWN, SHARED, SettingsFinder, read_settings

BOOKS = Path(__file__).parents[2] / "examples" / "quillback-rules"
PLAN = """\
given away as length
plan "Set one rod"
document PR-1 revision 1 dated 2026-03-02
rod R1 6 ft x 5/8 in
structure 211 wood pole
stage ground
  1. set R1 at 211, given away from the pole, 6 ft deep
"""
SITE = """\
line Larkspur
  voltage 12.47 kV
  phases A B C
  route 211 (50 m) 212
source West utility beyond 211
  fault 4 kA three-phase
no other source
no grounds no contact possible, no induction, impracticable because "a rod is set, and nothing else is done"
structure 211 212 wood pole
"""
"""What the book of practice asks at level danger of any plan."""


@pytest.fixture(autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))


def written(path: Path, text: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def reported(text: str, name: str = OWN, folder: Path = Path("nowhere")) -> list[tuple[int, str, str, str, str]]:
    """Line, words at the place, code, message and advice of each mistake."""
    settings, problems = read_settings(text.encode(), folder / name)
    assert (settings is None) == bool(problems)
    return [(p.span.line, p.span.text, p.code, p.message, p.mend) for p in problems]


# ------------------------------------------------------------- what is read


def test_both_files_say_the_same(tmp_path: Path) -> None:
    (tmp_path / "rules").mkdir()
    body = (
        'books = ["practice"]\nbooks-in = ["rules"]\ngate = "danger"\nexclude = ["drafts/"]\n'
        'format = ["text", "sarif=out/r.sarif"]\ngiven = { fault = "6.8 kA" }\n'
    )
    own, none = read_settings(body.encode(), tmp_path / OWN)
    shared, nothing = read_settings(f"[project]\nname = 'x'\n[tool.groundlint]\n{body}".encode(), tmp_path / SHARED)
    assert none == nothing == ()
    assert own is not None
    assert shared is not None
    assert own.books == shared.books == ("practice",)
    assert own.books_in == shared.books_in == (tmp_path / "rules",)
    assert own.gate == shared.gate == "danger"
    assert own.exclude == shared.exclude == ("drafts/",)
    assert own.formats == shared.formats == ("text", f"sarif={tmp_path / 'out/r.sarif'}")
    assert own.given == shared.given == {"fault": "6.8 kA"}


def test_a_project_file_without_the_table_holds_nothing() -> None:
    assert read_settings(b"[project]\nname = 'groundlint'\n", Path(SHARED)) == (None, ())


def test_the_nearest_file_holds_whole(tmp_path: Path) -> None:
    written(tmp_path / SHARED, '[tool.groundlint]\ngate = "danger"\nexclude = ["a/"]\n')
    written(tmp_path / "in" / "deep" / OWN, 'gate = "notice"\n')
    written(tmp_path / "in" / "other" / SHARED, "[project]\nname = 'no groundlint table'\n")
    finder = SettingsFinder()
    assert finder.of(tmp_path / "in").gate == "danger"
    assert finder.of(tmp_path / "in" / "other").gate == "danger"
    deep = finder.of(tmp_path / "in" / "deep")
    assert (deep.gate, deep.exclude) == ("notice", ())
    assert finder.of(tmp_path / "in" / "deep" / "er").file == tmp_path / "in" / "deep" / OWN


# ------------------------------------------------------------- what is wrong

MISTAKES = [
    ('gates = "danger"\n', 1, "gates", "unknown-setting", "no setting is named `gates`", "did you mean `gate`?"),
    ("zzz = 1\n", 1, "zzz", "unknown-setting", "no setting", "books, books-in, gate, given, exclude, format"),
    ('gate = "warn"\n', 1, "gate", "setting-of-no-use", "`warn`, which is no level", "did you mean `warning`?"),
    ('\n# gate\n"gate" = 3\n', 3, '"gate"', "setting-of-the-wrong-kind", "is a number; a text belongs here", "gate ="),
    ('books = "practice"\n', 1, "books", "setting-of-the-wrong-kind", "is a text; a list of texts", 'books = ["'),
    ("books = []\n", 1, "books", "setting-of-no-use", "names no book", "practice"),
    ('books = ["a", 3]\n', 1, "books", "setting-of-the-wrong-kind", "holds a number", "books ="),
    ('books = [""]\n', 1, "books", "setting-of-no-use", "an empty text", "books ="),
    ('books-in = ["nope"]\n', 1, "books-in", "setting-of-no-use", "no such folder", "folder of rulebooks"),
    ("given = true\n", 1, "given", "setting-of-the-wrong-kind", "is a truth value; a table", "6.8 kA"),
    (
        '[given]\nsoil = "1 ohm m"\nfault = 6\n',
        3,
        "fault",
        "setting-of-the-wrong-kind",
        "`given.fault` is a number",
        "",
    ),
    ('given = { fault = " " }\n', 1, "given", "setting-of-no-use", "`given.fault` is empty", "6.8 kA"),
    ("exclude = 'drafts'\n", 1, "exclude", "setting-of-the-wrong-kind", "is a text; a list", "exclude ="),
    ('exclude = ["!"]\n', 1, "exclude", "setting-of-no-use", "which is no pattern", ".gitignore"),
    ('format = "sarf"\n', 1, "format", "setting-of-no-use", "`sarf`, which is no form", "did you mean `sarif`?"),
    ('format = ["sarif="]\n', 1, "format", "setting-of-no-use", "no file after `sarif=`", "sarif=FILE"),
    ("format = 2026-03-02\n", 1, "format", "setting-of-the-wrong-kind", "is a date", "format ="),
    ('[tool.groundlint]\ngate = "danger"\n', 1, "tool", "unknown-setting", "`tool`", "stand at the top"),
    ('note = """\ngate = 3\n"""\n\ngate = 4\n', 1, "note", "unknown-setting", "`note`", "the settings are"),
    ('tool.groundlint.gate = "danger"\n', 1, "tool", "unknown-setting", "`tool`", "stand at the top"),
    ('note = "\\""\ngate = 3 # """\n', 1, "note", "unknown-setting", "`note`", "the settings are"),
    ("gate = \n", 1, "", "not-toml", "this is not TOML: no value can be read here", ""),
    ("gate = 'a'\ngate = 'b'\n", 2, "", "not-toml", "overwrite", ""),
    ("[", 1, "", "not-toml", "this is not TOML", ""),
]


@pytest.mark.parametrize(("text", "line", "words", "code", "message", "mend"), MISTAKES)
def test_a_mistake_is_reported_at_its_line(
    text: str, line: int, words: str, code: str, message: str, mend: str
) -> None:
    first = reported(text)[0]
    assert first[:3] == (line, words, code)
    assert message in first[3]
    assert mend in first[4]


def test_every_mistake_is_reported_in_line_order() -> None:
    text = 'note = """\ngate = 3\n"""\n\ngate = 4\nfromat = "text"\n'
    assert [(line, words) for line, words, *_ in reported(text)] == [(1, "note"), (5, "gate"), (6, "fromat")]


def test_keys_of_other_tables_are_not_taken_for_ours() -> None:
    text = '[tool.other]\ngate = "no"\nbooks = 1\n\n[tool.groundlint] # ours\nbooks = 2\n\n[tool.last]\nbooks = 3\n'
    assert [(line, words) for line, words, *_ in reported(text, SHARED)] == [(6, "books")]
    (only,) = reported("[tool]\ngroundlint = 5\n", SHARED)
    assert (only[0], only[1]) == (2, "groundlint")


def test_bytes_that_are_no_text_are_reported() -> None:
    settings, problems = read_settings(b"gate = '\xff'\n", Path(OWN))
    assert settings is None
    assert [problem.code for problem in problems] == ["not-utf-8"]


def test_a_mistake_stops_the_run_with_place_and_advice(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = written(tmp_path / "plans" / "a.tpg", PLAN)
    written(tmp_path / OWN, '\ngaet = "danger"\n')
    for arguments in (["review", str(file)], ["review", str(tmp_path)]):
        assert main(arguments) == 3
        streams = capsys.readouterr()
        assert f"{OWN}:2:1: danger: no setting is named `gaet` (did you mean `gate`?) [unknown-setting]" in streams.err
        assert "the settings can't be used, so nothing was done" in streams.err
        assert streams.out == ""


def test_settings_in_both_files_of_a_folder_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = written(tmp_path / "a.tpg", PLAN)
    written(tmp_path / OWN, 'gate = "danger"\n')
    written(tmp_path / SHARED, '[tool.groundlint]\ngate = "notice"\n')
    assert main(["review", str(file)]) == 3
    assert "settings-twice" in capsys.readouterr().err


# ------------------------------------------------------------- what they do


def test_books_gate_and_values_come_from_the_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plan = written(tmp_path / "plans" / "a.tpg", PLAN)
    (tmp_path / "rules").symlink_to(BOOKS)
    written(tmp_path / OWN, 'books = ["quillback"]\nbooks-in = ["rules"]\ngiven = { away = "16 ft", other = "1 kA" }\n')
    main(["review", str(plan)])
    out = capsys.readouterr().out
    assert "(books: quillback)" in out
    assert "R1 is set 16 ft from 211, nearer than 20 ft" in out
    assert "undeclared-given" not in out  # a standing value is for the plans that leave it open
    assert f"settings: {tmp_path / OWN}" in out


def test_the_command_line_wins(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plan = written(tmp_path / "a.tpg", PLAN)
    written(tmp_path / OWN, 'books = ["no-such"]\ngate = "notice"\ngiven = { away = "6 ft" }\n')
    assert main(["review", str(plan)]) == 3
    assert "no-such" in capsys.readouterr().err
    main(["review", "--book", "practice", "--given", "away=16 ft", str(plan)])
    out = capsys.readouterr().out
    assert "(books: practice)" in out
    assert "[rod-distance]" not in out
    main(["review", "--book", "practice", str(plan)])
    assert "[rod-distance]" in capsys.readouterr().out


def test_each_plan_has_the_settings_of_its_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = PLAN.replace("given away from", "6 ft from").replace("given away as length\n", "")
    text = text.replace("structure 211 wood pole\n", SITE)
    written(tmp_path / "old" / "a.tpg", text)
    written(tmp_path / "new" / "a.tpg", text)
    written(tmp_path / "old" / OWN, 'gate = "danger"\nbooks = ["practice"]\n')
    assert main(["review", str(tmp_path / "old")]) == 0
    assert main(["review", str(tmp_path / "new")]) == 1
    capsys.readouterr()
    assert main(["review", str(tmp_path)]) == 1
    out = capsys.readouterr().out
    assert "2 plans: 0 clean, 1 passed with findings that are waived or below the gate, 1 broken" in out
    assert "(books: practice)" in out
    assert "(books: practice, us-29cfr1910-269, electrical)" in out


def test_the_form_of_the_report_comes_from_the_working_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    written(tmp_path / "a.tpg", PLAN)
    written(tmp_path / OWN, 'format = ["junit", "json=review.json"]\n')
    monkeypatch.chdir(tmp_path)
    main(["review", "a.tpg"])
    assert capsys.readouterr().out.startswith("<?xml")
    assert (tmp_path / "review.json").read_text("utf-8").startswith("{")
    main(["review", "a.tpg", "--format", "text"])
    out = capsys.readouterr().out
    assert not out.startswith("<?xml")
    assert "\na.tpg: " in out


def test_rules_are_those_of_the_settings(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    written(tmp_path / OWN, 'books = ["practice"]\n')
    monkeypatch.chdir(tmp_path)
    main(["rules"])
    out = capsys.readouterr().out
    assert out.startswith("practice:")
    assert "us-29cfr1910-269:" not in out
