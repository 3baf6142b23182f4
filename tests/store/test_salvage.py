"""Whatever has become of the file while nobody looked, a start tells nothing false and loses none
of it: it reads on, sets the file aside and begins a new one, or refuses in one line.
"""

import random
import resource
import shutil
import sqlite3
from contextlib import closing

import pytest
from boatworks import Failing, entry, planned, sample

from controller.errors import InputError
from controller.store import salvage
from controller.store.log import Log
from controller.store.queries import LogReader
from controller.store.writer import LogWriter

PAGE = 4096
EVENTS = 60


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    """A closed log, all of it in the one file."""
    path = tmp_path_factory.mktemp("sound") / "log.db"
    log = Log.open(path, throwaway=True)
    log.write(planned())
    for at in range(1, EVENTS):
        log.write(entry(at, f"event {at} " + "x" * 400, state=f'"{at} {"y" * 3000}"'))
        log.sample(sample(at))
    log.close()
    return path


@pytest.fixture(scope="module")
def killed(tmp_path_factory):
    """A log and its write-ahead file as a kill leaves them, most of it in the latter."""
    folder = tmp_path_factory.mktemp("killed")
    log = Log.open(folder / "live.db")
    log.write(planned())
    for at in range(1, 13):
        log.write(entry(at, f"event {at} " + "x" * 400, state=f'"{at}"'))
        log.sample(sample(at * 10))
    for end in ("", "-wal"):
        shutil.copy(folder / f"live.db{end}", folder / f"log.db{end}")
    log.close()
    return folder / "log.db"


@pytest.fixture
def path(tmp_path):
    return tmp_path / "log.db"


def what_was(there):
    """Numbers and texts of the sound lines."""
    lines = LogReader(there).events(limit=1000)
    return {line.seq: line.event.text for line in lines if line.event is not None}


def asides(path):
    return sorted(p for p in path.parent.glob("log.db.damaged-*") if p.suffix not in ("-wal",))


def opened(path, whole):
    """Open a spoilt file: what is told; nothing that is told was not so, nothing is lost."""
    before = path.read_bytes()
    try:
        log = Log.open(path, throwaway=True)
    except InputError as error:
        assert "\n" not in str(error)
        assert path.read_bytes() == before
        return "refused"
    notes, state = log.notes, log.last_checkpoint
    log.write(entry(1000, "goes on"))
    log.close()
    there = what_was(path)
    kept = [p for p in asides(path) if not p.name.endswith(("-wal", "-shm"))]
    if kept:
        assert len(kept) == 1 and any(kept[0].name in note for note in notes)
        assert kept[0].read_bytes() == before
        assert list(there.values()) == ["goes on"]
        outcome = "carried over" if state is not None else "begun anew"
    else:
        assert there.pop(max(there)) == "goes on"
        assert there.items() <= whole.items()
        outcome = "read on"
    if state is not None:
        assert state.state in STATES
    return outcome


STATES = {f'"{at} {"y" * 3000}"' for at in range(EVENTS)} | {f'"{at}"' for at in range(13)}


def spoilt(path, data, whole):
    path.write_bytes(data)
    return opened(path, whole)


def test_a_file_cut_at_each_page_and_beside_it(sound, path):
    """A last page that lacks its last byte is read on: SQLite fills it up, and no row is there."""
    data, whole = sound.read_bytes(), what_was(sound)
    found = {}
    for end in range(0, len(data), PAGE):
        for cut in {end, end + 1, end + 100, end + PAGE - 1}:
            for old in path.parent.iterdir():
                old.unlink()
            found[cut] = spoilt(path, data[:cut], whole)
    assert found.pop(len(data) - 1) in {"read on", "carried over"}
    assert set(found.values()) == {"begun anew", "carried over"}


def test_a_header_spoilt_in_any_place(sound, path):
    """Each byte of the header turned over, and the first page zeroed from and up to each place."""
    data, whole = sound.read_bytes(), what_was(sound)
    found = set()
    for at in range(100):
        found.add(spoilt(path, data[:at] + bytes([data[at] ^ 0xFF]) + data[at + 1 :], whole))
        for old in path.parent.iterdir():
            old.unlink()
    for at in range(16, PAGE, 400):
        for bad in (bytes(at) + data[at:], data[:at] + bytes(PAGE - at) + data[PAGE:]):
            found.add(spoilt(path, bad, whole))
            for old in path.parent.iterdir():
                old.unlink()
    assert found == {"refused", "begun anew", "carried over", "read on"}


def test_a_page_anywhere_scrambled(sound, path):
    """Each page in turn filled with noise, all of it and one sector of it."""
    data, whole = sound.read_bytes(), what_was(sound)
    chance = random.Random(6)
    found = []
    for start in range(PAGE, len(data), PAGE):
        for size in (PAGE, 512):
            at = start + chance.randrange(0, PAGE - size + 1, 512)
            bad = data[:at] + chance.randbytes(size) + data[at + size :]
            found.append(spoilt(path, bad, whole))
            for old in path.parent.iterdir():
                old.unlink()
    assert set(found) == {"begun anew", "carried over", "read on"}
    assert found.count("carried over") > len(found) / 2


