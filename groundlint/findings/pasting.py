"""Where a fact that the plan does not state is to be written, and in which words: one place and one text, which can be
pasted as they stand.

A `Gap` holds an example of a statement, a property or a clause. Here its example names become the plan's own, what
the statement lacks of it is found, and the edit is made of that. What reads as no statement is not offered.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import MISSING, fields, replace
from enum import Enum
from functools import lru_cache
from types import MappingProxyType
from typing import Any, NamedTuple

from groundlint.language.nodes import Amount, Date, Name, Node, Size, Text, Word
from groundlint.language.reader import read_statement, read_statements
from groundlint.language.statements import Property, Routine, Stage, Statement, Step, Thing, clause_fields
from groundlint.language.statements import headers as h
from groundlint.language.statements import properties as p
from groundlint.language.statements import steps as s
from groundlint.language.statements import things as t
from groundlint.language.writer import write_statement
from groundlint.plan import models as m
from groundlint.text import Span
from groundlint.text.edits import Edit, lead_between, lead_of, line_after, line_before
from groundlint.values import Gap
from groundlint.words.rows import listed


class Where(Enum):
    """Where a text goes."""

    END = "end"
    """On at the end of a line, before its comment."""
    BELOW = "below"
    """A line of its own below a line, as a property of what that declares."""
    INSTEAD = "instead"
    """In the place of a line."""
    BEFORE = "before"
    """A step of its own, before a line."""
    OWN = "own"
    """A line of its own, above the steps."""


_PLACES = {
    Where.END: "add to the end of {}: {}",
    Where.BELOW: "add a line below {}: {}",
    Where.INSTEAD: "write instead of {}: {}",
    Where.BEFORE: "add a step before {}: {}",
    Where.OWN: "add a line of its own: {}",
}
# What says that there is none of something comes after the question whether there is one.
_NONE: dict[type[Statement], str] = {
    h.NoSource: "declare each other source; only if there is none, ",
    h.NoParallel: "declare each circuit that runs beside the line; only if there is none, ",
    h.NoNeighbour: "declare each other live part near the work; only if there is none, ",
    p.Neutral: "declare the neutral with its name; only if there is none, ",
    p.Shield: "declare the shield wire with its name; only if there is none, ",
}


class Paste(NamedTuple):
    """A text and its place. ``yours`` are the values in it that only the writer of the plan can know; ``before`` is
    what is to be asked first; ``edit`` makes the change. ``says`` is a property that is said once of what ``of``
    declares. ``choices`` are the words among which a value is one."""

    place: Where
    line: int
    text: str
    yours: tuple[str, ...]
    before: str
    edit: Edit
    says: Property | None = None
    of: Statement | None = None
    choices: Mapping[str, str] = MappingProxyType({})

    def __str__(self) -> str:
        """The whole in words."""
        shown = [f"{value} ({self.choices[value]})" if value in self.choices else value for value in self.yours]
        own = "value" if len(shown) == 1 else "values"
        values = f", with your own {own} in place of {listed(shown)}" if shown else ""
        place = self.edit.pieces[0][0].source.called(self.line)
        return (
            self.before
            + _PLACES[self.place].format(*[place] * (self.place is not Where.OWN), f"`{self.text}`")
            + values
        )


# The names that examples of gaps are written with, and what each stands for.
_EXAMPLES: dict[str, type[m.Thing]] = {
    "G1": m.Lead,
    "K1": m.Bar,
    "R1": m.Rod,
    "H1": m.Stick,
    "T1": m.Tester,
    "D1": m.Detector,
    "V1": m.Vehicle,
    "SW1": m.Switch,
    "West": m.SupplySource,
    "L1": m.Person,
    "211": m.Structure,
    "212": m.Structure,
    "213": m.Structure,
    "Larkspur": m.Line,
    "RG1": m.Rubber,
    "B1": m.Rubber,
}
_PHASES = re.compile(r"(?<![\w-])A B C(?![\w-])|(?<![\w-])(?<!\d )A(?![\w-])")  # no amperes
_WORD = re.compile(r'"[^"]*"|[\w][\w.-]*')


class _Names:
    """A plan's own names, to stand for those of an example."""

    def __init__(self, plan: m.Plan, steps: tuple[Step, ...]) -> None:
        self.plan = plan
        self.steps = steps

    def said(self, gap: Gap, target: Statement | None) -> tuple[str, tuple[str, ...]]:
        """The example in the plan's own names, and those of them that were chosen among several; empty where the plan
        has no such thing."""
        by_name = {one.name: one for one in self.plan.things}
        near = set(_WORD.findall(target.span.text)) if target is not None else set()
        said = set(_WORD.findall(gap.fact))
        written = said | set(_WORD.findall(gap.write))
        source = next((one for one in self.plan.of(m.SupplySource) if one.name in written), None)
        chosen: list[str] = []
        lacking = False
        declared = read_statement(gap.write)  # what it declares need not be there
        new: set[str] = set()
        if isinstance(declared, t.Equipment | t.Crew | t.Switch):
            new = _named(declared) if isinstance(declared, t.Crew) else _expanded(getattr(declared, "names", ()))

        def own(found: re.Match[str]) -> str:
            nonlocal lacking
            word = found[0]
            kind = _EXAMPLES.get(word)
            there = by_name.get(word)
            # a lead of that name may be in use; which is free is looked for, unless the gap is about that one
            if kind is None or (
                there is not None and (word in said or (isinstance(there, kind) and kind is not m.Lead))
            ):
                return word
            among = self._those(kind, near, source, "between" in gap.write, word == "RG1")
            chosen.extend(among[:1] if len(among) > 1 else ())
            lacking |= not among and word not in new
            return among[0] if among else word

        write = gap.write
        if "no other source" in write and len(self.plan.of(m.SupplySource)) > 1:
            write = f"no source but {_listed(self.plan.of(m.SupplySource))}"
        if "no other neighbour" in write and self.plan.of(m.Neighbour):
            write = f"no live neighbour but {_listed(self.plan.of(m.Neighbour))}"
        if write.startswith("route 211"):
            structures = [one for one in self.plan.of(m.Structure) if not isinstance(one, m.Vault)]
            write = f"route {_listed(structures)}"
            chosen.append(_listed(structures))
        if write.startswith("source West") and not self.plan.of(m.SupplySource) and self.plan.route:
            write = f"source Source1 beyond {self.plan.route[0]}"
            chosen += ["Source1", self.plan.route[0].name]
        if write.startswith("document") and self.plan.document is None:
            chosen.append("LP-0417")
        phases = self.plan.line.phases if self.plan.line is not None else None
        if phases:
            write = _PHASES.sub(lambda found: _listed(phases) if " " in found[0] else phases[0].name, write)
        write = _WORD.sub(own, write)
        return "" if lacking else write, tuple(chosen)

    def _those(
        self, kind: type[m.Thing], near: set[str], source: m.Thing | None, between: bool, gloves: bool
    ) -> list[str]:
        """The names that could stand for an example's, the likeliest first."""
        things = self.plan.of(kind)
        if kind is m.Rubber:
            things = tuple(one for one in things if isinstance(one, m.Rubber) and ("gloves" in one.sort) == gloves)
        if kind is m.Lead:  # one that no step uses but to look it over
            used = set().union(
                *(
                    _expanded(tuple(_strings(tuple(getattr(one, name) for name in _names_of(one)))))
                    for one in self.steps
                    if not isinstance(one, s.Inspect)
                )
            )
            things = tuple(one for one in things if one.name not in used or one.name in near)
        if kind is m.Switch and between:
            things = tuple(one for one in things if isinstance(one, m.Switch) and not one.sides)
        named = [one.name for one in things]
        beside = [name for name in named if name in near]
        if beside:
            return beside[:1]
        if kind is m.Structure:
            first = self._where_it_feeds(source) if isinstance(source, m.SupplySource) else self._work_place()
            return list(dict.fromkeys(([first] if first else []) + named))
        return named

    def _where_it_feeds(self, source: m.SupplySource) -> str | None:
        """The structure at which a source feeds in; the end of the route on the side of its switch where it is not
        stated."""
        if source.at is not None:
            return source.at.name
        route = self.plan.route
        if not route:
            return None
        sides = [
            one
            for switch in self.plan.of(m.Switch)
            if isinstance(switch, m.Switch)
            for one in switch.sides
            if source in switch.sides
        ]
        near = next((one for one in sides if one in route), None)
        taken = {one.at for one in self.plan.of(m.SupplySource) if isinstance(one, m.SupplySource)}
        ends = [one for one in (route[0], route[-1]) if one not in taken] or [route[0]]
        if near is not None:
            ends.sort(key=lambda one: abs(route.index(one) - route.index(near)))
        return ends[0].name

    def _work_place(self) -> str | None:
        """The structure that most steps name."""
        counts: Counter[str] = Counter()
        for action in self.plan.actions:
            for value in action.slots.values():
                if isinstance(value, m.Structure):
                    counts[value.name] += 1
                elif isinstance(value, m.PointRef) and value.structure is not None:
                    counts[value.structure.name] += 1
        return counts.most_common(1)[0][0] if counts else None


