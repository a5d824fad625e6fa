"""Words for people: quantities in the units of the plan, and each step as a sentence that a crew can follow."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from groundlint.plan.models import Action, Plan, PointRef, Structure, Thing
from groundlint.report.quantities import in_feet, stated
from groundlint.text import Span
from groundlint.values import Bounds, Gap, Unknown

NOT_STATED = "not stated"
_SIDES = {"near side": "near side of", "far side": "far side of"}


MOST_GAPS = 3
"""Things to state or measure that are named for one value; the rest are counted."""


def not_shown(value: Unknown | Bounds) -> str:
    """Why a value is not shown, in one line."""
    said = [gap.fact + (f" (write `{gap.write}`)" if gap.write else "") for gap in value.gaps[:MOST_GAPS]]
    more = len(value.gaps) - MOST_GAPS
    return "; ".join(said) + (f"; and {more} more" if more > 0 else "")


class Words:
    """Turns values and steps of one plan into words; lengths in the plan's own unit."""

    def __init__(self, plan: Plan) -> None:
        self.feet = in_feet(plan)
        self.line = plan.line.name if plan.line is not None else ""

    def length(self, value: object, where: Span) -> str:
        """A length in m as the plan states it at a place; what is not known is said to be not stated."""
        return stated(value, "m", where, self.feet) if isinstance(value, (int, float)) else NOT_STATED

    # ---- steps ----

    def step(self, group: Sequence[Action]) -> str:
        """One sentence for the actions that one statement became; they are of one statement, in order."""
        first = group[0]
        say = getattr(self, "_" + first.kind.replace("-", "_"), None)
        if say is None:
            return " ".join([first.kind, *(_name(value) for value in first.slots.values() if value is not None)])
        return str(say(group))

    def _brief(self, group: Sequence[Action]) -> str:
        return f"Job briefing: {_list(group, 'person')}"

    def _open(self, group: Sequence[Action]) -> str:
        opened = [a for a in group if a.kind == "open"]
        words = f"Open {_list(opened, 'switch')}"
        if any(a.slots.get("seen") is True for a in opened):
            words += "; see that it is open"
        done = [a for a in ("lock", "tag") if any(one.kind == a for one in group)]
        if done:
            words += f"; {' and '.join(done)} {'it' if len(opened) == 1 else 'them'}"
        kept = (("in_sight", "in sight"), ("in_reach", "within reach"), ("one_crew", "one crew on the line"))
        words += "".join(f"; {said}" for slot, said in kept if opened[0].slots.get(slot) is True)
        if opened[0].slots.get("sole") is not None:
            words += f"; under the sole control of {_name(opened[0].slots['sole'])}"
        return words + _by(opened[0], "operator")

    def _close(self, group: Sequence[Action]) -> str:
        crew = group[0].slots.get("crew")
        return f"Close {_list(group, 'switch')}" + (f", by crew {crew}" if crew else _by(group[0], "operator"))

    def _tag(self, group: Sequence[Action]) -> str:
        return f"Tag {_list(group, 'switch')}"

    def _lock(self, group: Sequence[Action]) -> str:
        return f"Lock {_list(group, 'switch')} open"

    def _untag(self, group: Sequence[Action]) -> str:
        return f"Take the tag off {_list(group, 'switch')}"

    def _verify(self, group: Sequence[Action]) -> str:
        return f"Verify that {_list(group, 'switch')} {'is' if len(group) == 1 else 'are'} open"

    def _block(self, group: Sequence[Action]) -> str:
        return f"Block reclosing on {_list(group, 'source')}"

    def _unblock(self, group: Sequence[Action]) -> str:
        return f"Unblock reclosing on {_list(group, 'source')}"

    def _clearance(self, group: Sequence[Action], state: str) -> str:
        slots = group[0].slots
        holder = (slots.get("crew") and f"crew {slots.get('crew')}") or _name(slots.get("holder"))
        return f"Clearance on {self.line or 'the line'} {state} by {holder}"

    def _request(self, group: Sequence[Action]) -> str:
        return self._clearance(group, "requested")

    def _receive(self, group: Sequence[Action]) -> str:
        return self._clearance(group, "received")

    def _release(self, group: Sequence[Action]) -> str:
        return self._clearance(group, "released")

    def _transfer(self, group: Sequence[Action]) -> str:
        slots = group[0].slots
        taker = (slots.get("taker_crew") and f"crew {slots.get('taker_crew')}") or _name(slots.get("taker"))
        told = [who for who in ("operator", "crew") if slots.get(f"{who}_told") is True]
        tell = f"; the {' and the '.join(told)} told" if told else ""
        return f"{self._clearance(group, 'transferred')} to {taker}{tell}"

    def _inspect(self, group: Sequence[Action]) -> str:
        return f"Inspect {_list(group, 'item')}"

    def _prove(self, group: Sequence[Action]) -> str:
        slots = group[0].slots
        live, tester = slots.get("live"), slots.get("tester")
        on = _name(tester) if isinstance(tester, Thing) else f"a tester {NOT_STATED}"
        if live is not None:
            on = f"{_name(live)}, a live part"
        return f"Prove detector {_name(slots.get('detector'))} on {on}"

    def _test(self, group: Sequence[Action]) -> str:
        slots = group[0].slots
        if slots.get("improvised") is True:
            return f"Test {_list(group, 'point')} without a detector"
        each = "must be" if len(group) == 1 else "each must be"
        found = f"; {each} dead" if slots.get("result") == "dead" else f"; {_name(slots.get('result'))} is expected"
        detector = slots.get("detector")
        with_ = _name(detector) if isinstance(detector, Thing) else f"a detector {NOT_STATED}"
        stick = slots.get("stick")
        how = " by hand" if stick is None else f" on stick {stick}" if isinstance(stick, Thing) else _stick(group[0])
        return f"Test {_list(group, 'point')} with {with_}{how}{found}"

    def _clean(self, group: Sequence[Action]) -> str:
        return f"Clean {_list(group, 'point')} to bright metal"

    def _set(self, group: Sequence[Action]) -> str:
        slots, where = group[0].slots, group[0].span
        off, deep = slots.get("distance"), slots.get("depth")
        distance = f"{self.length(off, where)} from the structure" if _stated(off) else f"distance from it {NOT_STATED}"
        depth = f"{self.length(deep, where)} deep" if _stated(deep) else f"depth {NOT_STATED}"
        away: Any = slots.get("away") or ()
        others = "".join(f", {self.length(one.distance, where)} from {one.rod}" for one in away)
        return f"Set rod {_list(group, 'rod')} at {_name(slots.get('structure'))}, {distance}{others}, {depth}"

    def _barricade(self, group: Sequence[Action]) -> str:
        distance = group[0].slots.get("distance")
        away = f"{self.length(distance, group[0].span)} away" if _stated(distance) else f"away, distance {NOT_STATED}"
        return f"Barricade {_list(group, 'thing')}: keep people {away}"

    def _unbarricade(self, group: Sequence[Action]) -> str:
        return f"Take the barricade down at {_list(group, 'thing')}"

    def _mount(self, group: Sequence[Action]) -> str:
        slots = group[0].slots
        height, conductor = slots.get("height"), slots.get("conductor")
        where = str(height).replace("-", " ") if isinstance(height, str) else f"height {NOT_STATED}"
        if conductor is not None:
            where += f" {_name(conductor)}"
        elif where in ("below feet", "above feet"):
            where = where.replace(" ", " the ")
        return f"Mount bar {_list(group, 'bar')} at {_name(slots.get('structure'))}, {where}"

    def _dismount(self, group: Sequence[Action]) -> str:
        return f"Take down bar {_list(group, 'bar')}"

    def _ends(self, group: Sequence[Action], preposition: str) -> str:
        return f", then {preposition} ".join(
            f"{_name(a.slots.get('point'))}{_stick(a)}" for a in group if a.slots.get("lead") is not None
        )

    def _attach(self, group: Sequence[Action]) -> str:
        return f"Attach {_name(group[0].slots.get('lead'))} to {self._ends(group, 'to')}"

    def _detach(self, group: Sequence[Action]) -> str:
        return f"Detach {_name(group[0].slots.get('lead'))} from {self._ends(group, 'from')}"

    def _bond(self, group: Sequence[Action]) -> str:
        slots = group[0].slots
        lead = slots.get("lead")
        with_ = f" with {_name(lead)}" if lead is not None else ""
        if slots.get("across"):
            return f"Bond across {_name(slots.get('first'))}{with_}{_stick(group[0])}"
        return f"Bond {_name(slots.get('first'))} to {_name(slots.get('second'))}{with_}{_stick(group[0])}"

    def _unbond(self, group: Sequence[Action]) -> str:
        return f"Take the bond off {_list(group, 'first')}{_stick(group[0])}"

    def _enter(self, group: Sequence[Action], verb: str = "goes to work at") -> str:
        slots = group[0].slots
        who = _list(group, "person")
        if len(group) > 1:
            verb = verb.replace("goes", "go").replace("moves", "move")
        return f"{who} {verb} {_name(slots.get('structure'))}, {self.stand(slots.get('stand'))}; within reach: " + (
            self.reach(slots.get("reach"))
        )

    def _move(self, group: Sequence[Action]) -> str:
        return self._enter(group, "moves to")

    @staticmethod
    def stand(value: object) -> str:
        """What somebody stands on."""
        if not isinstance(value, PointRef):
            return f"standing place {NOT_STATED}"
        if value.sort == "earth":
            return "on the ground"
        return (
            f"in {value.thing}"
            if value.sort == "vehicle"
            else f"on the {value.sort}" + (f" {value.thing}" if value.thing is not None else "")
        )

    @staticmethod
    def reach(value: object) -> str:
        """What somebody can reach."""
        if not isinstance(value, tuple):
            return NOT_STATED
        return ", ".join(_short(one) for one in value) or "nothing"

    def _leave(self, group: Sequence[Action]) -> str:
        return f"{_list(group, 'person')} {'leaves' if len(group) == 1 else 'leave'} the place of work"

    def _work(self, group: Sequence[Action]) -> str:
        slots = group[0].slots
        at = f" at {_name(slots.get('structure'))}" if slots.get("structure") is not None else ""
        return f"Work{at}: {_name(slots.get('text'))}{_by(group[0], 'operator')}"

    def _cut(self, group: Sequence[Action]) -> str:
        return f"Cut {_list(group, 'point')}" + ("; it stays open" if group[0].slots.get("left") is True else "")

    def _downed(self, group: Sequence[Action]) -> str:
        return f"Found down: {_list(group, 'point')}"

    def _string(self, group: Sequence[Action]) -> str:
        return f"String {_list(group, 'point')}"

    def _park(self, group: Sequence[Action]) -> str:
        return f"Park {_list(group, 'vehicle')} at {_name(group[0].slots.get('structure'))}"

    def _certify(self, group: Sequence[Action]) -> str:
        slots = group[0].slots
        what = "the grounds are on" if slots.get("certified") == "grounds" else "the conductors are dead"
        return f"Sign at {_name(slots.get('structure'))} that {what}{_by(group[0], 'operator')}"

    def _shock(self, group: Sequence[Action]) -> str:
        return f"{_list(group, 'person')} had a shock"

    def _replan(self, group: Sequence[Action]) -> str:
        return f"The plan changes: {_name(group[0].slots.get('text'))}"

    def _disconnect(self, group: Sequence[Action]) -> str:
        return f"Disconnect capacitor {_list(group, 'capacitor')}"

    def _spike(self, group: Sequence[Action]) -> str:
        return f"Spike cable {_list(group, 'cable')} at {_name(group[0].slots.get('structure'))}"

    def _discharge(self, group: Sequence[Action]) -> str:
        return f"Short-circuit and ground capacitor {_list(group, 'capacitor')}{_stick(group[0])}"

    def _join(self, group: Sequence[Action]) -> str:
        return f"Join {_list(group, 'point')}"

    def _lift(self, group: Sequence[Action]) -> str:
        slots = group[0].slots
        why = f" for {_name(slots.get('purpose'))}" if slots.get("purpose") is not None else ""
        return (
            f"Lift {_name(slots.get('lead'))} from {_name(slots.get('point'))}{_stick(group[0])}{why}; "
            f"protection meanwhile: {_name(slots.get('protection'))}"
        )

    def _restore(self, group: Sequence[Action]) -> str:
        slots = group[0].slots
        return f"Put {_name(slots.get('lead'))} back on {_name(slots.get('point'))}{_stick(group[0])}"

    def _hold(self, group: Sequence[Action]) -> str:
        return _name(group[0].slots.get("text"))

    def _note(self, group: Sequence[Action]) -> str:
        return f"Note: {_name(group[0].slots.get('text'))}"

    def _cover(self, group: Sequence[Action]) -> str:
        return f"Cover {_list(group, 'neighbour')}"

    def _uncover(self, group: Sequence[Action]) -> str:
        return f"Take the cover off {_list(group, 'neighbour')}"

    def _gloves_on(self, group: Sequence[Action]) -> str:
        return f"Rubber gloves on: {_list(group, 'person')}"

    def _gloves_off(self, group: Sequence[Action]) -> str:
        return f"Rubber gloves off: {_list(group, 'person')}"

    def _wait(self, group: Sequence[Action]) -> str:
        value = group[0].slots.get("time")
        return f"Wait {stated(value, 's', group[0].span) if isinstance(value, (int, float)) else NOT_STATED}"


