"""A sound plan laid on the bench: its statements as rows that can be left out, changed, put in and moved.

What an operator asks before it spoils anything (which lead goes to a phase, what is grounded by then) comes from the
plan as it was resolved and replayed, so that one operator serves every plan that the language can write.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import count
from pathlib import PurePosixPath
from typing import Any, Generic, NamedTuple, TypeAlias, TypeVar

from groundlint.facts import PlanTrace
from groundlint.language import statements as s
from groundlint.language.nodes import Amount, Name
from groundlint.language.reader import read_statements
from groundlint.language.writer import write_plan
from groundlint.plan.models import Action, Conductor, Plan, PointRef, Structure, Thing
from groundlint.reading import read_plan
from groundlint.reading.resolve import Opener
from groundlint.text import Diagnostic, Source
from groundlint.timeline import replay
from groundlint.values import TRUE

T = TypeVar("T", bound=s.Statement)
S = TypeVar("S", bound=s.Statement, covariant=True)

CONDUCTORS = ("phase", "neutral", "shield")
"""What the points of a line's own conductors are."""


@dataclass(frozen=True, eq=False)
class RowOf(Generic[S]):
    """One statement; ``owner`` is the row of the routine that it is a step of."""

    statement: S
    owner: Row | None = None

    def but(self, **fields: Any) -> RowOf[S]:
        """The same statement with other fields, in the same routine."""
        return RowOf(replace(self.statement, **fields), self.owner)


Row: TypeAlias = RowOf[s.Statement]


@dataclass(frozen=True)
class Change:
    """What was done to one row: ``left out``, ``changed``, ``put in`` or ``moved``.

    ``before`` is the row of the sound plan, ``after`` that of the spoiled one; None where there is none. ``to`` is the
    row that something was put in or moved before.
    """

    sort: str
    before: Row | None
    after: Row | None
    to: Row | None = None


@dataclass(frozen=True)
class Sheet:
    """A plan's rows, and what was changed since they were sound; every method gives another sheet."""

    rows: tuple[Row, ...]
    changes: tuple[Change, ...] = ()

    def without(self, *gone: Row) -> Sheet:
        """Without these rows."""
        return self._with(Change("left out", row, None) for row in self.rows if row in gone)

    def put(self, row: Row, **fields: Any) -> Sheet:
        """With other fields in one statement."""
        return self._with([Change("changed", row, row.but(**fields))])

    def insert(self, before: Row, *statements: s.Statement) -> Sheet:
        """With statements put in before a row, in its routine where it has one."""
        new: list[Row] = [RowOf(one, before.owner) for one in statements]
        same = (row.statement for row in self.rows if row.owner is before.owner and isinstance(row.statement, s.Step))
        number = next((one.number for one in same if one.number is not None), None)
        if number is not None:  # numbered as the other steps are, when it is written
            new = [one.but(number=number) if isinstance(one.statement, s.Step) else one for one in new]
        return self._with(Change("put in", None, one, before) for one in new)

    def move(self, moved: Iterable[Row], before: Row) -> Sheet:
        """With rows moved, in their order, to stand before another."""
        return self._with(Change("moved", row, row, before) for row in moved)

    def with_all_of(self, other: Sheet) -> Sheet | None:
        """This sheet with what was done in another as well, by the same rows; None where both touch one row."""
        return None if self._touched() & other._touched() else self._with(other.changes)

    def _touched(self) -> set[Row]:
        """The rows that were changed, or that something was put before."""
        return {row for change in self.changes for row in (change.before, change.to) if row is not None}

    def _with(self, changes: Iterable[Change]) -> Sheet:
        """With more changes; of a row that is there no more nothing can be changed."""
        rows, done = list(self.rows), list(self.changes)
        for one in changes:
            if one.before is not None and one.before not in rows:
                continue
            done.append(one)
            if one.before is not None:
                at = rows.index(one.before)
                rows[at : at + 1] = [one.after] if one.after is not None and one.to is None else []
            if one.to is not None and one.after is not None:
                rows.insert(rows.index(one.to), one.after)
        return Sheet(tuple(rows), tuple(done))

    def after(self, row: Row) -> Row | None:
        """The row that follows in the same routine, or at the top."""
        at = self.rows.index(row)
        return next((one for one in self.rows[at + 1 :] if one.owner is row.owner), None)


