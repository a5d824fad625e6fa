"""Sound plans with one protection less: a step dropped, two swapped, a value spoiled; and the rules that see it.

An operator takes a draft and gives another, or None where the draft has nothing of the kind, or where by its own build
the plan stays safe without it (a rod's lead beside a multigrounded neutral, a bracket beside a worksite that is
grounded itself).
"""

from __future__ import annotations

from random import Random

import spoiled_grounds
import spoiled_papers
import spoiled_people
from plan_rows import Draft
from spoiling import OPERATORS, Operator, worksite_grounded

TABLES = (spoiled_papers, spoiled_grounds, spoiled_people)
"""The modules whose import fills the table."""


def spoiled(plan: Draft, one: Operator, rng: Random) -> Draft | None:
    """The plan spoiled, or None where it can't be."""
    made = one.spoil(plan, rng)
    return None if made is None or (made.rows == plan.rows and made.layout == plan.layout) else made


__all__ = ["OPERATORS", "TABLES", "Operator", "spoiled", "worksite_grounded"]
