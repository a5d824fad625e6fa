"""What could be written next in a file of a book: clauses and words of the rule language, and by their place kinds,
steps and happenings, facts, things that the rule names, conditions, settings, rules and books."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import TypeAlias

from lsprotocol import types as lsp

from groundlint.facts import CATALOGUE
from groundlint.facts.catalogue import PLAN, TRUTH
from groundlint.language.following import following
from groundlint.rulebook.books import BLOCKS, BOOK_CLAUSES
from groundlint.rulebook.grammar import ClauseWord, begun
from groundlint.rulebook.layout import EXAMPLES, MARKERS, Block, Layout, lay_out
from groundlint.rulebook.reference import clause_meaning, word_meanings
from groundlint.rulebook.rules import CLAUSES, LACKABLE, LEVELS, REPAIRS, SOURCES
from groundlint.serving.completion import keywords
from groundlint.serving.document import Document
from groundlint.text import Source

_PARTIAL = re.compile(r"[\w-]*\Z")
_EXAMPLE = re.compile(r"\s+[" + re.escape(MARKERS) + r"] ?([^#]*)\Z")
_STARTS = {"at": "occasion", "for": "things", "mark": "mark"} | dict.fromkeys(
    ("while", "where", "unless", "require"), "condition"
)
"""Clauses of a rule that the grammar reads, and where it starts."""
_OF_STEPS = ("NAME", "TO", "AT", "BY")
_NAMED = {
    "rule": ("take", "raise", "lower", "retire", "may-waive", "may-not-waive", "rules"),
    "book": ("adopt", "from", "beside"),
    "setting": ("set",),
    "base": ("on",),
}
"""What is named after a word of a clause that the grammar does not read."""
_CHOICES = {"level": LEVELS, "known": SOURCES, "stable": ("yes", "no"), "lacks": LACKABLE, "to": LEVELS}
_JOINING = ("from", "to", "known", "asks", "because")

Offer: TypeAlias = tuple[str, int, str]
"""A word, its rank (0 things that the rule names, 1 names, 2 words of the language), and what it is."""


def completions(document: Document, offset: int, declared: Mapping[str, Iterable[str]]) -> list[lsp.CompletionItem]:
    """What could stand at a place. ``declared`` are the names in the books at hand: of each ``rule``, ``condition``,
    ``setting``, ``book`` and ``base``."""
    before = document.text[:offset]
    partial = _PARTIAL.search(before)
    assert partial is not None  # it matches nothing too
    where = document.lines.range(partial.start(), offset)
    kinds = (lsp.CompletionItemKind.Variable, lsp.CompletionItemKind.Variable, lsp.CompletionItemKind.Keyword)
    return [
        lsp.CompletionItem(
            word, kind=kinds[rank], detail=said or None, sort_text=f"{rank}{word}", text_edit=lsp.TextEdit(where, word)
        )
        for word, rank, said in dict.fromkeys(_could_stand(before[: partial.start()], declared))
    ]


def _could_stand(before: str, declared: Mapping[str, Iterable[str]]) -> Iterator[Offer]:
    """What could stand after a text: a letter is put there to see into what block and clause it falls."""
    layout, at = lay_out(Source("", before + "x")), len(before)
    line = before[before.rfind("\n") + 1 :]
    example = _EXAMPLE.match(line)
    if layout.clean[at] != "x":
        after = following(example[1]) if example is not None else None
        yield from ((one.label, 2, one.detail or "") for one in (keywords(after, False) if after is not None else ()))
        return
    if line.count('"') % 2:
        return
    block = layout.blocks[-1] if layout.blocks else None
    clause = block.clauses[-1] if block is not None and block.clauses else None
    if block is None or block.word_span.start == at:
        yield from ((word, 2, "") for word in BLOCKS)
    elif block.word == "condition":
        yield from _in_grammar(layout.clean[block.head.start : at], "definition", {}, declared)
    elif clause is not None and clause.word_span.start == at:
        book = block.word == "book"
        yield from ((word, 2, clause_meaning(word, book)) for word in (BOOK_CLAUSES if book else CLAUSES))
    elif clause is not None and clause.body.start <= at:
        body = layout.clean[clause.body.start : at]
        step = re.match(r"(?:or\s+)?(?:before|after|bring|defer)\s", body) if clause.word == "repair" else None
        if step is not None:
            yield from _in_grammar(body[step.end() :], "mark", _names_of(layout, block), declared)
        elif block.word == "rule" and clause.word in _STARTS:
            yield from _in_grammar(body, _STARTS[clause.word], _names_of(layout, block), declared)
        else:
            yield from _in_words(clause.word, body, block.word == "book", declared)


def _in_words(clause: str, body: str, in_book: bool, declared: Mapping[str, Iterable[str]]) -> Iterator[Offer]:
    """What belongs after the last word of a clause that the grammar does not read; in a list, after the word before
    it."""
    words = [clause, *re.sub(r'"[^"]*"', '"', body).split()]
    at = len(words) - 1
    while words[at].endswith(","):
        at -= 1
    kind = next((kind for kind, after in _NAMED.items() if words[at] in after), None)
    if words[at] in _CHOICES:
        yield from ((choice, 1, "") for choice in _CHOICES[words[at]])
    elif kind is not None:
        yield from ((name, 1, kind) for name in declared.get(kind, ()))
    elif clause == "repair" and words[1:] in ([], ["or"]):
        yield from ((word, 2, "") for word in REPAIRS)
    elif clause in EXAMPLES:
        yield from [("on", 2, "")] * (len(words) == 1)
    else:
        shape = re.search(rf"`{clause} ([^`]*)`", clause_meaning(clause, in_book))
        joining = [word for word in _JOINING if shape is not None and word in shape[1].split() and word not in words]
        if shape is not None and (len(words) > 1 or shape[1].startswith(tuple(joining))):
            yield from ((word, 2, "") for word in joining)


# ---- what the grammar reads ----


def _in_grammar(
    text: str, start: str, bound: Mapping[str, str], declared: Mapping[str, Iterable[str]]
) -> Iterator[Offer]:
    """What can stand after the words of a clause, by the grammar's own tables, and the names that belong there."""
    clause = begun(text, start)
    if clause is None:
        return
    tokens = clause.words
    place, step = _place(tokens, start)
    leads = _OF_STEPS if place in ("step", "slot", "which") else ()
    yield from ((word, 2, "") for word in clause.keywords if word.upper() not in leads)
    if not clause.name:
        return
    things = {**bound, **_bound_in(tokens, start)}
    if place == "value" or (place == "slot" and start != "occasion"):
        yield from ((name, 0, kind) for name, kind in things.items())
    yield from ((name, 1, said) for name, said in _names(place, step, tokens, things, declared))


