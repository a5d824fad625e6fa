"""Graphical symbols after IEC 60617 (earth, switch, disconnector, breaker, fuse, source), from memory, and two more.

Each symbol is known by its shape; none by colour alone.
"""

from __future__ import annotations

from groundlint.report.brief.svg import Element, el, line, path

SWITCH_WIDTH = 40


def earth(x: float, y: float) -> Element:
    """Earth (IEC 60617, S00200): a stroke down from (x, y) and three bars, each shorter. 22 high, 22 wide."""
    group = el("g", "sym")
    return group.add(
        line(x, y, x, y + 12, "w"),
        line(x - 11, y + 12, x + 11, y + 12, "w"),
        line(x - 7, y + 17, x + 7, y + 17, "w"),
        line(x - 3, y + 22, x + 3, y + 22, "w"),
    )


def source(x: float, y: float) -> Element:
    """An alternating source (IEC 60617: circle with a sine), centred on (x, y), radius 12."""
    wave = el("path", "w", d=f"M{x - 7:g} {y:g}q3.5 -7 7 0t7 0")
    return el("g", "sym").add(el("circle", "w hollow", cx=x, cy=y, r=12), wave)


def switch(x: float, y: float, sort: str, position: str | None) -> Element:
    """A switching device, 40 wide from (x, y), its blade open, closed, or, where not known, dotted half-way.

    A disconnector carries a bar at its contact, a circuit-breaker a cross, a fuse is a box with the line through it;
    what else opens is drawn as a make contact.
    """
    group = el("g", "sym")
    group.add(line(x, y, x + 8, y, "w"), line(x + 32, y, x + 40, y, "w"))
    if sort in ("fuse", "elbow", "jumper", "tap"):
        if position == "closed":
            group.add(line(x + 8, y, x + 32, y, "w"))
        if sort == "fuse":
            tilt = "" if position == "closed" else f"rotate(-32 {x + 8:g} {y:g})"
            piece = el("g", "", **({"transform": tilt} if tilt else {}))
            group.add(
                piece.add(el("rect", "w none", x=x + 12, y=y - 4, width=17, height=8), line(x + 8, y, x + 32, y, "w"))
            )
        elif position != "closed":
            group.add(path([(x + 8, y), (x + 28, y - 12)], "w" if position == "open" else "w dots"))
        group.add(el("circle", "w hollow", cx=x + 8, cy=y, r=2.5), el("circle", "w hollow", cx=x + 32, cy=y, r=2.5))
    else:
        if sort in ("breaker", "recloser"):
            group.add(line(x + 28, y - 4, x + 36, y + 4, "w"), line(x + 28, y + 4, x + 36, y - 4, "w"))
        elif sort in ("disconnect", "disconnector", "open point"):
            group.add(line(x + 32, y - 6, x + 32, y + 6, "w"))
        blade = {"closed": (32.0, 0.0), "open": (28.0, -13.0)}.get(position or "", (30.0, -7.0))
        css = "w blade" + ("" if position in ("open", "closed") else " dots")
        group.add(path([(x + 8, y), (x + blade[0], y + blade[1])], css))
    return group


def tag(x: float, y: float) -> Element:
    """A tag hung on a switch: a small card with a hole, 10 wide, 13 high, hung from (x, y). Our own."""
    card = el("path", "w hollow", d=f"M{x:g} {y:g}l5 4v9h-10v-9z")
    return el("g", "sym").add(card, el("circle", "dot", cx=x, cy=y + 5, r=1.2))


def person(x: float, y: float) -> Element:
    """A person whose feet are at (x, y), 26 high, 14 wide. Our own."""
    body = el("path", "man", d=f"M{x:g} {y - 18:g}v9M{x - 7:g} {y - 15:g}h14M{x:g} {y - 9:g}l-5 9M{x:g} {y - 9:g}l5 9")
    return el("g", "sym").add(el("circle", "head", cx=x, cy=y - 22, r=4), body)


def live(x: float, y: float) -> Element:
    """A bolt in a triangle, 14 wide, 13 high, its middle at (x, y): energized (after the sign ISO 7010 W012)."""
    sign = el("path", "w hollow", d=f"M{x:g} {y - 8:g}l8 14h-16z")
    return el("g", "sym").add(sign, el("path", "bolt", d=f"M{x + 1:g} {y - 4:g}l-3 5h4l-3 4"))


__all__ = ["SWITCH_WIDTH", "earth", "live", "person", "source", "switch", "tag"]
