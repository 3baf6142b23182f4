"""What every test room shares: with WARMDRAW_NO_SKIPS set, a skipped test is a failed run."""

import os

import pytest
from hypothesis import settings

# a busy machine is no fault of the code: how long things take is measured, never asserted
settings.register_profile("warmdraw", deadline=None)
settings.load_profile("warmdraw")

_skipped: list[str] = []


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Remember each test that was skipped, and why."""
    if report.skipped and not hasattr(report, "wasxfail"):
        why = report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr
        _skipped.append(f"{report.nodeid}: {why}")


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """A run that must prove everything fails if it left anything out."""
    if _skipped and os.environ.get("WARMDRAW_NO_SKIPS") and exitstatus == 0:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say loudly what was left out."""
    for line in _skipped:
        terminalreporter.write_line(f"NOT RUN: {line}", red=True, bold=True)
