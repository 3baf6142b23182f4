"""Control as a process, on a record that is damaged, another's, or newer than it is."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from running import Control, plan, rig_toml

from controller.batch.events import EventKind
from controller.link import SnapshotMessage
from controller.store.queries import LogReader


@pytest.fixture
def log(tmp_path: Path) -> Path:
    rig_toml(tmp_path, "simulated")
    path = tmp_path / "state" / "log.db"
    path.parent.mkdir()
    return path


@pytest.mark.parametrize("bad", [bytes(40_960), b""], ids=["zeroed", "emptied"])
def test_control_starts_on_a_damaged_record_sets_it_aside_and_says_so(
    log: Path, bad: bytes, launch: Callable[..., Control], sheet: str
) -> None:
    log.write_bytes(bad)
    up = launch("control").up()
    assert up.looking().next(SnapshotMessage)
    assert up.stream().answer(plan(sheet)).accepted
    assert up.ask_to_end() == (0, "")
    (aside,) = log.parent.glob("log.db.damaged-*")
    assert aside.read_bytes() == bad
    notes = [
        line.event.text
        for line in LogReader(log).events()
        if line.event is not None and line.event.kind is EventKind.NOTE
    ]
    assert aside.name in notes[0] and "look at the rig" in notes[0]


def test_a_record_of_a_newer_version_is_refused_in_one_line_and_left_alone(
    log: Path, launch: Callable[..., Control]
) -> None:
    with closing(sqlite3.connect(log)) as connection:
        connection.execute("PRAGMA user_version = 99")
        connection.commit()
    before = log.read_bytes()
    code, complaints = launch("control").ended()
    assert code == 2
    assert "newer version" in complaints and complaints.count("\n") == 1
    assert log.read_bytes() == before
