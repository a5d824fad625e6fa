"""The runs of a document, cut where words begin and end. They keep their look, and no word of the text is changed."""

from __future__ import annotations

from bisect import bisect_right
from copy import deepcopy
from typing import Any

from groundlint.reading.word.names import XML_SPACE, child
from groundlint.reading.word.plan import Document
from groundlint.reading.word.walk import Paragraph, Piece

AUTHOR = "groundlint"
"""Whose comments and changes are written; a comment of this author's is replaced."""


class Runs:
    """The runs of one document; offsets are those of its text as it was read."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.text = document.source.text
        self.pieces = [one for one in document.taken.pieces if one.start < one.end]
        self.paragraphs = document.taken.paragraphs

    def whole(self, at: int) -> tuple[int, int]:
        """The bounds of the paragraph at a place."""
        found = self.paragraph(at)
        return (found.start, found.end) if found is not None else (at, at)

    def paragraph(self, at: int) -> Paragraph | None:
        """The paragraph at a place."""
        found = bisect_right(self.paragraphs, at, key=lambda one: one.start)
        return self.paragraphs[found - 1] if found else None

    def between(self, start: int, end: int) -> list[Piece]:
        """The pieces that a stretch of the text has a part of."""
        first = bisect_right(self.pieces, start, key=lambda one: one.end)
        found = []
        for one in self.pieces[first:]:
            if one.start >= end:
                break
            found.append(one)
        return found

    def of(self, start: int, end: int) -> list[Any]:
        """The runs of a stretch of the text, cut at its ends."""
        self.cut(start)
        self.cut(end)
        return list(dict.fromkeys(one.run for one in self.between(start, end)))

    def cut(self, at: int) -> None:
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
