"""What is done on a job, by kind. A kind of step is one declaration; whatever lists kinds is made from these."""

from collections.abc import Mapping
from types import ModuleType

from groundlint.language.statements import Step
from groundlint.plan.models import Action
from groundlint.steps import (
    capacitors,
    clearance,
    equipment,
    keeping_off,
    leads,
    line,
    paper,
    pauses,
    people,
    switches,
    voltage,
)
from groundlint.steps.kind import Slot, StepKind
from groundlint.steps.run import Run
from groundlint.steps.unfolding import Unfold


def declared(*modules: ModuleType) -> dict[str, StepKind]:
    """The kinds that modules declare, by name, in the order written. Raises `ValueError` for one that stands twice."""
    found: dict[str, StepKind] = {}
    for module in modules:
        for kind in vars(module).values():
            if isinstance(kind, StepKind) and found.setdefault(kind.name, kind) is not kind:
                raise ValueError(f"kind of step {kind.name} stands twice")
    return found


KINDS = declared(paper, switches, clearance, equipment, voltage, leads, people, line, keeping_off, capacitors, pauses)
"""Every kind of step by its name."""


def unfolding(kinds: Mapping[str, StepKind]) -> dict[type[Step], Unfold]:
    """What makes actions of each statement. Raises `ValueError` for one of which two kinds make something else."""
    found: dict[type[Step], Unfold] = {}
    for kind in kinds.values():
        for statement, unfold in kind.made_of.items():
            if found.setdefault(statement, unfold) is not unfold:
                raise ValueError(f"kind of step {kind.name} makes something else of {statement.__name__}")
    return found


def having(*slots: str) -> tuple[str, ...]:
    """The kinds of step that have all of these slots."""
    return tuple(kind.name for kind in KINDS.values() if {slot.name for slot in kind.slots}.issuperset(slots))


PLACING = having("person", "structure", "reach")
"""Kinds of step that say where somebody works, and what is in reach there."""

AT_WORK = (*PLACING, paper.WORK.name)
"""Kinds of step that make a structure a place of work."""


def step_label(action: Action, numbered: bool = True, kinds: Mapping[str, StepKind] = KINDS) -> str:
    """The step in a few words: ``step 7, attach G20 to 212 A``; its number left out if not ``numbered``."""
    said = kinds[action.kind].label(action)
    return f"step {action.number}, {said}" if numbered and action.number else said


__all__ = ["AT_WORK", "KINDS", "PLACING", "Run", "Slot", "StepKind", "declared", "having", "step_label", "unfolding"]
