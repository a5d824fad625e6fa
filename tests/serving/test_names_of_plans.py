"""The index of names against the plans that read: every name that is used is one that is declared, at its own place."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from groundlint.language.reader import read_statements
from groundlint.reading import read_plan
from groundlint.serving.names import Key, Names
from groundlint.text import Source

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
WHOLE = [path for path in sorted(EXAMPLES.glob("*.tpg")) if not re.search(r"^use\b", path.read_text(), re.MULTILINE)]


def names(text: str) -> Names:
    source = Source("plan.tpg", text)
    return Names(read_statements(source).text.statements, source)


@pytest.mark.parametrize("path", WHOLE, ids=lambda path: path.stem)
def test_every_name_is_declared_and_every_thing_has_its_place(path: Path) -> None:
    found = names(path.read_text())
    assert [use for use in found.uses if use.key not in found.declared] == []
    for use in found.uses:
        written = found.source.text[use.start : use.end]
        assert written == use.key.name or (use.of_range and ".." in written)
    things = {thing.name for thing in read_plan(Source(path.name, path.read_text())).plan.things}
    assert things <= {key.name for key in found.declared}


def test_a_routines_names_are_its_own() -> None:
    found = names("rod R1\nlead G1..G3\nroutine up (rod R1, leads a)\n  attach a to R1\nattach G2 to R1\n")
    inner = found.at(found.source.text.index("R1", 60))
    assert inner is not None
    assert inner.key == Key("R1", "within up")
    outer = found.at(found.source.text.rindex("R1"))
    assert outer is not None
    assert outer.key == Key("R1")
    assert [use.of_range for use in found.of(Key("G2"))] == [True, False]
