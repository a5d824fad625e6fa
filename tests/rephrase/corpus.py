"""The plans that are rewritten: examples, accidents with their twins and models, plans that hurt, generated ones."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

from seeded import OPERATORS, bench, spoiled
from sheets import Sheet, read
from sound_plans import sound_plan

from groundlint.language import statements as s
from groundlint.language.reader import read_statements
from groundlint.text import Source

ROOT = Path(__file__).resolve().parents[2]


def used(plan: s.PlanText, folder: Path) -> Iterator[Any]:
    """A plan's statements with those of the files that it uses in their place."""
    for one in plan.statements:
        if isinstance(one, s.Use):
            path = folder / str(one.path)
            yield from used(read(path.read_text(encoding="utf-8")), path.parent)
        else:
            yield one


@cache
def written() -> dict[str, Path]:
    """The written plans that read whole, by their names."""
    folders = {
        "examples": [*(ROOT / "examples").rglob("*.tpg"), *(ROOT / "examples").glob("*.md")],
        "incidents": (ROOT / "tests" / "incidents").glob("*.tpg"),
        "harm": (ROOT / "tests" / "harm" / "plans").glob("*.tpg"),
    }
    found: dict[str, Path] = {}
    for which, paths in folders.items():
        for path in sorted(paths):
            reads = read_statements(Source(path.name, path.read_text(encoding="utf-8")))
            if reads.diagnostics or not any(isinstance(one, s.Step) for one in reads.text.statements):
                continue
            name = path.stem if path.parent.name != "parts" else f"{path.parents[1].name}/{path.stem}"
            found[f"{which}/{name}"] = path
    return found


def sheet(name: str) -> Sheet:
    """A plan by its name: a written one, or ``generated/SEED``, sound where the seed is even and spoiled elsewhere."""
    if name.startswith("generated/"):
        seed = int(name.split("/")[1])
        text = sound_plan(seed)
        if seed % 2:
            rng = Random(f"spoiled {seed}")
            text = spoiled(bench(text), rng.choice(OPERATORS), rng) or text
        return Sheet(read(text))
    path = written()[name]
    plan = read(path.read_text(encoding="utf-8"), path.name)
    return Sheet(replace(plan, statements=tuple(used(plan, path.parent))))
