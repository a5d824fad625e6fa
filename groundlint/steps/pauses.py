"""Time goes by: what was shown before is shown no more, and in a long stretch nobody is there."""

from __future__ import annotations

from collections.abc import Sequence

from groundlint.language import statements as s
from groundlint.plan.models import Action
from groundlint.steps.kind import Slot, StepKind, Words
from groundlint.steps.run import Run
from groundlint.steps.unfolding import Env, Unfolding
from groundlint.values import Gap
from groundlint.world.records import Waited

STALE = 3600.0
"""s waited, at once or in parts, after which a test, a proof of a detector and a brushed surface are of long ago:
common practice, no source."""
UNWATCHED = 4 * 3600.0
"""s of a wait, or of several in a row, through which nobody stays to watch, as at night: common practice, no source."""
WORDS_ALONE = ("hold", "note")
"""Kinds of step between two waits in which nobody does anything."""


def _wait(run: Run, action: Action) -> None:
    _let_time_pass(run, action, "wait 5 min")
    time = action.slots.get("time")
    if not isinstance(time, (int, float)) or _in_a_row(run, time) >= UNWATCHED:
        nobody_there(run)
    else:
        grow_stale(run, STALE)


def _in_a_row(run: Run, seconds: float) -> float:
    """s that the wait at hand and those right before it last."""
    last, before = run.waited
    between = (run.world.plan.step(index).kind for index in range(last + 1, run.index))
    total = seconds + before if all(kind in WORDS_ALONE for kind in between) else seconds
    run.waited = (run.index, total)
    return total


def _pause(run: Run, action: Action) -> None:
    _let_time_pass(run, action, "pause 14 h overnight")
    nobody_there(run)


def _let_time_pass(run: Run, action: Action, write: str) -> None:
    """The time that a step states goes by; ``write`` is what states one."""
    time, log = action.slots.get("time"), run.world.waited
    before = log.last or Waited()
    if isinstance(time, (int, float)):
        log.put(run.position, before._replace(seconds=before.seconds + time))
        return
    gap = time if isinstance(time, Gap) else Gap("how long the wait is", write, action.span)
    log.put(run.position, before._replace(unstated=before.unstated + 1, gap=gap))


def grow_stale(run: Run, after: float = 0.0) -> None:
    """What tests, proofs and brushes have shown is shown no more, where since then ``after`` s or more were waited."""
    world, position = run.world, run.position
    waited = world.waited.last or Waited()

    def old(step: int | None) -> bool:
        return step is not None and waited.seconds - (world.waited.at(step) or Waited()).seconds >= after

    run.expire(lambda point: old(world.tested.last(point)))
    for detector in world.proof.known():
        if old(world.proof.last(detector)):
            world.proof.put(detector, position, None)
    for point in world.cleaned.known():
        if old(world.cleaned.last(point)):
            world.cleaned.put(point, position, None)


def nobody_there(run: Run) -> None:
    """Nobody watches for a stretch: what is open and what is on wants to be looked over as well."""
    world, position = run.world, run.position
    grow_stale(run)
    world.unwatched.put(position, run.index)
    for switch in world.network.switches:
        world.seen.put(switch, position, False)
        world.verified.put(switch, position, False)


def _from_wait(to: Unfolding, st: s.Wait, _env: Env) -> None:
    value = to.declared.amount(st.amount, "time")
    to.put("wait", st, time=value if value is not None else Gap("how long the wait is", "5 min", st.span))


def _from_pause(to: Unfolding, st: s.Pause, _env: Env) -> None:
    value = to.declared.amount(st.amount, "time")
    time = value if value is not None else Gap("how long the pause is", "pause 14 h overnight", st.span)
    spell = str(st.spell).removeprefix("for ") if st.spell else ""
    why = ", ".join(filter(None, (spell, str(st.purpose or "")))) or None
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
    happens=("time-passes", "goes-unwatched"),
    slots=(Slot("time", "time"), Slot("text", "text", quoted=True)),
    say=_say,
    protects=None,
    does=_pause,
)
WAIT = StepKind(
    name="wait",
    verb="wait",
    meaning="a wait",
    made_of={s.Wait: _from_wait},
    happens=("time-passes", "goes-unwatched"),
    slots=(Slot("time", "time"),),
    say=lambda group, words: f"Wait {words.time(group[0].slots.get('time'), group[0].span)}",
    protects=(),
    does=_wait,
)
