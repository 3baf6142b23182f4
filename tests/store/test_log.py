"""The log without its thread: what goes in comes out, and what fails changes nothing."""

import sqlite3
import time
from dataclasses import replace

import pytest
from boatworks import ASH, UTC, Failing, entry, event, planned, sample, stamp

from controller.batch.acts import Answer
from controller.batch.events import EventKind
from controller.errors import BusyError, InputError
from controller.store.log import MEMORY, Log
from controller.store.queries import LogReader
from controller.store.rows import Checkpoint, Entry, WeighIn


@pytest.fixture
def path(tmp_path):
    return tmp_path / "log.db"


def texts(path):
    return [line.event and line.event.text for line in LogReader(path).events()]


def test_an_event_comes_back_as_it_went_in(path):
    told = event(
        12.345,
        "Coated 6 min ago: 41.5 g, 2° warm, \N{SNOWMAN}.",
        kind=EventKind.ACT,
        data={"used_g": 41.5, "by": "Ida", "late": True, "none": None},
        happened_at=-347.655,
    )
    log = Log.open(path)
    log.write(Entry(stamp=stamp(12.345), events=(told,)))
    (line,) = LogReader(path).events()
    assert line.event == told
    assert (line.seq, line.told_utc, line.mono) == (1, UTC + 12.345, 112.345)
    assert (line.boot_id, line.clock_trusted) == ("boot-1", True)
    log.close()


def test_what_no_column_can_hold_never_stops_the_log(path):
    log = Log.open(path)
    log.write(planned())
    log.write(entry(1, "half a pair \ud83d"))
    odd = event(2, "odd", data={"a_k": float("nan")})
    log.write(Entry(stamp=stamp(2), events=(odd,)))
    log.sample(sample(3, float("inf"), bag=1e300, room=float("nan")))
    log.close()
    lines = LogReader(path).events()
    assert [line.event and line.event.text for line in lines[1:]] == ["half a pair ?", "odd"]
    assert lines[2].event is not None and lines[2].event.data == {"a_k": None}
    (bucket,) = LogReader(path).samples_thinned("ash-1", 0, 10)
    assert (bucket.face, bucket.room, bucket.bag) == (None, None, None)


def test_every_commit_waits_for_the_disk(path):
    log = Log.open(path)
    assert log._connection.execute("PRAGMA synchronous").fetchone() == (2,)
    log.close()


def test_the_first_answer_to_an_act_stands_across_a_restart(path):
    log = Log.open(path)
    assert log.answered("act-1") is None
    log.write(entry(1))
    again = Answer(act="act-1", accepted=False, text="No.")
    log.write(Entry(stamp=stamp(2), answers=(again,)))
    log.close()
    log = Log.open(path)
    kept = log.answered("act-1")
    assert kept is not None
    assert (kept.answer.accepted, kept.answer.text, kept.seq) == (True, "Noted.", 0)
    log.close()


def test_samples_are_stored_each_nine_seconds_of_rig_time(path):
    log = Log.open(path)
    log.write(planned())
    for at in range(9):
        log.sample(sample(at))
    assert LogReader(path).span("ash-1") is None
    log.sample(sample(9))
    assert LogReader(path).span("ash-1") == (0, 9)
    log.close()


def test_samples_are_stored_each_nine_seconds_of_waiting(path, monkeypatch):
    now = 0.0
    monkeypatch.setattr(time, "monotonic", lambda: now)
    log = Log.open(path)
    log.write(planned())
    log.sample(sample(0))
    now = 9.0
    log.sample(sample(0.1))
    assert LogReader(path).span("ash-1") == (0, 0.1)
    log.close()


def test_a_sample_of_an_unknown_batch_is_the_callers_mistake(path):
    log = Log.open(path)
    with pytest.raises(KeyError):
        log.sample(sample(1))
    log.sample(sample(1, batch=None))
    log.close()


def test_the_newest_state_is_found_again_whichever_way_it_went_in(path):
    log = Log.open(path)
    log.write(planned())
    log.write(entry(1, state='{"n": 1}'))
    log.sample(sample(2))
    log.checkpoint(Checkpoint(stamp=stamp(2), state='{"n": 2}'))
    log.close()
    log = Log.open(path)
    assert log.last_checkpoint == Checkpoint(stamp=stamp(2), state='{"n": 2}')
    log.checkpoint(Checkpoint(stamp=stamp(3), state='{"n": 3}'))
    log.write(entry(4, state='{"n": 4}'))
    log.close()
    log = Log.open(path)
    assert log.last_checkpoint is not None and log.last_checkpoint.state == '{"n": 4}'
    assert log.last_at == 4
    log.close()


