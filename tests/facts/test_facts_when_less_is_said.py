"""Taking a stated value out of a plan may only make facts unknown: silence never counts as an answer."""

from __future__ import annotations

import math

import pytest
from asked_plans import PLAN, Asked, every_answer

from groundlint.electrical.study.following import FURTHER, REST
from groundlint.language.reader import read_statements
from groundlint.text import Source
from groundlint.values import Bounds, Unknown
from groundlint.values.bounds import ends

REMOVALS = [
    ("dated 2026-03-02", ""),
    ("revision 3", ""),
    ("method    dual-point from the pole\n", ""),
    (" from the pole\ncaution", "\ncaution"),
    ('caution   "the rod\'s surroundings are not to be walked on"\n', ""),
    ('emergency "call dispatch; bring the injured down by hand line"\n', ""),
    ("  voltage   12.47 kV\n", ""),
    ("  frequency 60 Hz\n", ""),
    ("  altitude  2000 ft\n", ""),
    (" multigrounded carries the fault", ""),
    (" carries the fault", ""),
    (" multigrounded", ""),
    ("  no shield wire\n", ""),
    ("  wires     A B C 336.4 kcmil acsr, N 4/0 acsr\n", ""),
    ("211 (52 m) 212 (48 m) 213", "211 212 (48 m) 213"),
    ("211 (52 m) 212 (48 m) 213", "211 212 213"),
    ("source West beyond 211 utility", "source West utility"),
    ("source Solar beyond 213 customer generation", "source Solar customer generation"),
    ("6.8 kA three-phase, ", ""),
    (", 5.2 kA to ground", ""),
    (", x/r 9", ""),
    ("  clears    in 24 cycles\n", ""),
    ("  reclosing on\n", ""),
    ("  reclosing off\n", ""),
    ("  voltage   480 V\n", ""),
    ("no source but West Solar\n", ""),
    (" at 60 ft\n", "\n"),
    (" beside 211 to 213", ""),
    ("  voltage   115 kV\n", ""),
    ("  current   400 A\n", ""),
    (" live 7.2 kV", ""),
    (" at 212 6 ft from 212 A", ""),
    (" 6 ft from 212 A", ""),
    ("no neighbour but Under\n", ""),
    (" between West and 211 closed manual", " closed manual"),
    ("211 closed manual", "211 manual"),
    (" closed manual", " closed"),
    (" closed visible gap", " closed"),
    (" closed visible gap", " visible gap"),
    ("structure 211 212 213 wood pole", "structure 211 212 213"),
    ("soil      120 ohm m\n", ""),
    ("R1 R2       6 ft x 5/8 in", "R1 R2"),
    (" tested 2025-09-01", ""),
    (" due 2026-09-01", ""),
    ("2/0 copper 25 ft", "2/0 25 ft"),
    ("2/0 copper 25 ft", "25 ft"),
    ("copper 25 ft", "copper"),
    ("10 ft grade 3", "10 ft"),
    (" for 5 kV to 40 kV", ""),
    (" contact\n", "\n"),
    ("H1          8 ft", "H1"),
    ("bucket truck insulated", "bucket truck"),
    ("bucket truck insulated", "insulated"),
    ("L1 qualified", "L1"),
    ("M1 unqualified", "M1"),
    # in steps
    (", 16 ft from the pole", ""),
    (", 6 ft deep", ""),
    ("R at S, 16 ft", "R, 16 ft"),
    ("barricade R 10 ft", "barricade R"),
    ("prove     D1 on T1\n  test", "prove     D1\n  test"),
    (" with D1 on H1", " on H1"),
    (" with D1 on H1", " with D1"),
    ("mount     K at S below N", "mount     K at S"),
    ("mount     K at S below N", "mount     K below N"),
    ("b to K, then to S N by H1", "b to K, then to S N"),
    ("K3 at 212 below the feet", "K3 below the feet"),
    ("K3 at 212 below the feet", "K3 at 212"),
    ("212 A by H1\n 11.", "212 A\n 11."),
    (" gap seen", ""),
    ("requested by L1", "requested"),
    ("received by L1", "received"),
    ("released by L1", "released"),
    (", reaching A B C and the pole", ""),
    ("L1 at 212 on the pole", "L1 at 212"),
    ("L1 at 212 on the pole, reaching A B C and the pole", "L1"),
    ("10. attach", "attach"),
]

