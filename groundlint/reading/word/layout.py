"""How a paragraph is laid out: the list that numbers it, and how far right it begins."""

from __future__ import annotations

from typing import Any

from groundlint.reading.word.names import child, value, w
from groundlint.reading.word.numbering import MOST_LEVELS, Label, Numbers
from groundlint.reading.word.styles import Styles

COLUMN = 120
"""Twentieths of a point in a blank of indent: a twelfth of an inch."""
MOST_INDENT = 60


class Layout:
    """The lists and indents of one document."""

    def __init__(self, styles: Styles, definitions: Any) -> None:
        """``definitions`` is the part ``numbering``, or None."""
        self.styles = styles
        self.numbers = Numbers(definitions, styles)

    def label(self, made: Any, style: str) -> tuple[Label, int]:
        """The automatic number of a paragraph, and the level of its list."""
        number, level = self.list_of(made, style)
        return (self.numbers.next(number, level), level) if number else (Label(), 0)

    def list_of(self, made: Any, style: str) -> tuple[str, int]:
        """The list that a paragraph of these properties is numbered by, and its level; empty where by none."""
        own = child(made, "numPr")
        number, depth = value(own, "numId"), value(own, "ilvl")
        if number is None:
            for one in self.styles.chain(style):
                by = child(child(one, "pPr"), "numPr")
                if by is not None:
                    number = value(by, "numId") or number
                    found = self.numbers.depth_of_style(number, one.get(w("styleId"), "")) if number else None
                    depth = depth or (str(found) if found is not None else value(by, "ilvl"))
                    if number is not None:
                        break
        if number is None or number == "0":
            return "", 0
        return number, int(depth) if depth and depth.isdigit() and int(depth) < MOST_LEVELS else 0

    def indent(self, made: Any, style: str, depth: int) -> int:
        """Blanks before the first line, of a list at a level: how far right it begins."""
        ends = {"left": 0, "firstLine": 0, "hanging": 0}

        def take(properties: Any) -> None:
            by = child(properties, "numPr")
            number = value(by, "numId")
            if number is not None:
                read(child(child(self.numbers.level(number, depth), "pPr"), "ind"))
            read(child(properties, "ind"))

        def read(indent: Any) -> None:
            for name, say in (("left", "left"), ("start", "left"), ("firstLine", "firstLine"), ("hanging", "hanging")):
                said = indent.get(w(name)) if indent is not None else None
                if said is not None and said.lstrip("-").isdigit():
                    ends[say] = int(said[:7])
                    if say != "left":
                        ends["hanging" if say == "firstLine" else "firstLine"] = 0

        for one in reversed([child(style_, "pPr") for style_ in self.styles.chain(style)]):
            take(one)
        take(made)
        return max(0, min(MOST_INDENT, round((ends["left"] + ends["firstLine"] - ends["hanging"]) / COLUMN)))
