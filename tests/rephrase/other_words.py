"""The same statements in other words: spellings, order of clauses, marks, layout, units, names."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from functools import cache
from random import Random
from typing import Any, NamedTuple

from sheets import Sheet, changed, expanded, fresh, kinds, mapped, read, renamed, rewriting

from groundlint.language import phrases
from groundlint.language import statements as s
from groundlint.language.lower import main_spelling
from groundlint.language.nodes import Amount, Name, Node, Text, Word
from groundlint.language.reader import _parser
from groundlint.language.spellings import spellings
from groundlint.language.wording import Words
from groundlint.language.writer import write_statement
from groundlint.values.units import UNITS


class Token(NamedTuple):
    """A word of a statement, its terminal in the grammar, and where it stands."""

    terminal: str
    text: str
    start: int
    end: int


@cache
def tokens(text: str) -> tuple[Token, ...]:
    """A statement's words as the grammar has them."""
    found = _parser().lark.parse_interactive(text).iter_parse()
    return tuple(Token(one.type, str(one), one.start_pos or 0, one.end_pos or 0) for one in found)


@cache
def synonyms(terminal: str, text: str) -> tuple[str, ...]:
    """The words that say what a keyword says; none where it is no keyword."""
    pattern = next(one.pattern.value for one in _parser().lark.terminals if one.name == terminal)
    if r"(?![\w-])" not in pattern or terminal in ("NAME", "RANGE", "DATE", "NUMBER", "QUANTITY", "WIRESIZE", "GRADE"):
        return ()
    every = spellings(pattern)
    if terminal.startswith("_"):
        return every
    return tuple(one for one in every if main_spelling(terminal, one) == main_spelling(terminal, text))


def put_together(text: str, say: Callable[[Token], str]) -> str:
    """A statement with its words said anew, what stands between them kept."""
    out, at = [], 0
    for token in tokens(text):
        out += [text[at : token.start], say(token)]
        at = token.end
    return "".join([*out, text[at:]])


def line_by_line(sheet: Sheet, say: Callable[[Any, str], str]) -> Sheet | None:
    """A plan's text with each statement said anew, where it is read as the same statement."""
    earth = sheet.plan.tradition == "earth"
    lines: list[str] = []

    def put(one: Any, margin: str) -> None:
        old = write_statement(one, earth)
        new = say(one, old)
        if new != old and not the_same(new, one):
            new = old
        lines.append(f"{margin}{f'{one.number}. ' if one.number else ''}{new}")

    for one in sheet.plan.statements:
        put(one, "")
        if isinstance(one, s.Routine):
            for inner in one.body:
                put(inner, "  ")
    return replace(sheet, words="\n".join(lines) + "\n")


def the_same(text: str, one: Any) -> bool:
    """Whether a text is read as the statement, but for what stands beside it."""
    bare = replace(one, number=None, comment=None, before=())
    if isinstance(one, s.Routine):
        bare = replace(bare, body=())
    try:
        found: Any = _parser().driver.parse(text)
    except Exception:
        return False
    return bool(found == bare)


@rewriting("the words of the other tradition: earth for ground, permit for clearance", words=True)
def other_tradition(sheet: Sheet, rng: Random) -> Sheet | None:
    other: Any = "ground" if sheet.plan.tradition == "earth" else "earth"
    return replace(sheet, plan=replace(sheet.plan, tradition=other))


@rewriting("another spelling of each keyword: apply for attach, using for by, stop until for hold", words=True)
def other_spellings(sheet: Sheet, rng: Random) -> Sheet | None:
    def say(one: Any, old: str) -> str:
        for _ in range(4):  # where one word can't stand before another, another draw
            new = put_together(old, lambda t: rng.choice(synonyms(t.terminal, t.text) or (t.text,)))
            if the_same(new, one):
                return new
        return old

    return line_by_line(sheet, say)


