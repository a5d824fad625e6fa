"""Files of rulebooks laid out: the shipped ones are, and what is laid out says the same and stays as it is."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from groundlint.cli import main
from groundlint.rulebook.layout import Layout, lay_out
from groundlint.rulebook.shipped import FILES
from groundlint.rulebook.tidy import tidied
from groundlint.text import Source

ROOT = Path(__file__).parents[2]
SHIPPED = sorted(p for at in ("rules", "examples") for p in (ROOT / at).rglob("*") if p.suffix in FILES)

CROOKED = """\
# what we ask
condition stands (rod rod) means
      some structure where structure of rod = structure:
         distance of rod >= 15 ft   # at least


rule rod-stands-off
    level caution
    # why
    title    "A rod
              stands off"
    say "far
           or near"
    passes on other
        | set R1 at 212
        # a comment
        |   as it is   # the plan's own
    lacks fails because "none"
rule next-one
    level notice
"""
STRAIGHT = """\
# what we ask
condition stands (rod rod) means
  some structure where structure of rod = structure:
     distance of rod >= 15 ft   # at least

rule rod-stands-off
  level    caution
  # why
  title    "A rod
            stands off"
  say      "far
              or near"
  passes on other
    | set R1 at 212
    # a comment
    |   as it is   # the plan's own
  lacks fails because "none"

rule next-one
  level    notice
"""


def split(text: str) -> Layout:
    layout = lay_out(Source("a.rule", text))
    assert not layout.problems
    return layout


def test_columns_and_blank_lines_are_put_right() -> None:
    assert tidied(split(CROOKED)) == STRAIGHT
    assert tidied(split(STRAIGHT)) == STRAIGHT
    assert tidied(split(CROOKED.replace("\n", "\r\n"))) == STRAIGHT.replace("\n", "\r\n")


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: str(path.relative_to(ROOT)))
def test_files_that_come_with_groundlint_are_laid_out(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert tidied(split(text)) == text


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_file_that_was_made_crooked_is_put_right(path: Path, daily_seed: int) -> None:
    """Blocks are indented further, words of clauses stand apart, blank lines are doubled."""
    rng = Random(f"{path.name} {daily_seed}")
    text = path.read_text(encoding="utf-8")
    clauses = {clause.word_span.line for block in split(text).blocks for clause in block.clauses}
    lines, further = [], 0
    for number, line in enumerate(text.splitlines(), 1):
        if line and not line.startswith(" "):
            further = rng.randrange(4)
        word, _, rest = line.strip().partition(" ")
        if number in clauses and rest and rng.random() < 0.3:
            line = f"  {word}{' ' * rng.randint(1, 9)}{rest.lstrip()}"
        if line.startswith(" "):
            line = " " * further + line
        lines += [line] * (1 + (not line and rng.random() < 0.5))
    made = tidied(split("\n".join(lines) + "\n"))
    assert [line.strip() for line in made.splitlines()] == [line.strip() for line in text.splitlines()]
    assert tidied(split(made)) == made


def test_the_command_lays_files_of_books_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "a.rule"
    file.write_text(CROOKED, encoding="utf-8")
    assert main(["tidy", "--check", str(file)]) == 1
    assert main(["tidy", str(file)]) == 0
    assert capsys.readouterr().out.endswith(STRAIGHT)
    assert main(["tidy", "--write", str(file)]) == 0
    assert file.read_text(encoding="utf-8") == STRAIGHT
    file.write_text(STRAIGHT.replace("  level    notice", "\tlevel notice"), encoding="utf-8")
    assert main(["tidy", "--write", str(file)]) == 3
    assert "tab" in capsys.readouterr().err
