"""SVG as a tree of elements and one writer that escapes everything: text of a plan can never become markup."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from groundlint.text.columns import width

COLUMN = 0.62
"""Width of a column of a monospaced face, in ems: 0.60 in the common ones, and a little to spare."""

_ESCAPES = {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"}


def plain_text(text: str) -> str:
    """The text without what no XML document may hold: control characters and lone surrogates become U+FFFD."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(
        " "
        if letter in "\t\n\r"
        else "\ufffd"
        if letter < " " or "\x7f" <= letter <= "\x9f" or "\ud800" <= letter <= "\udfff" or letter in "\ufffe\uffff"
        else letter
        for letter in text
    )


def escape(text: str) -> str:
    """Text for content or an attribute in quotes."""
    return "".join(_ESCAPES.get(letter, letter) for letter in plain_text(text))


@dataclass
class Element:
    """One element; children are elements or texts. Attributes keep their order, so the bytes are the same each time."""

    tag: str
    attributes: dict[str, str]
    children: list[Element | str] = field(default_factory=list)

    def add(self, *children: Element | str) -> Element:
        """Put children in and give the element back."""
        self.children.extend(children)
        return self

    def pieces(self) -> Iterator[str]:
        """The element written out."""
        yield f"<{self.tag}"
        for name, value in self.attributes.items():
            yield f' {name}="{escape(value)}"'
        if not self.children:
            yield "/>"
            return
        yield ">"
        for child in self.children:
            if isinstance(child, Element):
                yield from child.pieces()
            else:
                yield escape(child)
        yield f"</{self.tag}>"

    def __str__(self) -> str:
        return "".join(self.pieces())


def number(value: float) -> str:
    """A coordinate with at most one decimal, the shortest way."""
    text = f"{value:.1f}"
    text = text.removesuffix(".0")
    return "0" if text == "-0" else text


def el(tag: str, css: str = "", /, **attributes: str | float) -> Element:
    """An element; underscores in names of attributes stand for hyphens."""
    found = {"class": css} if css else {}
    for name, value in attributes.items():
        found[name.rstrip("_").replace("_", "-")] = value if isinstance(value, str) else number(value)
    return Element(tag, found)


def line(x1: float, y1: float, x2: float, y2: float, css: str) -> Element:
    """A straight line."""
    return el("path", css, d=f"M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}")


def path(points: list[tuple[float, float]], css: str) -> Element:
    """A line through points."""
    return el("path", css, d="M" + "L".join(f"{number(x)} {number(y)}" for x, y in points))


def box(x: float, y: float, w: float, h: float, css: str, round_: float = 0) -> Element:
    """A rectangle."""
    return el("rect", css, x=x, y=y, width=w, height=h, **({"rx": round_} if round_ else {}))


def fit(text: str, columns: int) -> str:
    """The text cut to a number of columns, with an ellipsis where something is left out."""
    text = " ".join(plain_text(text[: 4 * columns + 64]).split())
    if width(text) <= columns:
        return text
    kept, used = [], 0
    for letter in text:
        used += width(letter)
        if used > columns - 1:
            break
        kept.append(letter)
    return "".join(kept).rstrip() + "…"


def wrap(text: str, columns: int, most: int) -> list[str]:
    """The text in at most so many lines of so many columns, the last one cut where it goes on."""
    lines: list[str] = []
    for word in plain_text(text[: 4 * columns * most + 64]).split():
        if lines and width(lines[-1]) + 1 + width(word) <= columns:
            lines[-1] += " " + word
        else:
            lines.append(word)
    if len(lines) > most:
        lines[most - 1 :] = [" ".join(lines[most - 1 :])]
    return [fit(one, columns) for one in lines]


def label(
    x: float, y: float, text: str, size: float = 12, css: str = "", anchor: str = "", columns: int | None = None
) -> Element:
    """A line of text, cut to so many columns; what was cut stands whole in its title. ``y`` is the base line."""
    shown = fit(text, columns) if columns is not None else plain_text(text)
    found = el("text", f"t {css}".strip(), x=x, y=y, font_size=size)
    if anchor:
        found.attributes["text-anchor"] = anchor
    if not shown.isascii():
        found.attributes["direction"] = "ltr"
        found.attributes["unicode-bidi"] = "isolate"
    if shown != text:
        found.add(el("title").add(whole(text)))
    return found.add(shown)


def whole(text: str) -> str:
    """A text for a title; a very long one is cut, since it stands whole on the page."""
    return text if len(text) <= 400 else text[:399] + "…"


def tip(group: Element, text: str) -> Element:
    """Give a group the words that are shown when a pointer rests on it."""
    group.children.insert(0, el("title").add(whole(text)))
    return group
