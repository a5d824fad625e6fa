"""A sound plan with one figure made worse fails by the rule that computes with it."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from crowd import on_every_core, reviewed
from sound_plans import draft

from groundlint.findings.model import Kind

SEEDS = range(40)


def sub(pattern: str, by: str) -> Callable[[str], str]:
    return lambda text: re.sub(pattern, by, text, flags=re.MULTILINE | re.IGNORECASE)


EITHER = frozenset((Kind.BROKEN, Kind.UNSHOWN))
HALF = 0.4
"""Of the plans, the grounds of the others carry so nearly the bolted fault that no relay has to be stated for them."""

SPOILED: dict[str, tuple[Callable[[str], str], set[str], frozenset[Kind], float]] = {
    "leads of 2 AWG on a strong source": (
        lambda text: sub(r"^(\s*)(?:fault|power|impedance)\b.*$", r"\1fault 16 kA three-phase, 14 kA to ground, x/r 9")(
            sub(r"(?:2/0|3/0|4/0|70 mm2|120 mm2|250 kcmil) copper", "2 AWG copper")(sub(r"grade \d", "grade 1")(text))
        ),
        {"lead-carries-duty"},
        frozenset((Kind.BROKEN,)),
        0.75,
    ),
    "a relay that no such fault picks up": (
        sub(r"pickup [\d.]+ A", "pickup 90 kA"),
        {"clears-with-grounds-on", "rod-not-only-return"},
        EITHER,
        HALF,
    ),
    "no relay": (
        sub(r"^\s*relay .*\n", ""),
        {"clears-with-grounds-on", "rod-not-only-return"},
        frozenset((Kind.UNSHOWN,)),
        HALF,
    ),
    "no size of any wire": (
        sub(r"^\s*(?:wires|conductors) .*\n", ""),
        {"lead-carries-duty", "exposure-below-limit"},
        frozenset((Kind.UNSHOWN,)),
        1.0,
    ),
    "no clearing time": (
        sub(r"^\s*(?:clears|relay) .*\n", ""),
        {"lead-carries-duty", "exposure-below-limit"},
        frozenset((Kind.UNSHOWN,)),
        1.0,
    ),
}


def look(item: tuple[str, int]) -> tuple[str, int, bool, tuple[str, ...]]:
    """Whether the rule saw it, and what else is found."""
    name, seed = item
    spoil, slugs, kinds, _share = SPOILED[name]
    text = draft(seed).text()
    worse = spoil(text)
    assert worse != text, name
    found = [one for one in reviewed(worse, computed=True).findings if one.slug in slugs]
    return name, seed, any(one.kind in kinds for one in found), tuple(sorted({one.slug for one in found}))


@pytest.mark.slow
@pytest.mark.one_in(8)
@pytest.mark.parametrize("name", SPOILED)
def test_a_figure_made_worse_is_found(name: str) -> None:
    seen = on_every_core(look, [(name, seed) for seed in SEEDS if seed % len(SPOILED) == list(SPOILED).index(name)], 2)
    hits = sum(hit for _name, _seed, hit, _found in seen)
    assert hits >= SPOILED[name][3] * len(seen), seen
