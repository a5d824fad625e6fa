"""The whole command on a plan of 200 lines, beside yamllint on 200 lines of YAML, from an installed wheel.

Run ``python tests/bench/bench_command.py``. A wheel is built from a copy of this folder and installed, with yamllint,
in a fresh environment; caches are warm; the two run in turn, so that what else the machine does falls on both. With
``--smallest`` they are those of the environment at hand.
"""

from __future__ import annotations

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(Path(__file__).parent))

from size import SMALLEST  # noqa: E402

ROUNDS, LINES = 1 if SMALLEST else 21, 200


def environment(work: Path) -> Path:
    """The folder of programs of a fresh environment with groundlint and yamllint."""
    if SMALLEST:
        return Path(sys.executable).parent
    source = work / "source"
    skip = shutil.ignore_patterns(
        ".git", ".dev", ".ci", ".venv", "venv", ".hypothesis", ".*_cache", "__pycache__", "dist", "build"
    )
    shutil.copytree(ROOT, source, ignore=skip)
    build = (sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(work / "dist"), str(source))
    subprocess.run(build, check=True, capture_output=True)
    (wheel,) = (work / "dist").glob("*.whl")
    subprocess.run((sys.executable, "-m", "venv", str(work / "venv")), check=True)
    programs = work / "venv" / ("Scripts" if os.name == "nt" else "bin")
    install = (str(programs / "python"), "-m", "pip", "install", "-q", str(wheel), "yamllint")
    run = subprocess.run(install, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr
    return programs


def plan() -> str:
    """A sound plan of exactly 200 lines, with comments where it is shorter."""
    from stepped_plans import plan_of

    steps = LINES
    while (text := plan_of(steps)).count("\n") > LINES:
        steps -= 1
    return "# as walked down\n" * (LINES - text.count("\n")) + text


def yaml() -> str:
    """200 lines of YAML of an ordinary kind, with nothing to find."""
    block = "  - name: structure-{at}\n    material: wood\n    span: 52.5\n    phases: [A, B, C]\n    note: none\n"
    lines = "---\nstructures:\n" + "".join(block.format(at=at) for at in range(LINES // 5))
    return "\n".join(lines.split("\n")[:LINES]) + "\n"


def timed(command: list[str], env: dict[str, str]) -> tuple[float, int]:
    """Seconds and status of a whole process."""
    began = time.perf_counter()
    status = subprocess.run(command, env=env, capture_output=True, check=False).returncode
    return time.perf_counter() - began, status


def main() -> None:
    """Prints the medians and their ratio."""
    with tempfile.TemporaryDirectory() as name:
        work = Path(name)
        programs = environment(work)
        (work / "plan.tpg").write_text(plan(), encoding="utf-8")
        (work / "plan.yaml").write_text(yaml(), encoding="utf-8")
        env = {**os.environ, "XDG_CACHE_HOME": str(work / "cache")}
        env.pop("PYTHONPATH", None)
        python = str(programs / "python")
        commands = {
            "groundlint review": [python, "-m", "groundlint.cli", "review", str(work / "plan.tpg")],
            "yamllint": [python, "-m", "yamllint", str(work / "plan.yaml")],
            "python -c pass": [python, "-c", "pass"],
        }
        for command in commands.values():  # caches, byte code
            timed(command, env)
            timed(command, env)
        took: dict[str, list[float]] = {key: [] for key in commands}
        for _ in range(ROUNDS):
            for key, command in commands.items():
                seconds, status = timed(command, env)
                assert status in (0, 1, 2), (key, status)
                took[key].append(seconds)
        medians = {key: statistics.median(values) for key, values in took.items()}
        for key, median in medians.items():
            print(f"{key:18} {median * 1e3:7.0f} ms   (fastest {min(took[key]) * 1e3:.0f} ms, {ROUNDS} runs in turn)")
        ratios = [ours / theirs for ours, theirs in zip(took["groundlint review"], took["yamllint"], strict=True)]
        ratio = medians["groundlint review"] / medians["yamllint"]
        middle = statistics.median(ratios)
        print(f"ratio of medians   {ratio:7.2f}   (median of ratios {middle:.2f}; first mark 2, then 1.5, then 1)")
        print(f"the plan has {plan().count(chr(10))} lines, the YAML {yaml().count(chr(10))}")


if __name__ == "__main__":
    main()
