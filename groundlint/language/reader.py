"""Reads a plan statement by statement: a line that can't be read is one diagnostic, and the rest is still read.

Statements stand one a line; a line that ends in a comma goes on in the next. `#` starts a comment outside quotes.
Lines indented under a `routine` are its body; other indentation is for the eye. In Markdown only the blocks fenced as
``tpg`` are read, at their own lines; of a text that was taken out of a document, the stretches marked as the plan.
"""

from __future__ import annotations

import re
from contextlib import suppress
from dataclasses import replace
from functools import cache, cached_property, lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any, NamedTuple

from groundlint.language.driver import Driver, Failed, Tables, tables_of
from groundlint.language.statements import (
    Neutral,
    PlanText,
    Route,
    Routine,
    Shield,
    Stage,
    Statement,
    Step,
    Structure,
    Switch,
    declared_names,
)
from groundlint.text import Diagnostic, Severity, Source, Span
from groundlint.text.collector import collector_paused
from groundlint.text.numbering import WRITTEN, bare
from groundlint.text.store import compiled, digest, keep_compiled
from groundlint.values.units import UNITS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from lark import Lark

    from groundlint.language.trade import Meant
    from groundlint.text.markdown import Fence
    from groundlint.text.source import Marks

MAX_STATEMENTS = 20_000
"""Statements in one file."""
MAX_MISTAKES = 500
"""Statements of one file that can't be read, after which no more are tried."""
MAX_LENGTH = 4_000
"""Code points in one statement, continuation lines included."""

_NUMBER = re.compile(WRITTEN)
_COMMENT = re.compile(r'"[^"\n]*"|#')
_GAUGE = re.compile(r"#(?:[0-9]{1,2}|[0-9]/0|0{2,4})(?![\w./-])")
_IN_TEXTS = re.compile(r'"[^"\n]*"|"|[^"]+')
_SPANS = "put the length of a span in parentheses, such as 211 (52 m) 212"
# Texts and the names of stages, in which a word is the writer's own.
_NO_WORDS = re.compile(r'"[^"]*"|^\s*stage\b.*', re.IGNORECASE)
# Keywords that only a plan in the earthing tradition's words has.
_EARTH = re.compile(
    r"(?<![\w.-])(?:(?:pole[- ])?earths?|earthwire|earth-wire|earth-rods?|earthing[- ]leads?|linesm[ae]n"
    r"|voltage[- ]indicators?|proving-units?|permit|operating-poles?|(?:multi|single)-earthed|aluminium)(?![\w-])",
    re.IGNORECASE,
)
# Blanks of other widths, as word processors put them in; each stands for a plain one.
_BLANKS = dict.fromkeys(
    map(ord, "\u00a0\u1680\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u205f\u3000"), " "
)


OTHER_WORDS = "these words are not read as a step"


class Line(NamedTuple):
    """A statement's lines: its offsets, its text with comments and line ends blanked, and what stands beside it."""

    start: int
    text: str
    number: str | None
    number_span: Span | None
    comment: str | None
    before: tuple[str, ...]
    indent: int


class Read(NamedTuple):
    """Statements as far as they could be read, with what could not be."""

    text: PlanText
    diagnostics: tuple[Diagnostic, ...]


class _Parser:
    """The driver, and lark for what the driver can't read; lark is made only where it is needed."""

    def __init__(self, grammar: str) -> None:
        from groundlint.language.lower import Lowering

        self.grammar = grammar
        self.lowering = Lowering(re.findall(r"^([a-z_]+):", grammar, re.MULTILINE))
        key = digest("plan", grammar)
        tables = compiled(key, Tables)
        if tables is None:
            tables = tables_of(self.lark)
            keep_compiled(key, tables)
        self.driver = Driver(tables, self.lowering)

    @cached_property
    def lark(self) -> Lark:
        """The parser as lark makes it from the grammar."""
        from lark import Lark

        return Lark(self.grammar, parser="lalr", lexer="contextual", start="start")


@cache
def grammar() -> str:
    """The grammar, with the patterns of units and wire sizes put in."""
    from groundlint.values.units import QUANTITY_PATTERN
    from groundlint.values.wire import WIRE_PATTERN

    text = files("groundlint.language").joinpath("plan.lark").read_text(encoding="utf-8")
    for mark, pattern in (("@QUANTITY@", QUANTITY_PATTERN), ("@WIRESIZE@", WIRE_PATTERN)):
        text = text.replace(mark, pattern.replace("/", r"\/"))
    return text


