"""Ratings of leads and clamps for a duration, as bounds: what grade and cable say (ASTM F855), and what is known beyond
the longest duration of the tables.
"""

from __future__ import annotations

import math
from functools import lru_cache

from groundlint.electrical.physics.f855 import (
    GRADES,
    HighAsymmetryGrade,
    Rating,
    find_grade,
    grade_rating,
    longest_rated,
)
from groundlint.electrical.physics.leads import GANG_DERATING, LeadSize, cable_withstand, continuous_rating, lead_rating
from groundlint.electrical.study.parts import size_of
from groundlint.plan.models import Lead
from groundlint.values import Bounds, Gap, Unknown
from groundlint.values.bounds import Measure


@lru_cache(maxsize=512)
def _rating(
    designation: str, metal: str, area: float, grade_name: str | None, time: float, ratio: float
) -> Rating | Unknown | float:
    """Rating at one duration: `Rating`, `Unknown`, or an upper bound of it as a bare float where no grade is stated."""
    size = LeadSize(designation, metal, area)
    if grade_name is None:
        found = cable_withstand(size, time) if time < math.inf else Unknown.of("the grade")
        return float(found.current) if isinstance(found, Rating) else found
    grade = find_grade(grade_name)
    if isinstance(grade, Unknown):
        return grade
    if math.isinf(time):
        return continuous_rating(size, grade)
    if isinstance(grade, HighAsymmetryGrade):
        return lead_rating(size, grade, time, ratio)
    # The duty carries the decrement factor, so that it is held against the symmetrical table.
    return lead_rating(size, grade, time, 0.0)


def rating_of(lead: Lead, time: float, ratio: float, gang: int = 1) -> tuple[Measure | Unknown, str]:
    """Rating of a lead in A for a duration in s, and what it is by; derated where leads share."""
    size = size_of(lead)
    if isinstance(size, Unknown):
        return size, ""
    derated = GANG_DERATING if gang > 1 else 1.0
    key = (size.designation, size.metal, size.area, lead.grade)
    found = _rating(*key, time, ratio)
    if lead.grade is None and lead.rated is not None:
        if math.isinf(time):
            lasting = continuous_rating(size)
            if isinstance(lasting, Unknown):
                return lasting, ""
            return lasting.current * derated, f"{lasting.basis}, {lasting.source.source}"
        return _by_label(lead.rated, time, derated, found if isinstance(found, float) else math.inf)
    by_grade = Gap(f"the grade of lead {lead}", f"lead {lead} grade 3", lead.span)
    by_label = Gap(f"the rating on the label of lead {lead}", f"lead {lead} rated 9.9 kA for 1 s", lead.span)
    gap = by_label if lead.size is not None and "mm" in lead.size else by_grade
    if isinstance(found, float):
        return Bounds(0.0, found * derated, (gap,)), f"{size.designation} cable; its grade is not stated"
    if isinstance(found, Rating):
        words = found.basis + (f", less 10 % as {gang} share" if gang > 1 else "")
        rated = found.current * derated, f"{words}, {found.source.source}"
        return rated if lead.rated is None or math.isinf(time) else _lower(rated, _by_label(lead.rated, time, derated))
    assert isinstance(found, Unknown)
    if lead.grade is None:
        return Unknown((gap,)), ""
    longest = longest_rated(lead.grade)
    least = _rating(*key, math.inf, ratio)
    most = _rating(*key, longest, ratio) if time > longest else None
    if isinstance(least, Rating) and isinstance(most, Rating):
        low = _lasting(least.current, most.current, longest, time)
        by = least.basis if low == least.current else f"the same I2t for {time:g} s"
        words = f"between {by} and {most.basis} at {longest:g} s, {most.source.source}"
        label = _by_label(lead.rated, time, derated) if lead.rated is not None else None
        if label is not None and isinstance(label[0], float):
            return _lower((most.current * derated, words), label)
        return Bounds(low * derated, most.current * derated, (by_label,)), words
    return found, ""


def _lasting(continuous: float, current: float, long: float, time: float) -> float:
    """What is carried at least, in A, for a time in s longer than the table's: with the same I2t, since heat that gets
    away in the longer time makes it cooler, and never less than for good."""
    return max(continuous, current * math.sqrt(long / time))


def _lower(one: tuple[float, str], label: tuple[Measure | Unknown, str]) -> tuple[Measure | Unknown, str]:
    """What a lead stands by its grade and by its label: no more than either says."""
    return one if isinstance(label[0], float) and one[0] <= label[0] else label


LONGEST_BY_LABEL = 5.0
"""Time in s up to which the heat of a fault stays in the cable, IEC 60724 and IEC 61230 (from memory)."""


def _by_label(
    rated: tuple[float, float], time: float, derated: float, cable: float = math.inf
) -> tuple[Measure | Unknown, str]:
    """Rating in A by the current and time on a lead's label (IEC 61230, from memory): never more than that current,
    since forces limit it too, and with the same I2t for longer; nor more than its cable stands, also in A."""
    current, long = rated
    if time > max(LONGEST_BY_LABEL, long):
        return Unknown.of(f"a time of {long:g} s or less in which faults clear"), ""
    return min(
        cable, current * min(1.0, math.sqrt(long / time))
    ) * derated, f"its label, {current / 1000:g} kA for {long:g} s"


def clamp_rating(lead: Lead, time: float, ratio: float, gang: int = 1) -> Measure | Unknown:
    """Rating in A of a lead's clamps by themselves, by their own grade, for a duration in s; derated where leads
    share. `Unknown` where the plan gives the assembly's grade only."""
    if lead.clamps_grade is None:
        return Unknown.of(f"the grade of the clamps of lead {lead}", f"lead {lead} clamps of grade 5", lead.span)
    grade = find_grade(lead.clamps_grade)
    if isinstance(grade, Unknown):
        return grade
    derated = GANG_DERATING if gang > 1 else 1.0
    least = GRADES[grade.name.rstrip("H")].continuous * derated
    if math.isinf(time):
        return least
    # as for a lead: a plain grade is held against a duty with the decrement factor
    ratio = ratio if isinstance(grade, HighAsymmetryGrade) else 0.0
    longest = longest_rated(grade.name)
    found = grade_rating(grade, min(time, longest), ratio)
    if isinstance(found, Unknown):
        return found
    if time <= longest * (1 + 1e-9):
        return found.current * derated
    gap = Gap(f"withstand rating of grade {grade.name} beyond {longest:g} s")
    return Bounds(_lasting(least, found.current * derated, longest, time), found.current * derated, (gap,))
