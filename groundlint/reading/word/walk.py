"""The text of a document, from its XML, element by element: nothing is left out; what is no plain text is doubted."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, NamedTuple

from groundlint.reading.word.doubts import Doubt
from groundlint.reading.word.layout import Layout
from groundlint.reading.word.names import COMPATIBILITY, MATHS, XML_SPACE, child, local, on, w
from groundlint.reading.word.numbering import Label


class Piece(NamedTuple):
    """A stretch of the text that one element of a run stands for."""

    start: int
    end: int
    run: Any
    node: Any


class Paragraph(NamedTuple):
    """A paragraph, up to but not including its line end; whether its style is the plan's; the cell that it is in, as
    the table and the column."""

    start: int
    end: int
    element: Any
    styled: bool
    cell: tuple[Any, int] | None


class _Field:
    """A field that is open: what it says to do, and where its words begin."""

    def __init__(self, start: int) -> None:
        self.start, self.says, self.shows = start, "", False


_SILENT = ("proofErr", "commentReference", "annotationRef", "lastRenderedPageBreak", "tblGrid", "instrText")
_SILENT_ENDS = ("Pr", "PrEx", "Start", "End")
"""How the names of properties and of marks of ranges end."""
_THROUGH = {
    "hyperlink": "",
    "smartTag": "",
    "customXml": "",
    "sdtContent": "",
    "ins": "tracked-insertion",
    "moveTo": "tracked-move",
    "dir": "right-to-left",
    "bdo": "right-to-left",
}
"""What words are within, and the doubt that it casts on them."""
_MARKS = {
    "drawing": "picture",
    "pict": "picture",
    "object": "embedded-object",
    "sym": "symbol",
    "softHyphen": "optional-hyphen",
    "footnoteReference": "note-mark",
    "endnoteReference": "note-mark",
    "footnoteRef": "",
    "endnoteRef": "",
    "separator": "",
    "continuationSeparator": "",
    "delText": "",  # in a deletion, which is doubted whole
    "altChunk": "embedded-document",
    "subDoc": "embedded-document",
}
_BREAKS = {"br": "\n", "cr": "\n", "tab": "\t", "ptab": "\t", "noBreakHyphen": "\u2011"}
_PLAIN_FIELDS = ("HYPERLINK", "FORMTEXT")
_ENDS = str.maketrans("\n\r\t", "   ")


class Taken:
    """The text taken out of a document so far, and what each stretch of it stands for."""

    def __init__(self) -> None:
        self.parts: list[str] = []
        self.at = 0
        self.pieces: list[Piece] = []
        self.doubts: list[Doubt] = []
        self.unwritten: list[tuple[int, int, str]] = []
        self.paragraphs: list[Paragraph] = []
        self.runs: list[tuple[int, int, Any, str]] = []
        """Runs, each with the style of its paragraph."""
        self.tables: list[tuple[int, int, bool]] = []
        """Tables, and whether each is of one cell."""
        self.comments: dict[str, tuple[int, int]] = {}
        """Where each comment begins and ends."""

    @property
    def text(self) -> str:
        """The whole text, a paragraph a line."""
        return "".join(self.parts)

    def add(self, said: str) -> None:
        """Goes on with the text."""
        if said:
            self.parts.append(said)
            self.at += len(said)

    def doubt(self, start: int, code: str, what: str = "") -> None:
        """What stands between a place and here is doubted."""
        self.doubts.append(Doubt(start, self.at, code, what))

    @contextmanager
    def doubted(self, code: str = "", what: str = "") -> Iterator[None]:
        """What is walked within is doubted, by a code and what to name; not by an empty code."""
        start = self.at
        yield
        if code:
            self.doubt(start, code, what)


class Walk:
    """Takes the text out of one story."""

    def __init__(self, body: Any, layout: Layout) -> None:
        self.layout, self.styles = layout, layout.styles
        self.taken = Taken()
        self._fields: list[_Field] = []
        self._before = 0  # open fields whose words have not begun
        self._cell: tuple[Any, int] | None = None
        self._aside: list[Any] = []  # the text boxes of the paragraph
        self._in_box = 0
        self._blocks(body)
        for field in self._fields:
            self.taken.doubt(field.start, "field", "which is never ended")

    # ------------------------------------------------------------- blocks
    def _blocks(self, parent: Any) -> None:
        for one in parent.iterchildren("*"):
            name = local(one)
            if name == "p":
                self._paragraph(one)
            elif name == "tbl":
                self._table(one)
            elif name == "sdt":
                self._control(one, self._blocks)
            elif name == "AlternateContent":
                with self.taken.doubted("not-understood"):
                    self._blocks(_choice(one))
            elif name in _THROUGH:
                with self.taken.doubted(_THROUGH[name]):
                    self._blocks(one)
            elif name in ("del", "moveFrom"):
                self.taken.doubt(self.taken.at, "tracked-deletion" if name == "del" else "tracked-move")
            elif name in _MARKS:
                self.taken.doubt(self.taken.at, _MARKS[name])
            elif name in ("commentRangeStart", "commentRangeEnd"):
                self._comment(one, name)
            elif name == "oMathPara":
                with self.taken.doubted("formula"):
                    self._line(one)
            elif not _silent(one, name):
                with self.taken.doubted("not-understood", f"`{name}`"):
                    self._blocks(one)

    def _table(self, table: Any) -> None:
        start, outer = self.taken.at, self._cell
        rows = list(_within(table, "tr"))
        cells = [list(_within(row, "tc")) for row in rows]
        for row, mine in zip(rows, cells, strict=True):
            made = child(row, "trPr")
            with self.taken.doubted(*_tracked(made)), self.taken.doubted("hidden-text" if on(made, "hidden") else ""):
                for column, cell in enumerate(mine):
                    properties = child(cell, "tcPr")
                    merge = child(properties, "vMerge")
                    below = merge is not None and merge.get(w("val"), "continue") == "continue"
                    tracked = any(child(properties, f"cell{what}") is not None for what in ("Ins", "Del", "Merge"))
                    self._cell = (table, column)
                    with (
                        self.taken.doubted("merged-cell" if below else ""),
                        self.taken.doubted("tracked-format" * tracked),
                    ):
                        self._blocks(cell)
        self._cell = outer
        self.taken.tables.append((start, self.taken.at, len(cells) == 1 and len(cells[0]) == 1))

    def _control(self, control: Any, walk: Any) -> None:
        made = child(control, "sdtPr")
        empty = made is not None and child(made, "showingPlcHdr") is not None and on(made, "showingPlcHdr")
        bound = made is not None and any(local(one) == "dataBinding" for one in made)
        content = child(control, "sdtContent")
        with self.taken.doubted("empty-form-field" if empty else "bound-form-field" if bound else ""):
            if content is not None:
                walk(content)

    # ------------------------------------------------------------- paragraphs
    def _paragraph(self, paragraph: Any) -> None:
        start, made = self.taken.at, child(paragraph, "pPr")
        style = self.styles.of(paragraph)
        mark = child(made, "rPr")
        hidden = bool(on(mark, "vanish"))
        label, depth = self.layout.label(made, style) if not self._in_box and not hidden else (Label(), 0)
        indent = max(self.layout.indent(made, style, depth), 2 * depth)
        lead = " " * indent + (f"{label.text.translate(_ENDS)} " if label.text else "")
        if lead:
            self.taken.add(lead)
            self.taken.unwritten.append((start, self.taken.at, label.number))
        outer, self._aside = self._aside, []
        self._line(paragraph, style)
        for code in (
            *_tracked(mark),
            "tracked-format" if _reformatted(made, mark) else "",
            "hidden-text" if hidden else "",
            "frame" if child(made, "framePr") is not None else "",
            "right-to-left" if on(made, "bidi") else "",
            "other-numbers" if label.form else "",
        ):
            if code:
                self.taken.doubt(start, code, f"`{label.form}`" if code == "other-numbers" else "")
        styled = self.styles.is_plan(style)
        self.taken.paragraphs.append(Paragraph(start, self.taken.at, paragraph, styled, self._cell))
        self.taken.add("\n")
        boxes, self._aside = self._aside, outer
        for box in boxes:
            self._in_box += 1
            with self.taken.doubted("text-box"):
                self._blocks(box)
            self._in_box -= 1

    # ------------------------------------------------------------- words
    def _line(self, parent: Any, style: str = "") -> None:
        for one in parent.iterchildren("*"):
            name = local(one)
            if one.tag == w("r"):
                self._run(one, style)
            elif name == "sdt":
                self._control(one, lambda content: self._line(content, style))
            elif name == "fldSimple":
                says = (one.get(w("instr")) or "").split()
                with self.taken.doubted("" if says[:1] and says[0].upper() in _PLAIN_FIELDS else "field", _named(says)):
                    self._line(one, style)
            elif one.tag.startswith(f"{{{MATHS}}}"):
                with self.taken.doubted("formula"):
                    self.taken.add("".join(one.itertext(f"{{{MATHS}}}t")).translate(_ENDS))
            elif name in ("del", "moveFrom"):
                self.taken.doubt(self.taken.at, "tracked-deletion" if name == "del" else "tracked-move")
            elif name in ("commentRangeStart", "commentRangeEnd"):
                self._comment(one, name)
            elif name in _THROUGH:
                with self.taken.doubted(_THROUGH[name]):
                    self._line(one, style)
            elif name == "AlternateContent":
                with self.taken.doubted("not-understood"):
                    self._line(_choice(one), style)
            elif name in _MARKS:
                self.taken.doubt(self.taken.at, _MARKS[name])
            elif not _silent(one, name):
                with self.taken.doubted("not-understood", f"`{name}`"):
                    self._line(one, style)

    def _run(self, run: Any, style: str) -> None:
        start = self.taken.at
        for one in run.iterchildren("*"):
            self._in_run(run, one)
        if start < self.taken.at:
            self.taken.runs.append((start, self.taken.at, run, style))
        made = child(run, "rPr")
        for code in _tracked(made):
            self.taken.doubt(start, code)
        if child(made, "rPrChange") is not None:
            self.taken.doubt(start, "tracked-format")

    def _in_run(self, run: Any, one: Any) -> None:
        name = local(one)
        if name == "t":
            said = one.text or ""
            for other in one:  # no word processor puts anything there
                self.taken.doubt(self.taken.at, "not-understood")
                said += other.tail or ""
            if one.get(XML_SPACE) != "preserve":
                said = said.strip(" \t\r\n")
            self._shown(said.translate(_ENDS), run, one)
        elif name in _BREAKS:
            self._shown(_BREAKS[name], run, one)
        elif name == "fldChar":
            self._field(one.get(w("fldCharType")))
        elif name == "instrText" and self._fields:
            self._fields[-1].says += one.text or ""
        elif name == "AlternateContent":
            with self.taken.doubted("not-understood"):
                for inner in _choice(one).iterchildren("*"):
                    self._in_run(run, inner)
        elif name in _MARKS:
            boxes = _boxes(one)
            self._aside += boxes
            if _MARKS[name]:
                self.taken.doubt(self.taken.at, "text-box" if boxes else _MARKS[name])
        elif not _silent(one, name):
            self.taken.doubt(self.taken.at, "not-understood", f"`{name}`")

    def _shown(self, said: str, run: Any, node: Any) -> None:
        if not self._before:
            self.taken.pieces.append(Piece(self.taken.at, self.taken.at + len(said), run, node))
            self.taken.add(said)

    def _field(self, kind: str | None) -> None:
        if kind == "begin":
            self._fields.append(_Field(self.taken.at))
            self._before += 1
        elif self._fields and kind == "separate":
            self._before -= not self._fields[-1].shows
            self._fields[-1].shows = True
        elif self._fields:
            field = self._fields.pop()
            self._before -= not field.shows
            says = field.says.split()
            if not says or says[0].upper() not in _PLAIN_FIELDS:
                self.taken.doubt(field.start, "field", _named(says))

    def _comment(self, one: Any, name: str) -> None:
        number = one.get(w("id"), "")
        start, _ = self.taken.comments.get(number, (self.taken.at, self.taken.at))
        self.taken.comments[number] = (self.taken.at if name == "commentRangeStart" else start, self.taken.at)


def _within(parent: Any, name: str) -> Iterator[Any]:
    """The rows of a table or the cells of a row, in whatever they are wrapped."""
    for one in parent:
        if one.tag == w(name):
            yield one
        elif local(one) in ("sdt", "sdtContent", "customXml", "ins", "moveTo", "smartTag"):
            yield from _within(one, name)


def _silent(one: Any, name: str) -> bool:
    """Whether an element shows nothing: properties, and the marks of ranges."""
    return (name in _SILENT or name.endswith(_SILENT_ENDS)) and next(one.iter(w("t")), None) is None


def _choice(alternate: Any) -> Any:
    """The first of several contents that say the same; where there is none, what there is."""
    found = alternate.find(f"{{{COMPATIBILITY}}}Choice")
    if found is None:
        found = alternate.find(f"{{{COMPATIBILITY}}}Fallback")
    return found if found is not None else alternate


def _boxes(drawing: Any) -> list[Any]:
    """The texts that stand in a drawing, each once."""
    fallbacks = {box for other in drawing.iter(f"{{{COMPATIBILITY}}}Fallback") for box in other.iter(w("txbxContent"))}
    return [box for box in drawing.iter(w("txbxContent")) if box not in fallbacks]


def _tracked(properties: Any) -> tuple[str, ...]:
    """The tracked changes that a paragraph's mark, a row or a run is part of."""
    codes = {
        "ins": "tracked-insertion",
        "del": "tracked-deletion",
        "moveFrom": "tracked-move",
        "moveTo": "tracked-move",
    }
    return tuple(code for name, code in codes.items() if child(properties, name) is not None)[:1]


def _reformatted(made: Any, mark: Any) -> bool:
    number = child(made, "numPr")
    return any(
        one is not None
        for one in (
            child(made, "pPrChange"),
            child(mark, "rPrChange"),
            child(number, "ins"),
            child(number, "numberingChange"),
        )
    )


def _named(says: list[str]) -> str:
    return f"`{says[0]}`" if says else ""
