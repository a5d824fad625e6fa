"""The interface between a replayed plan and the rules: what a rule may ask, typed and documented. Pure types.

A rule can only ask what stands in a `Catalogue`: kinds of thing, kinds of step with their slots, and facts. Facts are
pure Python functions with a dimension, a meaning in one line, and the plan lines they came from. They are written so::

    @fact("grounded", "point", meaning="joined to earth through leads that are on at both ends")
    def grounded(case: Case, at: int, point: Point) -> bool | Unknown: ...

    @fact("length", "lead", returns="length", timed=False, meaning="length of the lead's cable")
    def length(case: Case, at: int, lead: Lead) -> float | Unknown: ...

    @fact("distance", "worker", "conductor", returns="length", meaning="shortest distance to it while in place")
    def distance(case: Case, at: int, worker: Worker, conductor: Conductor) -> float | Unknown: ...

and read by a rule as ``point is grounded``, ``length of lead``, ``distance of worker to conductor``.

Values of quantities are floats in SI units. A truth fact gives ``True``, ``False`` or `Unknown`. A fact that gives a
thing or a value may give ``None`` where the plan settles that there is none (a rod that is not set stands at no
structure): every comparison with it, except ``!=``, and every truth asked of it is then false. What the plan does not
say is `Unknown`, never ``None``.

Positions run from 0 to n for n primitive steps: position i < n is the state *before* step i, position n is the end. A
fact with ``timed=False`` does not depend on the position and is called with n. Any other is asked once for each stretch
of positions in which what it read from the logs stays the same, so one that looks at the position in another way must
say so (`groundlint.world.logs.READING`). The subject ``it`` (kind ``step``) is the `Event` at the position; at the end
there is none. A fact that raises is a defect of the program, not a user's
mistake; the evaluator lets it through. One that is worked out later (`LaterError`) puts off the rule that asks it,
where the caller allows for that.

The small records are named tuples because a run that starts must define them all: a frozen slotted dataclass takes
0.9 ms to define, a named tuple 0.1 ms.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType, ModuleType
from typing import Any, NamedTuple, Protocol, TypeAlias

from groundlint.text import Span
from groundlint.text.near import nearest
from groundlint.values import Gap
from groundlint.values.units import Quantity

Kind: TypeAlias = str
"""A kind of thing: ``lead``, ``rod``, ``point``; ``plan`` and ``step`` are kinds too."""

Thing: TypeAlias = Hashable
"""One thing of a plan. The evaluator compares things by ``==`` and never looks inside. It hashes them at every atom, so
their hash must be cheap: names, named tuples of names, or objects equal only to themselves."""

Value: TypeAlias = Any
"""What a fact gives: ``bool``, ``float`` in SI, ``str`` (a choice word), a `Thing`, ``None`` or `Unknown`."""

SlotValue: TypeAlias = Any
"""What a step says in a slot: a `Thing`, a tuple of them (``many``), `Unknown` where it should say and does not, or
``None`` where it says that there is none (``by hand`` leaves ``stick`` as ``None``). Members may be `Unknown`. Only a
plain tuple is several things: a thing may itself be a named tuple."""

Returns: TypeAlias = str | frozenset[str]
"""``truth``, a dimension by name (``length``, ``number``), a `Kind`, or the closed set of words of a choice."""

TRUTH = "truth"
PLAN, STEP = "plan", "step"


class LaterError(Exception):
    """A fact is asked of a trace that leaves it for later."""


PREPOSITIONS = (
    "to", "from", "with", "on", "at", "by", "in", "below", "above", "between", "across", "for", "under", "over", "onto",
    "through", "near", "beyond", "as", "into", "off",
)  # fmt: skip
"""Words that may lead a slot of a step, in a plan's steps as rules name them."""


class KindOfThing(NamedTuple):
    """A kind with the kinds it is also one of (a ``conductor`` is a ``point``), and its meaning in one line."""

    name: Kind
    parents: tuple[Kind, ...] = ()
    meaning: str = ""