def test_rig_time_goes_on_from_the_newest_thing_in_the_log(path):
    log = Log.open(path)
    assert log.last_at is None
    log.write(planned(5))
    log.sample(sample(77.5))
    log.close()
    log = Log.open(path)
    assert log.last_at == 77.5
    log.close()


def test_a_batch_planned_anew_keeps_its_number_and_takes_the_new_sheet(path):
    log = Log.open(path)
    log.write(planned())
    log.sample(sample(1))
    log.write(Entry(stamp=stamp(2), batches=(type(ASH)(id="ash-1", name="Ash", sheet="[]"),)))
    log.close()
    line = LogReader(path).batch("ash-1")
    assert (line.name, line.sheet, line.planned_at) == ("Ash", "[]", 0)
    assert LogReader(path).span("ash-1") == (1, 1)


@pytest.mark.parametrize("where", ["a little text", "checkpoint state"])
def test_a_flipped_byte_is_seen_and_the_rest_still_read(path, where):
    log = Log.open(path)
    log.write(entry(1, "first"))
    log.write(entry(2, "a little text", state='["older"]'))
    log.write(entry(3, "last", state='["checkpoint state"]'))
    log.close()
    whole = path.read_bytes()
    assert whole.count(where.encode()) == 1
    at = whole.index(where.encode())
    # 0xFF is no UTF-8 either: the line must still not keep the others from being read.
    path.write_bytes(whole[:at] + b"\xff" + whole[at + 1 :])

    log = Log.open(path)
    assert log.last_checkpoint is not None
    if where == "a little text":
        assert texts(path) == ["first", None, "last"]
        assert (log.notes, log.last_checkpoint.stamp.at) == ((), 3)
    else:
        assert texts(path) == ["first", "a little text", "last"]
        assert (log.last_checkpoint.state, log.last_checkpoint.stamp.at) == ('["older"]', 2)
        assert len(log.notes) == 1
        # The next one goes over the damaged one, and over no other.
        log.write(entry(4, state='["newest"]'))
        log.close()
        log = Log.open(path)
        assert log.last_checkpoint is not None and log.last_checkpoint.state == '["newest"]'
    log.close()


@pytest.mark.parametrize("spoilt", ["zeroed", "not a database", "torn page"])
def test_a_damaged_file_is_moved_aside_and_said(path, spoilt):
    log = Log.open(path)
    for at in range(200):
        log.write(entry(at, "x" * 200))
    log.close()
    whole = path.read_bytes()
    bad = {
        "zeroed": bytes(len(whole)),
        "not a database": b"hello, not a database at all" * 300,
        "torn page": whole[:4096] + bytes(8192) + whole[12288:],
    }[spoilt]
    path.write_bytes(bad)
    path.with_name("log.db-wal").write_bytes(b"")

    log = Log.open(path)
    (note,) = log.notes
    assert "\n" not in note
    (aside,) = (p for p in path.parent.glob("log.db.damaged-*") if not p.name.endswith("-wal"))
    assert aside.name in note
    assert aside.read_bytes() == bad
    log.write(entry(1, "started anew"))
    log.close()
    assert texts(path) == ["started anew"]


def test_a_figure_turned_into_words_does_not_keep_the_log_from_being_opened(path):
    log = Log.open(path)
    log.write(entry(1, state='"older"'))
    log.write(entry(2, state='"newer"'))
    log._connection.execute("UPDATE checkpoint SET number = 'x', at_ms = 'y' WHERE number = 2")
    log._connection.execute("UPDATE event SET at_ms = 'z' WHERE seq = 2")
    log.close()
    log = Log.open(path)
    assert log.last_checkpoint is not None and log.last_checkpoint.state == '"older"'
    assert (log.last_at, len(log.notes)) == (1, 1)
    log.close()
    assert texts(path) == ["event at 1", None]