def _name(value: object) -> str:
    if value is None:
        return "by hand"
    if isinstance(value, Gap):
        return NOT_STATED
    if isinstance(value, PointRef):
        return point_words(value)
    return str(value)


def _stated(value: object) -> bool:
    return isinstance(value, (int, float))


def point_words(point: PointRef) -> str:
    """A point as a crew names it: `212 A`, `R1`, `the pole of 212`."""
    if point.sort in _SIDES:
        return f"the {_SIDES[point.sort]} {point.structure} {point.thing}"
    if point.sort == "earth":
        return f"the ground at {point.structure}" if point.structure else "the ground"
    return str(point)


def _short(point: Any) -> str:
    """A point within reach: a conductor without its structure."""
    if not isinstance(point, PointRef):
        return NOT_STATED
    if point.sort in _SIDES:
        return f"{point.thing} ({point.sort})"
    return str(point.thing) if point.thing is not None else f"the {point.sort}"


def _list(group: Iterable[Action], slot: str) -> str:
    found = [action.slots.get(slot) for action in group]
    wires = [v for v in found if isinstance(v, PointRef) and v.sort == "conductor" and v.structure is not None]
    if len(found) > 1 and len(wires) == len(found) and len({id(v.structure) for v in wires}) == 1:
        return f"{wires[0].structure} " + ", ".join(str(v.thing) for v in wires)
    return ", ".join(dict.fromkeys(_name(value) for value in found))


def _by(action: Action, slot: str) -> str:
    who = action.slots.get(slot)
    return f", by {who}" if isinstance(who, Thing) else ""


_BY_HAND_IS_USUAL = ("rod", "bar", "pole ground", "vehicle", "mat", "guy", "steel", "footing")


def _stick(action: Action) -> str:
    """How a clamp is moved. Where the plan does not say, that is said for conductors alone."""
    stick, point = action.slots.get("stick"), action.slots.get("point", action.slots.get("first"))
    if isinstance(stick, Thing):
        return f" by stick {stick}"
    if stick is None:
        return " by hand"
    unusual = not isinstance(point, PointRef) or point.sort not in _BY_HAND_IS_USUAL
    return " (by stick or by hand: not stated)" if unusual else ""


def structure_words(structure: Structure) -> str:
    """What a structure is made of."""
    return structure.material or "material not stated"
