"""Files as they stood in a revision of a git repository, read without a working tree of their own."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable, Sequence
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING

from groundlint.commands.common import UsageError

if TYPE_CHECKING:
    from groundlint.text import Diagnostic, Source


class Revision:
    """One revision of the repository that a folder is in. Each process asks git through a process of its own."""

    def __init__(self, name: str, folder: Path) -> None:
        """``folder`` is in the working tree. `UsageError` if it is in none, or has no such revision."""
        self.name = name
        self.root = Path(_git(folder, "rev-parse", "--show-toplevel").rstrip("\n"))
        found = _git(
            self.root, "rev-parse", "--verify", "--quiet", "--end-of-options", f"{name}^{{commit}}", may_fail=True
        )
        self.commit = found.strip()
        if not self.commit:
            raise UsageError(f"--since {name}: no such revision in this repository")
        self._asking: tuple[int, subprocess.Popen[bytes]] | None = None

    def files(self, within: Sequence[str]) -> tuple[str, ...]:
        """Paths from the root of the repository, of files below paths that are from there too; ``.`` for all."""
        paths = [one for one in within if one != "."] if "." not in within else []
        listed = _git(self.root, "ls-tree", "-r", "-z", "--name-only", "--full-tree", self.commit, "--", *paths)
        return tuple(name for name in listed.split("\0") if name)

    def read(self, path: str) -> bytes | None:
        """A file's bytes by its path from the root; None if the revision has none of this name."""
        if "\n" in path:
            return None
        pid = os.getpid()
        if self._asking is None or self._asking[0] != pid:
            command = ("git", "-C", str(self.root), "cat-file", "--batch")
            self._asking = pid, subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        asking = self._asking[1]
        assert asking.stdin is not None
        assert asking.stdout is not None
        asking.stdin.write(f"{self.commit}:{path}\n".encode("utf-8", "surrogateescape"))
        asking.stdin.flush()
        head = asking.stdout.readline().split()
        if len(head) < 3 or not head[-1].isdigit():
            return None
        data = asking.stdout.read(int(head[-1]))
        asking.stdout.read(1)
        return data if head[-2] == b"blob" else None

    def close(self) -> None:
        """Ends this process's git."""
        if self._asking is not None and self._asking[0] == os.getpid():
            for pipe in (self._asking[1].stdin, self._asking[1].stdout):
                if pipe is not None:
                    pipe.close()
            self._asking[1].wait()
            self._asking = None

    def __getstate__(self) -> dict[str, object]:
        return {**self.__dict__, "_asking": None}

    def path_of(self, path: Path) -> str | None:
        """A path of the working tree as one from the root of the repository; None if it is in another."""
        full = Path(os.path.abspath(path))
        for one in (full, full.parent.resolve() / full.name):
            if one.is_relative_to(self.root):
                return one.relative_to(self.root).as_posix()
        return None

    def source(self, path: str) -> tuple[Source, tuple[Diagnostic, ...]] | None:
        """A file decoded, named by its path and the revision."""
        from groundlint.text.decode import decode

        data = self.read(path)
        return None if data is None else decode(data, f"{path}@{self.name}")

    def opener(self, folder: str) -> Callable[[str], Source | str]:
        """What opens the files that a plan in a folder of the revision uses."""
        top = PurePosixPath(folder)

        def opener(name: str) -> Source | str:
            path = PurePosixPath(os.path.normpath(top / name))
            if PurePosixPath(name).is_absolute() or not path.is_relative_to(top) or path.parts[:1] == ("..",):
                return "it lies outside the plan's own folder"
            found = self.source(path.as_posix())
            if found is None:
                return "no such file or directory"
            source, problems = found
            return problems[0].message if problems else source

        return opener


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
        raise UsageError(f"git can't be run: {error.strerror or error}") from None
    if run.returncode and not may_fail:
        said = run.stderr.strip().splitlines()
        raise UsageError(f"git: {said[-1].removeprefix('fatal: ') if said else 'failed'}")
    return run.stdout if not run.returncode else ""
