"""The one register of values that no plan states: each with a low and a high bound, its reason and its source.

A computed fact that rests on one is evaluated at both bounds. A result that holds at all corners is shown; one that
holds at some is not, and names the value to state or measure. Bounds are meant wide: narrowing them needs a source.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Final, NamedTuple

from groundlint.electrical.physics.earth import rod_resistance
from groundlint.electrical.physics.provenance import HowKnown
from groundlint.plan.measured import MEASURABLE
from groundlint.values import Gap


class Assumption(NamedTuple):
    """A value taken without being stated: bounds in SI of a `dimension` (``resistance``, ``temperature`` in C,
    ``length``, ``ratio``), why it is needed, its source and how that is known, and what to write in a plan in its
    place, empty where the language has no words for it. ``by_soil`` gives the bounds that follow from the resistivity
    of the soil's layers, ohm m, where that is stated. Of one that is a ``share`` of another the high bound is no less
    than that share of what was measured of the other. ``less`` says what makes less of one that cannot be stated."""

    name: str
    low: float
    high: float
    dimension: str
    unit: str
    reason: str
    source: str
    how: HowKnown
    write: str
    by_soil: Callable[[Sequence[float]], tuple[float, float]] | None = None
    less: str = ""
    share: tuple[str, float] | None = None

    @property
    def bounds(self) -> tuple[float, float]:
        """Low and high."""
        return (self.low, self.high)

    def in_soil(self, layers: Sequence[float]) -> Assumption:
        """The same in a stated soil, no wider than without."""
        if self.by_soil is None or not layers:
            return self
        low, high = self.by_soil(layers)
        return self._replace(low=max(low, self.low), high=min(high, self.high))

    def beside(self, measured: Mapping[str, float]) -> Assumption:
        """The same where others were measured."""
        whole, share = self.share or ("", 0.0)
        return self._replace(high=max(self.high, share * measured.get(whole, 0.0)))

    @property
    def gap(self) -> Gap:
        """The gap to report where a result depends on this value."""
        name = self.name.replace("-", " ")
        return Gap(f"{name}, which {self.less} makes less" if self.less else name, self.write, narrows=bool(self.write))


def _measurable(
    name: str,
    reason: str,
    source: str,
    how: HowKnown,
    example: str,
    by_soil: Callable[[Sequence[float]], tuple[float, float]] | None = None,
) -> Assumption:
    """An assumption that a plan may replace by what was measured."""
    low, high, dimension, unit = (getattr(MEASURABLE[name], part) for part in ("low", "high", "dimension", "unit"))
    return Assumption(name, low, high, dimension, unit, reason, source, how, f"measured {name} {example}", by_soil)


NEUTRAL_ROD: Final = (2.4384, 0.015875)
"""Length and diameter in m of the rod of 8 ft and 5/8 in that a neutral's grounds are taken to be (common practice)."""


def _neutral_ground(layers: Sequence[float]) -> tuple[float, float]:
    """Grounds of a neutral are in line with the soil: a rod in it, down to half of that for one with more than a rod;
    5 to 100 ohm is in any soil possible."""
    least, most = (float(rod_resistance(rho, *NEUTRAL_ROD)) for rho in (min(layers), max(layers)))
    return min(5.0, least / 2), max(100.0, most)