@rewriting("keywords in capitals or with a capital; the case of names stays", words=True)
def other_case(sheet: Sheet, rng: Random) -> Sheet | None:
    how = rng.choice((str.upper, str.capitalize, str.title))
    return line_by_line(
        sheet, lambda _, old: put_together(old, lambda t: how(t.text) if synonyms(t.terminal, t.text) else t.text)
    )


@rewriting("a statement's clauses in another order", words=True)
def clauses_in_another_order(sheet: Sheet, rng: Random) -> Sheet | None:
    words = Words(sheet.plan.tradition == "earth")

    def say(one: Any, old: str) -> str:
        _keyword, first, *rest = [*phrases._PHRASES[type(one)](one, words), ""]
        clauses = [part.removeprefix("and ").removeprefix(",") for part in rest if part]
        if len(clauses) < 2 or isinstance(one, s.Stage):
            return old
        for _ in range(6):
            rng.shuffle(clauses)
            new = " ".join([old[: len(old) - len(old.split(" ", 1)[1])].strip(), first, *clauses])
            if new.split() != old.split() and the_same(new, one):
                return new
        return old

    return line_by_line(sheet, say)


@rewriting("commas, `and` and `the`, which mean nothing, put in or left out", words=True)
def other_commas(sheet: Sheet, rng: Random) -> Sheet | None:
    def say(one: Any, old: str) -> str:
        if isinstance(one, s.Stage):
            return old
        new = ""
        for token in tokens(old):
            new += (rng.choice((" ", " ", ", ", " and ", " the ", ", and ")) if new else "") + token.text
        return new

    return line_by_line(sheet, say)


@rewriting("comments, blank lines, other indentation, lines that go on after a comma, other line ends", words=True)
def other_layout(sheet: Sheet, rng: Random) -> Sheet | None:
    indent, end = rng.choice((" ", "   ", "\t")), rng.choice(("\n", "\r\n", "  \n"))
    out: list[str] = []
    for line in sheet.text().split("\n"):
        text = line.lstrip()
        margin = indent if len(text) < len(line) else ""
        if rng.random() < 0.2:
            out.append(rng.choice(("", "# checked with the foreman", "    # 2 of 3", "#")))
        if "#" not in text and '"' not in text and ", " in text and rng.random() < 0.5:
            head, _, tail = text.partition(", ")
            out += [f"{margin}{head},", f"{margin}      {tail}"]
        elif text and "#" not in text and rng.random() < 0.2:
            out.append(f"{margin}{text}  # as walked down")
        else:
            out.append(margin + text)
    return replace(sheet, words=end.join(out))


@rewriting("in a Markdown page, a fence for each stage, with prose between", words=True)
def in_markdown(sheet: Sheet, rng: Random) -> Sheet | None:
    out = ["# A procedure", "", "What is to be done, and with what.", "", "```tpg"]
    for line in sheet.text().rstrip("\n").split("\n"):
        if line.lower().startswith("stage"):
            out += ["```", "", "open SW99 by nobody, which is prose", "", "```tpg"]
        out.append(line)
    return replace(sheet, words="\n".join([*out, "```", ""]), name="plan.md")