@lru_cache(maxsize=2)
def paster_of(plan: m.Plan) -> Paster:
    """The `Paster` of a plan."""
    return Paster(plan)


class Paster:
    """Places for the gaps of one plan."""

    def __init__(self, plan: m.Plan) -> None:
        self.plan = plan
        read = read_statements(plan.source).text
        self.earth = read.tradition == "earth"
        self.top: tuple[Statement, ...] = read.statements
        self.every = tuple(_with_bodies(self.top))
        self.steps = tuple(one for one in self.every if isinstance(one, Step))
        self.names = _Names(plan, self.steps)
        self.kept: dict[tuple[Gap, Span | None, int | None], Paste | None] = {}

    def paste(self, gap: Gap, asked: Iterable[Span] = ()) -> Paste | None:
        """The place and text for a gap that was asked about at these spans; None where no text can be given."""
        if not gap.write or (gap.where is not None and gap.where.source is not self.plan.source):
            return None
        at = min(
            (one for one in map(self._step_at, asked) if one is not None), key=lambda one: one.span.start, default=None
        )
        key = (gap, gap.where, at.span.start if at is not None else None)
        if key not in self.kept:
            self.kept[key] = self._paste(gap, at)
        return self.kept[key]

    def together(self, one: Paste | None, other: Paste | None) -> Paste | None:
        """One for two that are alike, or that say by one property, which can stand there once, what neither says alone;
        None where they stay two."""
        if one is None or other is None:
            return None
        if one[:3] == other[:3]:
            return one
        if one.says is None or type(one.says) is not type(other.says) or one.of is not other.of:
            return None
        if bool(one.before) != bool(other.before):  # whether there is one comes before what is to be said of it
            return one if one.before else other
        whole: dict[str, Any] = {}
        for spec in _specs(one.says):
            mine, theirs = getattr(one.says, spec.name), getattr(other.says, spec.name)
            if mine in (None, False, ()) or theirs in (None, False, ()) or mine == theirs:
                whole[spec.name] = mine or theirs
            elif spec.metadata.get("many"):
                whole[spec.name] = _joined(mine, theirs)
            else:
                return None
        found = self._property(replace(one.says, **whole), one.of)
        if found is None:
            return None
        return found._replace(yours=tuple(dict.fromkeys((*one.yours, *other.yours))), before=one.before)

    def _paste(self, gap: Gap, at: Step | None) -> Paste | None:
        target = self._at(gap.where) if gap.where is not None and gap.where != self.plan.start else None
        write, chosen = self.names.said(gap, target)
        found = self._placed(write, target, gap.where, at) if write else None
        if found is None:
            return None
        rest = found.text
        for value in sorted(found.yours, key=len, reverse=True):  # in `3 ohm` is no structure of the name 3
            rest = rest.replace(value, " ")
        words = _WORD.findall(rest)
        replaced = found.edit.pieces[0][0]
        there = set(_WORD.findall(f"{gap.fact} {replaced.text} {target.span.text if target is not None else ''}"))
        guessed = _guessed(self.plan, set(words) - there)
        listed = [name for name in chosen if " " in name or name in words]
        yours = tuple(dict.fromkeys((*found.yours, *listed, *guessed)))
        step = found.place is Where.BEFORE or isinstance(self._at(replaced), Step)
        return found._replace(
            yours=yours,
            before=found.before or ("" if yours or step else "if it is so, "),
            choices=_choices(found.text, target, yours),
        )

    def _placed(self, write: str, target: Statement | None, where: Span | None, at: Step | None) -> Paste | None:
        said = read_statement(write)
        if said is None:
            return self._clause(write, target, where)
        if isinstance(said, Property):
            return self._property(said, target)
        if isinstance(said, s.Open):
            said, target = self._opening(said, target)
        if target is None or type(target) is not type(said):
            target = next((one for one in self.every if type(one) is type(said) and _same(one, said)), None)
        if target is not None and (found := self._merged(target, said)):
            return found
        if isinstance(said, Step):
            return self._step(said, at or (target if isinstance(target, Step) else None))
        return self._own(said)

    # ------------------------------------------------------------- places
    def _clause(self, write: str, target: Statement | None, inner: Span | None) -> Paste | None:
        """A clause at the end of a statement, or of the part of it that it belongs to."""
        if target is None:  # of all that is declared of the one kind that can say it, what is declared first
            takes = [one for one in self.top if isinstance(one, Thing) and _longer(one, write) is not None]
            return self._clause(write, takes[0], None) if len({type(one) for one in takes}) == 1 else None
        whole, start = target.span.text, target.span.start
        ends = dict.fromkeys([inner.end - start] if inner is not None and inner.end < target.span.end else [])
        for end in (*ends, len(whole)):
            text = f"{whole[:end]} {write}{whole[end:]}"
            with_it = read_statement(text)
            if with_it is None or type(with_it) is not type(target):
                continue
            yours = _yours_of(with_it, target) or tuple({write} & _SIDES.keys())
            if write.startswith("reaching "):
                yours = (write.removeprefix("reaching "),)
            if write.startswith("on ") and isinstance(target, s.Enter | s.Move):
                yours = (write.removeprefix("on "),)
            if end == len(whole):
                found = self._end(target, write, yours)
                if isinstance(target, h.Given):
                    found = found._replace(before=f"give it by `--given {target.name}=VALUE`, or ")
                return found
            lead = lead_of(target.span).strip()
            shown = " ".join(f"{lead} {text}".split())
            return Paste(Where.INSTEAD, target.span.line, shown, yours, "", Edit("", ((target.span, text),)))
        return None

    def _opening(self, said: s.Open, target: Statement | None) -> tuple[Statement, Statement | None]:
        """What is said of opening a switch that stands open before the steps is said where it is declared."""
        switch = next((one for one in self.plan.of(m.Switch) if one.name == said.names[0]), None)
        opened = any(isinstance(one, s.Open) and _same(one, said) for one in self.steps)
        declared = self._at(switch.span) if isinstance(switch, m.Switch) else None
        if opened or not isinstance(switch, m.Switch) or not isinstance(declared, t.Switch) or switch.position is None:
            return said, target
        if "open" not in switch.position:
            return said, target
        flags: dict[str, Any] = {"tagged": said.tag_it, "locked": said.lock_it, "visible": said.seen}
        return t.Switch(sort=declared.sort, names=(Name(switch.name),), **flags), declared

    def _property(self, said: Property, target: Statement | None) -> Paste | None:
        holder: Statement | None = target if isinstance(target, t.Line | t.SourceDecl | t.Parallel) else None
        if isinstance(target, Property):
            holder = next((one for one in reversed(self.top[: self.top.index(target)]) if isinstance(one, Thing)), None)
        if holder is None:
            kind = t.SourceDecl if isinstance(said, _OF_SOURCES) else t.Line
            holders = [one for one in self.top if isinstance(one, kind)]
            if len(holders) != 1:
                return None
            holder = holders[0]
        after = self.top[next(i for i, one in enumerate(self.top) if one is holder) + 1 :]
        beside: list[Property] = []
        for one in after:
            if not isinstance(one, Property):
                break
            beside.append(one)
        there = next((one for one in beside if type(one) is type(said)), None)
        if there is not None:
            merged = self._merged(there, said)
            return merged and merged._replace(says=said, of=there)
        text = self._text(said)
        indent = lead_of(beside[0].span) if beside else f"{lead_of(holder.span)}  "
        edit = Edit("", (line_after(holder.span, indent, text),))
        return Paste(Where.BELOW, _last_line(holder), text, _yours(said), _none(said), edit, said, holder)

    def _merged(self, target: Statement, said: Statement) -> Paste | None:
        """What ``said`` says and ``target`` does not, in the statement of ``target``."""
        lacking, other = {}, {}
        for spec in _specs(said):
            mine, value = getattr(target, spec.name), getattr(said, spec.name)
            if spec.default is MISSING and not spec.metadata.get("many"):
                continue
            if value in (None, False, ()) or value == mine:
                continue
            if spec.metadata.get("many") and mine:
                if (joined := _joined(mine, value)) != mine:
                    lacking[spec.name] = joined
            elif mine in (None, False, ()):
                lacking[spec.name] = value
            elif isinstance(value, Date):  # a date that can't be the true one
                other[spec.name] = value
        changed = lacking or other
        if not changed:
            return self._given(target, said)
        whole = replace(target, **changed)
        yours = _yours(
            replace(said, **{k: _blank(said, k) for k in _names_of(said) if k not in changed and _has_blank(said, k)})
        )
        before = tuple(getattr(target, name) for name in changed)
        more = Counter(map(str, _strings(tuple(changed.values())))) - Counter(map(str, _strings(before)))
        yours = tuple(one for one in yours if one.strip('"') in more)  # and not what is stated already
        if lacking:
            suffix = self._suffix(target, lacking)
            if suffix and read_statement(f"{target.span.text} {suffix}") == _plain(whole):
                return self._end(target, suffix, yours)
        text = self._text(whole)
        if read_statement(text) != _plain(whole):
            return None
        edit = Edit("", ((target.span, text),))
        lead = lead_of(target.span).strip()
        return Paste(Where.INSTEAD, target.span.line, f"{lead} {text}".strip(), yours, "", edit)

    def _given(self, target: Statement, said: Statement) -> Paste | None:
        """The default of a value that the plan leaves open, where that is what is not stated."""
        for spec in _specs(said):
            mine, value = getattr(target, spec.name), getattr(said, spec.name)
            name = mine.given if isinstance(mine, Amount) else None
            left = [one for one in self.top if isinstance(one, h.Given) and one.name == name and one.default is None]
            if name and left and isinstance(value, Amount):
                return self._clause(f"default {value}", left[0], None)
        return None

    def _suffix(self, target: Statement, lacking: Mapping[str, Any]) -> str:
        """The words by which a statement with these fields is longer than one without."""
        bare = replace(target, **{k: _blank(target, k) for k in _names_of(target) if _has_blank(target, k)})
        try:
            short = self._text(bare).split()
            long = self._text(replace(bare, **lacking)).split()
        except (AttributeError, TypeError, ValueError, IndexError):
            return ""
        same = [one.rstrip(",") for one in long[: len(short)]] == [one.rstrip(",") for one in short]
        return " ".join(long[len(short) :]) if same else ""

    def _end(self, target: Statement, text: str, yours: tuple[str, ...]) -> Paste:
        end = target.span.source.span(target.span.end, target.span.end)
        return Paste(Where.END, _last_line(target), text, yours, "", Edit("", ((end, f" {text}"),)))

    def _step(self, said: Step, at: Step | None) -> Paste | None:
        if at is None:
            return None
        place = next(i for i, one in enumerate(self.every) if one is at)
        above = next((one.number for one in reversed(self.every[:place]) if isinstance(one, Step)), None)
        lead = lead_between(lead_of(at.span), above)
        text = self._text(said)
        edit = Edit("", (line_before(at.span, lead, text),))
        return Paste(Where.BEFORE, at.span.line, f"{lead.strip()} {text}".strip(), _yours(said), "", edit)

    def _own(self, said: Statement) -> Paste:
        text = self._text(said)
        first = next((one for one in self.top if isinstance(one, Step | Stage | Routine)), None)
        if first is not None:
            piece = line_before(first.span, "", text)
        elif self.top:
            piece = line_after(self.top[-1].span, "", text)
        else:
            piece = (self.plan.source.span(0, 0), f"{text}\n")
        return Paste(Where.OWN, piece[0].line, text, _yours(said), _none(said), Edit("", (piece,)))

    def _text(self, said: Statement) -> str:
        return " ".join(write_statement(said, self.earth).split())

    # ------------------------------------------------------------- what stands where
    def _at(self, span: Span) -> Statement | None:
        inside = (one for one in self.every if one.span.start <= span.start <= one.span.end)
        return next(inside, None)

    def _step_at(self, span: Span) -> Step | None:
        if span.source is not self.plan.source:
            return None
        found = self._at(span)
        return found if isinstance(found, Step) else None


