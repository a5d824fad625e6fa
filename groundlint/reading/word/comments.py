"""What is said of a document, written into it as comments on the very words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from groundlint.reading.word.names import WORD_2010, WORD_2012, w
from groundlint.reading.word.opening import parts, related, tree_of
from groundlint.reading.word.runs import AUTHOR, Runs


class Note(NamedTuple):
    """What to say of a stretch of the text."""

    start: int
    end: int
    text: str


class Comments:
    """The comments of one document."""

    def __init__(self, runs: Runs) -> None:
        self.runs = runs
        self.text = runs.text
        self.document = runs.document

    def write(self, notes: Sequence[Note]) -> None:
        """Puts notes into the document as comments. Of this author's that stand in it those stay, with their answers,
        that say the same at the same words; the others go."""
        wanted = dict.fromkeys(notes)
        gone = []
        for one in self._own():
            start, end = self.document.taken.comments.get(one.get(w("id")), (-1, -1))
            note = Note(start, end, "\n".join("".join(p.itertext(w("t"))) for p in one.iterchildren(w("p"))))
            kept = next((each for each in wanted if each.text == note.text and self._range(each) == note[:2]), None)
            if kept is not None:
                del wanted[kept]
            else:
                gone.append(one)
        self._take_away(gone)
        for note in wanted:
            self._put(note)

    def _own(self) -> list[Any]:
        comments = related(self.document.package, "comments")
        every = comments.iterchildren(w("comment")) if comments is not None else ()
        return [one for one in every if one.get(w("author")) == AUTHOR]

    def _take_away(self, comments: Sequence[Any]) -> None:
        numbers = {one.get(w("id")) for one in comments}
        marks = (w("commentRangeStart"), w("commentRangeEnd"), w("commentReference"))
        for mark in [one for one in self.document.package.element.iter(*marks) if one.get(w("id")) in numbers]:
            run = mark.getparent()
            run.remove(mark)
            if run.tag == w("r") and all(one.tag == w("rPr") for one in run):
                run.getparent().remove(run)
        gone = {
            name for comment in comments for one in comment.iter(w("p")) if (name := one.get(f"{{{WORD_2010}}}paraId"))
        }
        for comment in comments:
            comment.getparent().remove(comment)
        for part in parts(self.document.package, "commentsExtended") if gone else ():
            self._forget(gone, part)

    def _forget(self, gone: set[str], part: Any) -> None:
        """Takes comments out of the list of threads; an answer to one of them stands by itself then."""
        from docx.opc.oxml import serialize_part_xml

        root = tree_of(part)
        for one in list(root):
            if one.get(f"{{{WORD_2012}}}paraIdParent") in gone:
                del one.attrib[f"{{{WORD_2012}}}paraIdParent"]
            if one.get(f"{{{WORD_2012}}}paraId") in gone:
                root.remove(one)
        part._blob = serialize_part_xml(root)

    def _put(self, note: Note) -> None:
        from docx.text.run import Run

        package = self.document.package
        of_it = self.runs.of(*self._range(note))
        if not of_it:
            paragraph = self.runs.paragraph(note.start)
            if paragraph is None:
                return
            of_it = [paragraph.element.add_r()]
        made = package.add_comment([Run(one, package) for one in of_it], note.text, AUTHOR, "gl")
        made._comment_elm.attrib.pop(w("date"), None)  # the same bytes for the same findings

    def _range(self, note: Note) -> tuple[int, int]:
        """The words that a comment is on: those of the note that somebody typed; if nobody did, those of its paragraph,
        or of the first paragraph that has any."""
        for start, end in (
            (note.start, note.end),
            self.runs.whole(note.start),
            (note.start, len(self.text)),
            (0, len(self.text)),
        ):
            typed = [
                one
                for one in self.runs.between(start, end)
                if self.text[max(start, one.start) : min(end, one.end)].strip()
            ]
            if typed:
                if end == len(self.text):  # one paragraph is enough
                    start, end = self.runs.whole(typed[0].start)
                    typed = self.runs.between(start, end)
                return max(start, typed[0].start), min(end, typed[-1].end)
        return note.start, note.start
