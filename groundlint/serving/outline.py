"""The parts of a text: its symbols by stage, what folds, and the kinds of its words."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache, lru_cache

from lsprotocol import types as lsp

from groundlint.language.highlighting import patterns
from groundlint.language.reader import MAX_LENGTH
from groundlint.language.statements import Routine, Stage, Statement, Step, Thing
from groundlint.serving.document import Document

TOKENS = {
    "comment": "comment",
    "string": "string",
    "step": "label",
    "date": "number",
    "size": "number",
    "quantity": "number",
    "word": "keyword",
    "range": "variable",
    "number": "number",
    "name": "variable",
    "mark": "operator",
}
"""The protocol's kind of token for each kind of text that is highlighted."""
LEGEND = lsp.SemanticTokensLegend(sorted({*TOKENS.values(), "type", "property"}), [])


def symbols(document: Document) -> list[lsp.DocumentSymbol]:
    """Things, routines with their steps, and stages with theirs."""
    found: list[lsp.DocumentSymbol] = []
    inside: list[lsp.DocumentSymbol] = found
    for one in document.read.text.statements:
        if isinstance(one, Routine):
            steps = [_symbol(document, step, lsp.SymbolKind.Method) for step in one.body]
            found.append(_symbol(document, one, lsp.SymbolKind.Function, steps))
        elif isinstance(one, Stage):
            inside = []
            found.append(_symbol(document, one, lsp.SymbolKind.Namespace, inside))
        elif isinstance(one, Step):
            inside.append(_symbol(document, one, lsp.SymbolKind.Method))
            _widen(found[-1], inside[-1])
        elif isinstance(one, Thing):
            found.append(_symbol(document, one, lsp.SymbolKind.Object))
    return found


def _symbol(
    document: Document, one: Statement, kind: lsp.SymbolKind, inside: list[lsp.DocumentSymbol] | None = None
) -> lsp.DocumentSymbol:
    number = f"{one.number}. " if one.number else ""
    place = document.lines.range(one.span.start, one.span.end)
    whole = lsp.Range(place.start, place.end)
    symbol = lsp.DocumentSymbol(f"{number}{' '.join(one.span.text.split())}", kind, whole, place, children=inside)
    if inside:
        _widen(symbol, inside[-1])
    return symbol


def _widen(symbol: lsp.DocumentSymbol, inner: lsp.DocumentSymbol) -> None:
    """A symbol reaches to the end of what it holds."""
    if symbol is not inner:
        symbol.range = lsp.Range(symbol.range.start, inner.range.end)


def folds(document: Document, found: Sequence[lsp.DocumentSymbol]) -> list[lsp.FoldingRange]:
    """Symbols that go over several lines, and the fenced parts of a procedure."""
    lines = [(symbol.range.start.line, symbol.range.end.line) for symbol in found]
    for fence in document.fences:
        first, last = document.lines.position(fence.opening), document.lines.position(fence.end)
        lines.append((first.line, last.line if fence.closed else last.line - (last.character == 0)))
    return [lsp.FoldingRange(first, last) for first, last in sorted(lines) if first < last]


def tokens(document: Document, spans: Sequence[tuple[int, int, str]]) -> lsp.SemanticTokens:
    """Stretches of a text, in order, none over another, as the protocol has them: each relative to the one before. One
    that goes over a line's end becomes one a line."""
    data: list[int] = []
    line = column = 0
    for start, end, kind in spans:
        at = start
        while at < end:
            here = document.lines.position(at)
            stop = min(end, document.lines.ends[here.line])
            if stop > at:
                length = document.lines.position(stop).character - here.character
                column = here.character - column if here.line == line else here.character
                data += [here.line - line, column, length, LEGEND.token_types.index(kind), 0]
                line, column = here.line, here.character
            if here.line + 1 >= len(document.lines.starts):
                break
            at = max(stop, document.lines.starts[here.line + 1]) if stop < end else end
    return lsp.SemanticTokens(data)


def plan_tokens(document: Document) -> Iterator[tuple[int, int, str]]:
    """The kinds of a plan's words; in Markdown those within its fences."""
    text = document.plan
    parts = [(fence.start, fence.end) for fence in document.fences] if document.markdown else [(0, len(text))]
    for start, end in parts:
        while start < end:
            stop = text.find("\n", start, end) + 1 or end
            if stop - start <= MAX_LENGTH:  # a longer line is not read
                yield from ((start + first, start + last, kind) for first, last, kind in _line_tokens(text[start:stop]))
            start = stop


@lru_cache(maxsize=4096)  # of all lines one is typed in
def _line_tokens(line: str) -> tuple[tuple[int, int, str], ...]:
    return tuple((one.start(), one.end(), TOKENS[one.lastgroup or ""]) for one in _matches().finditer(line))


@cache
def _matches() -> re.Pattern[str]:
    """The patterns as one; the group that closes last is that of the kind."""
    return re.compile("|".join(f"(?P<{kind}>{pattern})" for kind, pattern in patterns()), re.MULTILINE)
