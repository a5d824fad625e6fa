"""A briefing of the largest example and of a long plan, beside reviewing the same plan, and the size of the page.

The page's time has the electrical study in it, which a review by the electrical book has done already.
Run ``python tests/bench/bench_brief.py``. The two take turns, so that what else the machine does falls on both.
"""

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), *(str(ROOT / "tests" / one) for one in ("report", "generate", "bench"))]

from size import SMALLEST  # noqa: E402

ROUNDS = 1 if SMALLEST else 7


def main() -> None:
    """Prints the medians and the sizes."""
    from briefing_plans import EVERY_EXAMPLE, EXAMPLES, long_plan
    from crowd import reviewer

    from groundlint.report.brief import brief_html
    from groundlint.report.brief.computed import electrical_of
    from groundlint.text import Source
    from groundlint.text.decode import decode

    largest = max(EVERY_EXAMPLE, key=lambda path: path.stat().st_size)
    if SMALLEST:
        largest = min(EVERY_EXAMPLE, key=lambda path: path.stat().st_size)
    texts = {f"largest example, {largest.name}": largest.read_text(), "12 structures, 30 leads": long_plan()}
    for name, text in texts.items():
        took: dict[str, list[float]] = {"review": [], "brief": []}
        page = ""
        for _ in range(ROUNDS):
            began = time.perf_counter()
            source = Source(name, text)
            found = reviewer(computed=True).review(source, lambda part: decode((EXAMPLES / part).read_bytes(), part)[0])
            between = time.perf_counter()
            assert found.trace is not None
            page = brief_html(found, "0", electrical_of(found.trace))
            took["review"].append(between - began)
            took["brief"].append(time.perf_counter() - between)
        medians = {key: statistics.median(times) for key, times in took.items()}
        ratio = medians["brief"] / medians["review"]
        print(f"{name}: {text.count(chr(10))} lines")
        print(f"  review {medians['review'] * 1e3:6.0f} ms   page {medians['brief'] * 1e3:6.0f} ms   ratio {ratio:.2f}")
        print(f"  the page has {len(page.encode()) / 1e3:.0f} kB (at most 1,000)")


if __name__ == "__main__":
    main()
