"""A plan's canonical text: what `read_statements` reads back as the same statements, with every comment kept.

Keywords stand in their main spelling, in a column for each run of lines; properties, and the steps of stages and
routines, are set in by two blanks; step numbers are set right, so that their full stops stand under each other. A
blank line or comment above a statement stays.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from groundlint.language.phrases import Phrase, phrase
from groundlint.language.statements import (
    AnyStatement,
    Line,
    Parallel,
    PlanText,
    Property,
    Routine,
    SourceDecl,
    Stage,
    Statement,
    Step,
    Thing,
)

WIDEST = 10
"""A longer keyword, such as `block reclosing on`, makes no column wider."""
INDENT = "  "


class _Row(NamedTuple):
    indent: str
    statement: Statement
    said: Phrase


def write_plan(plan: PlanText) -> str:
    """The text of a plan, ended by a line feed; empty for a plan of nothing."""
    earth = plan.tradition == "earth"
    rows = list(_rows(plan.statements, earth))
    digits = max((len(row.statement.number) for row in rows if row.statement.number), default=0)
    lines: list[str] = []
    at = 0
    while at < len(rows):
        run = at + 1
        while run < len(rows) and _continues(rows[run], rows[at].indent):
            run += 1
        lines.extend(_run(rows[at:run], digits))
        at = run
    lines.extend(_comments(plan.after, ""))
    return "".join(f"{line}\n" for line in lines)


def write_statement(statement: Statement, earth: bool = False) -> str:
    """One statement in canonical words, without number, comment and body."""
    said = phrase(statement, earth)
    return f"{said.keyword} {said.rest}".rstrip()


def _rows(statements: Iterable[AnyStatement], earth: bool) -> Iterator[_Row]:
    holder: Statement | None = None
    inside = ""
    for statement in statements:
        indent = ""
        if isinstance(statement, Stage):
            inside = INDENT
        elif isinstance(statement, Routine):
            inside = ""  # an indented step after it would be one of its own
        elif isinstance(statement, Step):
            indent = inside
        elif isinstance(statement, Property) and isinstance(holder, Line | SourceDecl | Parallel):
            indent = INDENT
        if not isinstance(statement, Property):
            holder = statement if isinstance(statement, Thing) else None
        yield _Row(indent, statement, phrase(statement, earth))
        if isinstance(statement, Routine):
            yield from (_Row(INDENT, step, phrase(step, earth)) for step in statement.body)


def _continues(row: _Row, indent: str) -> bool:
    return row.indent == indent and not row.statement.before and not isinstance(row.statement, Stage | Routine)


def _run(rows: list[_Row], digits: int) -> Iterator[str]:
    """Lines that stand together without a gap: their keywords make one column."""
    numbered = any(row.statement.number for row in rows)
    if not rows[0].indent:  # at the margin, blanks before a step would put it into a routine above
        digits = -1
    width = max((len(r.said.keyword) for r in rows if len(r.said.keyword) <= WIDEST and r.said.rest), default=0)
    for indent, statement, (keyword, rest) in rows:
        yield from _comments(statement.before, indent)
        number = f"{statement.number}." if statement.number else ""
        number = f"{number:>{max(digits + 1, 0)}} " if numbered and (number or digits >= 0) else ""
        line = f"{indent}{number}{keyword:<{width}} {rest}" if rest else f"{indent}{number}{keyword}"
        yield line if statement.comment is None else f"{line}  # {statement.comment}".rstrip()


def _comments(comments: Iterable[str], indent: str) -> Iterator[str]:
    return (f"{indent}# {comment}" if comment else "" for comment in comments)
