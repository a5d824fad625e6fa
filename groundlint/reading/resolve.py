"""From a source to a plan: statements read, files taken in, names resolved, routines unfolded.

Nothing here raises for what a plan says. What could not be taken in is a diagnostic with ``unread`` set, and the plan
is marked unread.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import PurePosixPath
from typing import Any, TypeAlias

from groundlint.language import statements as s
from groundlint.language.nodes import Amount, Name, Point, Size
from groundlint.language.reader import read_statements
from groundlint.plan.declare import Declarations
from groundlint.plan.models import (
    Conductor,
    Neighbour,
    ParallelCircuit,
    Person,
    Plan,
    PlanResult,
    SupplySource,
    Thing,
    Waiver,
)
from groundlint.plan.names import Names
from groundlint.reading.parts import begin, left, part_number
from groundlint.reading.unfold import Unfolder
from groundlint.text import Diagnostic, Severity, Source, Span
from groundlint.text.numbering import order_of
from groundlint.values.units import Quantity, UnitProblem
from groundlint.values.wire import parse_wire
from groundlint.words.rows import listed

Owner: TypeAlias = s.Line | s.SourceDecl | s.Parallel | s.Neighbour
Opener: TypeAlias = Callable[[str], "Source | str"]
"""Gives the source of a path relative to the plan's folder, or a text that says why it can't."""

MAX_FILES = 50
"""Files that one plan may use."""

ONCE = (
    "plan",
    "document",
    "method",
    "line",
    "no_grounds",
    "no_source",
    "no_parallel",
    "no_neighbour",
    "surface",
    "part",
)


def read_plan(
    source: Source,
    opener: Opener | None = None,
    given: Mapping[str, str] | None = None,
    offered: Mapping[str, str] | None = None,
) -> PlanResult:
    """Read and resolve a plan.

    ``opener`` gives the files that the plan uses; without one, a ``use`` is a message. ``given`` fills the plan's open
    values by name, as text (``6.8 kA``, ``212``); each must be one that the plan leaves open. ``offered`` does
    where the plan does.
    """
    return _Resolver(source, opener, dict(given or {}), dict(offered or {})).result()


def _words_of_points(st: s.Statement) -> Iterator[str]:
    """Every name in the points of a step."""
    for field in fields(st):
        value = getattr(st, field.name)
        if field.name in ("points", "touching", "reaching"):
            yield from value or ()
        for one in value if isinstance(value, tuple) else (value,):
            point = one.point if isinstance(one, s.End) else one
            if isinstance(point, Point):
                yield from point.words


class _Resolver:
    def __init__(self, source: Source, opener: Opener | None, given: dict[str, str], offered: dict[str, str]) -> None:
        self.source = source
        self.opener = opener
        self.given = given
        self.names = Names()
        self.declared = Declarations(self.names, {**offered, **given})
        self.diagnostics: list[Diagnostic] = []
        self.files = 0

    # ------------------------------------------------------------- text
    def statements(self, source: Source, folder: PurePosixPath, chain: tuple[str, ...]) -> Iterator[s.Statement]:
        read = read_statements(source)
        self.diagnostics.extend(read.diagnostics)
        for st in read.text.statements:
            if isinstance(st, s.Use):
                yield from self._used(st, folder, chain)
            elif chain and not isinstance(
                st, s.Thing | s.Property | s.Given | s.Routine | s.NoSource | s.NoParallel | s.NoNeighbour
            ):
                self._refuse(
                    "not-in-a-used-file",
                    st.span,
                    "a file that a plan uses holds things and routines; this statement belongs in the plan",
                    "move it into the plan",
                )
            else:
                yield st

    def _used(self, st: s.Use, folder: PurePosixPath, chain: tuple[str, ...]) -> Iterator[s.Statement]:
        place = st.place("path")
        path = PurePosixPath(str(st.path))
        parts: list[str] = []
        for part in (folder / path).parts:
            if part == "..":
                if not parts:
                    self._refuse(
                        "outside-the-folder",
                        place,
                        f"{st.path} lies outside the plan's own folder",
                        "keep the file in the plan's folder tree",
                    )
                    return
                parts.pop()
            elif part != ".":
                parts.append(part)
        if path.is_absolute() or "\\" in str(st.path) or ":" in str(st.path):
            self._refuse(
                "outside-the-folder",
                place,
                f"{st.path} is not a path inside the plan's own folder",
                "write a relative path with `/`",
            )
            return
        name = "/".join(parts)
        if name in chain:
            self._refuse("file-uses-itself", place, f"{name} uses itself", "take this line out")
            return
        self.files += 1
        if self.files > MAX_FILES:
            self._refuse("too-many-files", place, f"a plan may use {MAX_FILES} files", "put their things together")
            return
        if self.opener is None:
            self._refuse(
                "no-files-here",
                place,
                f"{st.path} can't be opened: this plan was not read from a file",
                "write the things in the plan",
            )
            return
        found = self.opener(name)
        if isinstance(found, str):
            self._refuse("file-not-read", place, f"{st.path} can't be read: {found}", "correct the path")
            return
        yield from self.statements(
            found, PurePosixPath(*parts[:-1]) if len(parts) > 1 else PurePosixPath(), (*chain, name)
        )

    def _refuse(self, code: str, span: Span, message: str, mend: str = "", *related: tuple[Span, str]) -> None:
        self.diagnostics.append(Diagnostic(code, span, message, Severity.DANGER, mend, related, True))

    # ------------------------------------------------------------- whole
    def result(self) -> PlanResult:
        every = list(self.statements(self.source, PurePosixPath(), ()))
        own: dict[str, Any] = {}
        owners: list[tuple[Owner, dict[str, Any]]] = []
        routines: dict[str, s.Routine] = {}
        for st in every:
            kind = str(st.kind)  # type: ignore[attr-defined]
            if kind in ONCE:
                if kind in own:
                    self._refuse(
                        "said-twice",
                        st.span,
                        f"`{kind.replace('_', ' ')}` stands in this plan already",
                        "keep one",
                        (own[kind].span, "stated here"),
                    )
                    continue
                own[kind] = st
            if isinstance(st, s.Line | s.SourceDecl | s.Parallel | s.Neighbour):
                owners.append((st, {}))
            elif isinstance(st, s.Property):
                self._property(st, kind, owners)
            elif isinstance(st, s.Given):
                self.declared.declare_given(st)
            elif isinstance(st, s.Routine):
                self._routine(st, routines)
        for name in self.given:
            if name not in self.declared.amounts and name not in self.names.stand_ins:
                self._refuse(
                    "undeclared-given",
                    self.source.span(0, 0),
                    f"a value is given for {name}, which the plan does not leave open",
                    f"write `given {name} as ...`, or drop the value",
                )
        self._declare(every, owners)
        unfolder = Unfolder(self.names, self.declared, routines, self._hiding_a_conductor(routines))
        part = part_number(self.names, own["part"]) if "part" in own else None
        begins = begin(unfolder, part, [st for st in every if isinstance(st, s.Begins)])
        leaves = left(unfolder, part, [st for st in every if isinstance(st, s.Leaves)])
        numbered, stages = self._steps(every, unfolder)
        plan = self._plan(every, own, unfolder, numbered, stages)
        for name, value in (("part", part), ("begins", begins), ("leaves", leaves)):
            object.__setattr__(plan, name, value)
        diagnostics = sorted(
            [*self.diagnostics, *self.names.diagnostics],
            key=lambda d: (d.span.source is not self.source, d.span.source.name, d.span.start, d.code),
        )
        if any(d.unread for d in diagnostics):
            object.__setattr__(plan, "unread", True)
        return PlanResult(plan, tuple(diagnostics))

    def _property(self, st: s.Property, kind: str, owners: list[tuple[Owner, dict[str, Any]]]) -> None:
        wanted = st.owners
        above = owners[-1][0] if owners else None
        # what a line alone has is plain below a source, which has no conductors
        if above is not None and above.kind not in wanted and (above.kind != "source" or wanted != ("line",)):
            if not self._not_read_between(above.span, st.span, wanted):
                whose = next((one for one, _ in reversed(owners) if one.kind in wanted), None)
                below = f"`{wanted[0]} NAME`" if whose is None else f"`{whose.kind} {whose.names[0]}`"
                self._refuse(
                    "property-of-another",
                    st.span,
                    f"`{kind}` is said of a {' or '.join(wanted)}, and stands below {above.kind} {above.names[0]}",
                    f"write it below {below}, or take it out"
                    + ("; how the conductors of a circuit beside hang is a `spacing`" if kind == "place" else ""),
                    (above.span, f"{above.names[0]} begins here"),
                )
            return
        for owner, props in reversed(owners):
            if owner.kind in wanted:
                if self._not_read_between(owner.span, st.span, wanted):  # of which it is said
                    return
                if kind in props:
                    self._refuse(
                        "said-twice",
                        st.span,
                        f"{kind} is said already of {owner.names[0]}",
                        "keep one",
                        (props[kind].span, "said here"),
                    )
                else:
                    props[kind] = st
                return
        if not self._not_read_between(self.source.span(0, 0), st.span, wanted):
            self._refuse(
                "property-of-nothing",
                st.span,
                f"{kind} says something of a {' or '.join(wanted)}, and none stands above",
                f"begin with `{wanted[0]} NAME`",
            )

    def _not_read_between(self, before: Span, after: Span, kinds: Collection[str]) -> bool:
        """Whether a statement that begins with one of these words stands between two places and was not read."""
        between = [
            one.span
            for one in self.diagnostics
            if one.unread and before.source is one.span.source is after.source
            if before.end <= one.span.start < after.start
        ]
        return any(span.source.line_text(span.line).lstrip().startswith(tuple(kinds)) for span in between)

    def _routine(self, st: s.Routine, routines: dict[str, s.Routine]) -> None:
        name = str(st.ident)
        if name in routines:
            self._refuse(
                "declared-twice",
                st.place("ident"),
                f"a routine {name} stands already",
                "give it another name",
                (routines[name].span, "declared here"),
            )
            return
        seen: set[str] = set()
        for param in st.params:
            for word in param.names:
                if word in seen:
                    self._refuse(
                        "declared-twice",
                        word.span,
                        f"{word} stands twice among the routine's names",
                        "give each its own name",
                    )
                seen.add(word)
        if not st.body:
            self._refuse("empty-routine", st.span, f"routine {name} has no steps", "indent its steps below it")
        routines[name] = st

    def _hiding_a_conductor(self, routines: dict[str, s.Routine]) -> set[str]:
        """The routines in which a point names a conductor of the line by what stands for a lead, a structure or the
        like there; each said once."""
        found = set()
        for name, routine in routines.items():
            points = {word for st in routine.body for word in _words_of_points(st)}
            words = [
                word
                for param in routine.params
                if param.sort not in ("conductor", "rod", "bar", "vehicle", "mat")
                for word in self.names.expand(param.names)
                if word in points
            ]
            wires = [(word, one) for word in words if isinstance(one := self.names.things.get(word), Conductor)]
            if wires:
                found.add(name)
                first, wire = wires[0]
                called = listed([str(word) for word, _ in wires])
                what = "is a conductor" if len(wires) == 1 else "are conductors"
                self._refuse(
                    "name-of-a-conductor",
                    first.span,
                    f"{called} {what} of the line, which a point of routine {name} can't name then",
                    f"call it otherwise throughout the routine, such as `{first.lower()}1` for {first}",
                    (wire.span, f"{wire} is declared here"),
                )
        return found

    def _declare(self, every: list[s.Statement], owners: list[tuple[Owner, dict[str, Any]]]) -> None:
        line = next(((st, props) for st, props in owners if isinstance(st, s.Line)), None)
        self.declared.structures(
            [st for st in every if isinstance(st, s.Structure)],
            line[1].get("route") if line else None,
            [st for st in every if isinstance(st, s.Cable)],
        )
        if line is not None:
            self.declared.build_line(line[0], line[1])
        through: dict[str, s.Through] = {}
        for owner, props in owners:
            if isinstance(owner, s.SourceDecl):
                self.declared.build_source(owner, props)
                if "through" in props:
                    through.update(dict.fromkeys(map(str, owner.names), props["through"]))
            elif isinstance(owner, s.Parallel):
                self.declared.build_parallel(owner, props)
        # before the switches, so that `disconnect CB1` gets the message and not the capacitor's own declaration
        capacitors = self.declared.build_capacitors([st for st in every if isinstance(st, s.Capacitor)])
        self.declared.build_switches([st for st in every if isinstance(st, s.Switch)], through)
        for st in every:
            if isinstance(st, s.Equipment | s.Mat | s.LooseWire | s.Crew | s.Soil | s.Surface | s.Measured):
                self.declared.build_equipment(st)
        for owner, props in owners:  # last, since the point that a distance is from may be any of the others
            if isinstance(owner, s.Neighbour):
                self.declared.build_neighbour(owner, props)
        self.declared.place_capacitors(capacitors)
        for st in every:
            if isinstance(st, s.Crew) and st.under is not None:
                self.names.find(st.under, {}, Person)

    def _steps(self, every: list[s.Statement], unfolder: Unfolder) -> tuple[bool, tuple[str, ...]]:
        last: str | None = None
        last_span: Span | None = None
        all_numbered, rising, any_step = True, True, False
        stages: list[str] = []
        for st in every:
            if isinstance(st, s.Stage):
                unfolder.stage = str(st.title)
                stages.append(str(st.title))
                continue
            if not isinstance(st, s.Step):
                continue
            any_step = True
            unfolder.number = st.number
            if st.number is None:
                all_numbered = False
            else:
                if last is not None and order_of(st.number) <= order_of(last):
                    rising = False
                    self.diagnostics.append(
                        Diagnostic(
                            "numbers-not-rising",
                            st.place("number"),
                            f"step {st.number} follows step {last}",
                            Severity.WARNING,
                            "number the steps in the order they are done",
                            ((last_span or st.span, f"step {last}"),),
                        )
                    )
                last, last_span = st.number, st.place("number")
            unfolder.step(st, {})
        return all_numbered and rising and any_step, tuple(dict.fromkeys(stages))

    def _complete(self, own: dict[str, Any], kind: str, cls: type[Thing], what: str, but: str) -> bool:
        """Whether the plan says that the declared things of a class are all; with two or more, it must name them."""
        st = own.get(kind)
        if st is None:
            return False
        things = [t for t in self.declared.order if isinstance(t, cls)]
        if st.names:
            named = [self.names.find(n, {}, cls) for n in self.names.expand(st.names)]
            for thing in things:
                if thing not in named:
                    self.names.refuse(
                        "not-named",
                        st.span,
                        f"{thing} is declared, and is not among those named here",
                        f"add {thing}, or take it out",
                        (thing.span, f"{thing} is declared here"),
                    )
                    return False
            return all(n is not None for n in named)
        limit = 1 if cls is SupplySource else 0
        if len(things) > limit:
            together = " ".join(t.name for t in things)
            self.names.refuse(
                "name-them",
                st.span,
                f"{len(things)} {what} are declared; the line that says there is no other must name them, "
                "so that none can be struck out unseen",
                f"write `{but} {together}`",
            )
            return False
        return cls is not SupplySource or bool(things)

    def _plan(
        self, every: list[s.Statement], own: dict[str, Any], unfolder: Unfolder, numbered: bool, stages: tuple[str, ...]
    ) -> Plan:
        declared = self.declared
        document, method, no_grounds = own.get("document"), own.get("method"), own.get("no_grounds")
        sources_complete = self._complete(own, "no_source", SupplySource, "sources", "no source but")
        neighbours_complete = self._complete(own, "no_neighbour", Neighbour, "live neighbours", "no neighbour but")
        parallels = [t for t in declared.order if isinstance(t, ParallelCircuit)]
        if "no_parallel" in own and parallels:
            self.names.refuse(
                "contradiction",
                own["no_parallel"].span,
                f"the plan says that there is no parallel line, and {parallels[0]} is declared",
                "take one of them out",
                (parallels[0].span, f"{parallels[0]} is declared here"),
            )
        places = {kind: st.span for kind, st in own.items()} | declared.places
        follows = [st for st in every if isinstance(st, s.Follows)]
        if follows:
            places["follows"] = follows[0].span
        if document is not None:
            places["dated"] = document.place("dated")
        conditions = None
        if no_grounds is not None:
            conditions = tuple(str(c) for c in no_grounds.conditions) + (
                (str(no_grounds.because),) if no_grounds.because else ()
            )
        start = next((st.span for st in every if st.span.source is self.source), self.source.span(0, 0))
        return Plan(
            source=self.source,
            start=own["plan"].span if "plan" in own else start,
            title=str(own["plan"].title) if "plan" in own else None,
            document=str(document.ident) if document else None,
            revision=str(document.revision) if document and document.revision else None,
            dated=declared.day(document.dated) if document else None,
            method={"worksite": "single-point"}.get(str(method.method), str(method.method)) if method else None,
            small_neutral=bool(method and method.variant),
            access=str(method.access) if method and method.access else None,
            cautions=tuple(str(st.text) for st in every if isinstance(st, s.Caution)),
            emergencies=tuple(str(st.text) for st in every if isinstance(st, s.Emergency)),
            follows=tuple(str(st.text) for st in follows),
            no_grounds=conditions,
            line=declared.line,
            soil=declared.soil,
            surface=declared.surface,
            measured=declared.measured,
            things=tuple(declared.order),
            sources_complete=sources_complete,
            blanks=self.declared.blanks(),
            no_parallel="no_parallel" in own and not parallels,
            neighbours_complete=neighbours_complete,
            actions=tuple(unfolder.actions),
            stages=stages,
            numbered=numbered,
            waivers=self._waivers(every),
            places=places,
            quantities=tuple(_quantities(every)),
        )

    def _waivers(self, every: list[s.Statement]) -> tuple[Waiver, ...]:
        found = []
        for st in every:
            if not isinstance(st, s.Waive):
                continue
            subjects: list[Thing] = []
            for name in st.subjects or ():
                subjects.extend(
                    t
                    for t in (self.names.find(n, {}) for n in self.names.expand((Name(str(name), name.span),)))
                    if t is not None
                )
            found.append(
                Waiver(
                    str(st.ident),
                    tuple(subjects),
                    str(st.because) if st.because else None,
                    str(st.approved) if st.approved else None,
                    self.declared.day(st.until),
                    st.span,
                )
            )
        return tuple(found)


def _quantities(value: Any) -> Iterator[Quantity]:
    """The quantities and wire sizes that statements write, those of a routine's steps too."""
    if isinstance(value, str):
        if isinstance(value, Amount):
            if value.quantity is not None:
                yield value.quantity
        elif isinstance(value, Size):
            size = parse_wire(str(value))
            if not isinstance(size, UnitProblem):
                yield Quantity(size.area, "area", str(value))
    elif isinstance(value, tuple | list):
        for one in value:
            yield from _quantities(one)
    elif value is not None:
        for name in _fields(value.__class__):
            yield from _quantities(getattr(value, name))


@cache
def _fields(kind: type) -> tuple[str, ...]:
    return tuple(one.name for one in fields(kind)) if is_dataclass(kind) else ()
