"""1,000 plans of 60 steps in one run: time and memory with one process and with two, beside yamllint on as many lines.

Run ``python tests/bench/bench_many_plans.py [PLANS [ROUNDS]]``. Half of the plans come from ``tests/generate``, and a
third of all have steps taken out. yamllint reads as many files with as many lines of YAML. Both run as whole processes,
in turn. Memory is the most that a process or one of its children has held, as the system tells it.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(Path(__file__).parent), str(ROOT / "tests" / "generate")]

from size import SMALLEST  # noqa: E402

PLANS, STEPS, ROUNDS = (4, 20, 1) if SMALLEST else (1000, 60, 1)
MEASURE = """\
import resource, subprocess, sys, time
began = time.perf_counter()
status = subprocess.run(sys.argv[2:], stdout=open(sys.argv[1], "wb"), stderr=subprocess.STDOUT).returncode
print(status, time.perf_counter() - began, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
"""


def plans(folder: Path, count: int) -> int:
    """Writes the plans; how many lines they have. Generated ones of 40 steps and more, then stepped ones of 60."""
    from sound_plans import sound_plan
    from stepped_plans import plan_of

    lines = 0
    for number in range(count):
        text = sound_plan(number) if number % 2 else plan_of(STEPS)
        if number % 3 == 0:
            text = "".join(line for at, line in enumerate(text.splitlines(True)) if at % 17 != number % 17)
        (folder / f"{number:05}.tpg").write_text(text, encoding="utf-8")
        lines += text.count("\n")
    return lines


def yaml(folder: Path, count: int, lines: int) -> None:
    """Writes as many files of YAML with as many lines, with nothing to find."""
    block = "- name: structure-{at}\n  material: wood\n  span: 52.5\n  phases: [A, B, C]\n  note: none\n"
    for number in range(count):
        rows = lines * (number + 1) // count - lines * number // count
        text = "---\n" + "".join(block.format(at=at) for at in range((rows - 1) // 5))
        (folder / f"{number:05}.yaml").write_text(text + "# end\n" * (rows - text.count("\n")), encoding="utf-8")


def measured(command: list[str], out: Path, env: dict[str, str]) -> tuple[int, float, float]:
    """Status, seconds and megabytes of a whole process and its children."""
    run = subprocess.run(
        (sys.executable, "-c", MEASURE, str(out), *command), env=env, check=True, capture_output=True, text=True
    )
    status, seconds, kilobytes = run.stdout.split()
    return int(status), float(seconds), float(kilobytes) / 1024


def main() -> None:
    """Prints a line for each way to run, and the ratios."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else PLANS
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else ROUNDS
    with tempfile.TemporaryDirectory() as name:
        work = Path(name)
        (work / "plans").mkdir()
        (work / "yaml").mkdir()
        lines = plans(work / "plans", count)
        yaml(work / "yaml", count, lines)
        env = {**os.environ, "PYTHONPATH": str(ROOT)}
        review = [sys.executable, "-m", "groundlint", "review", str(work / "plans")]
        commands = {
            "review, 1 process": [*review, "--jobs", "1"],
            "review, 2 processes": [*review, "--jobs", "2"],
            "yamllint": [sys.executable, "-m", "yamllint", str(work / "yaml")],
        }
        warm = {**env, "XDG_CACHE_HOME": str(work / "warm")}  # books and tables, and one plan
        measured([*review[:-1], str(work / "plans" / "00000.tpg")], work / "first", warm)
        took: dict[str, list[float]] = {key: [] for key in commands}
        memory: dict[str, float] = {}
        outputs: dict[str, bytes] = {}
        for turn in range(rounds):
            for key, command in commands.items():
                out, kept = work / "out", work / f"{turn} {key}"  # what one run keeps answers no other
                shutil.copytree(work / "warm", kept)
                status, seconds, megabytes = measured(command, out, {**env, "XDG_CACHE_HOME": str(kept)})
                assert status in (0, 1, 2), (key, status, out.read_text("utf-8")[:500])
                took[key].append(seconds)
                memory[key] = max(memory.get(key, 0.0), megabytes)
                assert outputs.setdefault(key, out.read_bytes()) == out.read_bytes(), (
                    f"{key}: other bytes in turn {turn}"
                )
        same = outputs["review, 1 process"] == outputs["review, 2 processes"]
        print(f"{count} plans of {lines} lines; runs in turn: {rounds}")
        for key, seconds in took.items():
            best = min(seconds)
            print(f"{key:20} {best:7.2f} s, {lines / best:9,.0f} lines/s, {memory[key]:6.0f} MB at most in a process")
        one, two, other = (min(seconds) for seconds in took.values())
        print(f"two processes take {two / one:.2f} of the time of one")
        print(f"time beside yamllint: {one / other:.2f} with one process, {two / other:.2f} with two")
        print(f"the same bytes from one process and from two: {'yes' if same else 'NO'}")
        assert same


if __name__ == "__main__":
    began = time.perf_counter()
    main()
    print(f"{time.perf_counter() - began:.0f} s in all")
