"""A Word document to the source of its plan: the text a paragraph a line, with what of it is the plan."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from groundlint.reading.word.doubts import ANYWHERE, SAYING, Doubt
from groundlint.reading.word.layout import Layout
from groundlint.reading.word.names import w
from groundlint.reading.word.opening import open_package, parts, related, tree_of
from groundlint.reading.word.styles import Styles
from groundlint.reading.word.walk import Walk
from groundlint.text import Diagnostic, Severity, Source, Span
from groundlint.text.decode import SIZE_LIMIT, check, visible
from groundlint.text.source import Marks

_FENCE = re.compile(r"\s*(`{3,}|~{3,})\s*(\S*)")
_BESIDE = ("header", "footer", "footnotes", "endnotes", "comments")
"""Parts in which no plan is read."""


class Document:
    """A Word document that was read: its package, its text as a source, and what stands for each stretch of that."""

    def __init__(self, data: bytes, name: str) -> None:
        """`NoDocumentError` where the bytes are no document that can be read."""
        self.package = open_package(data)
        styles = Styles(related(self.package, "styles"))
        self.layout = Layout(styles, related(self.package, "numbering"))
        self.taken = Walk(self.package.element.body, self.layout).taken
        text = self.taken.text
        fences, open_fence = _fences(text, self.taken.unwritten)
        plan = _together([*self._styled(), *self._boxes(text), *fences])
        paragraphs = tuple(one.start for one in self.taken.paragraphs)
        marks = Marks(tuple(plan), tuple(self.taken.unwritten), paragraphs)
        self.source = Source(name, text, marks)
        self.problems = tuple(self._problems(styles, open_fence))

    # ------------------------------------------------------------- where the plan is
    def _styled(self) -> Iterator[tuple[int, int]]:
        for one in self.taken.paragraphs:
            if one.styled:
                yield one.start, one.end + 1

    def _boxes(self, text: str) -> Iterator[tuple[int, int]]:
        """Tables of one cell that begin with `plan`; a table within one is no plan's line."""
        for start, end, lone in self.taken.tables:
            if lone and re.match(r"\s*plan\b", text[start:end], re.IGNORECASE):
                yield start, end
                inner = [
                    one for one in self.taken.tables if start <= one[0] and one[1] <= end and one[:2] != (start, end)
                ]
                self.taken.doubts += [Doubt(*one[:2], "table") for one in inner]

    # ------------------------------------------------------------- what is wrong
    def _problems(self, styles: Styles, open_fence: tuple[int, int] | None) -> Iterator[Diagnostic]:
        plan = self.source.marks.plan if self.source.marks else ()
        text = self.source.text
        masked, at = [], 0
        for start, end in plan:
            masked += [re.sub("[^\n]", " ", text[at:start]), text[start:end]]
            at = end
        for one in check(Source(self.source.name, "".join(masked) if len(text) <= SIZE_LIMIT else text)):
            span = self.source.span(one.span.start, one.span.end)
            yield Diagnostic(one.code, span, one.message, one.severity, one.mend, (), True)
        if open_fence is not None:
            yield _refused(
                "fence-not-closed", self.source.span(*open_fence), "this fence is never closed", "close it with ```"
            )
        doubts = {one for one in self.taken.doubts if one.code in ANYWHERE or _within(one, plan)}
        for start, end, run, style in self.taken.runs:
            if _within(Doubt(start, end, ""), plan) and not text[start:end].isspace():
                doubts |= {Doubt(start, end, code) for code in styles.looks(run, style, text[start:end])}
        doubts |= set(self._columns())
        for doubt in _merged(doubts, text):
            said, mend = SAYING[doubt.code]
            what = f" ({visible(doubt.what)})" if doubt.what else ""
            yield _refused(doubt.code, self.source.span(doubt.start, doubt.end), said + what, mend)
        for kind in _BESIDE:
            beside = [tree_of(part) for part in parts(self.package, kind)]
            every = (one for root in beside for one in root.iter(w("p")) if any(t.text for t in one.iter(w("t"))))
            if any(styles.is_plan(styles.of(one)) for one in every):
                said, mend = SAYING["elsewhere"]
                yield _refused("elsewhere", self.source.span(0, 0), f"{said} ({kind})", mend)

    def _columns(self) -> Iterator[Doubt]:
        """Paragraphs of the plan in other columns of a table than the first that has any."""
        first: dict[Any, int] = {}
        for one in self.taken.paragraphs:
            if one.styled and one.cell is not None and first.setdefault(one.cell[0], one.cell[1]) != one.cell[1]:
                yield Doubt(one.start, one.end, "columns")


def read_document(data: bytes, name: str) -> tuple[Source, tuple[Diagnostic, ...]]:
    """The source of a document's bytes, with what stands in its plan and is not read. `NoDocumentError` where the bytes
    are no document that can be read."""
    document = Document(data, name)
    return document.source, document.problems


def _refused(code: str, span: Span, message: str, mend: str) -> Diagnostic:
    return Diagnostic(code, span, message, Severity.DANGER, mend, (), True)


def _fences(text: str, unwritten: list[tuple[int, int, str]]) -> tuple[list[tuple[int, int]], tuple[int, int] | None]:
    """What stands in fences marked `tpg`, and the one that is never closed. Their marks stand in lines of their own."""
    found: list[tuple[int, int]] = []
    labels = {start: end for start, end, _ in unwritten}
    at = begin = opening = 0
    mark = word = ""
    while at < len(text):
        end = text.find("\n", at)
        matched = _FENCE.match(text, labels.get(at, at), end)
        if matched is not None:
            if mark and matched[1].startswith(mark) and not matched[2]:
                if word == "tpg":
                    found.append((begin, at))
                mark = ""
            elif not mark:
                mark, word, opening, begin = matched[1], matched[2].lower(), at, end + 1
        at = end + 1
    if mark and word == "tpg":
        return [*found, (begin, len(text))], (opening, begin - 1)
    return found, None


def _together(stretches: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Stretches in their order, those that touch as one."""
    found: list[tuple[int, int]] = []
    for start, end in sorted(stretches):
        if found and start <= found[-1][1]:
            found[-1] = found[-1][0], max(end, found[-1][1])
        elif start < end:
            found.append((start, end))
    return found


def _within(doubt: Doubt, plan: tuple[tuple[int, int], ...]) -> bool:
    """Whether a stretch, or a place between two characters, is in the plan."""
    from bisect import bisect_right

    at = bisect_right(plan, doubt.end if doubt.start == doubt.end else doubt.end - 1, key=lambda one: one[0])
    return bool(at) and doubt.start < plan[at - 1][1]


def _merged(doubts: set[Doubt], text: str) -> list[Doubt]:
    """Doubts in their order, those of one kind that touch in a line as one."""
    found: list[Doubt] = []
    last: dict[tuple[str, str], int] = {}
    for one in sorted(doubts):
        key = one.code, one.what
        at = last.get(key)
        if at is not None and found[at].end >= one.start and "\n" not in text[found[at].start : one.start]:
            found[at] = found[at]._replace(end=max(one.end, found[at].end))
        else:
            last[key] = len(found)
            found.append(one)
    return found
