"""Random mutants of the code that decides, each held against the fast tests: ``python tests/mutants --count 300``.

One run of the tests finds out which of them reach each mutant and how long they take. Each mutant is then held against
these in a process of its own, the quickest first. A mutant that every one of them lets pass is printed; those known are
listed in ``survivors.txt``, each with the reason why it may, and count as surviving without being tried again.
"""

from __future__ import annotations

import argparse
import os
import pickle
import random
import resource
import shutil
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

import pytest

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

from operator_mutants import REACHED, Mutant, Planted, marked, modules, mutants  # noqa: E402

TESTS = HERE.parent
FAST = (
    "rules/test_every_rule_example.py",
    "timeline",
    "facts",
    "rulebook",
    "harm/test_written_plans.py",
    "incidents",
    "sound",
    "rules/test_sound_practice.py",
    "findings/test_texts_of_asks.py",
    "rules/test_practice_rules_on_silence.py",
    "rules/test_federal_rules_on_silence.py",
    "examples/test_examples.py",
    "report/test_step_sheet_and_ground_register.py",
)
"""Which tests a mutant is held against; the last tell what is asked for, shown and read out."""
LONGER, MORE = 10, 5
"""A test that takes so many times longer with a mutant, and so many seconds of processor time more, never ends."""
PASSED, SEEN, NOT_RUN = 0, 1, 70
"""What a process ends with."""

Reaching = list[tuple[float, int]]
"""The tests that reach a mutant: the seconds of processor time that each takes, and its place."""


def main() -> int:
    """The share that is seen, and who survives; 1 where one survives that is not listed."""
    asked = argparse.ArgumentParser(prog="python tests/mutants", description=__doc__)
    asked.add_argument("--count", type=int, default=300)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--jobs", type=int, default=2)
    args = asked.parse_args()
    every = [one for path in modules() for one in mutants(path)]
    chosen = random.Random(args.seed).sample(every, min(args.count, len(every)))
    os.environ["CI"] = "so that no failure is kept to be tried again"
    run = Run(chosen, args.jobs)
    tests = [str(TESTS / one) for one in FAST]
    pytest.main([*tests, "-q", "-s", "-p", "no:cacheprovider", "-p", "no:xdist", "--no-summary"], plugins=[run])
    if run.survived is None:
        print("the tests do not hold without a mutant, so that none can be seen by them")
        return 2
    new = [one for one in run.survived if one.name not in known()]
    seen = len(chosen) - len(run.survived)
    print(f"{len(every)} mutants; of {len(chosen)} of seed {args.seed} {seen} are seen ({seen / len(chosen):.1%})")
    print(f"{len(run.survived)} survive, {len(new)} of these not listed in survivors.txt")
    return 1 if new else 0


def known() -> dict[str, str]:
    """The survivors that are listed, each with the reason, which is the line before it that is set out."""
    found: dict[str, str] = {}
    reason = ""
    for line in (HERE / "survivors.txt").read_text(encoding="utf-8").splitlines():
        if line.startswith("- "):
            found[line[2:]] = reason
        elif line.strip():
            reason = line.strip()
    return found


class Run:
    """What pytest does with the tests that it collected. ``survived`` are the mutants that all of them let pass; None
    where a test fails without one."""

    def __init__(self, chosen: Sequence[Mutant], jobs: int) -> None:
        self.chosen, self.jobs = chosen, jobs
        self.survived: list[Mutant] | None = None
        self.failed = ""

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed = f"{report.nodeid}\n{report.longreprtext}"

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Instead of one run of all tests, one to find out what they reach, and one of some for each mutant."""
        items, planted, listed = session.items, Planted(), known()
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            found = folder / "reached"
            _forked(lambda: self._tells(found, planted, items), folder)
            if not _ended(folder)[1]:
                print(found.read_text(encoding="utf-8"))
                return True
            self.survived = [mutant for mutant in self.chosen if mutant.name in listed]
            running: dict[int, Mutant] = {}
            reaching = zip(self.chosen, pickle.loads(found.read_bytes()), strict=True)
            waiting = [(mutant, tests) for mutant, tests in reaching if mutant.name not in listed]
            tried = {mutant: len(tests) for mutant, tests in waiting}
            for done in range(len(self.survived) + 1, len(self.chosen) + 1):
                while waiting and len(running) < self.jobs:
                    mutant, tests = waiting.pop(0)
                    running[_forked(partial(self._passes, mutant, tests, planted, items), folder)] = mutant
                process, passed = _ended(folder)
                mutant = running.pop(process)
                if passed:
                    self.survived.append(mutant)
                    print(f"survives {tried[mutant]} tests: {mutant.name}", flush=True)
                print(f"{done} of {len(self.chosen)}, {len(self.survived)} survive", file=sys.stderr, flush=True)
        return True

    def _tells(self, found: Path, planted: Planted, items: Sequence[pytest.Item]) -> bool:
        """Writes for each mutant the seconds and the places of the tests that reach it; False where one fails."""
        numbers: dict[Path, list[int]] = {}
        for mutant in self.chosen:
            numbers.setdefault(mutant.path, []).append(mutant.number)
        reached: set[tuple[Path, int]] = set()
        for path, some in numbers.items():
            vars(planted.modules[path])[REACHED] = lambda number, path=path: reached.add((path, number))
            planted.plant(path, marked(path, some))
        reaching: dict[tuple[Path, int], Reaching] = {one[:2]: [] for one in self.chosen}
        for at, (item, after) in enumerate(zip(items, [*items[1:], None], strict=True)):
            reached.clear()
            began = time.process_time()
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
            if self.failed:
                found.write_text(self.failed, encoding="utf-8")
                return False
            for one in reached:
                reaching[one].append((time.process_time() - began, at))
        found.write_bytes(pickle.dumps([sorted(reaching[one[:2]]) for one in self.chosen]))
        return True

    def _passes(self, mutant: Mutant, tests: Reaching, planted: Planted, items: Sequence[pytest.Item]) -> bool:
        """Whether all these tests pass with the mutant in place."""
        planted.plant(mutant.path, mutant.made())
        for (seconds, at), after in zip(tests, [*(items[at] for _, at in tests[1:]), None], strict=False):
            most = int(time.process_time() + LONGER * seconds) + MORE
            resource.setrlimit(resource.RLIMIT_CPU, (most, resource.RLIM_INFINITY))
            items[at].config.hook.pytest_runtest_protocol(item=items[at], nextitem=after)
            if self.failed:
                return False
        return True


def _forked(passes: Callable[[], bool], folder: Path) -> int:
    """A process that ends with whether these tests pass; what they print is lost, what they keep stands in a folder of
    its own."""
    process = os.fork()
    if process:
        return process
    own = folder / str(os.getpid())
    own.mkdir()
    os.environ["PYTEST_DEBUG_TEMPROOT"] = str(own)
    errors = os.dup(2)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    try:
        os._exit(PASSED if passes() else SEEN)
    except BaseException:
        os.write(errors, traceback.format_exc().encode())
    finally:
        os._exit(NOT_RUN)


def _ended(folder: Path) -> tuple[int, bool]:
    """The next process that ends, and whether its tests passed; one that is killed had a test that never ends."""
    process, status = os.wait()
    shutil.rmtree(folder / str(process), ignore_errors=True)
    code = os.waitstatus_to_exitcode(status)
    if code == NOT_RUN:
        raise RuntimeError("the tests could not be run")
    return process, code == PASSED


if __name__ == "__main__":
    sys.exit(main())
