"""Facts about what a plan says it keeps to: numbers of paragraphs, and distances, of a text that no longer holds.

The pre-2014 numbers are those of 29 CFR 1910.269(n) and 29 CFR 1926.954 before the final rule of 79 FR 20316 (from
memory): removal was (n)(7), precautions (n)(8), testing (n)(9); the text in force ends at (n)(8). 1926.954(c) to (f) of
the old construction text (testing, order, removal, where grounds stand) have no successor of that number: 1926.954 is
now on personal protective equipment.
"""

from __future__ import annotations

from groundlint.facts.answers import Answer, Lines, at_line
from groundlint.facts.catalogue import fact
from groundlint.facts.plan_facts import of_line, voltage
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Plan
from groundlint.values import Unknown

SUPERSEDED = (
    "1910.269(n)(9)",
    "1926.954(c)",
    "1926.954(d)",
    "1926.954(e)",
    "1926.954(f)",
)
"""Paragraphs of the text before 2014 that the text in force does not have, without blanks."""


def _cited(_case: PlanTrace, _at: int, plan: Plan) -> Lines:
    return ((plan.places["follows"], "what the plan follows"),) if "follows" in plan.places else ()


def _old(cited: str) -> bool:
    return any(number in "".join(cited.split()) for number in SUPERSEDED)


@fact("citing", "plan", timed=False, lines=_cited, meaning="the plan says what regulation or book of rules it follows")
def citing(_case: PlanTrace, _at: int, plan: Plan) -> Answer:
    return bool(plan.follows)


@fact(
    "citing-superseded",
    "plan",
    timed=False,
    lines=_cited,
    meaning="it says that it follows a paragraph of 29 CFR 1910.269(n) or 1926.954 that the 2014 text no longer has",
)
def citing_superseded(_case: PlanTrace, _at: int, plan: Plan) -> Answer:
    return any(_old(cited) for cited in plan.follows)


@fact(
    "distance-stated",
    "plan",
    timed=False,
    lines=at_line("approach", "approach distance stated"),
    meaning="the plan tells its crew what distance to keep from live parts",
)
def distance_stated(case: PlanTrace, _at: int, _plan: Plan) -> Answer:
    return case.plan.line is not None and case.plan.line.approach is not None


@fact(
    "stated-distance",
    "plan",
    returns="length",
    timed=False,
    unit="ft",
    lines=at_line("approach", "approach distance stated"),
    meaning="the distance from live parts that the plan tells its crew to keep",
)
def stated_distance(case: PlanTrace, _at: int, _plan: Plan) -> float | Unknown:
    return of_line(case, "approach", "the approach distance to keep", "approach 2.14 ft")


@fact(
    "superseded-distance",
    "plan",
    returns="length",
    timed=False,
    unit="ft",
    lines=at_line("voltage", "voltage of the line"),
    meaning="approach distance at the line's voltage, phase to ground, by 29 CFR 1910.269 Table R-6 until 2014",
)
def superseded(case: PlanTrace, at: int, plan: Plan) -> float | Unknown:
    from groundlint.electrical.physics.approach import superseded_distance

    volts = voltage.compute(case, at, plan)
    if isinstance(volts, Unknown):
        return volts
    found = superseded_distance(volts)
    return found if isinstance(found, Unknown) else found.metres
