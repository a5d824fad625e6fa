"""The page as a Word document: what its template wrote, each element given its like in a word processor.

There is no second account of what a briefing says. Drawings become pictures, which all word processors show alike;
their words stand below them, as on the page.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import lru_cache
from io import BytesIO
from typing import Any, NamedTuple
from unicodedata import bidirectional

from groundlint.reading.word.opening import packed
from groundlint.report.brief import html
from groundlint.report.brief.drawing import style
from groundlint.report.brief.page import Page
from groundlint.report.brief.svg import Element, el, label

SHEET, MARGIN = (8.5, 11.0), 0.6
"""Letter paper and the margin on it, in inches."""
WIDE, HIGH, LOW = 7.2, 8.8, 4.3
"""Room for what stands on it, which A4 has as well, in inches; ``LOW`` for pictures on a crew's few sheets."""
DOTS = 3
"""Dots of a picture for each unit of a drawing: more than 350 an inch on paper."""
COLUMNS = {"no": 0.6, "on": 0.45, "box": 0.8, "tick": 0.65}
"""Widths of columns that are filled in by hand or hold a number, in inches; what is written shares the rest."""
LETTER, WORD = 0.08, 30
"""Width of a letter in inches, and how many of a word a column has room for."""
BOX, LOW_BOX = 0.3, 0.22
"""Least height of a row that is filled in by hand, in inches; the latter on a crew's page."""
STYLES = {"h1": "Title", "h2": "Heading 1", "h3": "Heading 2", "summary": "Heading 2", "caption": "Caption"}
INLINE = {"a", "bdi", "code", "span", "strong"}
NO_LETTERS = "No font was found to draw letters with: the drawing stands here in words alone."

_TURNS = {"R", "AL", "AN", "RLE", "RLO", "LRE", "LRO", "RLI", "LRI", "FSI"}
"""Bidirectional classes of letters that may turn those beside them about."""


class _Words(NamedTuple):
    text: str
    bold: bool = False
    code: bool = False
    large: bool = False


def render(page: Page, reader: str = "all") -> bytes:
    """The document for one of those in `html.FOR`; the same bytes for the same page and fonts. `ImportError` without
    what the extra ``word`` installs."""
    from lxml.html import document_fromstring

    drawn: list[Element] = []

    def picture(element: Element) -> str:
        drawn.append(element)
        return f'<img src="{len(drawn) - 1}">'

    body: Any = document_fromstring(html.render(page, reader, picture, editable=True)).body
    writer = _Writer(page.title, reader == "crew", drawn)
    writer.flow(body)
    return packed(writer.made)


