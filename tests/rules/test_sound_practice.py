"""Sound practice as a crew would write it, each with neighbours that would hurt somebody.

The first line of a plan says what practice it shows and what it rests on. Lines at its end name what the same plan must
be found for if one thing were otherwise: ``# harmful: LINE -> OTHER [slugs]``, where ``LINE`` is part of one of its
lines, and each slug is a rule that is then broken, or ``impossible`` for a step that cannot be done.
"""

from __future__ import annotations

import re
from pathlib import Path

import crowd
import pytest

from groundlint.findings.model import Kind
from groundlint.text import Severity

FOLDER = Path(__file__).parent / "sound_practice"
PLANS = sorted(path.stem for path in FOLDER.glob("*.tpg"))
NEIGHBOUR = re.compile(r"^# harmful: (.+?) -> (.+) \[([a-z -]+)\]$", re.MULTILINE)
SOURCE = re.compile(r"# .+(29 CFR|EN 50110|IEEE|common practice, no source|from memory)")


def text_of(name: str) -> str:
    return (FOLDER / f"{name}.tpg").read_text(encoding="utf-8")


HARMFUL = [(name, *found) for name in PLANS for found in NEIGHBOUR.findall(text_of(name))]


SLOW = {"two-clearances-two-bracketed-places"}
"""Plans whose circuit takes as long as all the others together; looked at every third day."""


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=[pytest.mark.one_in(3)] if name in SLOW else []) for name in PLANS]
)
def test_sound_practice_is_clean(name: str) -> None:
    text = text_of(name)
    assert SOURCE.match(text)
    assert NEIGHBOUR.search(text), "without a neighbour that is found, nothing shows what the rules still see"
    review = crowd.reviewed(text, name, computed=True)
    assert [f"{f.span.line}: {f.message} [{f.slug}]" for f in review.findings if f.level > Severity.NOTICE] == []


@pytest.mark.parametrize(("name", "line", "other", "slugs"), HARMFUL)
def test_its_harmful_neighbour_is_found(name: str, line: str, other: str, slugs: str) -> None:
    plan = NEIGHBOUR.sub("", text_of(name))
    assert plan.count(line) == 1, line
    wanted, found = set(slugs.split()), set[str]()
    for computed in (False, True):  # most are found without the circuit
        if not wanted <= found:
            review = crowd.reviewed(plan.replace(line, other), name, computed=computed)
            found |= {f.slug for f in review.findings if f.kind is Kind.BROKEN and f.level > Severity.NOTICE}
            found |= {"impossible" for f in review.findings if f.kind is Kind.IMPOSSIBLE}
    assert wanted <= found, sorted(found)
