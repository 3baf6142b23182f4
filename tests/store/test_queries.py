"""Questions to the log: thinned traces, the order of stages, and never in the writer's way."""

import sqlite3
from dataclasses import replace

import pytest
from boatworks import ASH, UTC, entry, event, planned, sample, stamp

from controller.batch.events import EventKind
from controller.errors import BusyError, InputError
from controller.store import samples
from controller.store.log import Log
from controller.store.queries import LogReader
from controller.store.readonly import ReadOnly
from controller.store.rows import Entry, NewBatch


@pytest.fixture
def path(tmp_path):
    return tmp_path / "log.db"


def files(path):
    return sorted(p.name for p in path.parent.iterdir())


def staged(at, stage, **more):
    return Entry(
        stamp=stamp(at), events=(event(at, stage, kind=EventKind.STAGE, stage=stage, **more),)
    )


def test_a_log_that_is_stopped_is_read_without_leaving_a_trace(path):
    log = Log.open(path)
    log.write(entry(1))
    log.close()
    before = files(path), path.read_bytes()
    assert "log.db-wal" not in before[0]
    assert LogReader(path).last_seq() == 1
    assert (files(path), path.read_bytes()) == before


def test_a_running_writer_is_followed_event_by_event(path):
    log = Log.open(path)
    reader = LogReader(path)
    for n in range(1, 4):
        log.write(entry(n))
        assert reader.last_seq() == n
        assert [line.seq for line in reader.events(after_seq=n - 1)] == [n]
    log.close()


def test_a_reader_never_keeps_the_write_ahead_file_from_being_emptied(path):
    log = Log.open(path)
    for n in range(1, 4):
        log.write(entry(n))
        LogReader(path).events()
        assert log._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone() == (0, 0, 0)
    log.close()


def test_what_a_killed_writer_left_in_its_write_ahead_file_is_read(tmp_path, path):
    log = Log.open(path)
    log.write(entry(1))
    there = tmp_path / "left" / "log.db"
    there.parent.mkdir()
    for name in ("log.db", "log.db-wal", "log.db-shm"):
        there.with_name(name).write_bytes(path.with_name(name).read_bytes())
    assert LogReader(there).last_seq() == 1
    log.close()


def test_a_writer_that_comes_back_while_a_question_is_asked_is_not_read_past(path, monkeypatch):
    Log.open(path).close()
    once, back = ReadOnly._once, []

    def slow(self, how, sql, values):
        found = once(self, how, sql, values)
        if not back:
            assert how == "immutable=1"
            back.append(Log.open(path))
            back[0].write(entry(1))
        return found

    monkeypatch.setattr(ReadOnly, "_once", slow)
    assert LogReader(path).last_seq() == 1
    back[0].close()


def test_a_writer_that_leaves_while_a_question_is_asked_is_asked_again(path, monkeypatch):
    log = Log.open(path)
    log.write(entry(1))
    once, asked = ReadOnly._once, []

    def refused(self, how, sql, values):
        asked.append(how)
        if how == "mode=ro":
            log.close()
            raise sqlite3.OperationalError("attempt to write a readonly database")
        return once(self, how, sql, values)

    monkeypatch.setattr(ReadOnly, "_once", refused)
    assert LogReader(path).last_seq() == 1
    assert asked == ["mode=ro", "immutable=1"]


def test_a_writer_that_comes_and_goes_all_the_time_is_one_line(path, monkeypatch):
    Log.open(path).close()
    wal = path.with_name("log.db-wal")

    def restless(self, how, sql, values):
        wal.unlink() if wal.exists() else wal.touch()
        raise sqlite3.OperationalError("unable to open database file")

    monkeypatch.setattr(ReadOnly, "_once", restless)
    with pytest.raises(BusyError, match="try again"):
        LogReader(path).last_seq()


def test_no_log_a_spoilt_log_and_a_newer_log_are_one_line_each(path):
    reader = LogReader(path)
    with pytest.raises(InputError, match="no log at"):
        reader.batches()
    path.write_bytes(b"no database" * 1000)
    with pytest.raises(InputError, match="cannot be read"):
        reader.batches()
    path.unlink()
    Log.open(path).close()
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA user_version = 99")
    connection.close()
    with pytest.raises(InputError, match="newer version"):
        reader.batches()


def test_batches_come_newest_first_with_their_stage(path):
    log = Log.open(path)
    log.write(planned())
    log.write(Entry(stamp=stamp(5), batches=(NewBatch(id="sapele-1", name="Sapele", sheet="[]"),)))
    log.write(staged(9, "PREHEAT"))
    log.close()
    reader = LogReader(path)
    assert [(b.id, b.stage, b.last_utc) for b in reader.batches()] == [
        ("sapele-1", None, UTC + 5),
        ("ash-1", "PREHEAT", UTC + 9),
    ]
    assert reader.batch("ash-1").sheet == ASH.sheet
    with pytest.raises(InputError, match="sapele-1, ash-1"):
        reader.batch("oak-1")


def test_events_of_one_batch_leave_the_others_out(path):
    log = Log.open(path)
    log.write(planned())
    rig = event(1, "Clock stepped.", kind=EventKind.CLOCK_STEP, batch=None, stage=None, data={})
    log.write(Entry(stamp=stamp(1), events=(rig, event(1))))
    log.close()
    reader = LogReader(path)
    assert [line.seq for line in reader.events("ash-1")] == [1, 3]
    assert [line.seq for line in reader.events("ash-1", after_seq=1)] == [3]
    assert [line.seq for line in reader.events(limit=2)] == [1, 2]


