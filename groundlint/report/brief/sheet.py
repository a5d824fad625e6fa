"""The step sheet and the ground register: what a crew initials, in the order in which it is done."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from groundlint.plan.models import Action, Bar, Lead, Plan, PointRef, Rod, Thing
from groundlint.report.brief.words import Words
from groundlint.steps import KINDS
from groundlint.steps.saying import NOT_STATED, point_words
from groundlint.timeline import Timeline
from groundlint.values import Gap

_TOGETHER = {
    (one.name, other.name)
    for one in KINDS.values()
    for other in KINDS.values()
    if one is not other and not one.made_of.keys().isdisjoint(other.made_of)
}
"""Kinds of action that one statement may give beside each other."""

BEFORE = "before"
"""The step number of what the part of the job before has put on."""


@dataclass(frozen=True)
class Step:
    """One row of the sheet. ``first`` and ``last`` are the positions of its actions in the plan.

    ``kind`` is ``step``, ``hold``, ``note`` or ``work``. ``on`` is how many leads and bonds are on when it is done,
    those not counted of which an end is lifted.
    """

    number: str
    words: str
    kind: str
    line: int
    first: int
    last: int
    on: int
    changes: bool


@dataclass(frozen=True)
class Block:
    """Steps that belong together: a routine that is done, or steps written one by one; ``title`` is the former's."""

    title: str
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class Stage:
    """A stage of the plan; ``last`` is the position of its last action. ``name`` is empty where none is stated."""

    name: str
    blocks: tuple[Block, ...]
    last: int

    @property
    def steps(self) -> tuple[Step, ...]:
        """All rows, in order."""
        return tuple(step for block in self.blocks for step in block.steps)


@dataclass(frozen=True)
class Registered:
    """A lead or bond that goes on and comes off: one time that it is on. ``off`` is empty while it stays on."""

    name: str
    what: str
    first_end: str
    second_end: str
    on: str
    off: str
    lifted: str = ""


@dataclass(frozen=True)
class Count:
    """What a step does to the register. ``on`` names those too of which an end is lifted; ``standing`` does not count
    these."""

    step: str
    put_on: tuple[str, ...]
    taken_off: tuple[str, ...]
    on: tuple[str, ...]

    @property
    def standing(self) -> int:
        """How many are on with no end lifted."""
        return standing(self.on)


@dataclass(frozen=True)
class Register:
    """The ground register: each lead, how many are on after each step that changes it, and what is left at the end."""

    leads: tuple[Registered, ...]
    others: tuple[Registered, ...]
    counts: tuple[Count, ...]
    left: tuple[str, ...]
    most: int


def statements(actions: Sequence[Action]) -> Iterator[tuple[int, int]]:
    """Stretches of actions (first, past the last) that one written statement became."""
    start = 0
    while start < len(actions):
        first = actions[start]
        seen = {_identity(first)}
        end = start + 1
        while end < len(actions):
            now = actions[end]
            key = _identity(now)
            if (
                now.span != first.span
                or now.use != first.use
                or now.stage != first.stage
                or (now.kind != first.kind and (first.kind, now.kind) not in _TOGETHER)
                or key in seen
            ):
                break
            seen.add(key)
            end += 1
        yield start, end
        start = end


_ROUTINES = {"do": "Routine", "undo": "Undo, in reverse:", "repeat": "Again: routine"}


def _routine_words(text: str) -> str:
    """The line that does a routine, for a heading."""
    verb, _, rest = " ".join(text.split()).partition(" ")
    return f"{_ROUTINES.get(verb.lower(), verb)} {rest}".strip()


def _identity(action: Action) -> tuple[object, ...]:
    return (action.kind, *(id(v) if isinstance(v, Thing) else repr(v) for v in action.slots.values()))