def test_two_damaged_files_in_one_second_are_both_kept(path):
    for _ in range(3):
        path.write_bytes(b"no database" * 500)
        Log.open(path).close()
    assert len(list(path.parent.glob("log.db.damaged-*"))) == 3


def test_a_second_writer_is_refused_and_a_closed_log_can_be_opened_again(path):
    log = Log.open(path)
    with pytest.raises(BusyError, match="another process"):
        Log.open(path)
    log.close()
    log.close()
    Log.open(path).close()


def test_a_folder_that_is_not_there_is_one_line(path):
    with pytest.raises(InputError, match="cannot be used as the log") as told:
        Log.open(path.parent / "nowhere" / "log.db")
    assert "\n" not in str(told.value)


@pytest.mark.parametrize("after", [False, True], ids=["undone", "done all the same"])
@pytest.mark.parametrize("sticky", [False, True], ids=["once", "sticky"])
def test_whichever_call_fails_an_entry_is_there_once_and_whole(tmp_path, sticky, after):
    """The nth call fails, n = 1 and up until none does; tried again, nothing is lost or doubled."""
    nth, failed = 0, True
    while failed:
        nth, failed = nth + 1, False
        path = tmp_path / f"{nth}.db"
        kind = Failing.told(0)
        log = Log.open(path, connection=kind, throwaway=True)
        log.write(planned())
        kind.arm()
        kind.nth, kind.sticky, kind.after = nth, sticky, after
        given = replace(entry(1, "one", "two", state='"after"'), batches=(ASH,))
        try:
            log.write(given)
        except sqlite3.OperationalError:
            failed = True
            assert log.durable_seq == 1
            kind.nth = 0
            log.write(given)
        kind.nth = 0
        assert log.durable_seq == 2
        log.write(entry(2, "three"))
        log.close()
        assert texts(path) == ["Planned.", "one", "two", "three"]
        log = Log.open(path)
        assert log.last_checkpoint is not None and log.last_checkpoint.state == '"after"'
        assert log.answered("act-1") is not None
        log.close()
    assert nth > 8


@pytest.mark.parametrize("after", [False, True], ids=["undone", "done all the same"])
def test_whichever_call_fails_samples_are_there_once(tmp_path, after):
    nth, failed = 0, True
    while failed:
        nth, failed = nth + 1, False
        kind = Failing.told(0)
        log = Log.open(tmp_path / f"{nth}.db", connection=kind, throwaway=True)
        log.write(planned())
        for at in range(90):
            log.sample(sample(at))
        kind.arm()
        kind.nth, kind.after = nth, after
        try:
            log.flush()
        except sqlite3.OperationalError:
            failed = True
        kind.nth = 0
        log.close()
        buckets = LogReader(tmp_path / f"{nth}.db").samples_thinned("ash-1", 0, 120, 2)
        assert [b.count for b in buckets] == [60, 30]
    assert nth > 4


def test_other_words_under_the_same_number_are_never_written_over(path):
    log = Log.open(path)
    log.write(entry(1, "one"))
    log._last_event = 0
    with pytest.raises(sqlite3.IntegrityError, match="other words"):
        log.write(entry(1, "another"))
    log.close()
    assert texts(path) == ["one"]


def test_a_rehearsals_log_costs_little_and_keeps_everything():
    """15,000 ticks in well under 1.5 s of processor time, the state handed in with each."""
    log = Log.open(MEMORY)
    log.write(planned())
    state = '{"k": 1.234567}' * 500
    before = time.process_time()
    for tick in range(15_000):
        log.sample(sample(tick * 10.0))
        log.checkpoint(Checkpoint(stamp=stamp(tick * 10.0), state=state))
        if tick % 50 == 0:
            log.write(entry(tick * 10.0, state=state))
    log.flush()
    assert time.process_time() - before < 1.5
    assert log._connection.execute("SELECT count(*) FROM sample").fetchone() == (15_000,)
    log.close()


def test_weigh_ins_keep_their_milligrams(path):
    log = Log.open(path)
    weighed = WeighIn(batch="ash-1", at=9.5, told_utc=UTC + 9.5, what="board", mass=1.234567)
    log.write(Entry(stamp=stamp(9.5), events=(event(9.5),), weigh_ins=(weighed,)))
    log.close()
    assert LogReader(path).weigh_ins("ash-1") == (weighed,)
