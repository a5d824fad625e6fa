"""The oracle sees the harm that each written plan was written for, and sees none in sound plans."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from crowd import opener
from hazards import HAZARDS, harms
from sound_plans import sound_plan

from groundlint.reading import read_plan
from groundlint.text import Source

HERE = Path(__file__).parent
PLANS = tuple(sorted((HERE / "plans").glob("*.tpg")))
"""But for those in `unseen/`, which hurt by what it does not look at."""


def said(path: Path) -> str:
    """The hazard that a plan's first line names."""
    return path.read_text(encoding="utf-8")[2:].partition(":")[0]


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_the_oracle_sees_what_hurts(path: Path) -> None:
    result = read_plan(Source(path.name, path.read_text(encoding="utf-8")))
    seen = {harm.kind for harm in harms(result.plan)}
    assert said(path) in seen


def test_every_hazard_is_explained_and_has_a_plan() -> None:
    explained = re.findall(r"^\| `([a-z-]+)` \|", (HERE / "HAZARDS.md").read_text(encoding="utf-8"), re.MULTILINE)
    assert sorted(explained) == sorted(HAZARDS)
    assert sorted({said(path) for path in PLANS}) == sorted(HAZARDS)


def test_sound_plans_hurt_nobody(seeds: Callable[[int, int], range]) -> None:
    hurt = {
        seed: found
        for seed in seeds(60, 1000)
        if (found := harms(read_plan(Source("sound.tpg", sound_plan(seed))).plan))
    }
    assert hurt == {}


ROOT = HERE.parents[1]
SOUND = (
    *(path for path in sorted((ROOT / "examples").glob("*.tpg")) if not path.stem.startswith("deliberate")),
    *sorted((ROOT / "tests" / "sound").glob("*.tpg")),
)
"""Sound plans that others wrote."""


@pytest.mark.parametrize("path", SOUND, ids=lambda path: path.stem)
def test_sound_plans_of_others_hurt_nobody(path: Path) -> None:
    result = read_plan(Source(str(path), path.read_text(encoding="utf-8")), opener(path.parent))
    assert harms(result.plan) == []
