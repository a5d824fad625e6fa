"""Ctrl+C ends the command with a line and its status, however early it comes."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

WITHIN_AN_IMPORT = """\
import os, signal

class Interrupts:
    def __set_name__(self, *_):
        os.kill(os.getpid(), signal.SIGINT)

class ArgumentParser:
    interrupts = Interrupts()
"""


@pytest.mark.parametrize("heeded", [True, False])
def test_an_interrupt_while_modules_are_imported(tmp_path: Path, heeded: bool) -> None:
    """What comes within a class or an import would else be an exception of that."""
    (tmp_path / "argparse.py").write_text(WITHIN_AN_IMPORT, "utf-8")
    done = subprocess.run(
        (sys.executable, "-m", "groundlint", "--version"),
        env={**os.environ, "PYTHONPATH": str(tmp_path)},
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler if heeded else signal.SIG_IGN),
        capture_output=True,
        text=True,
        check=False,
    )
    if heeded:
        assert (done.returncode, done.stdout, done.stderr) == (3, "", "groundlint: stopped\n")
    else:
        assert "stopped" not in done.stderr
