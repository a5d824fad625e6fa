"""Faults that only a computation sees: each turns a sound example into one that a single rule finds."""

from __future__ import annotations

from pathlib import Path

import pytest
from crowd import reviewer

from groundlint.findings.model import Kind, Review
from groundlint.text import Source

EXAMPLES = Path(__file__).parents[2] / "examples"


def changed(name: str, *edits: tuple[str, str]) -> Review:
    """An example, sound as it stands, with some of its words replaced."""
    text = (EXAMPLES / name).read_text(encoding="utf-8")
    assert reviewer(computed=True).review(Source(name, text)).findings == ()
    for old, new in edits:
        assert old in text, old
        text = text.replace(old, new)
    return reviewer(computed=True).review(Source(name, text))


def found(review: Review) -> set[tuple[str, Kind]]:
    return {(one.slug, one.kind) for one in review.findings}


@pytest.mark.parametrize("reached", ["K4", "the pole"])
def test_what_leads_out_of_the_zone_fails_on_exposure(reached: str) -> None:
    """The bar and its leads hang within reach of a man on the soil, who is no part of the zone: every lead is on, every
    step in its order, and what he touches rises with the line. How far it rises is known only where the way back to the
    source is stated; that no lead joins the bar to the soil is seen without."""
    beside = {("reach-joined-here", Kind.BROKEN)} if reached == "K4" else set()
    name, onto = "single-point-insulator.tpg", ("on the ground, reaching nothing", f"on the ground, reaching {reached}")
    assert found(changed(name, onto)) == {("exposure-below-limit", Kind.UNSHOWN), *beside}
    stated = "soil      60 ohm m\n" + "".join(
        f"measured  {value}\n"
        for value in (
            "neutral-back-to-source 0.4 ohm",
            "station-ground-resistance 1 ohm",
            "neutral-ground-resistance 25 ohm",
        )
    )
    review = changed(name, ("soil      60 ohm m\n", stated), onto)
    assert found(review) == {("exposure-below-limit", Kind.BROKEN), *beside}
    assert review.status() == 1


def test_long_leads_from_phase_to_phase_are_not_shown_to_hold_the_voltage_down() -> None:
    """Leads that carry the fault, in a chain of 30 ft each: their drop may be more than a body stands."""
    strong = (
        ("fault     3.4 kA three-phase, 2.9 kA to ground", "fault     22 kA three-phase, 18.7 kA to ground"),
        ("1/0 copper 20 ft grade 2", "4/0 copper 30 ft grade 5"),
        ("soil      60 ohm m\n", "soil      60 ohm m\nmeasured  bar-to-pole-resistance 0.1 ohm\n"),
    )
    chain = (
        ("W4 to K4, then to OS07 A", "W4 to OS07 B by H3, then to OS07 A"),
        ("W5 to K4, then to OS07 C", "W5 to OS07 A by H3, then to OS07 C"),
        ("OS07 C by H3, then from K4", "OS07 C by H3, then from OS07 A by H3"),
        ("OS07 A by H3, then from K4", "OS07 A by H3, then from OS07 B by H3"),
    )
    assert found(changed("single-point-insulator.tpg", *strong)) == set()
    assert found(changed("single-point-insulator.tpg", *strong, *chain)) == {("exposure-below-limit", Kind.UNSHOWN)}
