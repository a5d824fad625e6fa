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
    for index, action in enumerate(plan.actions):
        run.index, run.position, run.action = index, index + 1, action
        kinds[action.kind].does(run, action)
    return Timeline(plan, world)


__all__ = ["replay"]
