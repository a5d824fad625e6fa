"""A plan with its names resolved, its units in SI and its routines unfolded. Frozen; nothing here knows of rules.

An attribute that is ``None`` was not stated. Quantities are floats in SI. Every thing keeps the place of its
declaration and, in
``places``, of each value stated of it, so that findings and explanations can point there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from groundlint.text import Diagnostic, Source, Span
from groundlint.values import Gap
from groundlint.values.record import Record, record
from groundlint.values.units import Quantity


@record
class Thing(Record):
    """Something a plan declares; two things are the same only if they are one object."""

    name: str
    span: Span = field(repr=False)
    places: Mapping[str, Span] = field(default_factory=dict, repr=False)

    __eq__ = object.__eq__
    __hash__ = object.__hash__

    def __str__(self) -> str:
        return self.name

    def place(self, attribute: str) -> Span:
        """Where the attribute was stated, or the declaration where it was not."""
        return self.places.get(attribute, self.span)


@record
class Conductor(Thing):
    """A conductor of the line; ``role`` is phase, neutral or shield; ``size`` as written, with ``metal`` (``acsr``),
    ``stranding`` (``26/7``, ``12 strands``) and ``form``: stranded, solid or bus. Of a bundle, they and what is stated
    beside them are those of a subconductor."""

    role: str
    size: str | None = None
    metal: str | None = None
    stranding: str | None = None
    form: str | None = None
    bundle: int = 1  # subconductors
    apart: float | None = None  # m from one subconductor to the next
    diameter: float | None = None  # m
    resistance: float | None = None  # ohm/m to alternating current
    resistance_at: float | None = None  # C
    gmr: float | None = None  # m
    across: float | None = None  # m from the structure's centre
    height: float | None = None  # m above ground


@record
class Line(Thing):
    """The line worked on. ``neutral`` is False and ``shield`` empty where the plan says that there is none, None where
    it does not say."""

    voltage: float | None = None  # V between phases
    frequency: float | None = None  # Hz
    altitude: float | None = None  # m
    approach: float | None = None  # m, from live parts, as the plan gives it to its crew
    phases: tuple[Conductor, ...] | None = None
    neutral: Conductor | bool | None = None
    neutral_earthing: str | None = None  # multigrounded, unigrounded
    neutral_duty: str | None = None  # carries the fault, too small for the fault
    shield: tuple[Conductor, ...] | None = None
    shield_insulated: bool = False  # on insulators, and not clamped to steel
    spacing: str | None = None

    @property
    def conductors(self) -> tuple[Conductor, ...]:
        """Phases, then the neutral, then the shield wires, as far as stated."""
        neutral = (self.neutral,) if isinstance(self.neutral, Conductor) else ()
        return (self.phases or ()) + neutral + (self.shield or ())

    @property
    def one_phase(self) -> bool:
        """Whether the line is stated to have one phase, so that no other fault than that to ground is possible."""
        return self.phases is not None and len(self.phases) == 1


@record
class Structure(Thing):
    """A pole or tower. ``order`` is its place on the route counted from 0; ``span_after`` the length of the span that
    follows, m."""

    material: str | None = None  # wood, steel, concrete
    footing: float | None = None  # ohm
    pole_ground: bool = False
    pole_ground_resistance: float | None = None  # ohm
    guyed: bool = False
    dead_end: bool = False  # the line ends here
    order: int | None = None
    span_after: float | None = None


@record
class Vault(Structure):
    """A vault or manhole on the way of a cable, with a place on the route between the cable's terminals. Nothing that
    a pole or tower has is there: no pole to stand on, no steel, guy, footing or ground at a butt."""


@record
class SupplySource(Thing):
    """What can energize the line. ``sort``: utility, tie, customer generation, transformer backfeed, possible backfeed.

    ``at`` is the structure it feeds in at (for ``beyond``, the end of the route). ``three_phase`` and ``to_ground`` in
    A rms; ``power`` in VA; impedances in ohm as (resistance, reactance); ``clearing`` in s, ``clearing_cycles`` where
    stated in cycles; ``clears_from`` is the least current in A that clears in that time, as of a fuse.
    """

    sort: str = "utility"
    at: Structure | None = None
    beyond: bool = False
    located: bool = True
    voltage: float | None = None
    three_phase: float | None = None
    to_ground: float | None = None
    x_over_r: float | None = None
    power: float | None = None
    positive: tuple[float, float] | None = None
    zero: tuple[float, float] | None = None
    clearing: float | None = None
    clearing_cycles: float | None = None
    clears_from: float | None = None
    never_clears: bool = False
    relay: str | None = None
    pickup: float | None = None
    dial: float | None = None
    breaker: float | None = None  # s
    breaker_cycles: float | None = None
    reclosing: str | None = None  # on, off, blocked
    system: str | None = None  # solid, impedance, resonant, ungrounded

    def ground_fault_gap(self) -> Gap:
        """What is not stated where its fault current to ground is not."""
        amount = "20 A" if self.system in ("ungrounded", "resonant") else "5.2 kA"
        return Gap(f"the fault current to ground of source {self}", f"fault {amount} to ground", self.span)


@record
class ParallelCircuit(Thing):
    """A circuit beside the line, between two structures of the route, its nearest phase ``distance`` m from the line's
    outermost conductor, with ``current`` A in each phase, of which ``residual`` A returns through the earth. A fault to
    ground on it draws ``to_ground`` A rms and is cleared as one of a source is."""

    first: Structure | None = None
    last: Structure | None = None
    distance: float | None = None
    voltage: float | None = None
    current: float | None = None
    residual: float | None = None
    spacing: str | None = None
    to_ground: float | None = None
    x_over_r: float | None = None
    clearing: float | None = None
    clearing_cycles: float | None = None
    never_clears: bool = False


@record
class Neighbour(Thing):
    """A live part near the work: ``voltage`` V between phases, ``gap`` m from the point ``gap_from``."""

    at: Structure | None = None
    voltage: float | None = None
    gap: float | None = None
    gap_from: PointRef | None = None
    covered: bool = False
    bare: bool = False
    goods: tuple[Rubber, ...] = ()  # what covers it before the plan begins
    reclosing: str | None = None  # on, off, blocked


WORKED_BY_HAND = frozenset({"fuse", "cutout", "jumper", "elbow", "tap"})
"""Kinds of open point that nothing but a hand with a tool opens and closes (common practice, no source)."""


@record
class Switch(Thing):
    """An open point. ``sides`` are names of sources, structures or switches; ``sources`` those that it stands before.

    ``alone`` is true where it is the one switch between a source and the line, or is named in that source's
    ``through``.
    """

    sort: str = "switch"
    sides: tuple[Thing, ...] = ()
    sources: tuple[SupplySource, ...] = ()
    position: str | None = None  # open, closed, normally open, normally closed
    tagged: bool = False
    locked: bool = False
    visible: bool = False
    hidden: bool = False
    control: str | None = None  # remote, automatic, manual
    hangs: Structure | None = None  # the structure on which it hangs, or that its live parts are `away` m from
    away: float | None = None
    public: bool | None = None  # within reach of people outside the employer's control
    no_lock: bool = False
    control_stays: bool = False  # its remote or automatic control cannot be disabled
    trips_open: bool = False  # this and what follows: of a network protector that carries no tag
    tools_to_close: bool = False
    override_blocked: bool = False
    override_procedure: bool = False

    @property
    def worked(self) -> str | None:
        """``remote``, ``automatic`` or ``manual``; by hand where its kind is worked in no other way; None where it is
        not stated."""
        return self.control or ("manual" if self.sort.lower() in WORKED_BY_HAND else None)

    @property
    def hop(self) -> int | None:
        """Where it stands in a span of the route: the place of the span's first structure, counted from 0."""
        at = sorted(side.order for side in self.sides if isinstance(side, Structure) and side.order is not None)
        return at[0] if len(self.sides) == 2 and len(at) == 2 and at[1] == at[0] + 1 else None


