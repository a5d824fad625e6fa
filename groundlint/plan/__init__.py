"""Plans: frozen models with names resolved, units in SI and routines unfolded."""

from groundlint.plan.models import Plan, PlanResult
from groundlint.plan.resolve import read_plan

__all__ = ["Plan", "PlanResult", "read_plan"]