class _Writer:
    """Writes elements into a new document, ``made``."""

    def __init__(self, title: str, crew: bool, drawn: Sequence[Element]) -> None:
        import docx
        from docx.shared import Inches, Pt, RGBColor

        self.crew, self.drawn = crew, drawn
        self.made: Any = docx.Document()
        properties, section = self.made.core_properties, self.made.sections[0]
        properties.author = properties.comments = ""
        properties.title = f"Job briefing: {title}"[:200]
        section.page_width, section.page_height = map(Inches, SHEET)
        section.left_margin = section.right_margin = section.top_margin = section.bottom_margin = Inches(MARGIN)
        styles = self.made.styles
        for name, size, above in (("Title", 18, 0), ("Heading 1", 14, 12), ("Heading 2", 11, 8), ("Caption", 10, 8)):
            styles[name].font.size, styles[name].font.color.rgb = Pt(size), RGBColor(0, 0, 0)
            form = styles[name].paragraph_format
            form.space_before, form.space_after, form.keep_with_next = Pt(above), Pt(3), True
        styles["Normal"].font.name, styles["Normal"].font.size = "Arial", Pt(9 if crew else 10)
        styles["Normal"].paragraph_format.space_after = Pt(4)
        foot = section.footer.paragraphs[0]
        for before, field in (("page ", "PAGE"), (" of ", "NUMPAGES")):
            foot.add_run(before)
            foot._p.append(_xml(f'<w:fldSimple {{}} w:instr="{field}"><w:r><w:t>1</w:t></w:r></w:fldSimple>'))

    # ---- blocks ----

    def flow(self, element: Any) -> None:
        """What is in an element, one after the other."""
        for child in element:
            css = _css(child)
            if child.tag == "nav" or "skip" in css:
                continue
            if child.tag == "table":
                self._table(child)
            elif child.tag == "dl":
                self._pairs(list(child))
            elif child.tag == "img":
                self._picture(self.drawn[int(child.get("src"))])
            elif any(one.tag not in INLINE for one in child):
                self.flow(child)
            else:
                bullet = "List Bullet 2" if "in" in css else "List Bullet"
                paragraph = self.made.add_paragraph(style=bullet if child.tag == "li" else STYLES.get(child.tag))
                _write(paragraph, child)
                if "status" in css:
                    sides = "".join(f'<w:{one} w:val="single" w:sz="12" w:space="4"/>' for one in _SIDES)
                    paragraph._p.get_or_add_pPr().insert_element_before(_xml(f"<w:pBdr {{}}>{sides}</w:pBdr>"), *_AFTER)
                if child.tag == "h2" and child.getparent().get("id") in ("sheet", "register") and not self.crew:
                    paragraph.paragraph_format.page_break_before = True

    def _picture(self, drawing: Element) -> None:
        from docx.shared import Inches

        if not _has_letters():
            self.made.add_paragraph(NO_LETTERS)
            return
        wide, high = (float(drawing.attributes[name]) for name in ("width", "height"))
        scale = min(WIDE / wide, (LOW if self.crew else HIGH) / high)
        shape = self.made.add_picture(BytesIO(_dots(drawing)), Inches(wide * scale), Inches(high * scale))
        title = next(one for one in drawing.children if isinstance(one, Element) and one.tag == "title")
        shape._inline.docPr.set("descr", "".join(map(str, title.children)))

    # ---- tables ----

    def _pairs(self, pairs: Sequence[Any]) -> None:
        for cells, pair in zip(self._rows(len(pairs), [1.3, WIDE - 1.3]), pairs, strict=True):
            for cell, one in zip(cells, pair, strict=True):
                _write(cell.paragraphs[0], one, one.tag == "dt")

    def _table(self, element: Any) -> None:
        for caption in element.iterchildren("caption"):
            _write(self.made.add_paragraph(style=STYLES["caption"]), caption)
        rows = list(element.iter("tr"))
        for cells, row in zip(self._rows(len(rows), _widths(rows)), rows, strict=True):
            css, head = _css(row), row.getparent().tag == "thead"
            at = 0
            for one in row:
                span = int(one.get("colspan", "1"))
                cell = cells[at].merge(cells[at + span - 1])
                at += span
                _write(cell.paragraphs[0], one, one.tag == "th" or bool(css & {"hold", "work"}))
                if head or css & {"head", "hold"}:
                    cell._tc.get_or_add_tcPr().append(_xml('<w:shd {} w:val="clear" w:color="auto" w:fill="E4E4E4"/>'))
                cell.paragraphs[0].paragraph_format.keep_with_next = head or "head" in css or None
            self._kept_together(cells[0]._tc.getparent(), head, any(_by_hand(one) for one in row))

    def _rows(self, rows: int, widths: Sequence[float]) -> Iterator[Any]:
        """The cells of each row of a new table with columns of these widths in inches, and some room below it."""
        from docx.shared import Inches, Pt

        table = self.made.add_table(rows, len(widths), "Table Grid")
        table.autofit = False
        for column, width in zip(table.columns, widths, strict=True):
            column.width = Inches(width)
        cells = table._cells
        for at, cell in enumerate(cells):
            cell.width = Inches(widths[at % len(widths)])
            cell.paragraphs[0].paragraph_format.space_after = 0
        self.made.add_paragraph().paragraph_format.space_after = Pt(0)
        return (cells[at : at + len(widths)] for at in range(0, len(cells), len(widths)))

    def _kept_together(self, row: Any, head: bool, by_hand: bool) -> None:
        """No page turns within a row; a head stands on each page; what is filled in by hand has room."""
        from docx.shared import Inches

        properties = row.get_or_add_trPr()
        properties.append(_xml("<w:cantSplit {}/>"))
        if by_hand:
            row.trHeight_val = Inches(LOW_BOX if self.crew else BOX)
        if head:
            properties.append(_xml("<w:tblHeader {}/>"))


_SIDES = ("top", "left", "bottom", "right")
_AFTER = ("w:shd", "w:tabs", "w:suppressAutoHyphens", "w:spacing", "w:ind", "w:jc", "w:rPr")
"""What stands after the border in a paragraph's properties (ECMA-376, part 1, 17.3.1.26)."""