@record
class Capacitor(Thing):
    """A capacitor on the line, or a bank of them."""

    at: Structure | None = None


@record
class Cable(Thing):
    """A piece of the line that is cable, between two structures, its ``terminals``, by its vaults.

    ``transfer`` is whether a fault could bring the potential of a terminal to somebody at the cable; where the plan
    says that none could, ``because`` is its reason.
    """

    terminals: tuple[Structure, ...] = ()
    vaults: tuple[Vault, ...] = ()
    transfer: bool | None = None
    because: str | None = None

    @property
    def ways(self) -> tuple[Structure, ...]:
        """Where it can be spiked: its terminals and vaults."""
        return (*self.terminals, *self.vaults)


@record
class Equipment(Thing):
    """Equipment with the dates it carries."""

    tested: date | None = None
    inspected: date | None = None
    due: date | None = None


@record
class Rod(Equipment):
    """A temporary ground rod; length and diameter in m."""

    length: float | None = None
    diameter: float | None = None


class Away(NamedTuple):
    """How far a rod is set from another, in m."""

    rod: Rod
    distance: float


@record
class Bar(Equipment):
    """A cluster bar."""


@record
class Lead(Equipment):
    """A lead; ``size`` as written, ``area`` in m2, ``length`` in m; ``grade`` of ASTM F855 of the assembly, and
    ``clamps_grade`` of its clamps by themselves. Of its clamps: type, metal of the bodies (``alloy``), ``jaws``, and
    the smallest and largest conductor that they fit, as areas in m2 or as diameters in m. ``rated``: current in A and
    time in s on its label."""

    size: str | None = None
    area: float | None = None
    metal: str | None = None
    length: float | None = None
    grade: str | None = None
    rated: tuple[float, float] | None = None
    clamps: str | None = None
    clamps_grade: str | None = None
    alloy: str | None = None  # bronze, copper, aluminum
    jaws: str | None = None  # smooth, serrated, self-cleaning
    fit_area: tuple[float, float] | None = None
    fit_across: tuple[float, float] | None = None


