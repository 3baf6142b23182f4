"""A flipped bit in any row is seen: the row is named, never shown, and the others are read."""

import shutil
import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest
from boatworks import ASH, UTC, entry, planned, sample, stamp

from controller.errors import InputError
from controller.store import schema
from controller.store.damaged import Damaged
from controller.store.log import Log
from controller.store.queries import LogReader
from controller.store.rows import Entry, WeighIn
from controller.store.sums import checksum, sum_sql
from controller.store.tables import DAMAGED_ANSWER, MINUTE_CELLS, SAMPLE_CELLS
from controller.store.writer import LogWriter

KEYS = {"batch", "at_ms", "minute"}
"""Cells that are a row's key: with another one it is another row."""
OTHERS = ("0", "NULL", "'x'", "x''", "{cell} + 1", "{cell} << 17")
"""What a cell may have turned into."""


@pytest.fixture
def path(tmp_path):
    return tmp_path / "log.db"


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A log with a batch, three weighings, three minutes of samples, and events."""
    path = tmp_path_factory.mktemp("made") / "log.db"
    log = Log.open(path)
    log.write(planned())
    for at in (10.0, 20.0, 30.0):
        weighed = WeighIn(batch="ash-1", at=at, told_utc=UTC + at, what="board", mass=1.5)
        log.write(replace(entry(at, state=f"{at:g}"), weigh_ins=(weighed,)))
    for at in range(180):
        log.sample(sample(at, None if at % 2 else 300.0, room=293.15, film=291.0))
    log.close()
    return path


@pytest.fixture
def full(made, path):
    """A copy of it to spoil."""
    return Path(shutil.copy(made, path))


def spoil(path, *statements):
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA synchronous = OFF")
    for sql in statements:
        connection.execute(sql)
    connection.commit()
    connection.close()


def asked(sql, *cells):
    connection = sqlite3.connect(":memory:")
    found = connection.execute(f"SELECT {sql}", cells).fetchone()[0]
    connection.close()
    return found


def test_no_bit_flipped_in_one_cell_leaves_a_sum_as_it_was():
    sql = sum_sql([f"?{place}" for place in range(1, 16)])
    row = [1, 3_600_000, 1_780_000_000_000, 9, 1, 26_850, None, -20_500, 0, None, 25_000, 101_325]
    row += [0, 1, None]
    connection = sqlite3.connect(":memory:")
    right = connection.execute(f"SELECT {sql}", row).fetchone()[0]
    assert 0 <= right < 2**31
    for place, cell in enumerate(row):
        for bit in range(48):
            other = [*row[:place], (cell or 0) ^ (1 << bit), *row[place + 1 :]]
            assert connection.execute(f"SELECT {sql}", other).fetchone()[0] != right, (place, bit)
        for strange in ("", "x", b"", b"\0", 0.5):
            other = [*row[:place], strange, *row[place + 1 :]]
            assert connection.execute(f"SELECT {sql}", other).fetchone()[0] != right, place
    connection.close()


def test_two_cells_that_changed_places_are_seen():
    sql = sum_sql([f"?{place}" for place in range(1, 16)])
    row = [7 * place + 1 for place in range(15)]
    right = asked(sql, *row)
    for place in range(14):
        other = row.copy()
        other[place], other[place + 1] = other[place + 1], other[place]
        assert asked(sql, *other) != right


def cells_of(path, sql):
    connection = sqlite3.connect(path)
    (row,) = connection.execute(sql).fetchall()
    connection.close()
    return [(type(cell), cell) for cell in row]


@pytest.mark.parametrize("cell", sorted(set(SAMPLE_CELLS) - KEYS))
def test_a_damaged_sample_is_left_out_and_named(made, path, cell):
    there, before = list(LogReader(made).samples("ash-1", 0, 180)), 0
    for turned in OTHERS:
        shutil.copy(made, path)
        sql = "SELECT * FROM sample WHERE at_ms = 61000"
        was = cells_of(path, sql)
        spoil(
            path,
            f"UPDATE OR IGNORE sample SET {cell} = {turned.format(cell=cell)} WHERE at_ms = 61000",
        )
        if cells_of(path, sql) == was:
            continue
        before += 1
        reader = LogReader(path)
        assert reader.damaged("ash-1") == (Damaged("sample", "61 s"),), turned
        assert list(reader.samples("ash-1", 0, 180)) == [row for row in there if row.at != 61.0]
        (bucket,) = reader.samples_thinned("ash-1", 60, 65, 1)
        assert bucket.count == 4
    assert before >= 3


@pytest.mark.parametrize("cell", sorted(set(MINUTE_CELLS) - KEYS))
def test_a_damaged_minute_is_left_out_and_named(full, cell):
    spoil(full, f"UPDATE minute SET {cell} = coalesce({cell}, 0) + 1 WHERE minute = 1")
    assert LogReader(full).damaged("ash-1") == (Damaged("minute", "1 min"),)
    buckets = LogReader(full).samples_thinned("ash-1", 0, 180, 3)
    assert [bucket.at for bucket in buckets] == [0.0, 120.0]


def test_a_damaged_sample_is_in_no_minute_reckoned_later(full):
    spoil(full, "UPDATE sample SET face_mdegc = 99000 WHERE at_ms = 178000")
    log = Log.open(full)
    log.sample(sample(179.5, 301.0))
    log.close()
    (bucket,) = LogReader(full).samples_thinned("ash-1", 120, 180, 1)
    assert bucket.count == 60 and bucket.face is not None and bucket.face.high == 301.0


@pytest.mark.parametrize("cell", ["at_ms", "at_utc_ms", "mass_mg"])
def test_a_damaged_weighing_is_left_out_and_named(full, cell):
    spoil(full, f"UPDATE weigh_in SET {cell} = {cell} + 1000 WHERE at_ms = 20000")
    reader = LogReader(full)
    assert [weighed.at for weighed in reader.weigh_ins("ash-1")] == [10.0, 30.0]
    (named,) = reader.damaged("ash-1")
    assert named == Damaged("weigh_in", "21 s" if cell == "at_ms" else "20 s")


def test_a_damaged_event_is_named(full):
    spoil(full, "UPDATE event SET text = 'sealed' WHERE seq = 3")
    assert LogReader(full).damaged("ash-1") == (Damaged("event", "3"),)


def test_an_answer_that_is_damaged_is_not_given_as_true_and_the_press_is_not_done_again(full):
    spoil(full, "UPDATE answer SET accepted = 0 WHERE act = 'act-20'")
    log = Log.open(full)
    kept = log.answered("act-20")
    assert kept is not None and kept.answer.text == DAMAGED_ANSWER
    log.close()
    writer = LogWriter.open(full)
    kept = writer.answered("act-20")
    assert kept is not None and not kept.answer.accepted and kept.answer.text == DAMAGED_ANSWER
    assert writer.answered("act-30").answer.accepted
    assert writer.close(20.0)


def test_a_damaged_batch_line_is_no_batch_sheet_but_its_samples_are_there(full):
    spoil(full, "UPDATE batch SET sheet = replace(sheet, 'ash', 'oak')")
    reader = LogReader(full)
    assert reader.batches() == ()
    with pytest.raises(InputError, match="damaged") as told:
        reader.batch("ash-1")
    assert "\n" not in str(told.value)
    assert reader.damaged("ash-1") == (Damaged("batch", "ash-1"),)
    assert len(list(reader.samples("ash-1", 0, 180))) == 180
    assert len(reader.samples_thinned("ash-1", 0, 180, 3)) == 3


def test_a_damaged_batch_line_is_made_good_when_the_batch_is_told_again(full):
    spoil(full, "UPDATE batch SET name = 'Washboard in oak'")
    log = Log.open(full)
    log.write(Entry(stamp=stamp(300), batches=(ASH,)))
    log.sample(sample(301))
    log.close()
    reader = LogReader(full)
    assert (reader.batch("ash-1").name, reader.damaged("ash-1")) == (ASH.name, ())
    assert len(list(reader.samples("ash-1", 0, 302))) == 181


def test_a_batch_whose_id_is_damaged_does_not_keep_its_number_from_the_next(full):
    spoil(full, "UPDATE batch SET id = 'asi-1'")
    log = Log.open(full)
    log.write(Entry(stamp=stamp(300), batches=(ASH,)))
    log.sample(sample(301))
    log.close()
    assert [line.id for line in LogReader(full).batches()] == ["ash-1"]
    assert LogReader(full).damaged("asi-1")[0] == Damaged("batch", "asi-1")


def test_a_damaged_time_does_not_carry_rig_time_away(full):
    spoil(
        full,
        "UPDATE event SET at_ms = at_ms + (1 << 40) WHERE seq = 4",
        "INSERT INTO sample (batch, at_ms, at_utc_ms, lamp, pump, sum31)"
        " VALUES (1, 1 << 41, 0, 0, 0, 7)",
        "UPDATE checkpoint SET at_ms = at_ms + (1 << 42) WHERE number = 3",
    )
    log = Log.open(full)
    assert log.last_at == 179.0
    log.close()


def test_a_log_from_before_there_were_sums_gets_them_and_loses_nothing(path):
    old = sqlite3.connect(path, isolation_level=None)
    schema.migrate(old, schema.STEPS[:2])
    old.execute("INSERT INTO batch VALUES (1, 'ash-1', 'Ash', '{}', 0, 0)")
    old.execute("INSERT INTO answer VALUES ('act-1', 1, 'Noted.', 1)")
    old.execute("INSERT INTO weigh_in VALUES ('ash-1', 5000, 'board', 0, 1500000)")
    old.execute(
        "INSERT INTO sample VALUES (1, 1000, 0, 9, 1, 20000, NULL, NULL, NULL, NULL, 1, 2, 0, 1)"
    )
    old.execute(schema.MINUTES[1])
    cells = (1, 0, None, 0, 0, "boot", 1, "ash-1", "HOLD", "note", "Held.", "{}")
    old.execute(
        "INSERT INTO event VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (*cells, checksum(cells)),
    )
    old.close()
    with pytest.raises(InputError, match="start control on it once"):
        LogReader(path).batches()

    log = Log.open(path)
    kept = log.answered("act-1")
    assert kept is not None and kept.answer.accepted and kept.answer.text == "Noted."
    log.sample(sample(2.0))
    log.close()
    reader = LogReader(path)
    assert reader.batch("ash-1").name == "Ash" and reader.damaged("ash-1") == ()
    assert [weighed.mass for weighed in reader.weigh_ins("ash-1")] == [1.5]
    assert [row.at for row in reader.samples("ash-1", 0, 60)] == [1.0, 2.0]
    (bucket,) = reader.samples_thinned("ash-1", 0, 60, 1)
    assert bucket.count == 2
    spoil(path, "UPDATE batch SET sheet = '[]'")
    assert reader.damaged("ash-1") == (Damaged("batch", "ash-1"),)


def test_samples_of_a_batch_that_is_not_there_are_refused_and_those_that_are_named(full):
    with pytest.raises(InputError, match=r"no batch 'oak-9'.*ash-1"):
        LogReader(full).samples_thinned("oak-9", 0, 10)
