"""The verdict on one edit after another of small plans: what is worse, better, changed, the same.

Without the circuit, so that what the book which computes would find (a lead of no stated grade, another neutral) is
only changed here.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest
from crowd import reviewer
from revised import Edit, sub

from groundlint.findings.compare import compare
from groundlint.findings.model import Review
from groundlint.report.comparison import comparison_text, verdict_of
from groundlint.text import Severity, Source

COURSE = Path(__file__).parents[2] / "examples" / "course"
POLE, ROD, BUCKET = "lesson-3-a-set-at-one-pole", "lesson-4-a-rod", "lesson-5-two-brackets"


@cache
def sound(name: str) -> Review:
    return reviewer().review(Source("plan.tpg", (COURSE / name / "parts" / "sound.tpg").read_text("utf-8")))


def drop(*starts: str) -> Edit:
    """Each line left out that begins so, its number aside."""

    def edit(text: str) -> str:
        for start in starts:
            text = sub(rf"^ *(?:\d+\. +)?{re.escape(start)}.*\n", "")(text)
        return text

    return edit


def add(before: str, line: str) -> Edit:
    """A line put in before the one that begins so."""
    return sub(rf"^( *(?:\d+\. +)?{re.escape(before)})", rf"{line}\n\1", 1)


def both(*edits: Edit) -> Edit:
    def edit(text: str) -> str:
        for one in edits:
            text = one(text)
        return text

    return edit


def swap(one: str, other: str) -> Edit:
    """Two lines change places, steps with their numbers taken off."""

    def edit(text: str) -> str:
        lines = [re.sub(r"^ *\d+\. +", "  ", line) for line in text.split("\n")]
        at, to = (next(n for n, line in enumerate(lines) if line.strip().startswith(start)) for start in (one, other))
        lines[at], lines[to] = lines[to], lines[at]
        return "\n".join(lines)

    return edit


EDITS: dict[str, tuple[str, str, Edit]] = {
    # a protection gone or less
    "too small for the fault": ("worse", POLE, sub("carries the fault", "too small for the fault")),
    "a neutral that is not multigrounded": ("worse", POLE, sub("multigrounded", "unigrounded")),
    "tested by hand": ("worse", POLE, sub("with D1 on H1", "with D1 by hand")),
    "tested by nothing said": ("worse", POLE, sub("with D1 on H1", "with D1")),
    "tested before the clearance": ("worse", POLE, swap("clearance Teasel received", "test ")),
    "first proof gone": ("worse", POLE, sub(r"^ +6\. prove .*\n", "")),
    "last proof gone": ("worse", POLE, sub(r"^ +8\. prove .*\n", "")),
    "found live": ("worse", POLE, sub("with D1 on H1", "with D1 on H1, finding live")),
    "the neutral's lead gone": ("worse", POLE, drop("attach    G1", "detach    G1")),
    "a phase's lead gone": ("worse", POLE, drop("attach    G3", "detach    G3")),
    "every lead gone": ("worse", POLE, drop("attach", "detach")),
    "a lead left on": ("worse", POLE, drop("detach    G2")),
    "the bar left up": ("worse", POLE, drop("dismount")),
    "the bar above the feet": ("worse", POLE, sub("below the feet", "above the feet")),
    "the bar's height not said": ("worse", POLE, sub(" below the feet", "")),
    "a lead's line end by hand": ("worse", POLE, sub("then to TE3 B by H1", "then to TE3 B by hand")),
    "a lead comes off by hand": ("worse", POLE, sub("from TE3 B by H1", "from TE3 B by hand")),
    "a lead on another structure": ("worse", POLE, sub("TE3 C by H1", "TE4 C by H1")),
    "two leads on one phase": ("worse", POLE, sub("TE3 C by H1", "TE3 B by H1")),
    "up before the leads": ("worse", POLE, swap("inspect", "enter")),
    "down after the grounds": ("worse", POLE, swap("leave", "detach    G1")),
    "nobody comes down": ("worse", POLE, drop("leave")),
    "released before the grounds are off": ("worse", POLE, swap("clearance Teasel released", "detach    G4")),
    "never released": ("changed", POLE, drop("clearance Teasel released")),
    "not cleaned": ("worse", POLE, drop("clean")),
    "one phase not cleaned": ("worse", POLE, sub("TE3 N A B C$", "TE3 N A B", 1)),
    "leads not looked over": ("worse", POLE, drop("inspect")),
    "one lead not looked over": ("worse", POLE, sub(r"inspect   G1\.\.G4", "inspect   G1..G3")),
    "the hold gone": ("worse", POLE, drop("hold")),
    "not briefed": ("worse", POLE, drop("brief")),
    "one not briefed": ("worse", POLE, sub("brief     all", "brief     Pike")),
    "nobody asks for the clearance": ("changed", POLE, drop("clearance Teasel requested")),
    "no clearance": ("worse", POLE, drop("clearance")),
    "not opened": ("worse", POLE, drop("open")),
    "no lock": ("worse", POLE, sub("lock it and tag it", "tag it")),
    "no tag": ("worse", POLE, sub("lock it and tag it", "lock it")),
    "the gap not seen": ("worse", POLE, sub(", gap seen", "")),
    "closed again before the work": ("worse", POLE, add("hold", "  close F7")),
    "reclosing on": ("worse", POLE, sub("reclosing off", "reclosing on")),
    "reclosing not said": ("worse", POLE, drop("reclosing")),
    "another source may be there": ("worse", POLE, drop("no other source")),
    "a live neighbour may be there": ("worse", POLE, drop("no live neighbour")),
    "thinner leads": ("worse", POLE, sub("2/0 copper", "1/0 copper")),
    "longer leads": ("worse", POLE, sub("20 ft", "28 ft")),
    "leads of a lower grade": ("worse", POLE, sub("grade 3", "grade 2")),
    "leads of no grade": ("changed", POLE, sub(" grade 3", "")),
    "a shorter stick": ("worse", POLE, sub("H1 10 ft", "H1 6 ft")),
    "a detector that shows less": ("worse", POLE, sub("for 4 kV to 46 kV", "for 6 kV to 46 kV")),
    "the rod nearer": ("worse", ROD, sub("20 ft from the pole", "16 ft from the pole")),
    "the rod less deep": ("worse", ROD, sub("8 ft deep", "6 ft deep")),
    "the barricade nearer": ("worse", ROD, sub("R1 at 15 ft", "R1 at 9 ft")),
    "the barricade gone": ("worse", ROD, drop("barricade")),
    "a bracket gone": ("worse", BUCKET, drop("do        bracket (TE4", "undo      bracket at TE4", "dismount  K2")),
    "a jumper between phases gone": ("worse", BUCKET, drop("attach    P2", "detach    P2")),
    "the truck not kept clear": ("worse", BUCKET, drop("barricade")),
    "a lift that is not insulated": ("worse", BUCKET, sub("truck insulated", "truck uninsulated")),
    "a line that is not read": ("worse", POLE, sub("clean     TE3", "claen     TE3")),
    # more, or only otherwise
    "thicker leads": ("better", POLE, sub("2/0 copper", "4/0 copper")),
    "the neutral tested too": ("better", POLE, sub("test      TE3 A B C", "test      TE3 N A B C")),
    "the rod further off": ("changed", ROD, sub("20 ft from the pole", "25 ft from the pole")),
    "gloves on for the work": ("better", POLE, add("enter", "  gloves on Wren")),
    "more current": ("changed", POLE, sub("4.4 kA three-phase", "6.4 kA three-phase")),
    "other soil": ("changed", POLE, sub("90 ohm m", "900 ohm m")),
    "a measured value": ("changed", POLE, add("soil", "measured clamp-contact-resistance 0.2 mohm")),
    "a caution more": ("changed", POLE, add("caution", 'caution "the road is wet"')),
    # the same
    "the test in two steps": (
        "the same",
        POLE,
        sub(r"^ +7\. test .*$", "  7. test TE3 A B with D1 on H1\n  7a. test TE3 C with D1 on H1"),
    ),
    "comments": ("the same", POLE, sub(r"^( *\d+\. +.*)$", r"\1  # as said")),
    "leads and bar by other names": (
        "the same",
        POLE,
        both(sub(r"G1\.\.G4", "G1 G2 G3 G4"), sub(r"\bG(\d)\b", r"Z\1"), sub(r"\bK1\b", "Y7")),
    ),
    "other units": ("the same", ROD, both(sub("20 ft from", "240 in from"), sub("34.5 kV", "34500 V"))),
    "another date and revision": ("the same", POLE, sub("revision 1 dated 2026-05-04", "revision 2 dated 2026-05-14")),
}


@pytest.mark.parametrize("name", EDITS)
def test_the_verdict_is_what_the_edit_deserves(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("groundlint.findings.compare.computed_margins", lambda *_: iter(()))  # they decide nothing
    verdict, plan, edit = EDITS[name]
    old = sound(plan)
    new = reviewer().review(Source("plan.tpg", edit(old.plan.source.text)))
    assert new.plan.unread is (name == "a line that is not read"), [one.message for one in new.findings][:3]
    comparison = compare(old, new)
    assert verdict_of(comparison, Severity.WARNING) == verdict, comparison_text(comparison, Severity.WARNING)
    assert bool(comparison.status(Severity.WARNING)) == (verdict == "worse")
