"""A disk that takes nothing at the start: what can be read is, the rest waits, nothing is lost."""

import errno
import os
import shutil
import sqlite3

import pytest
from boatworks import Failing, entry, event, planned, sample, stamp

from controller.errors import InputError
from controller.store import file, late, trouble
from controller.store.log import Log
from controller.store.queries import LogReader
from controller.store.rows import Checkpoint, Entry, NewBatch
from controller.store.trouble import NO_SPACE, DiskError
from controller.store.writer import LogWriter

LONG = 20.0
"""What has to happen happens within this, [s]; a test that waits it out has failed."""
OAK = NewBatch(id="oak-2", name="Shelf in oak", sheet='{"name": "Shelf in oak"}')


@pytest.fixture
def path(tmp_path):
    return tmp_path / "log.db"


@pytest.fixture
def dead():
    """A connection that fails at every call until its `nth` is set to 0."""
    return Failing.told(1, sticky=True)


def had_before(path):
    """A log with a batch, an answered press and a state."""
    log = Log.open(path)
    log.write(planned())
    log.write(entry(1, state='"held"'))
    log.sample(sample(2))
    log.close()


def texts(path):
    return [line.event.text for line in LogReader(path).events(limit=10_000) if line.event]


def test_the_old_state_is_read_and_what_happens_meanwhile_is_written_later(path, dead):
    had_before(path)
    writer = LogWriter.open(path, retry=0.001, connection=dead)
    assert writer.last_checkpoint is not None and writer.last_checkpoint.state == '"held"'
    assert writer.last_at == 2.0
    kept = writer.answered("act-1")
    assert kept is not None and kept.seq == 0
    (note,) = writer.notes
    assert note.startswith("log.db could not be written at the start (the memory card takes no")
    assert note.endswith("; it was only read.")
    assert writer.trouble is not None, "from the first moment, before any write was tried"
    for at in range(3, 6):
        writer.write(entry(at, state=f'"{at}"'))
        writer.sample(sample(at))
    assert not writer.flush(0.02) and writer.durable_seq == 0
    assert writer.answered("act-4") is not None
    dead.nth = 0
    assert writer.flush(LONG)
    assert writer.trouble is None and writer.durable_seq == 3
    assert writer.close(LONG)
    assert texts(path) == ["Planned.", "event at 1", "event at 3", "event at 4", "event at 5"]
    assert [row.at for row in LogReader(path).samples("ash-1", 0, 10)] == [2, 3, 4, 5]
    log = Log.open(path)
    assert log.last_checkpoint is not None and log.last_checkpoint.state == '"5"'
    log.close()


def test_samples_beyond_what_memory_keeps_are_told_as_a_gap(path, dead, monkeypatch):
    had_before(path)
    opened = Log.open
    why = DiskError("full", OSError(errno.ENOSPC, "No space left on device"))
    waiting = late.LateLog(path, why, 10, lambda: opened(path, connection=dead))
    writer = LogWriter(waiting, samples=10, retry=0.001)
    for at in range(3, 40):
        writer.sample(sample(at))
    writer.write(entry(40))
    dead.nth = 0
    assert writer.close(LONG)
    assert writer.dropped >= 27
    assert f"{writer.dropped} samples were not kept, because the disk took no writes." in texts(
        path
    )


def test_a_log_that_was_never_opened_says_that_it_lost_something(path, dead):
    had_before(path)
    writer = LogWriter.open(path, retry=0.001, connection=dead)
    writer.write(entry(3))
    assert not writer.close(0.05)
    assert texts(path) == ["Planned.", "event at 1"]


def test_a_new_log_on_a_full_disk_is_begun_when_there_is_room(path):
    class Full(sqlite3.Connection):
        pages = 1

        def execute(self, *given):
            super().execute(f"PRAGMA max_page_count = {type(self).pages}")
            return super().execute(*given)

    writer = LogWriter.open(path, retry=0.001, connection=Full)
    assert writer.last_checkpoint is None and writer.last_at is None
    assert writer.trouble is not None and f"the disk of {path.parent} is full" in writer.trouble
    assert "sudo journalctl --vacuum-size=50M" in writer.trouble
    writer.write(planned())
    writer.sample(sample(1))
    for _ in range(5):
        assert not writer.flush(0.02)
    Full.pages = 1_000_000
    assert writer.close(LONG)
    assert texts(path) == ["Planned."]
    assert len(list(LogReader(path).samples("ash-1", 0, 10))) == 1
    assert {part.name for part in path.parent.iterdir()} == {"log.db", "log.db.lock"}


def test_batches_are_numbered_as_in_the_file_even_where_it_could_not_be_read(
    path, dead, monkeypatch
):
    had_before(path)
    monkeypatch.setattr(late, "_found", lambda path, answers: None)
    writer = LogWriter.open(path, retry=0.001, connection=dead)
    assert writer.last_checkpoint is None
    assert writer.notes[0].endswith("; nothing could be read in it: look at the rig.")
    planned_anew = Entry(stamp=stamp(3), events=(event(3, batch="oak-2"),), batches=(OAK,))
    writer.write(planned_anew)
    writer.sample(sample(4, batch="oak-2"))
    writer.sample(sample(5, batch=None))
    dead.nth = 0
    assert writer.flush(LONG)
    # one more after the file is open
    writer.write(Entry(stamp=stamp(6), batches=(NewBatch(id="elm-3", name="Elm", sheet="{}"),)))
    writer.sample(sample(7, batch="elm-3"))
    assert writer.close(LONG)
    reader = LogReader(path)
    found = {
        id: [row.at for row in reader.samples(id, 0, 10)] for id in ("ash-1", "oak-2", "elm-3")
    }
    assert found == {"ash-1": [2], "oak-2": [4], "elm-3": [7]}
    assert [row.at for row in reader.samples(None, 0, 10)] == [5]
    assert any("held an older state, which could not be read" in text for text in texts(path))


