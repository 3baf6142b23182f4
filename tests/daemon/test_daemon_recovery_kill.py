"""Killed at every point at which something is written: nothing that was answered for is lost.

The process dies with SIGKILL at a call of SQLite, or in the middle of a write. The kernel lives
on, so what was written stays written: a cut of the mains is another test, of the store.
"""

import json
import os
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest

import controller

HERE = Path(__file__).parent
ROOT = Path(controller.__file__).parents[1]
PLACES = (ROOT, HERE, HERE.parent / "batch")
AFTER = {
    "none": "none",
    "PLANNED": "PLANNED",
    "PREHEAT": "INTERRUPTED",
    "STOPPED": "STOPPED",
    "FINISHED": "FINISHED",
}
"""Where each stage of the story stands after a restart."""
SAMPLES_LOST = 10.0
"""Most that may be missing at the end of the samples, [s]."""
LONG = 600.0


def kills(folder: Path, where: str, points: Iterable[int]) -> list[dict[str, Any]]:
    """What was left each time, in the order of the points."""
    program = [sys.executable, "-W", "error", str(HERE / "kills.py"), str(folder), where]
    done = subprocess.run(
        [*program, *map(str, points)],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(map(str, PLACES))},
        capture_output=True,
        text=True,
        timeout=LONG,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()]


def sound(found: dict[str, Any], whole: list[str]) -> None:
    """Nothing answered for is lost, nothing is there twice, and the stage is one it can be in.

    whole: the stages after each tick of a run that nobody killed
    """
    assert found["lost"] == [], found
    assert (found["damaged"], found["doubled"], found["on"]) == (0, 0, False), found
    assert found["behind_s"] <= SAMPLES_LOST, found
    # a file without a byte in it is told of, and there was nothing in it to lose
    assert found["notes"] == [] or (found["ticks"] == 0 and "nothing is in it" in found["notes"][0])
    done = len(found["stages"])
    assert found["stages"] == whole[:done], found
    around = ["none", *whole][done : done + 2]
    assert found["durable"] in around, found
    assert found["stage"] == AFTER[found["durable"]], found


def looked_through(folder: Path, where: str, points: Iterable[int]) -> tuple[int, int]:
    """How many were killed, and how many acts had been answered by then."""
    never = 10**8
    *found, clean = kills(folder, where, [*points, never])
    assert not clean["killed"] and clean["acked"] == 8
    for one in found:
        sound(one, clean["stages"])
    return sum(one["killed"] for one in found), sum(one["acked"] for one in found)


@pytest.mark.parametrize(
    ("where", "points"),
    [
        ("before", range(18, 150, 11)),
        ("after", range(23, 150, 14)),
        ("byte", range(1, 260_000, 23_456)),
    ],
)
def test_killed_here_and_there(tmp_path: Path, where: str, points: range) -> None:
    killed, acked = looked_through(tmp_path, where, points)
    assert killed >= len(points) - 3 and acked > len(points)


@pytest.mark.long
@pytest.mark.parametrize("where", ["before", "after"])
def test_killed_at_every_call(tmp_path: Path, where: str) -> None:
    killed, acked = looked_through(tmp_path, where, range(1, 220))
    assert killed >= 120 and acked > 2 * killed


@pytest.mark.long
def test_killed_in_every_write(tmp_path: Path) -> None:
    """A page is 4096 bytes and its frame 24 more: each is cut at some five places."""
    killed, acked = looked_through(tmp_path, "byte", range(1, 330_000, 811))
    assert killed >= 300 and acked > killed