def _css(element: Any) -> set[str]:
    return set((element.get("class") or "").split())


def _by_hand(cell: Any) -> bool:
    return not cell.text_content().strip() and bool(_css(cell) & {"box", "sign"})


def _widths(rows: Sequence[Any]) -> list[float]:
    """Widths of a table's columns in inches. A column that is filled in by hand has that of its kind; another has that
    of its longest word, and a share of what is left over by its longest text."""
    columns = list(zip(*(row for row in rows if not row.xpath("*[@colspan]")), strict=True))
    texts = [[" ".join(cell.text_content().split()) for cell in column] for column in columns]
    set_by_kind = [max(COLUMNS.get(css, 0.0) for css in {"", *_css(column[0])}) for column in columns]
    least = [
        kind or 0.2 + LETTER * min(WORD, max(len(word) for text in column for word in (*text.split(), "")))
        for kind, column in zip(set_by_kind, texts, strict=True)
    ]
    shares = [0 if kind else min(90, max(map(len, column))) for kind, column in zip(set_by_kind, texts, strict=True)]
    shares = [
        max(share, 0 if kind else 18 * any(map(_by_hand, column)))
        for kind, share, column in zip(set_by_kind, shares, columns, strict=True)
    ]
    left = WIDE - sum(least)
    if left < 0:
        return [one * WIDE / sum(least) for one in least]
    return [one + left * share / (sum(shares) or 1) for one, share in zip(least, shares, strict=True)]


# ---- words ----


def _write(paragraph: Any, element: Any, bold: bool = False) -> None:
    """The words of an element into a paragraph."""
    from docx.shared import Pt

    found: list[_Words] = []
    for one in _words(element, _Words("", bold)):
        text = one.text.lstrip(" ") if not found or found[-1].text[-1] in " \n" else one.text
        if text:
            found.append(one._replace(text=text))
    if found:
        found[-1] = found[-1]._replace(text=found[-1].text.rstrip(" "))
    for text, strong, code, large in found:
        run = paragraph.add_run(text)
        run.bold = strong or None
        if code:
            run.font.name = "Courier New"
        if large:
            run.font.size = Pt(14)


def _words(element: Any, now: _Words) -> Iterator[_Words]:
    """The words of an element and of those in it, in order; blanks and ends of lines are one blank, as in a browser."""
    css = _css(element)
    now = now._replace(
        bold=now.bold or element.tag == "strong" or bool(css & {"level", "new"}),
        code=now.code or element.tag == "code",
        large=now.large or "stop" in css,
    )
    turns = element.tag == "bdi" and any(bidirectional(letter) in _TURNS for letter in element.text_content())
    if "release" in css:
        yield now._replace(text="\n")
    if "rule-line" in css:
        yield now._replace(text="_" * (12 if "short" in css else 26))
    if turns:
        yield now._replace(text="\u2068")
    yield now._replace(text=_single(element.text))
    for child in element:
        yield from _words(child, now)
        yield now._replace(text=_single(child.tail))
    if turns:
        yield now._replace(text="\u2069")


def _single(text: str | None) -> str:
    return re.sub("[ \t\r\n]+", " ", text or "")


# ---- drawings ----


def _dots(drawing: Element) -> bytes:
    """A drawing as a PNG. Its style is that for paper in colour; named values are put in, which few programs know."""
    from resvg_py import svg_to_bytes

    sheet = style("drawing").partition("@media")[0]
    named = re.compile(r"(--[\w-]+): ([^;]+);")
    values = dict(named.findall(sheet))
    sheet = re.sub(r"var\((--[\w-]+)\)", lambda found: values[found[1]], named.sub("", sheet))
    return svg_to_bytes(str(drawing), style_sheet=sheet, zoom=DOTS, background="white")


@lru_cache
def _has_letters() -> bool:
    """Whether letters come out in pictures: without fonts they would be left out, and nothing would say so."""
    blank = el("svg", "drawing", xmlns="http://www.w3.org/2000/svg", width=20, height=20)
    written = el("svg", "drawing", xmlns="http://www.w3.org/2000/svg", width=20, height=20)
    return _dots(blank) != _dots(written.add(label(4, 14, "G1")))


def _xml(text: str) -> Any:
    """An element; ``{}`` is where its namespace goes."""
    from docx.oxml.ns import nsdecls
    from docx.oxml.parser import parse_xml

    return parse_xml(text.format(nsdecls("w")))
