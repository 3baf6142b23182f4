"""Whole scenarios, each played once for all the tests that look at it."""

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

from controller.batch.snapshot import Snapshot
from controller.rehearsal.outcome import Outcome
from controller.rehearsal.run import rehearse
from controller.rehearsal.scenario import scenario
from controller.store.queries import Logged, LogReader


@dataclass(frozen=True)
class Read:
    """One row of the record's samples."""

    at: float
    stage: str
    bag: float | None
    lamp: bool
    pump: bool


@dataclass(frozen=True)
class Played:
    """A scenario that was played, with what it left in the record and on the page."""

    outcome: Outcome
    log: Path
    shown: tuple[Snapshot, ...]

    def samples(self) -> list[Read]:
        with sqlite3.connect(self.log) as connection:
            rows = connection.execute(
                "SELECT at_ms, stage, bag_pa, lamp, pump FROM sample ORDER BY at_ms"
            ).fetchall()
        connection.close()
        return [
            Read(at / 1000, stage, bag, bool(lamp), bool(pump))
            for at, stage, bag, lamp, pump in rows
        ]

    def events(self) -> list[Logged]:
        return list(LogReader(self.log).events(limit=100_000))

    def began(self, stage: str, nth: int = 0) -> float:
        return [start for name, start, _ in self.outcome.story.stages if name == stage][nth]

    def alarm(self, name: str) -> dict[str, float]:
        return next(alarm for alarm in self.outcome.story.alarms if alarm["id"] == name)


@pytest.fixture(scope="session")
def played(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Played]:
    """The scenario of that name, with its own seed."""

    @cache
    def play(name: str) -> Played:
        log = tmp_path_factory.mktemp(name) / "log.db"
        shown: list[Snapshot] = []
        outcome = rehearse(scenario(name), log=log, each=shown.append)
        return Played(outcome, log, tuple(shown))

    return play
