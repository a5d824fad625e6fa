"""A `.docx` opened: a zip of XML parts that may have been made to do harm.

Nothing is unpacked to disk, and no more than the limits below; no entity is expanded and nothing is fetched.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from io import BytesIO
from typing import TYPE_CHECKING, Any
from zipfile import BadZipFile, ZipFile, ZipInfo

if TYPE_CHECKING:
    from docx.document import Document as Package

MOST_FILE = 32_000_000
"""Bytes of a file."""
MOST_UNPACKED = 64_000_000
"""Bytes of all parts of a document, unpacked."""
MOST_XML = 16_000_000
"""Bytes of a part of XML, unpacked; the text of a procedure of 300 pages takes half of that."""
MOST_PARTS = 1_000
"""Parts of a document."""

MAIN = "application/vnd.openxmlformats-officedocument.wordprocessingml.document.main+xml"


class NoDocumentError(Exception):
    """Why a file can't be read as a Word document, in a few words."""


def open_package(data: bytes) -> Package:
    """The package of a file's bytes. `NoDocumentError` for what is no document that can be read."""
    parts = dict(_parts(data))
    types = parts.get("[Content_Types].xml", b"")
    if b"macroEnabled" in types or any(name.lower().endswith("vbaproject.bin") for name in parts):
        raise NoDocumentError("it holds macros; save it as a Word document without them (.docx)")
    try:
        import docx
        from docx.opc.part import XmlPart
    except ImportError:
        raise NoDocumentError("to read Word documents, install `groundlint[word]`") from None
    try:
        package = docx.Document(BytesIO(data))
        trees = [part.element.getroottree() for part in package.part.package.iter_parts() if isinstance(part, XmlPart)]
        package.element.body  # noqa: B018  (there is one)
    except Exception as error:  # whatever is wrong with a package, it is not read
        raise NoDocumentError(f"it is no Word document that can be read ({_why(error)})") from None
    if package.part.content_type != MAIN or package.element.body is None:
        raise NoDocumentError("it is no Word document that can be read (it has no text)")
    if any(tree.docinfo.internalDTD is not None for tree in trees):
        raise NoDocumentError(_DTD)
    return package


_DTD = "it declares a document type of its own, which no Word document does"


def _parts(data: bytes) -> Iterator[tuple[str, bytes]]:
    """The parts of a package, each unpacked within the limits."""
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise NoDocumentError("it is locked with a password, or of an older Word; save it anew as .docx")
    left, seen = MOST_UNPACKED, set()
    try:
        with ZipFile(BytesIO(data)) as package:
            if len(package.infolist()) > MOST_PARTS:
                raise NoDocumentError(f"it has more than the {MOST_PARTS:,} parts that are read")
            for info in package.infolist():
                xml = info.filename.lower().endswith((".xml", ".rels"))
                most = min(left, MOST_XML) if xml else left
                with package.open(info) as file:
                    part = file.read(most + 1)
                if len(part) > most:
                    limit = f"{MOST_XML:,} bytes of a part" if most < left else f"{MOST_UNPACKED:,} bytes of all parts"
                    raise NoDocumentError(f"it holds more, unpacked, than the {limit} that are read")
                left -= len(part)
                name = info.filename.lower()
                if name in seen:
                    raise NoDocumentError("it has two parts of one name")
                seen.add(name)
                if xml and any("<!DOCTYPE".encode(code) in part for code in ("utf-8", "utf-16-le", "utf-16-be")):
                    raise NoDocumentError(_DTD)
                yield info.filename, part
    except (BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, ValueError, OSError) as error:
        raise NoDocumentError(
            f"it is no Word document, or a damaged one: it can't be unpacked ({_why(error)})"
        ) from None


def packed(package: Package) -> bytes:
    """The bytes of a package, the same for the same content: no part has a time."""
    made, out = BytesIO(), BytesIO()
    package.save(made)
    with ZipFile(made) as old, ZipFile(out, "w") as new:
        for info in old.infolist():
            whole = ZipInfo(info.filename)
            whole.compress_type = info.compress_type
            new.writestr(whole, old.read(info))
    return out.getvalue()


def parts(package: Package, kind: str) -> list[Any]:
    """The parts that stand in a relation to the text, such as ``styles`` or ``header``."""
    every = [one for one in package.part.rels.values() if not one.is_external]
    return [one.target_part for one in every if one.reltype.endswith(f"/{kind}")]


def tree_of(part: Any) -> Any:
    """The XML of a part, also of a kind that python-docx leaves as bytes."""
    from docx.opc.oxml import parse_xml

    return part.element if hasattr(part, "element") else parse_xml(part.blob)


def related(package: Package, kind: str) -> Any:
    """The XML of the first part of a relation; None where there is none."""
    found = (getattr(part, "element", None) for part in parts(package, kind))
    return next((one for one in found if one is not None), None)


def _why(error: Exception) -> str:
    said = " ".join(str(error).split())[:120]
    return said or type(error).__name__
