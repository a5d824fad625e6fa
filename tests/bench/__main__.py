"""Every benchmark, one after the other, each a process of its own: ``python tests/bench [--smallest]``."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent


def main() -> int:
    """The number of benchmarks that failed."""
    failed = 0
    for path in sorted(HERE.glob("bench_*.py")):
        print(f"== {path.stem}: {path.read_text(encoding='utf-8')[3:].partition(chr(10))[0]}", flush=True)
        failed += subprocess.run((sys.executable, str(path), *sys.argv[1:]), check=False).returncode != 0
    return failed


if __name__ == "__main__":
    sys.exit(main())
