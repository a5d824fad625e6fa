"""Real accidents: what investigators found must be found in the plan, and be gone once that one thing is mended.

A pair passes when the first check of its report is broken in the case and not in the twin, and no check is broken in
either that the report does not ask for. What a plan leaves unsaid is not shown, and counts neither way.
"""

from __future__ import annotations

from collections.abc import Callable
from difflib import SequenceMatcher
from functools import cache
from pathlib import Path

import pytest
from crowd import reviewer_by
from incident_table import INCIDENTS, MODELS, NOT_ENCODED, SAYS_AGAIN, Incident, Model

from groundlint.findings.model import Kind
from groundlint.text import Source

FOLDER = Path(__file__).parent
REPORTS = {one.report for one in INCIDENTS} | set(NOT_ENCODED)
BOOKS = ("practice", "us-29cfr1910-269", "electrical")
MENDED_LINES = 12
"""Lines by which a twin may differ from its case: one finding mended takes no more, but for a whole set of grounds."""


@cache
def text(name: str, which: str) -> str:
    return (FOLDER / f"{name}.{which}.tpg").read_text(encoding="utf-8")


@cache
def broken(name: str, which: str) -> frozenset[str]:
    """The rules broken in a plan, which must be read whole and be possible to carry out."""
    review = reviewer_by(*BOOKS).review(Source(f"{name}.{which}.tpg", text(name, which)))
    unread = [(f.span.line, f.message) for f in review.findings if f.kind in (Kind.UNREAD, Kind.IMPOSSIBLE)]
    assert unread == []
    assert not review.plan.unread
    return frozenset(f.slug for f in review.findings if f.kind is Kind.BROKEN)


def every(cases: tuple[Incident, ...] | tuple[Model, ...]) -> list[object]:
    return [pytest.param(case, id=case.name) for case in cases]


@pytest.mark.parametrize("case", every(INCIDENTS))
def test_what_the_report_found_is_found_in_the_case(case: Incident) -> None:
    assert case.expected[0] in broken(case.name, "case")


@pytest.mark.parametrize("case", every(INCIDENTS))
def test_it_is_gone_in_the_twin(case: Incident) -> None:
    assert case.expected[0] not in broken(case.name, "twin")


@pytest.mark.parametrize("which", ["case", "twin"])
@pytest.mark.parametrize("case", every(INCIDENTS))
def test_nothing_is_found_that_the_report_does_not_ask_for(case: Incident, which: str) -> None:
    again = {slug for one in case.expected for slug in SAYS_AGAIN.get(one, ())}
    assert broken(case.name, which) - set(case.expected) - set(case.kin) - again == set()


@pytest.mark.parametrize("case", every(INCIDENTS))
def test_the_twin_differs_from_the_case_in_what_is_mended_alone(case: Incident) -> None:
    one, other = (
        [line for line in text(case.name, which).split("\n") if not line.startswith("#")] for which in ("case", "twin")
    )
    changed = [code for code in SequenceMatcher(None, one, other, autojunk=False).get_opcodes() if code[0] != "equal"]
    assert changed
    grounds = any("attach" in line for code in changed for line in other[code[3] : code[4]])
    assert grounds or sum(max(c[2] - c[1], c[4] - c[3]) for c in changed) <= MENDED_LINES


@pytest.mark.parametrize("case", every(INCIDENTS))
def test_kin_break_only_beside_what_they_repeat(case: Incident) -> None:
    """An exception that is not needed any more is taken out."""
    assert set(case.kin) <= broken(case.name, "case") | broken(case.name, "twin")
    assert all(case.kin.values())


def test_what_says_again_does_so_somewhere() -> None:
    asked = {(one, slug) for one, again in SAYS_AGAIN.items() for slug in again}
    seen = {
        (one, slug)
        for case in INCIDENTS
        for one, slug in asked
        if one in case.expected and slug in broken(case.name, "case")
    }
    assert seen == asked


@pytest.mark.parametrize("model", every(MODELS))
def test_a_published_procedure_keeps_its_checks_quiet(model: Model) -> None:
    assert broken(model.name, "model") & set(model.quiet) == set()


def test_a_model_breaks_nothing_else_but_what_its_source_leaves_out() -> None:
    """29 CFR 1926.954 as it was says nothing of proving a detector, of cleaning or of a hold."""
    found = {model.name: broken(model.name, "model") for model in MODELS}
    assert {name: slugs for name, slugs in found.items() if slugs} == {
        "29-cfr-1926-954": {
            "clean-contact",
            "detector-proven-after",
            "detector-proven-before",
            "hold-before-first-touch",
        },
    }


@pytest.mark.parametrize("case", every(INCIDENTS))
def test_the_files_cite_the_report_by_its_number(case: Incident) -> None:
    assert all(text(case.name, which).startswith(f"# {case.report}: ") for which in ("case", "twin"))


def test_the_table_is_whole(report: Callable[[str], None]) -> None:
    assert len(INCIDENTS) + len(NOT_ENCODED) == len(REPORTS)  # each is there once
    assert all(NOT_ENCODED.values())
    named = {f"{one.name}.{which}.tpg" for one in INCIDENTS for which in ("case", "twin")}
    named |= {f"{model.name}.model.tpg" for model in MODELS}
    assert {path.name for path in FOLDER.glob("*.tpg")} == named
    found = sum(case.expected[0] in broken(case.name, "case") for case in INCIDENTS)
    gone = sum(case.expected[0] not in broken(case.name, "twin") for case in INCIDENTS)
    asked = [(model, slug) for model in MODELS for slug in model.quiet]
    quiet = sum(slug not in broken(model.name, "model") for model, slug in asked)
    report(
        f"{len(REPORTS)} reports of accidents: {found} of {len(INCIDENTS)} cases found and {gone} of {len(INCIDENTS)} "
        f"twins free of it, {quiet} of {len(asked)} checks quiet in {len(MODELS)} models, "
        f"{len(NOT_ENCODED)} not encoded"
    )
    for name, why in NOT_ENCODED.items():
        report(f"  not encoded: {name}: {why}")


def test_every_check_is_a_rule() -> None:
    slugs = {rule.slug for book in reviewer_by(*BOOKS).books for rule in book.rules}
    asked = {slug for one in INCIDENTS for slug in (*one.expected, *one.kin)}
    asked |= {slug for model in MODELS for slug in model.quiet}
    assert asked <= slugs
