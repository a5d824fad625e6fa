"""What all tests share: linear algebra of one thread, as the command has it, before numpy is imported; a browser; the
numbers that tests report, printed at the end of the run. Garbage is looked for seldom: a process that has run some
thousand tests holds so much that looking takes longer than what is tested."""

from __future__ import annotations

import gc
import os
import shutil
from collections.abc import Callable, Iterator
from typing import Any

import pytest

for library in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS"):
    os.environ.setdefault(library, "1")

gc.set_threshold(100_000, 20, 50)

LINE = "line of the summary"
NAMES = ("chromium", "chromium-browser", "google-chrome")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """A headless browser; the tests that need it say so where there is none."""
    path = next((found for name in NAMES if (found := shutil.which(name))), None)
    if path is None:
        pytest.skip("no Chromium on this machine")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture
def report(record_property: Callable[[str, object], None]) -> Callable[[str], None]:
    """Takes a line that is printed at the end of the run, by whatever process ran the test."""
    return lambda line: record_property(LINE, line)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """The lines that tests reported."""
    done = [one for outcome in ("passed", "failed") for one in terminalreporter.stats.get(outcome, ())]
    lines = [str(value) for one in done for name, value in one.user_properties if name == LINE]
    if lines:
        terminalreporter.section("numbers")
        for line in lines:
            terminalreporter.write_line(line)
