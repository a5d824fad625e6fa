"""A briefing of the largest example and of a long plan, beside reviewing the same plan, and the size of the page.

Run ``python tests/bench/bench_brief.py``. The two take turns, so that what else the machine does falls on both.
"""

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "report")]
ROUNDS = 7


def main() -> None:
    """Prints the medians and the sizes."""
    from briefing_plans import EVERY_EXAMPLE, EXAMPLES, long_plan, made_up, reviewer

    from groundlint.report.brief import brief_html
    from groundlint.text import Source
    from groundlint.text.decode import decode

    largest = max(EVERY_EXAMPLE, key=lambda path: path.stat().st_size)
    texts = {f"largest example, {largest.name}": largest.read_text(), "12 structures, 30 leads": long_plan()}
    for name, text in texts.items():

        def review(name: str = name, text: str = text) -> object:
            source = Source(name, text)
            return reviewer().review(source, lambda part: decode((EXAMPLES / part).read_bytes(), part)[0])

        found = review()
        values = made_up(found.plan)  # type: ignore[attr-defined]
        page = brief_html(found, "0", values)  # type: ignore[arg-type]
        took: dict[str, list[float]] = {"review": [], "brief": []}
        for _ in range(ROUNDS):
            began = time.perf_counter()
            review()
            between = time.perf_counter()
            brief_html(found, "0", values)  # type: ignore[arg-type]
            took["review"].append(between - began)
            took["brief"].append(time.perf_counter() - between)
        medians = {key: statistics.median(times) for key, times in took.items()}
        ratio = medians["brief"] / medians["review"]
        print(f"{name}: {text.count(chr(10))} lines")
        print(f"  review {medians['review'] * 1e3:6.0f} ms   page {medians['brief'] * 1e3:6.0f} ms   ratio {ratio:.2f}")
        print(f"  the page has {len(page.encode()) / 1e3:.0f} kB (at most 1,000)")


if __name__ == "__main__":
    main()
