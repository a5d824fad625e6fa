"""The words that a generated plan is written in: American or of the earthing tradition, with their synonyms."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random


@dataclass(frozen=True)
class Words:
    """The words of one tradition, chosen once a plan."""

    earth: bool
    attach: str
    detach: str
    by: str
    rod: str
    lead: str
    bar: str
    detector: str
    tester: str
    stick: str
    lineman: str
    structure: str
    pole_ground: str
    ground: str
    clearance: str
    multigrounded: str
    shield: str
    set: str
    join: str
    feet: str
    hold: str


def words(rng: Random) -> Words:
    """American or earthing words, with synonyms."""
    earth = rng.random() < 0.35
    pick = rng.choice
    return Words(
        earth=earth,
        attach=pick(("apply", "connect", "attach") if earth else ("attach", "attach", "connect")),
        detach=pick(("remove", "detach") if earth else ("detach", "remove")),
        by=pick(("by", "by", "using")),
        rod=pick(("earth-rod", "rod") if earth else ("rod", "ground-rod")),
        lead=pick(("earthing-lead", "lead") if earth else ("lead", "leads")),
        bar=pick(("bar", "cluster-bar")),
        detector=pick(("voltage-indicator", "detector") if earth else ("detector",)),
        tester=pick(("proving-unit", "tester") if earth else ("tester",)),
        stick=pick(("operating-pole", "stick") if earth else ("stick",)),
        lineman="linesman" if earth else pick(("lineman", "lineworker")),
        structure=pick(("pole", "tower", "structure") if earth else ("structure", "structures")),
        pole_ground=pick(("pole-earth", "pole earth") if earth else ("pole ground", "pole-ground")),
        ground="earth" if earth else "ground",
        clearance="permit" if earth else "clearance",
        multigrounded=pick(("multi-earthed",) if earth else ("multigrounded", "multi-grounded")),
        shield=pick(("earthwire", "earth-wire") if earth else ("shield", "overhead-ground-wire")),
        set=pick(("set", "drive")),
        join=pick(("join", "splice")),
        feet=pick(("below feet", "below the feet")),
        hold=pick(("hold", "stop until", "hold until")),
    )