class Hung(NamedTuple):
    """An attach row with both ends of its lead, once for each time that it is done: the first of its steps, points."""

    row: RowOf[s.Attach]
    at: int
    lead: object
    first: PointRef
    second: PointRef


class Bench:
    """A plan ready to be spoiled.

    ``tl`` is its timeline and ``case`` what rules would ask; ``sheet`` its rows as they stand. Files that the plan uses
    are written into it, so that an exercise is one file.
    """

    def __init__(self, text: s.PlanText, plan: Plan, source: Source) -> None:
        self.text = text
        self.plan = plan
        self.source = source
        self.case = PlanTrace(replay(plan))
        self.tl = self.case.timeline
        self.sheet = Sheet(rows_of(text))

    # ---- rows and what they do
    def of(self, *classes: type[T]) -> list[RowOf[T]]:
        """Rows of some kinds of statement, in the order of the text."""
        found: list[Any] = [row for row in self.sheet.rows if isinstance(row.statement, classes)]
        return found

    @cached_property
    def steps(self) -> list[RowOf[s.Step]]:
        """The steps outside routines."""
        return [row for row in self.of(s.Step) if row.owner is None]

    @cached_property
    def _by_start(self) -> dict[int, Row]:
        return {row.statement.span.start: row for row in self.sheet.rows}

    @cached_property
    def _acts(self) -> dict[int, list[int]]:
        found: dict[int, list[int]] = {}
        for at, action in enumerate(self.plan.actions):
            found.setdefault(action.span.start, []).append(at)
        return found

    def acts(self, row: Row, *kinds: str) -> list[int]:
        """Positions of the primitive steps of a row, of all uses of its routine; of some kinds alone."""
        found = self._acts.get(row.statement.span.start, [])
        return [at for at in found if not kinds or self.plan.actions[at].kind in kinds]

    def action(self, at: int) -> Action:
        """A primitive step."""
        return self.plan.actions[at]

    def slot(self, at: int, name: str) -> Any:
        """What a primitive step has in a slot; None where it has no such slot."""
        return self.plan.actions[at].slots.get(name)

    def every(self, slot: str, *kinds: str) -> set[Any]:
        """All that the primitive steps of some kinds have in a slot."""
        return {self.slot(at, slot) for at in self.positions(*kinds)} - {None}

    def named(self, row: Row, slot: str, *kinds: str) -> set[Any]:
        """All that the primitive steps of a row have in a slot; those of some kinds alone."""
        return {self.slot(at, slot) for at in self.acts(row, *kinds)} - {None}

    def only(self, slot: str, things: set[Any], *classes: type[T]) -> list[RowOf[T]]:
        """The rows of some kinds whose steps have something in a slot, and nothing but such things."""
        return [row for row in self.of(*classes) if (named := self.named(row, slot)) and named <= things]

    def declared(self, row: Row) -> list[Thing]:
        """The things that a row declares."""
        span = row.statement.span
        return [thing for thing in self.plan.things if span.start <= thing.span.start < span.end]

    def next_name(self, name: str) -> str:
        """A name that the plan does not have yet, as its writer would go on from this one: R2 after R1."""
        taken = {thing.name for thing in self.plan.things}
        stem = name.rstrip("0123456789")
        first = int(name[len(stem) :] or 1) + 1
        return next(new for number in count(first) if (new := f"{stem}{number}") not in taken)

    def row_of(self, at: int) -> Row:
        """The row that says a primitive step, in a routine where it stands in one."""
        return self._by_start[self.plan.actions[at].span.start]

    def doer(self, at: int) -> Row:
        """The row outside routines that brings a primitive step about."""
        action = self.plan.actions[at]
        return self._by_start[(action.use or action.span).start]

    def positions(self, *kinds: str) -> list[int]:
        """Positions of every primitive step of some kinds."""
        return [at for at, action in enumerate(self.plan.actions) if action.kind in kinds]

    def first(self, *kinds: str, after: int = -1) -> int | None:
        """The first primitive step of some kinds after a position."""
        return next((at for at in self.positions(*kinds) if at > after), None)

    def place(self, row: Row) -> int:
        """Where a row stands among the rows."""
        return self.sheet.rows.index(row)

    # ---- what the plan is
    @property
    def dual(self) -> bool:
        """Whether the method declared is dual-point."""
        return self.plan.method == "dual-point"

    def role(self, point: object) -> str:
        """What a point is: phase, neutral, shield, or its kind."""
        if isinstance(point, PointRef):
            return point.thing.role if isinstance(point.thing, Conductor) else point.sort
        return ""

    def reaches_phase(self, at: int) -> bool:
        """Whether who enters or moves by a step has a phase in reach afterwards."""
        reach = self.slot(at, "reach")
        return isinstance(reach, tuple) and any(self.role(point) == "phase" for point in reach)

    @cached_property
    def seats(self) -> list[int]:
        """The steps by which somebody comes to have a phase in reach."""
        return [at for at in self.positions("enter") if self.reaches_phase(at)]

    @cached_property
    def worksites(self) -> list[Structure]:
        """The structures where somebody has a phase in reach."""
        found = (self.slot(at, "structure") for at in self.seats)
        return list(dict.fromkeys(one for one in found if isinstance(one, Structure)))

    def on_conductors(self, *kinds: str) -> list[int]:
        """The primitive steps of some kinds at a point of a conductor of the line."""
        return [at for at in self.positions(*kinds) if self.role_at(at) in CONDUCTORS]

    def role_at(self, at: int, slot: str = "point") -> str:
        """What the point is that a primitive step has in a slot."""
        return self.role(self.slot(at, slot))

    def where(self, at: int) -> Structure | None:
        """The structure that the point of a primitive step is at, as far as the plan says."""
        return self.at_structure(at, self.slot(at, "point"))

    @cached_property
    def from_structures(self) -> bool:
        """Whether all who have a phase in reach stand on poles or steel."""
        return all(self.role_at(at, "stand") in ("pole", "steel") for at in self.seats)

    def grounded(self, at: int, point: object) -> bool:
        """Whether a point surely hangs together with an electrode before a step."""
        return isinstance(point, PointRef) and self.tl.grounded(at, point) is TRUE

    def at_structure(self, at: int, point: object) -> Structure | None:
        """The structure that a point is at, as far as the plan says."""
        found = self.case.point_structure(at, point) if isinstance(point, PointRef) else None
        return found if isinstance(found, Structure) else None

    # ---- leads
    @cached_property
    def hung(self) -> list[Hung]:
        """Every lead that one row puts on by both ends, in the order of the steps."""
        found = []
        for row in self.of(s.Attach):
            acts = self.acts(row, "attach")
            if len(row.statement.ends) != 2 or len(acts) % 2:
                continue
            for at, then in zip(acts[::2], acts[1::2], strict=True):
                first, second = self.slot(at, "point"), self.slot(then, "point")
                if isinstance(first, PointRef) and isinstance(second, PointRef):
                    found.append(Hung(row, at, self.slot(at, "lead"), first, second))
        return sorted(found, key=lambda one: one.at)

    def lead_rows(self, row: RowOf[s.Attach]) -> list[Row]:
        """Every row about the lead of an attach row: what attaches, detaches, lifts and restores it, in its routine,
        and where the lead is named outside."""
        name = str(row.statement.name)
        names = self.named(row, "lead", "attach")
        found: list[Row] = []
        for one in self.of(s.Attach, s.Detach, s.Lift, s.Restore):
            here = one.owner is row.owner and str(one.statement.name) == name  # type: ignore[attr-defined]
            if here or any(self.slot(at, "lead") in names for at in self.acts(one)):
                found.append(one)
        return found

    def ends_of(self, row: Row) -> list[tuple[str, ...]]:
        """For each time that an attach row is done, the roles of the points of its lead when all its rows are done."""
        found = []
        for at in self.acts(row, "attach"):
            lead = self.slot(at, "lead")
            others = [
                self.role(self.slot(other, "point"))
                for other in self.positions("attach")
                if self.slot(other, "lead") is lead
            ]
            found.append(tuple(others))
        return found

    def less(self, sheet: Sheet, row: Row, slot: str, things: set[object]) -> Sheet:
        """The sheet without some of the things that a row names; without the row where it names no other."""
        named = [one for one in dict.fromkeys(self.slot(at, slot) for at in self.acts(row)) if one is not None]
        rest = [thing for thing in named if thing not in things]
        if len(rest) == len(named):
            return sheet
        return sheet.put(row, names=tuple(Name(str(thing)) for thing in rest)) if rest else sheet.without(row)

    def written(self, sheet: Sheet) -> str:
        """A sheet as text: canonical, steps numbered anew where they were numbered, without comments."""
        numbered = any(row.statement.number for row in self.steps)
        return write_plan(_rebuilt(self.text, sheet.rows, numbered))

    def lines(self, sheet: Sheet, source: Source) -> dict[Row, int]:
        """The line that each row of a sheet has in its text as written, counted from 1."""
        read = read_statements(source).text
        flat: list[s.Statement] = []
        for one in read.statements:
            flat.append(one)
            if isinstance(one, s.Routine):
                flat.extend(one.body)
        return {row: one.span.line for row, one in zip(sheet.rows, flat, strict=True)}