def _longer(one: Statement, write: str) -> Statement | None:
    """A statement with a clause more, where it reads as one and not as more names."""
    found = read_statement(f"{one.span.text} {write}")
    word = write.partition(" ")[0]
    return found if type(found) is type(one) and word not in _strings_of(found) else None


def _none(said: Statement) -> str:
    if (isinstance(said, p.Neutral) and said.name) or (isinstance(said, p.Shield) and said.names):
        return ""
    return _NONE.get(type(said), "")


def _guessed(plan: m.Plan, words: Collection[str]) -> list[str]:
    """The things that a text names where another of their kind could be meant."""
    kinds = Counter(type(one) for one in plan.things)
    return [one.name for one in plan.things if one.name in words and kinds[type(one)] > 1 and isinstance(one, _GUESSED)]


def _listed(things: Iterable[m.Thing]) -> str:
    return " ".join(one.name for one in things)


_OF_SOURCES = (p.Fault, p.Power, p.Impedance, p.Clears, p.Relay, p.Reclosing, p.Grounding, p.Through)


def _with_bodies(statements: Iterable[Statement]) -> Iterator[Statement]:
    for one in statements:
        if isinstance(one, Routine):
            yield from one.body
        yield one


def _last_line(one: Statement) -> int:
    return one.span.source.position(one.span.end)[0]


