"""Some hundred executions of the fuzzer: nothing raises, and what must hold of an answer does."""

from __future__ import annotations

from random import Random

import pytest
from fuzz_loop import Tally, execute, fuzz, seeds_of
from fuzz_targets import TARGETS, Target

EACH = {
    "plan": 12,
    "markdown": 12,
    "used": 12,
    "given": 12,
    "revision": 8,
    "answer": 8,
    "rule": 16,
    "book": 6,
    "aims": 20,
}
"""Executions of each target; of those not named, which are cheap, a hundred."""


@pytest.mark.one_in(2)
@pytest.mark.parametrize("name", TARGETS)
def test_whatever_a_text_holds_there_is_an_answer(name: str, request: pytest.FixtureRequest) -> None:
    seed = request.config.getoption("--seed")
    count = EACH.get(name, 100)
    tally = fuzz(name, Random(f"{seed} {name}"), lambda done: done < count, first=4)
    assert tally.executions == count
    assert tally.lines or TARGETS[name].cheap(b"") is None
    assert tally.faults == {}


@pytest.mark.parametrize("name", TARGETS)
def test_there_is_something_to_begin_with(name: str) -> None:
    assert all(seeds_of(name))


def test_a_fault_is_reported_with_the_smallest_text_that_shows_it() -> None:
    def falls(data: bytes) -> None:
        raise ValueError(data)

    tally = Tally()
    for data in (b"long text", b"short", b"longer text"):
        execute(Target((), falls, None, list), data, tally)
    ((where, data),) = tally.faults.items()
    assert where.startswith("ValueError at test_fuzz.py:")
    assert data == b"short"


def test_what_comes_to_new_lines_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fuzz_loop.seeds_of", lambda _: [b"line 3: A\n", b"student: Rook\n"])
    tally = fuzz("answers", Random(1), lambda done: done < 100)
    assert tally.kept
    assert tally.lines