class Slot(NamedTuple):
    """A place in a step for a thing.

    ``preposition`` is the word that leads it, ``None`` for the object of the verb (one such slot a step). ``many``:
    the step can name several. ``optional``: a step of this kind may do without (then its value is ``None``), so that
    an unstated one leaves it open whether there is any.
    """

    name: str
    kind: Kind
    preposition: str | None = None
    many: bool = False
    optional: bool = False


class StepKind(NamedTuple):
    """A kind of primitive step, such as ``attach`` with the slots lead, ``to`` point, ``by`` stick; or of happening:
    what a step did, whatever it was called, such as ``goes-on`` with the same slots.

    ``happens``: the happenings that say what steps of this kind do. A rule that can ask at one of them catches what
    another step does as well.
    """

    name: str
    slots: tuple[Slot, ...]
    meaning: str = ""
    happening: bool = False
    happens: tuple[str, ...] = ()

    def slot(self, preposition: str | None) -> Slot | None:
        """The slot that this preposition leads; ``None`` asks for the object of the verb."""
        for slot in self.slots:
            if slot.preposition == preposition:
                return slot
        return None


FactKey: TypeAlias = tuple[str, Kind, "Kind | None"]
"""Name, kind of subject, kind of the other thing: what identifies a fact."""


class Fact(NamedTuple):
    """Something a rule may ask of a thing, or of a thing and another.

    ``compute(case, at, subject)`` or, where ``other`` is a kind, ``compute(case, at, subject, other)`` gives a `Value`;
    ``case`` is the `Trace` under review. ``lines``, called with the same arguments, gives the places in the plan that
    the value came from with a few words on each. ``unit`` is the unit to print a quantity in (``ft``), empty for SI.
    """

    name: str
    subject: Kind
    other: Kind | None
    returns: Returns
    meaning: str
    timed: bool
    compute: Callable[..., Value]
    lines: Callable[..., tuple[tuple[Span, str], ...]] | None = None
    unit: str = ""

    @property
    def key(self) -> FactKey:
        """Name and kinds."""
        return (self.name, self.subject, self.other)

    def reads(self) -> str:
        """How a rule writes it, with kinds in place of things: ``distance of worker to conductor``."""
        if self.returns == TRUTH:
            return f"{self.subject} is {self.name}" + (f" {self.other}" if self.other else "")
        return f"{self.name} of {self.subject}" + (f" to {self.other}" if self.other else "")


def fact(
    name: str,
    subject: Kind,
    other: Kind | None = None,
    *,
    meaning: str,
    returns: Returns | Iterable[str] = TRUTH,
    timed: bool = True,
    lines: Callable[..., tuple[tuple[Span, str], ...]] | None = None,
    unit: str = "",
) -> Callable[[Callable[..., Value]], Fact]:
    """Make the function below into a `Fact`; a collection of words as ``returns`` is a choice among them.

    `facts_of` finds the facts of a module for `Catalogue.of`.
    """
    kept: Returns = returns if isinstance(returns, str) else frozenset(returns)

    def make(compute: Callable[..., Value]) -> Fact:
        return Fact(name, subject, other, kept, meaning, timed, compute, lines, unit)

    return make


def facts_of(*modules: ModuleType) -> tuple[Fact, ...]:
    """Every `Fact` that stands at the top level of these modules, in the order written, each once."""
    found: dict[int, Fact] = {}
    for module in modules:
        for value in vars(module).values():
            if isinstance(value, Fact):
                found[id(value)] = value
    return tuple(found.values())