def _place(tokens: Sequence[ClauseWord], start: str) -> tuple[str, str]:
    """What belongs after some words: a ``kind``, a ``step`` or ``which`` of them, a ``slot`` of the step given beside
    it, a ``truth``, a ``value``, or a ``new`` name."""
    types = [one.type for one in tokens]
    run = len(types)
    while run and types[run - 1] in _OF_STEPS:
        run -= 1
    if start in ("occasion", "mark") if not run else types[run - 1] == "_DID":
        words = [one.text for one in tokens[run:]]
        if start == "mark":
            if not words:
                return "which", ""
            del words[0]
        return ("slot", words[0]) if words else ("step", "")
    if start == "occasion":
        return "every", ""
    if start == "definition" and "_MEANS" not in types and not (types[-1:] == ["NAME"] and _opens(types[:-1], start)):
        return "new", ""
    if _opens(types, start) or (types[-1:] == ["NAME"] and _opens(types[:-1], start)):
        return "kind", ""
    return ("truth" if types[-1:] == ["_IS"] or types[-2:] == ["_IS", "NOT"] else "value"), ""


def _opens(types: Sequence[str], start: str) -> bool:
    """Whether a thing is named next, with its kind or by it."""
    last = types[-1:]
    if start == "definition" and "_MEANS" not in types:
        return last in (["LPAR"], ["COMMA"])
    if start == "things" and "_WHERE" not in types:
        return last in ([], ["COMMA"])
    return last == ["QUANTIFIER"] or types[-2:] == ["_COUNT", "_OF"]


