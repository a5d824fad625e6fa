"""The one register of values that no plan states: each with a low and a high bound, its reason and its source.

A computed fact that rests on one is evaluated at both bounds. A result that holds at all corners is shown; one that
holds at some is not, and names the value to state or measure. Bounds are meant wide: narrowing them needs a source.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from groundlint.electrical.provenance import HowKnown
from groundlint.values import Gap, Unknown


@dataclass(frozen=True, slots=True)
class Assumption:
    """A value taken without being told: bounds in SI of a `dimension` (``resistance``, ``temperature`` in C,
    ``length``, ``ratio``), why it is needed, its source and how that is known, and what to write in a plan in its
    place."""

    name: str
    low: float
    high: float
    dimension: str
    unit: str
    reason: str
    source: str
    how: HowKnown
    write: str

    @property
    def bounds(self) -> tuple[float, float]:
        """Low and high."""
        return (self.low, self.high)

    @property
    def gap(self) -> Gap:
        """The gap to report where a result depends on this value."""
        return Gap(self.name.replace("-", " "), self.write)


ASSUMPTIONS: Final[dict[str, Assumption]] = {
    row.name: row
    for row in (
        Assumption(
            "clamp-contact-resistance",
            0.02e-3,
            0.5e-3,
            "resistance",
            "ohm",
            "clamp, ferrule and the surface under it add to each end of a lead; nobody writes it down",
            "ASTM F2249 in-service test allows 0.16 mohm for each end of an assembly (seen second hand); the high "
            "bound, three times that for the conductor's surface, is common practice, no source",
            HowKnown.PRACTICE,
            "contact 0.3 mohm",
        ),
        Assumption(
            "lead-temperature",
            -20.0,
            60.0,
            "temperature",
            "C",
            "resistance of a lead before the fault depends on weather and sun",
            "common practice, no source",
            HowKnown.PRACTICE,
            "lead temperature 40 C",
        ),
        Assumption(
            "lead-initial-temperature",
            20.0,
            40.0,
            "temperature",
            "C",
            "a warm lead reaches its limit sooner; 40 C is what Onderdonk's form and IEEE 80 use",
            "IEEE 80-2000 11.3.1.1 (from memory); its tables of cable fit 20 C",
            HowKnown.MEMORY,
            "lead temperature 40 C",
        ),
        Assumption(
            "rope-lay-factor",
            1.02,
            1.06,
            "ratio",
            "",
            "strands of a rope-laid cable are longer than the cable",
            "2 to 6 % over solid; the resistance tables of ASTM B172 and B173 were not found",
            HowKnown.PRACTICE,
            "resistance of the lead as measured",
        ),
        Assumption(
            "lead-loop-distance",
            0.3,
            2.0,
            "length",
            "m",
            "the loop of lead and worker decides the reactance between them",
            "common practice, no source",
            HowKnown.PRACTICE,
            "worker 0.5 m from the lead",
        ),
        Assumption(
            "wood-pole-resistance",
            1e3,
            1e6,
            "resistance",
            "ohm",
            "a wood pole between work height and earth conducts; the trade treats it as a conductor",
            "common practice, no source",
            HowKnown.PRACTICE,
            "pole resistance 10 kohm",
        ),
        Assumption(
            "wet-wood-pole-resistance",
            300.0,
            50e3,
            "resistance",
            "ohm",
            "a wet or green pole conducts better",
            "common practice, no source",
            HowKnown.PRACTICE,
            "pole resistance 1 kohm",
        ),
        Assumption(
            "steel-structure-footing-resistance",
            0.1,
            1e4,
            "resistance",
            "ohm",
            "footing of a steel tower or pole whose resistance is not stated",
            "common practice, no source",
            HowKnown.PRACTICE,
            "footing 10 ohm",
        ),
        Assumption(
            "concrete-structure-resistance",
            5.0,
            500.0,
            "resistance",
            "ohm",
            "reinforced concrete conducts through its steel and its footing",
            "common practice, no source",
            HowKnown.PRACTICE,
            "footing 50 ohm",
        ),
        Assumption(
            "pole-ground-resistance",
            0.1,
            1e4,
            "resistance",
            "ohm",
            "pole ground whose resistance is not stated; a plan can state any, so that these bounds hold all of them",
            "common practice, no source; the rule of 25 ohm for a made electrode is no upper bound",
            HowKnown.PRACTICE,
            "pole ground 25 ohm",
        ),
        Assumption(
            "station-ground-resistance",
            0.1,
            5.0,
            "resistance",
            "ohm",
            "grid of the station at the end of the neutral",
            "common practice, no source",
            HowKnown.PRACTICE,
            "station ground 1 ohm",
        ),
        Assumption(
            "body-resistance",
            500.0,
            1000.0,
            "resistance",
            "ohm",
            "500 ohm is the least with broken skin, 1000 ohm the design value hand to hand or hand to feet",
            "IEEE 80-2000 8.1 (seen); OSHA training text (seen); 29 CFR 1910.269 Appendix C (from memory)",
            HowKnown.SEEN,
            "body resistance 1000 ohm",
        ),
        Assumption(
            "structure-contact-resistance",
            0.0,
            1e3,
            "resistance",
            "ohm",
            "boots, gaffs and gloves between a worker and a structure; no credit is given at the low bound",
            "common practice, no source",
            HowKnown.PRACTICE,
            "contact resistance 0 ohm",
        ),
        Assumption(
            "cluster-bar-resistance",
            0.0,
            50e-6,
            "resistance",
            "ohm",
            "bar and its chain or bracket on the pole",
            "common practice, no source",
            HowKnown.PRACTICE,
            "bar 20 uohm",
        ),
        Assumption(
            "neutral-grounds-per-mile",
            4.0,
            8.0,
            "ratio",
            "",
            "a multigrounded neutral has at least four grounds a mile",
            "NESC (C2) rule 096C, four grounds in each mile (from memory); high bound common practice, no source",
            HowKnown.MEMORY,
            "neutral grounds 4 per mile",
        ),
        Assumption(
            "conductor-temperature",
            0.0,
            75.0,
            "temperature",
            "C",
            "resistance of line conductors; an idle line is at the temperature of the air and sun",
            "common practice, no source",
            HowKnown.PRACTICE,
            "conductor temperature 50 C",
        ),
        Assumption(
            "neutral-ground-resistance",
            5.0,
            100.0,
            "resistance",
            "ohm",
            "each ground of a multigrounded neutral beyond the route",
            "common practice, no source; the rule of 25 ohm for a made electrode is no upper bound",
            HowKnown.PRACTICE,
            "measured neutral-ground-resistance 25 ohm",
        ),
        Assumption(
            "neutral-back-to-source",
            0.01,
            5.0,
            "resistance",
            "ohm",
            "how much of a fault's current returns by the neutral and how much by the earth depends on the "
            "neutral's way to the station, which a plan does not describe",
            "common practice, no source: 0.01 ohm is a station next door, 5 ohm eight miles of 4/0 ACSR",
            HowKnown.PRACTICE,
            "neutral to the source 0.4 ohm",
        ),
        Assumption(
            "conductor-spacing",
            0.3,
            12.0,
            "length",
            "m",
            "distance between neighbouring phases, where the plan names no spacing and no positions",
            "common practice, no source: compact brackets to an H-frame of 230 kV",
            HowKnown.PRACTICE,
            "spacing crossarm-8ft",
        ),
        Assumption(
            "earth-return-resistivity",
            10.0,
            1000.0,
            "resistivity",
            "ohm m",
            "the depth at which current returns depends on the deep soil along the line, not on that around a rod",
            "common practice, no source; Carson's depth goes with the root of it",
            HowKnown.PRACTICE,
            "deep soil 100 ohm m",
        ),
        Assumption(
            "unnamed-bond-resistance",
            0.2e-3,
            10e-3,
            "resistance",
            "ohm",
            "a bond by hand without a named lead is of some cable and clamp",
            "common practice, no source",
            HowKnown.PRACTICE,
            "bond T1 to K1 with G1",
        ),
        Assumption(
            "guy-anchor-resistance",
            5.0,
            1000.0,
            "resistance",
            "ohm",
            "an anchor is a short rod in soil of its own",
            "common practice, no source",
            HowKnown.PRACTICE,
            "guy anchor 50 ohm",
        ),
        Assumption(
            "vehicle-to-earth-resistance",
            100.0,
            1e7,
            "resistance",
            "ohm",
            "a vehicle stands on tires, outriggers, pads or a chain",
            "common practice, no source",
            HowKnown.PRACTICE,
            "bond the vehicle",
        ),
        Assumption(
            "leakage-resistance",
            1e5,
            1e7,
            "resistance",
            "ohm",
            "what hangs on wood, rope or insulators is not quite isolated",
            "common practice, no source",
            HowKnown.PRACTICE,
            "bond it",
        ),
    )
}
"""Every assumption by name, in the order a calculation record lists them."""


def find_assumption(name: str) -> Assumption | Unknown:
    """The assumption of that name."""
    found = ASSUMPTIONS.get(name)
    return found if found else Unknown.of(f"assumption '{name}'", ", ".join(ASSUMPTIONS))


def corners(assumptions: Iterable[Assumption]) -> Iterator[dict[str, float]]:
    """Each combination of low and high, by name; one empty combination for no assumptions.

    Bounds of a result lie at corners where it rises or falls with each value throughout, as currents and voltages of
    passive resistive networks do with one resistance at a time.
    """
    rows = list(assumptions)
    for values in itertools.product(*((row.bounds if row.low != row.high else (row.low,)) for row in rows)):
        yield dict(zip((row.name for row in rows), values, strict=True))


def deciding(assumptions: Iterable[Assumption], holds: Mapping[tuple[float, ...], bool]) -> tuple[Assumption, ...]:
    """The assumptions on which a verdict turns: those whose change alone, at some corner, changes it.

    `holds` has the verdict at each corner, keyed by the values in the order of `assumptions`.
    """
    rows = tuple(assumptions)
    found = []
    for index, row in enumerate(rows):
        for corner, verdict in holds.items():
            other = (*corner[:index], row.high if corner[index] == row.low else row.low, *corner[index + 1 :])
            if holds.get(other, verdict) != verdict:
                found.append(row)
                break
    return tuple(found)


def unknown_from(assumptions: Iterable[Assumption]) -> Unknown | None:
    """An unknown that names the values to state or measure; None for no assumptions."""
    gaps = tuple(row.gap for row in assumptions)
    return Unknown(gaps) if gaps else None
