"""Rules are data: no rule's name stands in the package, and books hold text files only."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
RULE_FILES = sorted([*(ROOT / "rules").rglob("*.rule"), *(ROOT / "examples").rglob("*.rule")])
SLUGS = {m for file in RULE_FILES for m in re.findall(r"^rule ([\w-]+)", file.read_text("utf-8"), re.MULTILINE)}


def test_the_slugs_were_found() -> None:
    assert SLUGS


def test_no_rule_is_named_in_the_package() -> None:
    words = {path: set(re.findall(r"[\w-]+", path.read_text("utf-8"))) for path in (ROOT / "groundlint").rglob("*.py")}
    assert words
    assert [(str(path.relative_to(ROOT)), named) for path, found in words.items() if (named := found & SLUGS)] == []


def test_books_hold_no_programs() -> None:
    files = [p for top in ("rules", "examples") for p in (ROOT / top).rglob("*") if p.is_file()]
    assert files
    assert {p.suffix for p in files} <= {".rule", ".book", ".tpg", ".md", ".toml", ".txt"}