@cache
def _parser() -> _Parser:
    return _Parser(grammar())


def driver() -> Driver:
    """What reads a statement word by word; for one thread alone."""
    return _parser().driver


def refused(code: str, span: Span, message: str, mend: str = "") -> Diagnostic:
    """A diagnostic for a statement that is not taken in."""
    return Diagnostic(code, span, message, Severity.DANGER, mend, (), True)


@lru_cache(maxsize=4)  # a review reads the plan again for its asks
def read_statements(source: Source) -> Read:
    """Reads every statement of a source; never raises for what the text holds."""
    with collector_paused():
        return _read(source)


def _read(source: Source) -> Read:
    problems: list[Diagnostic] = []
    text = source.text
    if source.marks is not None:
        text = _plan_of_document(source, source.marks, problems)
    elif in_markdown(source):
        text = _plan_in(source, problems)
    lines, after = _lines(source, text, problems)
    top: list[Statement] = []
    routine: Routine | None = None
    lost = False  # in the body of a routine whose first line can't be read: its steps are no steps of the plan's own
    margin = 0
    body: list[Any] = []

    def close_routine() -> None:
        nonlocal routine, lost
        if routine is not None:
            top[-1] = replace(routine, body=tuple(body)).placed(routine.span, routine.places)
            body.clear()
        routine, lost = None, False

    @cache
    def known() -> dict[str, str]:
        return _known(source, lines)

    every: list[Statement] = []
    failed: list[tuple[Line, int]] = []  # and how many problems stand before what is to be said of it
    unread = 0
    for line in lines:
        try:
            statement = _statement(source, line, problems, known)
        except Failed:
            statement = None
            failed.append((line, len(problems)))
        unread += statement is None
        if unread > MAX_MISTAKES:
            break
        inside = (routine is not None or lost) and line.indent > margin
        if not inside:
            close_routine()
        if statement is None:
            if not inside and line.text[:7].lower() == "routine":
                lost, margin = True, line.indent
            continue
        every.append(statement)
        if inside and isinstance(statement, Step):
            if not lost:
                body.append(statement)
            continue
        if inside and not isinstance(statement, Stage):
            kind = str(statement.kind).replace("_", " ")  # type: ignore[attr-defined]
            mend = "move it out of the routine, to the left margin"
            problems.append(refused("not-a-step", statement.span, f"a routine holds steps; `{kind}` is none", mend))
            continue
        close_routine()
        top.append(statement)
        if isinstance(statement, Routine):
            routine, margin = statement, line.indent
    close_routine()
    names: dict[str, str] = {}
    problems.extend(_ranges_meant(every, lines))
    if failed:
        from groundlint.language.trade import kinds_of

        names = kinds_of(every)
    for line, at in reversed(failed):
        found = _mistake(source, line, names)
        same = [n for n, one in enumerate(problems) if (one.code, one.span) == (found.code, found.span)]
        if same:  # a dash of a document, of which more can be said here
            problems[same[0]] = found
        else:
            problems.insert(at, found)
    if unread > MAX_MISTAKES:
        message = f"more than {MAX_MISTAKES} statements can't be read; the rest is not tried"
        problems.append(refused("too-many-mistakes", problems[-1].span, message, "mend those above first"))
    earth = _EARTH.search(text) is not None and any(_EARTH.search(_NO_WORDS.sub("", line.text)) for line in lines)
    return Read(PlanText(tuple(top), after, "earth" if earth else "ground"), tuple(problems))  # type: ignore[arg-type]


def in_markdown(source: Source) -> bool:
    """Whether a source is a Markdown procedure, by its name."""
    return source.marks is None and source.name.lower().endswith((".md", ".markdown"))