def _plain(one: Statement) -> Statement:
    """The statement without its number and comments."""
    return replace(one, number=None, comment=None, before=())


def _specs(one: Statement) -> tuple[Any, ...]:
    """The fields of a statement that its clauses fill."""
    cls: Any = type(one)
    return tuple(clause_fields(cls).values())


def _names_of(one: Statement) -> tuple[str, ...]:
    return tuple(spec.name for spec in _specs(one))


def _has_blank(one: Statement, name: str) -> bool:
    return next(f for f in fields(one) if f.name == name).default is not MISSING


def _blank(one: Statement, name: str) -> Any:
    return next(f for f in fields(one) if f.name == name).default


def _strings_of(one: Statement) -> set[str]:
    return {str(node) for spec in _specs(one) for node in _strings(getattr(one, spec.name))}


def _strings(value: object) -> Iterator[Node]:
    if isinstance(value, Node):
        yield value
    elif isinstance(value, tuple):
        for one in value:
            yield from _strings(one)
    elif hasattr(value, "__dataclass_fields__"):
        for f in fields(value):  # type: ignore[arg-type]
            yield from _strings(getattr(value, f.name))


def _named(one: Statement) -> set[str]:
    return {str(node) for name in _names_of(one) for node in _strings(getattr(one, name)) if type(node) is Name}


