"""Findings as comments on the very words, repairs as tracked changes: the text stays, and people's comments do."""

from __future__ import annotations

import re
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from random import Random

import docx
import pytest
from crowd import opener, reviewer
from documents import FORMS, data, document, parts_of
from docx.oxml.ns import qn
from sound_plans import sound_plan
from test_plans_in_documents import found

from groundlint.findings.model import Review
from groundlint.findings.repairs import mended as mended_plan
from groundlint.reading.word.comments import Comments, Note
from groundlint.reading.word.opening import packed
from groundlint.reading.word.plan import Document
from groundlint.reading.word.proposals import Proposals
from groundlint.reading.word.runs import Runs
from groundlint.report.text import review_notes

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
MOST = 8
"""Reviews made to mend a plan: what is written is tried here, and not how far a plan can be mended."""
SINS = (EXAMPLES / "deliberate-open-wire.tpg").read_text("utf-8")


def reviewed(whole: bytes) -> Review:
    one = Document(whole, "a.docx")
    return reviewer().review(one.source, opener(EXAMPLES), problems=one.problems)


def commented(whole: bytes, review: Review | None = None) -> bytes:
    runs = Runs(Document(whole, "a.docx"))
    notes = review_notes(review or reviewed(whole))
    Comments(runs).write([Note(span.start, span.end, text) for span, text in notes])
    return packed(runs.document.package)


def words_under(whole: bytes) -> dict[str, tuple[str, str]]:
    """What each comment says, and the words that it is on, by its author, from the marks in the XML alone."""
    package = docx.Document(BytesIO(whole))
    said: dict[str, tuple[str, str]] = {}
    open_ones: dict[str, list[str]] = {}
    under: dict[str, str] = {}
    for one in package.element.body.iter():
        if one.tag == qn("w:commentRangeStart"):
            open_ones[one.get(qn("w:id"))] = []
        elif one.tag == qn("w:commentRangeEnd"):
            under[one.get(qn("w:id"))] = "".join(open_ones.pop(one.get(qn("w:id"))))
        elif one.tag in (qn("w:t"), qn("w:br"), qn("w:p")):
            for text in open_ones.values():
                text.append((one.text or "") if one.tag == qn("w:t") else "\n")
    assert not open_ones
    for comment in package.comments:
        number = str(comment.comment_id)
        said[f"{comment.author}: {comment.text}"] = comment.author, under[number]
    return said


@pytest.mark.one_in(6)
@pytest.mark.parametrize("form", FORMS)
def test_each_finding_is_a_comment_on_its_words(form: str) -> None:
    whole = document(SINS, form, 3)
    review = reviewed(whole)
    notes = review_notes(review)
    assert len(notes) > 5
    made = commented(whole, review)
    under = words_under(made)
    assert len(under) == len({(span.start, span.end, text) for span, text in notes})
    for span, text in notes:
        author, words = under[f"groundlint: {text}"]
        assert author == "groundlint"
        assert words.strip("\n") == span.text or not span.text


@pytest.mark.one_in(6)
@pytest.mark.parametrize("form", FORMS)
def test_the_text_is_the_same_and_so_is_every_other_part(form: str) -> None:
    whole = document(SINS, form, 4)
    made = commented(whole)
    before, after = Document(whole, "a.docx"), Document(made, "a.docx")
    assert (before.source.text, before.source.marks) == (after.source.text, after.source.marks)
    assert found(reviewed(whole)) == found(reviewed(made))
    old, new = parts_of(whole), parts_of(made)
    assert set(old) <= set(new)
    allowed = {"word/document.xml", "word/comments.xml", "word/_rels/document.xml.rels", "[Content_Types].xml"}
    assert {name for name in new if new[name] != old.get(name)} <= allowed


@pytest.mark.one_in(2)
def test_written_again_nothing_changes_and_peoples_comments_stay() -> None:
    package = docx.Document(BytesIO(document(SINS, "in_list")))
    paragraphs = [one for one in package.paragraphs if one.runs]
    package.add_comment(paragraphs[9].runs, "Ask the foreman.", "A. Reader", "AR")
    package.add_comment(paragraphs[9].runs, "An old finding", "groundlint", "gl")
    once = commented(data(package))
    assert commented(once) == once
    authors = [author for author, _ in words_under(once).values()]
    assert authors.count("A. Reader") == 1
    assert "groundlint: An old finding" not in words_under(once)
    assert words_under(once)["A. Reader: Ask the foreman."] == ("A. Reader", paragraphs[9].text)
    # what is mended has no comment any more
    plain = commented(once, reviewed(document("\n".join(SINS.split("\n")[:3]), "in_list")))
    assert words_under(plain).keys() - words_under(once).keys()
    assert [author for author, _ in words_under(plain).values()].count("A. Reader") == 1
    assert Document(plain, "").source.text == Document(once, "").source.text