def _plan_in(source: Source, problems: list[Diagnostic]) -> str:
    """The text of a Markdown file with all but its plan blanked."""
    from groundlint.text.markdown import find_fences, mask, unmask

    text = source.text
    fences = find_fences(text)
    unmarked = unmarked_plans(text, 1 if fences else 2)
    if fences:
        around = _HTML_COMMENT.sub(lambda found: " " * len(found[0]), unmask(text))
        _outside(source, around, mask(text, fences), "into the fence marked `tpg`", problems)
    problems.extend(
        Diagnostic(
            "fence-not-marked",
            source.span(f.opening, f.start),
            "this fence holds statements of a plan and is not marked `tpg`, so that it is not read",
            Severity.WARNING,
            "write ```tpg, or ```text where it is no part of the plan",
            unread=True,
        )
        for f in unmarked
    )
    if not fences and not unmarked:
        problems.append(
            refused(
                "no-plan-in-markdown",
                source.span(0, 0),
                "no fenced block marked `tpg` is in this Markdown file",
                "fence the plan with ```tpg and ```",
            )
        )
    problems.extend(
        refused("fence-not-closed", source.span(f.opening, f.start), "this fence is never closed", "close it with ```")
        for f in fences
        if not f.closed
    )
    return mask(text, fences)


# What a word processor puts in place of what is typed, each for one character.
_TYPED = str.maketrans("\u201c\u201d\u201e\u201f\u2018\u2019\u201a\u201b\u2010\u2011\u00a0\u202f", "\"\"\"\"''''--  ")
_DASH = re.compile(r'"[^"\n]*"|#|[\u2012-\u2015][^\s"#]*')


def _plan_of_document(source: Source, marks: Marks, problems: list[Diagnostic]) -> str:
    """The text of a document with all but its plan blanked, as it would be typed: automatic numbers that are not those
    of steps are blanks too."""
    inside, outside, at = [], [], 0
    text = _without_labels(source.text, marks)
    for start, end in (*marks.plan, (len(text), len(text))):
        inside += [_NOT_END.sub(" ", text[at:start]), text[start:end]]
        outside += [text[at:start], _NOT_END.sub(" ", text[start:end])]
        at = end
    plan = "".join(inside).translate(_TYPED)
    if not marks.plan:
        problems.append(
            refused(
                "no-plan-in-document",
                source.span(0, 0),
                "this document has no paragraph of the style Plan, no table of one cell that begins with `plan`, and no"
                " text fenced as `tpg`",
                "give the paragraphs of the plan the style Plan, which a document by `groundlint new -o FILE.docx` has",
            )
        )
    else:
        _outside(source, "".join(outside), plan, "into the plan, by its style, fence or table", problems)
    for line in re.finditer("[^\n]+", plan):
        for found in _DASH.finditer(line[0]):
            if found[0] == "#" and not _GAUGE.match(line[0], found.start()):
                break
            if found[0][0] not in '#"':
                from groundlint.language.mistakes import doubtful_dash

                problems.append(doubtful_dash(source, line.start() + found.start()))
    return plan


def _without_labels(text: str, marks: Marks) -> str:
    """The text with automatic numbers blanked that are not of the form of a step's."""
    pieces: list[str] = []
    at = 0
    for start, end, number in marks.unwritten:
        if not (number and _NUMBER.fullmatch(text[start:end].strip())):
            pieces += text[at:start], " " * (end - start)
            at = end
    return "".join([*pieces, text[at:]])


def _outside(source: Source, outside: str, plan: str, where: str, problems: list[Diagnostic]) -> None:
    """What to say of steps that stand outside of a plan, which are to be moved ``where``; once of those among which no
    other words stand, as in a second table."""
    groups: list[list[tuple[int, int]]] = []
    for start, end in steps_outside(outside, plan):
        if groups and not _LETTER.search(outside, groups[-1][-1][1], start):
            groups[-1].append((start, end))
        else:
            groups.append([(start, end)])
    for group in groups:
        many = len(group) > 1
        said = f"this line and {len(group) - 1} after it read as steps" if many else "this line reads as a step"
        it, are, step = ("them", "they are", "steps") if many else ("it", "it is", "step")
        problems.append(
            Diagnostic(
                "step-outside-fence",
                source.span(*group[0]),
                f"{said} of the plan and {'stand' if many else 'stands'} outside of it, so that {are} not read",
                Severity.WARNING,
                f"move {it} {where}, or say {it} in other words where {are} no {step}",
                unread=True,
            )
        )


_LETTER = re.compile(r"[^\W\d_]")
_NOT_END = re.compile("[^\n]")

MAX_TRIED = 400
"""Lines in fences of one file that are not marked which are tried."""


