"""Facts about cables: where they end and who is at them, whether they were spiked, what a fault could bring there."""

from __future__ import annotations

from groundlint.facts.answers import Answer, Lines, any_of, by_change, where_stated
from groundlint.facts.catalogue import fact
from groundlint.facts.points import attached, is_grounded, phase_points
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Cable, Person, Structure
from groundlint.values import Unknown


@fact(
    "terminal-of",
    "structure",
    "cable",
    timed=False,
    lines=where_stated("terminals"),
    meaning="that cable ends there",
)
def terminal_of(_case: PlanTrace, _at: int, structure: Structure, cable: Cable) -> bool:
    return structure in cable.terminals


@fact(
    "at-cable",
    "person",
    "cable",
    lines=by_change("stands"),
    meaning="the person is in place in a vault of that cable, away from its terminals",
)
def at_cable(case: PlanTrace, at: int, person: Person, cable: Cable) -> Answer:
    here = case.person_structure(at, person)
    return here if isinstance(here, Unknown) else here in cable.vaults


@fact(
    "some-phase-grounded",
    "structure",
    lines=attached,
    meaning="one of the phase conductors here, or more, is joined to an electrode here",
)
def some_phase_grounded(case: PlanTrace, at: int, structure: Structure) -> Answer:
    points = phase_points(case, structure)
    if isinstance(points, Unknown):
        return points
    return any_of(is_grounded(case, at, point, local=True) for point in points)


@fact(
    "transfer-possible",
    "cable",
    timed=False,
    lines=where_stated("transfer"),
    meaning="a fault could bring the potential of a terminal to somebody at it; the plan rules that out by a reason",
)
def transfer_possible(_case: PlanTrace, _at: int, cable: Cable) -> Answer:
    if cable.transfer:
        return True
    if cable.transfer is False and cable.because is not None:
        return False
    write = (
        f'cable {cable} transfer of potential not possible because "the reason"'
        if cable.transfer is False
        else f"cable {cable} transfer of potential possible"
    )
    what = "why no transfer of potential is possible" if cable.transfer is False else "whether a transfer is possible"
    return Unknown.of(f"{what} along cable {cable}", write, cable.place("transfer"))


def _spiking(case: PlanTrace, at: int, cable: Cable, structure: Structure) -> Lines:
    found = case.timeline.spiked(at, cable, structure)
    return (case.line_of(found),) if found is not None else ()


@fact("spiked-at", "cable", "structure", lines=_spiking, meaning="a step has spiked it there")
def spiked_at(case: PlanTrace, at: int, cable: Cable, structure: Structure) -> Answer:
    if case.timeline.spiked(at, cable, structure) is not None:
        return True
    unstated = case.timeline.unstated_spike(at)
    return False if unstated is None else Unknown((unstated,))


@fact(
    "vault-of",
    "structure",
    "cable",
    timed=False,
    lines=where_stated("vaults"),
    meaning="it is a vault or manhole that the cable comes by",
)
def vault_of(_case: PlanTrace, _at: int, structure: Structure, cable: Cable) -> bool:
    return structure in cable.vaults
