"""One word of a plan that can't be read: the cause comes first and alone, and what rests on it is not printed."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median

import pytest
from crowd import opener, reviewer_by

from groundlint.findings.model import Kind
from groundlint.findings.unread import not_read
from groundlint.report.text import review_text
from groundlint.review import Reviewer
from groundlint.text import Source

FOLDER = Path(__file__).parents[2] / "examples"
EXAMPLES = sorted(path for path in FOLDER.rglob("*.tpg"))
WORD = re.compile(r'"[^"\n]*"|#.*|[^\s,;()"]+')
NUMBERED = re.compile(r"\d+[a-z]?[.)]|[\d./]+|[\d-]+")
SHARE = 300
"""One word of so many is spoiled in a run of every day."""


def words(text: str) -> Iterator[tuple[int, re.Match[str]]]:
    """Every keyword and name of a plan, with its line: no number, no text in quotes, no comment."""
    for number, line in enumerate(text.splitlines()):
        for found in WORD.finditer(line):
            if found[0][0] not in '"#' and not NUMBERED.fullmatch(found[0]) and not line.lstrip().startswith("stage"):
                yield number, found


def spoiled(word: str) -> tuple[str, str]:
    """A word misspelt, as by a slip of the fingers, and in the plural."""
    slip = word[0] + word[2] + word[1] + word[2:] + "q" if len(word) > 2 else word + "q"
    return slip, word + "s"


def in_place(text: str, line: int, found: re.Match[str], other: str) -> str:
    lines = text.splitlines()
    lines[line] = lines[line][: found.start()] + other + lines[line][found.end() :]
    return "\n".join(lines) + "\n"


def test_a_spoiled_word_is_in_the_first_lines(pytestconfig: pytest.Config, report: Callable[[str], None]) -> None:
    pick = random.Random(f"{pytestconfig.option.seed} spoiled words")
    share = 1 if pytestconfig.option.long else SHARE
    lengths, late, read = [], [], 0
    for path in EXAMPLES:
        text = path.read_text(encoding="utf-8")
        for line, found in words(text):
            if pick.randrange(share):
                continue
            for other in spoiled(found[0]):
                review = Reviewer([]).review(
                    Source("plan.tpg", in_place(text, line, found, other)), opener(path.parent)
                )
                if not any(finding.kind is Kind.UNREAD for finding in review.findings):
                    read += 1  # words that are read whatever they are, and plurals that are words of the language
                    continue
                printed = review_text(review).splitlines()
                lengths.append(len(printed))
                first = "\n".join(printed[:5])
                # the line itself; or a name that is used, where what declares it is another name now
                cause = (f"plan.tpg:{line + 1}:", f"line {line + 1}:", found[0].split("..")[0])
                if not any(one in first for one in cause):
                    late.append(f"{path.name}:{line + 1}: {other} for {found[0]}: {printed[0]}")
    report(f"words spoiled: {len(lengths)} not read, the cause in the first lines of all but {len(late)}; {read} read")
    assert not late, "\n".join(late)
    assert median(lengths) <= 15


def test_what_rests_on_a_line_that_was_not_read_is_not_printed() -> None:
    text = (FOLDER / "single-point-insulator.tpg").read_text(encoding="utf-8").replace("\nbar ", "\nbra ")
    review = reviewer_by("practice").review(Source("plan.tpg", text))
    printed = review_text(review)
    assert [finding for finding in review.findings if finding.title]
    assert not any(finding.message in printed for finding in review.findings if finding.title)


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
    review = reviewer_by("practice").review(Source("plan.tpg", PLAN))
    (found,) = not_read(review.findings)
    assert (found.finding.span.text, found.finding.span.line, [use.line for use in found.uses]) == ("Heron", 10, [11])
    assert "    also in line 11\n" in review_text(review)


def test_what_follows_from_a_name_declared_nowhere_is_not_said() -> None:
    text = """\
line L
  phases A C
  route S1 S2
structure S1..S2 wood pole
lead G1
bar K1
stick H1
detector D1
routine one (structure S, lead a)
  attach a to K1
stage work
  1. test S1 A B near side C with D1 on H1
  2. do one (S1, G9)
  3. undo one at S1
  4. attach G1 to K1, then to S1 B near side
"""
    found = not_read(reviewer_by("practice").review(Source("plan.tpg", text)).findings)
    assert [(one.finding.span.text, [use.line for use in one.uses]) for one in found] == [("B", [15]), ("G9", [])]


def test_a_name_in_a_statement_not_read_waits_for_that_statement() -> None:
    review = reviewer_by("practice").review(
        Source("plan.tpg", PLAN.replace("crew foreman Egret", "crw foreman Egret, Heron"))
    )
    (found,) = not_read(review.findings)
    assert (found.finding.span.line, found.names) == (6, ("Egret", "Heron"))
    assert "    Egret, Heron are declared nowhere else, and used in lines 9, 10, 11\n" in review_text(review)


@pytest.mark.parametrize("row", ["G1-G4", "G1\u2013G4", "G1-4"])
def test_names_of_a_range_in_other_marks_wait_for_the_line_that_declares_them(row: str) -> None:
    text = f"lead {row} 2/0 copper 20 ft\nstage ground\n  1. inspect G1 G2\n  2. inspect G1\n"
    (found,) = (one for one in not_read(reviewer_by("practice").review(Source("plan.tpg", text)).findings) if one.names)
    assert (found.finding.span.line, found.names) == (1, ("G1", "G2"))
    assert "`G1..G4`" in found.finding.mend


def test_everything_is_shown_when_asked_for() -> None:
    review = reviewer_by("practice").review(Source("plan.tpg", PLAN))
    resting = [finding for finding in review.findings if finding.title]
    assert resting
    assert resting[0].message not in review_text(review)
    assert resting[0].message in review_text(review, everything=True)


def test_names_with_a_slash_are_one_message_with_what_to_write() -> None:
    text = (FOLDER / "dual-point-crossarm.tpg").read_text(encoding="utf-8")
    review = Reviewer([]).review(Source("plan.tpg", re.sub(r"\bSC(?=1\d\b)", "SC/", text)), opener(FOLDER))
    (one,) = not_read(review.findings)
    assert one.finding.slug == "slash-in-a-name"
    assert "SC-14" in one.finding.mend
    assert len(one.again) > 20
    assert "also in lines" in review_text(review)


@pytest.mark.parametrize(
    ("stand", "said"),
    [("on the ladder", "on the pole"), ("on hooks", "on the pole"), ("in the helicopter", "no words for work from it")],
)
def test_what_people_stand_on_up_a_structure_is_answered_with_the_structure(stand: str, said: str) -> None:
    text = (FOLDER / "dual-point-crossarm.tpg").read_text(encoding="utf-8")
    review = Reviewer([]).review(Source("plan.tpg", text.replace("on the pole,", f"{stand},")), opener(FOLDER))
    (one,) = not_read(review.findings)
    assert said in one.finding.mend
