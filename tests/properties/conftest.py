"""Puts the generators of plans on the path, test folders being no packages; prints the numbers that tests report."""

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "generate"))

LINE = "line of the summary"


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
