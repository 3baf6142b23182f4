"""Tells what kills, power cuts and failing calls have left behind. Run it as a script.

Without arguments it plays what a usual run of the tests does; with `--all` every point there is,
which takes half an hour.
"""

import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]
PLAYED = (
    "daemon/test_daemon_recovery_kill.py",
    "store/test_power_cut.py",
    "hardware/test_nth_calls.py",
    "daemon/test_daemon_nth_link.py",
    "daemon/test_daemon_recovery_disk.py",
)
"""Tests that note their figures."""


class Collector:
    """What the tests noted, added up by kind."""

    def __init__(self) -> None:
        self.points: dict[str, list[float]] = {}
        self.calls: dict[str, list[int]] = {}
        self.card: list[str] = []
        self.failed: list[str] = []

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Called by pytest after each part of a test."""
        if report.failed:
            self.failed.append(report.nodeid)
        if report.when != "call":
            return
        for name, noted in report.user_properties:
            if name == "points":
                what, count, lost, illegal, behind = noted
                had = self.points.setdefault(what, [0, 0, 0, 0.0])
                added = [had[0] + count, had[1] + lost, had[2] + illegal]
                self.points[what] = [*added, max(had[3], behind)]
            elif name == "nth":
                what, calls, plays, bad = noted
                had_calls = self.calls.setdefault(what, [0, 0, 0])
                self.calls[what] = [calls, had_calls[1] + plays, had_calls[2] + bad]
            elif name == "card":
                commits, written = noted
                self.card.append(f"{commits} waits for the disk and {written / 2**20:.1f} MiB")

    def lines(self) -> list[str]:
        """The report."""
        told = [
            "",
            "point             count  answers lost  illegal states  samples lost at most [s]",
        ]
        for what, (count, lost, illegal, behind) in self.points.items():
            told.append(f"{what:<16} {count:6.0f} {lost:13.0f} {illegal:15.0f} {behind:25.1f}")
        told += ["", "calls to        in a job   plays  not as they must be"]
        for name, (calls, plays, bad) in self.calls.items():
            told.append(f"{name:<16} {calls:7} {plays:7} {bad:20}")
        told += ["", *(f"an hour of a quiet hold: {said}" for said in self.card)]
        return told + [f"NOT MET: {name}" for name in self.failed] + [""]


def main() -> int:
    """Play and print; as pytest's own exit code."""
    found = Collector()
    asked = ["-m", "volume or not volume"] if "--all" in sys.argv[1:] else []
    tests = [str(TESTS / name) for name in PLAYED]
    code = pytest.main([*tests, "-q", "-n0", "-p", "no:randomly", "--no-summary", *asked], [found])
    sys.stdout.write("\n".join(found.lines()))
    return int(code)


if __name__ == "__main__":
    sys.exit(main())