def test_a_stage_told_late_began_when_it_was_told_to_have(path):
    log = Log.open(path)
    log.write(planned(0))
    log.write(staged(100, "COAT"))
    log.write(staged(500, "BAG", happened_at=140.0))
    log.close()
    plan, coat, bag = LogReader(path).stage_times("ash-1")
    assert (plan.stage, plan.began, plan.ended) == ("PLANNED", 0, 100)
    assert (coat.stage, coat.began, coat.ended, coat.recorded) == ("COAT", 100, 140, 100)
    assert (bag.began, bag.ended, bag.recorded, bag.began_utc) == (140, None, 500, UTC + 140)


@pytest.mark.parametrize(("seconds", "points"), [(600, 60), (36_000, 600), (108_000, 120)])
def test_thinning_keeps_a_spike_of_one_sample(path, seconds, points):
    spike = seconds // 2 + 13
    log = Log.open(path, throwaway=True)
    log.write(planned())
    for at in range(0, seconds, 5 if seconds > 20_000 else 1):
        log.sample(sample(at, 300.0))
    log.sample(sample(spike + 0.5, 341.25, lamp=True))
    log.close()
    buckets = LogReader(path).samples_thinned("ash-1", 0, seconds, points)
    assert len(buckets) == points
    highs = [b.face.high for b in buckets if b.face is not None]
    assert max(highs) == pytest.approx(341.25, abs=0.0006)
    (hot,) = (b for b in buckets if b.face is not None and b.face.high > 301)
    assert hot.at <= spike + 0.5 < hot.at + hot.width
    assert hot.face is not None
    assert hot.face.low == pytest.approx(300.0, abs=0.0006)
    mean = (300.0 * (hot.count - 1) + 341.25) / hot.count
    assert hot.face.mean == pytest.approx(mean, abs=0.001)
    assert hot.lamp == pytest.approx(1 / hot.count)
    assert sum(b.count for b in buckets) == len(range(0, seconds, 5 if seconds > 20_000 else 1)) + 1


def test_coarse_and_fine_traces_agree_on_what_they_hold(path):
    log = Log.open(path, throwaway=True)
    log.write(planned())
    for at in range(0, 7200, 10):
        log.sample(sample(at, 290 + at % 410 / 10, bag=25_000 + at, pump=at % 30 == 0, room=None))
    log.close()
    reader = LogReader(path)
    fine = reader.samples_thinned("ash-1", 0, 7200, 600)
    coarse = reader.samples_thinned("ash-1", 0, 7200, 10)
    assert (fine[0].width, coarse[0].width) == (12, 720)
    for name in ("face", "bag", "air"):
        assert max(getattr(b, name).high for b in fine) == max(
            getattr(b, name).high for b in coarse
        )
        assert min(getattr(b, name).low for b in fine) == min(getattr(b, name).low for b in coarse)
    assert all(b.room is None for b in coarse)
    assert sum(b.count * b.pump for b in coarse) == pytest.approx(240)


@pytest.mark.parametrize(("start", "end", "points"), [(0, 10, 0), (0, 10, 601), (10, 10, 5)])
def test_a_trace_that_makes_no_sense_is_refused(path, start, end, points):
    Log.open(path).close()
    with pytest.raises(InputError, match="points"):
        LogReader(path).samples_thinned(None, start, end, points)


def test_a_trace_of_an_unknown_batch_is_refused_and_not_taken_for_the_idle_rig(path):
    log = Log.open(path)
    log.sample(sample(1, batch=None))
    log.close()
    reader = LogReader(path)
    assert len(reader.samples_thinned(None, 0, 10)) == 1
    with pytest.raises(InputError, match="no batch"):
        reader.samples_thinned("oak-1", 0, 10)
    assert reader.span("ash-1") is None


def test_samples_come_back_as_they_were_handed_in(path):
    rows = [sample(0.25 * n, 290.0 + n, film=None, lamp=n % 2 == 0) for n in range(8)]
    log = Log.open(path)
    log.write(planned())
    for row in (*rows, sample(1.0, batch=None)):
        log.sample(row)
    log.close()
    found = list(LogReader(path).samples("ash-1", 0.5, 1.75))
    assert [row.at for row in found] == [0.5, 0.75, 1.0, 1.25, 1.5]
    for row, kept in zip(rows[2:7], found, strict=True):
        assert kept.face == pytest.approx(row.face, abs=0.0005)
        assert replace(kept, face=None) == replace(row, face=None)
    assert [row.batch for row in LogReader(path).samples(None, 0, 9)] == [None]
    with pytest.raises(InputError, match="no batch"):
        next(LogReader(path).samples("oak-1", 0, 9))


def test_a_long_batch_is_read_in_short_statements_with_the_writer_free_between(path, monkeypatch):
    monkeypatch.setattr(samples, "ROWS", 100)
    asked = []
    once = ReadOnly._once

    def counted(self, how, sql, values):
        found = once(self, how, sql, values)
        asked.append(len(found))
        return found

    monkeypatch.setattr(ReadOnly, "_once", counted)
    log = Log.open(path)
    log.write(planned())
    for at in range(250):
        log.sample(sample(at))
    log.flush()
    reading = LogReader(path).samples("ash-1", 0, 1000)
    first = [next(reading).at for _ in range(50)]
    assert log._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone() == (0, 0, 0)
    log.sample(sample(250))
    log.flush()
    assert first + [row.at for row in reading] == list(range(251))
    assert asked == [1, 100, 100, 51]
    log.close()