@dataclass(frozen=True, slots=True)
class Catalogue:
    """All that a rule may ask. Build with `Catalogue.of`, which refuses one that contradicts itself."""

    kinds: Mapping[Kind, KindOfThing]
    steps: Mapping[str, StepKind]
    facts: Mapping[FactKey, Fact]
    dimensions: frozenset[str]
    _ancestors: Mapping[Kind, tuple[Kind, ...]] = field(repr=False)
    _by_name: Mapping[str, tuple[Fact, ...]] = field(repr=False)

    @staticmethod
    def of(
        kinds: Iterable[KindOfThing], steps: Iterable[StepKind], facts: Iterable[Fact], dimensions: Iterable[str]
    ) -> Catalogue:
        """Check and index. ``dimensions`` are the names of dimensions that facts may have (``number`` is always one).

        Raises `ValueError` for a contradiction, which is a programmer's mistake: a kind or fact declared twice, a
        parent or slot kind that is not a kind, a dimension nobody knows, two slots led by one preposition.
        """
        return _build(tuple(kinds), tuple(steps), tuple(facts), frozenset(dimensions) | {"number"})

    def ancestors(self, kind: Kind) -> tuple[Kind, ...]:
        """The kind itself, then what it is also one of, nearest first."""
        return self._ancestors.get(kind, (kind,))

    def is_a(self, kind: Kind, other: Kind) -> bool:
        """Whether everything of ``kind`` is also of kind ``other``."""
        return other in self.ancestors(kind)

    def named(self, name: str) -> tuple[Fact, ...]:
        """Every fact of that name, of whatever kinds."""
        return self._by_name.get(name, ())

    def match(self, name: str, subject: Kind, other: Kind | None) -> Fact | None:
        """The fact of that name for things of these kinds: that of the nearest kind of subject, then of the other."""
        for kind in self.ancestors(subject):
            for second in self.ancestors(other) if other is not None else (None,):
                found = self.facts.get((name, kind, second))
                if found is not None:
                    return found
        return None

    def words(self) -> tuple[str, ...]:
        """Every word that the catalogue gives a meaning: kinds, steps, facts, choices, and names of slots; sorted."""
        found: set[str] = {*self.kinds, *self.steps, *self._by_name}
        for entry in self.facts.values():
            if not isinstance(entry.returns, str):
                found |= entry.returns
        found.update(slot.name for step in self.steps.values() for slot in step.slots)
        return tuple(sorted(found))

    def nearest(self, word: str, among: Iterable[str] | None = None) -> str | None:
        """The known word most like ``word``, or ``None`` if none is much like it."""
        return nearest(word, among if among is not None else self.words()) or None

    def signature(self) -> str:
        """A hash of everything a rule's check depends on; it changes when a compiled rule could no longer hold."""
        parts = [f"{k.name}<{k.parents}" for k in self.kinds.values()]
        parts += [f"{s.name}{s.slots}{s.happening}{s.happens}" for s in self.steps.values()]
        for entry in self.facts.values():
            returns = entry.returns if isinstance(entry.returns, str) else sorted(entry.returns)
            parts.append(f"{entry.key}{returns}{entry.timed}{entry.unit}")
        return hashlib.sha256("\n".join([*parts, *sorted(self.dimensions)]).encode()).hexdigest()


