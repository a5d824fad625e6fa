"""Sound practice as a crew would write it, each with neighbours that would hurt somebody.

The first line of a plan says what practice it shows and what it rests on. Lines at its end name what the same plan must
be found for if one thing were otherwise: ``# harmful: LINE -> OTHER [slugs]``, where ``LINE`` is part of one of its
lines, and each slug is a rule that is then broken, or ``impossible`` for a step that cannot be done.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from groundlint.findings.model import Kind, Review
from groundlint.review import DEFAULT_BOOKS, Reviewer, load_rulebook
from groundlint.text import Severity, Source

FOLDER = Path(__file__).parent / "sound_practice"
PLANS = sorted(path.stem for path in FOLDER.glob("*.tpg"))
NEIGHBOUR = re.compile(r"^# harmful: (.+?) -> (.+) \[([a-z -]+)\]$", re.MULTILINE)
SOURCE = re.compile(r"# .+(29 CFR|EN 50110|IEEE|common practice, no source|from memory)")


def text_of(name: str) -> str:
    return (FOLDER / f"{name}.tpg").read_text(encoding="utf-8")


@cache
def reviewer() -> Reviewer:
    books = []
    for name in DEFAULT_BOOKS:
        book, problems = load_rulebook(name)
        assert book is not None
        assert not problems
        books.append(book)
    return Reviewer(books)


def reviewed(name: str, text: str) -> Review:
    return reviewer().review(Source(name, text))


HARMFUL = [(name, *found) for name in PLANS for found in NEIGHBOUR.findall(text_of(name))]


@pytest.mark.parametrize("name", PLANS)
def test_sound_practice_is_clean(name: str) -> None:
    text = text_of(name)
    assert SOURCE.match(text)
    assert NEIGHBOUR.search(text), "without a neighbour that is found, nothing shows what the rules still see"
    review = reviewed(name, text)
    assert [f"{f.span.line}: {f.message} [{f.slug}]" for f in review.findings if f.level > Severity.NOTICE] == []


@pytest.mark.parametrize(("name", "line", "other", "slugs"), HARMFUL)
def test_its_harmful_neighbour_is_found(name: str, line: str, other: str, slugs: str) -> None:
    plan = NEIGHBOUR.sub("", text_of(name))
    assert plan.count(line) == 1, line
    review = reviewed(name, plan.replace(line, other))
    found = {f.slug for f in review.findings if f.kind is Kind.BROKEN and f.level > Severity.NOTICE}
    if any(f.kind is Kind.IMPOSSIBLE for f in review.findings):
        found.add("impossible")
    assert set(slugs.split()) <= found, sorted(found)
