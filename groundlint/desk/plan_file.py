"""The one file that the page shows and writes."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from groundlint.text.decode import SIZE_LIMIT, decode
from groundlint.text.files import read_file, reason, write_bytes

_MARK = b"\xef\xbb\xbf"
_END = re.compile(r"\r\n|\n")
_NOT_KEPT = ("file-too-large", "not-utf-8", "lone-carriage-return")
"""What is wrong with bytes that a page could not give back as they were."""


class NotOpenedError(Exception):
    """The file can't be shown so that it can be written again; why, in words."""


@dataclass(frozen=True)
class Loaded:
    """The file as it was read: its ``text`` with its lines ended by LF, and what says later whether it is still so."""

    text: str
    seen: str


class PlanFile:
    """A plan on the disk. What was read and not changed is written back as it was: its mark, and the ends of lines."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def load(self) -> Loaded:
        """The text. Raises `NotOpenedError`."""
        if not self.path.resolve().is_relative_to(self.path.parent.resolve()):
            raise NotOpenedError("it is a link that leads elsewhere; name the file itself")
        try:
            data = read_file(self.path, SIZE_LIMIT + 1)
        except OSError as error:
            raise NotOpenedError(reason(error)) from None
        source, problems = decode(data, self.path.name)
        for problem in problems:
            if problem.code in _NOT_KEPT:
                raise NotOpenedError(f"{problem.message} ({problem.mend})")
        return Loaded(_END.sub("\n", source.text), _digest(data))

    def save(self, text: str, seen: str) -> Loaded | None:
        """Writes a text over the file that was ``seen``, and says what is seen then; None where another is there, which
        stays. Raises `OSError`, and `UnicodeEncodeError` for half a character."""
        old = self._data()
        if _digest(old) != seen:
            return None
        mark = _MARK if old is not None and old.startswith(_MARK) else b""
        before = (old or b"")[len(mark) :].decode("utf-8", "replace")
        data = mark + with_ends(text, before).encode("utf-8")
        if len(data) > SIZE_LIMIT:
            raise OSError(f"it has more than the {SIZE_LIMIT:,} bytes that are read of a plan")
        write_bytes(self.path, data)
        return Loaded(text, _digest(data))

    def seen(self) -> str:
        """What stands for the file as it now is."""
        return _digest(self._data())

    def _data(self) -> bytes | None:
        """The bytes that are there now; None where there is no file. Raises `OSError`, also where a link has taken the
        file's place, which must not be written through."""
        if not self.path.resolve().is_relative_to(self.path.parent.resolve()):
            raise OSError("it is now a link that leads elsewhere")
        try:
            return read_file(self.path, SIZE_LIMIT + 1)
        except FileNotFoundError:
            return None


def with_ends(text: str, old: str) -> str:
    """A text whose lines end by LF, with the ends that the lines of an old one have; a new line ends as most do."""
    ends = _END.findall(old)
    if not ends:
        return text
    usual, _ = Counter(ends).most_common(1)[0]
    if len(set(ends)) == 1:
        return text.replace("\n", usual)
    from difflib import SequenceMatcher

    lines, before = text.split("\n"), _END.split(old)
    found = [usual] * (len(lines) - 1)
    for first, mine, count in SequenceMatcher(None, before, lines, autojunk=False).get_matching_blocks():
        for at in range(count):
            if mine + at < len(found) and first + at < len(ends):
                found[mine + at] = ends[first + at]
    return "".join(f"{line}{end}" for line, end in zip(lines, [*found, ""], strict=True))


def _digest(data: bytes | None) -> str:
    return "" if data is None else sha256(data).hexdigest()
