"""Canonical layout of rule and book files: the columns in which blocks, clauses, what goes on below these, and examples
begin, and the blank lines between them.

Where a line breaks, how many spaces stand within it, and how much deeper than its neighbour it goes on, its writer
decides.
"""

from __future__ import annotations

from groundlint.rulebook.layout import EXAMPLES, LACKS, Layout, lay_out
from groundlint.text import Source

CLAUSE, EXAMPLE, BODY = 2, 4, 11
"""Columns of a clause, of an example's marker, and of what follows the word of a clause."""


def tidied(layout: Layout) -> str:
    """The text of a file that was split without a problem, in canonical layout; as it is where that would say another
    thing."""
    text = layout.source.text
    made = _written(layout).replace("\n", "\r\n" if "\r\n" in text else "\n")
    return made if _said(lay_out(Source(layout.source.name, made))) == _said(layout) else text


def _written(layout: Layout) -> str:
    """The lines at their columns, a comment at that of the line below it; one blank line where there were some, and
    one above each block and its comments."""
    source, columns = layout.source, _columns(layout)
    blocks = {block.word_span.line for block in layout.blocks}
    clauses = {clause.word_span.line: clause.word for block in layout.blocks for clause in block.clauses}
    lines: list[str] = []  # from the last to the first
    column, opens = 0, False
    for number in range(len(source.line_starts), 0, -1):
        text = source.line_text(number).strip()
        if not text:
            if lines and lines[-1]:
                lines.append("")
            continue
        if number in columns:
            if opens and lines[-1]:
                lines.append("")
            column, opens = columns[number], number in blocks
        if number in clauses:
            word = clauses[number]
            width = 0 if word in (*EXAMPLES, LACKS) else BODY - CLAUSE - 1
            text = f"{word:<{width}} {text[len(word) :].lstrip()}".rstrip()
        lines.append(" " * column + text)
    while lines and not lines[-1]:
        lines.pop()
    return "".join(f"{line}\n" for line in reversed(lines))


def _columns(layout: Layout) -> dict[int, int]:
    """The column in which each line begins that is neither blank nor a comment."""
    source = layout.source
    columns: dict[int, int] = {}
    for block in layout.blocks:
        columns[block.word_span.line] = 0
        bodies = [(block.head, CLAUSE)]
        for clause in block.clauses:
            columns[clause.word_span.line] = CLAUSE
            columns |= {line.span.line: EXAMPLE for line in clause.lines}
            bodies.append((clause.body, BODY))
        for body, column in bodies:
            begins = {body.line: body.position.column}
            for number in range(body.line + 1, source.position(body.end).line + 1):
                start = source.line_starts[number - 1]
                clean = layout.clean[start : start + len(source.line_text(number))]
                if clean.strip():
                    begins[number] = len(clean) - len(clean.lstrip()) + 1
            least = min(begins.values())
            columns |= {number: column + at - least for number, at in begins.items() if number not in columns}
    return columns


def _said(layout: Layout) -> object:
    """What a file says, whatever its layout, and what is wrong with that."""
    found: list[object] = [one.code for one in layout.problems]
    for block in layout.blocks:
        found += block.word, layout.clean[block.head.start : block.head.end].split()
        for clause in block.clauses:
            found += clause.word, layout.clean[clause.body.start : clause.body.end].split()
            found += [(line.marker, line.text) for line in clause.lines]
    return found
