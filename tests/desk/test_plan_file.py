"""The file is read and written as it was: its mark, its line ends, its place; and nobody's change is lost."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundlint.desk.plan_file import NotOpenedError, PlanFile, with_ends

TEXT = 'plan "Kept — as it was"\r\nline L\r\n  phases A B C\r\n'


def test_what_is_not_changed_is_written_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "plan.tpg"
    path.write_bytes(b"\xef\xbb\xbf" + TEXT.encode())
    path.chmod(0o640)
    file = PlanFile(path)
    loaded = file.load()
    assert loaded.text == TEXT.replace("\r\n", "\n")
    saved = file.save(loaded.text, loaded.seen)
    assert path.read_bytes() == b"\xef\xbb\xbf" + TEXT.encode()
    assert saved == loaded
    file.save(loaded.text.replace("line L", "line M\n  voltage 12 kV"), loaded.seen)
    assert path.read_bytes().decode("utf-8-sig") == TEXT.replace("line L", "line M\r\n  voltage 12 kV")
    assert path.stat().st_mode & 0o777 == 0o640
    assert [one.name for one in tmp_path.iterdir()] == ["plan.tpg"]


def test_what_somebody_else_wrote_stays_until_it_was_seen(tmp_path: Path) -> None:
    path = tmp_path / "plan.tpg"
    path.write_text("mine\n")
    file = PlanFile(path)
    first = file.load()
    path.write_text("theirs\n")
    assert file.save("mine again\n", first.seen) is None
    assert path.read_text() == "theirs\n"
    assert file.save("mine again\n", file.seen()) is not None
    assert path.read_text() == "mine again\n"
    path.unlink()
    assert file.save("mine again\n", first.seen) is None
    assert not path.exists()
    assert file.save("mine again\n", file.seen()) is not None
    assert path.read_text() == "mine again\n"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"plan \xff", "not UTF-8"),
        ("plan".encode("utf-16"), "UTF-16"),
        (b"plan\rline\n", "carriage return"),
        (b"#" * 2_000_001, "more than the 2,000,000 bytes"),
    ],
)
def test_what_could_not_be_given_back_is_not_opened(tmp_path: Path, data: bytes, words: str) -> None:
    path = tmp_path / "plan.tpg"
    path.write_bytes(data)
    with pytest.raises(NotOpenedError, match=words):
        PlanFile(path).load()


def test_a_link_that_leads_elsewhere_is_neither_read_nor_written(tmp_path: Path) -> None:
    (tmp_path / "here").mkdir()
    elsewhere, path = tmp_path / "elsewhere.tpg", tmp_path / "here" / "plan.tpg"
    elsewhere.write_text("kept\n")
    path.symlink_to(elsewhere)
    with pytest.raises(NotOpenedError, match="leads elsewhere"):
        PlanFile(path).load()
    path.unlink()
    path.write_text("mine\n")
    loaded = PlanFile(path).load()
    path.unlink()
    path.symlink_to(elsewhere)
    with pytest.raises(OSError, match="leads elsewhere"):
        PlanFile(path).save("other\n", loaded.seen)
    assert elsewhere.read_text() == "kept\n"


def test_what_could_not_be_read_again_is_not_written(tmp_path: Path) -> None:
    path = tmp_path / "plan.tpg"
    path.write_text("mine\n")
    file = PlanFile(path)
    with pytest.raises(OSError, match="more than the 2,000,000 bytes"):
        file.save("#" * 2_000_001, file.load().seen)
    assert path.read_text() == "mine\n"


def test_half_a_character_is_not_written(tmp_path: Path) -> None:
    path = tmp_path / "plan.tpg"
    path.write_text("mine\n")
    file = PlanFile(path)
    with pytest.raises(UnicodeEncodeError):
        file.save("\ud83d\n", file.load().seen)
    assert path.read_text() == "mine\n"


LINES = st.lists(st.sampled_from(["", "a", "b", " c"]), max_size=8)


@given(st.lists(st.tuples(st.sampled_from(["", "a", "b"]), st.sampled_from(["\n", "\r\n"])), max_size=8), LINES)
def test_lines_keep_their_ends_and_nothing_else_is_changed(before: list[tuple[str, str]], after: list[str]) -> None:
    old, new = "".join(map("".join, before)), "\n".join(after)
    assert with_ends(new, old).replace("\r\n", "\n") == new
    assert with_ends(old.replace("\r\n", "\n"), old) == old
