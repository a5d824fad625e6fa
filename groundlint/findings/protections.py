"""What protects whom at each moment of a plan, and what of it another plan lacks.

A moment is what goes on, whatever the step is called or numbered: a clamp goes on a point or comes off, somebody has a
point in reach, two points are in one reach, a conductor is tested, cut or worked on, a switch closes, the plan ends.
What protects there is read off the logs of the world that the kinds of step declare (`Kept`), and off what hangs
together. A plan protects less where something that holds at a moment of the other does not hold at the same moment of
this one, or never holds.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import accumulate, chain, combinations, pairwise
from typing import Any, NamedTuple, TypeAlias

from groundlint.findings.likeness import MARKED, Key, Label, Likeness, labels, subject_key, value_key
from groundlint.plan.models import Action, Conductor, Equipment, Lead, Person, Plan, PointRef, Thing
from groundlint.steps import KINDS, step_label
from groundlint.steps.kind import GROUNDS
from groundlint.text import Span
from groundlint.timeline import replay
from groundlint.timeline.happenings import edges
from groundlint.values import TRUE
from groundlint.words.quantities import rounded
from groundlint.world.logs import Log
from groundlint.world.network import plain
from groundlint.world.records import Bond

ACTS = frozenset(
    kind.name
    for kind in KINDS.values()
    if not kind.happens and any(slot.holds in ("point", "capacitor", "cable") for slot in kind.slots)
)
"""Kinds of step at which somebody is near a conductor, and that no happening stands for."""

PER_AREA = 1e6
"""Areas are written in mm2."""


class Loss(NamedTuple):
    """A protection that a plan lacks: of what, what it was, and the place of the step that gave it; the first moment
    without it, in words and with its places in both plans, empty where it never holds; and how many more moments."""

    thing: str
    words: str
    given: Span | None
    moment: str
    old: Span | None
    new: Span | None
    more: int = 0


Say: TypeAlias = Callable[[float], str]


class _Signal(NamedTuple):
    """How much of something protects, from each position on; 0 is nothing."""

    positions: Sequence[int]
    values: Sequence[float]

    def least(self, first: int, last: int) -> float:
        start = bisect_right(self.positions, first) - 1
        return min(self.values[max(start, 0) : bisect_right(self.positions, last)]) if start >= 0 else 0.0

    def given(self, at: int | None) -> int:
        """The position from which it is as at a position; from which it first is anything, for None."""
        if at is None:
            return next(position for position, value in zip(self.positions, self.values, strict=True) if value)
        return self.positions[max(bisect_right(self.positions, at) - 1, 0)]


class _Protection(NamedTuple):
    """A signal under a key that both plans share; ``thing`` has the protection, ``when`` is as in `Kept`."""

    key: Key
    thing: object
    named: str
    say: Say
    signal: _Signal
    when: tuple[str, ...] = ()


class _Moment(NamedTuple):
    """Positions ``first`` to ``last``, from a ``step`` on; ``about`` and ``who`` say what goes on in terms that both
    plans share."""

    sort: str
    about: Hashable
    who: Hashable
    things: frozenset[object]
    points: tuple[PointRef, ...]
    first: int
    last: int
    step: int
    words: str


class _Held(NamedTuple):
    """A protection, and how much of it there is, at a moment."""

    of: _Protection
    least: float


def less_protected(old: Plan, new: Plan, laid: Likeness) -> tuple[tuple[Loss, ...], tuple[Loss, ...]]:
    """What the new plan lacks of the old one's protections, and what the old one lacks of the new one's."""
    one, other = labels(laid.things)
    before, after = _State(old, one, laid.things.keys()), _State(new, other, laid.things.values())
    return _lacking(before, after), _lacking(after, before)


def _lacking(old: _State, new: _State) -> tuple[Loss, ...]:
    found: dict[Key, list[Loss]] = {}
    for after, candidates, same in _beside(old.moments, new.moments):
        losses = min((_at(old, before, new, after, same) for before in candidates), key=len)
        for key, loss in losses.items():
            found.setdefault(key, []).append(loss)
    best = new.ever
    for key, held in old.ever.items():
        now = best[key].least if key in best else 0.0
        if (
            key not in found
            and ("along the line", *key) not in found
            and _is_less(now, held.least)
            and old.shared(held.of.thing)
        ):
            found[key] = [old.loss(held, now, None)]
    return tuple(losses[0]._replace(more=len(losses) - 1) for losses in found.values())


def _at(old: _State, before: _Moment, new: _State, after: _Moment, same: bool) -> dict[Key, Loss]:
    """What is lacking at one moment; where it is not the ``same`` lead or person, without what is theirs."""
    has = new.at(after)
    found = {}
    for key, held in old.at(before).items():
        now = has[key].least if key in has else new.all_the_same(key, after)
        theirs = not same and isinstance(held.of.thing, Equipment | Person)
        if _is_less(now, held.least) and not theirs and old.shared(held.of.thing):
            places = before.words, old.place(before.step), new.place(after.step)
            found[key] = old.loss(held, now, before.first)._replace(moment=places[0], old=places[1], new=places[2])
    return found


def _is_less(now: float, before: float) -> bool:
    return now < before * (1 - 1e-9)


def _beside(old: Sequence[_Moment], new: Sequence[_Moment]) -> Iterator[tuple[_Moment, Sequence[_Moment], bool]]:
    """Each new moment with the old one, or those that it may be; not the ``same`` where only somebody else did it."""
    exact, alike = defaultdict(list), defaultdict(list)
    for moment in old:
        exact[moment.sort, moment.about, moment.who].append(moment)
        alike[moment.sort, moment.about].append(moment)
    count = Counter((moment.sort, moment.about, moment.who) for moment in new)
    seen: Counter[Hashable] = Counter()
    for moment in new:
        key = moment.sort, moment.about, moment.who
        there = exact.get(key)
        if there is None:
            if (others := alike.get(key[:2])) is not None:
                yield moment, others, False
        elif len(there) == count[key]:
            yield moment, there[seen[key] : seen[key] + 1], True
            seen[key] += 1
        else:
            yield moment, there, True


class _State:
    """A plan carried out, its moments and what protects at each."""

    def __init__(self, plan: Plan, label: Label, paired: Iterable[Thing]) -> None:
        self.plan, self.label = plan, label
        self.timeline = replay(plan)
        self.world = self.timeline.world
        self.paired = frozenset(paired)
        self._grounded: dict[tuple[PointRef, bool], tuple[_Protection, ...]] = {}
        every = chain(self._clamps(), self._stays(), self._acts(), self._ends())
        self.moments = sorted(every, key=lambda moment: moment.step)
        self.kept = {one.key: one for one in (*self._logs(), *self._done())}
        self._of: dict[object, list[_Protection]] = defaultdict(list)
        everywhere = []
        for one in self.kept.values():
            if any(one.thing in m.things for m in self._where.get(one.thing, ()) if not one.when or m.sort in one.when):
                self._of[one.thing].append(one)
            else:
                everywhere.append(one)
        self.everywhere = tuple(everywhere)

    @cached_property
    def _where(self) -> Mapping[object, list[_Moment]]:
        found = defaultdict(list)
        for moment in self.moments:
            for thing in moment.things:
                found[thing].append(moment)
        return found

    # ---- what others ask ----

    def at(self, moment: _Moment) -> dict[Key, _Held]:
        """What protects at a moment: what is about its things, what is about no moment's, and what hangs together."""
        kept = chain(self.everywhere, *(self._of.get(thing, ()) for thing in moment.things)) if moment.things else ()
        found = {}
        for one in chain((one for one in kept if not one.when or moment.sort in one.when), self._hangs(moment)):
            least = one.signal.least(moment.first, moment.last)
            if least > 0:
                found[one.key] = _Held(one, least)
        return found

    def all_the_same(self, key: Key, moment: _Moment) -> float:
        """How much there is of a protection that is not about the moment's things."""
        if key[0] == "clear" and key not in self._clear:
            return 1.0
        return self.kept[key].signal.least(moment.first, moment.last) if key in self.kept else 0.0

    @cached_property
    def ever(self) -> dict[Key, _Held]:
        """The most that there ever is of each protection."""
        grounded = chain.from_iterable(self._grounds(point, True) for point in self.world.hanging.known())
        every = (_Held(one, max(one.signal.values)) for one in chain(self.kept.values(), grounded))
        return {held.of.key: held for held in every if held.least > 0}

    def shared(self, thing: object) -> bool:
        """Whether the other plan has it, or it stands in the field and so is there all the same."""
        if isinstance(thing, PointRef):
            return self.shared(thing.structure) and self.shared(thing.thing)
        return not isinstance(thing, Thing) or thing in self.paired or isinstance(thing, MARKED)

    def place(self, at: int) -> Span | None:
        """Where the step before which a position is stands: for one of a routine, the line that does the routine."""
        action = self.timeline.actions[at] if at < self.timeline.n else None
        return None if action is None else action.use or action.span

    def loss(self, held: _Held, now: float, at: int | None) -> Loss:
        """A protection lost, with the step that gave it."""
        of = held.of
        given = of.signal.given(at)
        words = of.say(held.least) + (f" (now {of.say(now)})" if now > 0 else "")
        return Loss(of.named, words, self.place(given - 1) if given > 0 else None, "", None, None)

    # ---- what protects ----

    def _logs(self) -> Iterator[_Protection]:
        """What the kinds of step declare, and the world keeps."""
        people = [one for one in self.plan.things if isinstance(one, Person)]
        for kept in {kept: None for kind in KINDS.values() for kept in kind.protects or () if kept is not GROUNDS}:
            logs: Any = getattr(self.world, kept.log)
            by_thing = {self.plan.line: logs} if isinstance(logs, Log) else logs.by_key
            for thing, log in by_thing.items():
                if thing is not None:
                    values = [float(kept.holds(value)) for value in (None, *log.values)]
                    named = " at ".join(map(str, thing)) if type(thing) is tuple else str(thing)
                    crew = tuple(one for one in people if one.crew == thing)  # by whatever name
                    key = (kept.log, value_key(crew or thing, self.label))
                    signal = _Signal([-1, *log.positions], list(accumulate(values)) if kept.again else values)
                    yield _Protection(key, thing, named, _times(kept.words), signal, kept.when)

    def _done(self) -> Iterator[_Protection]:
        """What protects by being done, as a hold does: how often, or for how long, so far."""
        done: dict[Key, list[tuple[int, Action]]] = defaultdict(list)
        for index, action in enumerate(self.timeline.actions):
            if KINDS[action.kind].protects == ():
                done[subject_key(action, self.label)].append((index + 1, action))
        for key, steps in done.items():
            amounts = [next((v for v in a.slots.values() if isinstance(v, float)), 1.0) for _, a in steps]
            signal = _Signal([position for position, _ in steps], list(accumulate(amounts)))
            yield _Protection(key, None, "the crew", _times(KINDS[steps[0][1].kind].verb), signal)

    def _grounds(self, point: PointRef, local: bool) -> tuple[_Protection, ...]:
        """The electrodes that a point hangs together with, and the leads on it."""
        if (point, local) not in self._grounded:
            self._grounded[point, local] = tuple(self._grounding(point, local))
        return self._grounded[point, local]

    def _grounding(self, point: PointRef, local: bool) -> Iterator[_Protection]:
        network, about = self.world.network, value_key(point, self.label)
        positions = sorted({0, *self.timeline.joint_changes(point, local=local)})
        found = [
            Counter((value_key(e, self.label), str(e)) if e.sort != "rod" else ("rod", "a rod") for e in there)
            for there in (network.electrodes(at, point, local, False) for at in positions)
        ]
        where = () if local else ("along the line",)
        for key, name in dict.fromkeys(chain.from_iterable(found)):
            signal = _Signal(positions, [float(counts[key, name]) for counts in found])
            say = _by_rods if name == "a rod" else _times(f"grounded by {name}")
            if key != about:
                yield _Protection((*where, "grounded", about, key), point, str(point), say, signal)
        log = self.world.hanging.by_key.get(point)
        if log is not None and point.sort not in ("bar", "rod"):
            areas = [sum((_area(what) for what in on), 0.0) for on in log.values]
            yield _Protection(("leads", about), point, str(point), _of_leads, _Signal(log.positions, areas))

    def _hangs(self, moment: _Moment) -> Iterator[_Protection]:
        """What protects at a moment by hanging together, or by being off."""
        if moment.sort == "pair":
            yield self._joined(*moment.points)
        elif moment.sort in ("on", "off"):
            for other in moment.points:
                for one in self._grounds(other, True):
                    if one.key[0] == "grounded":
                        key = ("other end", one.key[-1])
                        yield one._replace(key=key, thing=None, named=f"the lead from {other}")
        elif moment.sort in ("closes", "end"):
            yield from self._clear.values()
        else:
            yield from chain.from_iterable(self._grounds(point, False) for point in moment.points)

    def _joined(self, one: PointRef, other: PointRef) -> _Protection:
        network = self.world.network
        changes = self.timeline.joint_changes(one) | self.timeline.joint_changes(other)
        positions = sorted({0, *changes})
        signal = _Signal(positions, [float(network.joined(at, one, other, True) is TRUE) for at in positions])
        return _Protection(
            ("joined", value_key((one, other), self.label)),
            one,
            str(one),
            lambda _n: f"joined to {other} by leads",
            signal,
        )

    @cached_property
    def _clear(self) -> Mapping[Key, _Protection]:
        """That nothing hangs on a point, and nobody is up."""
        found: dict[Key, _Protection] = {}
        logs: Iterable[tuple[str, Mapping[Any, Log[Any]]]] = (
            ("without leads", self.world.hanging.by_key),
            ("away", self.world.stands.by_key),
        )
        for words, by_thing in logs:
            for thing, log in by_thing.items():
                key = ("clear", value_key(thing, self.label))
                signal = _Signal([-1, *log.positions], [1.0, *(float(not value) for value in log.values)])
                found[key] = _Protection(key, thing, str(thing), _times(words), signal)
        return found

    # ---- moments ----

    def _clamps(self) -> Iterator[_Moment]:
        """Clamps go on and come off; the points are those of the other end."""
        for point, log in self.world.hanging.by_key.items():
            for index, before, after in edges(log):
                for what in dict.fromkeys((*(before or ()), *(after or ()))):
                    goes_on = what not in (before or ())
                    if goes_on or what not in (after or ()):
                        yield self._clamp(index, what, point, goes_on)

    def _clamp(self, index: int, what: Lead | Bond, point: PointRef, goes_on: bool) -> _Moment:
        lead = what if isinstance(what, Lead) else None
        ends = (
            what.points
            if isinstance(what, Bond)
            else (*self.timeline.ends(index, what), *self.timeline.ends(index + 1, what))
        )
        others = dict.fromkeys(end for end in ends if isinstance(end, PointRef) and end != point)
        action = self.timeline.actions[index]
        named = next((plain(v) for v in action.slots.values() if isinstance(v, PointRef)), None)
        if len(ends) == 2 and (point == named) is goes_on:
            others = {}  # both ends at one step: the end that the step names first goes on first, and comes off first
        words = f"{lead or 'a bond'} {'goes on' if goes_on else 'comes off'} {point}"
        return _Moment(
            "on" if goes_on else "off",
            value_key(point, self.label),
            value_key(lead, self.label),
            _things(action, (point, *_parts(point), lead)),
            tuple(others) if isinstance(point.thing, Conductor) else (),
            index,
            index,
            index,
            words,
        )

    def _stays(self) -> Iterator[_Moment]:
        """Somebody has a point in reach, or two; or is at a structure. One who leaves and comes back at once stays."""
        for person, log in self.world.stands.by_key.items():
            runs: dict[tuple[Any, ...], list[list[int]]] = defaultdict(list)
            for (start, stop), stand in zip(pairwise([*log.positions, self.timeline.n + 1]), log.values, strict=True):
                if stand is None:
                    continue
                reach = [plain(one) for one in stand.reach or () if isinstance(one, PointRef)]
                for item in chain([(stand.structure,)], ((one,) for one in reach), combinations(reach, 2)):
                    if runs[item] and start - runs[item][-1][1] <= 2:
                        runs[item][-1][1] = stop - 1
                    else:
                        runs[item].append([start, stop - 1])
            for item, spans in runs.items():
                yield from (self._stay(person, item, first, last) for first, last in spans)

    def _stay(self, person: Person, item: tuple[Any, ...], first: int, last: int) -> _Moment:
        about, who = value_key(item, self.label), self.label(person)
        names, when = " and ".join(map(str, item)), (first, last, first - 1)
        if isinstance(item[0], PointRef):
            sort = "pair" if len(item) == 2 else "reach"
            things = frozenset((person, *item, *_parts(item[0]))) if len(item) == 1 else frozenset()
            return _Moment(sort, about, who, things, item, *when, f"{person} has {names} in reach")
        return _Moment("place", about, who, frozenset((person, *item)), (), *when, f"{person} is at {names}")

    def _acts(self) -> Iterator[_Moment]:
        for index, action in enumerate(self.timeline.actions):
            if action.kind not in ACTS:
                continue
            several = (v if type(v) is tuple else (v,) for v in action.slots.values())
            points = tuple(plain(one) for one in chain.from_iterable(several) if isinstance(one, PointRef))
            things = _things(action, (*points, *chain.from_iterable(map(_parts, points))))
            about, words = subject_key(action, self.label), step_label(action, numbered=False)
            if KINDS[action.kind].protects is None:
                yield _Moment(action.kind, about, None, things, points, index, index, index, words)
            else:  # what it is for is there when it is done, as that a test finds dead
                yield _Moment(action.kind, about, None, things, (), index + 1, index + 1, index, words)

    def _ends(self) -> Iterator[_Moment]:
        for switch, log in self.world.switch.by_key.items():
            for index, before, after in edges(log):
                if before == "open" and after != "open":
                    about = self.label(switch)
                    yield _Moment("closes", about, None, frozenset(), (), index, index, index, f"{switch} closes")
        n = self.timeline.n
        yield _Moment("end", None, None, frozenset(), (), n, n, n, "the plan ends")


def _of_leads(area: float) -> str:
    return f"{rounded(area)} mm2 of leads on it"


def _by_rods(count: float) -> str:
    return "grounded by a rod" if count == 1 else f"grounded by {count:g} rods"


def _times(words: str) -> Say:
    return lambda n: words if n == 1 else f"{words} x {n:g}"


def _area(what: Lead | Bond) -> float:
    """A lead's section in mm2; one of which none is stated still counts for one."""
    lead = what if isinstance(what, Lead) else what.lead
    return lead.area * PER_AREA if lead is not None and lead.area is not None else 1.0


def _parts(point: PointRef) -> tuple[object, ...]:
    whole = PointRef("conductor", *point[1:]) if isinstance(point.thing, Conductor) else None
    return tuple(one for one in (point.structure, point.thing, whole) if one is not None)


def _things(action: Action, more: Iterable[object]) -> frozenset[object]:
    """What a step is about, with what it is done with."""
    named = (value for value in action.slots.values() if isinstance(value, Thing))
    return frozenset((*named, *(one for one in more if one is not None)))
