"""Grounding leads: sizes, resistance and loop reactance, rating by size, the smallest size that would do.

Lengths in m, areas in m2, resistances in ohm, temperatures in C, currents in A rms.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache
from typing import Final, Literal, NamedTuple

import numpy as np

from groundlint.electrical.physics.conductors import METAL_WORDS, METALS, read_size, size_area
from groundlint.electrical.physics.constants import MM2, MU_0, FloatArray, Real
from groundlint.electrical.physics.f855 import (
    CYCLE,
    GRADES,
    H_GRADES,
    TABLE_1,
    Grade,
    HighAsymmetryGrade,
    Rating,
    between_durations,
    grade_rating,
    lowest,
)
from groundlint.electrical.physics.provenance import HowKnown, Provenance
from groundlint.electrical.physics.withstand import LEAD_METALS
from groundlint.values import Unknown


class LeadSize(NamedTuple):
    """A cable size: `area` in m2, `metal` copper or aluminium, `designation` as the trade writes it."""

    designation: str
    metal: str
    area: float

    @property
    def diameter(self) -> float:
        """Diameter of the bare cable in m, taking rope lay to fill 60 % of its circle (common practice, no source)."""
        return math.sqrt(4 * self.area / (math.pi * 0.6))


_AWG_SIZES: Final = ("6", "4", "2", "1", "1/0", "2/0", "3/0", "4/0", "250", "300", "350", "400", "500")
_MM2_SIZES: Final = ("16", "25", "35", "50", "70", "95", "120", "150", "185", "240")


def _label(size: str) -> str:
    return size if size.endswith("/0") else f"{size} AWG" if float(size) < 20 else f"{size} kcmil"


AWG_LEADS: Final[tuple[LeadSize, ...]] = tuple(
    LeadSize(f"{_label(size)} copper", "copper", size_area(size)) for size in _AWG_SIZES
)
MM2_LEADS: Final[tuple[LeadSize, ...]] = tuple(
    LeadSize(f"{size} mm2 copper", "copper", float(size) * MM2) for size in _MM2_SIZES
)
"""Standard sizes of copper leads, smallest first; mm2 sizes of IEC 60228, from memory."""

SMALLEST_LEAD: Final = AWG_LEADS[2]
"""2 AWG copper, the least conductance of 29 CFR 1910.269(n)(4)(ii) and DOE-HDBK-1092-2004 4.15.2(1)."""


@lru_cache(maxsize=256)
def find_lead(text: str) -> LeadSize | Unknown:
    """The lead size a designation names (``2/0 copper``, ``95 mm2 copper``, ``#2 cu``); copper or aluminium must be
    said.

    Any size with an area is taken, also one that is not a standard size.
    """
    fact = f"size and metal of lead '{text.strip()}'"
    read = read_size(text)
    if read is None or read[0].area is None:
        return Unknown.of(fact, "2/0 copper")
    size, rest = read
    metal = METAL_WORDS.get(rest)
    if metal not in LEAD_METALS:
        return Unknown.of(fact, f"{_written(size.unit, size.text)} copper")
    return LeadSize(f"{_written(size.unit, size.text)} {metal}", metal, float(size.area or 0.0))


def _written(unit: str, text: str) -> str:
    return f"{text} mm2" if unit == "mm2" else _label(text)


def lead_resistance(
    area: Real, length: Real, temperature_c: Real = 20.0, metal: str = "copper", lay_factor: Real = 1.0
) -> FloatArray:
    """Resistance in ohm of a lead's cable, without contacts; soft copper or aluminium, R = rho lay L/A (1 + a(T - 20)).

    `lay_factor` is the extra length of rope-laid strands, see the assumption of that name. Broadcasts.
    """
    kind = METALS["soft copper" if metal == "copper" else metal]
    warm = (kind.k0 + np.asarray(temperature_c)) / (kind.k0 + 20.0)
    return np.asarray(kind.resistivity_20 * np.asarray(length) * lay_factor / np.asarray(area) * warm)


def loop_reactance(length: Real, distance: Real, radius: Real, frequency_hz: Real = 60.0) -> FloatArray:
    """Reactance in ohm of the loop of a long straight lead and a worker `distance` m beside it: w 2e-7 L ln(d/r).

    Flux outside the lead of `radius` m up to the worker; flux inside it and that of the return are left out.
    """
    omega = 2 * math.pi * np.asarray(frequency_hz)
    per_metre = MU_0 / (2 * math.pi) * np.log(np.asarray(distance) / np.asarray(radius))
    return np.asarray(omega * np.asarray(length) * per_metre)


UFC: Final = Provenance("UFC 3-560-01 (6 December 2006 with change 1) Table 7-1 and 7-1.3", HowKnown.SEEN)

_IEC_1S: Final = (3.2, 4.9, 6.9, 9.9, 13.8, 18.7, 23.7, 29.6)
_IEC_HALF: Final = (4.5, 7.0, 10.0, 14.0, 19.5, 26.5, 33.5, 42.0)
IEC_61230_TABLE: Final[dict[str, tuple[float, float]]] = {
    lead.designation: (half * 1e3, one * 1e3) for lead, half, one in zip(MM2_LEADS, _IEC_HALF, _IEC_1S, strict=False)
}
"""Short-time current in A at 0.5 s and 1 s of copper leads by mm2."""
IEC_61230: Final = Provenance("European table for IEC 61230 leads", HowKnown.APPROXIMATE, "edition and k to be checked")


@lru_cache(maxsize=4096)  # a few sizes, asked for at every step and bound
def cable_withstand(size: LeadSize, duration: float) -> Rating | Unknown:
    """Withstand in A of a cable alone for `duration` s, symmetrical current, from the tables that print it.

    AWG and kcmil copper from the F855 grade that this cable makes (Table 1), mm2 copper from the table for IEC 61230
    leads. `Unknown` for other sizes and metals, and beyond the longest printed duration. A cable that Table 1 does
    not print (1 AWG) is taken as the next smaller that it does.
    """
    fact = f"rating of a {size.designation} lead for {duration:g} s"
    if size.metal != "copper":
        return Unknown.of(fact, "a copper lead of 2 AWG or more")
    if size.designation in IEC_61230_TABLE:
        half, one = IEC_61230_TABLE[size.designation]
        current = between_durations(((0.5, half), (1.0, one)), duration)
        return Unknown.of(fact, "clears in 1 s") if current is None else Rating(current, size.designation, IEC_61230)
    best: Rating | None = None
    for grade in GRADES.values():
        if cable_area(grade) <= size.area * (1 + 1e-6):
            points = tuple((cycles * CYCLE, amp) for cycles, amp in grade.withstand)
            current = between_durations(points, duration)
            if current is not None:
                best = Rating(current, f"{grade.cable[0]} cable, grade {grade.name} withstand", TABLE_1)
    return best if best is not None else Unknown.of(fact, "2 AWG copper or more, clears in 30 cycles")


def lead_rating(
    size: LeadSize,
    grade: Grade | HighAsymmetryGrade | Unknown,
    duration: float,
    x_over_r: float | None,
    beyond: Literal["unknown", "decrement"] = "unknown",
    frequency_hz: float = 60.0,
) -> Rating | Unknown:
    """Rating in A of a lead as assembled: the lower of its stated grade and of the grade its cable makes, at one X/R.

    The cable counts as the largest grade whose cable is no larger in area (F855 Table 1, or Table 2 for an H grade).
    `Unknown` without a grade: then nothing is known of its clamps and ferrules. `beyond` as in `f855.grade_rating`.
    """
    if isinstance(grade, Unknown):
        return grade
    fact = f"rating of a {size.designation} lead"
    if size.metal != "copper":
        return Unknown.of(fact, "a copper lead of 2 AWG or more")
    rows: Iterable[Grade | HighAsymmetryGrade] = (
        H_GRADES.values() if isinstance(grade, HighAsymmetryGrade) else GRADES.values()
    )
    fitting = [row for row in rows if cable_area(row) <= size.area * (1 + 1e-6)]
    if not fitting:
        return Unknown.of(fact, "a copper lead of 2 AWG or more")
    parts = (grade, fitting[-1])
    return lowest([grade_rating(part, duration, x_over_r, "withstand", beyond, frequency_hz) for part in parts])


def continuous_rating(size: LeadSize, grade: Grade | HighAsymmetryGrade | None = None) -> Rating | Unknown:
    """Current in A that a lead as assembled carries for any time: the lower of its grade's, if it has one, and of that
    of the grade its cable makes (F855 Table 1). A lead may carry it for a time that the withstand columns do not print,
    too."""
    fitting = [row for row in GRADES.values() if cable_area(row) <= size.area * (1 + 1e-6)]
    if size.metal != "copper" or not fitting:
        return Unknown.of(f"rating of a {size.designation} lead", "a copper lead of 2 AWG or more")
    graded = [GRADES[grade.name.rstrip("H")]] if grade is not None else []
    least = min((*graded, fitting[-1]), key=lambda row: row.continuous)
    return Rating(least.continuous, f"grade {least.name}, continuous current", TABLE_1)


def cable_area(grade: Grade | HighAsymmetryGrade) -> float:
    """Area in m2 of the single cable that a grade is made with."""
    cable = find_lead(grade.cable[0])
    return cable.area if isinstance(cable, LeadSize) else math.inf


GANG_DERATING: Final = 0.9
"""Leads in parallel carry 10 % less than the sum of their ratings (UFC 3-560-01 7-1.3; same in MIL-HDBK-1025/10
5.3.4.2)."""


def smallest_rated_lead(current: float, duration: float, sizes: Iterable[LeadSize] = AWG_LEADS) -> LeadSize | Unknown:
    """Smallest of `sizes` whose tabled withstand is at least `current` A for `duration` s; symmetrical current."""
    missing: Unknown = Unknown.of("a single standard lead large enough", "leads in parallel")
    for size in sorted(sizes, key=lambda lead: lead.area):
        rating = cable_withstand(size, duration)
        if isinstance(rating, Rating) and rating.current >= current and size.area >= SMALLEST_LEAD.area * (1 - 1e-6):
            return size
    return missing