def unmarked_plans(text: str, least: int = 2) -> tuple[Fence, ...]:
    """The fences of a Markdown text that are not marked `tpg` and hold statements: ``least`` or more, and half of the
    lines, or of those that are tried."""
    from groundlint.text.markdown import mask, unmarked_fences

    found: list[Fence] = []
    left = MAX_TRIED
    for fence in unmarked_fences(text):
        body = mask(text, [fence])[fence.start : fence.end] if fence.quotes else text[fence.start : fence.end]
        lines = [line for raw in body.split("\n") if (line := _split_comment(raw)[0].strip())][:left]
        left -= len(lines)
        numbers = (_NUMBER.match(line) for line in lines)
        read = sum(
            _reads(line[number.end() :].strip() if number else line)
            for line, number in zip(lines, numbers, strict=True)
            if len(line) <= MAX_LENGTH
        )
        if read >= least and 2 * read >= len(lines):
            found.append(fence)
    return tuple(found)


_HTML_COMMENT = re.compile(r"<!--.*?(?:-->|\Z)", re.DOTALL)
_CELL = re.compile(r"[^|\r\n]+")
_PROPER = re.compile(r"[\w.-]*[A-Z0-9][\w.-]*\w|[A-Z0-9]")
_MARKS = re.compile(r"[\s>]*(?:[-*+]\s+)?(?:\[[ xX]\]\s+)?(?:" + WRITTEN + r"\s+)?")


def steps_outside(text: str, plan: str) -> Iterator[tuple[int, int]]:
    """Where a line of what stands around a plan, or a cell of a table, reads as a step and names what the plan names,
    in offsets."""
    known = set(_PROPER.findall(plan))
    for cell in _CELL.finditer(text):
        start = cell.start() + _MARKS.match(cell[0]).end()  # type: ignore[union-attr]
        said = text[start : cell.end()].strip("`*_. \t")
        named = set(_PROPER.findall(_NO_WORDS.sub("", said.partition(" ")[2])))
        if named and named <= known and len(said) <= MAX_LENGTH and isinstance(read_statement(said), Step):
            yield start, start + len(text[start : cell.end()].rstrip())


def _lines(source: Source, text: str, problems: list[Diagnostic]) -> tuple[list[Line], tuple[str, ...]]:
    found: list[Line] = []
    before: list[str] = []
    at, end_of_text = 0, len(text)
    while at < end_of_text:
        start = at
        pieces: list[str] = []
        comments: list[str] = []
        while True:
            stop = text.find("\n", at)
            stop = end_of_text if stop < 0 else stop
            raw = text[at:stop]
            if raw[-1:] == "\r":
                raw = raw[:-1] + " "
            code, comment = _split_comment(raw)
            if not code.isascii():
                code = _IN_TEXTS.sub(
                    lambda found: found[0] if found[0][0] == '"' else found[0].translate(_BLANKS), code
                )
            if comment is not None:
                comments.append(comment)
            pieces.append(code + " " * (len(raw) - len(code)))
            at = stop + 1
            if code.rstrip().endswith(",") and at < end_of_text:
                pieces.append(" ")
                continue
            break
        clean = "".join(pieces)
        stripped = clean.strip()
        if not stripped:
            before.extend(comments or [""])
            continue
        indent = len(clean) - len(clean.lstrip())
        begin = start + indent
        number = number_span = None
        matched = _NUMBER.match(stripped)
        if matched:
            number, number_span = bare(matched[0]), source.span(begin, begin + matched.end())
            rest = stripped[matched.end() :]
            begin += matched.end() + len(rest) - len(rest.lstrip())
            stripped = rest.strip()
        span = source.span(begin, begin + len(stripped))
        if len(found) >= MAX_STATEMENTS:
            message = f"a plan may hold {MAX_STATEMENTS:,} statements; the rest is not read"
            problems.append(refused("too-many-statements", span, message, "split the plan"))
            break
        if len(stripped) > MAX_LENGTH:
            message = f"this statement is {len(stripped):,} characters long; at most {MAX_LENGTH:,} are read"
            problems.append(refused("statement-too-long", span, message, "split it into several"))
            before = []
            continue
        if not stripped:
            problems.append(
                refused(
                    "number-alone",
                    number_span or span,
                    f"step {number} says nothing",
                    "write the step after its number",
                )
            )
            before = []
            continue
        comment_text = " ".join(comments) if comments else None
        found.append(Line(begin, stripped, number, number_span, comment_text, _trimmed(before, not found), indent))
        before = []
    after = _trimmed(before, not found)
    return found, after[:-1] if after[-1:] == ("",) else after