class Sheets:
    """Builds the sheet and the register of one plan that was carried out."""

    def __init__(self, timeline: Timeline) -> None:
        self.timeline = timeline
        self.plan: Plan = timeline.plan
        self.words = Words(self.plan)
        self.bonds = bare_bonds(timeline)
        self.holds = _Holds(timeline, self.bonds)
        self.numbers = [""] * len(self.plan.actions)
        self.stages = tuple(self._stages())

    # ---- the sheet ----

    def _stages(self) -> Iterator[Stage]:
        actions = self.plan.actions
        stretches = list(statements(actions))
        at = 0
        counter = 0
        while at < len(stretches):
            name = actions[stretches[at][0]].stage
            end = at
            while end < len(stretches) and actions[stretches[end][0]].stage == name:
                end += 1
            blocks = list(self._blocks(stretches[at:end], counter))
            counter += len({self._top(first) for first, _ in stretches[at:end]})
            yield Stage(name or "", tuple(blocks), stretches[end - 1][1] - 1)
            at = end

    def _top(self, at: int) -> tuple[object, ...]:
        """What makes steps one step of the plan as written: a routine's `do`, or the statement itself."""
        action = self.plan.actions[at]
        return (id(action.use.source), action.use.start) if action.use is not None else ("own", at)

    def _blocks(self, stretches: Sequence[tuple[int, int]], done: int) -> Iterator[Block]:
        actions = self.plan.actions
        at = 0
        while at < len(stretches):
            first = actions[stretches[at][0]]
            end = at + 1
            if first.use is not None:
                while end < len(stretches) and actions[stretches[end][0]].use == first.use:
                    end += 1
                done += 1
                head = first.number or str(done)
                steps = [self._step(span, f"{head}.{index}") for index, span in enumerate(stretches[at:end], start=1)]
                yield Block(f"{head}. {_routine_words(first.use.text)}", tuple(steps))
            else:
                while end < len(stretches) and actions[stretches[end][0]].use is None:
                    end += 1
                steps = []
                for span in stretches[at:end]:
                    done += 1
                    steps.append(self._step(span, actions[span[0]].number or str(done)))
                yield Block("", tuple(steps))
            at = end

    def _step(self, span: tuple[int, int], number: str) -> Step:
        first, end = span
        actions = self.plan.actions[first:end]
        for at in range(first, end):
            self.numbers[at] = number
        kind = {"hold": "hold", "note": "note", "work": "work"}.get(actions[0].kind, "step")
        before, after = self.holds.at(first), self.holds.at(end)
        return Step(
            number,
            self.words.step(actions),
            kind,
            actions[0].span.line,
            first,
            end - 1,
            standing(after),
            before != after,
        )

    # ---- the register ----

    def register(self) -> Register:
        """The register of everything that was put on."""
        leads: list[Registered] = []
        others: list[Registered] = []
        for thing in self.plan.things:
            if isinstance(thing, Lead):
                leads.extend(self._times_on(thing))
            elif isinstance(thing, Rod):
                others.extend(self._rods(thing))
            elif isinstance(thing, Bar):
                others.extend(self._bars(thing))
        leads.extend(self._bare())
        counts = [
            Count(
                step.number,
                tuple(name for name in after if name not in before and not name.endswith(LIFTED)),
                tuple(name for name in before if name not in after and name.removesuffix(LIFTED) not in after),
                after,
            )
            for stage in self.stages
            for step in stage.steps
            if (before := self.holds.at(step.first)) != (after := self.holds.at(step.last + 1))
        ]
        left = self.holds.at(self.timeline.n)
        most = max((len(count.on) for count in counts), default=0)
        return Register(tuple(leads), tuple(others), tuple(counts), left, most)

    def _times_on(self, lead: Lead) -> Iterator[Registered]:
        """Each time that a lead is on, from its first end to its last."""
        timeline = self.timeline
        ends: list[str] = []
        began: int | None = None
        lifted = ""
        for at in self.holds.changes(lead):
            now = timeline.ends(at + 1, lead)
            if now and began is None:
                began, ends, lifted = at, [], ""
            for end in now:
                words = end_words(end)
                if words not in ends:
                    ends.append(words)
            if timeline.lifted(at + 1, lead) is not None:
                lifted = self.numbers[at]
            if not now and began is not None and timeline.lifted(at + 1, lead) is None:
                yield self._entry(lead, ends, began, at, lifted)
                began = None
        if began is not None:
            yield self._entry(lead, ends, began, None, lifted)

    def _entry(self, lead: Lead, ends: list[str], on: int, off: int | None, lifted: str) -> Registered:
        first, second = [*ends, "", ""][:2]
        return Registered(
            lead.name,
            lead_words(lead, self.words),
            first,
            ", ".join(ends[1:]) or second,
            self.numbers[on] if on >= 0 else BEFORE,
            self.numbers[off] if off is not None else "",
            lifted,
        )

    def _bare(self) -> Iterator[Registered]:
        for bond in self.bonds:
            yield Registered(
                bond.name,
                f"lead {NOT_STATED}",
                end_words(bond.first),
                end_words(bond.second),
                self.numbers[bond.on],
                self.numbers[bond.off] if bond.off is not None else "",
            )

    def _rods(self, rod: Rod) -> Iterator[Registered]:
        for at, action in self._all():
            if action.kind == "set" and action.slots.get("rod") is rod:
                where = self.words.length(action.slots.get("distance"), action.span)
                place = point_words_of(action.slots.get("structure"))
                on = self.numbers[at] if at >= 0 else BEFORE
                yield Registered(rod.name, "rod", f"{place}, {where} off", "", on, "")

    def _bars(self, bar: Bar) -> Iterator[Registered]:
        kinds = [(at, a) for at, a in self._all() if a.slots.get("bar") is bar]
        for index, (at, action) in enumerate(kinds):
            if action.kind == "mount":
                off = next((self.numbers[later] for later, a in kinds[index + 1 :] if a.kind == "dismount"), "")
                on = self.numbers[at] if at >= 0 else BEFORE
                yield Registered(bar.name, "bar", point_words_of(action.slots.get("structure")), "", on, off)

    def _all(self) -> Iterator[tuple[int, Action]]:
        """The actions by number; below zero those by which the part of the job before left something."""
        yield from enumerate((*self.plan.begins, *self.plan.actions), -len(self.plan.begins))