def _bound_in(tokens: Sequence[ClauseWord], start: str) -> dict[str, str]:
    """The things that a clause names, with their kinds."""
    types = [one.type for one in tokens]
    return {
        one.text: (other if other.type == "NAME" else one).text
        for at, (one, other) in enumerate(pairwise([*tokens, ClauseWord("", "")]))
        if one.type == "NAME" and _opens(types[:at], start)
    }


def _names_of(layout: Layout, block: Block) -> dict[str, str]:
    """The things that a rule names in `at` and `for`, with their kinds, and those that every rule knows."""
    found = {"it": "the step", PLAN: "the plan"}
    for clause in block.clauses:
        if clause.word not in ("at", "for"):
            continue
        read = begun(layout.clean[clause.body.start : clause.body.end], _STARTS[clause.word])
        tokens = read.words if read is not None else ()
        if clause.word == "for":
            found |= _bound_in(tokens, "things")
        elif tokens and tokens[0].text in CATALOGUE.steps:
            slots = CATALOGUE.steps[tokens[0].text].slots
            kinds = {slot.name: slot.kind for slot in slots}
            leads = {slot.preposition for slot in slots}
            narrowed = False
            for one, other in pairwise([*tokens[1:], ClauseWord("", "")]):
                names = one.type == "NAME" and one.text not in leads and not narrowed
                narrowed = names and other.type == "NAME" and other.text in CATALOGUE.kinds
                if names and (narrowed or one.text in kinds):
                    found[one.text] = other.text if narrowed else kinds[one.text]
    return found


def _names(
    place: str,
    step: str,
    tokens: Sequence[ClauseWord],
    things: Mapping[str, str],
    declared: Mapping[str, Iterable[str]],
) -> Iterator[tuple[str, str]]:
    """Names of the catalogue and of the books that belong at a place, each with what it is."""
    facts = list(CATALOGUE.facts.values())
    if place == "which":
        yield from (("first", ""), ("last", ""))
    elif place == "every":
        yield "step", ""
    elif place == "step":
        yield from ((name, one.meaning) for name, one in CATALOGUE.steps.items())
    elif place == "slot":
        for slot in CATALOGUE.steps[step].slots if step in CATALOGUE.steps else ():
            if slot.name not in things:
                yield slot.name, f"{slot.kind} of `{step}`"
            if slot.preposition is not None:
                yield slot.preposition, f"{slot.name} of `{step}`"
    elif place == "kind":
        yield from ((name, one.meaning) for name, one in CATALOGUE.kinds.items())
    elif place in ("truth", "value"):
        subject = _subject(tokens, things) if place == "truth" else ""
        if place == "truth" and subject in CATALOGUE.kinds:
            facts = [
                one for one in facts if CATALOGUE.is_a(subject, one.subject) or CATALOGUE.is_a(one.subject, subject)
            ]
        for name in dict.fromkeys(fact.name for fact in facts if (fact.returns == TRUTH) == (place == "truth")):
            yield name, "; ".join(word_meanings(name, CATALOGUE))
        if tokens and tokens[-1].type == "SIGN":
            choices = {word for fact in facts if not isinstance(fact.returns, str) for word in fact.returns}
            yield from ((word, "a word that a fact gives") for word in sorted(choices))
        if place == "value":
            yield from ((name, kind) for kind in ("condition", "setting") for name in declared.get(kind, ()))


def _subject(tokens: Sequence[ClauseWord], things: Mapping[str, str]) -> str:
    """The kind of the thing of which a truth is asked, before `is` or `is not`; empty where it is a fact's value."""
    before = [one for one in tokens if one.type != "NOT"][:-1]
    of_another = len(before) > 1 and before[-2].type in ("_OF", "TO")
    return things.get(before[-1].text, "") if before and not of_another else ""
