"""Puts the table of reports on the path, and prints after the tests how much of it was reconstructed."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Counts of reports, models and quiet checks; what is not reconstructed, and why."""
    from incident_table import INCIDENTS, MODELS, NOT_ENCODED

    say = terminalreporter.write_line
    seen = {
        outcome: sum("tests/incidents/" in report.nodeid for report in terminalreporter.stats.get(outcome, ()))
        for outcome in ("passed", "failed")
    }
    terminalreporter.section("incidents")
    quiet = sum(len(model.quiet) for model in MODELS)
    kin = sum(len(one.kin) for one in INCIDENTS)
    say(f"{len(INCIDENTS)} reports as case and twin, {len(MODELS)} models with {quiet} quiet checks")
    say(f"tests: {seen['passed']} passed, {seen['failed']} failed")
    say(f"rules that break beside those of a report, saying the same of the same fault: {kin}")
    for report, why in NOT_ENCODED.items():
        say(f"not reconstructed: {report}: {why}")
