"""Files as they stood in a revision of a git repository, laid out in a folder of their own."""

from __future__ import annotations

import os
import re
import subprocess
from collections.abc import Iterator, Sequence
from pathlib import Path, PurePosixPath

from groundlint.commands.common import SUFFIXES, WORD, UsageError
from groundlint.commands.settings import OWN, SHARED
from groundlint.commands.walk import IGNORE_FILES
from groundlint.rulebook.shipped import FILES as BOOKS
from groundlint.text.files import reason

READ = (*SUFFIXES, *BOOKS)
NAMED = (OWN, SHARED, *IGNORE_FILES)
"""What a review reads of itself: by how a file's name ends, and by its name."""


class Revision:
    """One revision of the repository that a folder is in."""

    def __init__(self, name: str, folder: Path) -> None:
        """``folder`` is in the working tree. `UsageError` if it is in none, or has no such revision.

        ``HEAD`` of a repository without a commit is a revision that has no files.
        """
        self.name = name
        try:
            self.root = Path(_git(folder, "rev-parse", "--show-toplevel").rstrip("\n"))
        except UsageError as error:
            raise UsageError(f"{error}; where git keeps no plans, name the old plan and the new one") from None
        found = _git(
            self.root, "rev-parse", "--verify", "--quiet", "--end-of-options", f"{name}^{{commit}}", may_fail=True
        )
        self.commit = found.strip()
        if not self.commit and not (name == "HEAD" and self._unborn()):
            raise UsageError(f"--since {name}: no such revision in this repository{self._advice()}")

    def _unborn(self) -> bool:
        return not _git(self.root, "rev-list", "--max-count=1", "--all", may_fail=True)

    def _advice(self) -> str:
        if _git(self.root, "rev-parse", "--is-shallow-repository").strip() == "true":
            return ", which is a shallow clone; fetch the rest with `git fetch --unshallow`"
        return "; fetch it, or name one that `git log` shows"

    def path_of(self, path: Path) -> str | None:
        """A path of the working tree from the root of the repository; None if it is in another."""
        full = Path(os.path.abspath(path))
        for one in (full, full.parent.resolve() / full.name):
            if one.is_relative_to(self.root):
                return one.relative_to(self.root).as_posix()
        return None

    def lay_out(self, tree: Path) -> None:
        """Writes what a review may read into a folder: plans, what they use, books, settings and ignore files.

        Links are left out, as the files that they lead to stand in the working tree of today.
        """
        (tree / ".git").mkdir()  # the root of a repository: ignore files further up are no business of it
        listed = _git(self.root, "ls-tree", "-r", "-z", "--full-tree", self.commit) if self.commit else ""
        rows = (row.partition("\t") for row in listed.split("\0") if row)
        blobs = {name: mode.split()[2] for mode, _, name in rows if mode.startswith("100")}
        wanted = [name for name in blobs if name.lower().endswith(READ) or PurePosixPath(name).name in NAMED]
        done: set[str] = set()
        while wanted:
            done.update(wanted)
            used: set[str] = set()
            for name, data in self._read({name: blobs[name] for name in wanted}):
                path = tree / name
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(data)
                used.update(_used(name, data))
            wanted = sorted(used & blobs.keys() - done)

    def _read(self, blobs: dict[str, str]) -> Iterator[tuple[str, bytes]]:
        command = ("git", "-C", str(self.root), "cat-file", "--batch")
        with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as asking:
            assert asking.stdin is not None
            assert asking.stdout is not None
            for name, blob in blobs.items():
                asking.stdin.write(f"{blob}\n".encode())
                asking.stdin.flush()
                size = asking.stdout.readline().split()[-1]
                if not size.isdigit():
                    raise UsageError(f"--since {self.name}: {name} is not to be had; `git fetch` it")
                yield name, asking.stdout.read(int(size))
                asking.stdout.read(1)
            asking.stdin.close()


def _used(name: str, data: bytes) -> list[str]:
    """The files that a plan uses, by their paths from the root."""
    folder = PurePosixPath(name).parent
    if name.lower().endswith(WORD):
        data = _words(data)
    names = re.findall(rb'^[ \t>]*use[ \t]+"([^"\n]+)"', data, re.MULTILINE | re.IGNORECASE)
    return [os.path.normpath(folder / one.decode("utf-8", "surrogateescape")) for one in names]


def _words(data: bytes) -> bytes:
    """The text of a Word document; empty for a file that is not one, which its review reports."""
    from groundlint.reading.word import NoDocumentError, read_document

    try:
        return read_document(data, "")[0].text.encode("utf-8", "surrogatepass")
    except NoDocumentError:
        return b""


def _git(folder: Path, *arguments: str, may_fail: bool = False) -> str:
    try:
        run = subprocess.run(
            ("git", "-C", str(folder), *arguments),
            capture_output=True,
            check=False,
            encoding="utf-8",
            errors="surrogateescape",
        )
    except OSError as error:
        raise UsageError(f"git can't be run: {reason(error)}") from None
    if run.returncode and not may_fail:
        said = run.stderr.strip().splitlines()
        raise UsageError(f"git: {said[-1].removeprefix('fatal: ') if said else 'failed'}")
    return run.stdout if not run.returncode else ""


def same_files(one: Sequence[Path], other: Sequence[Path]) -> bool:
    """Whether folders hold the same files with the same bytes."""
    return len(one) == len(other) and all(_files(a) == _files(b) for a, b in zip(one, other, strict=True))


def _files(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.name.lower().endswith(READ) and path.is_file()
    }
