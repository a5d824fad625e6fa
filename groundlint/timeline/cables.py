"""The step of a cable: it is spiked, which shows that its conductors are dead at that place."""

from __future__ import annotations

from groundlint.plan.models import Action, Cable, PointRef, Structure
from groundlint.timeline.clamps import Clamps
from groundlint.values import Gap


class Cables(Clamps):
    """Spikes are like tests of every phase conductor at their place."""

    def _spike(self, action: Action) -> None:
        world, position = self.world, self.position
        cable, structure = action.slots.get("cable"), action.slots.get("structure")
        for slot in (cable, structure):
            if isinstance(slot, Gap):
                world.untold_spike.put(position, slot)
        if not isinstance(cable, Cable) or not isinstance(structure, Structure):
            return
        before = world.spiked.last((cable, structure))
        if before is not None:
            self.mistake(
                "spike-already-spiked",
                f"cable {cable} is already spiked at {structure}{self.since(before)}",
                f"name another place of {cable} here, or take one of the two steps out",
                self.step_at(before, f"{cable} is spiked at {structure} here"),
            )
            return
        world.spiked.put((cable, structure), position, self.index)
        for phase in world.network.phases:
            self.found(PointRef("conductor", structure, phase), dead=True)


__all__ = ["Cables"]
