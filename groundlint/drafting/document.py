"""A Word document to begin with: a first page for whoever writes it, and a plan in the style Plan, whose steps the
document numbers."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from groundlint.reading.word.layout import COLUMN
from groundlint.reading.word.opening import packed

_FIRST_PAGE = (
    "Take this page out before you issue the procedure.",
    "The plan is all paragraphs of the style Plan, and of styles based on it: Plan Step numbers its paragraphs. All"
    " else is for people, and is not read; a step that stands there is reported.",
    "Write one statement in a paragraph. Indent the steps of a routine below its first line.",
    "Word may put curly quotes and blanks that break no line: both are read. It may put a long dash for a hyphen: type"
    " a plain hyphen, and two points for a range, such as G1..G4.",
    "Accept or reject tracked changes before a review. Words struck through or hidden, pictures, text boxes, footnotes"
    " and fields in the plan are reported, and the plan is then not read.",
    "Review it with: groundlint review FILE.docx --comments COMMENTED.docx",
    "It checks what a plan says, not what is in the field. The employer's rules, local codes, a qualified person's"
    " judgement and a licensed engineer's calculation stand above it.",
)
_STEP = re.compile(r"\s*[0-9]+\.\s+")
_NUMBERS = 9000
"""Identity of the list that counts the steps."""


def document(parts: Iterable[tuple[str, str]]) -> bytes:
    """The bytes of a document with these parts of a plan, each below its heading. `ImportError` without python-docx."""
    import docx

    made: Any = docx.Document()
    properties = made.core_properties
    properties.author = properties.comments = ""
    _styles(made)
    made.add_heading("For the writer", 1)
    for text in _FIRST_PAGE:
        made.add_paragraph(text)
    made.add_page_break()
    made.add_heading("Procedure", 1)
    for heading, text in parts:
        made.add_heading(heading, 2)
        for line in filter(str.strip, text.split("\n")):
            step = _STEP.match(line)
            words = line[step.end() :] if step else line.strip()
            paragraph = made.add_paragraph(re.sub("  +", " ", words), style="Plan Step" if step else "Plan")
            blanks = len(line) - len(line.lstrip())
            if blanks and not step:
                _indent(paragraph._p.get_or_add_pPr(), blanks)
    return packed(made)


def _styles(made: Any) -> None:
    """The styles Plan, in letters of one width without marks of spelling, and Plan Step, which a list numbers."""
    from docx.enum.style import WD_STYLE_TYPE
    from docx.oxml.ns import nsdecls
    from docx.oxml.parser import parse_xml
    from docx.shared import Pt

    words = nsdecls("w")
    plan = made.styles.add_style("Plan", WD_STYLE_TYPE.PARAGRAPH)
    plan.base_style = made.styles["Normal"]
    plan.font.name, plan.font.size = "Courier New", Pt(10)
    plan.paragraph_format.space_after = Pt(2)
    plan.element.get_or_add_rPr().append(parse_xml(f"<w:noProof {words}/>"))
    step = made.styles.add_style("Plan Step", WD_STYLE_TYPE.PARAGRAPH)
    step.base_style = plan
    level = (
        '<w:lvl w:ilvl="0"><w:start w:val="1"/><w:numFmt w:val="decimal"/><w:pStyle w:val="PlanStep"/>'
        '<w:lvlText w:val="%1."/><w:lvlJc w:val="left"/>'
        '<w:pPr><w:ind w:left="720" w:hanging="480"/></w:pPr></w:lvl>'
    )
    numbering = made.part.numbering_part.element
    numbering.insert(0, parse_xml(f'<w:abstractNum {words} w:abstractNumId="{_NUMBERS}">{level}</w:abstractNum>'))
    numbering.append(parse_xml(f'<w:num {words} w:numId="{_NUMBERS}"><w:abstractNumId w:val="{_NUMBERS}"/></w:num>'))
    step.element.get_or_add_pPr().get_or_add_numPr().get_or_add_numId().val = _NUMBERS


def _indent(properties: Any, blanks: int) -> None:
    from docx.shared import Twips

    properties.ind_left = Twips(COLUMN * blanks)
