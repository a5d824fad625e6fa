"""``--smallest``: a benchmark is started to see that it runs, not for its figures; and what benchmarks time alike."""

import gc
import math
import sys
import time
from collections.abc import Callable

SMALLEST = "--smallest" in sys.argv
if SMALLEST:
    sys.argv.remove("--smallest")


def in_turn(work: list[Callable[[], object]], rounds: int) -> list[float]:
    """Best processor time of each, one after the other in every round."""
    best = [math.inf] * len(work)
    for _ in range(rounds):
        for number, run in enumerate(work):
            gc.collect()
            start = time.process_time()
            run()
            best[number] = min(best[number], time.process_time() - start)
    return best
