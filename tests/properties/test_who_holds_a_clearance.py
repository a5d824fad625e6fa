"""Who receives, transfers and releases a clearance, in every small way: a name taken out never helps.

Each plan names who receives, transfers and releases in every way that two people can; then any of the names are taken
out. No
fact of the clearance may become another answer but an unknown one, and no failing review a clean one, whatever book
the plan is held against.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache, lru_cache
from itertools import product

import pytest
from crowd import reviewer_by

from groundlint.facts import CATALOGUE, PlanTrace
from groundlint.findings.model import Review
from groundlint.review import trace_of
from groundlint.rulebook.shipped import shipped
from groundlint.text import Source
from groundlint.values import Unknown

# What is done with the clearance, a letter for a name: receive, release, request; a transfer is two, from T to t.
SHAPES = ("RX", "RRX", "RXX", "RRXX", "RXRX", "QRX", "RXQ", "XR", "X", "RQXX")
TRANSFERS = ("Tt", "RTt", "RTtX", "RRTtX", "RTtXX", "RTtTt", "RXTt", "TtRX", "RTtRX")
WORDS = {"R": "received", "X": "released", "Q": "requested", "T": "transferred"}
FACTS = ("cleared", "released", "clearance-requested")
PEOPLE = ("L1", "L2")
Names = tuple[str | None, ...]
BOOKS = ("practice", "us-29cfr1910-269")
"""The books that ask who holds a clearance; the one of computation does not."""

HEAD, TAIL = (
    (shipped() / "us-29cfr1910-269" / "bases" / "base.tpg")
    .read_text(encoding="utf-8")
    .replace("between West and 210 closed", "between West and 210 closed manual")
    .split("\nroutine isolate\n")
)


def plan(shape: str, names: Names) -> str:
    """The book's base plan, with nothing done but opening, tagging and what the clearance's steps say."""
    steps = ["brief all", "open SW41, lock it and tag it, gap seen"]
    for letter, name in zip(shape, names, strict=True):
        if letter == "t":
            steps[-1] += (f" to {name}" if name else "") + ", operator told, crew told"
        else:
            steps.append(f"clearance Larkspur {WORDS[letter]}" + (f" by {name}" if name else ""))
    return "\n".join([HEAD, 'emergency "call dispatch"', *steps, "untag SW41", "close SW41", ""])


def named(shape: str) -> Iterator[Names]:
    return product(PEOPLE, repeat=len(shape))


def less(names: Names) -> Iterator[Names]:
    """The same names with one or more of them taken out."""
    for kept in product((True, False), repeat=len(names)):
        if not all(kept):
            yield tuple(name if keep else None for name, keep in zip(names, kept, strict=True))


@cache
def answers(shape: str, names: Names) -> dict[tuple[str, int], object]:
    crews = "crew North: lineman L1, groundman M1\ncrew South: lineman L2"
    text = plan(shape, names).replace("crew      lineman L1 L2, groundman M1", crews)
    assert crews in text
    trace = trace_of(text)
    assert isinstance(trace, PlanTrace)
    found: dict[tuple[str, int], object] = {}
    for name in FACTS:
        fact = CATALOGUE.match(name, "plan", None)
        assert fact is not None
        for at in range(trace.n + 1):
            found[name, at] = fact.compute(trace, at, trace.plan)
    fact = CATALOGUE.match("cleared", "person", None)
    assert fact is not None
    for person, at in product(trace.domain("person"), range(trace.n + 1)):
        found[f"cleared {person}", at] = fact.compute(trace, at, person)
    for name, kind in (("released-by-holder", "release"), ("transferred-by-holder", "transfer")):
        fact = CATALOGUE.match(name, "step", None)
        assert fact is not None
        for at in trace.positions(kind):
            found[name, at] = fact.compute(trace, at, trace.event(at))
    return found


@lru_cache(maxsize=8)
def reviewed(book: str, shape: str, names: Names) -> Review:
    return reviewer_by(*(BOOKS if book == "both" else (book,))).review(Source("plan.tpg", plan(shape, names)))


@pytest.mark.one_in(3)
@pytest.mark.parametrize("shape", [*SHAPES, *TRANSFERS])
def test_a_name_less_makes_an_answer_unknown_or_leaves_it(shape: str) -> None:
    helped = []
    for full in named(shape):
        for some in less(full):
            for key, now in answers(shape, some).items():
                if not isinstance(now, Unknown) and now is not answers(shape, full)[key]:
                    helped.append((full, some, key))
    assert helped == []


@pytest.mark.one_in(4)
@pytest.mark.parametrize("book", [*BOOKS, "both"])
@pytest.mark.parametrize(
    "shape", [shape for shape in (*SHAPES, *TRANSFERS) if len(shape) < 4 or shape in ("RRXX", "RTtX", "TtRX")]
)
def test_a_name_less_never_cleans_a_failing_review(shape: str, book: str) -> None:
    helped = [
        (full, some)
        for full in named(shape)
        if reviewed(book, shape, full).status() != 0
        for some in less(full)
        if reviewed(book, shape, some).status() == 0
    ]
    assert helped == []


@pytest.mark.parametrize("names", [(None, "L1"), ("L1", None), (None, None)])
def test_what_names_nobody_is_not_shown_and_says_what_to_write(names: Names) -> None:
    review = reviewed("both", "RX", names)
    assert review.status() == 2
    unnamed = [number for number, name in enumerate(names) if name is None]
    lines = plan("RX", names).split("\n")
    for number in unnamed:
        state = ("received", "released")[number]
        (line,) = (at for at, text in enumerate(lines, 1) if text == f"clearance Larkspur {state}")
        assert any(finding.span.line == line for finding in review.findings)
        assert f"clearance Larkspur {state} by L1" in {gap.write for f in review.findings for gap in f.gaps}


@pytest.mark.parametrize(("shape", "names"), [("RX", ("L1", "L1")), ("RRXX", ("L1", "L2", "L2", "L1"))])
def test_a_plan_that_names_them_is_clean(shape: str, names: Names) -> None:
    assert [finding.message for finding in reviewed("both", shape, names).findings if finding.level.value > 1] == []


@pytest.mark.parametrize(
    ("shape", "names"),
    [("RTtX", ("L1", "L1", "L2", "L2")), ("RRTtXX", ("L1", "L2", "L1", "L2", "L2", "L2"))],
)
def test_who_takes_a_clearance_over_releases_it(shape: str, names: Names) -> None:
    assert [finding.message for finding in reviewed("both", shape, names).findings if finding.level.value > 1] == []


@pytest.mark.parametrize(
    ("shape", "names"),
    [
        ("RTtX", ("L1", "L1", "L2", "L1")),
        ("RTtX", ("L1", "L2", "L2", "L2")),
        ("RTtX", ("L1", "L2", "L1", "L1")),
        ("RRTtX", ("L1", "L2", "L1", "L2", "L2")),
        ("TtRX", ("L1", "L2", "L2", "L2")),
        ("RXTt", ("L1", "L1", "L1", "L2")),
    ],
)
def test_a_transfer_by_another_or_of_nothing_and_a_release_by_who_gave_it_away_fail(shape: str, names: Names) -> None:
    assert reviewed("us-29cfr1910-269", shape, names).status() == 1


@pytest.mark.parametrize("reported", ["", ", operator told", ", crew told"])
def test_a_transfer_of_which_not_all_are_told_is_not_clean(reported: str) -> None:
    text = plan("RTtX", ("L1", "L1", "L2", "L2")).replace(", operator told, crew told", reported)
    review = reviewer_by(*BOOKS).review(Source("plan.tpg", text))
    assert review.status() == 2
    write = {gap.write for finding in review.findings for gap in finding.gaps}
    assert "clearance Larkspur transferred by L1 to L2, operator told, crew told" in write


@pytest.mark.parametrize("names", [("L1", "L1", None, "L2"), ("L1", None, "L2", "L2")])
def test_a_transfer_that_names_nobody_is_not_shown_and_says_what_to_write(names: Names) -> None:
    review = reviewed("both", "RTtX", names)
    assert review.status() == 2
    write = {gap.write for finding in review.findings for gap in finding.gaps}
    assert "clearance Larkspur transferred by L1 to L2, operator told, crew told" in write


def test_another_than_the_holder_releases() -> None:
    found = reviewed("us-29cfr1910-269", "RX", ("L1", "L2")).findings
    said = "the clearance is released by L2, who does not hold it; it is held by L1"
    assert said in {finding.message for finding in found}


@pytest.mark.parametrize("names", [("North", "North"), ("North", "L1"), ("L1", "L1")])
def test_a_crew_that_is_not_declared_is_not_clean(names: Names) -> None:
    text = plan("RX", names).replace("crew      lineman", "crew      North: lineman")
    review = reviewer_by(*BOOKS).review(Source("plan.tpg", text))
    assert (review.status() == 0) == (names != ("North", "L1"))
    without = "\n".join(line for line in text.split("\n") if not line.startswith("crew "))
    assert reviewer_by(*BOOKS).review(Source("plan.tpg", without)).status() != 0