def _build(
    kinds: tuple[KindOfThing, ...], steps: tuple[StepKind, ...], facts: tuple[Fact, ...], dimensions: frozenset[str]
) -> Catalogue:
    by_kind: dict[Kind, KindOfThing] = {}
    for kind in (KindOfThing(PLAN, meaning="the plan itself"), KindOfThing(STEP, meaning="the step at hand"), *kinds):
        if kind.name in by_kind and kind.name not in (PLAN, STEP):
            raise ValueError(f"kind {kind.name} stands twice")
        by_kind[kind.name] = kind
    by_step: dict[str, StepKind] = {}
    for step in steps:
        if step.name in by_step:
            raise ValueError(f"step {step.name} stands twice")
        leads = [slot.preposition for slot in step.slots]
        names = [slot.name for slot in step.slots]
        if len(set(leads)) != len(leads) or len(set(names)) != len(names):
            raise ValueError(f"step {step.name}: two slots have one name or one preposition")
        for happening in step.happens:
            if not any(other.happening and other.name == happening for other in steps):
                raise ValueError(f"step {step.name}: {happening} is no happening")
        for slot in step.slots:
            if slot.kind not in by_kind:
                raise ValueError(f"step {step.name}: slot {slot.name} has the unknown kind {slot.kind}")
            if slot.preposition is not None and slot.preposition not in PREPOSITIONS:
                raise ValueError(f"step {step.name}: {slot.preposition} is not among the prepositions")
        by_step[step.name] = step
    by_key: dict[FactKey, Fact] = {}
    by_name: dict[str, list[Fact]] = {}
    for entry in facts:
        if entry.key in by_key:
            raise ValueError(f"fact {entry.reads()} stands twice")
        for needed in (entry.subject, entry.other):
            if needed is not None and needed not in by_kind:
                raise ValueError(f"fact {entry.reads()}: unknown kind {needed}")
        known = entry.returns == TRUTH or entry.returns in dimensions or entry.returns in by_kind
        if isinstance(entry.returns, str) and not known:
            raise ValueError(f"fact {entry.reads()}: {entry.returns} is no dimension and no kind")
        by_key[entry.key] = entry
        by_name.setdefault(entry.name, []).append(entry)
    for name, group in by_name.items():
        if len({entry.returns == TRUTH for entry in group}) > 1:
            raise ValueError(f"fact {name} is a truth for one kind and a value for another")
    return Catalogue(
        MappingProxyType(by_kind),
        MappingProxyType(by_step),
        MappingProxyType(by_key),
        dimensions,
        MappingProxyType({name: _upward(name, by_kind) for name in by_kind}),
        MappingProxyType({name: tuple(group) for name, group in by_name.items()}),
    )


def _upward(kind: Kind, by_kind: Mapping[Kind, KindOfThing]) -> tuple[Kind, ...]:
    found: dict[Kind, None] = {kind: None}
    edge = [kind]
    while edge:
        above: list[Kind] = []
        for name in edge:
            for parent in by_kind[name].parents:
                if parent not in by_kind:
                    raise ValueError(f"kind {name}: unknown parent {parent}")
                if parent == kind:
                    raise ValueError(f"kind {kind} is its own ancestor")
                if parent not in found:
                    found[parent] = None
                    above.append(parent)
        edge = above
    return tuple(found)


@dataclass(frozen=True, slots=True, eq=False)
class Event:
    """A primitive step, or what happened at it, as rules see it: its kind, what its slots name, and its place.

    ``number`` is the step's number in the plan if it has one; ``label`` says it in a few words for messages
    (``step 7, attach G20 to 212 A``). ``use`` is the line that brought it in from a routine; ``ends`` are the places of
    two ends that stand in its line one after the other. Two events are the same only if they are one object.
    """

    kind: str
    slots: Mapping[str, SlotValue]
    span: Span
    number: str | None = None
    label: str = ""
    use: Span | None = None
    ends: tuple[Span, ...] = ()


class Trace(Protocol):
    """A replayed plan, as the evaluator sees it. Things are hashable; domains do not change with the position."""

    @property
    def n(self) -> int:
        """Number of primitive steps; positions run from 0 to n."""
        ...

    def domain(self, kind: Kind) -> tuple[Thing, ...]:
        """Every thing of the kind, subkinds included, in the order declared; for ``plan`` the plan alone."""
        ...

    def closed(self, kind: Kind) -> Gap | None:
        """``None`` if the plan says that these are all, else what it fails to say (``that there is no other``)."""
        ...

    def event(self, at: int) -> Event:
        """The step at a position from 0 to n - 1."""
        ...

    def happenings(self, at: int) -> tuple[Event, ...]:
        """What happened at that step."""
        ...

    def label(self, thing: Thing) -> str:
        """The thing as the plan names it: ``G20``, ``212 A``."""
        ...

    def place(self, thing: Thing) -> Span | None:
        """Where the plan declares it, if it does."""
        ...

    def kind_of(self, thing: Thing) -> Kind:
        """Its most particular kind."""
        ...

    def start(self) -> Span:
        """The first line of the plan: the place of a finding that has no better one."""
        ...

    def quantities(self) -> tuple[Quantity, ...]:
        """The quantities as the plan writes them."""
        ...
