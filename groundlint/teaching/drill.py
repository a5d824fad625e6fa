"""Exercises: a sound plan with known faults seeded, each proven by review, and all that the key has to say of them.

A fault is taken only if the rules that its operator aims at find it and nothing is found beside what the aims say that
the same fault breaks; several in one plan are proven one by one and then together. The same plan, books and seed give
the same exercise.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from random import Random
from typing import NamedTuple

from groundlint.findings.model import Finding, Review
from groundlint.language.writer import write_statement
from groundlint.review import Reviewer
from groundlint.rulebook.model import Rule
from groundlint.teaching.aims import Aim, rules_by_slug
from groundlint.teaching.bench import Bench, Row, Sheet
from groundlint.teaching.operators import Operator, operators
from groundlint.text import Source
from groundlint.values import Truth

CHOICES = 8
"""Reasons offered beside the right ones."""


class Shown(NamedTuple):
    """A line of the sound plan beside that of the spoiled one: what was done, the words before and after, the line."""

    sort: str
    before: str
    after: str
    line: int | None


@dataclass(frozen=True)
class Fault:
    """One seeded fault, as the key has it. ``lines`` are those of the exercise where it was seeded, counted from 1;
    ``found`` is what the review says of it, by the rules that it aims at first, then by what the same fault breaks."""

    operator: Operator
    aim: Aim
    changes: tuple[Shown, ...]
    lines: tuple[int, ...]
    found: tuple[Finding, ...]


@dataclass(frozen=True)
class Choice:
    """A reason on the answer sheet."""

    letter: str
    slug: str
    title: str


@dataclass(frozen=True)
class Exercise:
    """A spoiled plan with its key. ``sound`` is the text that it was made of, laid out in the same way."""

    name: str
    seed: int
    level: int
    plan: Source
    sound: str
    faults: tuple[Fault, ...]
    choices: tuple[Choice, ...]
    review: Review


class Proof(NamedTuple):
    """What the review of a seeded plan came to: whether each aim was found, and what else."""

    found: bool
    beside: tuple[str, ...]

    @property
    def good(self) -> bool:
        """Whether the fault is found and nothing else is broken."""
        return self.found and not self.beside


def proof(review: Review, aims: Iterable[Aim]) -> Proof:
    """Hold a review against what the seeded faults should come to."""
    seen = {finding.slug for finding in review.open_findings}
    wanted = list(aims)
    allowed = frozenset().union(*(aim.allowed for aim in wanted))
    return Proof(all(seen >= set(aim.rules) for aim in wanted), tuple(sorted(seen - allowed)))


class Drills:
    """Makes exercises of one sound plan.

    ``home`` is the plan on the bench; ``aims`` those of the books that ``reviewer`` has.
    """

    def __init__(self, home: Bench, reviewer: Reviewer, aims: Mapping[str, Aim]) -> None:
        self.home = home
        self.reviewer = reviewer
        self.aims = aims
        self.rules = rules_by_slug(reviewer.books)
        self._sheets: dict[str, list[Sheet]] = {}

    def sound(self) -> Review:
        """The review of the plan as it is; an exercise is made of a plan with no open finding."""
        return self.reviewer.review(self.home.source)

    def usable(self, names: Sequence[str] = (), groups: Sequence[str] = (), level: int | None = None) -> list[Operator]:
        """The operators that the books have aims for and that this plan has a place for."""
        return [
            one
            for one in operators().values()
            if one.name in self.aims
            and (not names or one.name in names)
            and (not groups or one.group in groups)
            and (level is None or one.level == level)
            and self.sheets(one)
        ]

    def sheets(self, operator: Operator) -> list[Sheet]:
        """Every place at which an operator can spoil this plan."""
        if operator.name not in self._sheets:
            self._sheets[operator.name] = list(operator.spoil(self.home))
        return self._sheets[operator.name]

    def proven(self, operator: Operator, rng: Random) -> Iterator[Sheet]:
        """The sheets of an operator in a drawn order, those alone whose fault is found with nothing beside."""
        sheets = list(self.sheets(operator))
        rng.shuffle(sheets)
        for sheet in sheets:
            if proof(self.review(sheet), [self.aims[operator.name]]).good:
                yield sheet

    def review(self, sheet: Sheet) -> Review:
        """The review of a sheet as it would be handed out."""
        return self.reviewer.review(Source("exercise.tpg", self.home.written(sheet)))

    def exercise(
        self,
        name: str,
        seed: int,
        count: int = 1,
        *,
        level: int | None = None,
        names: Sequence[str] = (),
        groups: Sequence[str] = (),
        unlike: frozenset[str] = frozenset(),
    ) -> Exercise | None:
        """An exercise of ``count`` faults; None where the plan does not take so many of the kind.

        ``unlike`` are operators that are drawn only where no others are left.
        """
        rng = Random(f"drill {seed}")
        wanted = self.usable(names, groups, level)
        rng.shuffle(wanted)
        wanted.sort(key=lambda one: one.name in unlike)
        taken: list[tuple[Operator, Sheet]] = []
        whole = self.home.sheet
        for operator in wanted:
            if len(taken) == count:
                break
            aims = [self.aims[one.name] for one, _ in taken]
            mine = self.aims[operator.name]
            if any(set(mine.rules) & aim.allowed or set(aim.rules) & mine.allowed for aim in aims):
                continue  # two faults that one rule finds could not be kept apart
            for sheet in self.proven(operator, rng):
                both = whole.with_all_of(sheet)
                if both is not None and (not taken or proof(self.review(both), [*aims, mine]).good):
                    whole = both
                    taken.append((operator, sheet))
                    break
        if len(taken) < count:
            return None
        return self._finished(name, seed, level or max(one.level for one, _ in taken), whole, taken, rng)

    def _finished(
        self, name: str, seed: int, level: int, whole: Sheet, taken: list[tuple[Operator, Sheet]], rng: Random
    ) -> Exercise:
        plan = Source(f"{name}.tpg", self.home.written(whole))
        review = self.reviewer.review(plan)
        lines = self.home.lines(whole, plan)
        faults = []
        for operator, sheet in taken:
            aim = self.aims[operator.name]
            own = {(one.slug, one.message) for one in self.review(sheet).open_findings}
            found = [one for one in review.open_findings if one.slug in self.rules and (one.slug, one.message) in own]
            found.sort(key=lambda one: one.slug not in aim.rules)
            changed = _shown(self.home, sheet, lines)
            faults.append(Fault(operator, aim, changed, _pointing(self.home, sheet, lines), tuple(found)))
        faults.sort(key=lambda one: one.lines)
        return Exercise(
            name,
            seed,
            level,
            plan,
            self.home.written(self.home.sheet),
            tuple(faults),
            self._choices(faults, review, rng),
            review,
        )

    def _choices(self, faults: Sequence[Fault], review: Review, rng: Random) -> tuple[Choice, ...]:
        """The right reasons among others: rules that other operators aim at and that this plan meets, those of the same
        subjects first."""
        met = {outcome.rule.slug for outcome in review.outcomes if outcome.truth is Truth.TRUE}
        right = {aim_rule for fault in faults for aim_rule in fault.aim.rules}
        broken = {slug for fault in faults for slug in fault.aim.allowed}
        groups = {fault.operator.group for fault in faults}
        near: dict[str, None] = {}
        far: dict[str, None] = {}
        for one in operators().values():
            for slug in self.aims[one.name].rules if one.name in self.aims else ():
                if slug in met - broken:
                    (near if one.group in groups else far)[slug] = None
        others = list(near), [slug for slug in far if slug not in near]
        for group in others:
            rng.shuffle(group)
        offered = sorted({*right, *[*others[0], *others[1]][:CHOICES]}, key=self._title)
        return tuple(Choice(_letter(at), slug, self._title(slug)) for at, slug in enumerate(offered))

    def _title(self, slug: str) -> str:
        rule: Rule | None = self.rules.get(slug)
        return rule.title if rule is not None else slug


def _letter(at: int) -> str:
    return chr(ord("A") + at) if at < 26 else f"A{chr(ord('A') + at - 26)}"


def _words(home: Bench, row: Row | None) -> str:
    return "" if row is None else write_statement(row.statement, home.text.tradition == "earth")


def _shown(home: Bench, sheet: Sheet, lines: Mapping[Row, int]) -> tuple[Shown, ...]:
    return tuple(
        Shown(
            change.sort,
            _words(home, change.before),
            _words(home, change.after),
            None if change.after is None else lines.get(change.after),
        )
        for change in sheet.changes
    )


def _pointing(home: Bench, sheet: Sheet, lines: Mapping[Row, int]) -> tuple[int, ...]:
    """The lines by which a reader may point a fault out: what was changed, put in or moved, and what stands around
    what was left out."""
    rows: set[Row] = set()
    for change in sheet.changes:
        if change.after is not None:
            rows.add(change.after)
        if change.before is not None and change.sort in ("left out", "moved"):
            rows.update(_around(home, change.before, lines))
    return tuple(sorted({lines[row] for row in rows if row in lines}))


def _around(home: Bench, gone: Row, lines: Mapping[Row, int]) -> Iterator[Row]:
    """The next rows above and below a row of the sound plan that still stand in the exercise."""
    rows = home.sheet.rows
    at = rows.index(gone)
    for part in (reversed(rows[:at]), iter(rows[at + 1 :])):
        for row in part:
            if row.owner is gone.owner and row in lines:
                yield row
                break


__all__ = ["CHOICES", "Choice", "Drills", "Exercise", "Fault", "Proof", "Shown", "proof"]
