"""Word documents made for tests, by python-docx and raw XML: a plan's lines in each form that is read."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from io import BytesIO
from random import Random
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

import docx
from docx.document import Document as Package
from docx.enum.style import WD_STYLE_TYPE
from docx.oxml import parse_xml
from docx.oxml.ns import nsdecls

NUMBER = re.compile(r"([0-9]+)\.\s+")
W = nsdecls("w")


def package() -> Package:
    """An empty document with the style Plan and a list that counts 1, 2, 3."""
    made = docx.Document()
    made.styles.add_style("Plan", WD_STYLE_TYPE.PARAGRAPH)
    return made


def data(made: Package) -> bytes:
    out = BytesIO()
    made.save(out)
    return out.getvalue()


def numbered(made: Package, levels: str, abstract: int = 90, number: int = 90, more: str = "") -> int:
    """A list of these levels (XML), and its number; ``more`` is what this list says otherwise."""
    root = made.part.numbering_part.element
    if not root.xpath(f"w:abstractNum[@w:abstractNumId='{abstract}']"):
        one = parse_xml(f'<w:abstractNum {W} w:abstractNumId="{abstract}">{levels}</w:abstractNum>')
        root.insert(0, one)
    root.append(parse_xml(f'<w:num {W} w:numId="{number}"><w:abstractNumId w:val="{abstract}"/>{more}</w:num>'))
    return number


def level(depth: int, text: str, form: str = "decimal", start: int = 1, more: str = "") -> str:
    return (
        f'<w:lvl w:ilvl="{depth}"><w:start w:val="{start}"/><w:numFmt w:val="{form}"/>{more}'
        f'<w:lvlText w:val="{text}"/><w:lvlJc w:val="left"/></w:lvl>'
    )


def listed(paragraph: Any, number: int, depth: int = 0) -> None:
    """Numbers a paragraph by a list."""
    properties = paragraph._p.get_or_add_pPr()
    of = properties.get_or_add_numPr()
    of.get_or_add_ilvl().val = depth
    of.get_or_add_numId().val = number


def raw(made: Package, xml: str, style: str = "Plan") -> Any:
    """A paragraph of raw XML at the end of a document."""
    one = parse_xml(f'<w:p {W}><w:pPr><w:pStyle w:val="{style}"/></w:pPr>{xml}</w:p>')
    made.element.body.insert_element_before(one, "w:sectPr")
    return one


def words(text: str, look: str = "") -> str:
    """A run, as XML."""
    from xml.sax.saxutils import escape

    return f'<w:r><w:rPr>{look}</w:rPr><w:t xml:space="preserve">{escape(text)}</w:t></w:r>'


def _indented(paragraph: Any, line: str) -> str:
    blanks = len(line) - len(line.lstrip())
    if blanks:
        properties = paragraph._p.get_or_add_pPr()
        properties.get_or_add_ind().set(docx.oxml.ns.qn("w:left"), str(120 * blanks))
    return line.strip()


def in_style(made: Package, lines: Sequence[str], rng: Random) -> None:
    """Typed as it stands, a line a paragraph."""
    for line in lines:
        made.add_paragraph(line, style="Plan")


def in_list(made: Package, lines: Sequence[str], rng: Random) -> None:
    """Steps numbered by the document, and indents of paragraphs; each number begins a list anew where it has to."""
    number, last = numbered(made, level(0, "%1.")), 0
    for line in lines:
        paragraph = made.add_paragraph(style="Plan")
        text = _indented(paragraph, line)
        found = NUMBER.match(text)
        if found:
            if int(found[1]) != last + 1:
                anew = f'<w:lvlOverride w:ilvl="0"><w:startOverride w:val="{found[1]}"/></w:lvlOverride>'
                number = numbered(made, "", number=number + 1, more=anew)
            last, text = int(found[1]), text[found.end() :]
            listed(paragraph, number)
        paragraph.add_run(text)


def in_runs(made: Package, lines: Sequence[str], rng: Random) -> None:
    """Each line cut anywhere into runs of different looks, with marks of spelling and bookmarks in between."""
    for line in lines:
        paragraph = made.add_paragraph(style="Plan")
        at = 0
        while at < len(line):
            size = rng.randint(1, 9)
            run = paragraph.add_run(line[at : at + size])
            run.bold, run.italic = rng.random() < 0.3, rng.random() < 0.3
            if rng.random() < 0.3:
                paragraph._p.append(parse_xml(f'<w:proofErr {W} w:type="spellStart"/>'))
            at += size


def in_table(made: Package, lines: Sequence[str], rng: Random) -> None:
    """A table of one cell."""
    cell = made.add_table(1, 1).cell(0, 0)
    begin = next(at for at, line in enumerate(lines) if line.casefold().startswith("plan"))
    lines = [lines[begin], *lines[:begin], *lines[begin + 1 :]]
    cell.paragraphs[0].add_run(lines[0])
    for line in lines[1:]:
        cell.add_paragraph(line)


def in_fence(made: Package, lines: Sequence[str], rng: Random) -> None:
    """Fenced text, all of it in one paragraph of line breaks, or each line in its own."""
    whole = ["```tpg", *lines, "```"]
    if rng.random() < 0.5:
        made.add_paragraph("\n".join(whole))
    else:
        for line in whole:
            made.add_paragraph(line)


def as_typed_by_word(made: Package, lines: Sequence[str], rng: Random) -> None:
    """Curly quotes, hyphens that break no line, blanks that break none."""
    for line in lines:
        parts = line.split('"')
        curly = "".join(part + ("“" if at % 2 == 0 else "”") * (at < len(parts) - 1) for at, part in enumerate(parts))
        code, sign, comment = curly.partition("  #")
        code = "".join("\u00a0" if letter == " " and rng.random() < 0.2 else letter for letter in code)
        made.add_paragraph(code.replace("-", "\u2011") + sign + comment, style="Plan")


FORMS: dict[str, Callable[[Package, Sequence[str], Random], None]] = {
    form.__name__: form for form in (in_style, in_list, in_runs, in_table, in_fence, as_typed_by_word)
}


def document(text: str, form: str, seed: int = 1) -> bytes:
    """A procedure in Word that holds a plan in a form, with words around it."""
    made = package()
    made.add_heading("How the work is done", 1)
    made.add_paragraph("Read it to the crew. Nothing here is part of the plan.")
    FORMS[form](made, text.rstrip("\n").split("\n"), Random(seed))
    made.add_paragraph("Signed for by the crew.")
    return data(made)


def zipped(parts: dict[str, bytes | str]) -> bytes:
    """A package of any parts."""
    out = BytesIO()
    with ZipFile(out, "w", ZIP_DEFLATED) as made:
        for name, part in parts.items():
            made.writestr(name, part)
    return out.getvalue()


def parts_of(whole: bytes) -> dict[str, bytes]:
    with ZipFile(BytesIO(whole)) as found:
        return {name: found.read(name) for name in found.namelist()}
