"""The text of a document, from its XML, element by element: nothing is left out; what is no plain text is doubted."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, NamedTuple

from groundlint.reading.word.doubts import Doubt
from groundlint.reading.word.names import COMPATIBILITY, MATHS, XML_SPACE, child, local, on, value, w
from groundlint.reading.word.numbering import MOST_LEVELS, Label, Numbers
from groundlint.reading.word.styles import Styles


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


COLUMN = 120
"""Twentieths of a point in a blank of indent: a twelfth of an inch."""
MOST_INDENT = 60

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
    "object": "picture",
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
_SYMBOL_FONTS = ("symbol", "wingdings", "wingdings 2", "wingdings 3", "webdings")
_ENDS = str.maketrans("\n\r\t", "   ")


class Walk:
    """The text of one story, with what each stretch of it stands for."""

    def __init__(self, body: Any, styles: Styles, numbers: Numbers) -> None:
        self.styles, self.numbers = styles, numbers
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
        self._fields: list[_Field] = []
        self._before = 0  # open fields whose words have not begun
        self._cell: tuple[Any, int] | None = None
        self._aside: list[Any] = []  # the text boxes of the paragraph
        self._in_box = 0
        self._blocks(body)
        for field in self._fields:
            self._doubt(field.start, "field", "which is never ended")

    @property
    def text(self) -> str:
        """The whole text, a paragraph a line."""
        return "".join(self.parts)

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
                with self._doubted("not-understood"):
                    self._blocks(_choice(one))
            elif name in _THROUGH:
                with self._doubted(_THROUGH[name]):
                    self._blocks(one)
            elif name in ("del", "moveFrom"):
                self._doubt(self.at, "tracked-deletion" if name == "del" else "tracked-move")
            elif name in _MARKS:
                self._doubt(self.at, _MARKS[name])
            elif name in ("commentRangeStart", "commentRangeEnd"):
                self._comment(one, name)
            elif name == "oMathPara":
                with self._doubted("formula"):
                    self._line(one)
            elif name not in _SILENT and not name.endswith(_SILENT_ENDS):
                with self._doubted("not-understood", f"`{name}`"):
                    self._blocks(one)

    def _table(self, table: Any) -> None:
        start, outer = self.at, self._cell
        rows = list(_within(table, "tr"))
        cells = [list(_within(row, "tc")) for row in rows]
        for row, mine in zip(rows, cells, strict=True):
            made = child(row, "trPr")
            with self._doubted(*_tracked(made)), self._doubted("hidden-text" if on(made, "hidden") else ""):
                for column, cell in enumerate(mine):
                    properties = child(cell, "tcPr")
                    merge = child(properties, "vMerge")
                    below = merge is not None and merge.get(w("val"), "continue") == "continue"
                    tracked = any(child(properties, f"cell{what}") is not None for what in ("Ins", "Del", "Merge"))
                    self._cell = (table, column)
                    with self._doubted("merged-cell" if below else ""), self._doubted("tracked-format" * tracked):
                        self._blocks(cell)
        self._cell = outer
        self.tables.append((start, self.at, len(cells) == 1 and len(cells[0]) == 1))

    def _control(self, control: Any, walk: Any) -> None:
        made = child(control, "sdtPr")
        empty = made is not None and child(made, "showingPlcHdr") is not None and on(made, "showingPlcHdr")
        bound = made is not None and any(local(one) == "dataBinding" for one in made)
        content = child(control, "sdtContent")
        with self._doubted("empty-form-field" if empty else "bound-form-field" if bound else ""):
            if content is not None:
                walk(content)

    # ------------------------------------------------------------- paragraphs
    def _paragraph(self, paragraph: Any) -> None:
        start, made = self.at, child(paragraph, "pPr")
        style = self.styles.of(paragraph)
        mark = child(made, "rPr")
        hidden = any(on(one, "vanish") for one in ([mark] if mark is not None else []))
        label, depth = self._label(made, style) if not self._in_box and not hidden else (Label(), 0)
        indent = max(self._indent(made, style, depth), 2 * depth)
        lead = " " * indent + (f"{label.text.translate(_ENDS)} " if label.text else "")
        if lead:
            self._add(lead)
            self.unwritten.append((start, self.at, label.number))
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
                self._doubt(start, code, f"`{label.form}`" if code == "other-numbers" else "")
        styled = self.styles.is_plan(style)
        self.paragraphs.append(Paragraph(start, self.at, paragraph, styled, self._cell))
        self._add("\n")
        boxes, self._aside = self._aside, outer
        for box in boxes:
            self._in_box += 1
            with self._doubted("text-box"):
                self._blocks(box)
            self._in_box -= 1

    def _label(self, made: Any, style: str) -> tuple[Label, int]:
        """The automatic number of a paragraph, and the level of its list."""
        number, level = self.list_of(made, style)
        return (self.numbers.next(number, level), level) if number else (Label(), 0)

    def list_of(self, made: Any, style: str) -> tuple[str, int]:
        """The list that a paragraph of these properties is numbered by, and its level; empty where by none."""
        own = child(made, "numPr")
        number, depth = value(own, "numId"), value(own, "ilvl")
        if number is None:
            for one in self.styles.chain(style):
                by = child(child(one, "pPr"), "numPr")
                if by is not None:
                    number = value(by, "numId") or number
                    found = self.numbers.depth_of_style(number, one.get(w("styleId"), "")) if number else None
                    depth = depth or (str(found) if found is not None else value(by, "ilvl"))
                    if number is not None:
                        break
        if number is None or number == "0":
            return "", 0
        return number, int(depth) if depth and depth.isdigit() and int(depth) < MOST_LEVELS else 0

    def _indent(self, made: Any, style: str, depth: int) -> int:
        """Blanks before the first line, of a list at a level: how far right it begins."""
        ends = {"left": 0, "firstLine": 0, "hanging": 0}

        def take(properties: Any) -> None:
            by = child(properties, "numPr")
            number = value(by, "numId")
            if number is not None:
                read(child(child(self.numbers.level(number, depth), "pPr"), "ind"))
            read(child(properties, "ind"))

        def read(indent: Any) -> None:
            for name, say in (("left", "left"), ("start", "left"), ("firstLine", "firstLine"), ("hanging", "hanging")):
                said = indent.get(w(name)) if indent is not None else None
                if said is not None and said.lstrip("-").isdigit():
                    ends[say] = int(said[:7])
                    if say != "left":
                        ends["hanging" if say == "firstLine" else "firstLine"] = 0

        for one in reversed([child(style_, "pPr") for style_ in self.styles.chain(style)]):
            take(one)
        take(made)
        return max(0, min(MOST_INDENT, round((ends["left"] + ends["firstLine"] - ends["hanging"]) / COLUMN)))

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
                with self._doubted("" if says[:1] and says[0].upper() in _PLAIN_FIELDS else "field", _named(says)):
                    self._line(one, style)
            elif one.tag.startswith(f"{{{MATHS}}}"):
                with self._doubted("formula"):
                    self._add("".join(one.itertext(f"{{{MATHS}}}t")).translate(_ENDS))
            elif name in ("del", "moveFrom"):
                self._doubt(self.at, "tracked-deletion" if name == "del" else "tracked-move")
            elif name in ("commentRangeStart", "commentRangeEnd"):
                self._comment(one, name)
            elif name in _THROUGH:
                with self._doubted(_THROUGH[name]):
                    self._line(one, style)
            elif name == "AlternateContent":
                with self._doubted("not-understood"):
                    self._line(_choice(one), style)
            elif name in _MARKS:
                self._doubt(self.at, _MARKS[name])
            elif name not in _SILENT and not name.endswith(_SILENT_ENDS):
                with self._doubted("not-understood", f"`{name}`"):
                    self._line(one, style)

    def _run(self, run: Any, style: str) -> None:
        start = self.at
        for one in run.iterchildren("*"):
            self._in_run(run, one)
        if start < self.at:
            self.runs.append((start, self.at, run, style))
        made = child(run, "rPr")
        for code in _tracked(made):
            self._doubt(start, code)
        if child(made, "rPrChange") is not None:
            self._doubt(start, "tracked-format")

    def looks(self, run: Any, style: str, said: str) -> Iterator[str]:
        """How words are shown, where that may be not at all, or other than they are written."""
        switched = self.styles.switched
        if switched(run, style, "vanish") or switched(run, style, "specVanish"):
            yield "hidden-text"
        if switched(run, style, "strike") or switched(run, style, "dstrike"):
            yield "struck-through"
        if switched(run, style, "rtl"):
            yield "right-to-left"
        if said != said.upper() and (switched(run, style, "caps") or switched(run, style, "smallCaps")):
            yield "shown-otherwise"
        look = self.styles.said
        if look(run, style, "rFonts", "ascii").lower() in _SYMBOL_FONTS:
            yield "shown-otherwise"
        if look(run, style, "vertAlign") in ("superscript", "subscript"):
            yield "raised-text"
        size = look(run, style, "sz")
        if look(run, style, "color").upper() == "FFFFFF" or (size.isdigit() and int(size) < 8):
            yield "hard-to-see"

    def _in_run(self, run: Any, one: Any) -> None:
        name = local(one)
        if name == "t":
            said = one.text or ""
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
            with self._doubted("not-understood"):
                for inner in _choice(one).iterchildren("*"):
                    self._in_run(run, inner)
        elif name in _MARKS:
            boxes = _boxes(one)
            self._aside += boxes
            if _MARKS[name]:
                self._doubt(self.at, "text-box" if boxes else _MARKS[name])
        elif name not in _SILENT and not name.endswith(_SILENT_ENDS):
            self._doubt(self.at, "not-understood", f"`{name}`")

    def _shown(self, said: str, run: Any, node: Any) -> None:
        if not self._before:
            self.pieces.append(Piece(self.at, self.at + len(said), run, node))
            self._add(said)

    def _field(self, kind: str | None) -> None:
        if kind == "begin":
            self._fields.append(_Field(self.at))
            self._before += 1
        elif self._fields and kind == "separate":
            self._before -= not self._fields[-1].shows
            self._fields[-1].shows = True
        elif self._fields:
            field = self._fields.pop()
            self._before -= not field.shows
            says = field.says.split()
            if not says or says[0].upper() not in _PLAIN_FIELDS:
                self._doubt(field.start, "field", _named(says))

    def _comment(self, one: Any, name: str) -> None:
        number = one.get(w("id"), "")
        start, _ = self.comments.get(number, (self.at, self.at))
        self.comments[number] = (self.at if name == "commentRangeStart" else start, self.at)

    # ------------------------------------------------------------- text
    def _add(self, said: str) -> None:
        if said:
            self.parts.append(said)
            self.at += len(said)

    def _doubt(self, start: int, code: str, what: str = "") -> None:
        """What stands between a place and here is doubted."""
        self.doubts.append(Doubt(start, self.at, code, what))

    @contextmanager
    def _doubted(self, code: str = "", what: str = "") -> Iterator[None]:
        """What is walked within is doubted, by a code and what to name; not by an empty code."""
        start = self.at
        yield
        if code:
            self._doubt(start, code, what)


def _within(parent: Any, name: str) -> Iterator[Any]:
    """The rows of a table or the cells of a row, in whatever they are wrapped."""
    for one in parent:
        if one.tag == w(name):
            yield one
        elif local(one) in ("sdt", "sdtContent", "customXml", "ins", "moveTo", "smartTag"):
            yield from _within(one, name)


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
