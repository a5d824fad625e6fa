"""Repairs proposed to whoever answers for a document, as tracked changes."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence
from copy import deepcopy
from difflib import SequenceMatcher
from itertools import accumulate
from typing import Any

from groundlint.reading.word.names import XML_SPACE, child, w
from groundlint.reading.word.runs import AUTHOR, Runs
from groundlint.reading.word.walk import Paragraph
from groundlint.text.numbering import WRITTEN


class Proposals:
    """The tracked changes of one document."""

    def __init__(self, runs: Runs) -> None:
        self.runs = runs
        self.text = runs.text
        self.document = runs.document
        self.body = self.document.package.element.body
        numbers = [one.get(w("id"), "") for one in self.body.iter(w("ins"), w("del"), w("rPrChange"))]
        self.changes = max((int(one) for one in numbers if one.isdigit()), default=0)

    def write(self, text: str) -> None:
        """Makes of the document's text another, by tracked changes that nobody has accepted: lines put in, taken out
        and worded anew. A line put in beside one that a list numbers is numbered by the list."""
        old, new = self.text.split("\n"), text.split("\n")
        for what, first, last, begin, end in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
            if what == "equal":
                continue
            put, at = list(new[begin:end]), first
            for line in range(first, last):
                like = next((i for i, one in enumerate(put) if _alike(old[line], one)), None)
                if like is None:
                    self._delete_line(line)
                    continue
                self._insert_lines(line, put[:like])
                self._reword(line, put[like])
                put, at = put[like + 1 :], line + 1
            self._insert_lines(max(at, last), put)

    def _change(self, name: str) -> Any:
        self.changes += 1
        made = self.body.makeelement(w(name), None, None)
        made.set(w("id"), str(self.changes))
        made.set(w("author"), AUTHOR)
        return made

    def _bounds(self, line: int) -> tuple[int, int]:
        source = self.document.source
        start = source.line_starts[line]
        return start, start + len(source.line_text(line + 1))

    def _insert_lines(self, line: int, texts: Sequence[str]) -> None:
        """Puts lines in before a line: paragraphs like the one above, or the one below where that is no plan's."""
        if not texts:
            return
        starts = self.document.source.line_starts
        start = starts[line] if line < len(starts) else len(self.text)
        within = bisect_right(self.runs.paragraphs, start, key=lambda one: one.start) - 1
        if within >= 0 and self.runs.paragraphs[within].start < start <= self.runs.paragraphs[within].end:
            for text in texts:  # between two lines of one paragraph
                self._insert(start, text, ends=True)
            return
        above, below = self._planned(start - 1), self._planned(start)
        for text in texts:
            typed = _TYPED.match(text)
            like = next((one for one in (above, below) if one and typed and self._listed(one)), above or below)
            assert like is not None, "what mends a plan stands beside a line of it"
            made = self._new_paragraph(like, text[typed.end() if typed and self._listed(like) else 0 :].strip())
            if above is not None:
                above.element.addnext(made)
                above = above._replace(element=made)
            elif below is not None:
                below.element.addprevious(made)

    def _planned(self, at: int) -> Paragraph | None:
        """The paragraph of the plan at a place."""
        plan = self.document.source.marks.plan if self.document.source.marks else ()
        return self.runs.paragraph(at) if any(start <= at < end for start, end in plan) else None

    def _listed(self, paragraph: Paragraph) -> bool:
        """Whether a paragraph is numbered by a list."""
        style = self.document.layout.styles.of(paragraph.element)
        return bool(self.document.layout.list_of(child(paragraph.element, "pPr"), style)[0])

    def _new_paragraph(self, like: Paragraph, text: str) -> Any:
        from docx.oxml.parser import OxmlElement

        made: Any = OxmlElement("w:p")
        look = child(like.element, "pPr")
        if look is not None:
            made.append(deepcopy(look))
        properties = made.get_or_add_pPr()
        for name in ("sectPr", "rPr"):
            for one in properties.findall(w(name)):
                properties.remove(one)
        _marked(properties).append(self._change("ins"))
        made.append(self._inserted(text, next(iter(like.element.iter(w("r"))), None)))
        return made

    def _inserted(self, text: str, like: Any, *, ends: bool = False) -> Any:
        from docx.oxml.parser import OxmlElement

        change, run = self._change("ins"), OxmlElement("w:r")
        look = child(like, "rPr")
        if look is not None:
            run.append(deepcopy(look))
        words: Any = OxmlElement("w:t")
        words.text = text
        words.set(XML_SPACE, "preserve")
        run.append(words)
        if ends:
            run.append(OxmlElement("w:br"))
        change.append(run)
        return change

    def _insert(self, at: int, text: str, *, ends: bool = False) -> None:
        """Puts words in at a place, in the look of those before them, or after them where none are."""
        self.runs.cut(at)
        before = [one for one in self.runs.between(*self.runs.whole(at)) if one.end <= at]
        after = [one for one in self.runs.between(*self.runs.whole(at)) if one.start >= at]
        if before and not ends:
            run = before[-1].run
            beside = run.getparent() if run.getparent().tag == w("del") else run
            beside.addnext(self._inserted(text, run))
        elif after:
            after[0].run.addprevious(self._inserted(text, after[0].run, ends=ends))

    def _reword(self, line: int, text: str) -> None:
        start, end = self._bounds(line)
        old, new = re.findall(r"\s+|\S+", self.text[start:end]), re.findall(r"\s+|\S+", text)
        places = list(accumulate(map(len, old), initial=start))
        for what, first, last, begin, stop in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
            if what != "equal":
                put = "".join(new[begin:stop])
                if put:
                    self._insert(places[last], put)
                self._delete(places[first], places[last])

    def _delete_line(self, line: int) -> None:
        start, end = self._bounds(line)
        paragraph = self.runs.paragraph(start)
        self._delete(start, end + 1)
        if paragraph is not None and (paragraph.start, paragraph.end) == (start, end):
            properties = paragraph.element.get_or_add_pPr()
            _marked(properties).insert(0, self._change("del"))

    def _delete(self, start: int, end: int) -> None:
        for run in self.runs.of(start, end):
            change = self._change("del")
            run.addprevious(change)
            change.append(run)
            for words in run.iterchildren(w("t")):
                words.tag = w("delText")


_TYPED = re.compile(rf"\s*{WRITTEN}\s+")


def _marked(properties: Any) -> Any:
    """The look of a paragraph's mark, made where there is none."""
    mark = child(properties, "rPr")
    if mark is None:
        mark = properties.makeelement(w("rPr"), None, None)
        properties.insert_element_before(mark, "w:sectPr", "w:pPrChange")
    return mark


def _alike(old: str, new: str) -> bool:
    return SequenceMatcher(None, old.split(), new.split(), autojunk=False).ratio() > 0.5
