"""A replayed plan as rules see it: things by kind, steps as events, and what the facts look up again and again."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from functools import cached_property
from itertools import chain
from typing import TYPE_CHECKING, Any

from groundlint import steps
from groundlint.facts.catalogue import Event, SlotValue
from groundlint.facts.kinds import KINDS, kind_of
from groundlint.facts.study import Studied
from groundlint.plan.models import (
    Action,
    Bar,
    Conductor,
    Mat,
    Neighbour,
    ParallelCircuit,
    Person,
    Plan,
    PointRef,
    Rod,
    Structure,
    SupplySource,
    Switch,
    Thing,
    Vault,
    Vehicle,
)
from groundlint.text import Span
from groundlint.timeline import happenings
from groundlint.values import Gap, Unknown
from groundlint.values.units import Quantity
from groundlint.world.logs import READING, Signal, before
from groundlint.world.network import plain

if TYPE_CHECKING:
    from groundlint.timeline import Timeline

_PARENTS = {kind.name: kind.parents for kind in KINDS}


def ancestors(kind: str) -> Iterable[str]:
    """The kind and those that it is also one of."""
    yield kind
    for parent in _PARENTS.get(kind, ()):
        yield from ancestors(parent)


class PlanTrace(Studied):
    """A `Trace` over a `Timeline`. What it keeps is worked out when first asked."""

    def __init__(self, timeline: Timeline, *, computes: bool = True) -> None:
        self.timeline = timeline
        self.computes = computes
        self.plan: Plan = timeline.plan
        self.actions: tuple[Action, ...] = tuple(_of_the_whole(timeline, *step) for step in enumerate(timeline.actions))

    # ---- the protocol ----

    @property
    def n(self) -> int:
        """Number of primitive steps."""
        return len(self.actions)

    def domain(self, kind: str) -> tuple[Any, ...]:
        """Every thing of the kind, subkinds included, in the order declared."""
        return self._domains.get(kind, ())

    def closed(self, kind: str) -> Gap | None:
        """``None`` if the plan says, or its form implies, that these are all; else what it fails to say."""
        return self._closed.get(kind)

    def event(self, at: int) -> Event:
        """The step at a position; the same object each time."""
        return self._events[at]

    def happenings(self, at: int) -> tuple[Event, ...]:
        """What happened at the step at a position, whatever the step was called."""
        return self._happenings[at]

    def label(self, thing: Any) -> str:
        """The thing as the plan names it."""
        if isinstance(thing, Event):
            return thing.label
        if isinstance(thing, Plan):
            return thing.title or "the plan"
        return str(thing)

    def place(self, thing: Any) -> Span | None:
        """Where the plan declares it, if it does."""
        if isinstance(thing, Thing):
            return thing.span
        if isinstance(thing, Plan):
            return thing.start
        if isinstance(thing, Event):
            return thing.span
        if isinstance(thing, PointRef):
            if thing.structure is not None:
                return thing.structure.span
            return thing.thing.span if thing.thing is not None else None
        return None

    def kind_of(self, thing: Any) -> str:
        """Its most particular kind."""
        return "step" if isinstance(thing, Event) else kind_of(thing)

    def start(self) -> Span:
        """The plan's first line."""
        return self.plan.start

    def quantities(self) -> tuple[Quantity, ...]:
        """Those of the plan."""
        return self.plan.quantities

    # ---- domains ----

    @cached_property
    def _domains(self) -> dict[str, tuple[Any, ...]]:
        found: dict[str, dict[Any, None]] = {}
        for thing in (*self.plan.things, *self._points):
            for kind in ancestors(kind_of(thing)):
                found.setdefault(kind, {})[thing] = None
        kept: dict[str, tuple[Any, ...]] = {kind: tuple(things) for kind, things in found.items()}
        kept["plan"] = (self.plan,)
        return kept

    @cached_property
    def line_structures(self) -> tuple[Structure, ...]:
        """Structures that carry the line: those on the route, or all declared where no route is stated."""
        return self.plan.route or self.all(Structure)

    @cached_property
    def last_going(self) -> Mapping[Person, int]:
        """The last step that takes each person to a place, by its place among the steps."""
        going = (
            (step.slots.get("person"), at) for at, step in enumerate(self.actions) if step.kind in ("enter", "move")
        )
        return {person: at for person, at in going if isinstance(person, Person)}

    @cached_property
    def _points(self) -> tuple[PointRef, ...]:
        found: dict[PointRef, None] = {}
        for structure in self.line_structures:
            for conductor in self.conductors:
                found[PointRef("conductor", structure, conductor)] = None
        for cls, sort in ((Rod, "rod"), (Bar, "bar"), (Vehicle, "vehicle"), (Mat, "mat"), (Neighbour, "neighbour")):
            for thing in self.all(cls):
                found[PointRef(sort, None, thing)] = None
        for structure in self.all(Structure):
            if isinstance(structure, Vault):
                continue
            found[PointRef("pole", structure)] = None
            if structure.material == "steel":
                found[PointRef("steel", structure)] = None
            if structure.pole_ground:
                found[PointRef("pole ground", structure)] = None
            if structure.guyed:
                found[PointRef("guy", structure)] = None
        found.update((thing, None) for thing in chain.from_iterable(self.names) if isinstance(thing, PointRef))
        return tuple(found)

    @cached_property
    def _closed(self) -> dict[str, Gap]:
        plan, line = self.plan, self.plan.line
        found: dict[str, Gap] = {}
        if not plan.sources_complete:
            found["source"] = plan.source_gap
        if not plan.no_parallel and not self.all(ParallelCircuit):
            found["parallel"] = Gap("whether a circuit runs beside the line", "no parallel line", plan.start)
        if not plan.neighbours_complete:
            gap = Gap("that there is no other live neighbour", "no other neighbour", plan.start)
            found["neighbour"] = found["neighbour-point"] = gap
        where = line.span if line is not None else plan.start
        open_wires = {
            "phase": (line is None or line.phases is None, "which phases the line has", "phases A B C"),
            "neutral": (line is None or line.neutral is None, "whether the line has a neutral", "no neutral"),
            "shield": (line is None or line.shield is None, "whether the line has a shield wire", "no shield wire"),
        }
        for kind, (is_open, fact, write) in open_wires.items():
            if is_open:
                gap = Gap(fact, write, where)
                for name in (kind, f"{kind}-point", "conductor", "conductor-point"):
                    found.setdefault(name, gap)
        unnamed = next((g for action in self.actions if isinstance(g := action.slots.get("person"), Gap)), None)
        if unnamed is not None:  # somebody whom the plan does not name is in place, or may be
            found["person"] = unnamed
        for gap in list(found.values()):
            found.setdefault("thing", gap)
        return found

    def all(self, cls: type[Any]) -> tuple[Any, ...]:
        """Every thing of a class."""
        found = self._by_class.get(cls)
        if found is None:
            found = self._by_class[cls] = self.plan.of(cls)
        return found

    @cached_property
    def _by_class(self) -> dict[type, tuple[Any, ...]]:
        return {}

    @cached_property
    def sources(self) -> tuple[SupplySource, ...]:
        """The sources stated."""
        return self.all(SupplySource)

    @cached_property
    def switches(self) -> tuple[Switch, ...]:
        """The switches stated."""
        return self.all(Switch)

    @cached_property
    def people(self) -> tuple[Person, ...]:
        """Everybody of the crew."""
        return self.all(Person)

    @cached_property
    def conductors(self) -> tuple[Conductor, ...]:
        """The line's conductors, as far as stated."""
        return self.plan.line.conductors if self.plan.line is not None else ()

    # ---- events ----

    @cached_property
    def _events(self) -> list[Event]:
        return [
            Event(
                action.kind,
                {name: _open(value) for name, value in action.slots.items()},
                action.span,
                action.number,
                steps.step_label(action),
                action.use,
                action.ends,
            )
            for action in self.actions
        ]

    @cached_property
    def _happenings(self) -> list[tuple[Event, ...]]:
        return [
            tuple(
                Event(
                    one.kind,
                    {name: _open(value) for name, value in one.slots.items()},
                    step.span,
                    step.number,
                    step.label,
                    step.use,
                    step.ends,
                )
                for one in found
            )
            for step, found in zip(self._events, happenings(self.timeline), strict=True)
        ]

    # ---- look-ups ----

    @cached_property
    def names(self) -> tuple[tuple[Any, ...], ...]:
        """What each step names: things, points, and the thing of each point."""
        return tuple(tuple(named(action)) for action in self.actions)

    @cached_property
    def texts(self) -> tuple[tuple[int, str], ...]:
        """The steps with words in quotes, by position."""
        found = ((at, action.slots.get("text")) for at, action in enumerate(self.actions))
        return tuple((at, text) for at, text in found if isinstance(text, str))

    @cached_property
    def _naming(self) -> dict[tuple[str, Any], list[int]]:
        """Positions of the steps of a kind that name a thing or point (a point names its thing too)."""
        found: dict[tuple[str, Any], list[int]] = {}
        for at, (action, things) in enumerate(zip(self.actions, self.names, strict=True)):
            for thing in dict.fromkeys(things):
                found.setdefault((action.kind, thing), []).append(at)
        return found

    @cached_property
    def _by_kind(self) -> dict[str, list[int]]:
        found: dict[str, list[int]] = {}
        for at, action in enumerate(self.actions):
            found.setdefault(action.kind, []).append(at)
        return found

    @cached_property
    def kinds_by_stage(self) -> dict[str | None, set[str]]:
        """The kinds of the steps of each stage, by its title."""
        found: dict[str | None, set[str]] = {}
        for action in self.actions:
            found.setdefault(action.stage, set()).add(action.kind)
        return found

    def positions(self, kind: str) -> list[int]:
        """Positions of the steps of a kind, in order."""
        return self._by_kind.get(kind, [])

    def done(self, kinds: Iterable[str], at: int) -> list[int]:
        """Positions of the steps of these kinds before a position, in order."""
        return sorted(step for kind in kinds for step in self.positions(kind)[: before(self.positions(kind), at)])

    def happened(self, kinds: Iterable[str], after: int, at: int) -> bool:
        """Whether a step of these kinds comes after one step and before a position."""
        return any(before(self.positions(kind), at) > bisect_right(self.positions(kind), after) for kind in kinds)

    def steps_naming(self, kinds: Iterable[str], thing: Any) -> list[int]:
        """Positions of the steps of these kinds that name a thing, in order."""
        return sorted(at for kind in kinds for at in self._naming.get((kind, thing), ()))

    def last(self, at: int, kinds: Iterable[str], thing: Any) -> int | None:
        """The last step of these kinds that names a thing, before a position."""
        best = -1
        for kind in kinds:
            positions = self._naming.get((kind, thing))
            if positions and (index := before(positions, at)):
                best = max(best, positions[index - 1])
        return best if best >= 0 else None

    def line_of(self, at: int) -> tuple[Span, str]:
        """The line of a step, and the step in a few words; below zero, of what the part of the job before has left."""
        if at < 0:
            return self.plan.step(at).span, "left by the part before"
        READING.only(at)
        return self.actions[at].span, self._events[at].label

    def begins_stage(self, at: int) -> bool:
        """Whether the step is the first of its stage."""
        READING.only(at)
        here = self.actions[at].stage if at < self.n else None
        return here is not None and (at == 0 or self.actions[at - 1].stage != here)

    # ---- where things and people are ----

    def bar_structure(self, at: int, bar: Bar) -> Structure | Unknown | None:
        """The structure that a bar is on; None while it is not mounted."""
        found = self.timeline.mounted(at, bar)
        if found is None:
            return None
        return self._stated_structure(
            found.structure, found.index, f"where bar {bar} is mounted", f"mount {bar} at 212"
        )

    def rod_structure(self, at: int, rod: Rod) -> Structure | Unknown | None:
        """The structure at which a rod is set; None while it is not."""
        found = self.timeline.rod_set(at, rod)
        if found is None:
            return None
        return self._stated_structure(found.structure, found.index, f"where rod {rod} is set", f"set {rod} at 212")

    def person_structure(self, at: int, person: Any) -> Structure | Unknown | None:
        """The structure at which a person is in place; None while not in place."""
        found = self.timeline.stand(at, person)
        if found is None:
            return None
        write = f"enter {person} at 212"
        return self._stated_structure(found.structure, found.index, f"at which structure {person} is", write)

    def _stated_structure(self, found: object, index: int, fact: str, write: str) -> Structure | Unknown:
        if isinstance(found, Structure):
            return found
        stated = self.plan.step(index).slots.get("structure")
        if isinstance(stated, Gap):
            return Unknown((stated,))
        return Unknown.of(fact, write, self.plan.step(index).span)

    def stand_point(self, at: int, person: Any) -> PointRef | Unknown | None:
        """What a person in place stands on; None while not in place."""
        found = self.timeline.stand(at, person)
        if found is None:
            return None
        if isinstance(found.point, PointRef):
            return plain(found.point)
        stated = self.plan.step(found.index).slots.get("stand")
        if isinstance(stated, Gap):
            return Unknown((stated,))
        write = f"enter {person} on the pole"
        return Unknown.of(f"what {person} stands on", write, self.plan.step(found.index).span)

    def reach(self, at: int, person: Any) -> tuple[PointRef, ...] | Unknown | None:
        """All that a person in place can reach; None while not in place."""
        found = self.timeline.stand(at, person)
        if found is None:
            return None
        gaps = tuple(member for member in found.reach or () if isinstance(member, Gap))
        if gaps:
            return Unknown(gaps)
        if found.reach is None:
            return self._unstated_reach(person, found.index)
        return tuple(plain(member) for member in found.reach if isinstance(member, PointRef))

    def _unstated_reach(self, person: Any, index: int) -> Unknown:
        stated = self.plan.step(index).slots.get("reach")
        if isinstance(stated, Gap):
            return Unknown((stated,))
        write = f"enter {person} reaching A B C"
        return Unknown.of(f"what {person} can reach", write, self.plan.step(index).span)

    def reaches(self, at: int, person: Any, point: PointRef) -> bool | Unknown:
        """Whether a person is in place and can reach a point."""
        found = self.timeline.stand(at, person)
        if found is None:
            return False
        if found.reach is None:
            return self._unstated_reach(person, found.index)
        if any(isinstance(member, PointRef) and plain(member) == point for member in found.reach):
            return True
        gaps = tuple(member for member in found.reach if isinstance(member, Gap))
        return Unknown(gaps) if gaps else False

    def point_structure(self, at: int, point: PointRef) -> Structure | Unknown | None:
        """The structure that a point is at, as far as that follows from where its bar or rod is."""
        if point.structure is not None:
            return point.structure
        if isinstance(point.thing, Bar):
            return self.bar_structure(at, point.thing)
        return self.rod_structure(at, point.thing) if isinstance(point.thing, Rod) else None

    # ---- the plan as a whole ----

    def worksite(self, structure: Structure) -> bool | Unknown:
        """Whether somebody works at a structure at some step; unknown where a step leaves open where people work.

        Somebody who stands on the ground there and reaches nothing only stands by.
        """
        sites, gap = self._worksites
        return True if structure in sites else gap if gap is not None else False

    def worked_on(self, structure: Structure) -> bool | Unknown:
        """Whether somebody works there with a phase conductor in reach, or with a reach that is not said."""
        sites, gap = self._worked_on
        return True if structure in sites else gap if gap is not None else False

    @cached_property
    def _worksites(self) -> tuple[frozenset[Structure], Unknown | None]:
        return self._sites(_stands_by)

    @cached_property
    def _worked_on(self) -> tuple[frozenset[Structure], Unknown | None]:
        return self._sites(_out_of_reach)

    def _sites(self, only_there: Callable[[Action], bool]) -> tuple[frozenset[Structure], Unknown | None]:
        """The structures at which somebody works, who is not only there as `only_there` says, and what leaves them
        open."""
        sites: set[Structure] = set()
        gap: Unknown | None = None
        for at, action in enumerate(self.actions):
            if action.kind not in steps.AT_WORK or only_there(action):
                continue
            here = action.slots.get("structure")
            if isinstance(here, Structure):
                sites.add(here)
                continue
            person = action.slots.get("person")
            if action.kind == "work":
                open_ = not self.timeline.people_in_place(at)  # those in place have their structure from their own step
            else:
                open_ = isinstance(self.person_structure(at + 1, person), Unknown)
            if open_ and gap is None:
                write = 'work "change out crossarm" at 212' if action.kind == "work" else f"enter {person} at 212"
                gap = Unknown((here if isinstance(here, Gap) else Gap("where the work is", write, action.span),))
        return frozenset(sites), gap

    def used(self, thing: Thing) -> bool | Unknown:
        """Whether a step other than an inspection names a thing; unknown where a step does not say what it uses."""
        if thing in self._used[0]:
            return True
        for kind in ancestors(kind_of(thing)):
            gap = self._used[1].get(kind)
            if gap is not None:
                return Unknown((gap,))
        return False

    @cached_property
    def named_by_steps(self) -> frozenset[Any]:
        """All that a step names, or that the plan begins with."""
        return frozenset(chain(chain.from_iterable(map(named, self.plan.begins)), chain.from_iterable(self.names)))

    @cached_property
    def _used(self) -> tuple[set[Any], dict[str, Gap]]:
        used: set[Any] = set()
        gaps: dict[str, Gap] = {}
        for action, things in zip(self.actions, self.names, strict=True):
            if action.kind == "inspect":
                continue
            used.update(things)
            for slot in steps.KINDS[action.kind].slots:
                value = action.slots.get(slot.name)
                if isinstance(value, Gap):
                    # a point that is not stated may be a rod, a bar, a vehicle
                    for kind in ("rod", "bar", "vehicle") if slot.holds == "point" else (slot.holds,):
                        gaps.setdefault(kind, value)
        return used, gaps

    def phase_points(self, structure: Structure) -> tuple[PointRef, ...]:
        """The phase conductors at a structure; empty where the phases are not stated."""
        found = self._phase_points.get(structure)
        if found is None:
            phases = (self.plan.line.phases or ()) if self.plan.line is not None else ()
            found = tuple(PointRef("conductor", structure, phase) for phase in phases)
            self._phase_points[structure] = found
        return found

    @cached_property
    def _phase_points(self) -> dict[Structure, tuple[PointRef, ...]]:
        return {}

    def once_while(self, name: str, at: int, thing: Any, compute: Callable[..., Any]) -> Any:
        """What ``compute(case, at, thing)`` gives, worked out once for as long as what it reads stays the same."""
        signal = self._signals.get((name, thing))
        if signal is None:
            signal = self._signals[name, thing] = Signal()
        return signal.read(at, compute, self, at, thing)

    @cached_property
    def _signals(self) -> dict[tuple[str, Any], Signal[Any]]:
        return {}


