"""Everything that CI runs, in one command: ``python tests/check.py [pytest arguments]``.

Layout, lint and the import contract come first, being quick; the tests run after them, and only if those hold. With
``--all`` as the first argument they run in any case. Types, which take minutes on a fresh machine and one core, are
looked at beside the tests. Status 0 if all of it holds.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
CONTRACT = "from importlinter.cli import lint_imports_command as l; l([])"
STEPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("layout (ruff format)", ("-m", "ruff", "format", "--check", ".")),
    ("lint (ruff check)", ("-m", "ruff", "check", ".")),
    ("import contract (import-linter)", ("-c", CONTRACT)),
)
TYPES = ("-m", "mypy")


def run(arguments: tuple[str, ...]) -> tuple[int, float]:
    """Status and seconds of a Python command in the root of the project."""
    start = time.perf_counter()
    status = subprocess.run((sys.executable, *arguments), cwd=ROOT, check=False).returncode
    return status, time.perf_counter() - start


def main(arguments: list[str]) -> int:
    """Runs the steps and then the tests; the status of the whole."""
    go_on = arguments[:1] == ["--all"]
    failed = []
    for name, command in STEPS:
        print(f"== {name}", flush=True)
        status, seconds = run(command)
        print(f"   {'holds' if status == 0 else f'FAILS (status {status})'}, {seconds:.1f} s", flush=True)
        if status:
            failed.append(name)
    if failed:
        print(f"== failed: {', '.join(failed)}", flush=True)
        if not go_on:
            print("   the tests were not run; `python tests/check.py --all` runs them in any case", flush=True)
            return 1
    types = subprocess.Popen((sys.executable, *TYPES), cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    print("== types (mypy), beside the tests (pytest)", flush=True)
    # On every core; a core that is done takes tests over from one that is not. What is skipped is named.
    status, _ = run(("-m", "pytest", "-rs", "-n", "auto", "--dist", "worksteal", *arguments[go_on:]))
    found = types.communicate()[0].decode(errors="replace")
    if types.returncode:
        print(f"== types (mypy)\n{found}   FAILS (status {types.returncode})", flush=True)
    return 1 if failed or status or types.returncode else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
