"""Tells how long each fault of the table stood before it was met. Run it as a script."""

import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).with_name("test_fault_rows.py")


class Collector:
    """What the tests noted of each row, in the table's order."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.elsewhere: list[str] = []

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Called by pytest after each part of a test."""
        if report.when != "call":
            return
        rows = [value for name, value in report.user_properties if name == "row"]
        self.elsewhere += [
            f"{number}  {limit:>15}  {injected}: {must}"
            for name, (number, injected, limit, must) in (
                each for each in report.user_properties if each[0] == "elsewhere"
            )
        ]
        for number, injected, where, after, limit, must in rows:
            verdict = "" if report.passed else "  NOT MET"
            what = f"{injected} ({where})"
            self.lines.append(f"{number}  {after:7.1f} {limit:7.1f}  {what}: {must}{verdict}")
        if report.failed:
            self.lines.append(f"{report.nodeid.partition('[')[2].rstrip(']')}: NOT MET")


def main() -> int:
    """Run the table and print it; as pytest's own exit code."""
    found = Collector()
    code = pytest.main([str(TESTS), "-q", "-n0", "-p", "no:randomly", "--no-summary"], [found])
    head = ["", "row  after [s] limit [s]"]
    text = [*head, *found.lines, "met in other tests:", *found.elsewhere, ""]
    sys.stdout.write("\n".join(text))
    return int(code)


if __name__ == "__main__":
    sys.exit(main())
