"""Killed at every point at which something is written: nothing that was answered for is lost.

The process dies with SIGKILL at a call of SQLite, or in the middle of a write. The kernel lives
on, so what was written stays written: a cut of the mains is another test, of the store.
"""

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import pytest
from told_lines import lines_of

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
Record = Callable[[str, object], None]


def kills(folder: Path, where: str, points: Iterable[int]) -> list[dict[str, Any]]:
    """What was left each time, in the order of the points."""
    return lines_of(HERE / "kills.py", [folder, where, *points], PLACES, LONG)


def wrong(found: dict[str, Any], whole: list[str]) -> list[str]:
    """What the next start found that must not be: a stage that cannot be, a row twice or damaged.

    whole: the stages after each tick of a run that nobody killed
    """
    done = len(found["stages"])
    faults = {
        "something is on": found["on"],
        "rows damaged": found["damaged"],
        "acts twice": found["doubled"],
        "samples behind": found["behind_s"] > SAMPLES_LOST,
        # a file without a byte in it is told of, and there was nothing in it to lose
        "notes": found["notes"]
        and not (found["ticks"] == 0 and "nothing is in it" in found["notes"][0]),
        "another story": found["stages"] != whole[:done],
        "stage on disk": found["durable"] not in ["none", *whole][done : done + 2],
        "stage after it": found["stage"] != AFTER[found["durable"]],
    }
    return [what for what, so in faults.items() if so]


def looked_through(
    folder: Path, where: str, points: Iterable[int], record: Record
) -> tuple[int, int]:
    """How many were killed, and how many acts had been answered by then."""
    never = 10**8
    *found, clean = kills(folder, where, [*points, never])
    assert not clean["killed"] and clean["acked"] == 8
    killed = sum(one["killed"] for one in found)
    lost = {one["n"]: one["lost"] for one in found if one["lost"]}
    illegal = {one["n"]: bad for one in found if (bad := wrong(one, clean["stages"]))}
    behind = max(one["behind_s"] for one in found)
    record("points", (f"killed {where}", killed, len(lost), len(illegal), behind))
    assert (lost, illegal) == ({}, {})
    return killed, sum(one["acked"] for one in found)


@pytest.mark.parametrize(
    ("where", "points"),
    [
        ("before", range(18, 150, 11)),
        ("after", range(23, 150, 14)),
        ("byte", range(1, 260_000, 23_456)),
    ],
)
def test_killed_here_and_there(
    tmp_path: Path, where: str, points: range, record_property: Record
) -> None:
    killed, acked = looked_through(tmp_path, where, points, record_property)
    assert killed >= len(points) - 3 and acked > len(points)


@pytest.mark.long
@pytest.mark.parametrize("where", ["before", "after"])
def test_killed_at_every_call(tmp_path: Path, where: str, record_property: Record) -> None:
    killed, acked = looked_through(tmp_path, where, range(1, 220), record_property)
    assert killed >= 110 and acked > 2 * killed


@pytest.mark.long
def test_killed_in_every_write(tmp_path: Path, record_property: Record) -> None:
    """A page is 4096 bytes and its frame 24 more: each is cut at some five places."""
    killed, acked = looked_through(tmp_path, "byte", range(1, 330_000, 811), record_property)
    assert killed >= 300 and acked > killed
