"""Names of WordprocessingML (ISO/IEC 29500-1, transitional), and what most questions about it come to."""

from __future__ import annotations

from typing import Any

WORDS = "http://schemas.openxmlformats.org/wordprocessingml/2006/main"
COMPATIBILITY = "http://schemas.openxmlformats.org/markup-compatibility/2006"
MATHS = "http://schemas.openxmlformats.org/officeDocument/2006/math"
WORD_2010 = "http://schemas.microsoft.com/office/word/2010/wordml"
WORD_2012 = "http://schemas.microsoft.com/office/word/2012/wordml"
XML_SPACE = "{http://www.w3.org/XML/1998/namespace}space"


def w(name: str) -> str:
    """A name of the words' own namespace, as lxml has it."""
    return f"{{{WORDS}}}{name}"


def child(element: Any, name: str) -> Any:
    """The child of a name; None where there is none, or no element."""
    return element.find(w(name)) if element is not None else None


def value(element: Any, name: str) -> str | None:
    """The value of the child of a name."""
    found = child(element, name)
    return None if found is None else found.get(w("val"))


def on(element: Any, name: str) -> bool | None:
    """Whether a switch is on; None where it is not said."""
    found = child(element, name)
    return None if found is None else found.get(w("val"), "true").lower() in ("1", "true", "on")


def local(element: Any) -> str:
    """The name of an element without its namespace; empty for a comment or an instruction."""
    tag = element.tag
    return tag.rpartition("}")[2] if isinstance(tag, str) else ""
