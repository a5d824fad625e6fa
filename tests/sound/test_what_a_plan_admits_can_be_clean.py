"""Whatever the language can say of a job stands in a plan of sound practice whose review is clean.

A hazard that no plan may name and come out clean would sooner be left out than stated.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from pathlib import Path

from groundlint.language.reader import read_statements
from groundlint.language.statements import Routine, Statement, statement_classes
from groundlint.text import Source

ROOT = Path(__file__).parents[2]
CLEAN = (
    *(path for path in sorted((ROOT / "examples").glob("*.tpg")) if not path.name.startswith("deliberate-")),
    *sorted((ROOT / "tests" / "sound").glob("*.tpg")),
    *sorted((ROOT / "tests" / "rules" / "sound_practice").glob("*.tpg")),
)
"""Each is reviewed by the tests beside it, and has no finding."""

NEVER_CLEAN = {
    ("test", "improvised"): "fuzzing a line for voltage is no test",
    ("clears", "never"): "a fault that nothing clears is survived by no lead",
    ("discharge", "by_hand"): "a capacitor is discharged by stick",
}
"""What is there to be said and found."""
BY_HAND = {(kind, "by_hand") for kind in ("lift", "restore", "bond_across")}
"""By hand in gloves below 600 V, as `attach` stands in `07-secondary-480-by-hand-gloves.tpg`."""

BESIDE_THE_POINT = ("number", "comment", "before", "kind")


def stated() -> Iterator[tuple[str, str]]:
    for path in CLEAN:
        for one in read_statements(Source(path.name, path.read_text("utf-8"))).text.statements:
            for statement in (one, *one.body) if isinstance(one, Routine) else (one,):
                yield from fields_of(statement)


def fields_of(statement: Statement) -> Iterator[tuple[str, str]]:
    for one in dataclasses.fields(statement):
        if one.name == "kind" or getattr(statement, one.name) not in (None, (), False):
            yield str(statement.kind), one.name  # type: ignore[attr-defined]


def test_each_statement_stands_in_a_clean_plan() -> None:
    said = set(stated())
    every = {str(cls.kind): cls for cls in statement_classes().values()}  # type: ignore[attr-defined]
    assert {kind for kind in every if (kind, "kind") not in said} == set()
    flags = {
        (kind, one.name)
        for kind, cls in every.items()
        for one in dataclasses.fields(cls)
        if one.type == "bool" and one.name not in BESIDE_THE_POINT
    }
    assert flags - said - BY_HAND == NEVER_CLEAN.keys()
