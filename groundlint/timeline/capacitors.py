"""The steps of capacitors, and the waits that let what they hold run down."""

from __future__ import annotations

from groundlint.plan.models import Action, Capacitor
from groundlint.timeline.steps import Steps
from groundlint.values import Gap
from groundlint.world.records import Waited


class Capacitors(Steps):
    """Capacitors are disconnected, and then discharged; waits add up."""

    def _named(self, action: Action) -> Capacitor | None:
        """The capacitor that a step is about; where it names none, any may be meant."""
        capacitor = action.slots.get("capacitor")
        if isinstance(capacitor, Gap):
            self.world.untold_capacitor.put(action.kind, self.position, capacitor)
        return capacitor if isinstance(capacitor, Capacitor) else None

    def _disconnect(self, action: Action) -> None:
        capacitor, world = self._named(action), self.world
        if capacitor is None:
            return
        before = world.disconnected.last(capacitor)
        if before is not None:
            self.mistake(
                "disconnect-already-disconnected",
                f"capacitor {capacitor} is already disconnected{self.since(before)}",
                "name another capacitor here, or take one of the two steps out",
                self.step_at(before, f"{capacitor} is disconnected here"),
            )
            return
        world.disconnected.put(capacitor, self.position, self.index)

    def _discharge(self, action: Action) -> None:
        capacitor, world = self._named(action), self.world
        if capacitor is None:
            return
        if world.disconnected.last(capacitor) is None and world.untold_capacitor.last("disconnect") is None:
            self.mistake(
                "discharge-while-connected",
                f"capacitor {capacitor} is discharged while it is connected: no step before has disconnected it",
                f"write `disconnect capacitor {capacitor}`, and the wait, before this step",
                ((capacitor.span, f"{capacitor} is declared here"),),
            )
            return
        world.discharged.put(capacitor, self.position, self.index)

    def _wait(self, action: Action) -> None:
        time, log = action.slots.get("time"), self.world.waited
        before = log.last or Waited()
        if isinstance(time, (int, float)):
            log.put(self.position, before._replace(seconds=before.seconds + time))
            return
        gap = time if isinstance(time, Gap) else Gap("how long the wait is", "wait 5 min", action.span)
        log.put(self.position, before._replace(untold=before.untold + 1, gap=gap))
