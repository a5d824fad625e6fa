"""What the editor is offered to change: repairs that a review has proven, texts to state what is not stated, layout,
and names."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from lsprotocol import types as lsp

from groundlint.language.layout import laid_out
from groundlint.language.reader import read_statements
from groundlint.rulebook.layout import lay_out
from groundlint.rulebook.tidy import tidied
from groundlint.serving.document import Document
from groundlint.serving.jobs import Offer, Pieces
from groundlint.serving.names import Use
from groundlint.text import Source
from groundlint.text.near import nearest

FIX_ALL = lsp.CodeActionKind.SourceFixAll
_MEANT = re.compile(r"did you mean `?([^`?\n]+)`?\?")


def offered(
    document: Document, offers: Sequence[Offer], start: int, end: int, shown: Sequence[lsp.Diagnostic], versioned: bool
) -> Iterator[lsp.CodeAction]:
    """The edits that are offered within a stretch, the proven first."""
    for offer in sorted(offers, key=lambda one: not one.proven):
        places = [at for at in offer.at if at[1] <= end and start <= at[2]]
        if not places:
            continue
        of = [(rule, document.lines.range(first, last)) for rule, first, last in places]
        yield lsp.CodeAction(
            f"{offer.title} (mends it: reviewed again with it)" if offer.proven else offer.title,
            lsp.CodeActionKind.QuickFix,
            diagnostics=[one for one in shown if (one.code, one.range) in of] or None,
            is_preferred=offer.proven or None,
            edit=document.edit(offer.pieces, versioned),
        )


def meant(
    document: Document, start: int, end: int, shown: Sequence[lsp.Diagnostic], versioned: bool
) -> Iterator[lsp.CodeAction]:
    """For each slip of the pen within a stretch, the word that its message takes for what was meant."""
    for one in shown:
        first, last = document.lines.offset(one.range.start), document.lines.offset(one.range.end)
        word = _MEANT.search(one.message)
        # a message may stand at the end of a statement and speak of a word before it
        if word is None or first > end or start > last or not nearest(document.text[first:last], [word[1]]):
            continue
        edit = document.edit([(first, last, word[1])], versioned)
        yield lsp.CodeAction(f"Write `{word[1]}`", lsp.CodeActionKind.QuickFix, diagnostics=[one], edit=edit)


def replaced(old: str, new: str) -> Pieces:
    """The one stretch in which two texts differ."""
    if old == new:
        return ()
    start = 0
    while start < min(len(old), len(new)) and old[start] == new[start]:
        start += 1
    tail = 0
    while tail < min(len(old), len(new)) - start and old[-1 - tail] == new[-1 - tail]:
        tail += 1
    return ((start, len(old) - tail, new[start : len(new) - tail]),)


def formatted(document: Document) -> Pieces | str:
    """What lays a text out as `tidy` does; what is wrong with one that can't be read, of which nothing is changed."""
    if document.of_rules:
        layout = lay_out(document.source)
        wrong, made = layout.problems, tidied(layout)
    else:
        wrong, made = document.read.diagnostics, laid_out(document.source, document.read)
    return wrong[0].message if wrong else replaced(document.text, made)


def renamed(document: Document, use: Use, name: str) -> Pieces | str:
    """A name that a text declares put in the place of another wherever it stands; why it can't be, as a text."""
    names = document.names
    every = names.of(use.key)
    old = use.key.name
    if use.key not in names.declared:
        return f"{old} is not declared in this file"
    of_range = next((one for one in every if one.of_range), None)
    if of_range is not None:
        written = document.text[of_range.start : of_range.end]
        return f"{old} is one of {written}; write those names out before one of them gets another"
    if any(key.name == name and (key.space == use.key.space or not use.key.space) for key in names.declared):
        return f"{name} is declared already"
    places = dict.fromkeys((one.start, one.end) for one in every)
    pieces = tuple((start, end, name) for start, end in places)
    text, at = "", 0
    for start, end, put in pieces:
        text, at = f"{text}{document.text[at:start]}{put}", end
    text += document.text[at:]
    again = read_statements(Source(document.name, text))
    if len(again.diagnostics) > len(document.read.diagnostics) or not _same_but_for(document, text, pieces, name):
        return f"{name} can't stand as a name here"
    return pieces


def _same_but_for(document: Document, text: str, pieces: Pieces, name: str) -> bool:
    """Whether a text reads as the document does with other names: as many statements, of the same kinds, and each new
    name found at its place as a name."""
    from groundlint.serving.names import Names

    source = Source(document.name, text)
    again = read_statements(source).text
    before = document.read.text
    if [type(one) for one in again.statements] != [type(one) for one in before.statements]:
        return False
    found = {(use.start, use.end) for use in Names(again.statements, source).uses if use.key.name == name}
    moved, wanted = 0, set()
    for start, end, put in pieces:
        wanted.add((start + moved, start + moved + len(put)))
        moved += len(put) - (end - start)
    return wanted == found
