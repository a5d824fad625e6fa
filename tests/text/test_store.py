"""What is kept between runs is what was put there, or nothing: whatever happens to the file."""

from __future__ import annotations

import multiprocessing
import os
import random
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from groundlint.text.store import Store, digest, digest_of_files, keep_in, kept_in

KEY, VALUE = digest("a plan"), b"its bounds"


@pytest.fixture(autouse=True)
def as_before() -> Iterator[None]:
    before = kept_in()
    yield
    keep_in(before)


def store(folder: Path | None, limit: int = 8, size: int = 1_000_000) -> Store:
    keep_in(folder)
    return Store("kept.db", limit, size)


def test_another_run_reads_what_was_kept(tmp_path: Path) -> None:
    first = store(tmp_path / "not" / "yet")
    assert first.get(KEY) is None
    first.put([(KEY, VALUE)])
    assert first.get(KEY) == VALUE
    assert store(tmp_path / "not" / "yet").get(KEY) == VALUE
    assert store(None).get(KEY) is None
    assert store(tmp_path).get(KEY) is None


def test_a_digest_takes_parts_apart() -> None:
    assert len({digest("ab", "c"), digest("a", "bc"), digest("abc"), digest("abc", ""), digest("", "abc")}) == 5


def test_a_digest_of_files_is_of_what_they_hold(tmp_path: Path) -> None:
    one = tmp_path / "one.py"
    one.write_text("1")
    before = digest_of_files([one])
    one.write_text("2")
    assert digest_of_files([one]) != before
    os.utime(one, (0, 0))
    one.write_text("1")
    assert digest_of_files([one]) == before


@pytest.mark.parametrize("damage", ["cut", "other bytes", "text", "folder", "empty"])
def test_a_damaged_file_gives_no_other_answer(tmp_path: Path, damage: str) -> None:
    kept = {digest(str(number)): random.Random(number).randbytes(3000) for number in range(60)}
    store(tmp_path, limit=0).put(kept.items())
    path = tmp_path / "kept.db"
    raw = bytearray(path.read_bytes())
    if damage == "cut":
        path.write_bytes(raw[: len(raw) // 2])
    elif damage == "other bytes":
        for at in random.Random(1).sample(range(4096, len(raw)), 2000):
            raw[at] ^= 0xFF
        path.write_bytes(raw)
    elif damage == "text":
        path.write_text("no database\n" * 500)
    elif damage == "folder":
        path.unlink()
        path.mkdir()
    else:
        path.write_bytes(b"")
    again = store(tmp_path)
    found = [again.get(key) for key in kept]
    assert all(one is None or one == kept[key] for key, one in zip(kept, found, strict=True))
    assert None in found
    again.put([(KEY, VALUE)])
    assert again.get(KEY) == VALUE


def test_a_value_under_another_key_is_not_believed(tmp_path: Path) -> None:
    store(tmp_path).put([(KEY, VALUE)])
    with sqlite3.connect(tmp_path / "kept.db") as file:
        file.execute("UPDATE kept SET key = ?", (digest("another plan"),))
    assert store(tmp_path).get(digest("another plan")) is None


def test_memory_and_file_are_bounded(tmp_path: Path) -> None:
    one = store(tmp_path, limit=3, size=200_000)
    for number in range(300):
        one.put([(digest(str(number)), bytes(2000))])
    assert (tmp_path / "kept.db").stat().st_size < 300_000
    assert one.get(digest("299"))
    assert store(tmp_path).get(digest("299"))
    assert store(tmp_path).get(digest("0")) is None


def test_a_folder_that_cannot_be_made_keeps_nothing(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    one = store(tmp_path / "file" / "below")
    one.put([(KEY, VALUE)])
    assert one.get(KEY) == VALUE
    assert store(tmp_path / "file" / "below").get(KEY) is None


def _put(folder: Path, first: int) -> None:
    one = store(folder, limit=0)
    for number in range(first, first + 50):
        one.put([(digest(str(number)), b"%d" % number)])


def test_several_processes_keep_at_once(tmp_path: Path) -> None:
    """Forked from one that has the file open, as the command forks them."""
    one = store(tmp_path, limit=0)
    one.put([(KEY, VALUE)])
    fork = multiprocessing.get_context("fork")
    others = [fork.Process(target=_put, args=(tmp_path, first)) for first in (0, 50, 100)]
    for other in others:
        other.start()
    for other in others:
        other.join()
        assert other.exitcode == 0
    found = [one.get(digest(str(number))) for number in range(150)]
    assert all(value is None or value == b"%d" % number for number, value in enumerate(found))
    assert sum(value is not None for value in found) > 100
    assert one.get(KEY) == VALUE
