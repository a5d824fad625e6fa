"""A text has the same findings whatever was reviewed before it: what is remembered of statements, of circuits and of
facts from one review to the next is never another text's.

A plan is changed at random places, a little each time, as one types; the texts are reviewed in turn, and in another
process the other way round, so that each has had other texts before it."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from random import Random

import pytest
from crowd import reviewer

from groundlint.findings.model import Severity
from groundlint.report.record import plan_entry
from groundlint.text import Source

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def typed(text: str, random: Random, count: int) -> list[str]:
    """The text after each of so many changes: a line out, doubled, moved or put back, a letter another."""
    found, lines, gone = [text], text.splitlines(True), [""]
    while len(found) <= count:
        at, other = random.randrange(len(lines)), random.randrange(len(lines))
        match random.randrange(5):
            case 0:
                gone.append(lines.pop(at))
            case 1:
                lines.insert(other, lines[at])
            case 2:
                lines.insert(other, lines.pop(at))
            case 3:
                lines.insert(at, gone.pop() if len(gone) > 1 else lines[other])
            case 4 if len(lines[at]) > 1:
                letter = random.randrange(len(lines[at]) - 1)
                lines[at] = lines[at][:letter] + random.choice("0123456789ABCGSabc ,") + lines[at][letter + 1 :]
        found.append("".join(lines))
    return found


def found_in(texts: list[str], computed: bool) -> list[str]:
    """What is found in each, one after another."""
    books = reviewer(computed)
    return [repr(plan_entry(books.review(Source("typed.tpg", text)), Severity.DANGER)) for text in texts]


@pytest.mark.parametrize(
    ("name", "computed"), [("deliberate-sins.tpg", False), ("bucket-cutouts.tpg", True), ("delta-jumper.tpg", True)]
)
def test_what_was_reviewed_before_changes_nothing(
    name: str, computed: bool, seeds: Callable[[int, int], range]
) -> None:
    text = (EXAMPLES / name).read_text("utf-8")
    for seed in seeds(1, 5):
        texts = typed(text, Random(f"{name} {seed}"), 8)
        with ProcessPoolExecutor(1, get_context("spawn")) as pool:
            backward = pool.submit(partial(found_in, texts[::-1], computed)).result()[::-1]
        assert len(set(backward)) > 1
        for number, (one, other) in enumerate(zip(found_in(texts, computed), backward, strict=True)):
            assert one == other, (seed, number)
