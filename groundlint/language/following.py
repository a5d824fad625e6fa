"""What can stand next in a statement that is being written, read off the parser's own tables."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import NamedTuple

from groundlint.language.driver import Driver, Failed
from groundlint.language.reader import driver
from groundlint.language.reference import first_words
from groundlint.language.statements import statement_classes

END = "$END"


class Following(NamedTuple):
    """Where a statement stops: the terminals that can stand next, the kind of statement that it is, None before its
    first word, and the clauses of that kind that a name would stand in, the narrowest first."""

    terminals: tuple[str, ...]
    kind: str | None
    clauses: tuple[str, ...]


def following(text: str) -> Following | None:
    """What can stand after the words of a text, which is whole words from the beginning of a statement; None where they
    begin none."""
    reads, stack = driver(), [driver().start]
    at, first = 0, ""
    while True:
        try:
            terminal, _, after = reads.next(stack[-1], text, at)
        except Failed:
            return None
        if terminal == END:
            break
        if not _take(reads, stack, terminal):
            return None
        first, at = first or terminal, after
    terminals = tuple(name for name in _known(reads) if _take(reads, list(stack), name))
    kind = kinds_by_first_word().get(first)
    named = list(stack)
    clauses = tuple(_clauses(reads, named)) if _take(reads, named, "NAME") else ()
    return Following(terminals, kind, clauses)


def _take(reads: Driver, stack: list[int], terminal: str) -> bool:
    """Puts a terminal on a stack of states, with what is read before it; false where it can't stand there."""
    while True:
        target = reads.shifts[stack[-1]].get(terminal)
        if target is not None:
            stack.append(target)
            return True
        rule = reads.reductions[stack[-1]].get(terminal)
        if rule is None:
            return False
        if rule.size:
            del stack[-rule.size :]
        stack.append(reads.shifts[stack[-1]][rule.origin])
        if stack[-1] == reads.end:
            return terminal == END


def _clauses(reads: Driver, stack: list[int]) -> Iterator[str]:
    """The rules that are read once no more of each stands there."""
    while True:
        rules = reads.reductions[stack[-1]]
        rule = rules.get(END) or next(iter(rules.values()), None)
        if rule is None:
            return
        if not rule.origin.startswith("_"):
            yield rule.origin
        if rule.size:
            del stack[-rule.size :]
        target = reads.shifts[stack[-1]].get(rule.origin)
        if target is None or target == reads.end:
            return
        stack.append(target)


@cache
def _known(reads: Driver) -> tuple[str, ...]:
    """Every terminal, in the order of its name, and the end."""
    return (*sorted(name for name in reads.tables.patterns if name not in reads.tables.ignored), END)


@cache
def kinds_by_first_word() -> dict[str, str]:
    """The kind of statement that begins with a terminal."""
    return {terminal: kind for kind in statement_classes() for terminal in first_words(kind)}
