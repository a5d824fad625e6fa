"""The layout of rule and book files: blocks that begin in the first column, and indented clauses in them.

A clause goes on over the lines below it that are indented deeper. `#` after white space starts a comment, but not
within double quotes and not in the lines of an example, which are lines of a plan and have comments of their own.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from groundlint.text import Diagnostic, Severity, Source, Span

EXAMPLES = ("passes", "nearmiss", "fails", "reworded", "unshown", "exempts")
LACKS = "lacks"
"""The clause that says why a rule has no examples of a kind."""
MARKERS = "|>-"


def mistake(code: str, span: Span, message: str, mend: str = "") -> Diagnostic:
    """What is wrong in a rule or book file; such a file cannot be used, so each is of the gravest kind."""
    return Diagnostic(code, span, message, Severity.DANGER, mend, unread=True)


@dataclass(frozen=True, slots=True)
class ExampleLine:
    """A line of an example: its marker (``|`` plain, ``>`` where the finding falls, ``-`` taken out of the base)."""

    marker: str
    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Clause:
    """A clause: the word that opens it, where what follows stands, and the example lines below it."""

    word: str
    word_span: Span
    body: Span
    lines: tuple[ExampleLine, ...] = ()


@dataclass(slots=True)
class Block:
    """A ``rule``, ``book`` or ``condition`` with its clauses; ``head`` is what follows the word on its line."""

    word: str
    word_span: Span
    head: Span
    clauses: list[Clause] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Layout:
    """A file's blocks, and its text with comments blanked out, offset for offset."""

    source: Source
    clean: str
    blocks: tuple[Block, ...]
    problems: tuple[Diagnostic, ...]


def comment_start(line: str) -> int:
    """Where the comment of a line starts, or the line's length if it has none."""
    quoted = False
    for at, letter in enumerate(line):
        if letter == '"':
            quoted = not quoted
        elif letter == "#" and not quoted and (at == 0 or line[at - 1].isspace()):
            return at
    return len(line)


def lay_out(source: Source) -> Layout:
    """Split a file into blocks and clauses."""
    reader = _Reader(source)
    for number in range(1, len(source.line_starts) + 1):
        reader.line(number)
    reader.close_clause()
    return Layout(source, "".join(reader.clean), tuple(reader.blocks), tuple(reader.problems))


class _Reader:
    def __init__(self, source: Source) -> None:
        self.source = source
        self.clean: list[str] = list(source.text)
        self.blocks: list[Block] = []
        self.problems: list[Diagnostic] = []
        self.indent: int | None = None  # of the clauses of the block at hand, once it has one
        self.word: Span | None = None  # of the clause at hand
        self.end = 0
        self.examples: list[ExampleLine] = []

    def line(self, number: int) -> None:
        start = self.source.line_starts[number - 1]
        raw = self.source.line_text(number)
        stripped = raw.lstrip(" ")
        indent = len(raw) - len(stripped)
        deeper = self.indent is not None and indent > self.indent and self.word is not None
        if deeper and self.word is not None and self.word.text in EXAMPLES and stripped[:1] in tuple(MARKERS):
            span = self.source.span(start + indent, start + len(raw.rstrip()))
            # one space after the marker belongs to the marker; the rest is the plan's own indentation
            text = stripped[2:] if stripped[1:2] == " " else stripped[1:]
            self.examples.append(ExampleLine(stripped[0], text.rstrip(), span))
            self.clean[start : start + len(raw)] = " " * len(raw)
            return
        cut = comment_start(raw)
        self.clean[start + cut : start + len(raw)] = " " * (len(raw) - cut)
        text = raw[:cut].rstrip()
        if not text.strip():
            return
        end = start + len(text)
        if "\t" in text[: len(text) - len(text.lstrip())]:
            self.problems.append(
                mistake("tab-indent", self.source.span(start, end), "a tab indents this line; indent with spaces")
            )
            return
        if indent == 0:
            self.open_block(start, end)
        elif not self.blocks:
            span = self.source.span(start + indent, end)
            self.problems.append(
                mistake("stray-clause", span, "an indented line before any `rule`, `condition` or `book`")
            )
        elif self.blocks[-1].word == "condition":
            block = self.blocks[-1]
            block.head = self.source.span(block.head.start, end)
        elif deeper:
            self.end = end
        else:
            self.open_clause(start + indent, end, indent)

    def open_block(self, start: int, end: int) -> None:
        self.close_clause()
        self.indent = None
        stop = self._word_end(start, end)
        self.blocks.append(
            Block(
                self.source.text[start:stop],
                self.source.span(start, stop),
                self.source.span(min(self._skip(stop, end), end), end),
            )
        )

    def open_clause(self, start: int, end: int, indent: int) -> None:
        self.close_clause()
        if self.indent is not None and indent != self.indent:
            span = self.source.span(start, end)
            self.problems.append(
                mistake(
                    "uneven-indent",
                    span,
                    f"a clause indented by {indent} where the others of its block are indented by {self.indent}",
                )
            )
        self.indent = indent if self.indent is None else self.indent
        stop = self._word_end(start, end)
        self.word = self.source.span(start, stop)
        self.end = end

    def close_clause(self) -> None:
        if self.word is None:
            return
        start = min(self._skip(self.word.end, self.end), self.end)
        body = self.source.span(start, max(start, self.end))
        self.blocks[-1].clauses.append(Clause(self.word.text, self.word, body, tuple(self.examples)))
        self.word = None
        self.examples = []

    def _word_end(self, start: int, end: int) -> int:
        text = self.source.text
        while start < end and not text[start].isspace():
            start += 1
        return start

    def _skip(self, start: int, end: int) -> int:
        text = self.source.text
        while start < end and text[start].isspace():
            start += 1
        return start
