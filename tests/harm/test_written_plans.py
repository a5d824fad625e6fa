"""Plans that people would write and that hurt somebody; the first line of each says what hurts, and whom.

But for that one thing each is complete, so that nothing else could keep its review from being clean.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest
from crowd import reviewed
from still_missed import MISSED

from groundlint.findings.model import Kind

FOLDER = Path(__file__).parent / "plans"
PLANS = tuple(sorted(FOLDER.rglob("*.tpg")))
"""Those in `unseen/` hurt by what the oracle does not look at: words in quotes, lengths of leads, what burns off."""
MISSED_NAMES = {name: kind for kind, names in MISSED.items() for name in names}


class Held(NamedTuple):
    """What a review came to: its exit status, and what could not be read."""

    status: int
    unread: tuple[tuple[int, str], ...]


@cache
def held(path: Path) -> Held:
    """Against the default books; against the one that computes where the others call the plan clean."""
    text = path.read_text(encoding="utf-8")
    review = reviewed(text, path.name)
    if review.status() == 0:
        review = reviewed(text, path.name, computed=True)
    unread = tuple((one.span.line, one.message) for one in review.findings if one.kind is Kind.UNREAD)
    return Held(review.status(), unread)


def every() -> list[object]:
    found: list[object] = []
    for path in PLANS:
        missed = MISSED_NAMES.get(path.stem)
        marks = [pytest.mark.xfail(strict=True, reason=f"still clean: {missed}")] if missed else []
        found.append(pytest.param(path, id=path.stem, marks=marks))
    return found


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_a_plan_is_read_whole(path: Path) -> None:
    assert held(path).unread == ()


@pytest.mark.parametrize("path", every())
def test_a_plan_that_hurts_somebody_is_not_clean(path: Path) -> None:
    assert held(path).status != 0, path.read_text(encoding="utf-8").partition("\n")[0]


def test_what_is_still_missed_is_there() -> None:
    assert sorted(MISSED_NAMES) == sorted({path.stem for path in PLANS} & MISSED_NAMES.keys())
    paths = {path.stem: path for path in PLANS}
    for name, kind in MISSED_NAMES.items():
        assert paths[name].read_text(encoding="utf-8").startswith(f"# {kind}:"), name
