"""Carrying out a plan step by step: a pure fold over its actions, in which each kind does what it declares."""

from __future__ import annotations

from collections.abc import Mapping

from groundlint.plan.models import Plan
from groundlint.steps import KINDS, Run, StepKind
from groundlint.timeline.timeline import Timeline
from groundlint.world.world import World


def replay(plan: Plan, kinds: Mapping[str, StepKind] = KINDS) -> Timeline:
    """Carry out a plan's actions and keep what they change."""
    world = World(plan)
    run = Run(world)
    # below zero, at position 0: what the part of the job before has left
    for index, action in enumerate((*plan.begins, *plan.actions), -len(plan.begins)):
        run.index, run.position, run.action = index, max(index + 1, 0), action
        kinds[action.kind].does(run, action)
    return Timeline(plan, world)


__all__ = ["replay"]
