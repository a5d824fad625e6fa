"""The briefing as a Word document: the page's own words in the page's order, by two readers of documents; room to fill
in; pictures; text of a plan stays text."""

from __future__ import annotations

import builtins
import re
from collections.abc import Callable
from functools import lru_cache
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path
from typing import Any

import docx
import pytest
from briefing_plans import EVERY_EXAMPLE, EXAMPLES, example, hostile_plan, long_plan, made_up, review_of

from groundlint.cli import main
from groundlint.commands.walk import is_plan
from groundlint.findings.model import Review
from groundlint.report.brief import brief_document, brief_html, document
from groundlint.report.brief.html import FOR
from groundlint.report.brief.page import Brief

PLAN = "dual-point-crossarm.tpg"
W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"


class Words(HTMLParser):
    """What a page says, without what only a browser has: drawings, ways to parts, the lines to write on."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.said: list[str] = []
        self.left_out = 0
        self.skipping = ""
        self.pictures = 0
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.pictures += tag == "svg"
        if self.skipping:
            self.left_out += tag == self.skipping
        elif tag in ("head", "nav", "svg") or ("class", "skip") in attrs:
            self.skipping, self.left_out = tag, 1

    def handle_endtag(self, tag: str) -> None:
        self.left_out -= tag == self.skipping
        if not self.left_out:
            self.skipping = ""

    def handle_data(self, data: str) -> None:
        if not self.skipping:
            self.said.append(data)


def letters(text: str) -> str:
    """The text without what is a matter of layout: blanks, bullets, lines to write on, marks of direction."""
    return re.sub(r"[\s_•◦\u2068\u2069\ufeff]+", "", text)


def said_in(data: bytes) -> str:
    body = docx.Document(BytesIO(data)).element.body
    return "\n".join("".join(t.text or "" for t in p.iter(f"{W}t")) for p in body.iter(f"{W}p"))


EDITABLE = letters(
    "This copy can be edited: what is changed in it, no review has seen. Change the plan, and write the briefing anew."
)


@lru_cache(maxsize=4)
def both(name: str, reader: str = "all") -> tuple[str, bytes]:
    review = example(name) if name != "hostile" else review_of(hostile_plan())
    return of(review, reader)


def of(review: Review, reader: str) -> tuple[str, bytes]:
    electrical = made_up(review.plan)
    return (
        brief_html(review, "0.1.0", electrical, reader=reader),
        brief_document(review, "0.1.0", electrical, reader=reader),
    )


@pytest.mark.one_in(8)
@pytest.mark.parametrize("reader", FOR)
@pytest.mark.parametrize("name", [*(path.name for path in EVERY_EXAMPLE), "hostile"])
def test_it_says_what_the_page_says_in_its_order(name: str, reader: str) -> None:
    page, data = both(name, reader)
    said = letters(said_in(data))
    assert EDITABLE in said
    assert said.replace(EDITABLE, "", 1) == letters("".join(Words(page).said))


def test_a_word_processor_reads_the_same(tmp_path: Path, libreoffice: Callable[..., None]) -> None:
    pages = {name: both(name) for name in (PLAN, "hostile")}
    pages["crew"] = of(review_of(long_plan()), "crew")
    for name, (_, data) in pages.items():
        (tmp_path / f"{name}.docx").write_bytes(data)
    libreoffice(tmp_path)
    libreoffice(tmp_path, "pdf")
    for name, (page, _) in pages.items():
        said = letters((tmp_path / f"{name}.txt").read_text("utf-8"))
        assert said.replace(EDITABLE, "", 1) == letters("".join(Words(page).said))
        assert (tmp_path / f"{name}.pdf").read_bytes().startswith(b"%PDF")


def test_text_of_a_plan_stays_text() -> None:
    hold, sins, hostile = (docx.Document(BytesIO(both(name)[1])) for name in (PLAN, "deliberate-sins.tpg", "hostile"))
    assert {one.tag for one in hostile.element.iter()} <= {
        one.tag for two in (hold, sins) for one in two.element.iter()
    }
    parts = [hostile.part, *hostile.part.package.iter_parts()]
    assert not [relation for part in parts for relation in part.rels.values() if relation.is_external]


def test_its_tables_have_room_to_fill_in() -> None:
    made = docx.Document(BytesIO(both(PLAN, "crew")[1]))
    tables = {table.rows[0].cells[0].text + table.rows[0].cells[-1].text: table for table in made.tables}
    crew = tables["NameTime"]
    assert [row.cells[0].text for row in crew.rows[1:]] == ["Brant", "Heron", "Rook", "Finch"]
    assert {cell.text for row in crew.rows[1:] for cell in row.cells[3:]} == {""}
    sheets = [table for table in made.tables if table.rows[0].cells[0].text == "No."]
    steps = [row for table in sheets for row in table.rows[1:] if row.cells[0].text != row.cells[-1].text]
    assert len(steps) == len(Brief(example(PLAN), made_up(example(PLAN).plan)).steps)
    assert {row.cells[3].text for row in steps} == {""}
    assert all(row._tr.trHeight_val for row in steps)
    hold = next(row.cells[1].text for row in steps if "HOLD" in row.cells[1].text)
    assert re.search(r"\nReleased by _+ time _+$", hold)
    assert all(table.rows[0]._tr.trPr.find(f"{W}tblHeader") is not None for table in sheets)


def test_drawings_are_pictures_that_say_what_they_show() -> None:
    page, data = both(PLAN)
    shapes = docx.Document(BytesIO(data)).inline_shapes
    assert len(shapes) == Words(page).pictures
    assert all(shape._inline.docPr.get("descr") for shape in shapes)
    images = [part.blob for part in docx.Document(BytesIO(data)).part.package.image_parts]
    assert len(images) == len(shapes)
    assert all(image.startswith(b"\x89PNG") for image in images)


def test_without_a_font_the_drawing_stands_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    assert document._has_letters()
    monkeypatch.setattr(document, "_has_letters", lambda: False)
    data = brief_document(example(PLAN), "0.1.0", made_up(example(PLAN).plan), reader="crew")
    assert not docx.Document(BytesIO(data)).inline_shapes
    assert document.NO_LETTERS in said_in(data)
    assert "G1 (2/0 copper" in said_in(data)


def test_the_same_bytes_each_time() -> None:
    page, data = both(PLAN)
    assert of(example(PLAN), "all") == (page, data)


def test_the_command_writes_it_and_it_is_no_plan(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    plan = str(EXAMPLES / "deliberate-sins.tpg")
    assert main(["brief", plan, "-o", "B.docx", "--for", "crew"]) == 1
    said = said_in(Path("B.docx").read_bytes())
    assert "Not fit for use" in said
    assert "Step sheet" in said
    assert "Calculation record" not in said
    assert not is_plan(Path("B.docx"))
    assert main(["review", "B.docx"]) != 0
    real = builtins.__import__

    def without(name: str, *more: Any, **named: Any) -> Any:
        if name.partition(".")[0] in ("docx", "lxml", "resvg_py"):
            raise ImportError(name)
        return real(name, *more, **named)

    capsys.readouterr()
    monkeypatch.setattr(builtins, "__import__", without)
    assert main(["brief", plan, "-o", "C.docx"]) == 3
    assert capsys.readouterr().err == "groundlint: C.docx: to write Word documents, install `groundlint[word]`\n"
    assert not Path("C.docx").exists()
