"""What follows from known contents, kept by a digest of them: in this process, and between runs where a folder is set.

A store that can't be read or written keeps nothing between runs, and what is asked is worked out again: whatever
happens to its file, no answer is another than it would be without.
"""

from __future__ import annotations

import os
import pickle
from collections import OrderedDict
from collections.abc import Iterable
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeVar

from groundlint.text.files import read_file

if TYPE_CHECKING:
    from sqlite3 import Connection

T = TypeVar("T")

_folder: Path | None = None


def keep_in(folder: Path | None) -> None:
    """The folder in which this process keeps things between runs; None keeps nothing."""
    global _folder
    _folder = folder


def kept_in() -> Path | None:
    """The folder in which this process keeps things between runs."""
    return _folder


SHORT: Final = 16
"""Bytes that are taken of a digest."""

PAGE: Final = 4096
"""Bytes of a page of the file."""


def digest(*parts: bytes | str) -> bytes:
    """One digest of several parts, none of which can run into the next."""
    found = sha256()  # of the library's, what processors with instructions for it do fastest
    for part in parts:
        raw = part.encode("utf-8", "surrogatepass") if isinstance(part, str) else part
        found.update(len(raw).to_bytes(8, "little"))
        found.update(raw)
    return found.digest()[:SHORT]


def digest_of_files(paths: Iterable[Path | str]) -> bytes:
    """One digest of what files hold, in the order of their paths. `OSError` where one can't be read, or is no file."""
    names = sorted(map(str, paths))  # paths themselves compare slowly
    return digest(*(part for name in names for part in (os.path.basename(name), read_file(name))))


class Store:
    """Bytes kept by digests: the last `limit` of them in memory, and, where a folder is set, in a file there of at most
    `size` bytes, shared with other processes. The oldest go first. `name` is the file's."""

    def __init__(self, name: str, limit: int, size: int) -> None:
        self.name, self.limit, self.size = name, limit, size
        self._kept: OrderedDict[bytes, bytes] = OrderedDict()
        self._file: Connection | None = None
        self._opened: tuple[Path | None, int] = (None, 0)

    def get(self, key: bytes) -> bytes | None:
        """What is kept under a digest."""
        found = self._kept.get(key)
        if found is not None:
            self._kept.move_to_end(key)
            return found
        file = self._open()
        if file is None:
            return None
        import sqlite3

        try:
            row = file.execute("SELECT value, proof FROM kept WHERE key = ?", (key,)).fetchone()
        except sqlite3.Error:
            self._close()
            return None
        if row is None or not all(isinstance(part, bytes) for part in row) or digest(key, row[0]) != row[1]:
            return None
        self._remember(key, row[0])
        return bytes(row[0])

    def put(self, found: Iterable[tuple[bytes, bytes]]) -> None:
        """Keep some values, each under a digest of all that it follows from."""
        rows = [(key, value, digest(key, value)) for key, value in found]
        for key, value, _ in rows:
            self._remember(key, value)
        file = self._open() if rows else None
        if file is None:
            return
        import sqlite3

        try:
            with file:
                file.executemany("INSERT OR REPLACE INTO kept (key, value, proof) VALUES (?, ?, ?)", rows)
                (pages,) = file.execute("PRAGMA page_count").fetchone()
                (free,) = file.execute("PRAGMA freelist_count").fetchone()
                if (pages - free) * PAGE > self.size:
                    file.execute(
                        "DELETE FROM kept WHERE rowid IN"
                        " (SELECT rowid FROM kept ORDER BY rowid LIMIT (SELECT COUNT(*) / 2 FROM kept))"
                    )
        except sqlite3.Error:
            self._close()

    def clear(self) -> None:
        """Forget what this process remembers."""
        self._kept.clear()

    def _remember(self, key: bytes, value: bytes) -> None:
        self._kept[key] = value
        self._kept.move_to_end(key)
        while len(self._kept) > self.limit:
            self._kept.popitem(last=False)

    def _open(self) -> Connection | None:
        """The file; None where there is none, or it could not be used before. A process forked from one that has it
        open opens it for itself."""
        now = kept_in(), os.getpid()
        if now == self._opened or now[0] is None:
            return self._file if now[0] is not None else None
        self._close()
        self._opened = now
        import sqlite3

        try:
            now[0].mkdir(parents=True, exist_ok=True)
            file = sqlite3.connect(now[0] / self.name, timeout=1.0)
            file.execute(f"PRAGMA page_size = {PAGE}")
            file.execute("PRAGMA synchronous = OFF")  # what a crash loses is worked out again
            file.execute("CREATE TABLE IF NOT EXISTS kept (key BLOB UNIQUE, value BLOB, proof BLOB)")
        except (sqlite3.Error, OSError):
            return None
        self._file = file
        return file

    def _close(self) -> None:
        if self._file is not None and self._opened[1] != os.getpid():
            _PARENTS.append(self._file)  # it is the parent's to close: a forked process must not touch it
        elif self._file is not None:
            import sqlite3
            from contextlib import suppress

            with suppress(sqlite3.Error):
                self._file.close()
        self._file = None


_PARENTS: list[Connection] = []
"""Files that the process had open from which this one was forked."""


COMPILED: Final = Store("compiled.db", limit=8, size=48_000_000)
"""Grammars and rulebooks made ready to use, as pickles."""


def compiled(key: bytes, kind: type[T]) -> T | None:
    """What is kept made ready under a digest of all that it follows from."""
    raw = COMPILED.get(key)
    with suppress(
        Exception
    ):  # a pickle of another version raises nearly anything; what it was made from is still there
        found = pickle.loads(raw) if raw is not None else None
        return found if isinstance(found, kind) else None
    return None


def keep_compiled(key: bytes, made: object) -> None:
    """Keep something made ready."""
    COMPILED.put([(key, pickle.dumps(made, pickle.HIGHEST_PROTOCOL))])
