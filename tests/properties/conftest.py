"""Puts the generators of plans on the path, test folders being no packages; prints the numbers that tests report."""

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "generate"))

LINES = pytest.StashKey[list[str]]()


@pytest.fixture
def report(request: pytest.FixtureRequest) -> Callable[[str], None]:
    """Takes a line that is printed at the end of the run."""
    return request.config.stash.setdefault(LINES, []).append


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """The lines that tests reported."""
    lines = terminalreporter.config.stash.get(LINES, [])
    if lines:
        terminalreporter.section("numbers")
        for line in lines:
            terminalreporter.write_line(line)