def _rebuilt(text: s.PlanText, rows: tuple[Row, ...], numbered: bool) -> s.PlanText:
    statements: list[Any] = []
    count = 0
    for row in rows:
        if row.owner is not None:
            continue
        one = _bare(row.statement)
        if isinstance(one, s.Routine):
            steps = [_bare(inner.statement) for inner in rows if inner.owner is row]
            if any(step.number for step in one.body):
                steps = [replace(step, number=str(place)) for place, step in enumerate(steps, 1)]
            one = replace(one, body=tuple(steps))  # type: ignore[arg-type]
        elif isinstance(one, s.Step) and numbered and one.number is not None:
            count += 1
            one = replace(one, number=str(count))
        statements.append(one)
    return s.PlanText(tuple(statements), (), text.tradition)


def _bare(statement: s.Statement) -> s.Statement:
    """Without comments, which may tell what the line should be; blank lines above stay."""
    before = ("",) if any(not line for line in statement.before) or isinstance(statement, s.Stage | s.Routine) else ()
    return replace(statement, comment=None, before=before)


def said(kind: type[T], **fields: Any) -> T:
    """A statement of a kind, with these fields and no other."""
    make: Any = kind
    made: T = make(**fields)
    return made


def lay_out(
    source: Source, opener: Opener | None = None, given: Mapping[str, str] | None = None
) -> tuple[Bench | None, tuple[Diagnostic, ...]]:
    """A plan on the bench; None, and what is wrong, where it can't be read whole.

    ``given`` are values for what the plan leaves open; they are written into it as defaults.
    """
    read = read_statements(source)
    problems = list(read.diagnostics)
    statements = tuple(_taken_in(read.text.statements, opener, PurePosixPath(), problems, 0))
    statements = tuple(_filled(one, given or {}) for one in statements)
    text = replace(read.text, statements=statements)
    text = replace(text, statements=_rebuilt(text, rows_of(text), False).statements)
    plain = Source(str(PurePosixPath(source.name).with_suffix(".tpg")) if source.name else "", write_plan(text))
    result = read_plan(plain)
    problems += [one for one in result.diagnostics if one.unread]
    if any(one.unread for one in problems):
        return None, tuple(problems)
    return Bench(read_statements(plain).text, result.plan, plain), tuple(problems)


