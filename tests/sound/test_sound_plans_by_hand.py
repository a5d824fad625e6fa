"""Plans of sound, lawful practice, written by hand from regulations, standards and handbooks before anybody looked at
the rules: nothing in them may be called broken, and what they were asked for, once stated, makes them clean.

The first line of a plan says its manner and what it follows; ``# books: NAME`` above that, the books that it is written
for, where they are not the default ones. A line that ends in ``# as stated`` was not there at first: the review asked
for what it states. What is still called broken or not shown without right stands in `STILL_CALLED`, to be mended in the
rules: a finding that is there must be found, so that the table can only shrink.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from crowd import reviewer_by

from groundlint.findings.model import Kind, Review
from groundlint.review import DEFAULT_BOOKS
from groundlint.text import Severity, Source

FOLDER = Path(__file__).parent
PLANS = sorted(path.name for path in FOLDER.glob("*.tpg"))
ASKED_FOR = re.compile(r"^.*# as stated.*\n", re.MULTILINE)
BOOKS = re.compile(r"^# books:\s*(.+)\n")

CABLE = "a cable has no words for its impedance"
INSULATED = "insulated conductors, grounded at both terminals and spiked, are cut in gloves; nothing can bridge them"
IN_SPAN = "a place in the span has no word, and stands on no structure"

STILL_CALLED: dict[str, dict[str, str]] = {
    "29-cable-spiked-and-spliced": {
        "lead-carries-duty": CABLE,
        "exposure-below-limit": CABLE,
        "worker-inside-zone": INSULATED,
        "reach-joined-here": INSULATED,
        "bond-before-cut": INSULATED,
        "bond-across-opening": INSULATED,
    },
    "33-midspan-repair-from-bucket": {"lead-carries-duty": IN_SPAN, "step-potential-kept-away": IN_SPAN},
}


def text_of(name: str) -> str:
    return (FOLDER / name).read_text(encoding="utf-8")


def reviewed(name: str, text: str) -> Review:
    claim = BOOKS.match(text)
    return reviewer_by(*(claim[1].split() if claim else DEFAULT_BOOKS)).review(Source(name, text))


def called(review: Review, *kinds: Kind) -> set[str]:
    """The slugs of what a foreman has to act on: findings and messages above notice."""
    return {
        finding.slug
        for finding in review.findings
        if finding.level > Severity.NOTICE and (not kinds or finding.kind in kinds)
    }


def expected(name: str) -> set[str]:
    return set(STILL_CALLED.get(name.removesuffix(".tpg"), {}))


@pytest.mark.one_in(2)
@pytest.mark.parametrize("name", PLANS)
def test_nothing_is_called_but_what_is_to_be_mended(name: str) -> None:
    review = reviewed(name, text_of(name))
    assert called(review) == expected(name), [
        f"{name}:{finding.span.line}: {finding.message} [{finding.slug}]" for finding in review.findings
    ]


@pytest.mark.parametrize("name", [name for name in PLANS if ASKED_FOR.search(text_of(name))])
def test_what_was_not_stated_at_first_is_asked_for_and_not_called_broken(name: str) -> None:
    review = reviewed(name, ASKED_FOR.sub("", text_of(name)))
    assert called(review, Kind.UNREAD, Kind.IMPOSSIBLE, Kind.BROKEN) <= expected(name)
    assert any(finding.kind is Kind.UNSHOWN for finding in review.findings)


@pytest.mark.parametrize("name", PLANS)
def test_each_says_its_manner_and_what_it_follows(name: str) -> None:
    first = BOOKS.sub("", text_of(name)).splitlines()[0]
    assert re.match(r"# .+(29 CFR|EN 50110|IEEE|MIL-HDBK|UFC|DOE-HDBK|practice|rule|ASTM)", first), first


def test_the_table_names_plans() -> None:
    assert set(STILL_CALLED) <= {name.removesuffix(".tpg") for name in PLANS}