def point_words_of(value: object) -> str:
    """A place in a slot, or that it is not stated."""
    return NOT_STATED if value is None or isinstance(value, Gap) else str(value)


def end_words(end: PointRef | Gap | None) -> str:
    """Where an end is."""
    return point_words(end) if isinstance(end, PointRef) else f"place {NOT_STATED}"


def lead_words(lead: Lead, words: Words) -> str:
    """A lead's size, metal, length and grade, as far as stated."""
    size = f"{lead.size} {lead.metal or ''}".strip() if lead.size else f"size {NOT_STATED}"
    length = words.length(lead.length, lead.place("length")) if lead.length is not None else f"length {NOT_STATED}"
    grade = f"grade {lead.grade}" if lead.grade else f"grade {NOT_STATED}"
    return f"{size}, {length}, {grade}"


@dataclass(frozen=True)
class BareBond:
    """A bond of which the plan does not tell the lead; ``on`` and ``off`` are positions of actions."""

    name: str
    first: PointRef | Gap
    second: PointRef | Gap
    on: int
    off: int | None


def bare_bonds(timeline: Timeline) -> tuple[BareBond, ...]:
    """Bonds without a named lead, in order, until they are taken off."""
    bare = [(bond, off) for bond, off in timeline.every_bond().items() if bond.lead is None]
    return tuple(BareBond(f"bond {at}", *bond.points, bond.step, off) for at, (bond, off) in enumerate(bare, start=1))


LIFTED = " (lifted)"
"""What stands after the name of a lead that is on by one end, the other lifted."""


def standing(names: Sequence[str]) -> int:
    """How many of those that are on have no end lifted."""
    return sum(not name.endswith(LIFTED) for name in names)


class _Holds:
    """What is on at each position: names of leads with an end on or lifted, `LIFTED` after the latter, then bonds
    without a lead."""

    def __init__(self, timeline: Timeline, bonds: Sequence[BareBond]) -> None:
        self.bonds = bonds
        # The lists of names are kept only where they change; a plan may have thousands of steps.
        self._changes: dict[Lead, list[int]] = {}
        for log in (timeline.world.ends, timeline.world.lifted):
            for lead, kept in log.by_key.items():
                self._changes[lead] = sorted({*self._changes.get(lead, ()), *(at - 1 for at in kept.positions)})
        moments = sorted({at + 1 for positions in self._changes.values() for at in positions})
        moments = sorted({0, *moments, *(b.on + 1 for b in bonds), *(b.off + 1 for b in bonds if b.off is not None)})
        self._moments = moments
        self._names: list[tuple[str, ...]] = []
        on: dict[Lead, None] = {}
        by_moment: dict[int, list[Lead]] = {}
        for one, positions in self._changes.items():
            for at in positions:
                by_moment.setdefault(at + 1, []).append(one)
        for at in moments:
            for one in by_moment.get(at, ()):
                if timeline.ends(at, one) or timeline.lifted(at, one) is not None:
                    on[one] = None
                else:
                    on.pop(one, None)
            bare = (b.name for b in bonds if b.on < at and (b.off is None or at <= b.off))
            named = (lead.name + LIFTED * (timeline.lifted(at, lead) is not None) for lead in on)
            self._names.append((*named, *bare))

    def changes(self, lead: Lead) -> list[int]:
        """Positions of the actions that put the lead on or take it off."""
        return self._changes.get(lead, [])

    def at(self, position: int) -> tuple[str, ...]:
        """Names of what is on at a position, in the order in which it went on."""
        from bisect import bisect_right

        return self._names[bisect_right(self._moments, position) - 1]