def _filled(one: Any, given: Mapping[str, str]) -> Any:
    if not isinstance(one, s.Given) or str(one.name) not in given:
        return one
    value = given[str(one.name)]
    try:
        return replace(one, default=Name(value) if str(one.ident) == "structure" else Amount.at(value))
    except ValueError:
        return one  # said of the plan, which then has no value here


def rows_of(text: s.PlanText) -> tuple[Row, ...]:
    """The rows of a text."""
    rows: list[Row] = []
    for statement in text.statements:
        row: Row = RowOf(statement)
        rows.append(row)
        if isinstance(statement, s.Routine):
            rows.extend(RowOf(step, row) for step in statement.body)
    return tuple(rows)


def _taken_in(
    statements: Iterable[s.Statement],
    opener: Opener | None,
    folder: PurePosixPath,
    problems: list[Diagnostic],
    depth: int,
) -> Iterator[Any]:
    """The statements with those of the files that they use in their place; what can't be opened stays as it is."""
    for one in statements:
        found = opener(str(folder / str(one.path))) if isinstance(one, s.Use) and opener and depth < 8 else None
        if isinstance(one, s.Use) and isinstance(found, Source):
            read = read_statements(found)
            problems += read.diagnostics
            inner = (folder / str(one.path)).parent
            yield from _taken_in(read.text.statements, opener, inner, problems, depth + 1)
        else:
            yield one


__all__ = ["CONDUCTORS", "Bench", "Change", "Hung", "Row", "RowOf", "Sheet", "lay_out", "said"]
