"""What the drawing shows at one position of a plan: structures with their points, leads, people and feeds; no geometry.

Each structure is a ladder: what can be joined or touched there is a rail, and a lead is a rung between two rails. That
is legible however many leads there are, and says nothing that the plan does not.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from groundlint.report.brief.results import Duty, Value
from groundlint.report.brief.words import not_shown
from groundlint.values import Unknown
from groundlint.words.quantities import in_words

ABOVE = ("feed", "neighbour", "switch", "handle", "pole", "steel", "bar", "vehicle", "mat", "guy", "other")
"""Kinds of rail between the conductors and the ground line, in order."""
BELOW = ("earth", "rod", "pole ground", "footing")
"""Kinds of rail under the ground line, in order."""
WIRES = ("shield", "phase", "neutral")
"""Kinds of conductor, from the top."""


@dataclass(frozen=True)
class Gate:
    """A switch between a source and the line: its kind, whether it is open (None: not known), and its tag."""

    name: str
    sort: str
    position: str | None
    tagged: bool

    @property
    def words(self) -> str:
        """Its state in words."""
        state = self.position or "position not known"
        return f"{self.name} {state}" + (", tagged" if self.tagged else "")


@dataclass(frozen=True)
class Feed:
    """A source with the switches between it and the line. ``at`` names the structure; ``cut_off`` as computed."""

    name: str
    sort: str
    gates: tuple[Gate, ...]
    place: str
    cut_off: str

    @property
    def words(self) -> str:
        """One line that tells it."""
        gates = "; ".join(gate.words for gate in self.gates) or "no switch stated"
        return f"source {self.name} ({self.sort}), {self.place}: {gates}; {self.cut_off}"


@dataclass(frozen=True)
class Rail:
    """Something at a structure that can be joined or touched. ``split``: whether a conductor is drawn as two sides,
    and now ``whole`` or ``cut``."""

    kind: str
    name: str
    details: tuple[str, ...] = ()
    split: str = ""
    feed: Feed | None = None


@dataclass(frozen=True)
class Clamp:
    """An end of a lead: the rail's index, or None with the words for where it is; the side of a split conductor."""

    rail: int | None
    words: str
    side: str = ""
    lifted: bool = False


@dataclass(frozen=True)
class Rung:
    """A lead that is on: its ends in the order they went on, its duty and rating, and how it goes on in the order."""

    name: str
    order: int
    ends: tuple[Clamp, ...]
    what: str
    duty: Duty | None

    @property
    def words(self) -> str:
        """One line that tells it."""
        places = [end.words + (", lifted" if end.lifted else "") for end in self.ends]
        where = ", then ".join(places) if len(places) > 1 else f"{''.join(places)} only; the other end is loose"
        said = f"{self.name} ({self.what}) on {where}"
        if self.duty is None:
            return said
        return f"{said}; duty {_value(self.duty.amps)}, rating {_value(self.duty.rating)}"


@dataclass(frozen=True)
class People:
    """People in place who stand on and reach the same, as indexes of rails. ``unknown``: the reach is not stated."""

    names: tuple[str, ...]
    stand: int | None
    reach: tuple[int, ...]
    words: str
    unknown: bool


@dataclass(frozen=True)
class Panel:
    """One structure, or, with ``name`` empty, the things of which the plan does not tell the place."""

    name: str
    material: str
    span: str
    rails: tuple[Rail, ...]
    rungs: tuple[Rung, ...]
    people: tuple[People, ...]

    @property
    def busy(self) -> bool:
        """Whether more stands here than the line itself and a ground of its own."""
        return bool(self.rungs or self.people or any(r.kind not in (*WIRES, "pole ground") for r in self.rails))

    @property
    def wires(self) -> int:
        """How many of the rails are conductors."""
        return sum(rail.kind in WIRES for rail in self.rails)


@dataclass(frozen=True)
class Scene:
    """The drawing's view model."""

    title: str
    panels: tuple[Panel, ...]
    left: tuple[Feed, ...]
    right: tuple[Feed, ...]
    parallels: tuple[str, ...]
    loose: tuple[str, ...]
    soil: str
    leads_on: int
    has_values: bool

    def described(self) -> Iterator[str]:
        """The drawing in words, for those who do not see it."""
        for feed in (*self.left, *self.right):
            yield feed.words
        for panel in self.panels:
            if not panel.busy:
                yield f"{panel.name}: the line only"
                continue
            yield f"{panel.name or 'Place not stated'}:"
            yield from (f"  {rail.feed.words}" for rail in panel.rails if rail.feed is not None)
            yield from (
                f"  {rail.name}: {', '.join(rail.details)}"
                for rail in panel.rails
                if rail.details and rail.feed is None and rail.kind not in WIRES
            )
            yield from (f"  {rung.words}" for rung in panel.rungs)
            yield from (f"  {group.words}" for group in panel.people)
        yield from (f"parallel circuit {words}" for words in self.parallels)
        yield from self.loose


def _value(value: Value) -> str:
    return f"not shown ({not_shown(value)})" if isinstance(value, Unknown) else in_words(value, "A")


def chunked(panel: Panel, most: int) -> Iterator[Panel]:
    """The panel in pieces of at most so many leads, the first with the people."""
    if len(panel.rungs) <= most:
        yield panel
        return
    count = -(-len(panel.rungs) // most)
    each = -(-len(panel.rungs) // count)
    for part in range(count):
        rungs = panel.rungs[part * each : (part + 1) * each]
        yield replace(
            panel,
            name=f"{panel.name} ({part + 1} of {count})",
            rungs=rungs,
            people=panel.people if part == 0 else (),
            span=panel.span if part == count - 1 else "",
        )
