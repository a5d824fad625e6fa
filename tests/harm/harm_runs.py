"""Plans held against the oracle and a review, many at a time; what is harmed and clean all the same is shrunk."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field

from crowd import reviewed
from harm_plans import unsound
from hazards import Harm, harms

from groundlint.reading.resolve import read_plan
from groundlint.text import Severity, Source
from groundlint.timeline import replay


@dataclass(frozen=True)
class Outcome:
    """One plan: what harms in it, by the kind of step, whether its review is clean, and the danger that it tells of."""

    text: str
    harms: tuple[tuple[str, str, str], ...]  # kind of hazard, kind of step, what
    clean: bool
    circuit: bool  # not clean by what was computed of the circuit alone
    whole: bool  # read whole, and nothing in it impossible
    dangers: tuple[str, ...]


def hold(text: str, computed: bool = False, harmful: bool = False) -> Outcome:
    """One plan, held against both. A plan that is not read whole, or that has a step that cannot be done, is not clean
    whatever the rules find, and is not held against them; with ``harmful`` nor is one that harms nobody."""
    read = read_plan(Source("plan.tpg", text))
    harmed: list[Harm] = harms(read.plan)
    actions = read.plan.actions
    found = tuple((one.kind, actions[one.action].kind, f"{one.who}: {one.what}") for one in harmed)
    problems = (*read.diagnostics, *replay(read.plan).problems)
    if any(one.unread or one.severity >= Severity.WARNING for one in problems) or (harmful and not found):
        return Outcome(text, found, False, False, not problems, ())
    review = reviewed(text, computed=computed)
    clean = review.status() == 0
    circuit = False
    if clean and not computed and found:
        clean = reviewed(text, computed=True).status() == 0
        circuit = not clean
    dangers = {one.slug for one in review.open_findings if one.level is Severity.DANGER}
    return Outcome(text, found, clean, circuit, not problems, tuple(dangers))


@dataclass
class Tally:
    """Many plans: how many, how many harm, by kind, the misses, and the danger reported where there is no harm."""

    plans: int = 0
    whole: int = 0
    clean: int = 0
    circuit: int = 0
    harmful: int = 0
    kinds: Counter[str] = field(default_factory=Counter)
    only: Counter[str] = field(default_factory=Counter)
    misses: list[Outcome] = field(default_factory=list)
    harmless: int = 0
    dangers: Counter[str] = field(default_factory=Counter)
    wary: dict[str, str] = field(default_factory=dict)

    def add(self, one: Outcome) -> None:
        self.plans += 1
        self.whole += one.whole
        self.clean += one.clean
        self.circuit += one.circuit
        if one.harms:
            self.harmful += 1
            kinds = {kind for kind, _step, _what in one.harms}
            self.kinds.update(kinds)
            if one.whole:
                self.only.update(kinds)
            if one.clean:
                self.misses.append(one)
        elif one.whole:
            self.harmless += 1
            self.dangers.update(one.dangers)
            for rule in one.dangers:
                self.wary.setdefault(rule, one.text)

    def merge(self, other: Tally) -> None:
        self.plans += other.plans
        self.whole += other.whole
        self.clean += other.clean
        self.circuit += other.circuit
        self.harmful += other.harmful
        self.kinds.update(other.kinds)
        self.only.update(other.only)
        self.misses += other.misses
        self.harmless += other.harmless
        self.dangers.update(other.dangers)
        self.wary = {**other.wary, **self.wary}


def run(task: tuple[int, range, bool, bool]) -> Tally:
    """A stretch of plans of one seed."""
    seed, indices, computed, harmful = task
    tally = Tally()
    for index in indices:
        tally.add(hold(unsound(seed, index), computed, harmful))
    return tally


def run_all(
    seed: int, count: int, jobs: int, circuit: int = 0, harmful: bool = False, chunk: int = 240
) -> Iterable[Tally]:
    """``count`` plans, and ``circuit`` others with the circuit computed, in stretches, as they are done."""
    few, every = max(chunk // 10, 1), count + circuit
    tasks = [(seed, range(at, min(at + chunk, count)), False, harmful) for at in range(0, count, chunk)]
    tasks += [(seed, range(at, min(at + few, every)), True, harmful) for at in range(count, every, few)]
    if jobs == 1:
        yield from map(run, tasks)
        return
    with ProcessPoolExecutor(max_workers=jobs) as pool:
        yield from pool.map(run, tasks)


def shrunk(outcome: Outcome, computed: bool = False) -> Outcome:
    """The plan with every line taken out that can be, harmful in the same kind of way and clean still."""
    kind = outcome.harms[0][0]
    best = outcome
    size = max(len(best.text.splitlines()) // 4, 1)
    while size:
        at = 0
        while at < len(lines := best.text.splitlines()):
            tried = hold("\n".join([*lines[:at], *lines[at + size :]]) + "\n", computed, harmful=True)
            if tried.clean and any(one[0] == kind for one in tried.harms):
                best = tried
            else:
                at += size
        size //= 2
    return best
