"""Open points, and the reclosing of sources and live neighbours."""

from __future__ import annotations

from collections.abc import Sequence

from groundlint.language import statements as s
from groundlint.plan.models import Action, Capacitor, Neighbour, PointRef, SupplySource, Switch
from groundlint.steps.kind import Kept, Slot, StepKind, Words
from groundlint.steps.run import Run
from groundlint.steps.saying import does_it, listed, named, saying
from groundlint.steps.unfolding import Env, Unfolding, each

SWITCH, CIRCUIT = Slot("switch", "switch"), Slot("circuit", "thing")
OPERATOR = Slot("operator", "person", "by", optional=True)


def _switch(action: Action) -> Switch | None:
    switch = action.slots.get("switch")
    return switch if isinstance(switch, Switch) else None


def _set(run: Run, switch: Switch, state: str | None) -> None:
    world = run.world
    world.switch.put(switch, run.position, state)
    world.network.set_switch(switch, state, run.position)
    world.feed.update(world.states(), run.position)
    for side in switch.sides:
        if isinstance(side, Capacitor):
            _parted(run, side, off=state == "open")


def _parted(run: Run, capacitor: Capacitor, *, off: bool) -> None:
    """An open point of the capacitor's own was opened, or may be closed: it is off the line once all of them are open;
    put back, it takes up a charge again, whatever was done before."""
    world = run.world
    if not off:
        for log in (world.disconnected, world.discharged):
            if log.last(capacitor) is not None:
                log.put(capacitor, run.position, None)
    elif world.disconnected.last(capacitor) is None and all(
        world.switch.last(one) == "open" for one in world.network.switches if capacitor in one.sides
    ):
        world.disconnected.put(capacitor, run.position, run.index)


def _unseen(run: Run, switch: Switch) -> None:
    """It has just been operated: nobody has seen its gap, nor verified that it is open."""
    run.world.seen.put(switch, run.position, False)
    run.world.verified.put(switch, run.position, False)


def _refuse(run: Run, switch: Switch, code: str, message: str, mend: str, is_so: str) -> None:
    """The switch is already so, or not so that this can be done; it became so by an earlier step, or was from the
    beginning."""
    before = run.world.operated.last(switch)
    place = run.place(before, f"{switch} is {is_so} since here", switch.place("position"))
    run.mistake(code, f"{switch} {message}{run.since(before)}", mend, place)


def _open(run: Run, action: Action) -> None:
    switch = _switch(action)
    if switch is None:
        return
    if run.world.switch.last(switch) == "open":
        mend = f"take this step out, or close {switch} before it"
        _refuse(run, switch, "open-already-open", "is already open", mend, "open")
    else:
        run.world.operated.put(switch, run.position, run.index)
        _unseen(run, switch)
    _set(run, switch, "open")
    if action.slots.get("seen") is True:
        run.world.seen.put(switch, run.position, True)


def _close(run: Run, action: Action) -> None:
    switch, world = _switch(action), run.world
    if switch is None:
        for one in world.network.switches:
            if world.switch.last(one) == "open":
                _set(run, one, None)
                _unseen(run, one)
        run.expire_all()
        return
    locked = world.locked.last(switch) and not world.tagged.last(switch)
    if locked or world.tagged.last(switch):
        kept = run.tagged.get(switch)
        code, held, off, on = (
            ("close-while-locked", "it is locked open", "lock", "locked")
            if locked
            else ("close-while-tagged", "a tag is on it", "tag", "tagged")
        )
        run.mistake(
            code,
            f"{switch} is closed while {held}{run.since(kept)}",
            f"take the {off} off first: `untag {switch}`",
            run.place(kept, f"{switch} is {on} here", switch.span),
        )
    if world.control_tagged.last(switch):
        run.mistake(
            "close-while-control-tagged",
            f"{switch} is closed while a tag is on its control",
            f"take the tag off first: `enable control of {switch}`",
            ((switch.span, f"{switch} is declared here"),),
        )
    if world.switch.last(switch) == "closed":
        mend = f"take this step out, or open {switch} before it"
        _refuse(run, switch, "close-already-closed", "is already closed", mend, "closed")
        return
    run.world.operated.put(switch, run.position, run.index)
    _set(run, switch, "closed")
    _unseen(run, switch)
    structures = world.feed.lets_through(switch)
    if structures is None or not world.network.phases:
        run.expire_all()
        return
    run.expire_fed(*(PointRef("conductor", s, phase) for s in structures for phase in world.network.phases))


