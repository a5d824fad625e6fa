"""A small fuzzer: texts are changed where their structure lies (lines, words, numbers, quotes), now and then by bytes;
a text that comes to a line of the code that none came to before is kept, and changed further.
"""

from __future__ import annotations

import re
import sys
import time
import traceback
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from types import CodeType, FrameType
from typing import Any

from fuzz_targets import TARGETS, Target

import groundlint

PACKAGE = str(Path(groundlint.__file__).parent)
CORPUS = Path(__file__).parent / "corpus"
LARGEST = 20_000
"""Bytes of a text, so that an execution stays cheap."""
MOST_LINES = 30_000_000
"""Lines of watched code that one execution may run: past them it is taken for one that does not end."""

_PIECE = re.compile(rb"\s+|\w+|\"[^\"\n]*\"|.", re.DOTALL)
_NUMBER = re.compile(rb"[0-9]+(?:\.[0-9]+)?")
NUMBERS = b"0 -1 1 1e308 1e-308 nan inf 999999999999999999999 0.0000001 2/0 1..9".split()
SIGNS = "\" # ( ) , .. [ ] { } = ' \\ ``` | > \x00 \u202e \ufeff".encode()
ODD = (*SIGNS.split(b" "), b"\n", b"\r\n", b"\t", b"\xff", b"  ")


def changed(data: bytes, others: Sequence[bytes], rng: Random) -> bytes:
    """A text with one thing to four otherwise."""
    for _ in range(rng.choice((1, 1, 2, 4))):
        data = rng.choice(_CHANGES)(data, others, rng)
    return data[:LARGEST]


def _lines(data: bytes, others: Sequence[bytes], rng: Random) -> bytes:
    lines = data.split(b"\n")
    at, to = rng.randrange(len(lines)), rng.randrange(len(lines))
    how = rng.randrange(5)
    if how == 0:
        del lines[at]
    elif how == 1:
        lines.insert(to, lines[at])
    elif how == 2:
        lines[at], lines[to] = lines[to], lines[at]
    elif how == 3:
        lines.insert(at, rng.choice(rng.choice(others).split(b"\n")))
    else:
        lines[at : at + rng.randrange(1, 12)] = []
    return b"\n".join(lines)


def _words(data: bytes, others: Sequence[bytes], rng: Random) -> bytes:
    pieces = _PIECE.findall(data) or [b""]
    at = rng.randrange(len(pieces))
    other = _PIECE.findall(rng.choice(others)) or [b""]
    how = rng.randrange(5)
    if how == 0:
        pieces[at] = rng.choice(other)
    elif how == 1:
        pieces.insert(at, b" " + rng.choice(pieces) + b" ")
    elif how == 2:
        del pieces[at]
    elif how == 3:
        pieces[at] = rng.choice(pieces)
    else:
        pieces[at] = pieces[at].upper() if rng.randrange(2) else pieces[at] * rng.choice((2, 50))
    return b"".join(pieces)


def _numbers(data: bytes, _others: Sequence[bytes], rng: Random) -> bytes:
    found = list(_NUMBER.finditer(data))
    if not found:
        return data
    one = rng.choice(found)
    return data[: one.start()] + rng.choice(NUMBERS) + data[one.end() :]


def _odd(data: bytes, _others: Sequence[bytes], rng: Random) -> bytes:
    at = rng.randrange(len(data) + 1)
    return data[:at] + rng.choice(ODD) * rng.choice((1, 1, 1, 200)) + data[at + rng.randrange(3) :]


def _spliced(data: bytes, others: Sequence[bytes], rng: Random) -> bytes:
    other = rng.choice(others)
    at, to = rng.randrange(len(data) + 1), rng.randrange(len(other) + 1)
    return data[:at] + other[to:]


_CHANGES = (_lines, _lines, _words, _words, _words, _numbers, _odd, _spliced)


# ------------------------------------------------------------------ coverage
class TooMuchError(Exception):
    """An execution ran more lines than any should."""


@contextmanager
def watching(folders: tuple[str, ...], seen: set[tuple[CodeType, int]]) -> Iterator[None]:
    """Adds to ``seen`` the lines that run in some folders of the package."""
    prefixes = tuple(f"{PACKAGE}/{folder}/" for folder in folders)
    wanted: dict[CodeType, bool] = {}
    left = MOST_LINES

    def line(frame: FrameType, event: str, _what: Any) -> Any:
        nonlocal left
        if event == "line":
            seen.add((frame.f_code, frame.f_lineno))
            left -= 1
            if not left:
                raise TooMuchError
        return line

    def call(frame: FrameType, _event: str, _what: Any) -> Any:
        code = frame.f_code
        if code not in wanted:
            wanted[code] = code.co_filename.startswith(prefixes)
        return line if wanted[code] else None

    before = sys.gettrace()
    sys.settrace(call)
    try:
        yield
    finally:
        sys.settrace(before)


# ------------------------------------------------------------------ the loop
@dataclass
class Tally:
    """What a target came to: executions, lines seen, texts kept, and faults by where they arise, each with its text."""

    executions: int = 0
    lines: set[tuple[CodeType, int]] = field(default_factory=set)
    kept: list[bytes] = field(default_factory=list)
    faults: dict[str, bytes] = field(default_factory=dict)


def seeds_of(name: str) -> list[bytes]:
    """The texts to begin with: those of the repository, and those that were kept."""
    return [*TARGETS[name].seeds(), *(path.read_bytes() for path in sorted((CORPUS / name).glob("*")))]


def fuzz(name: str, rng: Random, going_on: Callable[[int], bool], first: int = 1000) -> Tally:
    """Executes a target for as long as asked: so many seeds as they are, in a drawn order, then changed texts."""
    target, tally = TARGETS[name], Tally()
    pool = seeds_of(name)
    waiting = rng.sample(pool, min(first, len(pool)))
    while going_on(tally.executions):
        data = waiting.pop() if waiting else changed(rng.choice(pool), pool, rng)
        new = execute(target, data, tally)
        if new and data not in pool:
            pool.append(data)
            tally.kept.append(data)
    return tally


def execute(target: Target, data: bytes, tally: Tally) -> int:
    """One execution; how many lines it came to first."""
    tally.executions += 1
    before = len(tally.lines)
    try:
        with watching(target.watched, tally.lines):
            target.cheap(data)
        if target.whole is not None:
            target.whole(data)
    except Exception as error:
        place = traceback.extract_tb(error.__traceback__)[-1]
        where = f"{type(error).__name__} at {Path(place.filename).name}:{place.lineno}"
        if len(data) < len(tally.faults.get(where, data + b" ")):
            tally.faults[where] = data
    return len(tally.lines) - before


def for_seconds(seconds: float) -> Callable[[int], bool]:
    """Goes on for so much processor time, so that a busy machine tries as much as a quiet one."""
    end = time.process_time() + seconds
    return lambda _: time.process_time() < end