# ---------------------------------------------------------------- names and quantities
@rewriting("other names for all that is declared, for routines and for their parameters")
def other_names(sheet: Sheet, rng: Random) -> Sheet | None:
    plan = expanded(sheet.plan)
    new: dict[str, str] = {}

    def rename(*names: str) -> None:
        for name in names:
            if name not in new:
                letters = rng.choice("QWXZJY") + rng.choice(("", rng.choice("aeou"), "-"))
                new[name] = f"{letters}{100 + len(new)}"

    for one in plan.statements:
        rename(*map(str, s.declared_names(one)))
        if isinstance(one, s.Neutral | s.Given) and one.name is not None:
            rename(str(one.name))
        if isinstance(one, s.Shield):
            rename(*map(str, one.names))
        if isinstance(one, s.Cable):
            rename(str(one.name))
        if isinstance(one, s.Crew) and one.crew_name is not None:
            rename(str(one.crew_name))
        if isinstance(one, s.Route):
            rename(*(str(hop.structure) for hop in one.hops))
    rename(*(name for name in kinds(plan) if name not in new))
    routines = {str(one.ident): f"part-{at}" for at, one in enumerate(plan.statements) if isinstance(one, s.Routine)}

    def called(one: Any) -> Any:
        if isinstance(one, s.Routine | s.Do | s.Repeat | s.Undo):
            return replace(one, ident=Name(routines.get(str(one.ident), str(one.ident))))
        return one

    out: list[Any] = []
    for one in plan.statements:
        if isinstance(one, s.Routine):
            inside = dict(new)
            params = [str(name) for param in one.params for name in param.names]
            inside.update((param, f"Par{at}") for at, param in enumerate(params))
            body = tuple(called(renamed(step, inside)) for step in one.body)
            out.append(called(replace(renamed(replace(one, body=()), inside), body=body)))
        else:
            out.append(called(renamed(one, new)))
    back = {name: sheet.back.get(old, old) for old, name in new.items()}
    return replace(sheet.of(out), back=back)


def exactly(value: Fraction) -> str:
    """A decimal of a fraction, or nothing where it has none of a sensible length."""
    for places in range(12):
        scaled = value * 10**places
        if scaled.denominator == 1:
            digits = f"{abs(int(scaled)):0{places + 1}d}"
            sign = "-" if value < 0 else ""
            return sign + (f"{digits[:-places]}.{digits[-places:]}" if places else digits)
    return ""


_NUMBER = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?|[0-9]+/[0-9]+)[ ]*(\D.*)")


def converted(amount: Amount, rng: Random) -> Amount:
    """The same amount in another unit, exactly; itself where there is none."""
    found = _NUMBER.fullmatch(str(amount))
    unit = UNITS.get(found[2]) if found else None
    if found is None or unit is None or unit.shift or not isinstance(unit.numerator, int):
        return amount
    si = Fraction(found[1]) * Fraction(unit.numerator, unit.denominator)
    others = [
        (exactly(si / Fraction(one.numerator, one.denominator)), word)
        for word, one in UNITS.items()
        if one.dimension == unit.dimension
        and isinstance(one.numerator, int)
        and one != unit
        and (unit.dimension != "power" or one.spelling.endswith("VA"))
    ]
    others = [(number, word) for number, word in others if number and len(number) < 12]
    return Amount.at(" ".join(rng.choice(others))) if others else amount


@rewriting("quantities in other units of the same value, to the last digit: feet as metres, kV as V")
def other_units(sheet: Sheet, rng: Random) -> Sheet | None:
    def leaf(node: Node) -> Node:
        return converted(node, rng) if isinstance(node, Amount) and node.quantity is not None else node

    return changed(sheet, mapped(sheet.plan.statements, leaf))


@rewriting("values left open, with the value as default")
def values_left_open(sheet: Sheet, rng: Random) -> Sheet | None:
    names = fresh(sheet.plan, "open-")
    given: list[Any] = []

    def leaf(node: Node) -> Node:
        if not isinstance(node, Amount) or node.quantity is None or rng.random() < 0.4:
            return node
        dimension = {"cycles": "time"}.get(node.quantity.dimension, node.quantity.dimension)
        given.append(s.Given(name=Name(next(names)), ident=Name(dimension), default=node))
        return Amount.at(f"given {given[-1].name}")

    out = [
        mapped(one, leaf) if isinstance(one, s.Thing | s.Property | s.Soil) else one for one in sheet.plan.statements
    ]
    return changed(sheet, [*given, *out])