SEARCHED = 1e-6
"""Share of a value to which a bound is searched; each is then set further by `FURTHER` of its way from the middle, and
by what the values that are not followed may do, up to `REST` of it: of two plans, either may be set further by that."""
NEXT_TO_NOTHING = 1e-4
"""A, V, m, s, K: less than anything that a rule asks for."""
NOT_NARROWER = {
    "unqualified": "it asks whether the plan says so; `qualified` is unknown where it is silent",
    "first-apart-here": "it names which of several may be furthest apart, and less said moves how far each may be",
    "second-apart-here": "as first-apart-here",
    "exposed-at": "as first-apart-here",
    "exposed-against": "as first-apart-here",
    "rating": "it is that for the way that may load the lead most, and less said makes it another",
    "reclosing-behind": "it names a source of which nothing says that its reclosing is put off",
}
"""Facts that say why they may be another thing, and yet known, where less is said."""


@pytest.fixture(scope="module")
def whole() -> Asked:
    return Asked(PLAN)


@pytest.fixture(scope="module")
def positions(whole: Asked) -> list[int]:
    return sorted({0, 1, 2, *range(9, whole.n + 1, 17), whole.at("step 10"), whole.at("step 14"), whole.n})


@pytest.fixture(scope="module")
def answers(whole: Asked, positions: list[int]) -> dict[tuple[str, ...], object]:
    return {key: value for key, (_, value) in every_answer(whole, positions).items()}


def test_the_whole_plan_answers_most_that_is_asked(answers: dict[tuple[str, ...], object]) -> None:
    assert sum(isinstance(value, Unknown) for value in answers.values()) < len(answers) / 4


@pytest.mark.one_in(6)
@pytest.mark.parametrize(("stated", "left"), REMOVALS, ids=[f"{old.strip()} -> {new.strip()}" for old, new in REMOVALS])
def test_less_said_is_less_known(
    stated: str, left: str, whole: Asked, positions: list[int], answers: dict[tuple[str, ...], object]
) -> None:
    assert stated in PLAN
    fewer = Asked(PLAN.replace(stated, left))
    assert not fewer.result.plan.unread, [d.message for d in fewer.result.diagnostics]
    assert fewer.n == whole.n
    changed = []
    asked = {key: value for key, value in every_answer(fewer, positions).items() if key[0] not in NOT_NARROWER}
    for key, (_, value) in asked.items():
        before = answers.get(key)
        if key in answers and not isinstance(value, Unknown) and not _no_narrower(value, before):
            changed.append((*key, before, value))
    assert changed == []


def _no_narrower(value: object, before: object) -> bool:
    """The same, or bounds that hold what was known before."""
    if isinstance(value, float) and isinstance(before, float):
        return math.isclose(value, before, rel_tol=SEARCHED)
    if isinstance(value, (Bounds, float)) and isinstance(before, (Bounds, float)):
        (least, most), (low, high) = ends(value), ends(before)
        left = FURTHER * (high - low) + NEXT_TO_NOTHING
        return least <= low * (1 + REST) + left and most >= high * (1 - REST) - left
    return value == before


def test_every_gap_says_what_to_write_where_that_can_be_said(whole: Asked, positions: list[int]) -> None:
    gaps = {
        gap
        for text in (PLAN, "line Larkspur\n  phases A B C\n")
        for _, value in every_answer(Asked(text), [0]).values()
        if isinstance(value, Unknown)
        for gap in value.gaps
    }
    assert gaps
    every_step = "the numbers of the steps"  # no one line has them; `groundlint mend` puts them in
    assert [gap.fact for gap in gaps if not gap.write and gap.fact != every_step] == []


@pytest.mark.parametrize("text", [PLAN, "line Larkspur\n  phases A B C\n", "line Larkspur\n"])
def test_what_a_gap_says_to_write_can_be_read(text: str) -> None:
    writes = {
        gap.write
        for _, value in every_answer(Asked(text), [0]).values()
        if isinstance(value, Unknown)
        for gap in value.gaps
    }
    unreadable = {
        write: [d.message for d in found]
        for write in writes
        if (found := read_statements(Source("written", write + "\n")).diagnostics)
    }
    assert unreadable == {}
