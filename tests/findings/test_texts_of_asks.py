"""Every ask of plans to begin with and of some that say little, as it stands in the form: what was read over.

Kept beside this file; a change of wording is read over again, by the rules for messages in DEVELOPERS.md.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from crowd import reviewer
from syrupy.assertion import SnapshotAssertion

from groundlint.drafting.skeleton import skeleton
from groundlint.language.reader import read_statements
from groundlint.language.statements import Property, Statement
from groundlint.language.statements import headers as h
from groundlint.language.writer import write_plan
from groundlint.text import Source

EXAMPLES = Path(__file__).parents[2] / "examples"
NAME = re.compile(r"\b[A-Z][\w.]*|\b\w*\d[\w.]*")
LONGEST = ("dual-point-crossarm", "storm-repair", "delta-jumper", "deliberate-silence", "cable-splice")


def bare(text: str) -> str:
    """The plan with the names of its things and its steps, and few of the facts of the site."""
    read = read_statements(Source("plan.tpg", text)).text

    def stays(one: Statement) -> bool:
        if isinstance(one, Property):
            return one.kind in ("phases", "route", "neutral", "wires")  # type: ignore[attr-defined]
        return not isinstance(one, (h.NoSource, h.NoNeighbour, h.NoParallel, h.Document))

    return write_plan(replace(read, statements=tuple(one for one in read.statements if stays(one))))


def test_asks_are_those_that_were_read_over(snapshot: SnapshotAssertion) -> None:
    plans = [
        skeleton("single-point", "pole"),
        skeleton("dual-point", "bucket"),
        skeleton("small-neutral", "pole"),
        skeleton("single-point", "steel", "earthing"),
        *(bare((EXAMPLES / f"{name}.tpg").read_text("utf-8")) for name in LONGEST),
    ]
    said: dict[str, str] = {}
    for text in plans:
        review = reviewer().review(Source("plan.tpg", text))
        for ask in review.asks():
            said.setdefault(NAME.sub("", ask.fact), f"{ask.fact}\n    {ask.how(review.plan)}")
    assert "\n".join(sorted(said.values())) == snapshot
