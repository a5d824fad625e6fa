"""Faults seeded into plans by the operators of the drills, for tests: laid out once, each operator's places drawn."""

from __future__ import annotations

from functools import cache
from random import Random
from typing import NamedTuple

from crowd import reviewed, reviewer

from groundlint.reading.resolve import Opener
from groundlint.teaching.aims import Aim, load_aims
from groundlint.teaching.bench import Bench, lay_out
from groundlint.teaching.drill import Proof, proof
from groundlint.teaching.operators import Operator, operators
from groundlint.text import Source

OPERATORS = tuple(operators().values())


@cache
def aims() -> dict[str, Aim]:
    """The aims of the default books."""
    found, problems = load_aims(reviewer().books)
    assert not problems, [(one.span.source.name, one.span.line, one.message) for one in problems]
    return found


class Seeded(NamedTuple):
    """A plan with one fault: its text, and what its review came to."""

    text: str
    proof: Proof
    seen: tuple[str, ...]


def bench(text: str, at_home: Opener | None = None, name: str = "plan.tpg") -> Bench:
    """A sound plan on the bench; it must be read whole."""
    found, problems = lay_out(Source(name, text), at_home)
    assert found is not None, problems
    return found


def spoiled(home: Bench, one: Operator, rng: Random) -> str | None:
    """The text of a plan with a fault at a place that is drawn; None where there is no place for it."""
    sheets = list(one.spoil(home))
    return home.written(rng.choice(sheets)) if sheets else None


def seeded(home: Bench, one: Operator, rng: Random) -> Seeded | None:
    """The same, reviewed and held against the operator's aim, with nothing left out that is not proven."""
    text = spoiled(home, one, rng)
    if text is None:
        return None
    review = reviewed(text)
    found = proof(review, [aims()[one.name]])
    return Seeded(text, found, tuple(sorted({finding.slug for finding in review.open_findings})))