def _tag(run: Run, action: Action) -> None:
    switch = _switch(action)
    if switch is not None:
        run.world.tagged.put(switch, run.position, True)
        run.tagged[switch] = run.index


def _lock(run: Run, action: Action) -> None:
    switch = _switch(action)
    if switch is None:
        return
    if run.world.switch.last(switch) == "closed":
        mend = f"open it first: `open {switch}, lock it and tag it`"
        _refuse(run, switch, "lock-not-open", "is closed, so it cannot be locked open", mend, "closed")
        return
    run.world.locked.put(switch, run.position, True)
    run.tagged.setdefault(switch, run.index)


def _untag(run: Run, action: Action) -> None:
    switch, world = _switch(action), run.world
    if switch is None:
        for log in (world.tagged, world.locked):
            for one in world.network.switches:
                if log.last(one):
                    log.put(one, run.position, False)
        run.vague.add("untag")
        return
    before = run.tagged.get(switch)
    if not (world.tagged.last(switch) or world.locked.last(switch)) and "untag" not in run.vague:
        run.mistake(
            "untag-not-tagged",
            f"no tag is on {switch}{run.since(before, 'last tagged or untagged on')}",
            f"take this step out, or tag {switch} where it is opened: `open {switch} and tag it`",
            run.place(world.operated.last(switch), f"{switch}", switch.span),
        )
    world.tagged.put(switch, run.position, False)
    if world.locked.last(switch):
        world.locked.put(switch, run.position, False)
    run.tagged[switch] = run.index


def _disable(run: Run, action: Action) -> None:
    switch = _switch(action)
    if switch is not None:
        run.world.disabled.put(switch, run.position, True)


def _tag_control(run: Run, action: Action) -> None:
    switch = _switch(action)
    if switch is not None:
        run.world.control_tagged.put(switch, run.position, True)


def _enable(run: Run, action: Action) -> None:
    switch, world = _switch(action), run.world
    logs = (world.disabled, world.control_tagged)
    if switch is None:
        for log in logs:
            for one in log.known():
                log.put(one, run.position, False)
        return
    if not any(log.last(switch) for log in logs):
        run.mistake(
            "enable-not-disabled",
            f"the control of {switch} is neither disabled nor tagged",
            f"take this step out, or write `disable control of {switch} and tag it` where that is done",
            ((switch.span, f"{switch} is declared here"),),
        )
    for log in logs:
        log.put(switch, run.position, False)


def _verify(run: Run, action: Action) -> None:
    switch = _switch(action)
    if switch is None:
        return
    state = run.world.switch.last(switch)
    if state == "closed":
        mend = f"open it first: `open {switch} and tag it`"
        _refuse(run, switch, "verify-not-open", "is closed, so it cannot be verified open", mend, "closed")
        return
    if state is None:  # found open, so that its position is known from here on
        _set(run, switch, "open")
    run.world.verified.put(switch, run.position, True)


def _block(run: Run, action: Action) -> None:
    circuit = action.slots.get("circuit")
    if isinstance(circuit, SupplySource | Neighbour):
        run.world.blocked.put(circuit, run.position, action.kind == "block")


def _unblock(run: Run, action: Action) -> None:
    if isinstance(action.slots.get("circuit"), SupplySource | Neighbour):
        _block(run, action)
        return
    blocked = run.world.blocked
    for circuit in blocked.known():
        if blocked.last(circuit):
            blocked.put(circuit, run.position, None)