def _trimmed(before: list[str], at_start: bool) -> tuple[str, ...]:
    """Comment lines with runs of blank lines made one, and none at the start of the file."""
    kept: list[str] = []
    for entry in before:
        if entry == "" and (kept[-1:] == [""] or (at_start and not kept)):
            continue
        kept.append(entry)
    return tuple(kept)


def _split_comment(raw: str) -> tuple[str, str | None]:
    if "#" not in raw:
        return raw, None
    # `#2` is a wire size where it follows something else; a comment that begins with a number has a blank before it
    for matched in _COMMENT.finditer(raw):
        if matched[0] != "#":
            continue
        at = matched.start()
        if _GAUGE.match(raw, at) and raw[:at].strip():
            continue
        return raw[:at], raw[at + 1 :].strip()
    return raw, None


def begun(text: str, offset: int) -> str | None:
    """The words of a statement before a place in it, on the lines above that it goes on from too; None within a comment
    or a text. Of Markdown the ``text`` is that of its plan alone."""
    start = text.rfind("\n", 0, offset) + 1
    code, comment = _split_comment(text[start:offset])
    if comment is not None:
        return None
    pieces = [code]
    while start:
        above = text.rfind("\n", 0, start - 1) + 1
        code = _split_comment(text[above : start - 1])[0].rstrip()
        if not code.endswith(","):
            break
        pieces.insert(0, code)
        start = above
    words = " ".join([*map(str.strip, pieces[:-1]), pieces[-1].lstrip()])
    number = _NUMBER.match(words)
    words = words[number.end() :].lstrip() if number else words
    return None if words.count('"') % 2 or len(words) > MAX_LENGTH else words


def _statement(
    source: Source, line: Line, problems: list[Diagnostic], known: Callable[[], dict[str, str]]
) -> Statement | None:
    """The statement in a line, None where one that was read is refused; raises `Failed` where it can't be read."""
    parser = _parser()
    lowering = parser.lowering
    lowering.source, lowering.base, lowering.problems = source, line.start, []
    lowering.beside = {}
    if line.number is not None:
        lowering.beside["number"] = line.number
    if line.comment is not None:
        lowering.beside["comment"] = line.comment
    if line.before:
        lowering.beside["before"] = line.before
    statement: object = parser.driver.parse(line.text)
    problems.extend(lowering.problems)
    if not isinstance(statement, Statement):
        return None
    names = declared_names(statement)
    if isinstance(statement, Route):  # which declare structures too
        names = tuple(hop.structure for hop in statement.hops if hop.structure not in UNITS)
    elif isinstance(statement, Neutral | Shield):
        names = statement.names if isinstance(statement, Shield) else (statement.name,) if statement.name else ()
    if _doubtful(names, isinstance(statement, Structure | Route | Neutral | Shield)):
        from groundlint.language.mistakes import doubtful_names, write_one_of

        doubts = doubtful_names(parser.lark, statement, names)
        word_first = names[0].isalpha() and names[0].islower() and not names[-1].islower()
        # `switch out SW41` is read as a declaration of two switches
        if isinstance(statement, Switch) and (doubts or word_first):
            span, meant = meant_by(Span(source, line.start, line.start), known())
            if meant:
                problems.append(refused("said-in-other-words", span, OTHER_WORDS, write_one_of(meant)))
                return None
        problems.extend(doubts)
    if isinstance(statement, Route):
        problems.extend(
            refused("doubtful-name", hop.structure.span, f"`{hop.structure}` stands for a structure here", _SPANS)
            for hop in statement.hops
            if hop.structure in UNITS
        )
    span = Span(source, line.start, line.start + len(line.text))
    places = statement.places
    if line.number_span is not None and (isinstance(statement, Step) or source.wrote(line.number_span.start)):
        places["number"] = line.number_span
        if not isinstance(statement, Step):
            problems.append(
                refused("number-on-no-step", line.number_span, "only steps carry numbers", "take the number off")
            )
    elif line.number_span is not None:  # of a list in a document, in which other things than steps are counted too
        statement = replace(statement, number=None)
    return statement.placed(span, places)


