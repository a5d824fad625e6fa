"""What a plan costs is bounded: past the limits no circuit is solved and nothing computed is met.

Costs are counted in calls, solves and bytes, never in seconds.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest
from crowd import reviewer

import groundlint.electrical.study.extents as extents
from groundlint.electrical.study.limits import MOST_SOURCES, MOST_STRUCTURES, too_many_states
from groundlint.electrical.study.site import build_site
from groundlint.findings.model import Review
from groundlint.reading import read_plan
from groundlint.text import Severity, Source
from groundlint.timeline import replay
from groundlint.values import Unknown

EXAMPLES = Path(__file__).parents[2] / "examples"
SOUND = EXAMPLES / "course" / "lesson-3-a-set-at-one-pole" / "parts" / "sound.tpg"
TEXT = SOUND.read_text("utf-8")
FIRST = re.search(r"^source TeaselSub (?:.*\n)+?(?=no other source)", TEXT, re.MULTILINE)


def with_sources(count: int) -> str:
    """The plan with so many sources at one end."""
    assert FIRST is not None
    more = [f"S{number}" for number in range(1, count)]
    blocks = "".join(FIRST[0].replace("TeaselSub", name).replace("utility", "customer generation") for name in more)
    return TEXT.replace("no other source\n", f"{blocks}no source but TeaselSub {' '.join(more)}\n")


def with_structures(count: int) -> str:
    """The plan with so many structures on its route."""
    more = [f"X{number}" for number in range(count - 5)]
    text = TEXT.replace(" TE5\n", " TE5" + "".join(f" (60 m) {name}" for name in more) + "\n", 1)
    return text.replace("soil ", f"structure {' '.join(more)} wood pole\nsoil ", 1)


def reviewed(text: str) -> Review:
    review = reviewer(computed=True).review(Source("x.tpg", text))
    assert not review.plan.unread, [finding.message for finding in review.findings][:3]
    return review


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (with_sources(60), f"this plan has 60 sources, and circuits of up to {MOST_SOURCES} are solved"),
        (with_structures(150), f"this plan has 150 structures, and circuits of up to {MOST_STRUCTURES} are solved"),
    ],
)
def test_past_the_limit_nothing_is_solved_and_it_is_said(text: str, said: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(extents, "port_impedances", lambda *_: pytest.fail("it was solved"))
    review = reviewed(text)
    computed = [finding for finding in review.open_findings if finding.book == "electrical"]
    assert computed
    assert any(said in gap.fact for finding in computed for gap in finding.gaps)
    assert review.status() == 2


def test_a_circuit_of_more_states_than_are_solved_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    site = build_site(replay(plan := read_plan(Source("x.tpg", TEXT)).plan))
    assert not isinstance(site, Unknown)
    assert too_many_states(site, plan) is None
    monkeypatch.setattr("groundlint.electrical.study.limits.MOST_CELLS", 10_000)
    found = build_site(replay(plan))
    assert isinstance(found, Unknown)
    assert "more than are solved" in found.gaps[0].fact


@pytest.mark.parametrize(
    ("made", "few", "many", "times"),
    [(with_sources, 2, 4, 4), (with_structures, 10, 20, 2.5)],  # each source may return beside each other one
)
def test_twice_as_much_costs_a_few_times_as_many_calls(
    made: Callable[[int], str], few: int, many: int, times: float, calls: Callable[[Callable[[], object]], int]
) -> None:
    reviewed(TEXT)
    one, two = (calls(partial(reviewed, made(count))) for count in (few, many))
    assert two < times * one, (one, two)


@pytest.mark.parametrize("name", ["deliberate-sins.tpg", "deliberate-silence.tpg"])
def test_a_bad_plan_s_sarif_is_no_more_than_a_few_times_its_text(name: str) -> None:
    from groundlint.report.record import Run, plan_entry, rule_entries
    from groundlint.report.sarif import sarif_report
    from groundlint.report.text import review_text

    review = reviewer().review(Source(name, (EXAMPLES / name).read_text("utf-8")))
    entries = (plan_entry(review, Severity.WARNING),)
    run = Run("1", 1, entries, (), rule_entries(reviewer().books))
    assert len(sarif_report(run, EXAMPLES)) < 10 * len(review_text(review, everything=True))
