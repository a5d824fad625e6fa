"""Reviews kept between runs: a plan that was reviewed before is answered at once, if nothing that was read has changed.

Nothing goes by a time or a name. A review is found by the plan's text, what holds for it, what is wanted, the books of
every folder that is searched, and groundlint's own code, and holds while each file that the plan uses reads as before.
The day of the run is part of it, since waivers are held against it.
"""

from __future__ import annotations

import os
import pickle
import sys
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final

from groundlint.commands.common import UsageError, opener_in, read_source
from groundlint.text.store import Store, digest, digest_of_files

if TYPE_CHECKING:
    from groundlint.commands.many import Done, Task, Wanted
    from groundlint.text import Diagnostic, Source

    Opener = Callable[[str], Source | str]

STORE: Final = Store("reviews.db", limit=0, size=64_000_000)


class Opened:
    """What opens the files that a plan uses, and remembers a digest of what came of each."""

    def __init__(self, opener: Opener) -> None:
        self._opener = opener
        self.found: dict[str, bytes] = {}

    def __call__(self, name: str) -> Source | str:
        """The file, or why it can't be had."""
        found = self._opener(name)
        now = of_opened(found)
        if self.found.setdefault(name, now) != now:
            self.found[name] = b""  # it changed while the plan was reviewed: nothing that it reads as later is that
        return found


def of_opened(found: Source | str) -> bytes:
    """A digest of a file that was opened, or of why it could not be."""
    return digest("not read", found) if isinstance(found, str) else digest("read", found.name, found.text)


def of_source(source: Source, problems: Sequence[Diagnostic]) -> bytes:
    """A digest of a text, and of what was wrong with its bytes."""
    return digest(
        source.text,
        repr(source.marks),
        repr([(one.code, one.span.start, one.span.end, one.message) for one in problems]),
    )


class KeptReviews:
    """The reviews of one run, found and kept by what they follow from."""

    def __init__(self, wanted: Wanted) -> None:
        self._wanted = repr(wanted)
        self._code = code()
        self._books: dict[tuple[Path, ...], bytes] = {}

    def get(self, task: Task) -> Done | None:
        """The review kept of a plan, if all that was read for it reads as it did."""
        if task.path is None or not task.path.is_file():  # what the shell hands over can be read once
            return None
        try:
            raw = STORE.get(self._key(task, of_source(*read_source(task.path))))
        except (OSError, UsageError):
            return None
        if raw is None:
            return None
        done: Done = pickle.loads(raw)
        opener = opener_in(task.path.parent)
        return done if all(of_opened(opener(name)) == before for name, before in done.opened) else None

    def put(self, reviews: Iterable[tuple[Task, Done]]) -> None:
        """Keep some reviews of this run, unless a book or groundlint itself has changed meanwhile."""
        mine = [(task, done) for task, done in reviews if task.path is not None and not done.failure]
        if not mine:
            return
        with suppress(OSError):
            before, self._books = self._books, {}
            if code() == self._code and all(self._of_books(folders) == was for folders, was in before.items()):
                STORE.put([(self._key(task, done.read), pickle.dumps(done)) for task, done in mine])

    def _key(self, task: Task, plan: bytes) -> bytes:
        """A digest of all that a review follows from but the files that the plan uses."""
        return digest(self._code, self._of_books(task.shelf[1]), self._wanted, repr(task), plan)

    def _of_books(self, folders: tuple[Path, ...]) -> bytes:
        if folders not in self._books:
            from groundlint.rulebook.shipped import shipped

            ours = () if shipped().is_relative_to(PACKAGE) else (shipped(),)  # an installed one is part of the code
            self._books[folders] = digest_of_books((*ours, *folders))
        return self._books[folders]


def digest_of_books(folders: Sequence[Path]) -> bytes:
    """A digest of every book in some folders, and of where they stand. `OSError` where a file can't be read."""
    patterns = ("*/book.book", "*/*.rule", "*/bases/*.tpg")
    files = [sorted(p for like in patterns for p in one.glob(like)) for one in folders]
    return digest(repr([str(path) for some in files for path in some]), *map(digest_of_files, files))


PACKAGE: Final = Path(__file__).parents[1]
"""groundlint's own folder."""


def code() -> bytes:
    """A digest of groundlint itself, of the language that runs it, and of the versions of all that is installed beside
    it, by the names of the folders that say so."""
    names = []
    for folder, within, here in os.walk(PACKAGE):
        within[:] = [name for name in within if name != "__pycache__"]
        names += [os.path.join(folder, name) for name in here]
    folders = [folder for folder in sys.path if os.path.isdir(folder)]
    installed = sorted({name for folder in folders for name in os.listdir(folder) if name.endswith(".dist-info")})
    return digest(sys.version, repr((installed, sorted(names))), digest_of_files(names))