def _of_the_whole(timeline: Timeline, at: int, action: Action) -> Action:
    """A step that tests or cleans one side of a conductor that is whole there tests or cleans the conductor."""
    point = action.slots.get("point")
    if action.kind not in ("test", "clean") or not isinstance(point, PointRef):
        return action
    whole = timeline.whole(at, point)
    return action if whole == plain(point) else replace(action, slots={**action.slots, "point": whole})


def named(action: Action) -> Iterable[Any]:
    """The things and points that a step names, with the thing of each point."""
    for value in action.slots.values():
        for member in value if type(value) is tuple else (value,):
            if isinstance(member, PointRef):
                yield plain(member)
                if member.thing is not None:
                    yield member.thing
            elif isinstance(member, Thing):
                yield member


def _open(value: object) -> SlotValue:
    """A slot's value for rules, in which what the plan fails to say is `Unknown`."""
    if isinstance(value, Gap):
        return Unknown((value,))
    if type(value) is tuple:
        return tuple(_open(member) for member in value)
    return plain(value) if isinstance(value, PointRef) else value


def _stands_by(action: Action) -> bool:
    """Whether a step puts somebody with nothing in reach on the ground."""
    stand = action.slots.get("stand")
    return action.slots.get("reach") == () and isinstance(stand, PointRef) and stand.sort == "earth"


def _out_of_reach(action: Action) -> bool:
    """Whether a step puts somebody where no phase conductor is in reach."""
    reach = action.slots.get("reach")
    return isinstance(reach, tuple) and all(
        isinstance(one, PointRef) and not (isinstance(one.thing, Conductor) and one.thing.role == "phase")
        for one in reach
    )