def test_an_answer_to_a_comment_that_goes_stands_by_itself() -> None:
    """Threads of comments stand in a part that names their paragraphs (MS-DOCX 2.5.1.3)."""
    whole = commented(document(SINS, "in_style"))
    parts = parts_of(whole)
    number = iter(range(1, 1000))
    comments = re.sub(
        rb"(<w:p>|<w:p )",
        lambda one: (
            b'<w:p xmlns:w14="http://schemas.microsoft.com/office/word/2010/wordml" w14:paraId="%08X" ' % next(number)
            + b">" * one[0].endswith(b">")
        ),
        parts["word/comments.xml"],
    )
    first = comments.find(b'w14:paraId="') + len(b'w14:paraId="')
    mine = comments[first : first + 8].decode()
    threads = (
        '<w15:commentsEx xmlns:w15="http://schemas.microsoft.com/office/word/2012/wordml">'
        f'<w15:commentEx w15:paraId="{mine}" w15:done="0"/>'
        f'<w15:commentEx w15:paraId="AAAAAAAA" w15:paraIdParent="{mine}" w15:done="0"/></w15:commentsEx>'
    )
    kind = "http://schemas.microsoft.com/office/2011/relationships/commentsExtended"
    types = "application/vnd.openxmlformats-officedocument.wordprocessingml.commentsExtended+xml"
    relation = f'<Relationship Id="rId900" Type="{kind}" Target="commentsExtended.xml"/></Relationships>'
    override = f'<Override PartName="/word/commentsExtended.xml" ContentType="{types}"/></Types>'
    from documents import zipped

    made = zipped(
        {
            **parts,
            "word/comments.xml": comments,
            "word/commentsExtended.xml": threads,
            "word/_rels/document.xml.rels": parts["word/_rels/document.xml.rels"].replace(
                b"</Relationships>", relation.encode()
            ),
            "[Content_Types].xml": parts["[Content_Types].xml"].replace(b"</Types>", override.encode()),
        }
    )
    runs = Runs(Document(made, "a.docx"))
    Comments(runs).write([])
    left = parts_of(packed(runs.document.package))
    assert b"AAAAAAAA" in left["word/commentsExtended.xml"]
    assert mine.encode() not in left["word/commentsExtended.xml"]
    assert b"groundlint" not in left["word/comments.xml"]


# ------------------------------------------------------------- proposals


def accepted(whole: bytes) -> bytes:
    """A document with every tracked change accepted, as Word does it."""
    package = docx.Document(BytesIO(whole))
    body = package.element.body
    for mark in [one for one in body.iter(qn("w:del")) if one.getparent().tag == qn("w:rPr")]:
        paragraph = mark.getparent().getparent().getparent()
        paragraph.getparent().remove(paragraph)
    for one in list(body.iter(qn("w:del"))):
        one.getparent().remove(one)
    for one in list(body.iter(qn("w:ins"))):
        if one.getparent().tag != qn("w:rPr"):
            for run in list(one):
                one.addprevious(run)
        one.getparent().remove(one)
    return data(package)


def rejected(whole: bytes) -> bytes:
    package = docx.Document(BytesIO(whole))
    body = package.element.body
    for mark in [one for one in body.iter(qn("w:ins")) if one.getparent().tag == qn("w:rPr")]:
        paragraph = mark.getparent().getparent().getparent()
        paragraph.getparent().remove(paragraph)
    for one in list(body.iter(qn("w:ins"))):
        one.getparent().remove(one)
    for one in list(body.iter(qn("w:del"))):
        for run in list(one):
            one.addprevious(run)
            for words in run.iterchildren(qn("w:delText")):
                words.tag = qn("w:t")
        one.getparent().remove(one)
    return data(package)


