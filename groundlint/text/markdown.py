"""Plans held in fenced blocks of a Markdown procedure: the blocks whose info string begins with the word ``tpg``.

Block structure follows CommonMark 0.31.2 as far as it decides what is a fence and where it ends: backtick and tilde
fences, longer fences around shorter ones, list items and block quotes with lazy lines, indented code, headings,
thematic breaks, and HTML blocks (so that a plan in a comment is none). A fence that is never closed runs to the end of
its container, and says so.

A scanner of its own, because a Markdown library takes longer to import than a review takes; the tests hold it against
one. Import this module only for a Markdown file: its patterns are made at import.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable


class Fence(NamedTuple):
    """A fenced plan. Offsets are code points into the Markdown text.

    The plan is the whole lines from ``start`` up to ``end``; ``opening`` is where the line of the opening fence begins.
    ``indent`` is how many columns stand before the plan's own text (take off at most that many blanks from each line),
    ``quotes`` the depth of block quotes whose ``>`` stand there too. ``closed`` is false if there is no closing fence.
    """

    opening: int
    start: int
    end: int
    indent: int
    quotes: int
    closed: bool


class _Container(NamedTuple):
    """An open list item whose content begins ``width`` columns into its parent, or a block quote (``width`` 0)."""

    width: int
    empty: bool = False  # nothing has followed the marker yet: a blank line then ends the item


class _Open(NamedTuple):
    """A fence that is open; ``wanted`` if it holds a plan."""

    mark: str
    opening: int
    start: int
    indent: int
    wanted: bool


DEEPEST = 20
"""Containers nested deeper are taken for text, so that time stays linear in the text whatever it holds."""

_BLANKS = re.compile(" *").match
_INFO = re.compile(r"(`{3,})(?=[^`]*$) *([^ ]*)|(~{3,}) *([^ ]*)").match
_QUOTE = re.compile(" {0,3}> ?").match
_MARKER = re.compile(r" {0,3}(?:[-+*]|([0-9]{1,9})[.)])(?= |$)").match
_BREAK = re.compile(r" {0,3}([-_*])(?: *\1){2,} *$").match
_HEADING = re.compile(r" {0,3}#{1,6}(?: |$)").match
_UNDERLINE = re.compile(r" {0,3}(?:=+|-+) *$").match
_RAW = "(?:script|pre|style|textarea)"
_TAGS = (
    "address article aside base basefont blockquote body caption center col colgroup dd details dialog dir div dl dt "
    "fieldset figcaption figure footer form frame frameset h1 h2 h3 h4 h5 h6 head header hr html iframe legend li link "
    "main menu menuitem nav noframes ol optgroup option p param search section summary table tbody td tfoot th thead "
    "title tr track ul"
).replace(" ", "|")
_HTML = tuple(
    (re.compile(" {0,3}" + begin, re.I).match, re.compile(end, re.I).search)
    for begin, end in (
        (f"<{_RAW}(?=[ >]|$)", f"</{_RAW}>"),
        ("<!--", "-->"),
        (r"<\?", r"\?>"),
        ("<![a-z]", ">"),
        (r"<!\[CDATA\[", "]]>"),
        (f"</?(?:{_TAGS})(?= |/?>|$)", "^ *$"),  # ends at a blank line
    )
)
_ATTRIBUTE = " +[a-z_:][a-z0-9_.:-]*(?: *= *(?:[^ \"'=<>`]+|'[^']*'|\"[^\"]*\"))?"
_LONE_TAG = re.compile(f" {{0,3}}(?:<[a-z][a-z0-9-]*(?:{_ATTRIBUTE})* */?>|</[a-z][a-z0-9-]* *>) *$", re.I).match
_BLANK_LINE = _HTML[-1][1]


WORD = "tpg"


def find_fences(text: str) -> tuple[Fence, ...]:
    """The fences whose info string begins with ``tpg``, in any case, in order. Never raises; linear in the text."""
    return _fences(text, WORD.__eq__)


def unmarked_fences(text: str) -> tuple[Fence, ...]:
    """The fences that have no info string, or one that begins with a word like ``tpg``: ``{.tpg}``, ``tgp``."""
    return _fences(text, lambda word: not word or (word != WORD and (WORD in word or sorted(word) == sorted(WORD))))


def _fences(text: str, wanted: Callable[[str], bool]) -> tuple[Fence, ...]:
    if "```" not in text and "~~~" not in text:
        return ()
    scanner = _Scanner(wanted)
    at = 0
    while at <= len(text):
        end = text.find("\n", at)
        end = len(text) if end < 0 else end
        scanner.line(text[at:end].rstrip("\r").expandtabs(4), at, min(end + 1, len(text)))
        at = end + 1
    scanner.end_fence(len(text), False)
    return tuple(scanner.found)


def mask(text: str, fences: Iterable[Fence]) -> str:
    """The text with everything outside the fences blanked, line ends kept: every offset and line stays what it was."""
    pieces: list[str] = []
    at = 0
    for fence in fences:
        pieces.append(_NOT_END.sub(" ", text[at : fence.start]))
        plan = text[fence.start : fence.end]
        if fence.quotes:
            plan = "".join(_unquoted(line, fence.quotes) for line in plan.splitlines(keepends=True))
        pieces.append(plan)
        at = fence.end
    pieces.append(_NOT_END.sub(" ", text[at:]))
    return "".join(pieces)


def unmask(text: str) -> str:
    """The text with every fence blanked, whatever it is marked as, its marks with it; offsets and lines stay."""
    pieces: list[str] = []
    at = 0
    for fence in _fences(text, lambda _word: True):
        end = text.find("\n", fence.end) if fence.closed else fence.end
        end = len(text) if end < 0 else end
        pieces += text[at : fence.opening], _NOT_END.sub(" ", text[fence.opening : end])
        at = end
    return "".join(pieces) + text[at:]


_NOT_END = re.compile(r"[^\r\n]")


def _unquoted(line: str, quotes: int) -> str:
    for _ in range(quotes):
        stripped = line.lstrip(" \t")
        if stripped[:1] == ">":
            line = " " * (len(line) - len(stripped) + 1) + stripped[1:]
    return line


class _Scanner:
    """Block structure, a line at a time, lines with tabs made blanks; ``found`` are the fences so far."""

    def __init__(self, wanted: Callable[[str], bool]) -> None:
        self.wanted = wanted
        self.found: list[Fence] = []
        self.containers: list[_Container] = []
        self.paragraph = False  # whether the last line can be continued by a lazy one
        self.fence: _Open | None = None
        self.html: Callable[[str], object] | None = None

    def line(self, line: str, at: int, after: int) -> None:
        """Takes in the line that stands at offset ``at``, the next being at ``after``."""
        matched, column = self._match(line)
        inside = matched == len(self.containers)
        if self.fence is not None:
            if inside:
                if self._closes(line, column):
                    self.end_fence(at, True)
                return
            self.end_fence(at, False)
        if self.html is not None:
            if inside:
                if self.html(line[column:]):
                    self.html = None
                return
            self.html = None
        if self._opens(line, column, matched, at, after):
            self.paragraph = False

    def end_fence(self, at: int, closed: bool) -> None:
        """Ends the open fence, if there is one, at an offset."""
        fence, self.fence = self.fence, None
        if fence is not None and fence.wanted:
            quotes = sum(container.width == 0 for container in self.containers)
            self.found.append(Fence(fence.opening, fence.start, at, fence.indent, quotes, closed))

    def _match(self, line: str) -> tuple[int, int]:
        """How many open containers the line goes on with, and the column after their marks."""
        column = 0
        for matched, container in enumerate(self.containers):
            if container.width == 0:
                quote = _QUOTE(line, column)
                if quote is None:
                    return matched, column
                column = quote.end()
                continue
            text = _blanks_end(line, column)
            if text == len(line):
                if container.empty:
                    return matched, column
                column = min(column + container.width, text)
            elif text - column >= container.width:
                column += container.width
            else:
                return matched, column
        return len(self.containers), column

    def _closes(self, line: str, column: int) -> bool:
        assert self.fence is not None
        text = line[column:].rstrip(" ")
        mark = text.lstrip(" ")
        return len(text) - len(mark) < 4 and mark.startswith(self.fence.mark) and not mark.strip(mark[0])

    def _opens(self, line: str, column: int, matched: int, at: int, after: int) -> bool:
        """Opens what the rest of the line begins; whether the line leaves no paragraph open."""
        lazy = self.paragraph
        while True:
            text = _blanks_end(line, column)
            if text == len(line):
                del self.containers[matched:]
                return True
            if text - column >= 4:
                break
            if (quote := _QUOTE(line, column)) and matched < DEEPEST:
                column, matched, lazy = quote.end(), self._push(matched, _Container(0)), False
                continue
            if info := _INFO(line, text):
                del self.containers[matched:]
                self._fill()
                wanted = self.wanted((info[2] or info[4] or "").lower())
                self.fence = _Open(info[1] or info[3], at, after, text, wanted)
                return True
            goes_on = lazy and matched == len(self.containers)
            if _HEADING(line, column) or self._html_begins(line, column, lazy):
                del self.containers[matched:]
                self._fill()
                return True
            if goes_on and _UNDERLINE(line, column):
                return True
            if _BREAK(line, column):
                del self.containers[matched:]
                self._fill()
                return True
            marker = _MARKER(line, column)
            if marker is None or matched >= DEEPEST:
                break
            content = _blanks_end(line, marker.end())
            empty = content == len(line)
            if goes_on and (empty or (marker[1] and int(marker[1]) != 1)):
                break
            width = marker.end() - column + 1 if empty or content - marker.end() > 4 else content - column
            column, matched, lazy = min(column + width, len(line)), self._push(matched, _Container(width, empty)), False
            if empty:
                return True
        if lazy:  # the paragraph goes on, in its containers, whatever marks are missing
            self._fill()
            return False
        del self.containers[matched:]
        self._fill()
        self.paragraph = text - column < 4
        return not self.paragraph

    def _push(self, matched: int, container: _Container) -> int:
        del self.containers[matched:]
        self._fill()
        self.containers.append(container)
        return matched + 1

    def _fill(self) -> None:
        """The innermost container holds something now."""
        if self.containers and self.containers[-1].empty:
            self.containers[-1] = _Container(self.containers[-1].width)

    def _html_begins(self, line: str, column: int, after_paragraph: bool) -> bool:
        if line[column:].lstrip(" ")[:1] != "<":
            return False
        for begins, ends in _HTML:
            if begins(line, column):
                self.html = None if ends(line[column:]) else ends
                return True
        if not after_paragraph and _LONE_TAG(line, column):
            self.html = _BLANK_LINE
            return True
        return False


def _blanks_end(line: str, column: int) -> int:
    found = _BLANKS(line, column)
    return found.end() if found else column
