"""The mains go: what was answered for is there, and ten seconds of samples at most are not."""

import random
from collections.abc import Callable
from pathlib import Path

import pytest
from boatworks import planned, sample, stamp
from power_cuts import FRAME, HEAD, SECONDS, Moment, come_back, cuts, evening, mixed

from controller.store.log import Log
from controller.store.queries import LogReader
from controller.store.rows import Checkpoint

SAMPLES_LOST = 11.0
"""Most that may be missing at the end of the samples: ten seconds and a tick, [s]."""
Record = Callable[[str, object], None]


@pytest.fixture(scope="module")
def at_work(tmp_path_factory: pytest.TempPathFactory) -> list[Moment]:
    """The moments of an evening."""
    return evening(tmp_path_factory.mktemp("evening") / "log.db")


def looked_through(
    moments: list[Moment], folder: Path, times: int, seed: int, record: Record
) -> None:
    found = [come_back(folder / f"cut{n}", cut) for n, cut in enumerate(cuts(moments, times, seed))]
    unsound = [one.unsound for one in found if one.unsound]
    worst = max(one.behind for one in found)
    lost = sum(one.lost for one in found)
    record("points", ("mains cut", len(found), lost, len(unsound), worst))
    assert (lost, unsound) == (0, [])
    assert worst <= SAMPLES_LOST


def test_a_power_cut_takes_nothing_that_was_answered_for_and_ten_seconds_of_samples(
    at_work: list[Moment], tmp_path: Path, record_property: Record
) -> None:
    looked_through(at_work, tmp_path, 60, 1, record_property)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(2, 12))
def test_a_thousand_power_cuts_take_nothing_that_was_answered_for(
    at_work: list[Moment], tmp_path: Path, seed: int, record_property: Record
) -> None:
    looked_through(at_work, tmp_path, 100, seed, record_property)


def test_samples_that_did_not_wait_for_the_disk_would_be_missed(tmp_path: Path) -> None:
    """The model bites: had samples not waited, the same cuts would take more of them."""
    # without events, which wait, and all that was before them with them
    moments = evening(tmp_path / "log.db", each=SECONDS, waits=False)
    found = [come_back(tmp_path / f"cut{n}", cut) for n, cut in enumerate(cuts(moments, 20, 3))]
    assert max(one.behind for one in found) > 2 * SAMPLES_LOST


def test_events_that_did_not_wait_for_the_disk_would_be_missed(
    at_work: list[Moment], tmp_path: Path
) -> None:
    """The model bites: of a commit that did not wait, the same cuts take some."""
    chance = random.Random(3)
    taken = 0
    for n in range(20):
        there = at_work[chance.randrange(10, len(at_work) - 1)]
        keep = HEAD + (there.end - HEAD) // FRAME // 2 * FRAME
        folder = tmp_path / f"bite{n}"
        folder.mkdir()
        (folder / "log.db").write_bytes(there.db)
        (folder / "log.db-wal").write_bytes(mixed(b"", there.wal[: there.end], keep, chance))
        Log.open(folder / "log.db", throwaway=True).close()
        taken += LogReader(folder / "log.db").last_seq() < there.events
    assert taken >= 10


# --- what it costs

HOUR = 3600
STATE = 4000
"""Size of the engine's state in a hold, [bytes]; about so."""
WRITTEN = 12 * 2**20
"""Most that an hour of a quiet hold puts into the write-ahead file, [bytes]; own: a tenth of a
terabyte a year, of a card that takes some tens of them; from memory, to be checked."""


def test_a_quiet_hold_writes_little_to_the_card(tmp_path: Path, record_property: Record) -> None:
    log = Log.open(tmp_path / "log.db")
    log.write(planned())
    commits: list[str] = []
    log._connection.set_trace_callback(lambda sql: commits.append(sql) if sql == "COMMIT" else None)
    state, wal = "x" * STATE, tmp_path / "log.db-wal"
    log._connection.execute("PRAGMA wal_autocheckpoint = 0")
    began = wal.stat().st_size
    for second in range(HOUR):
        if second % 30 == 0:
            log.checkpoint(Checkpoint(stamp=stamp(second), state=f'"{state}{second}"'))
        log.sample(sample(second))
    written = wal.stat().st_size - began
    log._connection.set_trace_callback(None)
    log.close()
    record_property("card", (len(commits), written))
    assert len(commits) == HOUR // 10
    assert 0 < written < WRITTEN