def test_after_a_power_cut_the_file_beside_the_write_ahead_file_may_be_useless(
    path, dead, tmp_path
):
    """It cannot be made anew on a full disk, and the newest rows are in the write-ahead file."""
    running = tmp_path / "running.db"
    log = Log.open(running)
    log.write(planned())
    log.write(entry(1, state='"newest"'))
    for end in ("", "-wal"):
        shutil.copyfile(f"{running}{end}", f"{path}{end}")
    log.close()
    path.with_name("log.db-shm").mkdir()
    why = DiskError("full", OSError(errno.ENOSPC, "No space left on device"))
    found = late.LateLog(path, why, 10, lambda: Log.open(path, connection=dead))
    assert found.last_checkpoint is not None and found.last_checkpoint.state == '"newest"'


def test_a_state_carried_over_is_not_lost_when_the_new_file_cannot_be_written(path, dead):
    had_before(path)
    with path.open("r+b") as damaged:
        damaged.seek(18)
        damaged.write(b"\x01\x02")
    carried = Checkpoint(stamp=stamp(1), state='"held"')
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("controller.store.salvage.newest_state", lambda path: carried)
        writer = LogWriter.open(path, retry=0.001, connection=dead)
    assert writer.last_checkpoint == carried and writer.last_at == 1.0
    assert "was damaged (its header is damaged)" in writer.notes[0]
    writer.write(entry(3))
    dead.nth = 0
    assert writer.close(LONG)
    assert texts(path) == ["event at 3"]


def test_what_is_found_at_a_try_that_fails_is_told_by_the_one_that_does_not(path, dead):
    had_before(path)
    why = DiskError("full", OSError(errno.ENOSPC, "No space left on device"))
    waiting = late.LateLog(path, why, 10, lambda: Log.open(path, connection=dead))
    rows = waiting.encoded(entry(3))
    path.write_bytes(b"x" * 50)
    for _ in range(3):
        with pytest.raises(DiskError):
            waiting.write_entries([rows], None)
    dead.nth = 0
    waiting.write_entries([rows], None)
    (note,) = waiting.news()
    assert note.startswith("log.db was damaged (nothing is in it): kept as log.db.damaged-")
    assert waiting.news() == ()
    waiting.let_go()
    assert texts(path) == ["event at 3"]


def test_a_log_of_another_program_is_refused_on_a_dead_disk_too(path, dead, monkeypatch):
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE birds (name TEXT)")
    other.close()
    with pytest.raises(InputError, match="another program"):
        LogWriter.open(path, connection=dead)
    # also where the start did not get as far as looking
    monkeypatch.setattr("controller.store.salvage.made_sound", lambda path: ((), None, False))
    with pytest.raises(InputError, match="another program"):
        LogWriter.open(path, connection=dead)


def test_a_log_of_an_older_version_is_left_unread_until_it_can_be_brought_up(path, dead):
    had_before(path)
    with sqlite3.connect(path) as old:
        old.execute("PRAGMA user_version = 2")
    old.close()
    why = DiskError("full", OSError(errno.EROFS, "Read-only file system"))
    assert late.LateLog(path, why, 10, lambda: Log.open(path)).last_checkpoint is None


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EROFS, errno.EIO, errno.EDQUOT])
def test_a_disk_that_lets_no_lock_be_made_is_lived_with(path, monkeypatch, number):
    had_before(path)
    claimed = file.claimed

    def fails(path):
        raise OSError(number, os.strerror(number), str(path))

    monkeypatch.setattr(file, "claimed", fails)
    writer = LogWriter.open(path, retry=0.001)
    assert writer.trouble is not None and writer.last_checkpoint is not None
    writer.write(entry(3))
    assert not writer.flush(0.02)
    monkeypatch.setattr(file, "claimed", claimed)
    assert writer.close(LONG)
    assert texts(path)[-1] == "event at 3"


def test_another_writer_met_when_the_disk_is_back_is_waited_for(path, dead):
    had_before(path)
    writer = LogWriter.open(path, retry=0.001, connection=dead)
    writer.write(entry(3))
    with file.claimed(path):
        dead.nth = 0
        while "another process writes this log" not in (writer.trouble or ""):
            assert not writer.flush(0.02)
    assert writer.close(LONG)
    assert texts(path)[-1] == "event at 3"


def test_a_folder_nobody_may_write_ends_the_start(path, monkeypatch):
    def fails(path):
        raise PermissionError(errno.EACCES, "Permission denied", str(path))

    monkeypatch.setattr(file, "claimed", fails)
    with pytest.raises(InputError, match="cannot be used as the log") as told:
        LogWriter.open(path)
    assert not isinstance(told.value, DiskError)


def test_a_disk_without_space_is_called_full_whatever_sqlite_calls_it(tmp_path, monkeypatch):
    failed = sqlite3.OperationalError("disk I/O error")
    failed.sqlite_errorcode = sqlite3.SQLITE_IOERR_SHMSIZE
    monkeypatch.setattr(trouble, "free_space", lambda folder: NO_SPACE)
    assert "memory card takes no writes" in trouble.words(failed, tmp_path)
    monkeypatch.setattr(trouble, "free_space", lambda folder: NO_SPACE - 1)
    assert f"the disk of {tmp_path} is full" in trouble.words(failed, tmp_path)


def test_a_read_only_disk_is_named_with_the_place_it_is_mounted_at(tmp_path):
    failed = OSError(errno.EROFS, "Read-only file system")
    mount = next(part for part in tmp_path.parents if os.path.ismount(part))
    assert f"sudo mount -o remount,rw {mount}, or" in trouble.words(failed, tmp_path)
