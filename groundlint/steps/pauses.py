"""Nobody is there for a while: what was shown before is shown no more."""

from __future__ import annotations

from collections.abc import Sequence

from groundlint.language import statements as s
from groundlint.plan.models import Action
from groundlint.steps.capacitors import let_time_pass
from groundlint.steps.kind import Slot, StepKind, Words
from groundlint.steps.run import Run
from groundlint.steps.unfolding import Env, Unfolding
from groundlint.values import Gap


def _pause(run: Run, action: Action) -> None:
    world, position = run.world, run.position
    let_time_pass(run, action, "pause 14 h overnight")
    run.expire_all()
    for detector in world.proof.known():
        world.proof.put(detector, position, None)
    for point in world.cleaned.known():
        world.cleaned.put(point, position, None)
    for switch in world.network.switches:
        world.seen.put(switch, position, False)
        world.verified.put(switch, position, False)


def _from_pause(to: Unfolding, st: s.Pause, _env: Env) -> None:
    value = to.declared.amount(st.amount, "time")
    time = value if value is not None else Gap("how long the pause is", "pause 14 h overnight", st.span)
    why = str(st.purpose) if st.purpose else str(st.spell).removeprefix("for ") if st.spell else None
    to.put("pause", st, time=time, text=why)


def _say(group: Sequence[Action], words: Words) -> str:
    time, why = group[0].slots.get("time"), group[0].slots.get("text")
    long = f" {words.time(time, group[0].span)}" if isinstance(time, float) else ""
    return f"Pause{long}" + (f": {why}" if isinstance(why, str) else "")


PAUSE = StepKind(
    name="pause",
    verb="pause",
    meaning="nobody is there for a while, such as a night: what was shown before is shown no more",
    made_of={s.Pause: _from_pause},
    happens=(),
    slots=(Slot("time", "time"), Slot("text", "text", quoted=True)),
    say=_say,
    protects=False,
    does=_pause,
)
