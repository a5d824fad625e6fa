"""Points are tested for voltage, with detectors that were proven, and cleaned for clamps."""

from __future__ import annotations

from collections.abc import Sequence

from groundlint.language import statements as s
from groundlint.plan.models import Action, Detector, PointRef, Tester, Thing
from groundlint.steps.kind import Kept, Slot, StepKind, Words, there
from groundlint.steps.run import Run
from groundlint.steps.saying import NOT_STATED, by_means, listed, named, saying
from groundlint.steps.unfolding import Env, Unfolding, each_point
from groundlint.values import Gap

POINT = Slot("point", "point")


def _prove(run: Run, action: Action) -> None:
    detector = action.slots.get("detector")
    if not isinstance(detector, Detector):
        return
    if any(isinstance(action.slots.get(slot), Gap) for slot in ("tester", "live")):
        return  # on what it is proven is not stated, so that it is not known to be proven
    run.world.proof.put(detector, run.position, run.index)
    run.world.tests_since.put(detector, run.position, 0)


def _test(run: Run, action: Action) -> None:
    detector, point, result = (action.slots.get(slot) for slot in ("detector", "point", "result"))
    if isinstance(detector, Detector):
        since = run.world.tests_since
        since.put(detector, run.position, (since.last(detector) or 0) + 1)
    if not isinstance(point, PointRef):
        return
    point = run.world.network.whole(run.position, point)
    if result == "live":  # then so is all that hangs together with it
        run.expire_joined(point)
    # an ear finds nothing dead
    run.found(point, dead=result in ("dead", None) and action.slots.get("improvised") is not True)


def _clean(run: Run, action: Action) -> None:
    point = action.slots.get("point")
    if isinstance(point, PointRef):
        run.world.cleaned.put(run.world.network.whole(run.position, point), run.position, run.index)


def _say_prove(group: Sequence[Action], _words: Words) -> str:
    slots = group[0].slots
    live, tester = slots.get("live"), slots.get("tester")
    on = named(tester) if isinstance(tester, Thing) else f"a tester {NOT_STATED}"
    if live is not None:
        on = f"{named(live)}, a live part"
    return f"Prove detector {named(slots.get('detector'))} on {on}"


def _say_test(group: Sequence[Action], _words: Words) -> str:
    slots = group[0].slots
    if slots.get("improvised") is True:
        return f"Test {listed(group, 'point')} without a detector"
    each = "must be" if len(group) == 1 else "each must be"
    found = f"; {each} dead" if slots.get("result") == "dead" else f"; {named(slots.get('result'))} is expected"
    detector = slots.get("detector")
    with_ = named(detector) if isinstance(detector, Thing) else f"a detector {NOT_STATED}"
    return f"Test {listed(group, 'point')} with {with_}{by_means(group[0], 'on')}{found}"


def _from_prove(to: Unfolding, st: s.Prove, env: Env) -> None:
    detector = to.names.find(st.name, env, Detector)
    if detector is None:
        return
    tester: object = None
    live: object = None
    if st.on is not None:
        tester = to.names.find(st.on, env, Tester) or Gap(f"on what {detector} is proven", "on T1", st.on.span)
    elif st.on_live is not None:
        live = to.names.point(st.on_live, env)
    else:
        tester = Gap(f"on what {detector} is proven", "on T1", st.span)
    to.put("prove", st, detector=detector, tester=tester, live=live)


def _from_test(to: Unfolding, st: s.Test, env: Env) -> None:
    detector: object = to.names.find(st.with_, env, Detector) if st.with_ else None
    if detector is None and not st.improvised:
        detector = Gap("which detector tests", "with D1", st.span)
    stick = to.stick(st.on_stick, st.by_hand, env, "the test is", st)
    result = str(st.result) if st.result else "dead"
    for point in to.names.points(st.points, env):
        to.put("test", st, point=point, detector=detector, stick=stick, result=result, improvised=st.improvised)


PROVE = StepKind(
    name="prove",
    verb="prove",
    meaning="a detector is proven on a tester or on a part known to be live",
    made_of={s.Prove: _from_prove},
    happens=(),
    slots=(
        Slot("detector", "detector"),
        Slot("tester", "tester", "on", optional=True),
        Slot("live", "point", meaning="a part known to be live"),
    ),
    say=_say_prove,
    protects=(
        Kept("proof", "proven before its test", there, ("test",)),
        Kept("tests_since", "proven again after its tests", lambda tests: not tests, ("on", "reach")),
    ),
    does=_prove,
)
TEST = StepKind(
    name="test",
    verb="test",
    meaning="a point is tested for voltage",
    made_of={s.Test: _from_test},
    happens=(),
    slots=(
        POINT,
        Slot("detector", "detector", "with"),
        Slot("stick", "stick", "on", meaning="None where done by hand"),
        Slot("result", "word", meaning="dead or live; dead is what the step asks for"),
        Slot("improvised", "flag", meaning="without a detector"),
    ),
    say=_say_test,
    protects=(Kept("holds", "found dead", bool), Kept("tested", "tested", there, again=True)),
    does=_test,
)
CLEAN = StepKind(
    name="clean",
    verb="clean",
    meaning="a point is brushed to bright metal",
    made_of={s.Clean: each_point},
    happens=(),
    slots=(POINT,),
    say=saying("Clean", "point", " to bright metal"),
    protects=(Kept("cleaned", "clean", there, ("on",)),),
    does=_clean,
)
