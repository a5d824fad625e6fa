"""What the styles of a document make of its paragraphs and words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from groundlint.reading.word.names import child, on, value, w

PLAN = "plan"
"""The name of the style, in small letters, whose paragraphs are the plan; so are those of a style based on it."""


_SYMBOL_FONTS = ("symbol", "wingdings", "wingdings 2", "wingdings 3", "webdings")


class Styles:
    """The styles of one document, by their identities."""

    def __init__(self, definitions: Any) -> None:
        """``definitions`` is the part ``styles``, or None."""
        self.every: dict[str, Any] = {}
        self.defaults = child(definitions, "docDefaults")
        self.normal = ""
        for one in definitions.iterchildren(w("style")) if definitions is not None else ():
            name = one.get(w("styleId"), "")
            self.every[name] = one
            if one.get(w("type")) == "paragraph" and one.get(w("default")) in ("1", "true", "on"):
                self.normal = name

    def chain(self, name: str | None) -> Iterator[Any]:
        """A style, and those that it is based on."""
        seen: set[str] = set()
        while name and name not in seen and name in self.every:
            seen.add(name)
            yield self.every[name]
            name = value(self.every[name], "basedOn")

    def of(self, paragraph: Any) -> str:
        """The style of a paragraph."""
        return value(child(paragraph, "pPr"), "pStyle") or self.normal

    def is_plan(self, name: str) -> bool:
        """Whether a style is that of a plan."""
        return any((value(one, "name") or "").strip().lower() == PLAN for one in self.chain(name))

    def list_of(self, name: str) -> str:
        """The list that a style numbers by."""
        found = (value(child(child(one, "pPr"), "numPr"), "numId") for one in self.chain(name))
        return next((one for one in found if one is not None), "")

    def properties(self, run: Any, style: str) -> list[Any]:
        """The properties of words that hold for a run, the nearest first: its own, those of its style, those of its
        paragraph's style, those of the document."""
        own = child(run, "rPr")
        named = [child(one, "rPr") for name in (value(own, "rStyle"), style) for one in self.chain(name)]
        default = child(child(self.defaults, "rPrDefault"), "rPr")
        return [one for one in (own, *named, default) if one is not None]

    def switched(self, run: Any, style: str, name: str) -> bool:
        """Whether a switch, such as ``strike``, is on for a run. Where styles say on and off, it is on."""
        own = on(child(run, "rPr"), name)
        return own if own is not None else any(on(one, name) for one in self.properties(run, style))

    def said(self, run: Any, style: str, name: str, attribute: str = "val") -> str:
        """What is said of a run by the nearest property of a name; empty where nothing is."""
        found = (child(one, name) for one in self.properties(run, style))
        return next((said for one in found if one is not None and (said := one.get(w(attribute)))), "")

    def looks(self, run: Any, style: str, said: str) -> Iterator[str]:
        """How words are shown, where that may be not at all, or other than they are written."""
        switched = self.switched
        if switched(run, style, "vanish") or switched(run, style, "specVanish"):
            yield "hidden-text"
        if switched(run, style, "strike") or switched(run, style, "dstrike"):
            yield "struck-through"
        if switched(run, style, "rtl"):
            yield "right-to-left"
        if said != said.upper() and (switched(run, style, "caps") or switched(run, style, "smallCaps")):
            yield "shown-otherwise"
        look = self.said
        if look(run, style, "rFonts", "ascii").lower() in _SYMBOL_FONTS:
            yield "shown-otherwise"
        if look(run, style, "vertAlign") in ("superscript", "subscript"):
            yield "raised-text"
        size = look(run, style, "sz")
        if look(run, style, "color").upper() == "FFFFFF" or (size.isdigit() and int(size) < 8):
            yield "hard-to-see"
