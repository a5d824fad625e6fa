"""What is no plain text in a plan is named and leaves the plan unread; around a plan it is let be."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import docx
import pytest
from documents import W, data, level, listed, numbered, package, raw, words
from docx.document import Document as Package
from docx.enum.style import WD_STYLE_TYPE
from docx.oxml import parse_xml
from docx.oxml.ns import qn

from groundlint.reading.resolve import read_plan
from groundlint.reading.word import read_document
from groundlint.reading.word.doubts import SAYING

LINES = ('plan "Replace insulator at 212"', "structure 211 212 wood pole", "stick H1 8 ft", "inspect H1")
CODES = frozenset(SAYING) | {"doubtful-dash", "invisible-character", "step-outside-fence", "fence-not-closed"}
VML = "urn:schemas-microsoft-com:vml"
MC = "http://schemas.openxmlformats.org/markup-compatibility/2006"
MATHS = "http://schemas.openxmlformats.org/officeDocument/2006/math"


def planned(style: str = "Plan") -> Package:
    made = package()
    for line in LINES:
        made.add_paragraph(line, style="Plan")
    return made


def codes(made: Package) -> set[str]:
    """What of a document is not read; a plan with any of it is unread."""
    source, problems = read_document(data(made), "a.docx")
    result = read_plan(source)
    every = (*problems, *result.diagnostics)
    assert all(one.unread and one.message and one.mend for one in problems)
    assert result.plan.unread or not [one for one in result.diagnostics if one.unread]
    return {one.code for one in every if one.unread}


def field(instruction: str, result: str) -> str:
    begin, separate, end = (f'<w:r><w:fldChar w:fldCharType="{one}"/></w:r>' for one in ("begin", "separate", "end"))
    return f"{begin}<w:r><w:instrText> {instruction} </w:instrText></w:r>{separate}{result}{end}"


def control(content: str, properties: str = "") -> str:
    return f"<w:sdt><w:sdtPr>{properties}</w:sdtPr><w:sdtContent>{content}</w:sdtContent></w:sdt>"


def choice(content: str) -> str:
    return f'<mc:AlternateContent xmlns:mc="{MC}"><mc:Choice>{content}</mc:Choice></mc:AlternateContent>'


CHANGE = 'w:id="7" w:author="Somebody"'


def box(text: str, properties: str = "") -> str:
    inner = f"<w:txbxContent><w:p>{properties}{words(text)}</w:p></w:txbxContent>"
    return f'<w:r><w:pict><v:shape xmlns:v="{VML}"><v:textbox>{inner}</v:textbox></v:shape></w:pict></w:r>'


H1 = words("H1")
AFTER: dict[str, tuple[str, str]] = {
    "an insertion": ("tracked-insertion", f"<w:ins {CHANGE}>{H1}</w:ins>"),
    "an insertion in a control": ("tracked-insertion", control(f"<w:ins {CHANGE}>{H1}</w:ins>")),
    "a deletion": ("tracked-deletion", f'<w:del {CHANGE}><w:r><w:delText>not </w:delText></w:r></w:del>{H1}'),
    "what was moved from here": ("tracked-move", f"<w:moveFrom {CHANGE}>{H1}</w:moveFrom>{H1}"),
    "what was moved to here": ("tracked-move", f"<w:moveTo {CHANGE}>{H1}</w:moveTo>"),
    "a change of look": ("tracked-format", words("H1", f"<w:b/><w:rPrChange {CHANGE}><w:rPr/></w:rPrChange>")),
    "struck through": ("struck-through", words("H1", "<w:strike/>")),
    "struck through twice": ("struck-through", words("H1", '<w:dstrike w:val="1"/>')),
    "hidden": ("hidden-text", words("H1", "<w:vanish/>")),
    "hidden by its style": ("hidden-text", words("H1", '<w:rStyle w:val="Unseen"/>')),
    "white": ("hard-to-see", words("H1", '<w:color w:val="ffffff"/>')),
    "tiny": ("hard-to-see", words("H1", '<w:sz w:val="2"/>')),
    "raised": ("raised-text", H1 + words("2", '<w:vertAlign w:val="superscript"/>')),
    "in capitals that nobody typed": ("shown-otherwise", words("h1", "<w:caps/>")),
    "in a font of signs": ("shown-otherwise", words("H1", '<w:rFonts w:ascii="Wingdings"/>')),
    "right to left": ("right-to-left", words("H1", "<w:rtl/>")),
    "a simple field": ("field", f'<w:fldSimple w:instr=" REF stick ">{H1}</w:fldSimple>'),
    "a field": ("field", field("DOCPROPERTY stick", H1)),
    "a field without words": ("field", H1 + field("FORMCHECKBOX", "")),
    "a field that never ends": ("field", f'{H1}<w:r><w:fldChar w:fldCharType="begin"/></w:r>'),
    "a field that never begins its words": ("field", f'<w:r><w:fldChar w:fldCharType="begin"/></w:r>{H1}'),
    "a form field that is empty": ("empty-form-field", control(H1, "<w:showingPlcHdr/>")),
    "a form field of data": ("bound-form-field", control(H1, "<w:dataBinding/>")),
    "a picture": ("picture", H1 + "<w:r><w:drawing/></w:r>"),
    "a sheet of another program": ("embedded-object", H1 + "<w:r><w:object/></w:r>"),
    "a text box": ("text-box", H1 + box("Mind the step.")),
    "a choice of contents": ("not-understood", choice(H1)),
    "a choice within a run": ("not-understood", f"<w:r>{choice('<w:t>H1</w:t>')}</w:r>"),
    "a formula": ("formula", f'{H1}<m:oMath xmlns:m="{MATHS}"><m:r><m:t>x</m:t></m:r></m:oMath>'),
    "a footnote": ("note-mark", H1 + '<w:r><w:footnoteReference w:id="2"/></w:r>'),
    "a symbol": ("symbol", H1 + '<w:r><w:sym w:font="Symbol" w:char="F0B4"/></w:r>'),
    "an optional hyphen": ("optional-hyphen", "<w:r><w:t>H</w:t><w:softHyphen/><w:t>1</w:t></w:r>"),
    "ruby": ("not-understood", H1 + "<w:r><w:ruby/></w:r>"),
    "what nobody knows": ("not-understood", f'<w:novelty>{H1}</w:novelty>'),
    "what nobody knows, of another": ("not-understood", f'<x:novelty xmlns:x="urn:x">{H1}</x:novelty>'),
    "what begins as if it were a mark": ("not-understood", f"<w:noveltyEnd>{H1}</w:noveltyEnd>"),
    "words around a comment of the XML": ("not-understood", "<w:r><w:t>H<!-- no -->1</w:t></w:r>"),
    "a long dash": ("doubtful-dash", words("H1 – H2")),
    "an unseen letter": ("invisible-character", words("H\u200b1")),
}  # fmt: skip


@pytest.mark.parametrize("name", AFTER)
def test_it_is_named_in_a_plan_and_let_be_around_it(name: str) -> None:
    code, xml = AFTER[name]
    inside, around = planned(), planned()
    for made in (inside, around):
        unseen = made.styles.add_style("Unseen", WD_STYLE_TYPE.CHARACTER)
        unseen.font.hidden = True
    raw(inside, words("inspect ") + xml)
    raw(around, words("Have a look at ") + xml, "Normal")
    assert code in codes(inside)
    assert codes(around) <= {"field"} if "never" in name else codes(around) == set()


def _paragraph_of_style(made: Package, change: Callable[[Any], None]) -> None:
    change(made.add_paragraph("inspect H1", style="Plan")._p.get_or_add_pPr())


def _mark(xml: str) -> Callable[[Package], None]:
    tag, _, rest = xml[1:].partition(">")
    tag, closed = tag.rstrip("/"), "/" * tag.endswith("/")
    one = f"<{tag} {W}{closed}>{rest}"
    return lambda made: _paragraph_of_style(made, lambda of: of.append(parse_xml(one)))


def _struck_style(made: Package) -> None:
    made.styles["Plan"].font.strike = True


def _struck_base(made: Package) -> None:
    made.styles["Plan"].base_style = made.styles["Normal"]
    made.styles["Normal"].font.double_strike = True


def _columns(made: Package) -> None:
    table = made.add_table(1, 2)
    for cell in table.rows[0].cells:
        cell.paragraphs[0].style = "Plan"
        cell.paragraphs[0].add_run("inspect H1")


def _merged(made: Package) -> None:
    table = made.add_table(2, 1)
    for row in table.rows:
        row.cells[0].paragraphs[0].style = "Plan"
        row.cells[0].paragraphs[0].add_run("inspect H1")
    table.cell(0, 0)._tc.get_or_add_tcPr().append(parse_xml(f'<w:vMerge {W} w:val="restart"/>'))
    table.cell(1, 0)._tc.get_or_add_tcPr().append(parse_xml(f"<w:vMerge {W}/>"))


def _deleted_row(made: Package) -> None:
    table = made.add_table(1, 1)
    table.cell(0, 0).paragraphs[0].style = "Plan"
    table.cell(0, 0).paragraphs[0].add_run("inspect H1")
    table.rows[0]._tr.get_or_add_trPr().append(parse_xml(f"<w:del {W} {CHANGE}/>"))


def _table_in_a_plan(made: Package) -> None:
    cell = made.add_table(1, 1).cell(0, 0)
    cell.paragraphs[0].add_run('caution "x"')
    cell.add_table(1, 1).cell(0, 0).paragraphs[0].add_run("inspect H1")
    cell.paragraphs[0].insert_paragraph_before('plan "another"')


def _numbers(made: Package) -> None:
    listed(made.add_paragraph("inspect H1", style="Plan"), numbered(made, level(0, "%1.", "cardinalText")))


def _header(made: Package) -> None:
    made.sections[0].header.paragraphs[0].style = "Plan"
    made.sections[0].header.paragraphs[0].add_run("inspect H1")


def _embedded(made: Package) -> None:
    made.element.body.insert_element_before(parse_xml(f"<w:altChunk {W}/>"), "w:sectPr")


def _box_beside(made: Package) -> None:
    style = '<w:pPr><w:pStyle w:val="Plan"/></w:pPr>'
    raw(made, words("Beside: ") + box("inspect H1", style), "Normal")


def _deleted_paragraph_between(made: Package) -> None:
    raw(made, f"<w:del {CHANGE}><w:r><w:delText>inspect H1</w:delText></w:r></w:del>")


def _beside_in_words(made: Package) -> None:
    made.add_paragraph("3. inspect H1")


def _beside_in_a_table(made: Package) -> None:
    made.add_table(1, 2).cell(0, 1).text = "inspect H1"


def _beside_in_a_text_box(made: Package) -> None:
    raw(made, words("Beside: ") + box("inspect H1"), "Normal")


def _open_fence(made: Package) -> None:
    made.add_paragraph("```tpg")


WHOLE: dict[str, tuple[str, Callable[[Package], None]]] = {
    "an inserted paragraph": ("tracked-insertion", _mark(f"<w:rPr><w:ins {CHANGE}/></w:rPr>")),
    "a paragraph joined to the next": ("tracked-deletion", _mark(f"<w:rPr><w:del {CHANGE}/></w:rPr>")),
    "a hidden mark of a paragraph": ("hidden-text", _mark("<w:rPr><w:vanish/></w:rPr>")),
    "a change of style": ("tracked-format", _mark(f"<w:pPrChange {CHANGE}><w:pPr/></w:pPrChange>")),
    "a frame": ("frame", _mark('<w:framePr w:w="100"/>')),
    "a paragraph right to left": ("right-to-left", _mark("<w:bidi/>")),
    "a style that strikes": ("struck-through", _struck_style),
    "a style whose base strikes": ("struck-through", _struck_base),
    "two columns": ("columns", _columns),
    "a cell behind another": ("merged-cell", _merged),
    "a row taken out": ("tracked-deletion", _deleted_row),
    "a table": ("table", _table_in_a_plan),
    "numbers in words": ("other-numbers", _numbers),
    "a plan in a header": ("elsewhere", _header),
    "another document": ("embedded-document", _embedded),
    "a plan in a text box": ("text-box", _box_beside),
    "a paragraph taken out": ("tracked-deletion", _deleted_paragraph_between),
    "a step around the plan": ("step-outside-fence", _beside_in_words),
    "a step in a table": ("step-outside-fence", _beside_in_a_table),
    "a step in a text box": ("step-outside-fence", _beside_in_a_text_box),
    "a fence that is never closed": ("fence-not-closed", _open_fence),
}


def test_a_second_table_of_steps_is_said_once() -> None:
    made = planned()
    table = made.add_table(3, 2)
    for row, step in enumerate(("inspect H1", "clean H1", "inspect H1")):
        table.cell(row, 0).text, table.cell(row, 1).text = f"{row + 4}.", step
    result = read_plan(read_document(data(made), "a.docx")[0])
    assert [one.message for one in result.diagnostics if one.code == "step-outside-fence"] == [
        "this line and 2 after it read as steps of the plan and stand outside of it, so that they are not read"
    ]


@pytest.mark.parametrize("name", WHOLE)
def test_a_whole_paragraph_or_table(name: str) -> None:
    code, change = WHOLE[name]
    made = planned()
    assert codes(made) == set()
    change(made)
    assert code in codes(made)


def test_everything_that_can_be_said_is_tried() -> None:
    tried = {code for code, _ in (*AFTER.values(), *WHOLE.values())}
    assert tried >= set(SAYING)


def test_plain_text_of_every_kind_is_read() -> None:
    """Links, controls that are filled in, fields that are plain text, bookmarks, comments, proofing, looks."""
    made = planned()
    filled = words("pect", '<w:b/><w:caps w:val="0"/>')
    xml = (
        f'<w:bookmarkStart w:id="1" w:name="a"/><w:hyperlink w:anchor="a">{words("ins")}</w:hyperlink>'
        f"{control(filled, '<w:alias/>')}"
        f'<w:bookmarkEnd w:id="1"/><w:r><w:tab/></w:r><w:smartTag>{field("HYPERLINK x", words("H"))}</w:smartTag>'
        f'<w:proofErr w:type="spellEnd"/><w:fldSimple w:instr="FORMTEXT">{words("1", "<w:u/>")}</w:fldSimple>'
    )  # fmt: skip
    raw(made, xml)
    source, problems = read_document(data(made), "a.docx")
    assert problems == ()
    assert source.text.endswith("\ninspect\tH1\n")
    assert not read_plan(source).diagnostics


def test_a_document_without_a_plan_is_never_clean() -> None:
    made = docx.Document()
    made.add_paragraph("inspect H1")
    assert codes(made) == {"no-plan-in-document"}


def test_line_ends_within_words_are_blanks() -> None:
    """A line end in the XML is a blank on paper, and must not make two statements of one."""
    made = planned()
    paragraph = raw(made, words("inspect\nH1"))
    assert paragraph.find(f".//{qn('w:t')}").text == "inspect\nH1"
    assert read_document(data(made), "a.docx")[0].text.endswith("\ninspect H1\n")
