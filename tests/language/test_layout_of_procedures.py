"""Markdown procedures laid out: the plan in canonical layout, all else as it was, and nothing read otherwise."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path
from random import Random

import pytest

from groundlint.language.layout import laid_out
from groundlint.language.reader import read_statements
from groundlint.language.writer import write_plan
from groundlint.text import Source

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.tpg"))
AROUND = {
    "plain": ("```tpg", "", "```"),
    "list": ("- ```TPG", "  ", "  ```"),
    "quote": ("> ~~~tpg", "> ", "> ~~~"),
    "list in a quote": (">  1. ```tpg", ">     ", ">     ```"),
}


def procedure(plan: str, rng: Random) -> str:
    """A plan cut where its lines begin a statement at the margin, each part in a fence of some kind, prose between."""
    cuts = [at.start() for at in re.finditer(r"^(?=[a-z])", plan, re.MULTILINE)]
    chosen = sorted({0, *rng.sample(cuts, min(6, len(cuts))), len(plan)})
    out = []
    for number, (at, end) in enumerate(pairwise(chosen)):
        opening, margin, closing = AROUND[rng.choice(list(AROUND))]
        lines = "".join(f"{margin}{line}".rstrip() + "\n" for line in plan[at:end].splitlines())
        out.append(f"Part {number}:   read   it.\n\n{opening}\n{lines}{closing}\n\n")
    return "".join(out)


def tidy(text: str) -> str:
    source = Source("procedure.md", text)
    read = read_statements(source)
    assert read.diagnostics == ()
    return laid_out(source, read)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_plan_is_laid_out_and_reads_as_before(path: Path, daily_seed: int) -> None:
    plan = re.sub(r"(?m)^(\s*\S+)[ ]", r"\1    ", path.read_text("utf-8"))
    whole = procedure(plan, Random(f"{path.stem} {daily_seed}"))
    made = tidy(whole)
    assert made != whole
    assert tidy(made) == made
    before, after = (read_statements(Source("procedure.md", text)).text for text in (whole, made))
    assert write_plan(after) == write_plan(before)
    assert re.findall(r"(?m)^(?:Part.*|[> ]*(?:[-1.]+ +)?[`~]{3}.*)$", made) == re.findall(
        r"(?m)^(?:Part.*|[> ]*(?:[-1.]+ +)?[`~]{3}.*)$", whole
    )


def test_line_ends_stay_those_of_the_procedure() -> None:
    text = "# P\r\n\r\n- ```tpg\r\n  line   Larkspur\r\n    phases   A B C\r\n  ```\r\n"
    assert tidy(text) == text.replace("line   Larkspur", "line Larkspur").replace("phases   A", "phases A")


def test_a_routine_over_two_fences_is_not_cut_short() -> None:
    text = "```tpg\nroutine up (W)\n  brief W\n```\n\n```tpg\n  enter   W at 211\n```\n"
    source = Source("procedure.md", text)
    assert write_plan(read_statements(Source("procedure.md", laid_out(source, read_statements(source)))).text) == (
        write_plan(read_statements(source).text)
    )
