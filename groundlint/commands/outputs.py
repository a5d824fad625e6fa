"""Where a command may write: one declaration for every option that names a file or a folder.

A command writes where nothing stands, or over an older output of its own kind, by what is in that. So none goes over a
file that was read, a plan, a book or somebody's own work, whatever that is called. What is there to be edited or to be
handed out (plans, Word documents, exercises) is written over by nothing. A device or a pipe is written to.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from groundlint.commands.common import SUFFIXES, WORD, UsageError
from groundlint.report.closing import CAUTION
from groundlint.rulebook.shipped import FILES as BOOKS
from groundlint.text.files import read_file, reason, write_bytes, write_file
from groundlint.words.rows import listed


class Output(NamedTuple):
    """``what`` it is called; the ``endings`` that its file's name may have, where none are given all but those of files
    that are read; and ``marks``, of which one stands in the first or last 2,000 bytes of an older one, which is written
    over. Without marks nothing is written over."""

    what: str
    endings: tuple[str, ...] = ()
    marks: tuple[bytes, ...] = ()

    def refused(self, path: Path) -> str:
        """Why it may not be written to a file, or nothing."""
        ending = path.suffix.lower()
        if self.endings and ending not in self.endings:
            return f"a {self.what} is written to a file that ends in {listed(self.endings, 'or')}"
        if not self.endings and ending in (*SUFFIXES, *BOOKS, ".toml"):
            return f"by its ending it is no {self.what}; name another"
        if not os.path.lexists(path) or self._is_older(path):
            return ""
        if self.marks and ending != WORD:
            return f"it is there and is no {self.what} of groundlint; nothing was written; name another"
        return "there is a file already; nothing was written; name another"

    def _is_older(self, path: Path) -> bool:
        if not self.marks or path.suffix.lower() == WORD:
            return False
        try:
            data = read_file(path)
        except OSError:
            return False
        return not data or any(mark in data[:2000] or mark in data[-2000:] for mark in self.marks)

    def check(
        self, paths: Iterable[Path | None], option: str = "", read: Iterable[Path] = (), into: Path | None = None
    ) -> None:
        """`UsageError` where it may not be written to one of these files; None is standard output. ``read`` are files
        that the command reads and that may look like an older one, ``into`` a file to which it only adds."""
        apart = {one.resolve() for one in read}
        for path in paths:
            if path is None or _is_stream(path) or (into is not None and path.resolve() == into.resolve()):
                continue
            why = "it is read here; nothing was written" if path.resolve() in apart else self.refused(path)
            if why:
                raise UsageError(f"{option}{path}: {why}")

    def write(self, path: Path, made: str | bytes, into: Path | None = None) -> None:
        """Writes it. `UsageError` if it can't or may not be."""
        self.check([path], into=into)
        try:
            if isinstance(made, bytes):
                write_bytes(path, made)
            else:
                write_file(path, made)
        except OSError as error:
            raise UsageError(f"{path}: it can't be written: {reason(error)}") from None


def _is_stream(path: Path) -> bool:
    return path.parts[:2] == ("/", "dev") or (path.exists() and not path.is_file() and not path.is_dir())


PLAN = Output("plan", (".tpg", ".md", WORD))
COMMENTED = Output("commented document", (WORD,))
BRIEFING = Output("briefing", (".html", ".htm", WORD), (b"<title>Job briefing: ",))
DRAWING = Output("drawing", (".svg",), (b'<svg class="drawing"',))
REPORT = Output(
    "report",
    marks=(
        b'"urn:groundlint:',
        b'"name": "groundlint"',
        b'"name":"groundlint"',
        b'<testsuites name="groundlint"',
        CAUTION.encode(),
    ),
)
EXERCISE = Output("exercise", (".tpg", ".html", ".txt", ".toml"))
MARKS = Output(
    "page of marks",
    (".html", ".txt", ".csv"),
    (
        b"answer,student,marks,out of,",
        b"%  passed\n",
        b'content="groundlint: class"',
        b"Feedback on ",
        b"Feedback for ",
    ),
)