ASSUMPTIONS: Final[dict[str, Assumption]] = {
    row.name: row
    for row in (
        _measurable(
            "clamp-contact-resistance",
            "clamp, ferrule and the surface under it add to each end of a lead; nobody writes it down",
            "ASTM F2249 in-service test allows 0.16 mohm for each end of an assembly (seen second hand); the high "
            "bound, three times that for the conductor's surface, is common practice, no source",
            HowKnown.PRACTICE,
            "0.3 mohm",
        ),
        _measurable(
            "lead-temperature",
            "resistance of a lead before the fault depends on weather and sun",
            "common practice, no source",
            HowKnown.PRACTICE,
            "40 C",
        ),
        _measurable(
            "rope-lay-factor",
            "strands of a rope-laid cable are longer than the cable",
            "2 to 6 % over solid; the resistance tables of ASTM B172 and B173 were not found",
            HowKnown.PRACTICE,
            "104 %",
        ),
        Assumption(
            "lead-heating",
            0.0,
            1.0,
            "ratio",
            "",
            "a fault heats a lead: from its resistance before the fault to that with all of the heat of the largest "
            "current that any source drives, for as long as it lasts; every fault has both its start and its end, so "
            "that a plan cannot state one of them",
            "IEEE 80-2000 Eq 37, without loss of heat; the ends are the start and the end of the fault",
            HowKnown.DERIVED,
            "",
            less="a larger lead or a shorter clearing time",
        ),
        _measurable(
            "lead-loop-distance",
            "the loop of lead and worker decides the reactance between them",
            "common practice, no source",
            HowKnown.PRACTICE,
            "0.5 m",
        ),
        _measurable(
            "wood-pole-resistance",
            "a wood pole between work height and earth conducts; the trade treats it as a conductor",
            "common practice, no source",
            HowKnown.PRACTICE,
            "10 kohm",
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
        _measurable(
            "concrete-structure-resistance",
            "reinforced concrete conducts through its steel and its footing",
            "common practice, no source",
            HowKnown.PRACTICE,
            "50 ohm",
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
        _measurable(
            "station-ground-resistance",
            "grid of the station at the end of the neutral",
            "common practice, no source",
            HowKnown.PRACTICE,
            "1 ohm",
        ),
        _measurable(
            "body-resistance",
            "500 ohm is the least with broken skin, 1000 ohm the design value hand to hand or hand to feet",
            "IEEE 80-2000 8.1 (seen); OSHA training text (seen); 29 CFR 1910.269 Appendix C (from memory)",
            HowKnown.SEEN,
            "1000 ohm",
        ),
        _measurable(
            "bar-to-pole-resistance",
            "the strap of a bar on the surface of a wood or concrete pole; the more it is, the more of the fault's "
            "voltage stands between the bar and the pole at the worker's feet; a wet wood pole has both low, and on a "
            "dry one that was measured the strap has more in the same measure",
            "common practice, no source; a thirtieth of a wood pole that was measured, as the most of a strap is of "
            "the least of a pole",
            HowKnown.PRACTICE,
            "0.1 ohm",
        )._replace(share=("wood-pole-resistance", 1 / 30)),
        _measurable(
            "cluster-bar-resistance",
            "bar and its chain or bracket on the pole",
            "common practice, no source",
            HowKnown.PRACTICE,
            "0.02 mohm",
        ),
        _measurable(
            "source-ground-resistance",
            "what a customer, a generator or a backfeed has as a ground of its own: good, bad or none",
            "common practice, no source; a plan does not describe it",
            HowKnown.PRACTICE,
            "25 ohm",
        ),
        _measurable(
            "neutral-ground-spacing",
            "a multigrounded neutral has at least four grounds a mile",
            "NESC (C2) rule 096C, four grounds in each mile (from memory); eight by common practice, no source",
            HowKnown.MEMORY,
            "400 m",
        ),
        _measurable(
            "neutral-beyond-route",
            "where no source is said to be beyond an end of the route, the neutral may go on there or be at its end; "
            "`dead end` at a structure says that it ends there",
            "common practice, no source; nothing beyond a dead end",
            HowKnown.PRACTICE,
            "3 ohm",
        ),
        _measurable(
            "conductor-temperature",
            "resistance of line conductors; an idle line is at the temperature of the air and sun",
            "common practice, no source",
            HowKnown.PRACTICE,
            "50 C",
        ),
        Assumption(
            "conductor-stranding",
            0.0,
            1.0,
            "ratio",
            "",
            "one size comes in several strandings, which differ in resistance and in geometric mean radius by some "
            "percents; where the plan does not state which, anything from the least of them to the most; and wire of "
            "steel, clad or not, has more of both at more current",
            "the tables of conductors, each row with its source; the ends are the least and the most of a size, and of "
            "steel wire wide bounds (EPRI, Transmission Line Reference Book 345 kV and Above, up to 100 A; above that "
            "common practice, no source)",
            HowKnown.DERIVED,
            "wires A B C 336.4 kcmil acsr 26/7",
        ),
        _measurable(
            "neutral-ground-resistance",
            "each ground of a multigrounded neutral beyond the route",
            "common practice, no source, 5 to 100 ohm; further where a rod of 8 ft in the stated soil has more or "
            "less, and to what it has in 10,000 ohm m where none is stated; the rule of 25 ohm is no upper bound",
            HowKnown.PRACTICE,
            "25 ohm",
            _neutral_ground,
        ),
        _measurable(
            "neutral-back-to-source",
            "how much of a fault's current returns by the neutral and how much by the earth depends on the "
            "neutral's way to the station, which a plan does not describe",
            "common practice, no source: 0.01 ohm is a station next door; 4.2 ohm is a neutral of 4/0 ACSR with "
            "four grounds of 38 ohm to the mile, however long (an endless ladder; Carson 1926, from memory)",
            HowKnown.PRACTICE,
            "0.4 ohm",
        ),
        _measurable(
            "neutral-back-reactance",
            "how much of the impedance of the neutral's way to the station is reactance hangs on its wire and grounds",
            "nothing at the least; at the most 7 times as much as resistance: wires of #6 copper to 795 kcmil ACSR "
            "with return through soil of 10 to 1,000 ohm m have 0.6 to 6.7 times (Carson 1926, from memory)",
            HowKnown.DERIVED,
            "60 %",
        ),
        _measurable(
            "rod-sharing",
            "rods at one structure share the soil: each raises the other by a part of its own resistance, none where "
            "they stand far apart, all of it where they stand in one place; a plan says how far each is from the pole",
            "0.16 for two rods one rod length apart, by the IEEE 142 table of multiplying factors for multiple rods "
            "(seen); the ends are geometry",
            HowKnown.DERIVED,
            "16 %",
        ),
        Assumption(
            "conductor-spacing",
            0.3,
            15.0,
            "length",
            "m",
            "distance between neighbouring phases, where the plan names no spacing and no positions; no less than "
            "twelve times the radius of a conductor or of its bundle",
            "common practice, no source: compact brackets to a tower of 765 kV",
            HowKnown.PRACTICE,
            "spacing crossarm-8ft",
        ),
        Assumption(
            "parallel-spacing",
            0.3,
            15.0,
            "length",
            "m",
            "distance between neighbouring phases of a circuit beside the line, whose spacing the plan does not name; "
            "they are taken side by side, and one above another",
            "common practice, no source: the same bounds as those of the line's own phases",
            HowKnown.PRACTICE,
            "spacing crossarm-8ft",
        ),
        Assumption(
            "parallel-height",
            6.0,
            50.0,
            "length",
            "m",
            "height of the lowest phase of a circuit beside the line, whose spacing the plan does not name; each named "
            "spacing has its own",
            "common practice, no source: the clearance over a road, and a tall tower",
            HowKnown.PRACTICE,
            "spacing crossarm-8ft",
        ),
        _measurable(
            "parallel-conductor-radius",
            "radius of a phase of a circuit beside the line, or of one conductor in the place of its bundle, on which "
            "hangs how much its voltage drives; a plan does not describe its wires",
            "common practice, no source: 6 AWG, and four subconductors of 795 kcmil half a metre apart",
            HowKnown.PRACTICE,
            "0.014 m",
        ),
        Assumption(
            "parallel-residual",
            0.0,
            0.1,
            "ratio",
            "",
            "what the phase currents of a circuit beside the line come to together, as a share of one of them, where "
            "the plan does not state it; it returns through the earth",
            "common practice, no source: up to a tenth; single-phase loads on a distribution circuit may make more",
            HowKnown.PRACTICE,
            "residual 20 A",
        ),
        _measurable(
            "parallel-earth-return",
            "of a fault to ground on a circuit beside the line part returns in that circuit's own shield wire or "
            "neutral, which a plan does not describe, and the rest through the earth",
            "common practice, no source: all of it where the circuit has neither, a fifth where a good one is near",
            HowKnown.PRACTICE,
            "60 %",
        ),
        _measurable(
            "earth-return-resistivity",
            "the depth at which current returns depends on the deep soil along the line, not on that around a rod",
            "common practice, no source; Carson's depth goes with the root of it",
            HowKnown.PRACTICE,
            "100 ohm m",
        ),
        _measurable(
            "unnamed-bond-resistance",
            "a bond by hand without a named lead is of some cable and clamp",
            "common practice, no source",
            HowKnown.PRACTICE,
            "1 mohm",
        ),
        _measurable(
            "guy-anchor-resistance",
            "an anchor is a short rod in soil of its own",
            "common practice, no source",
            HowKnown.PRACTICE,
            "50 ohm",
        ),
        _measurable(
            "vehicle-to-earth-resistance",
            "a vehicle stands on tires, outriggers, pads or a chain",
            "common practice, no source",
            HowKnown.PRACTICE,
            "1 kohm",
        ),
        _measurable(
            "leakage-resistance",
            "what hangs on wood, rope or insulators is not quite isolated",
            "common practice, no source",
            HowKnown.PRACTICE,
            "1e6 ohm",
        ),
    )
}
"""Every assumption by name, in the order a calculation record lists them."""
