"""Rules and rulebooks, checked and ready to evaluate. Named tuples, for the reason given in `core`."""

from __future__ import annotations

import pickle
from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf
from typing import NamedTuple, TypeAlias

from groundlint.facts.catalogue import Kind
from groundlint.rulebook.core import Condition, Count, Did, Formula, Node, Quantity, Setting, Term, Word
from groundlint.text import Severity

DAY = 86_400.0


class Later(NamedTuple):
    """A placeholder that is said of the world after the step: ``{after exposure of worker to source}``."""

    of: Term


class Those(NamedTuple):
    """A placeholder that names each thing that is surely so: ``{names of person where person is in-place}``."""

    of: Count


Template: TypeAlias = tuple["str | Term | Later | Those", ...]
"""A message: text, and terms to be said in it."""


class SlotName(NamedTuple):
    """A slot of a step and the name that it binds; ``kind`` narrows the occasion to things of that kind."""

    slot: str
    name: str
    kind: Kind
    narrowed: bool


class Occasion(NamedTuple):
    """When a rule asks.

    ``step`` is a kind of step or happening, or ``None``; ``every`` is true for ``at every step``; ``lasting`` for
    ``while``, which asks of the world before the first step, after each, and at the end. With none of these, the rule
    asks at the end. ``things`` are the names of a ``for`` clause with their kinds; with a step as well, it asks for
    each pair.
    """

    step: str | None
    every: bool
    slots: tuple[SlotName, ...]
    things: tuple[tuple[str, Kind], ...]
    lasting: bool = False


class Demand(NamedTuple):
    """One ``require`` with the message for when it fails, its text as written, and what to do then."""

    condition: Formula
    say: Template
    text: str
    mend: Template | None = None


class Mark(NamedTuple):
    """The step at whose line a finding is reported: the first or the last that matches."""

    last: bool
    step: Did


class Repair(NamedTuple):
    """What a rule offers to write into the plan.

    ``how`` is ``before`` or ``after``, a line beside the step that is reported, or beside another ``step``; ``add``,
    words at its end, or for the ``words`` that it has; ``swap``, its ends in the other order; ``bring``, another
    ``step`` moved up to before it; ``defer``, it moved down to after another; ``number``, numbers for the steps that
    have none. The other step is looked for after the one that is reported. With ``instead`` it begins what is offered
    where the repairs above it can't be made.
    """

    how: str
    text: Template = ()
    step: Mark | None = None
    instead: bool = False
    words: str = ""

    @property
    def answers_gaps(self) -> bool:
        """Whether it is offered where a rule is not shown too: a step that is done, done sooner, or done in a stated
        way, but no other order of what may be right as it is."""
        return self.how not in ("swap", "defer")


class Change(NamedTuple):
    """What an adopting book changed of a rule or a setting, and why."""

    book: str
    what: str
    because: str


class Rule(NamedTuple):
    """A rule. ``file`` and ``line`` say where it stands; its text as written is on the `Shelf`. ``title`` is its
    ``heading`` with the values of the settings that are in force in the book."""

    slug: str
    book: str
    level: Severity
    title: str
    cites: tuple[str, ...]
    known: str
    because: str
    occasion: Occasion
    trigger: Formula | None
    demands: tuple[Demand, ...]
    mark: Mark | None
    stable: bool
    file: str
    line: int
    changes: tuple[Change, ...] = ()
    lacks: tuple[tuple[str, str], ...] = ()
    """Kinds of example that there can be none of, each with the reason."""
    repairs: tuple[Repair, ...] = ()
    words: str = ""
    """Why the rule asks at a kind of step, although happenings say what steps of that kind do."""
    heading: Template = ()

    def titled(self, settings: Mapping[str, NamedSetting]) -> Rule:
        """The rule with its title as these settings have it."""
        parts = (settings[part.name].said if isinstance(part, Setting) else str(part) for part in self.heading)
        return self._replace(title="".join(parts))

    def nodes(self) -> tuple[Node, ...]:
        """The conditions of the rule and the terms of its messages."""
        said = [self.heading, *(repair.text for repair in self.repairs)]
        said += [text for demand in self.demands for text in (demand.mend or (), demand.say)]
        found: list[Node] = [demand.condition for demand in self.demands]
        found += [
            part.of if isinstance(part, Later | Those) else part
            for template in said
            for part in template
            if not isinstance(part, str)
        ]
        found += [node for node in (self.trigger, self.mark.step if self.mark else None) if node is not None]
        return tuple(found)