def _say_open(group: Sequence[Action], _words: Words) -> str:
    opened = [a for a in group if a.kind == "open"]
    first = opened[0].slots
    said = f"Open {listed(opened, 'switch')}"
    if any(a.slots.get("seen") is True for a in opened):
        said += "; see that it is open"
    done = [kind for kind in ("lock", "tag") if any(one.kind == kind for one in group)]
    if done:
        said += f"; {' and '.join(done)} {'it' if len(opened) == 1 else 'them'}"
    kept = (("in_sight", "in sight"), ("in_reach", "within reach"), ("one_crew", "one crew on the line"))
    said += "".join(f"; {how}" for slot, how in kept if first.get(slot) is True)
    if first.get("sole") is not None:
        said += f"; under the sole control of {named(first['sole'])}"
    return said + does_it(opened[0])


def _say_close(group: Sequence[Action], _words: Words) -> str:
    crew = group[0].slots.get("crew")
    return f"Close {listed(group, 'switch')}" + (f", by crew {crew}" if crew else does_it(group[0]))


def _say_verify(group: Sequence[Action], _words: Words) -> str:
    return f"Verify that {listed(group, 'switch')} {'is' if len(group) == 1 else 'are'} open"


def _from_open(to: Unfolding, st: s.Open, env: Env) -> None:
    for switch in to.things(st.names, env, Switch):
        who = to.holder(st.by, env, f"who opens {switch}", st)
        said = {slot: getattr(st, slot) for slot in ("seen", "in_sight", "in_reach", "one_crew")}
        to.put("open", st, switch=switch, operator=who, **said, sole=to.person(st.sole, env))
        if st.lock_it:
            to.put("lock", st, switch=switch)
        if st.tag_it:
            to.put("tag", st, switch=switch)


def _from_close(to: Unfolding, st: s.Close, env: Env) -> None:
    for switch in to.things(st.names, env, Switch):
        to.put(
            "close",
            st,
            switch=switch,
            operator=to.holder(st.by, env, f"who closes {switch}", st),
            crew=to.crew(st.by, env),
        )


def _from_disable(to: Unfolding, st: s.Disable, env: Env) -> None:
    for switch in to.things(st.names, env, Switch):
        to.put("disable", st, switch=switch)
        if st.tag_it:
            to.put("tag-control", st, switch=switch)


def _from_tag_control(to: Unfolding, st: s.TagControl, env: Env) -> None:
    for switch in to.things(st.names, env, Switch):
        to.put("tag-control", st, switch=switch)


def _say_disable(group: Sequence[Action], _words: Words) -> str:
    first = [action for action in group if action.kind == "disable"]
    tags = any(action.kind == "tag-control" for action in group)
    switches = listed(first or group, "switch")
    return f"Disable the remote and automatic control of {switches} at each point of control" + (
        "; tag it there" if tags else ""
    )


def _say_enable(group: Sequence[Action], _words: Words) -> str:
    return f"Put back the remote and automatic control of {listed(group, 'switch')}; take the tags there off"


def _from_blocking(to: Unfolding, st: s.Block | s.Unblock, env: Env) -> None:
    for thing in to.things(st.names, env, SupplySource, Switch, Neighbour):
        for circuit in thing.sources if isinstance(thing, Switch) else (thing,):
            to.put(st.kind, st, circuit=circuit)


