"""Files made to do harm, and files that are no Word documents: each is refused in one line, and nothing is fetched."""

from __future__ import annotations

import struct
from collections.abc import Callable
from io import BytesIO
from random import Random
from zipfile import ZIP_DEFLATED, ZipFile

import pytest
from documents import data, document, package, parts_of, zipped

from groundlint.reading.word import NoDocumentError, opening, read_document

PLAN = 'plan "x"\nstick H1 8 ft\ninspect H1\n'
WHOLE = document(PLAN, "in_style")
PARTS = parts_of(WHOLE)
MAIN = "word/document.xml"


def with_main(head: str, text: str = "H1") -> bytes:
    return zipped({**PARTS, MAIN: head.encode() + PARTS[MAIN].split(b"?>", 1)[1].replace(b"inspect H1", text.encode())})


def _twice() -> bytes:
    out = BytesIO(WHOLE)
    with ZipFile(out, "a") as made, pytest.warns(UserWarning, match="Duplicate"):
        made.writestr(MAIN, PARTS[MAIN])
    return out.getvalue()


def _lying_size() -> bytes:
    """A part that says that it is small, unpacked."""
    out = BytesIO()
    with ZipFile(out, "w", ZIP_DEFLATED) as made:
        made.writestr("word/document.xml", b" " * (opening.MOST_XML + 10))
    whole = bytearray(out.getvalue())
    at = whole.rfind(b"PK\x01\x02")
    whole[at + 24 : at + 28] = struct.pack("<I", 100)
    return bytes(whole)


def _bomb() -> bytes:
    out = BytesIO()
    with ZipFile(out, "w", ZIP_DEFLATED) as made:
        for at in range(5):
            made.writestr(f"word/media/{at}.bin", bytes(opening.MOST_XML))
    return out.getvalue()


def wide() -> bytes:
    text = ENTITIES.replace('"1.0"', '"1.0" encoding="utf-16"') + PARTS[MAIN].split(b"?>", 1)[1].decode()
    return text.encode("utf-16")


def deep() -> bytes:
    return PARTS[MAIN].replace(b"<w:body>", b"<w:body>" + b"<w:sdt>" * 5000)


ENTITIES = '<?xml version="1.0"?><!DOCTYPE d [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
FETCHING = '<?xml version="1.0"?><!DOCTYPE d SYSTEM "file:///dev/stdin" [<!ENTITY a SYSTEM "file:///dev/stdin">]>'
MACROS = PARTS["[Content_Types].xml"].replace(b"wordprocessingml.document.main", b"ms-word.document.macroEnabled.main")
STRICT = PARTS["_rels/.rels"].replace(
    b"http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument",
    b"http://purl.oclc.org/ooxml/officeDocument/relationships/officeDocument",
)
HOSTILE: dict[str, tuple[str, Callable[[], bytes]]] = {
    "nothing": ("can't be unpacked", lambda: b""),
    "text": ("can't be unpacked", lambda: b"plan \"x\"\n"),
    "half of a document": ("can't be unpacked", lambda: WHOLE[: len(WHOLE) // 2]),
    "an older document": ("of an older Word", lambda: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600)),
    "an empty package": ("no Word document", lambda: zipped({})),
    "another package": ("no Word document", lambda: zipped({"a.txt": "a"})),
    "macros": ("holds macros", lambda: zipped({**PARTS, "[Content_Types].xml": MACROS})),
    "a project of macros": ("holds macros", lambda: zipped({**PARTS, "word/vbaProject.bin": b"x"})),
    "another standard": ("no Word document", lambda: zipped({**PARTS, "_rels/.rels": STRICT})),
    "broken XML": ("no Word document", lambda: zipped({**PARTS, MAIN: b"<w:document"})),
    "no text": ("no Word document", lambda: zipped({**PARTS, MAIN: b"<a/>"})),
    "entities": ("declares a document type", lambda: with_main(ENTITIES, "&b;")),
    "entities in other letters": ("declares a document type", lambda: zipped({**PARTS, MAIN: wide()})),
    "entities in a part of another name": (
        "declares a document type",
        lambda: zipped({
            **PARTS,
            "word/styles.css": ENTITIES.encode() + PARTS["word/styles.xml"].split(b"?>", 1)[1],
            "[Content_Types].xml": PARTS["[Content_Types].xml"].replace(b"/word/styles.xml", b"/word/styles.css"),
            "word/_rels/document.xml.rels": PARTS["word/_rels/document.xml.rels"].replace(b"styles.xml", b"styles.css"),
        }),
    ),
    "what is fetched": ("declares a document type", lambda: with_main(FETCHING, "&a;")),
    "a part that says that it is small": ("can't be unpacked", _lying_size),
    "a great part": ("more, unpacked, than", lambda: zipped({**PARTS, MAIN: bytes(opening.MOST_XML + 1)})),
    "great parts": ("more, unpacked, than", _bomb),
    "many parts": ("more than the 1,000 parts", lambda: zipped({f"{at}": "" for at in range(1001)})),
    "two parts of one name": ("two parts of one name", _twice),
    "XML that is deeply nested": ("no Word document", lambda: zipped({**PARTS, MAIN: deep()})),
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_it_is_refused_in_one_line(name: str) -> None:
    why, make = HOSTILE[name]
    with pytest.raises(NoDocumentError, match=why) as refused:
        read_document(make(), "a.docx")
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 250


def test_any_bytes_are_a_document_or_none(seeds: Callable[[int, int], range]) -> None:
    """Bytes changed in the package, and in its text: an answer, and never another exception."""
    refused = 0
    for seed in seeds(10, 2000):
        rng = Random(f"bytes {seed}")
        whole = bytearray(rng.choice((WHOLE, PARTS[MAIN])))
        for _ in range(rng.randint(1, 6)):
            at, size = rng.randrange(len(whole)), rng.choice((0, 1, 1, 4, 40))
            whole[at : at + size] = rng.randbytes(rng.choice((0, 1, size)))
        made = bytes(whole) if whole[:2] == b"PK" else zipped({**PARTS, MAIN: bytes(whole)})
        try:
            read_document(made, "a.docx")
        except NoDocumentError:
            refused += 1
    assert refused


@pytest.mark.one_in(4)
def test_what_it_costs_grows_no_faster_than_the_document(calls: Callable[[Callable[[], object]], int]) -> None:
    def cost(lines: int) -> int:
        text = "\n".join(['plan "x"', *(f"{at}. inspect H1" for at in range(1, lines))])
        whole = document(text, "in_list")
        return calls(lambda: read_document(whole, "a.docx"))

    assert cost(400) < 2.2 * cost(200)


def test_fields_that_are_opened_and_never_closed_cost_no_more() -> None:
    made = package()
    paragraph = made.add_paragraph(style="Plan")._p
    for _ in range(5_000):
        paragraph.add_r().append(paragraph.makeelement(docx_name("fldChar"), {docx_name("fldCharType"): "begin"}))
    _, problems = read_document(data(made), "a.docx")
    assert {one.code for one in problems} == {"field"}


def docx_name(name: str) -> str:
    from docx.oxml.ns import qn

    return qn(f"w:{name}")
