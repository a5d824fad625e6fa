"""Fuzzing by hand: ``python -m tests.fuzz --seconds 600``; executions, lines and faults by target.

``--keep`` adds the texts that came to new lines to the corpus, the smallest few of each target; ``--write FOLDER``
writes the text of each fault.
"""

from __future__ import annotations

import argparse
import hashlib
import sys
import time
from pathlib import Path
from random import Random

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "generate")]

from fuzz_loop import CORPUS, for_seconds, fuzz  # noqa: E402
from fuzz_targets import TARGETS  # noqa: E402

MOST_KEPT, LARGEST_KEPT = 6, 4_000
"""Texts of a target that one run adds to the corpus, and bytes of each."""


def main() -> int:
    """What each target came to, printed; 1 where something must not be."""
    asked = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    asked.add_argument("--seconds", type=float, default=60, help="of processor time in all, shared by the targets")
    asked.add_argument("--target", action="append", choices=TARGETS, help="these alone")
    asked.add_argument("--seed", type=int, default=int(time.time()))
    asked.add_argument("--keep", action="store_true", help="add what came to new lines to the corpus")
    asked.add_argument("--write", type=Path, metavar="FOLDER", help="a folder for the texts of faults")
    args = asked.parse_args()
    names = args.target or list(TARGETS)
    faults = 0
    print(f"seed {args.seed}")
    for name in names:
        tally = fuzz(name, Random(f"{args.seed} {name}"), for_seconds(args.seconds / len(names)))
        faults += len(tally.faults)
        print(
            f"{name:<10} {tally.executions:>7} executions  {len(tally.lines):>6} lines  "
            f"{len(tally.kept):>4} kept  {len(tally.faults)} faults",
            flush=True,
        )
        for where, data in tally.faults.items():
            print(f"  {where}: {data[:120]!r}")
            if args.write:
                args.write.mkdir(parents=True, exist_ok=True)
                (args.write / f"{name}-{_name(data)}").write_bytes(data)
        if args.keep:
            (CORPUS / name).mkdir(parents=True, exist_ok=True)
            for data in sorted((one for one in tally.kept if len(one) <= LARGEST_KEPT), key=len)[:MOST_KEPT]:
                (CORPUS / name / _name(data)).write_bytes(data)
    print(f"{time.process_time():.0f} s of processor time")
    return 1 if faults else 0


def _name(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()[:12]


if __name__ == "__main__":
    raise SystemExit(main())
