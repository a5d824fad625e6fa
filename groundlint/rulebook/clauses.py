"""The clause table of a book: what each clause of its source asks, and the rules that decide it or why none can."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import NamedTuple

from groundlint.rulebook.grammar import MistakeError
from groundlint.rulebook.layout import Clause, Layout, mistake
from groundlint.rulebook.model import Listed, Rule, Rulebook
from groundlint.text import Diagnostic, Span
from groundlint.words.rows import counted

WORDS = ("known", "asks", "rules", "beside", "messages", "undecidable")
_SHAPE = (
    '`clause "CITATION" known SOURCE asks "..."`, then one or more of `rules SLUG, SLUG`, `beside BOOK SLUG, SLUG`, '
    "`messages CODE, CODE` and "
    '`undecidable because "..."`'
)


class Entry(NamedTuple):
    """A clause as read, and where each rule that it names stands."""

    listed: Listed
    spans: tuple[Span, ...]


class _Piece(NamedTuple):
    text: str
    quoted: bool
    span: Span


def read_entry(layout: Layout, clause: Clause, book: str, sources: Sequence[str]) -> Entry:
    """Read one `clause` of a book; raises `MistakeError`. ``sources`` are the words that `known` may say."""
    pieces = _pieces(layout, clause.body)
    label = _quoted(pieces, 0, clause.body, "the citation of the clause")
    at = len(label)
    parts: dict[str, list[_Piece]] = {}
    while at < len(pieces):
        word = pieces[at]
        if word.quoted or word.text not in WORDS:
            raise MistakeError(
                mistake("unexpected-word", word.span, f"`{word.text}` cannot stand here; a clause reads {_SHAPE}")
            )
        if word.text in parts:
            raise MistakeError(mistake("clause-twice", word.span, f"`{word.text}` stands twice in this clause"))
        end = at + 1
        while end < len(pieces) and (pieces[end].quoted or pieces[end].text not in WORDS):
            end += 1
        parts[word.text] = pieces[at + 1 : end]
        at = end
    for word_ in ("known", "asks"):
        if not parts.get(word_):
            raise MistakeError(
                mistake("clause-missing", clause.word_span, f"this clause has no `{word_}`; it reads {_SHAPE}")
            )
    known = " ".join(piece.text for piece in parts["known"])
    if known not in sources:
        offered = ", ".join(f"`{source}`" for source in sources)
        raise MistakeError(mistake("unknown-word", parts["known"][0].span, f"`{known}` is not one of {offered}"))
    rules = [piece for piece in parts.get("rules", ()) if piece.text != ","]
    messages = [piece for piece in parts.get("messages", ()) if piece.text != ","]
    beside = [piece for piece in parts.get("beside", ()) if piece.text != ","]
    for piece in (*rules, *beside, *messages):
        if piece.quoted:
            raise MistakeError(mistake("unexpected-word", piece.span, "names stand here, without quotes"))
    because = ""
    if "undecidable" in parts:
        why = parts["undecidable"]
        if not why or why[0].quoted or why[0].text != "because":
            raise MistakeError(
                mistake("clause-missing", clause.word_span, '`undecidable` wants a reason: `because "..."`')
            )
        because = _joined(_all_quoted(why, 1, clause.body, "the reason"))
    if beside and len(beside) == 1:
        raise MistakeError(mistake("clause-missing", beside[0].span, "`beside` names a book and the rules of it"))
    if not rules and not beside and not messages and not because:
        raise MistakeError(
            mistake(
                "clause-undecided",
                clause.word_span,
                'a clause names `rules` that decide it, or says `undecidable because "..."`',
            )
        )
    asks = _joined(_all_quoted(parts["asks"], 0, clause.body, "what the clause asks"))
    slugs, others, codes = (tuple(piece.text for piece in pieces_) for pieces_ in (rules, beside, messages))
    listed = Listed(_joined(label), known, asks, slugs, codes, because, book, others[:1], others[1:])
    return Entry(listed, tuple(piece.span for piece in rules))


def _pieces(layout: Layout, span: Span) -> list[_Piece]:
    """Words, commas and quoted texts of a stretch."""
    text, found, at = layout.clean[span.start : span.end], [], 0
    while at < len(text):
        if text[at].isspace():
            at += 1
            continue
        start = at
        if text[at] == '"':
            at = text.find('"', at + 1)
            if at < 0 or "\n" in text[start:at]:
                whole = layout.source.span(span.start + start, span.end)
                raise MistakeError(mistake("not-a-string", whole, "a text in double quotes is closed on its line"))
            at += 1
            found.append(_Piece(text[start + 1 : at - 1].strip(), True, _within(layout, span, start, at)))
            continue
        if text[at] == ",":
            at += 1
        else:
            while at < len(text) and not text[at].isspace() and text[at] not in ',"':
                at += 1
        found.append(_Piece(text[start:at], False, _within(layout, span, start, at)))
    return found


def _within(layout: Layout, span: Span, start: int, end: int) -> Span:
    return layout.source.span(span.start + start, span.start + end)


def _quoted(pieces: Sequence[_Piece], start: int, span: Span, what: str) -> list[_Piece]:
    found: list[_Piece] = []
    for piece in pieces[start:]:
        if not piece.quoted:
            break
        found.append(piece)
    if not found or not _joined(found):
        place = pieces[start].span if start < len(pieces) else span
        raise MistakeError(mistake("not-a-string", place, f"{what} should stand here, in double quotes"))
    return found


def _all_quoted(pieces: Sequence[_Piece], start: int, span: Span, what: str) -> list[_Piece]:
    """Quoted texts and nothing after them."""
    found = _quoted(pieces, start, span, what)
    if start + len(found) < len(pieces):
        piece = pieces[start + len(found)]
        raise MistakeError(
            mistake("unexpected-word", piece.span, f"`{piece.text}` cannot stand here; a clause reads {_SHAPE}")
        )
    return found


def _joined(pieces: Iterable[_Piece]) -> str:
    return " ".join(piece.text for piece in pieces)


def cites(rule: Rule, label: str) -> bool:
    """Whether a rule cites a clause, or a part of it: ``(n)(6)`` is cited by ``(n)(6)(i)``, and not by ``(n)(60)``."""
    return any(cite.startswith(label) and not cite[len(label) :][:1].isalnum() for cite in rule.cites)


def cited(rule: Rule, listed: Listed) -> Rule:
    """The rule with the clause among what it cites."""
    if cites(rule, listed.label):
        return rule
    said = listed.label if listed.known != "from memory" else f"{listed.label} (from memory)"
    return rule._replace(cites=(*rule.cites, said))


def entry_problems(
    entry: Entry, rules: Mapping[str, Rule], book: str, nearest: Callable[[str, Iterable[str]], str | None]
) -> list[Diagnostic]:
    """What is wrong with the rules that an entry names: one is not there, or is the book's own and does not cite it."""
    found: list[Diagnostic] = []
    for slug, span in zip(entry.listed.rules, entry.spans, strict=True):
        rule = rules.get(slug)
        if rule is None:
            close = nearest(slug, rules)
            hint = f"; did you mean `{close}`?" if close else ""
            found.append(mistake("unknown-rule", span, f"no rule here is named `{slug}`{hint}"))
        elif rule.book == book and not cites(rule, entry.listed.label):
            found.append(
                mistake("clause-not-cited", span, f"`{slug}` does not cite {entry.listed.label}; add a `cites` to it")
            )
    return found