def _doubtful(names: tuple[str, ...], numbers: bool) -> bool:
    """Whether a name that is declared here looks like a word, or without ``numbers`` like a number, that was meant to
    say something else."""
    return any((name.islower() and len(name) > 1) or _BETWEEN.fullmatch(name) for name in names) or (
        not numbers and not all(name.strip("0123456789.") for name in names)
    )


_BETWEEN = re.compile(r"([A-Za-z]*)([0-9]+(?:\.[0-9]+)?)-\1?([0-9]+(?:\.[0-9]+)?)")
"""A name that reads as a range of numbers."""


def _ranges_meant(statements: Iterable[Statement], lines: Iterable[Line]) -> Iterator[Diagnostic]:
    """What to say of a name such as ``86-90``, where the plan names the ends of that range by themselves."""
    declared = [name for one in statements for name in declared_names(one)]
    doubtful = [(name, found) for name in declared if (found := _BETWEEN.fullmatch(name)) is not None]
    if not doubtful:
        return
    used = {*declared, *(hop.structure for one in statements if isinstance(one, Route) for hop in one.hops)}
    used |= {name for line in lines for name in _LETTERED.findall(line.text)}
    for name, found in doubtful:
        first, last = f"{found[1]}{found[2]}", f"{found[1]}{found[3]}"
        by_themselves = [one for one in (first, last) if one in used]
        if by_themselves and float(found[2]) < float(found[3]):
            message = f"`{name}` is one name here, and the plan has {' and '.join(by_themselves)} as well"
            mend = f"write `{first}..{last}` for all of them; what has this one name gets another"
            yield refused("doubtful-name", name.span, message, mend)


_LETTERED = re.compile(r"(?<![\w.-])[A-Za-z]+[0-9]+(?![\w-])")


def _mistake(source: Source, line: Line, known: dict[str, str]) -> Diagnostic:
    """What to say of a statement that does not parse."""
    from groundlint.language.mistakes import explain

    _, meant = meant_by(Span(source, line.start, line.start), known)
    return explain(_parser().lark, source, line.start, line.text, known, meant)


def meant_by(span: Span, known: dict[str, str]) -> tuple[Span, tuple[Meant, ...]]:
    """The line that a place is in, and the statements that it could mean in the trade's words, other than itself;
    ``known`` gives what names stand for, as `trade.kinds_of` does."""
    from groundlint.language.trade import said_in_statements

    line = line_of(span)
    meant = said_in_statements(line.text, known, _reads)
    return line, tuple(one for one in meant if one.text != line.text)


def line_of(span: Span) -> Span:
    """The words of the line that a place is in, without a step's number and a comment."""
    text = span.source.text
    begin, end = text.rfind("\n", 0, span.start) + 1, text.find("\n", span.start)
    line = _split_comment(text[begin : end if end >= 0 else len(text)])[0].rstrip(" \t\r,")
    begin += len(line) - len(line.lstrip())
    line = line.strip()
    number = _NUMBER.match(line)
    if number is not None:
        rest = line[number.end() :].lstrip()
        begin, line = begin + len(line) - len(rest), rest
    return Span(span.source, begin, begin + len(line))


def _reads(text: str) -> bool:
    """Whether a text is a statement of the language."""
    return read_statement(text) is not None


@lru_cache(maxsize=4096)
def read_statement(text: str) -> Statement | None:
    """The statement that a text is, placed in it; None where it is not one, or has anything wrong with it."""
    parser = _parser()
    lowering = parser.lowering
    lowering.source, lowering.base, lowering.problems, lowering.beside = Source("", text), 0, [], {}
    try:
        found: object = parser.driver.parse(text)
    except Failed:
        return None
    return found if isinstance(found, Statement) and not lowering.problems else None


def _known(source: Source, lines: list[Line]) -> dict[str, str]:
    """What the names that a plan declares stand for; asked for where a line of it can't be read."""
    from groundlint.language.trade import kinds_of

    parser = _parser()
    found: list[Statement] = []
    for line in lines:
        parser.lowering.source, parser.lowering.base, parser.lowering.problems = source, line.start, []
        parser.lowering.beside = {}
        with suppress(Failed):
            statement = parser.driver.parse(line.text)
            if isinstance(statement, Statement):
                found.append(statement)
    return kinds_of(found)
