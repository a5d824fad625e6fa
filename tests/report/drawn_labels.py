"""Where the labels of a drawing stand, as far as that follows from a monospaced face; for tests without a browser."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from groundlint.report.brief.svg import COLUMN, Element
from groundlint.text.columns import width


class Label(NamedTuple):
    """A label's text and box."""

    text: str
    left: float
    top: float
    right: float
    bottom: float


def labels(element: Element) -> Iterator[Label]:
    """Every text of an element."""
    if element.tag == "text":
        said = "".join(child for child in element.children if isinstance(child, str))
        size = float(element.attributes["font-size"])
        x, y = float(element.attributes["x"]), float(element.attributes["y"])
        wide = width(said) * COLUMN * size
        left = x - {"middle": wide / 2, "end": wide}.get(element.attributes.get("text-anchor", ""), 0.0)
        yield Label(said, left, y - 0.95 * size, left + wide, y + 0.25 * size)
        return
    for child in element.children:
        if isinstance(child, Element):
            assert "transform" not in child.attributes or not list(labels(child)), "labels are not moved"
            yield from labels(child)


def overlaps(svg: Element) -> list[tuple[str, str]]:
    """Pairs of labels that lie on each other, and labels that lie outside of the drawing (paired with `outside`)."""
    found = list(labels(svg))
    _, _, wide, high = map(float, svg.attributes["viewBox"].split())
    bad = [
        (one.text, other.text)
        for index, one in enumerate(found)
        for other in found[index + 1 :]
        if one.left < other.right and other.left < one.right and one.top < other.bottom and other.top < one.bottom
    ]
    outside = [
        (one.text, "outside") for one in found if one.left < 0 or one.top < 0 or one.right > wide or one.bottom > high
    ]
    return bad + outside
