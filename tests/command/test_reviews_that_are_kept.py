"""A plan that was reviewed before is answered with the same bytes and without a review, and never where anything that
could change a verdict has changed: a stale answer would be silence on a dangerous plan."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest

from groundlint.cli import main
from groundlint.commands import kept_reviews, many
from groundlint.text.store import Store, keep_in, kept_in

EXAMPLES = Path(__file__).parents[2] / "examples"
PLAN = "bucket-cutouts.tpg"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A project with a plan that uses another file, books of its own and settings; its store is its own."""
    before = kept_in()
    work = tmp_path / "work"
    work.mkdir()
    shutil.copytree(EXAMPLES / "quillback-rules", work / "books")
    shutil.copytree(EXAMPLES / "parts", work / "parts")
    shutil.copy(EXAMPLES / PLAN, work / PLAN)
    used = "routine look over\n  inspect   all leads\n"
    (work / "more.tpg").write_text(used)
    (work / "uses.tpg").write_text((EXAMPLES / PLAN).read_text() + '\nuse "more.tpg"\n')
    (work / "groundlint.toml").write_text('books = ["practice"]\nbooks-in = ["books"]\n')
    monkeypatch.chdir(work)
    monkeypatch.setattr("groundlint.commands.common.users_cache", lambda: tmp_path / "kept")
    yield work
    keep_in(before)


@pytest.fixture
def reviews(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The names of plans that were reviewed, and not answered from what is kept."""
    made: list[str] = []
    do = many.ReviewingDesk.do

    def counted(self: many.ReviewingDesk, task: many.Task) -> many.Done:
        made.append(str(task.path))
        return do(self, task)

    monkeypatch.setattr(many.ReviewingDesk, "do", counted)
    return made


def outcome(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = main(["review", *words])
    return status, *capsys.readouterr()


@pytest.mark.parametrize(
    "words",
    [
        (PLAN,),
        (PLAN, "uses.tpg"),
        (PLAN, "uses.tpg", "--jobs", "2"),
        (PLAN, "--why"),
        (PLAN, "--format", "json"),
        (PLAN, "--format", "sarif"),
        (PLAN, "--book", "quillback"),
    ],
    ids=" ".join,
)
def test_the_same_bytes_without_a_review(
    folder: Path, reviews: list[str], capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    first = outcome(capsys, *words)
    assert first[0] != 3, first
    reviews.clear()
    assert outcome(capsys, *words) == first
    assert not reviews
    assert outcome(capsys, *words, "--no-cache") == first


def _edit(name: str, old: str, new: str) -> Callable[[Path, pytest.MonkeyPatch], tuple[str, ...]]:
    def change(folder: Path, _patch: pytest.MonkeyPatch) -> tuple[str, ...]:
        text = (folder / name).read_text("utf-8")
        assert old in text
        (folder / name).write_text(text.replace(old, new, 1), "utf-8")
        return ()

    return change


def _words(*words: str) -> Callable[[Path, pytest.MonkeyPatch], tuple[str, ...]]:
    return lambda _folder, _patch: words


def _own_code(folder: Path, patch: pytest.MonkeyPatch) -> tuple[str, ...]:
    patch.setattr(kept_reviews, "code", lambda: b"another version")
    return ()


def _next_day(folder: Path, patch: pytest.MonkeyPatch) -> tuple[str, ...]:
    patch.setattr("groundlint.commands.common.today", lambda: date(2031, 1, 1))
    return ()


def _gone(folder: Path, _patch: pytest.MonkeyPatch) -> tuple[str, ...]:
    (folder / "more.tpg").unlink()
    return ()


def _not_text(folder: Path, _patch: pytest.MonkeyPatch) -> tuple[str, ...]:
    (folder / "uses.tpg").write_bytes((folder / "uses.tpg").read_bytes().replace(b"\n", b"\xff\n", 1))
    return ()


def _new_book(folder: Path, _patch: pytest.MonkeyPatch) -> tuple[str, ...]:
    """A book of one's own that takes the place of a shipped one."""
    shutil.copytree(folder / "books" / "quillback", folder / "books" / "practice")
    head = folder / "books" / "practice" / "book.book"
    head.write_text(head.read_text().replace("book quillback", "book practice", 1))
    return ()


CHANGES: dict[str, Callable[[Path, pytest.MonkeyPatch], tuple[str, ...]]] = {
    "a step": _edit("uses.tpg", "brief", "# brief"),
    "a comment, which moves the lines": _edit("uses.tpg", "\n", "\n# more\n"),
    "bytes that are no text": _not_text,
    "a file that the plan uses": _edit("more.tpg", "inspect   all leads", "wait      5 min"),
    "a file that the plan uses is gone": _gone,
    "a rule of one's own book": _edit("books/quillback/book.book", "title", "title  "),
    "a base of one's own book": _new_book,
    "the gate in the settings": _edit("groundlint.toml", "books =", 'gate = "danger"\nbooks ='),
    "the books in the settings": _edit("groundlint.toml", '["practice"]', '["practice", "electrical"]'),
    "a value that settings offer": _edit("groundlint.toml", "books =", 'given = { fault = "6.8 kA" }\nbooks ='),
    "the gate": _words("--gate", "notice"),
    "a book": _words("--book", "electrical"),
    "the day of waivers": _words("--as-of", "2031-01-01"),
    "the day of the run": _next_day,
    "what is shown": _words("--why"),
    "all that is shown": _words("--all"),
    "asks alone": _words("--ask"),
    "colour": _words("--colour", "always"),
    "another form": _words("--format", "junit"),
    "groundlint's own code": _own_code,
}


@pytest.mark.parametrize("change", CHANGES)
def test_what_can_change_a_verdict_is_reviewed_again(
    folder: Path,
    reviews: list[str],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    change: str,
) -> None:
    outcome(capsys, "uses.tpg")
    outcome(capsys, "uses.tpg")
    assert reviews == ["uses.tpg"]
    words = CHANGES[change](folder, monkeypatch)
    again = outcome(capsys, "uses.tpg", *words)
    if again[0] == 3:  # the books can't be read any more: nothing was answered
        assert not again[1]
        return
    assert len(reviews) == 2, change
    assert again == outcome(capsys, "uses.tpg", *words, "--no-cache")


def test_a_copy_under_another_name_says_its_own(
    folder: Path, reviews: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    outcome(capsys, PLAN)
    shutil.copy(folder / PLAN, folder / "copy.tpg")
    _, text, _ = outcome(capsys, "copy.tpg")
    assert "copy.tpg" in text
    assert PLAN not in text


def test_standard_input_is_reviewed_each_time(
    folder: Path, reviews: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for _ in range(2):
        with (folder / PLAN).open() as file:
            monkeypatch.setattr("sys.stdin", file)
            outcome(capsys, "-")
    assert len(reviews) == 2


def test_a_store_that_is_spoiled_changes_nothing(
    folder: Path,
    reviews: list[str],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    first = outcome(capsys, PLAN)
    path = tmp_path / "kept" / kept_reviews.STORE.name
    raw = path.read_bytes()
    monkeypatch.setattr(kept_reviews, "STORE", Store(path.name, 0, 10**7))  # as another run would open it
    path.write_bytes(raw[:4096] + bytes(reversed(raw[4096:])))
    assert outcome(capsys, PLAN) == first
    assert len(reviews) == 2