def _same(one: Statement, other: Statement) -> bool:
    """Whether two statements of a kind are about the same: they name the same thing first, or are one a plan."""
    if isinstance(one, h.Document | h.Method | t.Soil):
        return True
    if isinstance(one, t.Measured) and isinstance(other, t.Measured):
        return one.ident == other.ident
    if isinstance(one, h.Header):
        return False
    mine, others = getattr(one, "names", None), getattr(other, "names", None)
    if mine is None:
        first = next(iter(_names_of(other)), "")
        mine, others = getattr(one, first), getattr(other, first)
    return bool(_expanded(mine) & _expanded(others))


_ROW = re.compile(r"(.*?)([0-9]+)\.\.\1([0-9]+)")


def _expanded(value: object) -> set[str]:
    found = set()
    for node in _strings(value):
        row = _ROW.fullmatch(node)
        if row:
            found |= {f"{row[1]}{number}" for number in range(int(row[2]), min(int(row[3]), int(row[2]) + 999) + 1)}
        else:
            found.add(str(node))
    return found


def _joined(mine: tuple[Any, ...], others: tuple[Any, ...]) -> tuple[Any, ...]:
    """Parts of a statement with what others of the same names say more, and then the others."""
    found = list(mine)
    for other in others:
        names = _expanded(getattr(other, "names", getattr(other, "structure", None)))
        at = next(
            (
                i
                for i, one in enumerate(found)
                if type(one) is type(other)
                and names & _expanded(getattr(one, "names", getattr(one, "structure", None)))
            ),
            None,
        )
        if at is None:
            found.append(other)
            continue
        more = {
            f.name: v
            for f in fields(other)
            if getattr(found[at], f.name) is None and (v := getattr(other, f.name)) is not None
        }
        found[at] = replace(found[at], **more)
    return tuple(found)