@record
class Detector(Equipment):
    """A voltage detector for ``lowest`` to ``highest`` V between phases."""

    lowest: float | None = None
    highest: float | None = None
    detecting: str | None = None  # contact, proximity


@record
class Tester(Equipment):
    """The instrument that proves a detector."""


@record
class Stick(Equipment):
    """A live-line tool; ``length`` in m."""

    length: float | None = None


@record
class Rubber(Equipment):
    """Insulating goods: gloves, sleeves, a blanket, line hose, a cover. ``rating`` is the class marked on them."""

    sort: str = "rubber gloves"
    rating: str | None = None


@record
class LooseWire(Thing):
    """A conductor that is handled loose and is no ground; ``length`` in m."""

    length: float | None = None


@record
class Mat(Thing):
    """A conductive mat."""


@record
class Vehicle(Equipment):
    """A vehicle or lift."""

    body: str | None = None
    insulation: str | None = None  # insulated, uninsulated


@record
class Person(Thing):
    """A person; ``qualified`` is None where not stated. ``under`` is the name of who is in charge of the clearance for
    the person's crew, where that is said."""

    role: str
    crew: str | None = None
    qualified: bool | None = None
    under: str | None = None


class PointRef(NamedTuple):
    """A place where something can be joined or touched; equal where its parts are the same objects.

    ``sort`` is one of: ``conductor`` (a conductor at a structure), ``rod``, ``bar``, ``vehicle``, ``mat``,
    ``neighbour``, ``switch``,
    ``pole`` (the surface of the structure), ``steel`` (its steel), ``pole ground``, ``guy``, ``footing``, ``handle``,
    ``earth`` (the soil
    at the structure).
    """

    sort: str
    structure: Structure | None = None
    thing: Thing | None = None  # the conductor, rod, bar, vehicle, ...

    def __str__(self) -> str:
        if self.sort == "conductor":
            return f"{self.structure} {self.thing}"
        if self.sort in ("near side", "far side"):
            return f"{self.structure} {self.thing} {self.sort}"
        if self.thing is not None:
            return self.thing.name
        return f"{self.structure} {self.sort}" if self.structure else self.sort


@dataclass(frozen=True, eq=False)
class Action:
    """A primitive step: one lead end, one point, one person at a time.

    ``slots`` holds things, points, tuples of them, words, floats; `Gap` where the plan should say and does not; None
    where it says there is none. ``use`` is the place of the ``do`` that brought a routine's step in; ``number`` the
    step's number as written; ``ends`` the places of both ends of a lead, where its line has both.
    The slots of each kind stand in its declaration, in ``steps/``.
    """

    kind: str
    slots: Mapping[str, object]
    span: Span = field(repr=False)
    number: str | None = None
    stage: str | None = None
    use: Span | None = field(default=None, repr=False)
    ends: tuple[Span, ...] = field(default=(), repr=False)


class Left(NamedTuple):
    """A lead, rod or bar that stays when a part of a job ends, and whose clearance it stands under."""

    thing: Thing
    holder: Person | str | None
    span: Span


@dataclass(frozen=True, eq=False)
class Waiver:
    """A rule set aside: for which things (all where empty), why, on whose word, until when."""

    rule: str
    subjects: tuple[Thing, ...]
    because: str | None
    approved: str | None
    until: date | None
    span: Span = field(repr=False)


