"""Which rules the operators aim at: data that stands with the rulebooks, in ``drills.toml`` of a book's folder.

A table for each operator: ``rule``, the rule of this book that must find the fault; ``also``, rules that the same
fault breaks as well, with ``because``; ``messages``, what is said of steps that the fault makes impossible. A book
takes over the tables of the books that it adopts and may write its own for any operator; ``rule = ""`` sets an
operator aside.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from groundlint.rulebook.load import shelf_of
from groundlint.rulebook.model import Rule, Rulebook
from groundlint.rulebook.shipped import shipped
from groundlint.teaching.operators import operators
from groundlint.text import Diagnostic, Severity, Source
from groundlint.text.toml import TomlText, or_nearest

FILE = "drills.toml"
KEYS = ("rule", "also", "because", "messages")


@dataclass(frozen=True)
class Aim:
    """What an operator aims at, in the books in use.

    ``rules`` are the slugs that must find the fault, one a book that has one; ``also`` those that the same fault may
    break too; ``messages`` the codes of what can't be done any more.
    """

    rules: tuple[str, ...] = ()
    also: frozenset[str] = frozenset()
    messages: frozenset[str] = frozenset()
    because: str = ""

    @property
    def allowed(self) -> frozenset[str]:
        """All that may be found where this fault alone was seeded."""
        return self.also | self.messages | frozenset(self.rules)


@dataclass
class _Entry:
    rule: str = ""
    also: tuple[str, ...] = ()
    because: str = ""
    messages: tuple[str, ...] = ()


def load_aims(books: Sequence[Rulebook], search: Sequence[Path] = ()) -> tuple[dict[str, Aim], tuple[Diagnostic, ...]]:
    """The aims of every operator that some book has one for. With any diagnostic they are not fit to make drills."""
    problems: list[Diagnostic] = []
    slugs = {rule.slug for book in books for rule in book.rules}
    retired = {slug for book in books for slug in book.retired}
    found: dict[str, Aim] = {}
    for book in books:
        entries: dict[str, _Entry] = {}
        for name, folder in shelf_of([*search, shipped()], book.head.name):
            own = name == book.head.name  # a book may take over only some rules of those that it adopts
            entries.update(_read(name, folder, slugs | retired if own else None, problems))
        for operator, one in entries.items():
            before = found.get(operator, Aim())
            rules = (*before.rules, one.rule) if one.rule in slugs - set(before.rules) else before.rules
            because = " ".join(dict.fromkeys(part for part in (before.because, one.because) if part))
            found[operator] = Aim(rules, before.also | set(one.also), before.messages | set(one.messages), because)
    return {name: aim for name, aim in found.items() if aim.rules}, tuple(problems)


def _read(book: str, folder: Path, slugs: set[str] | None, problems: list[Diagnostic]) -> dict[str, _Entry]:
    path = folder / FILE
    if not path.is_file():
        return {}
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        span = Source(f"{book}/{FILE}", "").span(0, 0)
        problems.append(
            Diagnostic("unreadable-drills", span, f"it can't be read: {error}", Severity.DANGER, unread=True)
        )
        return {}
    return read_aims(Source(f"{book}/{FILE}", text), slugs, problems)


def read_aims(source: Source, slugs: set[str] | None, problems: list[Diagnostic]) -> dict[str, _Entry]:
    """The tables of one file, checked against the operators and, where given, the rules that there are."""
    toml = TomlText(source)
    found: dict[str, _Entry] = {}
    for operator, table in toml.table.items():
        if operator not in operators():
            toml.complain(
                "unknown-operator", (operator,), f"no operator is named {operator}{or_nearest(operator, operators())}"
            )
            continue
        if not isinstance(table, dict):
            toml.complain(
                "wrong-kind", (operator,), f"`{operator}` is to be a table", f"begin it with a line [{operator}]"
            )
            continue
        toml.known((operator,), table, KEYS)
        one = _Entry(
            toml.text((operator,), table, "rule"),
            toml.texts((operator,), table, "also"),
            toml.text((operator,), table, "because"),
            toml.texts((operator,), table, "messages"),
        )
        for key, names in (("rule", (one.rule,) if one.rule else ()), ("also", one.also)):
            for slug in names:
                if slugs is not None and slug not in slugs:
                    said = f"no rule of the books in use is named {slug}{or_nearest(slug, slugs)}"
                    toml.complain("unknown-rule", (operator, key), said)
        if one.also and not one.because:
            said = f"`also` of {operator} names rules and gives no reason"
            toml.complain("no-reason", (operator, "also"), said, 'add a line because = "..."')
        found[operator] = one
    problems.extend(toml.problems)
    return found


def rules_by_slug(books: Sequence[Rulebook]) -> Mapping[str, Rule]:
    """Every rule of the books, the first book's where several have one."""
    found: dict[str, Rule] = {}
    for book in books:
        for rule in book.rules:
            found.setdefault(rule.slug, rule)
    return found


__all__ = ["Aim", "load_aims", "read_aims", "rules_by_slug"]
