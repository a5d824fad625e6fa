"""Several books held against one plan: a rule that more than one of them has is asked once, and cites for them all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from groundlint.rulebook.core import Quantity, Word
from groundlint.rulebook.layout import mistake
from groundlint.rulebook.model import Rule, Rulebook
from groundlint.text import Diagnostic, Source


class Together(NamedTuple):
    """Books made ready to be asked one after the other.

    ``books`` hold only the rules that each of them is to ask. ``under`` names the books that a rule of each of them is
    asked for, by slug. ``problems`` say where two books mean different rules by one name; both are asked then.
    """

    books: tuple[Rulebook, ...]
    under: tuple[Mapping[str, tuple[str, ...]], ...]
    problems: tuple[Diagnostic, ...]


def together(books: Sequence[Rulebook]) -> Together:
    """Put books side by side.

    A rule is asked once for all books in which it is the same rule with the same settings, at the gravest of their
    levels. Where books set it differently each asks it, so that the stricter is never lost.
    """
    first: dict[tuple[object, ...], tuple[int, str]] = {}
    rules: list[dict[str, Rule]] = [{} for _ in books]
    under: list[dict[str, tuple[str, ...]]] = [{} for _ in books]
    owners: dict[str, Rule] = {}
    problems: list[Diagnostic] = []
    for at, book in enumerate(books):
        for rule in book.rules:
            known = owners.setdefault(rule.slug, rule)
            if known.book != rule.book:
                problems.append(
                    mistake(
                        "rule-twice",
                        Source(rule.file, "").span(0, 0),
                        f"rule `{rule.slug}` stands in `{known.book}` and in `{rule.book}`, line {rule.line}; "
                        "name one of them otherwise, or take the one from the other",
                    )
                )
            place = first.setdefault((rule.slug, rule.book, *_values(rule, book)), (at, rule.slug))
            there = rules[place[0]]
            before = there.get(rule.slug)
            there[rule.slug] = rule if before is None else _merged(before, rule)
            under[place[0]][rule.slug] = (*under[place[0]].get(rule.slug, ()), book.head.name)
    kept = tuple(
        replace(book, rules=tuple(mine[slug] for slug in sorted(mine))) for book, mine in zip(books, rules, strict=True)
    )
    return Together(kept, tuple(under), tuple(problems))


def _values(rule: Rule, book: Rulebook) -> tuple[tuple[str, Quantity | Word], ...]:
    return tuple((name, book.settings[name].value) for name in book.rests_on[rule.slug])


def _merged(one: Rule, other: Rule) -> Rule:
    graver = other if other.level > one.level else one
    return graver._replace(
        cites=tuple(dict.fromkeys((*one.cites, *other.cites))),
        changes=tuple(dict.fromkeys((*one.changes, *other.changes))),
    )
