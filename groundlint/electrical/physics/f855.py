"""ASTM F855 grades of protective ground cable, ferrules, clamps and assemblies, as data, and what may be read from
them.

Figures were seen in a print of the standard from near 2009; the edition is to be confirmed. Tables hold at the
durations they print. Between and beyond: - between two printed durations the rating is the largest of: the rating at
the longer one, and the smaller I2t of both spread over the duration, but never more than the rating at the shorter
one; - shorter than the shortest: the rating of the shortest, because forces and not heat limit there; - longer than
the longest: unknown.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from itertools import pairwise
from typing import Final, Literal, NamedTuple

from groundlint.electrical.physics.provenance import HowKnown, Provenance
from groundlint.electrical.physics.withstand import decrement, peak_factor
from groundlint.values import Unknown

TABLE_1: Final = Provenance(
    "ASTM F855 Table 1, edition to be confirmed", HowKnown.SEEN, "asymmetry up to 20 %, X/R to 1.8"
)
TABLE_2: Final = Provenance("ASTM F855 Table 2, edition to be confirmed", HowKnown.SEEN, "X/R 30, 15 cycles")
CYCLE: Final = 1 / 60
"""The tables count cycles of 60 Hz."""

TABLE_1_X_OVER_R: Final = 1.8
"""Table 1 up to this X/R, Table 2 above it."""

TABLE_2_X_OVER_R: Final = 30.0
TABLE_2_CYCLES: Final = 15
Basis = Literal["withstand", "ultimate"]


class Grade(NamedTuple):
    """A row of Table 1: `withstand` and `ultimate` are (cycles, A rms); torque is yield, ultimate in lbf in."""

    name: str
    cable: tuple[str, ...]
    withstand: tuple[tuple[int, float], ...]
    ultimate: tuple[tuple[int, float], ...]
    continuous: float
    torque: tuple[float, float]


class HighAsymmetryGrade(NamedTuple):
    """A row of Table 2, 15 cycles at X/R 30: currents in A, `rms` and `first_peak` of the test."""

    name: str
    cable: tuple[str, ...]
    rms: float
    first_peak: float


def _grade(
    name: str, cable: tuple[str, ...], withstand: tuple[float, float], ultimate: tuple[float, float, float], amp: float
) -> Grade:
    torque = (280.0, 330.0) if int(name) <= 3 else (330.0, 400.0)
    return Grade(
        name,
        cable,
        tuple((c, 1000 * k) for c, k in zip((15, 30), withstand, strict=True)),
        tuple((c, 1000 * k) for c, k in zip((15, 30, 60), ultimate, strict=True)),
        amp,
        torque,
    )


GRADES: Final[dict[str, Grade]] = {
    row.name: row
    for row in (
        _grade("1", ("2 AWG copper",), (14, 10), (18, 13, 9), 200),
        _grade("2", ("1/0 copper",), (21, 15), (29, 21, 14), 250),
        _grade("3", ("2/0 copper",), (27, 20), (37, 26, 18), 300),
        _grade("4", ("3/0 copper",), (34, 25), (47, 33, 23), 350),
        _grade("5", ("4/0 copper",), (43, 30), (59, 42, 29), 400),
        _grade("6", ("250 kcmil copper", "2 x 2/0 copper"), (54, 39), (70, 49, 35), 450),
        _grade("7", ("350 kcmil copper", "2 x 4/0 copper"), (74, 54), (98, 69, 48), 550),
    )
}
H_GRADES: Final[dict[str, HighAsymmetryGrade]] = {
    row.name: row
    for row in (
        HighAsymmetryGrade("1H", ("2 AWG copper",), 15e3, 41e3),
        HighAsymmetryGrade("2H", ("1/0 copper",), 25e3, 65e3),
        HighAsymmetryGrade("3H", ("2/0 copper",), 31e3, 84e3),
        HighAsymmetryGrade("4H", ("3/0 copper",), 39e3, 105e3),
        HighAsymmetryGrade("5H", ("4/0 copper",), 47e3, 126e3),
        HighAsymmetryGrade("6H", ("250 kcmil copper",), 55e3, 148e3),
        HighAsymmetryGrade("7H", ("350 kcmil copper",), 68e3, 183e3),
    )
}

_NAME = re.compile(r"^(?:grade\s*)?([1-7])\s*(h?)$", re.IGNORECASE)


def find_grade(text: str) -> Grade | HighAsymmetryGrade | Unknown:
    """The grade of that name: ``3``, ``grade 3``, ``5H``."""
    match = _NAME.match(text.strip())
    if match is None:
        return Unknown.of(f"rating of grade '{text.strip()}'", "grade 3")
    return H_GRADES[match[1] + "H"] if match[2] else GRADES[match[1]]


def longest_rated(name: str) -> float:
    """Longest duration in s for which the tables rate a grade, by its name: 30 cycles, and 15 for an H grade."""
    grade = find_grade(name)
    if isinstance(grade, Unknown):
        return 0.0
    return CYCLE * (TABLE_2_CYCLES if isinstance(grade, HighAsymmetryGrade) else grade.withstand[-1][0])


def between_durations(points: tuple[tuple[float, float], ...], duration: float) -> float | None:
    """Rating in A for `duration` s from (s, A) points in order of duration, by the rule in the module's docstring.

    None past the last point, and for a duration that is not a positive number.
    """
    if not 0 < duration < math.inf or duration > points[-1][0] * (1 + 1e-9):
        return None
    if duration <= points[0][0] * (1 + 1e-9):
        return points[0][1]
    for (t1, i1), (t2, i2) in pairwise(points):
        if math.isclose(duration, t2, rel_tol=1e-9):
            return i2
        if duration < t2:
            return max(i2, min(i1, math.sqrt(min(i1 * i1 * t1, i2 * i2 * t2) / duration)))
    return None


class Rating(NamedTuple):
    """A current in A that a part or assembly is rated for, by what, and its source."""

    current: float
    basis: str
    source: Provenance


def grade_rating(
    grade: Grade | HighAsymmetryGrade,
    duration: float,
    x_over_r: float | None,
    basis: Basis = "withstand",
    beyond: Literal["unknown", "decrement"] = "unknown",
    frequency_hz: float = 60.0,
) -> Rating | Unknown:
    """Symmetrical rms current in A that a grade may carry for `duration` s (``math.inf`` or NaN is never rated).

    The X/R of the fault picks the table: to 1.8 Table 1, above it Table 2. An H grade is good for any X/R up to 30
    and duration up to 15 cycles. A plain grade at a higher X/R is `Unknown`, unless `beyond` is ``decrement``: then
    Table 1 is divided by the decrement factor, and also held so that the first peak stays within that of X/R 1.8.
    This is a derived allowance (common practice, no source), not a rating of the standard.
    """
    if x_over_r is None or not 0 <= x_over_r < math.inf:
        return Unknown.of("X/R of the fault", "x/r 9")
    if not 0 < duration < math.inf:
        return Unknown.of("clearing time of the fault", "clears in 24 cycles")
    if isinstance(grade, HighAsymmetryGrade):
        if x_over_r > TABLE_2_X_OVER_R or duration > TABLE_2_CYCLES * CYCLE * (1 + 1e-9):
            return Unknown.of(f"rating of grade {grade.name} beyond 15 cycles or X/R 30", "a rating by test")
        return Rating(grade.rms, f"grade {grade.name}, 15 cycles at X/R 30", TABLE_2)
    points = grade.withstand if basis == "withstand" else grade.ultimate
    current = between_durations(tuple((cycles * CYCLE, amp) for cycles, amp in points), duration)
    if current is None:
        return Unknown.of(f"{basis} rating of grade {grade.name} beyond {points[-1][0]} cycles", "clears in 30 cycles")
    if x_over_r <= TABLE_1_X_OVER_R:
        return Rating(current, f"grade {grade.name} {basis}", TABLE_1)
    if beyond == "unknown":
        return Unknown.of(f"rating of grade {grade.name} at X/R above 1.8", f"grade {grade.name}H")
    heat = float(decrement(duration, x_over_r, frequency_hz))
    force = float(peak_factor(x_over_r) / peak_factor(TABLE_1_X_OVER_R))
    note = Provenance("ASTM F855 Table 1 divided by the decrement factor and the peak", HowKnown.PRACTICE)
    return Rating(current / max(heat, force), f"grade {grade.name} {basis}, reduced for X/R", note)


def lowest(parts: Iterable[Rating | Unknown]) -> Rating | Unknown:
    """Rating of an assembly: that of its lowest-rated part (F855 1.6 note 1); unknown if any part's is, or without
    parts."""
    known: list[Rating] = []
    missing: Unknown | None = None
    for part in parts:
        if isinstance(part, Unknown):
            missing = part if missing is None else missing | part
        else:
            known.append(part)
    if missing is not None:
        return missing
    if not known:
        return Unknown.of("grade of any part of the assembly", "grade 3")
    return min(known, key=lambda rating: rating.current)
