"""Two weeks at work in one process: it holds no more at the end than after the first days."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

import controller

HERE = Path(__file__).parent
PLACES = (Path(controller.__file__).parents[1], HERE, HERE.parent / "batch")
DAYS = 14
SETTLED = 3
"""Days until all that is kept on purpose is there."""
GROWS_MOST = 0.5 * 2**20
"""Memory that may be gained in a day, [bytes]. Own: a tenth of what would be restarted for."""


@pytest.mark.long
def test_two_weeks_at_work_hold_no_more_memory_files_or_threads(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-W", "error", str(HERE / "grows.py"), str(tmp_path), str(DAYS)],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(map(str, PLACES))},
        capture_output=True,
        text=True,
        timeout=300.0,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    days = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(days) == DAYS
    settled, last = days[SETTLED - 1], days[-1]
    grown = (last["memory"] - settled["memory"]) / (DAYS - SETTLED)
    assert grown <= GROWS_MOST, [day["memory"] for day in days]
    assert {(day["files"], day["threads"], day["waiting"]) for day in days} == {
        (settled["files"], 2, 0)
    }