class NamedSetting(NamedTuple):
    """A value that rules name; ``choices`` is empty for a quantity."""

    name: str
    value: Quantity | Word
    choices: tuple[str, ...]
    known: str
    because: str
    book: str
    changes: tuple[Change, ...] = ()

    @property
    def said(self) -> str:
        """Its value as a book writes it."""
        return self.value.text if isinstance(self.value, Quantity) else self.value.word


class Example(NamedTuple):
    """A plan, as a base and lines against it, with the outcome that the rule must have on it."""

    rule: str
    sort: str
    base: str
    lines: tuple[tuple[str, str], ...]
    file: str
    line: int


class Shelf(NamedTuple):
    """What only the reference and the checks of examples need.

    Examples, base plans by book and name, and the texts of rules and conditions as written, by name.
    """

    examples: tuple[Example, ...]
    bases: Mapping[tuple[str, str], str]
    rule_texts: Mapping[str, str]
    condition_texts: Mapping[str, str]


class Listed(NamedTuple):
    """A clause of a book's source, with what decides it.

    ``label`` is the citation, ``asks`` its demand in our words. ``messages`` are codes of what reading and replaying a
    plan says of itself. ``beside`` is a book that is asked beside this one and decides by ``beside_rules``: its rules
    are not this book's. ``because`` says what of the clause a written plan cannot show; it is empty where rules
    and messages decide all of it.
    """

    label: str
    known: str
    asks: str
    rules: tuple[str, ...]
    messages: tuple[str, ...]
    because: str
    book: str
    beside: tuple[str, ...] = ()
    beside_rules: tuple[str, ...] = ()


class Head(NamedTuple):
    """What a book says of itself."""

    name: str
    title: str
    scope: str
    edition: str
    adopts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Rulebook:
    """A book with all that it adopts. Rules are in the order of their slugs."""

    head: Head
    rules: tuple[Rule, ...]
    conditions: Mapping[str, Condition]
    settings: Mapping[str, NamedSetting]
    retired: Mapping[str, Change]
    undecidable: tuple[tuple[str, str, str], ...]
    """Book, clause, and why a plan cannot show it."""
    rests_on: Mapping[str, tuple[str, ...]]
    """The settings that each rule rests on, by slug."""
    packed: bytes = field(repr=False)
    """The `Shelf`, pickled by itself so that a review does not pay for it."""
    clauses: tuple[Listed, ...] = ()
    """The clauses of the source, in the order of the book file."""
    unwaivable: Mapping[str, Change] = field(default_factory=dict)
    """Rules that no plan may waive, by slug."""
    waivable: Mapping[str, Change] = field(default_factory=dict)
    """Rules that a revision of a plan may begin to waive and be no worse, by slug."""

    def rule(self, slug: str) -> Rule | None:
        """The rule of that name."""
        return next((rule for rule in self.rules if rule.slug == slug), None)

    @property
    def longest_waiver(self) -> float:
        """Days for which a waiver may stand from the plan's date, by the setting ``waiver-longest``; infinity where the
        book has none."""
        setting = self.settings.get("waiver-longest")
        return setting.value.si / DAY if setting is not None and isinstance(setting.value, Quantity) else inf

    def shelf(self) -> Shelf:
        """Examples and base plans."""
        shelf: Shelf = pickle.loads(self.packed)
        return shelf
