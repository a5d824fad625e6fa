"""One word of a plan that can't be read: the cause comes first and alone, and what rests on it is not printed."""

from __future__ import annotations

import random
import re
from functools import cache
from pathlib import Path
from statistics import median

import pytest

from groundlint.findings.model import Kind
from groundlint.findings.unread import not_read
from groundlint.report.text import review_text
from groundlint.review import DEFAULT_BOOKS, Reviewer, load_rulebook
from groundlint.text import Source

EXAMPLES = [
    path
    for path in sorted((Path(__file__).parents[2] / "examples").glob("*.tpg"))
    if "\nuse " not in path.read_text(encoding="utf-8")
]
FIRST_WORD = re.compile(r"^(\s*(?:\d+(?:\.\d+)*\.?\s+)?)([a-z][a-z-]+)(?= )")
SHARE = 12
"""One line of so many is misspelt in a run of every day."""


@cache
def reviewer() -> Reviewer:
    books = [load_rulebook(name)[0] for name in DEFAULT_BOOKS[:1]]
    return Reviewer([book for book in books if book is not None])


def misspelt(text: str, line: int) -> str | None:
    """The plan with the first word of a line misspelt as a slip of the fingers would."""
    lines = text.splitlines()
    found = FIRST_WORD.match(lines[line])
    if found is None or len(found[2]) < 3:
        return None
    word = found[2]
    lines[line] = found[1] + word[0] + word[2] + word[1] + word[2:] + "q" + lines[line][found.end() :]
    return "\n".join(lines) + "\n"


@pytest.mark.one_in(3)
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_a_misspelt_word_is_in_the_first_lines(path: Path, pytestconfig: pytest.Config) -> None:
    text = path.read_text(encoding="utf-8")
    pick = random.Random(f"{pytestconfig.option.seed} {path.name}")
    share = 1 if pytestconfig.option.long else SHARE
    lengths = []
    for line in range(len(text.splitlines())):
        if pick.randrange(share) or (other := misspelt(text, line)) is None:
            continue
        review = reviewer().review(Source("plan.tpg", other))
        if not any(finding.kind is Kind.UNREAD for finding in review.findings):
            continue  # a caption or a comment, or words that are read whatever they are
        printed = review_text(review).splitlines()
        assert any(f"plan.tpg:{line + 1}:" in one for one in printed[:5]), other.splitlines()[line]
        assert not any(finding.message in "\n".join(printed) for finding in review.findings if finding.title)
        lengths.append(len(printed))
    assert median(lengths) <= 15


PLAN = """\
plan "A name declared nowhere"
line L
  voltage 12.47 kV
  phases A B C
  route S1 S2
crew foreman Egret

stage work
  1. enter Egret at S1 on the pole reaching A
  2. enter Heron at S1 on the pole reaching A
  3. leave Heron
"""


def test_a_name_declared_nowhere_is_said_once_with_every_line_that_uses_it() -> None:
    review = reviewer().review(Source("plan.tpg", PLAN))
    (found,) = not_read(review.findings)
    assert (found.finding.span.text, found.finding.span.line, [use.line for use in found.uses]) == ("Heron", 10, [11])
    assert "    also in line 11\n" in review_text(review)


def test_a_name_in_a_statement_not_read_waits_for_that_statement() -> None:
    review = reviewer().review(Source("plan.tpg", PLAN.replace("crew foreman Egret", "crw foreman Egret, Heron")))
    (found,) = not_read(review.findings)
    assert (found.finding.span.line, found.names) == (6, ("Egret", "Heron"))
    assert "    Egret, Heron are declared nowhere else, and used in lines 9, 10, 11\n" in review_text(review)


def test_everything_is_shown_when_asked_for() -> None:
    review = reviewer().review(Source("plan.tpg", PLAN))
    resting = [finding for finding in review.findings if finding.title]
    assert resting
    assert resting[0].message not in review_text(review)
    assert resting[0].message in review_text(review, everything=True)