@rewriting("a row of names as a range, or a range as its names")
def ranges_and_rows(sheet: Sheet, rng: Random) -> Sheet | None:
    wide = expanded(sheet.plan)
    if wide.statements != sheet.plan.statements:
        return sheet.of(wide.statements)

    def ranged(names: tuple[Any, ...]) -> tuple[Any, ...]:
        found = [re.fullmatch(r"(.*?)([1-9][0-9]*)", str(name)) for name in names]
        at, out = 0, []
        while at < len(names):
            to = at
            while (
                to + 1 < len(names)
                and (one := found[to])
                and (two := found[to + 1])
                and one[1] == two[1]
                and one[1]
                and int(two[2]) == int(one[2]) + 1
            ):
                to += 1
            out.append(Name(f"{names[at]}..{names[to]}") if to > at else names[at])
            at = to + 1
        return tuple(out)

    return changed(
        sheet,
        (
            replace(one, names=ranged(one.names))
            if isinstance(one, s.Structure | s.Equipment | s.Mat | s.Capacitor | s.Inspect | s.Lock | s.Tag)
            else one
            for one in sheet.plan.statements
        ),
    )


@rewriting("each conductor with its structure: `test 212 A 212 B` for `test 212 A B`")
def points_said_whole(sheet: Sheet, rng: Random) -> Sheet | None:
    every = kinds(sheet.plan)

    def whole(points: tuple[Any, ...], here: str | None, known: dict[str, str]) -> tuple[Any, ...]:
        out: list[Any] = []
        for word in points:
            kind = known.get(str(word)) if isinstance(word, Name) else None
            if kind == "structure":
                here = str(word)
            elif here is not None and (
                kind == "conductor" or (isinstance(word, Word) and word not in ("near side", "far side", "handle"))
            ):
                out += [Name(here), word]
            else:
                out.append(word)
        return tuple(out)

    def say(one: Any, known: dict[str, str]) -> Any:
        if isinstance(one, s.Enter | s.Move) and one.reaching:
            place = getattr(one, "to", None) or one.at
            return replace(one, reaching=whole(one.reaching, str(place) if place else None, known))
        if isinstance(one, s.Test | s.Clean | s.Cut | s.Join | s.Downed | s.StringIn):
            return replace(one, points=whole(one.points, None, known))
        return one

    out: list[Any] = []
    for one in expanded(sheet.plan).statements:
        if isinstance(one, s.Routine):
            own = {str(name): str(param.sort) for param in one.params for name in param.names}
            out.append(replace(one, body=tuple(say(step, every | own) for step in one.body)))
        else:
            out.append(say(one, every))
    return changed(sheet, out)


@rewriting("`finding dead`, which holds where nothing is said, said; or left unsaid where it was")
def finding_said_or_not(sheet: Sheet, rng: Random) -> Sheet | None:
    def say(one: Any) -> Any:
        if isinstance(one, s.Test) and not one.improvised:
            return replace(one, result={None: Word("dead"), "dead": None}.get(one.result, one.result))
        if isinstance(one, s.Routine):
            return replace(one, body=tuple(map(say, one.body)))
        return one

    return changed(sheet, map(say, sheet.plan.statements))


@rewriting("other words in the texts of title, cautions, work, holds and notes, which no rule reads")
def other_texts(sheet: Sheet, rng: Random) -> Sheet | None:
    def say(one: Any) -> Any:
        if isinstance(one, s.Plan):
            return replace(one, title=Text("another title"))
        if isinstance(one, s.Caution | s.Emergency | s.Hold | s.Note | s.Work | s.Replan):
            return replace(one, text=Text("said in other words"))
        if isinstance(one, s.Routine):
            return replace(one, body=tuple(map(say, one.body)))
        return one

    return changed(sheet, map(say, sheet.plan.statements))


def words_of(sheet: Sheet) -> Iterator[Any]:
    """The statements that a sheet's text is read as, without what stands beside them."""
    for one in read(sheet.text(), sheet.name).statements:
        bare: Any = replace(one, number=None, comment=None, before=())
        if isinstance(one, s.Routine):
            body = tuple(replace(step, number=None, comment=None, before=()) for step in one.body)
            bare = replace(bare, body=body)
        yield bare
