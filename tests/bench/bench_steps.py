"""What a step costs in plans of 200, 2,000 and 19,000 steps: reading, replay and all rules, per step.

Run ``python tests/bench/bench_steps.py``. The plans are of one kind: the same site, where grounds go on, are worked
under and come off again, as often as it takes. Time linear in steps shows as ratios near 1. Processor time, best of
several, the plans in turn within one run, since the machine does other work.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from size import SMALLEST, in_turn
from stepped_plans import plan_of

from groundlint.facts import PlanTrace
from groundlint.reading import read_plan
from groundlint.review import DEFAULT_BOOKS, Reviewer, load_rulebook
from groundlint.text import Source
from groundlint.timeline import replay

SIZES, ROUNDS = ((20, 40), 1) if SMALLEST else ((200, 2_000, 19_000), 2)


def main() -> None:
    """Prints microseconds a step for each size and stage, and the ratios of neighbours."""
    books = [book for name in DEFAULT_BOOKS if (book := load_rulebook(name)[0]) is not None]
    reviewer = Reviewer(books)
    rules = sum(len(book.rules) for book in books)
    sources = [Source("plan.tpg", plan_of(size)) for size in SIZES]
    for source in sources:
        findings = [one for one in reviewer.review(source).findings if one.slug != "steps-numbered-in-order"]
        assert not findings, (findings[0].message, findings[0].mend)
    plans = [read_plan(source).plan for source in sources]
    steps = [source.text.partition("stage isolate\n")[2].count("\n") for source in sources]
    print(f"{rules} rules of {', '.join(DEFAULT_BOOKS)}; plans of {', '.join(map(str, steps))} steps")

    def reading(source: Source) -> Callable[[], object]:
        return lambda: read_plan(source)

    def replaying(plan: object) -> Callable[[], object]:
        return lambda: replay(plan)  # type: ignore[arg-type]

    def asking(plan: object) -> Callable[[], object]:
        def run() -> object:
            trace = PlanTrace(replay(plan))  # type: ignore[arg-type]
            return [program.review(trace) for program in reviewer.programs]

        return run

    def whole(source: Source, reviewer: Reviewer = reviewer) -> Callable[[], object]:
        return lambda: reviewer.review(source)

    stages = {
        "reading": [reading(source) for source in sources],
        "replay": [replaying(plan) for plan in plans],
        "replay and rules": [asking(plan) for plan in plans],
        "whole review": [whole(source) for source in sources],
        "without circuit": [whole(source, Reviewer(books[:2])) for source in sources],
    }
    for name, work in stages.items():
        took = [seconds / count * 1e6 for seconds, count in zip(in_turn(work, ROUNDS), steps, strict=True)]
        ratios = ", ".join(f"x{later / earlier:.2f}" for earlier, later in pairwise(took))
        lines = sources[-1].text.count("\n") / (took[-1] * steps[-1] / 1e6)
        each = "   ".join(f"{one:8.0f} us" for one in took)
        print(f"{name:18}{each} a step   {ratios}   {lines:,.0f} lines/s at the largest")


if __name__ == "__main__":
    main()
