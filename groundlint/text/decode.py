"""Bytes to a `Source`: any bytes at all give a text to read on with, and diagnostics for what is wrong with it.

A plan is UTF-8, with or without a byte order mark, its lines ended by LF or CRLF; both are kept. What cannot be seen on
a printed page must not change what a plan means, so control characters, invisible characters and those that turn the
direction of writing round are each reported, once a file, at the first place; none is taken out.
"""

from __future__ import annotations

import re

from groundlint.text.diagnostic import Diagnostic, Severity
from groundlint.text.source import Source

SIZE_LIMIT = 2_000_000
"""Bytes in a file; a plan of a thousand steps has a twentieth of that."""

_MARK = b"\xef\xbb\xbf"

# Lone carriage returns, C0 and C1 controls but for tab and line end, line and paragraph separators; soft hyphen and
# other invisible characters but for the joiners, which some scripts need; embeddings, overrides, isolates of direction.
_UNSEEN = re.compile(
    "(?P<cr>\r(?!\n))"
    "|(?P<control>[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029])"
    "|(?P<invisible>[\u00ad\u034f\u061c\u115f\u1160\u180e\u200b\u200e\u200f\u2060-\u2064\u206a-\u206f\u3164\ufeff\uffa0\ufff9-\ufffb])"
    "|(?P<direction>[\u202a-\u202e\u2066-\u2069])"
)
_SAYING = {
    "cr": (
        "lone-carriage-return",
        "a carriage return without a line feed ends no line here",
        "save the file with LF or CRLF line ends",
    ),
    "control": ("control-character", "the control character {code} stands here", "delete it"),
    "invisible": (
        "invisible-character",
        "the invisible character {code} stands here; two names that look alike may differ by it",
        "delete it",
    ),
    "direction": (
        "direction-character",
        "the character {code} turns the direction of writing round, so that the line may not say what it shows",
        "delete it",
    ),
}


def visible(text: str, *marks: str) -> str:
    """Text for a screen: each character that does not show, or would steer the screen, as its code in brackets.
    ``marks`` are our own and stay."""
    if text.isascii() and text.isprintable():
        return text
    parts = re.split(f"({'|'.join(map(re.escape, marks))})", text) if marks else [text]
    return "".join(part if at % 2 else _UNSEEN.sub(_code, part) for at, part in enumerate(parts))


def visible_name(name: str) -> str:
    """A file's name in one line, whatever characters it is made of."""
    return visible(re.sub("[\r\n\t]", _code, name))


def _code(found: re.Match[str]) -> str:
    return f"[U+{ord(found[0]):04X}]"


def decode(data: bytes, name: str, limit: int = SIZE_LIMIT) -> tuple[Source, tuple[Diagnostic, ...]]:
    """The source of a file's bytes, with what is wrong with them, in order of place. Never raises.

    ``name`` is the file as the user knows it. More than ``limit`` bytes are not read at all: the source is empty. Bytes
    that are not UTF-8 are replaced by U+FFFD. Every diagnostic is marked unread, so the review cannot come out clean.
    """
    if len(data) > limit:
        source = Source(name, "")
        message = f"the file has more than the {limit:,} bytes that are read"
        return source, (_unread("file-too-large", source, 0, 0, message, "divide the plan into files"),)
    if utf16 := _utf16(data):
        source = Source(name, data.decode(utf16, "replace"))
        message = "the file is in UTF-16, and UTF-8 is read"
        return source, (_unread("not-utf-8", source, 0, 0, message, "save the file as UTF-8"), *_unseen(source))
    if data.startswith(_MARK):
        data = data[len(_MARK) :]
    try:
        source = Source(name, data.decode())
    except UnicodeDecodeError as error:
        source = Source(name, data.decode("utf-8", "replace"))
        return source, tuple(sorted((_not_utf8(source, data, error), *_unseen(source)), key=lambda d: d.span.start))
    return source, _unseen(source)


def check(source: Source, limit: int = SIZE_LIMIT) -> tuple[Diagnostic, ...]:
    """The same for a text that came decoded, as an editor sends it. The limit is held against its length in UTF-8."""
    if len(source.text) > limit or len(source.text.encode("utf-8", "surrogatepass")) > limit:
        message = f"the text has more than the {limit:,} bytes that are read"
        return (_unread("file-too-large", source, 0, 0, message, "divide the plan into files"),)
    return _unseen(source)


def _utf16(data: bytes) -> str:
    """Which form of UTF-16 bytes are in, by their mark or, without one, by their first two letters; empty for none."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    zeros = [byte == 0 for byte in data[:4]]
    if zeros == [False, True] * 2:
        return "utf-16-le"
    return "utf-16-be" if zeros == [True, False] * 2 else ""


def _not_utf8(source: Source, data: bytes, error: UnicodeDecodeError) -> Diagnostic:
    start = len(data[: error.start].decode())
    others = source.text.count("\ufffd") - data.count("\ufffd".encode()) - 1
    message = f"the byte 0x{data[error.start]:02X} here is not UTF-8"
    if others > 0:
        message += f"; nor are {others} more" if others > 1 else "; nor is 1 more"
    return _unread("not-utf-8", source, start, start + 1, message, "save the file as UTF-8")


def _unseen(source: Source) -> tuple[Diagnostic, ...]:
    """One diagnostic for each kind of character that does not show, at its first place, in order of place."""
    first: dict[str, tuple[int, str]] = {}
    count: dict[str, int] = {}
    for found in _UNSEEN.finditer(source.text):
        sort = found.lastgroup or ""
        first.setdefault(sort, (found.start(), found[0]))
        count[sort] = count.get(sort, 0) + 1
    diagnostics = []
    for sort, (start, character) in first.items():
        code, message, mend = _SAYING[sort]
        message = message.format(code=f"U+{ord(character):04X}")
        if count[sort] > 1:
            message += f" ({count[sort] - 1} more of this kind)"
        diagnostics.append(_unread(code, source, start, start + 1, message, mend))
    return tuple(diagnostics)


def _unread(code: str, source: Source, start: int, end: int, message: str, mend: str) -> Diagnostic:
    return Diagnostic(code, source.span(start, end), message, Severity.DANGER, mend, (), True)
