"""Facts of the grades of ASTM F855: what a lead's grade is made with and tested for, and what its clamps would carry.

The tables are in `electrical/physics/f855.py`, which is imported when the first of these is asked.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from groundlint.facts.answers import Answer, where_stated, word
from groundlint.facts.catalogue import fact
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Lead, SupplySource
from groundlint.values import Unknown

if TYPE_CHECKING:
    from groundlint.electrical.physics.f855 import Grade, HighAsymmetryGrade

GRADES = tuple(f"grade-{number}{high}" for number in range(1, 8) for high in ("", "h"))


def _grade(lead: Lead) -> Grade | HighAsymmetryGrade | Unknown:
    from groundlint.electrical.physics.f855 import find_grade

    if lead.grade is None:
        return Unknown.of(f"the grade of lead {lead}", f"lead {lead} grade 3", lead.span)
    return find_grade(lead.grade)


@fact(
    "grade",
    "lead",
    returns=GRADES,
    timed=False,
    lines=where_stated("grade"),
    meaning="its grade of ASTM F855 as an assembly of cable, ferrules and clamps",
)
def grade(_case: PlanTrace, _at: int, lead: Lead) -> str | Unknown:
    found = _grade(lead)
    return found if isinstance(found, Unknown) else word(f"grade {found.name}")


@fact(
    "clamp-grade",
    "lead",
    returns=GRADES,
    timed=False,
    lines=where_stated("clamps_grade"),
    meaning="the grade of ASTM F855 of its clamps by themselves",
)
def clamp_grade(_case: PlanTrace, _at: int, lead: Lead) -> str | Unknown:
    if lead.clamps_grade is None:
        return Unknown.of(f"the grade of the clamps of lead {lead}", f"lead {lead} clamps of grade 5", lead.span)
    return word(f"grade {lead.clamps_grade}")


@fact(
    "high-asymmetry",
    "lead",
    timed=False,
    lines=where_stated("grade"),
    meaning="its grade is one of Table 2 of ASTM F855, tested at X/R 30: 1H to 7H",
)
def high_asymmetry(_case: PlanTrace, _at: int, lead: Lead) -> Answer:
    found = _grade(lead)
    return found if isinstance(found, Unknown) else found.name.endswith("H")


@fact(
    "grade-area",
    "lead",
    returns="area",
    timed=False,
    unit="kcmil",
    lines=where_stated("grade"),
    meaning="cross-section of the single copper cable that its grade is made with (ASTM F855 Tables 1 and 2)",
)
def grade_area(_case: PlanTrace, _at: int, lead: Lead) -> float | Unknown:
    from groundlint.electrical.physics.leads import cable_area

    found = _grade(lead)
    return found if isinstance(found, Unknown) else cable_area(found)


@fact(
    "longest-tested",
    "lead",
    returns="time",
    timed=False,
    unit="s",
    lines=where_stated("grade"),
    meaning="longest time for which the table rates its grade: 30 cycles of 60 Hz, 15 for an H grade (ASTM F855)",
)
def longest_tested(_case: PlanTrace, _at: int, lead: Lead) -> float | Unknown:
    from groundlint.electrical.physics.f855 import longest_rated

    found = _grade(lead)
    return found if isinstance(found, Unknown) else longest_rated(found.name)


@fact(
    "peak-tested",
    "lead",
    returns="current",
    timed=False,
    unit="kA",
    lines=where_stated("grade"),
    meaning="first peak of Table 2 for an H grade; of the 15-cycle withstand at X/R 1.8 for a plain one (derived)",
)
def peak_tested(_case: PlanTrace, _at: int, lead: Lead) -> float | Unknown:
    from groundlint.electrical.physics.f855 import TABLE_1_X_OVER_R, HighAsymmetryGrade
    from groundlint.electrical.physics.withstand import peak_factor

    found = _grade(lead)
    if isinstance(found, Unknown):
        return found
    if isinstance(found, HighAsymmetryGrade):
        return found.first_peak
    return found.withstand[0][1] * float(peak_factor(TABLE_1_X_OVER_R))


@fact(
    "clamp-loading",
    "lead",
    "source",
    returns="number",
    timed=False,
    lines=where_stated("clamps_grade"),
    meaning="duty of its clamps over what their own grade is rated for, at the worst step; none if never on",
)
def clamp_loading(case: PlanTrace, _at: int, lead: Lead, source: SupplySource) -> Any:
    return case.clamp_loading(lead, source)