def proposed(whole: bytes) -> tuple[bytes, Review]:
    """A document with the repairs proposed, and the review of the plan with them."""
    one = Document(whole, "a.docx")
    review = reviewed(whole)
    mended = mended_plan(review, lambda source: reviewer().review(source, opener(EXAMPLES)), most=MOST).review
    runs = Runs(one)
    Comments(runs).write([Note(span.start, span.end, text) for span, text in review_notes(reviewed(whole))])
    Proposals(runs).write(mended.plan.source.text)
    return packed(runs.document.package), mended


def without_steps(text: str, rng: Random) -> str:
    """A plan without two of the steps that can be put in again."""
    lines = text.split("\n")
    steps = [line for line in lines if re.match(r"\s*[0-9]+\.\s+(inspect|prove|clean|brief|tag)", line)]
    left_out = rng.sample(steps, min(2, len(steps)))
    return "\n".join(line for line in lines if line not in left_out)


def _same_but_for_lists(one: Review, other: Review) -> bool:
    """Numbers of a list count on where a step is put in: then it is 8, and not 7a."""

    def plain(review: Review) -> list[tuple[object, ...]]:
        return sorted(
            (f.kind.value, f.slug, re.sub("[0-9]+[a-z]?", "#", f.message), f.span.text) for f in review.findings
        )

    return plain(one) == plain(other)


@pytest.mark.one_in(3)
def test_repairs_are_tracked_changes_that_come_to_what_was_proven(
    seeds: Callable[[int, int], range], report: Callable[[str], None]
) -> None:
    changed = 0
    for seed in seeds(1, 60):
        rng = Random(f"proposals {seed}")
        whole = document(without_steps(sound_plan(seed), rng), rng.choice(sorted(FORMS)), seed)
        before = reviewed(whole)
        made, mended = proposed(whole)
        assert Document(rejected(made), "a.docx").source.text == Document(whole, "a.docx").source.text, seed
        again = reviewed(accepted(made))
        assert _same_but_for_lists(again, mended), seed
        if mended.plan.source.text != before.plan.source.text:
            changed += 1
            assert {one.slug for one in reviewed(made).findings} & {"tracked-insertion", "tracked-deletion"}
    report(f"Word documents with repairs proposed: {changed}")


@pytest.mark.one_in(4)
@pytest.mark.parametrize("form", ["in_list", "in_style", "in_fence", "in_table"])
def test_a_step_put_in_and_ends_swapped(form: str) -> None:
    text = (EXAMPLES / "dual-point-crossarm.tpg").read_text("utf-8")
    for old, new in (
        (" 14. clean   SC16 N A B C\n", ""),
        ("detach P4 from SC16 C by H1, then from K3", "detach P4 from K3, then from SC16 C by H1"),
    ):
        assert old in text
        text = text.replace(old, new)
    made, mended = proposed(document(text, form, 2))
    assert mended.findings == ()
    assert [one.slug for one in reviewed(accepted(made)).findings] == []
    marks = docx.Document(BytesIO(made)).element.body.findall(f".//{qn('w:ins')}")
    assert {one.get(qn("w:author")) for one in marks} == {"groundlint"}


@pytest.mark.one_in(3)
def test_libreoffice_opens_what_was_written(libreoffice: Callable[..., None], tmp_path: Path) -> None:
    """The text is as before, and the comments are there."""
    whole = document(SINS, "in_list")
    review = reviewed(whole)
    after = commented(whole, review)
    runs = Runs(Document(after, "a.docx"))
    Proposals(runs).write(
        review.plan.source.text.replace("Avocet", "Heron").replace("5. clean", "5. brief all\n6. clean")
    )
    for name, one in {"before": whole, "after": after, "proposed": packed(runs.document.package)}.items():
        (tmp_path / f"{name}.docx").write_bytes(one)
    libreoffice(tmp_path)
    text = {name: (tmp_path / f"{name}.txt").read_text("utf-8-sig") for name in ("before", "after", "proposed")}
    assert text["before"] == text["after"]
    assert len(text["proposed"]) > len(text["before"])
    libreoffice(tmp_path, "fodt")
    shown = (tmp_path / "after.fodt").read_text("utf-8")
    assert shown.count("<office:annotation ") == len(words_under(after)) > 5
    assert "<text:insertion>" in (tmp_path / "proposed.fodt").read_text("utf-8")
