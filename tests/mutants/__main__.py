"""Random mutants of the code that decides, each held against the fast tests: ``python tests/mutants --count 300``.

A mutant that every one of these tests lets pass is printed; those known are listed in ``survivors.txt``, each with the
reason why it may.
"""

from __future__ import annotations

import argparse
import gc
import importlib
import os
import random
import resource
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

from operator_mutants import Mutant, modules, mutants, plant  # noqa: E402

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
)
"""Which tests a mutant is held against, those first that find most; the last tell what is asked for and shown."""
LONGEST = 600
"""Seconds of processor time after which a mutant counts as one that never ends; the tests above take a third of it."""
BEFORE = ("pytest", "hypothesis", "lark", "numpy", "pint", "syrupy", "_pytest.assertion.rewrite")
"""What a process has imported before it becomes a mutant's."""


def main() -> int:
    """The share that is seen, and who survives; 1 where one survives that is not listed."""
    asked = argparse.ArgumentParser(prog="python tests/mutants", description=__doc__)
    asked.add_argument("--count", type=int, default=300)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--jobs", type=int, default=2)
    args = asked.parse_args()
    every = [one for path in modules() for one in mutants(path)]
    chosen = random.Random(args.seed).sample(every, min(args.count, len(every)))
    for name in BEFORE:
        importlib.import_module(name)
    if [survived for _, survived in run([None], 1)] != [True]:
        print("the tests do not hold without a mutant, so that none can be seen by them")
        return 2
    listed = known()
    seen = new = 0
    for done, (mutant, survived) in enumerate(run(chosen, args.jobs), start=1):
        assert mutant is not None
        seen += not survived
        if survived:
            reason = listed.get(mutant.name)
            new += reason is None
            print(f"survives: {mutant.name}" + (f"\n    {reason}" if reason else ""), flush=True)
        print(f"\r{done} of {len(chosen)}, {seen} seen", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    print(f"{len(every)} mutants; of {len(chosen)} of seed {args.seed} {seen} are seen ({seen / len(chosen):.1%})")
    print(f"{len(chosen) - seen} survive, {new} of these not listed in survivors.txt")
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


def run(chosen: Sequence[Mutant | None], jobs: int) -> Iterator[tuple[Mutant | None, bool]]:
    """Each mutant, or None for the code as it is, with whether the tests let it pass, as they end; each in a process of
    its own."""
    running: dict[int, Mutant | None] = {}
    waiting = list(reversed(chosen))
    gc.freeze()
    while True:
        while waiting and len(running) < jobs:
            mutant = waiting.pop()
            process = os.fork()
            if not process:
                try:
                    os._exit(_tested(mutant))
                finally:
                    os._exit(70)
            running[process] = mutant
        if not running:
            return
        process, status = os.wait()
        yield running.pop(process), os.waitstatus_to_exitcode(status) == 0


def _tested(mutant: Mutant | None) -> int:
    """What pytest says of the tests with this mutant in place."""
    resource.setrlimit(resource.RLIMIT_CPU, (LONGEST, LONGEST))
    out = os.open(os.devnull, os.O_WRONLY)
    os.dup2(out, 1)
    os.dup2(out, 2)
    if mutant is not None:
        plant(mutant.path, mutant.made())
    import pytest

    tests = [str(TESTS / one) for one in FAST]
    return int(pytest.main([*tests, "-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", "--no-summary"]))


if __name__ == "__main__":
    sys.exit(main())
