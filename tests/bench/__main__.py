"""Every benchmark, or those named: ``python tests/bench [--smallest] [--write] [command edits ...]``.

They run one after the other. Each is a process of its own. With ``--write`` what they print becomes README.md here.
"""

from __future__ import annotations

import os
import platform
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

HERE = Path(__file__).resolve().parent
HEAD = """\
# What it costs

One run of `python {run}` on {day}, Python {python}, {cores} cores.
Seconds are this machine's and of no use elsewhere; compare the ratios.
"""


def main(arguments: list[str]) -> int:
    """The number of benchmarks that failed."""
    write = "--write" in arguments
    others = [one for one in arguments if one.startswith("--") and one != "--write"]
    named = [f"bench_{one}" for one in arguments if not one.startswith("--")]
    failed = 0
    typed = " ".join(["tests/bench", *arguments])
    parts = [
        HEAD.format(run=typed, day=datetime.now(UTC).date(), python=platform.python_version(), cores=os.cpu_count())
    ]
    for path in sorted(HERE.glob("bench_*.py")):
        if named and path.stem not in named:
            continue
        title = path.read_text(encoding="utf-8")[3:].partition("\n")[0]
        print(f"== {path.stem}: {title}", flush=True)
        run = subprocess.run((sys.executable, str(path), *others), check=False, stdout=subprocess.PIPE, text=True)
        print(run.stdout, end="", flush=True)
        failed += run.returncode != 0
        parts.append(f"## {title}\n\n```text\n{run.stdout.rstrip()}\n```\n")
    if write and not failed:
        (HERE / "README.md").write_text("\n".join(parts), encoding="utf-8")
    return failed


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
