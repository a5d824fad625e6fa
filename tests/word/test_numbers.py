"""Automatic numbers of every kind, and the text itself, as LibreOffice shows them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest
from documents import FORMS, data, document, level, listed, numbered, package
from docx.document import Document as Package
from sound_plans import sound_plan

from groundlint.language.reader import read_statements
from groundlint.reading.word import read_document

Judge = Callable[[dict[str, bytes]], dict[str, list[str]]]


@pytest.fixture(scope="module")
def judge(libreoffice: Callable[[Path], None], tmp_path_factory: pytest.TempPathFactory) -> Judge:
    """The text of documents as LibreOffice exports it, by name, a paragraph a line; all in one call."""

    def texts(documents: dict[str, bytes]) -> dict[str, list[str]]:
        folder = tmp_path_factory.mktemp("documents")
        for name, whole in documents.items():
            (folder / f"{name}.docx").write_bytes(whole)
        libreoffice(folder)
        read = {name: (folder / f"{name}.txt").read_text("utf-8-sig") for name in documents}
        return {name: [" ".join(line.split()) for line in text.splitlines()] for name, text in read.items()}

    return texts


def lines(whole: bytes) -> list[str]:
    text = read_document(whole, "a.docx")[0].text
    return [" ".join(line.replace("\u2011", "-").split()) for line in text.rstrip("\n").split("\n")]


def of_levels(made: Package, number: int, depths: str) -> None:
    for at, depth in enumerate(depths):
        if depth == " ":
            made.add_paragraph(f"between {at}")
        else:
            listed(made.add_paragraph(f"item {at}", style="Plan"), number, int(depth))


def _forms(made: Package) -> None:
    for at, form in enumerate(
        ("decimal", "decimalZero", "lowerLetter", "upperLetter", "lowerRoman", "upperRoman", "none", "bullet")
    ):
        text = "•" if form == "bullet" else "(%1)"
        of_levels(made, numbered(made, level(0, text, form, 2), 50 + at, 50 + at), "0" * 30)


def _nested(made: Package) -> None:
    levels = level(0, "Step %1.") + level(1, "%1.%2") + level(2, "%3)", "lowerLetter") + level(3, "%4.", "lowerRoman")
    of_levels(made, numbered(made, levels), "0011 1222330 1231 0123")


def _deep_first(made: Package) -> None:
    of_levels(made, numbered(made, level(0, "%1.") + level(1, "%1.%2") + level(2, "%1.%2.%3")), "211 20 0212")


def _lists_that_share(made: Package) -> None:
    """One list that another goes on with, and one that begins anew."""
    first = numbered(made, level(0, "%1.") + level(1, "%2)"), 92, 92)
    second = numbered(made, "", 92, 93)
    anew = '<w:lvlOverride w:ilvl="0"><w:startOverride w:val="5"/></w:lvlOverride>'
    third = numbered(made, "", 92, 94, anew)
    for number in (first, second, third, third):
        of_levels(made, number, "00 10")


def _own_levels(made: Package) -> None:
    own = f'<w:lvlOverride w:ilvl="0">{level(0, "[%1]", "upperLetter", 3)}</w:lvlOverride>'
    of_levels(made, numbered(made, level(0, "%1."), 95, 95, own), "000")


def _by_style(made: Package) -> None:
    number = numbered(made, level(0, "%1.", more='<w:pStyle w:val="Plan"/>'), 96, 96)
    properties = made.styles["Plan"].element.get_or_add_pPr()
    properties.get_or_add_numPr().get_or_add_numId().val = number
    for at in range(3):
        made.add_paragraph(f"by style {at}", style="Plan")
    listed(made.add_paragraph("without", style="Plan"), 0)
    made.add_paragraph("by style again", style="Plan")


KINDS = (_forms, _nested, _deep_first, _lists_that_share, _own_levels, _by_style)


def test_automatic_numbers_are_those_that_libreoffice_shows(judge: Judge) -> None:
    documents = {}
    for kind in KINDS:
        made = package()
        kind(made)
        documents[kind.__name__] = data(made)
    shown = judge(documents)
    for name, whole in documents.items():
        assert lines(whole) == shown[name], name


def test_legal_numbers_are_decimal() -> None:
    """ISO/IEC 29500-1, 17.9.4; this version of LibreOffice shows each in its own form."""
    made = package()
    levels = level(0, "%1.", "upperRoman") + level(1, "%1.%2.", "lowerLetter", more="<w:isLgl/>")
    of_levels(made, numbered(made, levels), "01101")
    assert [line.split()[0] for line in lines(data(made))] == ["I.", "1.1.", "1.2.", "II.", "2.1."]


def test_levels_begin_anew_where_they_are_said_to() -> None:
    """ISO/IEC 29500-1, 17.9.10; this version of LibreOffice begins each level anew after any above it."""
    made = package()
    never = level(0, "%1.") + level(1, "%1.%2", more='<w:lvlRestart w:val="0"/>')
    of_levels(made, numbered(made, never), "011011")
    after_first = level(0, "%1.") + level(1, "%2)") + level(2, "%3:", more='<w:lvlRestart w:val="1"/>')
    of_levels(made, numbered(made, after_first, 91, 91), "0121202")
    assert [line.split()[0] for line in lines(data(made))] == [
        *("1.", "1.1", "1.2", "2.", "2.3", "2.4"),
        *("1.", "1)", "1:", "2)", "2:", "2.", "1:"),
    ]


def test_the_text_is_that_which_libreoffice_shows(
    judge: Judge, seeds: Callable[[int, int], range], report: Callable[[str], None]
) -> None:
    documents = {}
    for seed in seeds(6, 60):
        form = sorted(FORMS)[seed % len(FORMS)]
        documents[f"{form}-{seed}"] = document(sound_plan(seed), form, seed)
    shown = judge(documents)
    for name, whole in documents.items():
        assert lines(whole) == [line.replace("\u2011", "-") for line in shown[name]], name
    report(f"texts of Word documents held against LibreOffice's: {len(documents)}")


def test_only_numbers_of_steps_are_numbers_of_the_plan() -> None:
    """`3.` is one; `iii.` names the place and no more, and so does a number beside what is no step."""
    made = package()
    for text in ('plan "x"', "stick H1 8 ft", "structure 212 wood pole"):
        made.add_paragraph(text, style="Plan")
    number = numbered(made, level(0, "%1.", start=3) + level(1, "%2)", "lowerLetter"))
    listed(made.add_paragraph("inspect H1", style="Plan"), number)
    listed(made.add_paragraph("inspect H1", style="Plan"), number, 1)
    roman = numbered(made, level(0, "%1.", "lowerRoman"), 91, 91)
    listed(made.add_paragraph("inspect H1", style="Plan"), roman)
    listed(made.add_paragraph("rod R1 8 ft", style="Plan"), roman)
    listed(made.add_paragraph("rod R2 8 ft", style="Plan"), number)
    source, problems = read_document(data(made), "a.docx")
    read = read_statements(source)
    assert (problems, read.diagnostics) == ((), ())
    assert [one.number for one in read.text.statements] == [None, None, None, "3", None, None, None, None]
    assert [one.span.called for one in read.text.statements[2:]] == [
        "paragraph 3 (structure 212 wood pole)",
        "step 3",
        "step 3 a",
        "step i",
        "step ii",
        "step 4",
    ]


def test_a_number_that_stands_twice_is_named_with_its_paragraph() -> None:
    made = package()
    made.add_paragraph('plan "x"', style="Plan")
    for number in (numbered(made, level(0, "%1.")), numbered(made, level(0, "%1."), 91, 91)):
        listed(made.add_paragraph("inspect H1", style="Plan"), number)
    source, _ = read_document(data(made), "a.docx")
    called = ['paragraph 1 (plan "x")', "step 1 (paragraph 2)", "step 1 (paragraph 3)"]
    assert [source.called(line) for line in (1, 2, 3)] == called


@pytest.mark.parametrize("seed", range(3))
def test_numbers_without_a_definition_are_none(seed: int) -> None:
    made, rng = package(), Random(seed)
    listed(made.add_paragraph("inspect H1", style="Plan"), 77, rng.randrange(12))
    assert read_document(data(made), "a.docx")[0].text.strip() == "inspect H1"