_GUESSED = (m.Rubber, m.Person, m.Lead, m.Stick, m.Rod, m.Bar, m.Detector, m.Tester, m.Structure, m.SupplySource)
_VALUES = (Amount, Date, Size, Text)
_NAMED_VALUES = (p.Spacing, p.Relay, p.Fault, p.Power, p.Phases, p.Neutral)  # whose values are no names of things


def _yours(said: Statement) -> tuple[str, ...]:
    """The values of a statement that only the writer can know; of a thing, and not of a step, words too."""
    found: dict[str, None] = {}
    values: tuple[type[Node], ...] = _VALUES if isinstance(said, Step) else (*_VALUES, Word)
    if isinstance(said, _NAMED_VALUES):
        values = (*values, Name)
    for spec in _specs(said):
        if spec.name == "sort" and spec.default is MISSING:  # what kind of open point it is, as it is declared
            continue
        for node in _strings(getattr(said, spec.name)):
            if isinstance(node, values):
                found[f'"{node}"' if isinstance(node, Text) else str(node)] = None
    return tuple(found)


_SIDES = {"near side": "near side or far side"}


def _choices(text: str, target: Statement | None, yours: tuple[str, ...]) -> dict[str, str]:
    """The words among which those of ``yours`` are, as the reference has them."""
    words = [text] if target is None else [text, f"{target.span.text} {text}"]
    said = next((one for one in map(read_statement, words) if one is not None), None)
    return {one: _SIDES[one] for one in yours if one in _SIDES} | {
        str(value): re.sub(r" \([^)]*\)|`", "", spec.metadata["doc"])
        for spec in (_specs(said) if said is not None else ())
        if isinstance(value := getattr(said, spec.name), Word) and value in yours and not value[0].isdigit()
    }


def _yours_of(whole: Statement | None, before: Statement) -> tuple[str, ...]:
    return tuple(one for one in (_yours(whole) if whole is not None else ()) if one not in _yours(before))
