"""Rule books as text in tests: sound ones to start from, written to a folder and loaded."""

from __future__ import annotations

from pathlib import Path

from toy_catalogue import TOY

from groundlint.rulebook.load import load_book
from groundlint.rulebook.model import Rulebook
from groundlint.text import Diagnostic

BOOK = """\
book toy
  title    "Toy practice"
  scope    "toy plans"
  edition  "first"
  setting  lead-longest 30 ft  known common practice  because "a long lead whips"
  setting  way single-point one of single-point dual-point  known from memory  because "habit"
"""

RULE = """\
rule ground-end-first
  level    danger
  title    "The ground end goes on first"
  cites    29 CFR 1910.269(n)(6)(i)    # a comment
  known    published
  because  "A lead hung on the line with its other end free is as live as the line"
  at       attach lead to point
  where    lead is not on
  require  point is grounded
  say      "{lead} starts on {point}, which is not grounded yet;"
           "its ground end goes on first"
  passes
    | attach G1 to R1 by H1
  fails
    > attach G2 to A by H1
"""

BASE = """\
rod R1 steel
conductor A
lead G1 25 ft
lead G2 20 ft
detector D1
source W
no other source
"""


def write_book(folder: Path, name: str, book: str, rules: dict[str, str], bases: dict[str, str] | None = None) -> None:
    home = folder / name
    (home / "bases").mkdir(parents=True, exist_ok=True)
    (home / "book.book").write_text(book, encoding="utf-8")
    for stem, text in rules.items():
        (home / f"{stem}.rule").write_text(text, encoding="utf-8")
    for stem, text in (bases or {"base": BASE}).items():
        (home / "bases" / f"{stem}.tpg").write_text(text, encoding="utf-8")


def load(folder: Path, name: str) -> tuple[Rulebook | None, tuple[Diagnostic, ...]]:
    return load_book([folder], name, TOY)


def sound(folder: Path, name: str) -> Rulebook:
    book, problems = load(folder, name)
    assert book is not None
    assert not problems, said(problems)
    return book


def said(problems: tuple[Diagnostic, ...]) -> list[str]:
    return [
        f"{problem.span.source.name}:{problem.span.line}:{problem.span.position.column} "
        f"`{problem.span.text}` {problem.code}: {problem.message}"
        for problem in problems
    ]
