"""The whole command on a plan of 200 lines, beside other linters on as many lines, from an installed wheel.

Run ``python tests/bench/bench_command.py``. A wheel is built from a copy of this folder and installed, with yamllint,
ruff and pyflakes, in a fresh environment; all run in turn, so that what else the machine does falls on each. A plan is
unchanged, or has had a line changed since it was last reviewed, or nothing is kept of any run before. With
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

ROUNDS, LINES = 1 if SMALLEST else 11, 200


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
    install = (str(programs / "python"), "-m", "pip", "install", "-q", str(wheel), "yamllint", "ruff", "pyflakes")
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


def code() -> str:
    """200 lines of Python, with nothing to find."""
    block = "def span_{at}(length):\n    if length > 52.5:\n        return 0.5 * length\n    return length\n\n"
    return "".join(block.format(at=at) for at in range(LINES // 5))


def main() -> None:
    """Prints the medians, and their ratios to that of yamllint."""
    with tempfile.TemporaryDirectory() as name:
        work = Path(name)
        programs = environment(work)
        written = work / "plan.tpg"
        (work / "plan.yaml").write_text(yaml(), encoding="utf-8")
        (work / "plan.py").write_text(code(), encoding="utf-8")
        env = {**os.environ, "XDG_CACHE_HOME": str(work / "cache")}
        for one in ("PYTHONPATH", "PYTHONDONTWRITEBYTECODE"):  # whoever types the command has neither
            env.pop(one, None)
        python = str(programs / "python")
        review = [python, "-m", "groundlint", "review", str(written)]
        no_circuit = [*review, "--book", "practice", "--book", "us-29cfr1910-269"]
        cases: dict[str, tuple[list[str], str]] = {
            "groundlint, unchanged": (review, "unchanged"),
            "groundlint, a line changed": (review, "changed"),
            "groundlint, a line changed, without the circuit": (no_circuit, "changed"),
            "groundlint, nothing kept": (review, "cold"),
            "groundlint, nothing kept, without the circuit": (no_circuit, "cold"),
            "python -c pass": ([python, "-c", "pass"], ""),
            "yamllint": ([python, "-m", "yamllint", str(work / "plan.yaml")], ""),
            "pyflakes": ([python, "-m", "pyflakes", str(work / "plan.py")], ""),
            "ruff": ([str(programs / "ruff"), "check", "--no-cache", str(work / "plan.py")], ""),
        }
        if SMALLEST:
            del cases["pyflakes"], cases["ruff"]
        text = plan()
        took: dict[str, list[float]] = {key: [] for key in cases}
        for turn in range(SMALLEST, ROUNDS + 1):  # the one of number 0 fills caches and writes byte code
            for number, (key, (command, kept)) in enumerate(cases.items()):
                edit = f"# walked down again, {turn}.{number}\n" if kept == "changed" else ""
                written.write_text(edit + text, encoding="utf-8")
                if kept == "unchanged":
                    timed(command, env)
                cold = {"XDG_CACHE_HOME": str(work / f"cold-{turn}-{number}")} if kept == "cold" else {}
                seconds, status = timed(command, {**env, **cold})
                assert status in (0, 1, 2), (key, status)
                if turn:
                    took[key].append(seconds)
        beside = statistics.median(took["yamllint"])
        print(f"{ROUNDS} runs in turn; the plan has {text.count(chr(10))} lines, the YAML {yaml().count(chr(10))}")
        for key, each in took.items():
            median = statistics.median(each)
            times = f"{median * 1e3:6.0f} ms, fastest {min(each) * 1e3:6.0f} ms"
            print(f"{key:48} {times}   {median / beside:6.2f} of yamllint")


if __name__ == "__main__":
    main()