@record
class Plan(Record):
    """A plan whole. Sets are complete only where the plan says so: ``sources_complete`` and its like.

    ``unread`` is true where a statement could not be taken in; then no review of it is clean. ``blanks`` names
    the values that it leaves open, with no default and none given.
    """

    source: Source = field(repr=False)
    start: Span = field(repr=False)
    title: str | None = None
    document: str | None = None
    revision: str | None = None
    dated: date | None = None
    method: str | None = None  # single-point, dual-point
    small_neutral: bool = False
    access: str | None = None  # pole, bucket, steel
    cautions: tuple[str, ...] = ()
    emergencies: tuple[str, ...] = ()
    follows: tuple[str, ...] = ()  # what it says it keeps to, as written
    no_grounds: tuple[str, ...] | None = None  # conditions stated with `no grounds`, its reason last where given
    line: Line | None = None
    soil: tuple[float, ...] = ()  # resistivity, or upper resistivity, depth, lower resistivity
    surface: tuple[float, float | None] | None = None  # resistivity, thickness
    things: tuple[Thing, ...] = ()  # all, in the order declared, conductors after their line
    sources_complete: bool = False
    blanks: tuple[str, ...] = ()
    no_parallel: bool = False
    neighbours_complete: bool = False
    part: tuple[int, int | None] | None = None  # which part of a job, from 1; of how many
    begins: tuple[Action, ...] = ()  # what the part before has left, as the actions that would bring it about
    leaves: tuple[Left, ...] = ()
    actions: tuple[Action, ...] = ()
    stages: tuple[str, ...] = ()
    numbered: bool = False  # every step outside routines carries a number, and they rise
    waivers: tuple[Waiver, ...] = ()
    measured: Mapping[str, float] = field(default_factory=dict)  # else assumed; by name, in SI, temperatures in C
    places: Mapping[str, Span] = field(default_factory=dict, repr=False)
    quantities: tuple[Quantity, ...] = field(default=(), repr=False)  # as its statements write them
    unread: bool = False

    __eq__ = object.__eq__
    __hash__ = object.__hash__

    def step(self, index: int) -> Action:
        """An action by its number; a number below zero is one that the plan before left, which this one begins with."""
        return self.actions[index] if index >= 0 else self.begins[index]

    def of(self, cls: type) -> tuple[Thing, ...]:
        """Every thing of a class, in the order declared."""
        return tuple(t for t in self.things if isinstance(t, cls))

    @property
    def source_gap(self) -> Gap:
        """What is not stated where the sources are not all: another one, or any at all."""
        if self.of(SupplySource):
            return Gap("that there is no other source", "no other source", self.start)
        return Gap("which source feeds the line", "source West beyond 211", self.start)

    def fault_gap(self, source: SupplySource) -> Gap:
        """What is not stated where a source's fault current is not."""
        write = "fault 6.8 kA three-phase, 5.2 kA to ground, x/r 9"
        if self.line is not None and self.line.one_phase:
            write = "fault 5.2 kA to ground, x/r 9"
        elif self.line is not None and len(self.line.phases or ()) == 2:  # as a railway's, which has no third
            write = "fault 5.9 kA phase-to-phase, 5.2 kA to ground, x/r 9"
        return Gap(f"the fault current of source {source}", write, source.span)

    @property
    def route(self) -> tuple[Structure, ...]:
        """Structures on the route, in order; empty where none is stated."""
        on = [t for t in self.things if isinstance(t, Structure) and t.order is not None]
        return tuple(sorted(on, key=lambda s: s.order or 0))

    @property
    def in_feet(self) -> bool:
        """Whether most of its lengths are in feet or inches."""
        texts = [one.text for one in self.quantities if one.dimension == "length"]
        feet = sum(any(word in text for word in ("ft", "foot", "feet", "in")) for text in texts)
        return 2 * feet >= len(texts)

    def place(self, attribute: str) -> Span:
        """Where the attribute was stated, or the plan's first line."""
        return self.places.get(attribute, self.start)


@dataclass(frozen=True)
class PlanResult:
    """A plan as far as it could be read, and what could not."""

    plan: Plan
    diagnostics: tuple[Diagnostic, ...]


__all__ = [name for name in dir() if name[0].isupper() and name not in ("NamedTuple", "Mapping", "Gap")] + ["Gap"]
