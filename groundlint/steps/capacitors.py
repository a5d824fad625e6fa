"""Capacitors are disconnected, and then discharged."""

from __future__ import annotations

from groundlint.language import statements as s
from groundlint.plan.models import Action, Capacitor
from groundlint.steps.kind import BY_STICK, Kept, Slot, StepKind, there
from groundlint.steps.run import Run
from groundlint.steps.saying import by_means, listed, saying
from groundlint.steps.unfolding import Env, Unfolding
from groundlint.values import Gap

CAPACITOR = Slot("capacitor", "capacitor")


def _named(run: Run, action: Action) -> Capacitor | None:
    """The capacitor that a step is about; where it names none, any may be meant."""
    capacitor = action.slots.get("capacitor")
    if isinstance(capacitor, Gap):
        run.world.unstated_capacitor.put(action.kind, run.position, capacitor)
    return capacitor if isinstance(capacitor, Capacitor) else None


def _disconnect(run: Run, action: Action) -> None:
    capacitor, world = _named(run, action), run.world
    if capacitor is None:
        return
    before = world.disconnected.last(capacitor)
    if before is not None and world.plan.step(before).kind == "open":  # its own open point has done it
        return
    if before is not None:
        run.mistake(
            "disconnect-already-disconnected",
            f"capacitor {capacitor} is already disconnected{run.since(before)}",
            "name another capacitor here, or take one of the two steps out",
            run.place(before, f"{capacitor} is disconnected here"),
        )
        return
    world.disconnected.put(capacitor, run.position, run.index)


def _discharge(run: Run, action: Action) -> None:
    capacitor, world = _named(run, action), run.world
    if capacitor is None:
        return
    if world.disconnected.last(capacitor) is None and world.unstated_capacitor.last("disconnect") is None:
        run.mistake(
            "discharge-while-connected",
            f"capacitor {capacitor} is discharged while it is connected: no step before has disconnected it",
            f"write `disconnect capacitor {capacitor}`, and the wait, before this step",
            ((capacitor.span, f"{capacitor} is declared here"),),
        )
        return
    world.discharged.put(capacitor, run.position, run.index)


def _from_capacitors(to: Unfolding, st: s.Disconnect | s.Discharge, env: Env) -> None:
    for name in to.names.expand(st.names):
        capacitor = to.names.open_value(name, env) or to.names.find(name, env, Capacitor)
        if capacitor is None:
            continue
        slots: dict[str, object] = {"capacitor": capacitor}
        if isinstance(st, s.Discharge):
            what = f"{name if isinstance(capacitor, Gap) else capacitor} is discharged"
            slots["stick"] = to.stick(st.on_stick, st.by_hand, env, what, st)
        to.add(st.kind, st, slots)


DISCONNECT = StepKind(
    name="disconnect",
    verb="disconnect capacitor",
    meaning="a capacitor is disconnected; what it holds stays in it",
    made_of={s.Disconnect: _from_capacitors},
    happens=(),
    slots=(CAPACITOR,),
    say=saying("Disconnect capacitor", "capacitor"),
    protects=(Kept("disconnected", "disconnected", there),),
    does=_disconnect,
)
DISCHARGE = StepKind(
    name="discharge",
    verb="discharge",
    meaning="a capacitor is short-circuited and grounded",
    made_of={s.Discharge: _from_capacitors},
    happens=(),
    slots=(CAPACITOR, BY_STICK),
    say=lambda group, _: f"Short-circuit and ground capacitor {listed(group, 'capacitor')}{by_means(group[0])}",
    protects=(Kept("discharged", "discharged", there),),
    does=_discharge,
)
