"""The clearance: requested, received, released, transferred."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from groundlint.language import statements as s
from groundlint.plan.models import Action, Person
from groundlint.steps.kind import Effect, Kept, Say, Slot, StepKind, Words
from groundlint.steps.pauses import grow_stale
from groundlint.steps.run import Run
from groundlint.steps.saying import crew_or_person
from groundlint.steps.unfolding import Env, Unfolding
from groundlint.world.holdings import RECEIVED, Holder

CREW = Slot("crew", "text", meaning="the crew, where a crew holds it")


def _holder(does: str) -> Slot:
    return Slot("holder", "person", "by", optional=True, meaning=f"who {does} the clearance")


def _who(action: Action, person: str = "holder", crew: str = "crew") -> Holder:
    """The person or crew that a step names; None where it names nobody."""
    for slot in (person, crew):
        value = action.slots.get(slot)
        if isinstance(value, (Person, str)) and value:
            return value
    return None


def _out(state: object) -> bool:
    return state == RECEIVED


def _clears(state: str, change: Callable[[Run, Action, Holder], tuple[Holder, ...]]) -> Effect:
    """The clearance is in another state. ``change`` gives who holds one since, beside those who did before."""

    def does(run: Run, action: Action) -> None:
        log, held = run.world.clearance, run.world.holdings
        before = [one for one in log.known() if held.state(one) is not None]
        since = change(run, action, _who(action))
        run.cleared = run.index
        for one in dict.fromkeys((*before, *since)):
            log.put(one, run.position, held.state(one) or state)
        standing = held.of_all()
        if standing is not None or state != "transferred":  # a transfer of nothing leaves all as it was
            run.world.clearance_of_all.put(run.position, standing or state)

    return does


def _must_be_out(run: Run, holder: Holder, code: str, state: str) -> None:
    """Counted without names, so that a name taken out changes nothing here; who may release is for rules to ask."""
    if run.clearances <= 0:
        whose = f" by {holder}" if holder is not None else ""
        run.mistake(
            code,
            f"a clearance is {state} that was never received, or was released before",
            f"write `clearance received{whose}` where the crew receives it",
            run.place(run.cleared, "clearance last changed here"),
        )


def _request(_run: Run, _action: Action, holder: Holder) -> tuple[Holder, ...]:
    return (holder,)


def _receive(run: Run, _action: Action, holder: Holder) -> tuple[Holder, ...]:
    run.clearances += 1
    run.world.holdings.receive(holder)
    return (holder,)


def _release(run: Run, _action: Action, holder: Holder) -> tuple[Holder, ...]:
    _must_be_out(run, holder, "release-without-clearance", "released")
    run.clearances = max(0, run.clearances - 1)
    run.world.holdings.release(holder)
    if run.clearances == 0:  # from here on the line may have been energized at any time
        grow_stale(run)
    return ()


def _transfer(run: Run, action: Action, holder: Holder) -> tuple[Holder, ...]:
    _must_be_out(run, holder, "transfer-without-clearance", "transferred")
    taker, held = _who(action, "taker", "taker_crew"), run.world.holdings
    held.transfer(holder, taker)
    return (taker,) if held.state(taker) is not None else ()


def _saying(state: str) -> Say:
    return lambda group, words: (
        f"Clearance on {words.line or 'the line'} {state} by {crew_or_person(group, 'crew', 'holder')}"
    )


def _say_transfer(group: Sequence[Action], words: Words) -> str:
    told = [who for who in ("operator", "crew") if group[0].slots.get(f"{who}_told") is True]
    tell = f"; the {' and the '.join(told)} told" if told else ""
    return f"{_saying('transferred')(group, words)} to {crew_or_person(group, 'taker_crew', 'taker')}{tell}"


def _from_clearance(to: Unfolding, st: s.Clearance, env: Env) -> None:
    line = to.declared.line
    if st.name is not None and (line is None or env.get(st.name, str(st.name)) != line.name):
        mend = f"write {line.name}" if line else "declare the line"
        to.names.refuse("undeclared-name", st.name.span, f"{st.name} is not the line of this plan", mend)
    kind = BY_STATE[str(st.state)].name
    slots: dict[str, object] = {"holder": to.holder(st.by, env, "who holds the clearance", st)}
    if kind != "request":
        slots["crew"] = to.crew(st.by, env)
    if kind == "transfer":
        slots["taker"] = to.holder(st.to, env, "who takes the clearance over", st, "to L2")
        slots["taker_crew"] = to.crew(st.to, env)
        slots |= {"operator_told": st.operator_told, "crew_told": st.crew_told}
    to.put(kind, st, **slots)


REQUEST = StepKind(
    name="request",
    verb="clearance requested",
    meaning="the clearance is requested",
    made_of={s.Clearance: _from_clearance},
    happens=(),
    slots=(_holder("asks for"),),
    say=_saying("requested"),
    protects=None,
    does=_clears("requested", _request),
)
RECEIVE = StepKind(
    name="receive",
    verb="clearance received",
    meaning="the clearance is received: the crew may start",
    made_of={s.Clearance: _from_clearance},
    happens=(),
    slots=(_holder("receives"), CREW),
    say=_saying("received"),
    protects=(
        Kept("clearance_of_all", "under a clearance", _out),
        Kept("clearance", "holding a clearance", _out),
    ),
    does=_clears("received", _receive),
)
RELEASE = StepKind(
    name="release",
    verb="clearance released",
    meaning="the clearance is released: the line may be energized",
    made_of={s.Clearance: _from_clearance},
    happens=("clearance-ends",),
    slots=(_holder("releases"), CREW),
    say=_saying("released"),
    protects=None,
    does=_clears("released", _release),
)
TRANSFER = StepKind(
    name="transfer",
    verb="clearance transferred",
    meaning="the clearance passes from who holds it to another",
    made_of={s.Clearance: _from_clearance},
    happens=(),
    slots=(
        _holder("hands over"),
        CREW._replace(meaning="the crew, where a crew hands it over"),
        Slot("taker", "person", "to", optional=True, meaning="who takes the clearance over"),
        Slot("taker_crew", "text", meaning="the crew, where a crew takes it over"),
        Slot("operator_told", "flag", meaning="the system operator is told"),
        Slot("crew_told", "flag", meaning="the crew is told"),
    ),
    say=_say_transfer,
    protects=None,
    does=_clears("transferred", _transfer),
)

BY_STATE = {"requested": REQUEST, "received": RECEIVE, "released": RELEASE, "transferred": TRANSFER}
"""What a `clearance` statement becomes, by the word of its state."""
