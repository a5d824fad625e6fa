"""From `groundlint new` to a clean plan by doing only what the tool says: every text that it asks for is pasted where
it says, with its own examples for values, until nothing is asked."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from pathlib import Path

import pytest
from crowd import reviewer_by

from groundlint.cli import main
from groundlint.drafting.choices import ACCESS, METHODS, WORDS
from groundlint.drafting.skeleton import NoSuchPlanError, skeleton
from groundlint.findings.model import Kind, Review
from groundlint.language.reader import read_statements
from groundlint.review import DEFAULT_BOOKS, Reviewer
from groundlint.text import Source
from groundlint.text.edits import Edit, edited

EVERY = [one for one in itertools.product(METHODS, ACCESS) if one != ("small-neutral", "steel")]
MOST_ROUNDS = 4
"""Of pasting all that is asked: what the circuit still lacks is known once the line, its wires and its source are."""


@pytest.fixture(scope="module")
def reviewer() -> Reviewer:
    return reviewer_by(*DEFAULT_BOOKS)


OWN = {
    "pickup 300 A dial 0.2": "pickup 60 A dial 0.05",
}
"""Values of a line on steel in place of the examples: no neutral, so that a relay sees what the footings let pass."""


def pasted(review: Review, own: dict[str, str]) -> str:
    """The plan with every text that is asked for, and values of one's own in place of those given as examples."""
    edits = []
    for ask in review.asks():
        if ask.paste is not None:
            span, text = ask.paste.edit.pieces[0]
            for example, value in own.items():
                text = text.replace(example, value)
            edits.append(Edit("", ((span, text),)))
    return edited(review.plan.source, edits).text


@pytest.mark.parametrize("words", WORDS)
@pytest.mark.parametrize(("method", "access"), EVERY)
def test_a_new_plan_reads_and_breaks_nothing(reviewer: Reviewer, method: str, access: str, words: str) -> None:
    review = reviewer.review(Source("new.tpg", skeleton(method, access, words)))
    assert {finding.kind for finding in review.findings} == {Kind.UNSHOWN}, review.findings
    assert read_statements(review.plan.source).text.tradition == ("earth" if words == "earthing" else "ground")


@pytest.mark.parametrize(("method", "access"), EVERY)
def test_a_new_plan_is_clean_once_all_that_is_asked_is_pasted(
    reviewer: Reviewer, method: str, access: str, report: Callable[[str], None]
) -> None:
    review = reviewer.review(Source("new.tpg", skeleton(method, access)))
    rounds = 0
    while review.status() != 0 and rounds < MOST_ROUNDS:
        rounds += 1
        review = reviewer.review(Source("new.tpg", pasted(review, OWN if access == "steel" else {})))
        assert {finding.kind for finding in review.findings} <= {Kind.UNSHOWN}, review.findings
    assert review.status() == 0, [finding.message for finding in review.findings]
    report(f"a new {method} plan from the {access} is clean after {rounds} rounds of pasting what is asked")


def test_markdown_holds_the_same_plan() -> None:
    inside = Source("new.md", skeleton("dual-point", "pole", markdown=True))
    plain = read_statements(Source("new.tpg", skeleton("dual-point", "pole"))).text
    assert read_statements(inside).text.statements == plain.statements


def test_what_is_not_built_is_refused_with_the_reason(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(NoSuchPlanError):
        skeleton("small-neutral", "steel")
    assert main(["new", "--method", "small-neutral", "--from", "steel"]) == 3
    assert "steel is itself the way of the fault to ground" in capsys.readouterr().err


def test_a_file_is_written_once_and_never_over_another(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "first.md"
    assert main(["new", "-o", str(file)]) == 0
    assert f"groundlint review --ask {file}" in capsys.readouterr().err
    blank = tmp_path / "second plan.md"
    assert main(["new", "-o", str(blank)]) == 0
    assert f"groundlint review --ask '{blank}'" in capsys.readouterr().err
    before = file.read_bytes()
    assert main(["new", "--method", "dual-point", "-o", str(file)]) == 3
    assert "there is a file already" in capsys.readouterr().err
    assert file.read_bytes() == before
    assert main(["new", "-o", str(tmp_path / "first.odt")]) == 3
    assert main(["new", "-o", str(tmp_path / "nowhere" / "first.tpg")]) == 3
