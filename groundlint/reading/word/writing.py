"""What is written into a Word document: findings as comments on their very words, and repairs as tracked changes.

Runs are cut where words begin and end, and keep their look; no word of the text is changed.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence
from copy import deepcopy
from difflib import SequenceMatcher
from itertools import accumulate
from typing import Any, NamedTuple

from groundlint.reading.word.names import PARAGRAPHS, XML_SPACE, child, w
from groundlint.reading.word.opening import packed, related
from groundlint.reading.word.plan import Document
from groundlint.reading.word.walk import Paragraph, Piece

AUTHOR = "groundlint"
"""Whose comments and changes these are; those of a comment's author of this name are replaced."""


class Note(NamedTuple):
    """What to say of a stretch of the text."""

    start: int
    end: int
    text: str


class Writer:
    """Writes into one document; offsets are those of its text as it was read."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.text = document.source.text
        self.pieces = [one for one in document.walk.pieces if one.start < one.end]
        self.paragraphs = document.walk.paragraphs

    def data(self) -> bytes:
        """The document's bytes as it is now."""
        return packed(self.document.package)

    # ------------------------------------------------------------- comments
    def comment(self, notes: Sequence[Note]) -> None:
        """Puts notes into the document as comments. Of this author's that stand in it those stay, with their answers,
        that say the same at the same words; the others go."""
        wanted = dict.fromkeys(notes)
        for one in self._own():
            start, end = self.document.walk.comments.get(one.get(w("id")), (-1, -1))
            note = Note(start, end, "\n".join("".join(p.itertext(w("t"))) for p in one.iterchildren(w("p"))))
            kept = next((each for each in wanted if each.text == note.text and self._range(each) == note[:2]), None)
            if kept is not None:
                del wanted[kept]
            else:
                self._take_away(one)
        for note in wanted:
            self._put(note)

    def _own(self) -> list[Any]:
        comments = related(self.document.package, "comments")
        every = comments.iterchildren(w("comment")) if comments is not None else ()
        return [one for one in every if one.get(w("author")) == AUTHOR]

    def _take_away(self, comment: Any) -> None:
        number, body = comment.get(w("id")), self.document.package.element.body
        for name in ("commentRangeStart", "commentRangeEnd", "commentReference"):
            for mark in [one for one in body.iter(w(name)) if one.get(w("id")) == number]:
                run = mark.getparent()
                run.remove(mark)
                if run.tag == w("r") and all(one.tag == w("rPr") for one in run):
                    run.getparent().remove(run)
        gone = {one.get(f"{{{PARAGRAPHS}}}paraId") for one in comment.iter(w("p"))}
        comment.getparent().remove(comment)
        self._forget(gone)

    def _forget(self, gone: set[str | None]) -> None:
        """Takes comments out of the list of threads; an answer to one of them stands by itself then."""
        for relation in self.document.package.part.rels.values():
            if relation.is_external or not relation.reltype.endswith("/commentsExtended"):
                continue
            from docx.opc.oxml import parse_xml, serialize_part_xml

            part = relation.target_part
            root: Any = parse_xml(part.blob)
            for one in list(root):
                names = {name.rpartition("}")[2]: name for name in one.keys()}  # noqa: SIM118
                if one.get(names.get("paraIdParent", "")) in gone - {None}:
                    del one.attrib[names["paraIdParent"]]
                if one.get(names.get("paraId", "")) in gone - {None}:
                    root.remove(one)
            part._blob = serialize_part_xml(root)

    def _put(self, note: Note) -> None:
        from docx.text.run import Run

        package = self.document.package
        runs = self.runs(*self._range(note))
        if not runs:
            paragraph = self._paragraph(note.start)
            if paragraph is None:
                return
            runs = [paragraph.element.add_r()]
        made = package.add_comment([Run(one, package) for one in runs], note.text, AUTHOR, "gl")
        made._comment_elm.attrib.pop(w("date"), None)  # the same bytes for the same findings

    def _range(self, note: Note) -> tuple[int, int]:
        """The words that a comment is on: those of the note that somebody typed; if nobody did, those of its paragraph,
        or of the first paragraph that has any."""
        for start, end in (
            (note.start, note.end),
            self._whole(note.start),
            (note.start, len(self.text)),
            (0, len(self.text)),
        ):
            typed = [
                one for one in self._between(start, end) if self.text[max(start, one.start) : min(end, one.end)].strip()
            ]
            if typed:
                if end == len(self.text):  # one paragraph is enough
                    start, end = self._whole(typed[0].start)
                    typed = self._between(start, end)
                return max(start, typed[0].start), min(end, typed[-1].end)
        return note.start, note.start

    def _whole(self, at: int) -> tuple[int, int]:
        found = self._paragraph(at)
        return (found.start, found.end) if found is not None else (at, at)

    def _paragraph(self, at: int) -> Paragraph | None:
        found = bisect_right(self.paragraphs, at, key=lambda one: one.start)
        return self.paragraphs[found - 1] if found else None

    # ------------------------------------------------------------- runs
    def _between(self, start: int, end: int) -> list[Piece]:
        first = bisect_right(self.pieces, start, key=lambda one: one.end)
        found = []
        for one in self.pieces[first:]:
            if one.start >= end:
                break
            found.append(one)
        return found

    def runs(self, start: int, end: int) -> list[Any]:
        """The runs of a stretch of the text, cut at its ends."""
        self._cut(start)
        self._cut(end)
        return list(dict.fromkeys(one.run for one in self._between(start, end)))

    def _cut(self, at: int) -> None:
        """Sees to it that a run begins at a place, if it is in one."""
        found = bisect_right(self.pieces, at, key=lambda one: one.end)
        if found == len(self.pieces) or self.pieces[found].start > at:
            return
        piece = self.pieces[found]
        if at > piece.start:
            node = piece.node
            whole = node.text or ""
            if node.get(XML_SPACE) != "preserve":
                whole = whole.strip(" \t\r\n")
            rest = deepcopy(node)
            for one, text in ((node, whole[: at - piece.start]), (rest, whole[at - piece.start :])):
                one.text = text
                one.set(XML_SPACE, "preserve")
            rest.tail = None
            node.addnext(rest)
            self.pieces[found : found + 1] = [
                Piece(piece.start, at, piece.run, node),
                Piece(at, piece.end, piece.run, rest),
            ]
            found += 1
        piece = self.pieces[found]
        if found and self.pieces[found - 1].run is piece.run:
            self._split(found)

    def _split(self, first: int) -> None:
        """Makes a run of its own of a piece of one and what comes after it there."""
        run, node = self.pieces[first].run, self.pieces[first].node
        made = run.makeelement(run.tag, dict(run.attrib), run.nsmap)
        look = child(run, "rPr")
        if look is not None:
            made.append(deepcopy(look))
        at = node
        while at.getparent() is not run:  # within a choice of contents
            at = at.getparent()
        for one in [at, *at.itersiblings()]:
            made.append(one)
        run.addnext(made)
        for place in range(first, len(self.pieces)):
            if self.pieces[place].run is not run:
                break
            self.pieces[place] = self.pieces[place]._replace(run=made)

    # ------------------------------------------------------------- tracked changes
    def propose(self, text: str) -> None:
        """Makes of the document's text another, by tracked changes that nobody has accepted: lines put in, taken out
        and worded anew. A line put in beside one that a list numbers is numbered by the list."""
        self._changes = max((int(one) for one in self._identities() if one.isdigit()), default=0)
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

    def _identities(self) -> list[str]:
        return [
            one.get(w("id"), "") for one in self.document.package.element.body.iter(w("ins"), w("del"), w("rPrChange"))
        ]

    def _change(self, name: str) -> Any:
        self._changes += 1
        made = self.document.package.element.body.makeelement(w(name), None, None)
        made.set(w("id"), str(self._changes))
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
        start = (
            self.document.source.line_starts[line] if line < len(self.document.source.line_starts) else len(self.text)
        )
        within = bisect_right(self.paragraphs, start, key=lambda one: one.start) - 1
        if within >= 0 and self.paragraphs[within].start < start <= self.paragraphs[within].end:
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
        return self._paragraph(at) if any(start <= at < end for start, end in plan) else None

    def _listed(self, paragraph: Paragraph) -> bool:
        """Whether a paragraph is numbered by a list."""
        return bool(
            self.document.walk.list_of(
                child(paragraph.element, "pPr"), self.document.walk.styles.of(paragraph.element)
            )[0]
        )

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
        self._cut(at)
        before = [one for one in self._between(*self._whole(at)) if one.end <= at]
        after = [one for one in self._between(*self._whole(at)) if one.start >= at]
        if before and not ends:
            run = before[-1].run
            while (
                run.getnext() is not None and run.getnext().tag == w("ins") and run.getnext().get(w("author")) == AUTHOR
            ):
                run = run.getnext()
            run.addnext(self._inserted(text, before[-1].run))
        elif after:
            after[0].run.addprevious(self._inserted(text, after[0].run, ends=ends))

    def _reword(self, line: int, text: str) -> None:
        start, end = self._bounds(line)
        old, new = re.findall(r"\s+|\S+", self.text[start:end]), re.findall(r"\s+|\S+", text)
        places = [start, *accumulate(map(len, old), initial=start)][1:]
        for what, first, last, begin, stop in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
            if what != "equal":
                put = "".join(new[begin:stop])
                if put:
                    self._insert(places[last], put)
                self._delete(places[first], places[last])

    def _delete_line(self, line: int) -> None:
        start, end = self._bounds(line)
        paragraph = self._paragraph(start)
        self._delete(start, end + 1)
        if paragraph is not None and (paragraph.start, paragraph.end) == (start, end):
            properties = paragraph.element.get_or_add_pPr()
            _marked(properties).insert(0, self._change("del"))

    def _delete(self, start: int, end: int) -> None:
        for run in self.runs(start, end):
            change = self._change("del")
            run.addprevious(change)
            change.append(run)
            for words in run.iterchildren(w("t")):
                words.tag = w("delText")


_TYPED = re.compile(r"\s*[0-9]{1,6}[a-z]?[.)]\s+")


def _marked(properties: Any) -> Any:
    """The look of a paragraph's mark, made where there is none."""
    mark = child(properties, "rPr")
    if mark is None:
        mark = properties.makeelement(w("rPr"), None, None)
        properties.insert_element_before(mark, "w:sectPr", "w:pPrChange")
    return mark


def _alike(old: str, new: str) -> bool:
    return SequenceMatcher(None, old.split(), new.split(), autojunk=False).ratio() > 0.5
