"""The classic comparison on one site: what a worker would feel without grounds, between brackets, and inside a zone.

The order is that of the trade and of 29 CFR 1910.269 Appendix C: brackets alone leave the worker across the line's
rise, a zone at the pole leaves the drop along its own leads, and a personal ground between brackets, which take most of
the current, leaves the least (order: common practice; the numbers are derived here, and stand in examples/README.md).
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest
from crowd import reviewer_by

from groundlint.electrical.study.results import exposure
from groundlint.electrical.study.study import Study, study_of
from groundlint.plan.models import Person, SupplySource
from groundlint.reading import read_plan
from groundlint.text import Severity, Source
from groundlint.timeline import replay
from groundlint.values import Unknown
from groundlint.values.bounds import ends

EXAMPLES = Path(__file__).parents[2] / "examples"
FOLDER = EXAMPLES / "comparison"
LIMIT = 0.116 / 0.4**0.5 * 1000
"""183 V: IEEE 80-2000 6.1 for 50 kg, 24 cycles of 60 Hz, 1000 ohm."""

ORDER = ("no-zone", "brackets-only", "small-neutral-zone", "single-point-zone", "brackets-and-personal-ground")


def opener(name: str) -> Source:
    return Source(name, (FOLDER / name).read_text(encoding="utf-8"))


@cache
def study(name: str) -> Study:
    path = FOLDER / f"{name}.tpg"
    result = read_plan(Source(str(path), path.read_text(encoding="utf-8")), opener)
    assert not result.plan.unread
    found = study_of(replay(result.plan))
    assert isinstance(found, Study)
    return found


def worst(name: str) -> tuple[float, float, str]:
    """Low and high bound in V of the worst pair at any step, and that pair."""
    here = study(name)
    plan = here.timeline.plan
    found = []
    for at in range(here.timeline.n + 1):
        for person in plan.of(Person):
            for source in plan.of(SupplySource):
                assert isinstance(person, Person)
                assert isinstance(source, SupplySource)
                one = exposure(here, person, source, at)
                if one is not None and one.pair is not None:
                    assert not isinstance(one.voltage, Unknown)
                    found.append((*ends(one.voltage), f"{one.pair[0]} to {one.pair[1]}"))
    return max(found, key=lambda entry: entry[1])


def test_the_arrangements_come_in_the_order_that_the_trade_expects() -> None:
    found = [worst(name) for name in ORDER]
    highs = [entry[1] for entry in found]
    lows = [entry[0] for entry in found]
    # the last two end at the strap of the bar on a wet pole, which is the same for both
    assert highs[:4] == sorted(highs[:4], reverse=True)
    assert highs[4] < 1.1 * highs[3]
    assert lows == sorted(lows, reverse=True)


def test_only_the_zones_are_below_the_limit() -> None:
    assert {name: worst(name)[1] < LIMIT for name in ORDER} == {
        "no-zone": False,
        "brackets-only": False,
        "small-neutral-zone": True,
        "single-point-zone": True,
        "brackets-and-personal-ground": True,
    }
    assert worst("no-zone")[0] > 12_000  # the line's own voltage, between two phases
    assert worst("brackets-only")[0] > 5 * LIMIT


@pytest.mark.parametrize("name", ORDER)
def test_the_documented_numbers_are_those_computed(name: str) -> None:
    page = (EXAMPLES / "README.md").read_text(encoding="utf-8")
    row = re.search(rf"^\| `{name}.tpg` \| [^|]+ \| ([0-9.,]+) to ([0-9.,]+) V \| ([^|]+) \|", page, re.MULTILINE)
    assert row is not None, f"examples/README.md has no row for {name}"
    low, high, pair = worst(name)
    for printed, found in ((row[1], low), (row[2], high)):  # a search may end a thousandth from where another ends
        assert float(printed.replace(",", "")) == pytest.approx(found, rel=0.001, abs=0.51)
    assert row[3].strip() == pair


def test_the_computed_rules_agree() -> None:
    reviewer = reviewer_by("electrical")
    broken = {}
    for name in ORDER:
        path = FOLDER / f"{name}.tpg"
        review = reviewer.review(Source(str(path), path.read_text(encoding="utf-8")), opener)
        broken[name] = {finding.slug for finding in review.findings if finding.slug == "exposure-below-limit"}
    assert [name for name in ORDER if broken[name]] == ["no-zone", "brackets-only"]


def found_in(text: str, site: str, books: tuple[str, ...]) -> set[str]:
    """The rules that are broken or not shown, of a plan and its site as changed."""

    def changed(name: str) -> Source:
        return Source(name, site)

    review = reviewer_by(*books).review(Source("plan.tpg", text), changed)
    assert not review.plan.unread
    return {finding.slug for finding in review.findings if finding.level >= Severity.WARNING}


def test_right_order_and_too_small_fails_on_the_leads_alone() -> None:
    plan = (FOLDER / "single-point-zone.tpg").read_text(encoding="utf-8")
    site = (FOLDER / "parts" / "fence-row.tpg").read_text(encoding="utf-8")
    books = ("practice", "us-29cfr1910-269", "electrical")
    assert found_in(plan, site, books) == set()
    strong = site.replace("6.8 kA three-phase, 5.2 kA to ground", "12 kA three-phase, 9 kA to ground")
    thin = strong.replace("2/0 copper 25 ft grade 3", "2 AWG copper 12 ft grade 1")
    assert thin != strong != site
    assert found_in(plan, thin, books) == {"lead-carries-duty", "lead-spans-its-points"}  # nor does it reach the rod


def test_a_lead_out_of_the_zone_fails_on_the_exposure_alone_of_what_is_computed() -> None:
    plan = (FOLDER / "single-point-zone.tpg").read_text(encoding="utf-8")
    site = (FOLDER / "parts" / "fence-row.tpg").read_text(encoding="utf-8")
    gone = "\n".join(line for line in plan.split("\n") if "G5 to K1" not in line and "G5 from FR3" not in line)
    assert found_in(gone, site, ("electrical",)) == {"exposure-below-limit"}
