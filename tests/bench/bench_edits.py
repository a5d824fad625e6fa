"""From a change to what an editor shows: plans of 60, 200 and 500 steps, a letter typed at a time.

Run ``python tests/bench/bench_edits.py``. Measured is what the server does for each change, without the passing of
messages: the first review, in which no circuit is solved, its findings put into the protocol's form, and what an editor
asks next (symbols, folds, colours). Processor time, in one run, the sizes in turn, since the machine does other work;
95 of 100 changes take no longer than the last column but one says.

The last lines say what keeping facts from one review to the next could save at the very most: the rules are asked of a
plan, and once more of the same plan with every fact known.
"""

from __future__ import annotations

import time
from random import Random
from typing import Any

from size import SMALLEST
from stepped_plans import plan_of

from groundlint.commands.common import users_cache
from groundlint.commands.serve import ServingDesk
from groundlint.facts.trace import PlanTrace
from groundlint.reading import read_plan
from groundlint.review import DEFAULT_BOOKS, Reviewer, load_rulebook
from groundlint.rulebook.compile import Run
from groundlint.serving import outline
from groundlint.serving.diagnostics import diagnostics
from groundlint.serving.document import Document
from groundlint.serving.jobs import Clerk, Text
from groundlint.text import Source
from groundlint.timeline import replay

SIZES, CHANGES, ROUNDS = ((60,), 3, 1) if SMALLEST else ((60, 200, 500), 200, 5)
TYPED = "  attach G1 to K1, then to 212 A by H1\n"


def main() -> None:
    """Prints milliseconds a change: half of them, and 95 of 100, take no longer."""
    desk = ServingDesk((), (), None, users_cache())
    desk.start()
    clerk = Clerk(desk)
    random = Random(1)
    texts = {size: plan_of(size) for size in SIZES}
    places = {size: texts[size].index("stage isolate") + 20 for size in SIZES}
    took: dict[int, dict[str, list[float]]] = {size: {"review": [], "shown": [], "asked next": []} for size in SIZES}
    for number in range(CHANGES + 1):
        for size in SIZES:
            at = texts[size].index("\n", random.randrange(places[size], len(texts[size]))) + 1
            letter = TYPED[: 1 + number % len(TYPED)]
            text = texts[size][:at] + letter + texts[size][at:]
            document = Document("untitled:plan.tpg", "tpg", number, text, len)
            start = time.process_time()
            reviewed = clerk.first(Text(document.name, None, text, {}))
            found = time.process_time()
            shown: Any = diagnostics(document, reviewed)
            said = time.process_time()
            shown = outline.symbols(document), outline.tokens(document, list(outline.plan_tokens(document)))
            end = time.process_time()
            assert shown
            if number:  # the first of all reads the books
                for name, spent in (("review", found - start), ("shown", said - found), ("asked next", end - said)):
                    took[size][name].append(spent * 1e3)
    for name in ("review", "shown", "asked next"):
        for size in SIZES:
            spent = sorted(took[size][name])
            half, most = spent[len(spent) // 2], spent[int(len(spent) * 0.95) - 1 if len(spent) > 1 else 0]
            print(
                f"{name:11}{size:5} steps   half {half:7.1f} ms   95 of 100 {most:7.1f} ms   {most / size:6.2f} a step"
            )
    reviewer = Reviewer([book for name in DEFAULT_BOOKS if (book := load_rulebook(name)[0]) is not None])
    for size in SIZES:
        anew, kept = (
            min(spent) for spent in zip(*(rules_twice(reviewer, texts[size]) for _ in range(ROUNDS)), strict=True)
        )
        print(f"rules      {size:5} steps   {anew:6.1f} ms, with every fact known {kept:6.1f} ms")


def rules_twice(reviewer: Reviewer, text: str) -> tuple[float, float]:
    """Milliseconds that the rules take which need no circuit, and that they take again with every fact known."""
    trace = PlanTrace(replay(read_plan(Source("plan.tpg", text)).plan), computes=False)
    run = Run(trace, reviewer.programs[0].compiler)
    took: list[float] = []
    for _ in range(2):
        start = time.process_time()
        for program in reviewer.programs:
            program.review(trace, run, set())
        took.append((time.process_time() - start) * 1e3)
    return took[0], took[1]


if __name__ == "__main__":
    main()
