"""The steps of capacitors, and the waits that let what they hold run down."""

from __future__ import annotations

from groundlint.plan.models import Action, Capacitor
from groundlint.timeline.clamps import Clamps
from groundlint.timeline.records import Waited
from groundlint.values import Gap


class Capacitors(Clamps):
    """Capacitors are disconnected, and then discharged; waits add up."""

    def _disconnect(self, action: Action) -> None:
        capacitor, world = action.slots.get("capacitor"), self.world
        if isinstance(capacitor, Gap):
            world.untold_capacitor.put(action.kind, self.position, capacitor)
        if not isinstance(capacitor, Capacitor):
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
        capacitor, world = action.slots.get("capacitor"), self.world
        if isinstance(capacitor, Gap):
            world.untold_capacitor.put(action.kind, self.position, capacitor)
        if not isinstance(capacitor, Capacitor):
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


__all__ = ["Capacitors"]
