"""Plans not known to be sound, held against the oracle of harm and a review: ``python -m tests.harm --count 1000``."""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "generate")]

from harm_runs import Tally, run_all, shrunk  # noqa: E402


def main() -> int:
    """What was found, printed; 1 where a plan harms somebody and is clean."""
    asked = argparse.ArgumentParser(prog="python -m tests.harm", description=__doc__)
    asked.add_argument("--count", type=int, default=1000, help="plans reviewed without the circuit")
    asked.add_argument("--circuit", type=int, default=0, help="plans more that are reviewed with the circuit computed")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--jobs", type=int, default=2)
    asked.add_argument("--write", type=Path, help="a folder for misses, shrunk, one of each class")
    asked.add_argument(
        "--wary", type=Path, help="a folder for a harmless plan of each rule that tells of danger in one"
    )
    asked.add_argument("--harmful", action="store_true", help="review those alone in which somebody is harmed")
    args = asked.parse_args()
    tally = Tally()
    for part in run_all(args.seed, args.count, args.jobs, args.circuit, args.harmful):
        tally.merge(part)
        print(f"\r{tally.plans} plans, {len(tally.misses)} misses", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    for line in reported(tally):
        print(line)
    if args.write:
        args.write.mkdir(parents=True, exist_ok=True)
        seen: Counter[tuple[str, str]] = Counter()
        for miss in tally.misses:
            kind, step, _what = miss.harms[0]
            seen[kind, step] += 1
            if seen[kind, step] <= 3:
                small = shrunk(miss)
                name = f"{kind}-{step}-{seen[kind, step]}.tpg"
                first = f"# {small.harms[0][0]}: {small.harms[0][2]}\n"
                (args.write / name).write_text(first + small.text, encoding="utf-8")
    if args.wary:
        args.wary.mkdir(parents=True, exist_ok=True)
        for rule, text in tally.wary.items():
            (args.wary / f"{rule}.tpg").write_text(text, encoding="utf-8")
    return 1 if tally.misses else 0


def reported(tally: Tally) -> list[str]:
    """The numbers, as lines."""
    lines = [
        f"{tally.plans} plans, {tally.whole} of them read whole and possible; {tally.clean} are clean",
        f"{tally.harmful} harm somebody; clean of these: {len(tally.misses)}, and {tally.circuit} but for the circuit",
        "harmful plans by kind of harm (of which read whole and possible; clean, by the first kind):",
    ]
    missed = Counter(one.harms[0][0] for one in tally.misses)
    for kind, number in tally.kinds.most_common():
        lines.append(f"  {kind:22} {number:7} {tally.only[kind]:7} {missed[kind]:5}")
    steps = Counter(one.harms[0][:2] for one in tally.misses)
    lines += [f"  clean though harmful: {kind} at {step}: {number}" for (kind, step), number in steps.most_common()]
    lines.append(
        f"{tally.harmless} plans read whole and possible harm nobody; danger is reported in those reviewed by:"
    )
    lines += [f"  {rule:36} {number:6}" for rule, number in tally.dangers.most_common()]
    return lines


if __name__ == "__main__":
    sys.exit(main())
