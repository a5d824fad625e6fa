"""The kinds of primitive step, with their slots. One statement becomes one or more actions: one thing, point or person
each.

``attach G1 to R1, then to K1`` is two ``attach`` actions; ``test 212 A B C`` is three; ``open SW41 and tag it`` an
``open`` and a ``tag``.
A slot holds a thing, a `PointRef`, a tuple (``reach``), a word, a float in SI or a text. Where the plan should say and
does not, it holds
a `Gap`; where it says that there is none (``by hand``), None.
"""

from __future__ import annotations

from typing import NamedTuple


class SlotKind(NamedTuple):
    """A slot: its name, what it holds, the preposition it is written with, whether it holds several, whether it may be
    left out."""

    name: str
    holds: str
    preposition: str | None = None
    many: bool = False
    optional: bool = False
    meaning: str = ""


def _s(
    name: str,
    holds: str,
    preposition: str | None = None,
    *,
    many: bool = False,
    optional: bool = False,
    meaning: str = "",
) -> SlotKind:
    return SlotKind(name, holds, preposition, many, optional, meaning)


BY_STICK = _s("stick", "stick", "by", meaning="None where done by hand")

ACTIONS: dict[str, tuple[SlotKind, ...]] = {
    "brief": (_s("person", "person"),),
    "open": (
        _s("switch", "switch"),
        _s("operator", "person", "by", optional=True),
        _s("seen", "flag", meaning="its gap was seen"),
        _s("in_sight", "flag", meaning="it is in sight of the employee in charge"),
        _s("in_reach", "flag", meaning="it is within reach of the employee in charge"),
        _s("one_crew", "flag", meaning="one crew is on the line, and no other"),
        _s("sole", "person", "under", optional=True, meaning="the one person under whose control it is"),
    ),
    "close": (
        _s("switch", "switch"),
        _s("operator", "person", "by", optional=True),
        _s("crew", "text", meaning="another crew that closes it"),
    ),
    "tag": (_s("switch", "switch"),),
    "lock": (_s("switch", "switch"),),
    "untag": (_s("switch", "switch"),),
    "verify": (_s("switch", "switch"),),
    "block": (_s("source", "source"),),
    "unblock": (_s("source", "source"),),
    "request": (_s("holder", "person", "by", optional=True),),
    "receive": (
        _s("holder", "person", "by", optional=True),
        _s("crew", "text", meaning="the crew, where a crew holds it"),
    ),
    "release": (
        _s("holder", "person", "by", optional=True),
        _s("crew", "text", meaning="the crew, where a crew holds it"),
    ),
    "transfer": (
        _s("holder", "person", "by", optional=True, meaning="who hands the clearance over"),
        _s("crew", "text", meaning="the crew, where a crew hands it over"),
        _s("taker", "person", "to", optional=True, meaning="who takes the clearance over"),
        _s("taker_crew", "text", meaning="the crew, where a crew takes it over"),
        _s("operator_told", "flag", meaning="the system operator is told"),
        _s("crew_told", "flag", meaning="the crew is told"),
    ),
    "inspect": (_s("item", "equipment"),),
    "prove": (
        _s("detector", "detector"),
        _s("tester", "tester", "on", optional=True),
        _s("live", "point", meaning="a part known to be live"),
    ),
    "test": (
        _s("point", "point"),
        _s("detector", "detector", "with"),
        _s("stick", "stick", "on", meaning="None where done by hand"),
        _s("result", "word", meaning="dead or live; dead is what the step asks for"),
        _s("improvised", "flag", meaning="without a detector"),
    ),
    "clean": (_s("point", "point"),),
    "set": (
        _s("rod", "rod"),
        _s("structure", "structure", "at"),
        _s("distance", "length"),
        _s("depth", "length"),
        _s("away", "length", many=True, meaning="how far from each rod that is named, `Away`"),
    ),
    "barricade": (_s("thing", "thing"), _s("distance", "length")),
    "unbarricade": (_s("thing", "thing"),),
    "mount": (
        _s("bar", "bar"),
        _s("structure", "structure", "at"),
        _s("height", "word", meaning="below feet, above feet, below, above"),
        _s("conductor", "conductor", "below", optional=True, meaning="what the height is relative to"),
    ),
    "dismount": (_s("bar", "bar"),),
    "attach": (_s("lead", "lead"), _s("point", "point", "to"), BY_STICK),
    "detach": (_s("lead", "lead"), _s("point", "point", "from"), BY_STICK),
    "bond": (
        _s("first", "point"),
        _s("second", "point", "to"),
        _s("lead", "lead", "with", optional=True),
        BY_STICK,
        _s("across", "flag", meaning="bridges an opening; first and second are the two sides"),
    ),
    "unbond": (_s("first", "point"), BY_STICK),
    "enter": (
        _s("person", "person"),
        _s("structure", "structure", "at"),
        _s("stand", "point", "on"),
        _s("reach", "point", many=True),
    ),
    "move": (
        _s("person", "person"),
        _s("structure", "structure", "to"),
        _s("stand", "point", "on"),
        _s("reach", "point", many=True),
    ),
    "leave": (_s("person", "person"),),
    "work": (
        _s("operator", "person", "by", optional=True),
        _s("structure", "structure", "at", optional=True),
        _s("text", "text"),
    ),
    "cut": (_s("point", "point"), _s("left", "flag", meaning="it is to stay open")),
    "downed": (_s("point", "point"),),
    "string": (_s("point", "point"),),
    "park": (_s("vehicle", "vehicle"), _s("structure", "structure", "at")),
    "join": (_s("point", "point"),),
    "lift": (
        _s("lead", "lead"),
        _s("point", "point", "from"),
        BY_STICK,
        _s("protection", "text"),
        _s("purpose", "text"),
    ),
    "restore": (_s("lead", "lead"), _s("point", "point", "to"), BY_STICK),
    "hold": (_s("text", "text"),),
    "cover": (_s("neighbour", "neighbour"),),
    "uncover": (_s("neighbour", "neighbour"),),
    "gloves-on": (_s("person", "person"),),
    "gloves-off": (_s("person", "person"),),
    "certify": (
        _s("structure", "structure", "at"),
        _s("operator", "person", "by", optional=True),
        _s("certified", "word", meaning="grounds or dead"),
    ),
    "shock": (_s("person", "person"),),
    "replan": (_s("text", "text"),),
    "disconnect": (_s("capacitor", "capacitor"),),
    "discharge": (_s("capacitor", "capacitor"), BY_STICK),
    "spike": (_s("cable", "cable"), _s("structure", "structure", "at")),
    "wait": (_s("time", "time"),),
    "note": (_s("text", "text"),),
}

CLEARANCE_STEPS = {"requested": "request", "received": "receive", "released": "release", "transferred": "transfer"}
"""The kind of step that a `clearance` statement becomes, by the word of its state."""