def test_a_write_ahead_file_cut_at_each_place_leaves_a_beginning(killed, path):
    """Cut in its header, in each frame's header, in its page, and between two frames."""
    wal, whole = killed.with_name("log.db-wal").read_bytes(), what_was(killed)
    for frame in range(32, len(wal), 2 * (PAGE + 24)):
        for cut in (frame, frame + 1, frame + 24, frame + 2000):
            shutil.copy(killed, path)
            path.with_name("log.db-wal").write_bytes(wal[:cut])
            log = Log.open(path, throwaway=True)
            assert log.notes == ()
            log.close()
            there = what_was(path)
            assert list(there.items()) == list(whole.items())[: len(there)]
    assert len(there) >= len(whole) - 2
    for cut in range(0, 33, 4):
        shutil.copy(killed, path)
        path.with_name("log.db-wal").write_bytes(wal[:cut])
        Log.open(path, throwaway=True).close()
        assert what_was(path) == {}


@pytest.mark.parametrize("there", ["empty", "gone"])
def test_a_file_that_is_empty_or_gone_keeps_its_write_ahead_file(killed, path, there):
    wal = killed.with_name("log.db-wal").read_bytes()
    path.with_name("log.db-wal").write_bytes(wal)
    if there == "empty":
        path.touch()
    log = Log.open(path)
    (note,) = log.notes
    assert "nothing is in it" in note and "look at the rig" in note
    log.close()
    (kept,) = path.parent.glob("log.db.damaged-*-wal")
    assert kept.read_bytes() == wal


def test_a_new_log_and_a_killed_one_have_nothing_to_be_told(killed, path):
    log = Log.open(path)
    assert log.notes == () and log.last_checkpoint is None
    log.close()
    for end in ("", "-wal"):
        shutil.copy(killed.with_name(f"log.db{end}"), path.with_name(f"log.db{end}"))
    log = Log.open(path)
    assert log.notes == () and log.last_checkpoint is not None
    log.close()


def torn(sound, path):
    """The log with a page of its events zeroed."""
    data = sound.read_bytes()
    at = data.index(b"event 20 ") // PAGE * PAGE
    path.write_bytes(data[:at] + bytes(PAGE) + data[at + PAGE :])


def test_the_newest_sound_state_is_carried_over_and_is_in_the_new_log_at_once(sound, path):
    torn(sound, path)
    log = Log.open(path)
    (note,) = log.notes
    assert note.endswith("its newest sound state was carried over.") and "\n" not in note
    assert log.last_checkpoint is not None and log.last_checkpoint.state.startswith('"59 ')
    assert log.last_at == 59.0
    # killed before anything else was written
    log.let_go()
    again = Log.open(path)
    assert again.last_checkpoint == log.last_checkpoint and again.notes == ()
    again.write(entry(60, state='"60"'))
    again.close()
    log = Log.open(path)
    assert log.last_checkpoint is not None and log.last_checkpoint.state == '"60"'
    log.close()


def test_a_torn_log_is_read_by_nobody_as_if_it_were_whole(sound, path):
    torn(sound, path)
    writer = LogWriter.open(path)
    assert len(writer.notes) == 1 and writer.answered("act-1") is None
    writer.write(planned(60))
    writer.sample(sample(61))
    assert writer.close(20.0)
    assert LogReader(path).span("ash-1") == (61.0, 61.0)


def test_a_look_at_a_large_log_ends_in_time_and_says_so(sound, path, monkeypatch):
    shutil.copy(sound, path)
    monkeypatch.setattr(salvage, "STEPS_BETWEEN", 1)
    assert salvage.look(path, within=-1.0) == (None, False)
    assert salvage.look(path) == (None, True)
    monkeypatch.setattr(salvage, "look", lambda path: (None, False))
    log = Log.open(path)
    assert log.notes == ("log.db is so large that only part of it was checked at the start.",)
    log.close()


def test_what_matters_at_a_start_is_looked_at_however_little_time_there_is(sound, path):
    torn(sound, path)
    found, _ = salvage.look(path, within=-1.0)
    assert found is not None


@pytest.mark.parametrize(
    ("sql", "words"),
    [("PRAGMA application_id = 7", "another program"), ("PRAGMA user_version = 90", "newer")],
)
def test_a_strangers_file_is_refused_and_left_as_it_is(sound, path, sql, words):
    shutil.copy(sound, path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute(sql)
    assert opened(path, {}) == "refused"
    with pytest.raises(InputError, match=words):
        Log.open(path)
    assert asides(path) == []


def test_a_disk_that_can_be_read_only_is_refused_in_one_line_and_nothing_is_moved(sound, path):
    """As root may write anywhere, the disk itself is what says no here."""
    shutil.copy(sound, path)
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, limits[1]))
    try:
        with pytest.raises(InputError, match="full or read-only") as told:
            Log.open(path)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
    assert "\n" not in str(told.value) and asides(path) == []
    log = Log.open(path)
    assert log.notes == () and what_was(path) == what_was(sound)
    log.close()


@pytest.mark.parametrize("sticky", [False, True], ids=["once", "sticky"])
def test_whichever_call_of_a_start_fails_the_next_start_finds_all_of_it(killed, path, sticky):
    nth, failed = 0, True
    while failed:
        nth, failed = nth + 1, False
        for end in ("", "-wal"):
            shutil.copy(killed.with_name(f"log.db{end}"), path.with_name(f"log.db{end}"))
        kind = Failing.told(nth, sticky=sticky)
        try:
            Log.open(path, connection=kind).close()
        except InputError as error:
            failed = True
            assert "\n" not in str(error)
        log = Log.open(path)
        assert log.notes == () and log.last_checkpoint is not None
        assert log.last_checkpoint.state == '"12"'
        log.close()
        assert len(what_was(path)) == 13
    assert nth > 8