OPEN = StepKind(
    name="open",
    verb="open",
    meaning="an open point is opened",
    made_of={s.Open: _from_open},
    happens=("opens",),
    slots=(
        SWITCH,
        OPERATOR,
        Slot("seen", "flag", meaning="its gap was seen"),
        Slot("in_sight", "flag", meaning="it is in sight of the employee in charge"),
        Slot("in_reach", "flag", meaning="it is within reach of the employee in charge"),
        Slot("one_crew", "flag", meaning="one crew is on the line, and no other"),
        Slot("sole", "person", "under", optional=True, meaning="the one person under whose control it is"),
    ),
    say=_say_open,
    protects=(Kept("switch", "open", lambda state: state == "open"), Kept("seen", "its gap seen", bool)),
    does=_open,
)
CLOSE = StepKind(
    name="close",
    verb="close",
    meaning="an open point is closed, which can energize",
    made_of={s.Close: _from_close},
    happens=("closes",),
    slots=(SWITCH, OPERATOR, Slot("crew", "text", meaning="another crew that closes it")),
    say=_say_close,
    protects=None,
    does=_close,
)
TAG = StepKind(
    name="tag",
    verb="tag",
    meaning="an open point is tagged",
    made_of={s.Tag: each("switch", Switch), s.Open: _from_open},
    happens=("tag-goes-on",),
    slots=(SWITCH,),
    say=saying("Tag", "switch"),
    protects=(Kept("tagged", "tagged", bool),),
    does=_tag,
)
LOCK = StepKind(
    name="lock",
    verb="lock",
    meaning="an open point is made inoperable, as by a lock",
    made_of={s.Lock: each("switch", Switch), s.Open: _from_open},
    happens=("lock-goes-on",),
    slots=(SWITCH,),
    say=saying("Lock", "switch", " open"),
    protects=(Kept("locked", "locked", bool),),
    does=_lock,
)
UNTAG = StepKind(
    name="untag",
    verb="untag",
    meaning="a tag comes off, and a lock with it",
    made_of={s.Untag: each("switch", Switch)},
    happens=("tag-comes-off", "lock-comes-off"),
    slots=(SWITCH,),
    say=saying("Take the tag off", "switch"),
    protects=None,
    does=_untag,
)
VERIFY = StepKind(
    name="verify",
    verb="verify",
    meaning="an open point is verified to be open, by eye or by test",
    made_of={s.Verify: each("switch", Switch)},
    happens=(),
    slots=(SWITCH,),
    say=_say_verify,
    protects=(Kept("verified", "verified open", bool),),
    does=_verify,
)
BLOCK = StepKind(
    name="block",
    verb="block reclosing on",
    meaning="the reclosing of a source, or of a live neighbour, is blocked",
    made_of={s.Block: _from_blocking},
    happens=("reclosing-put-off",),
    slots=(CIRCUIT,),
    say=saying("Block reclosing on", "circuit"),
    protects=(Kept("blocked", "reclosing blocked", bool),),
    does=_block,
)
UNBLOCK = StepKind(
    name="unblock",
    verb="unblock reclosing on",
    meaning="the reclosing of a source, or of a live neighbour, is put back",
    made_of={s.Unblock: _from_blocking},
    happens=("reclosing-put-back",),
    slots=(CIRCUIT,),
    say=saying("Unblock reclosing on", "circuit"),
    protects=None,
    does=_unblock,
)
DISABLE = StepKind(
    name="disable",
    verb="disable control of",
    meaning="the remote and automatic control of an open point is disabled at each point of control",
    made_of={s.Disable: _from_disable},
    happens=("control-put-off",),
    slots=(SWITCH,),
    say=_say_disable,
    protects=(Kept("disabled", "remote control disabled", bool),),
    does=_disable,
)
TAG_CONTROL = StepKind(
    name="tag-control",
    verb="tag control of",
    meaning="the remote and automatic control of an open point is tagged at each point of control",
    made_of={s.Disable: _from_disable, s.TagControl: _from_tag_control},
    happens=("control-tagged",),
    slots=(SWITCH,),
    say=saying("Tag, at each point of control, the control of", "switch"),
    protects=(Kept("control_tagged", "remote control tagged", bool),),
    does=_tag_control,
)
ENABLE = StepKind(
    name="enable",
    verb="enable control of",
    meaning="the remote and automatic control of an open point is put back",
    made_of={s.Enable: each("switch", Switch)},
    happens=("control-put-back", "control-untagged"),
    slots=(SWITCH,),
    say=_say_enable,
    protects=None,
    does=_enable,
)
