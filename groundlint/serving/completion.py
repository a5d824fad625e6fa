"""What could be written next: words of the language by their place in the statement, and the plan's names, those first
that are of the kind which belongs there."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache

from lsprotocol import types as lsp

from groundlint.language.following import Following, following, kinds_by_first_word
from groundlint.language.lower import PARAMETER_KINDS, main_spelling
from groundlint.language.reader import begun
from groundlint.language.reference import main_words
from groundlint.language.statements import clause_fields, statement_classes
from groundlint.language.wording import EARTH_KEYWORDS, Words
from groundlint.serving.document import Document

_PARTIAL = re.compile(r"[\w.-]*\Z")
_WORD = re.compile(r"[a-z]+")


def completions(document: Document, offset: int, rules: Sequence[str]) -> list[lsp.CompletionItem]:
    """What could stand at a place. ``rules`` are the names of the rules in use, for `waive`."""
    if document.markdown and not any(fence.start <= offset <= fence.end for fence in document.fences):
        return []
    words = begun(document.plan, offset)
    if words is None:
        return []
    partial = _PARTIAL.search(words)
    assert partial is not None  # it matches nothing too
    after = following(words[: partial.start()])
    if after is None:
        return []
    earth = document.read.text.tradition == "earth"
    where = document.lines.range(offset - len(partial[0]), offset)
    found = [*_names(document, after, rules), *keywords(after, earth)]
    for item in found:
        item.text_edit = lsp.TextEdit(where, item.insert_text or item.label)
        item.insert_text = None
    return found


def keywords(after: Following, earth: bool) -> Iterator[lsp.CompletionItem]:
    """Keywords, in the plan's own tradition of words."""
    seen: set[str] = set()
    in_own_words = Words(earth)
    for terminal in after.terminals:
        begins = kinds_by_first_word().get(terminal) if after.kind is None else None
        for word in main_words(terminal, begins or after.kind or ""):
            own = EARTH_KEYWORDS.get(word, word) if earth and begins is not None else in_own_words(word)
            if own in seen:
                continue
            seen.add(own)
            yield lsp.CompletionItem(
                own,
                kind=lsp.CompletionItemKind.Keyword,
                detail=_said(begins) if begins is not None else None,
                sort_text=f"2{own}",
            )


@cache
def _said(kind: str) -> str:
    """What a kind of statement says, in its first sentence."""
    return " ".join((statement_classes()[kind].__doc__ or "").split()).split(". ")[0].rstrip(".")


def _names(document: Document, after: Following, rules: Sequence[str]) -> Iterator[lsp.CompletionItem]:
    """The plan's own names where one can stand."""
    if not {"NAME", "RANGE"} & set(after.terminals):
        if "_GIVEN" in after.terminals:
            yield from (_item(f"given {name}", "open value", 1) for name in document.names.of_kind("open value"))
        return
    clauses = after.clauses
    if after.kind == "waive" and "ident" in clauses:
        yield from (_item(slug, "rule", 0) for slug in rules)
        return
    fits = kinds_that_fit(after)
    routine = after.kind in ("do", "repeat", "undo") and "ident" in clauses
    for key, use in document.names.declared.items():
        if (key.space == "routine") == routine and use.kind:
            shown = use.kind if not key.space or routine else f"{use.kind} {key.space}"
            yield _item(key.name, shown, 0 if not fits or use.kind in fits or routine else 1, use.start)


def _item(name: str, kind: str, rank: int, place: int = 0) -> lsp.CompletionItem:
    sort = f"{rank}{place:08}{name}"
    return lsp.CompletionItem(name, kind=lsp.CompletionItemKind.Variable, detail=kind, sort_text=sort)


def kinds_that_fit(after: Following) -> frozenset[str]:
    """The kinds of thing that belong where a name can stand, by what the reference says of the clause; empty where it
    names none."""
    if after.kind is None:
        return frozenset()
    fields = clause_fields(statement_classes()[after.kind])  # type: ignore[arg-type]
    clause = next((one for one in after.clauses if one in fields), None)
    said = str(fields[clause].metadata["doc"]) if clause is not None else ""
    words = {word for one in (*after.clauses[:1], said) for word in _WORD.findall(one.replace("_", " "))}
    return frozenset({main_spelling("KIND", word) for word in words} & PARAMETER_KINDS)
