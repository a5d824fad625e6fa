"""How fast plans are read, beside lark on the whole file with the same grammar and positions.

Run ``python tests/bench/bench_reading.py``. The reader gives typed statements with places, comments kept, and recovers
line by line; the other contestant gives a plain tree and stops at the first mistake. Both read the same sound plan,
measured in turn within one run by processor time, best of several; the ratio is what is reported, since the machine
does other work.
"""

from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path

from lark import Lark
from size import SMALLEST, in_turn

from groundlint.language.reader import Read, read_statements
from groundlint.text import Source
from groundlint.values.units import QUANTITY_PATTERN
from groundlint.values.wire import WIRE_PATTERN

PLAN = Path(__file__).resolve().parents[1] / "rules" / "practice_plans" / "dual-point.tpg"
COPIES, ROUNDS = (2, 1) if SMALLEST else (40, 7)
GOAL = 2.0


def whole_file() -> Lark:
    """The same grammar, for a file of statements at once."""
    text = files("groundlint.language").joinpath("plan.lark").read_text(encoding="utf-8")
    for mark, pattern in (("@QUANTITY@", QUANTITY_PATTERN), ("@WIRESIZE@", WIRE_PATTERN)):
        text = text.replace(mark, pattern.replace("/", r"\/"))
    text += (
        "\nfile: (_EOL | line_ _EOL)*\nline_: STEP? start\nSTEP.10: /[0-9]{1,6}[a-z]?[.)](?=\\s)/\n"
        "_EOL: /\\r?\\n/\nCOMMENT: /#[^\\n]*/\n%ignore COMMENT\n"
    )
    return Lark(text, parser="lalr", lexer="contextual", start="file", propagate_positions=True)


def reading(text: str) -> Read:
    """A text read as one that was not seen before: what a source holds is kept for it."""
    return read_statements(Source("plan.tpg", text))


def main() -> None:
    """Prints lines a second of both, and how the time grows."""
    plan = re.sub(r"\n{2,}", "\n", PLAN.read_text()).rstrip() + "\n"
    text = plan * COPIES
    lines = text.count("\n")
    lark = whole_file()
    assert reading(text).diagnostics == ()
    assert len(lark.parse(text).children) == lines
    ours, theirs = in_turn([lambda: reading(text), lambda: lark.parse(text)], ROUNDS)
    print(f"{lines} lines, {len(text)} characters")
    print(f"  reader           {ours * 1e3:8.1f} ms  {lines / ours:9.0f} lines a second")
    print(f"  whole-file tree  {theirs * 1e3:8.1f} ms  {lines / theirs:9.0f} lines a second")
    print(f"  ratio {theirs / ours:.2f} (goal {GOAL}): {'met' if theirs / ours >= GOAL else 'NOT MET'}")
    sizes = [plan * copies for copies in ((1, 2) if SMALLEST else (1, 10, 100))]
    times = in_turn([lambda one=one: reading(one) for one in sizes], ROUNDS)  # type: ignore[misc]
    grown = ", ".join(
        f"{one.count(chr(10))}: {t / one.count(chr(10)) * 1e6:.1f}" for one, t in zip(sizes, times, strict=True)
    )
    print("us a line by number of lines:", grown)


if __name__ == "__main__":
    main()