def coverage_page(book: Rulebook) -> str:
    """The clause table of a book as Markdown: clause, what it asks, what decides it, and what a plan cannot show."""
    rows = [f"# {book.head.name}", "", f"{book.head.title} ({book.head.edition}).", ""]
    for owner in dict.fromkeys(listed.book for listed in book.clauses):
        mine = [listed for listed in book.clauses if listed.book == owner]
        if owner != book.head.name:
            rows += [f"## Adopted from {owner}", ""]
        rows += ["| clause | asks | decided by |", "| --- | --- | --- |"]
        rows += [
            f"| {listed.label}{' (from memory)' if listed.known == 'from memory' else ''} "
            f"| {listed.asks} | {_decided(listed)} |"
            for listed in mine
        ]
        whole = sum(not listed.because for listed in mine)
        part = sum(bool(listed.because and (listed.rules or listed.messages or listed.beside)) for listed in mine)
        none = len(mine) - whole - part
        rows += [
            "",
            f"{counted(len(mine), 'clause')}: {whole} decided by rules, {part} in part, {none} not decidable.",
            "",
        ]
    loose = [(owner, what, because) for owner, what, because in book.undecidable]
    if loose:
        rows += ["Not decidable from a written plan, in no one clause:", ""]
        rows += [
            f"- {what}: {because}" + ("" if owner == book.head.name else f" ({owner})")
            for owner, what, because in loose
        ]
        rows.append("")
    named = {slug for listed in book.clauses for slug in listed.rules}
    rest = [rule for rule in book.rules if rule.slug not in named]
    if rest:
        rows += ["Rules that stand under no clause:", ""]
        rows += [f"- `{rule.slug}`: {'; '.join(rule.cites)} ({rule.known})" for rule in rest]
        rows.append("")
    return "\n".join(rows)


def _decided(listed: Listed) -> str:
    said = [", ".join(f"`{slug}`" for slug in listed.rules)] if listed.rules else []
    if listed.beside:
        said.append(f"in book {listed.beside[0]}: " + ", ".join(f"`{slug}`" for slug in listed.beside_rules))
    if listed.messages:
        said.append(
            "a plan that breaks it does not fit itself, and is reported: "
            + ", ".join(f"`{c}`" for c in listed.messages)
        )
    if listed.because:
        said.append(("the rest " if said else "") + f"not decidable from a plan: {listed.because}")
    return "; ".join(said)
