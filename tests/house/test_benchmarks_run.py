"""Every benchmark is started at its smallest size, half of them each day, so that none stands there broken.

Its figures are not looked at.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
BENCHES = sorted((ROOT / "tests" / "bench").glob("bench_*.py"))


@pytest.mark.slow
@pytest.mark.one_in(2)
@pytest.mark.parametrize("path", BENCHES, ids=lambda path: path.stem)
def test_it_runs(path: Path) -> None:
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    run = subprocess.run(
        (sys.executable, str(path), "--smallest"), env=env, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stdout + run.stderr
    assert run.stdout
