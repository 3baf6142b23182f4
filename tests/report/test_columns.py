"""Samples and events as columns, read back with a plain CSV reader."""

import csv
import json
from pathlib import Path
from sqlite3 import connect

import pytest
import washboard
from washboard import ID, UTC

from controller.report.columns import events_csv, samples_csv
from controller.store.queries import LogReader


@pytest.fixture
def short(tmp_path: Path) -> Path:
    """Two minutes a second apart and a little off the beat, two hours of nothing, one more."""
    log = washboard.Log.open(tmp_path / "log.db", throwaway=True)
    log.write(washboard.planned())
    for at in (*(n + 0.013 * (n % 3) for n in range(3, 123)), 7400.5):
        log.sample(washboard.sample(at))
    log.close()
    return tmp_path / "log.db"


def test_every_sample_comes_out_once_with_its_own_values(short: Path) -> None:
    rows = list(csv.DictReader(samples_csv(LogReader(short), ID)))
    assert len(rows) == 121
    third = rows[2]
    assert third["at_utc"] == "2025-11-04T16:00:05.026Z"
    assert third["rig_s"] == "5.026"
    assert third["stage"] == "PLANNED"
    assert float(third["face_c"]) == pytest.approx(washboard.face(5.026) - 273.15, abs=0.001)
    assert third["film_c"] == ""
    assert (third["bag_pa"], third["air_pa"]) == ("", "100000")
    assert (third["lamp"], third["pump"]) == ("0", "0")
    assert rows[-1]["rig_s"] == "7400.500"


def test_samples_of_a_whole_batch_are_counted_against_what_was_kept(tmp_path: Path) -> None:
    reader = LogReader(washboard.keep(tmp_path / "log.db"))
    rows = list(csv.DictReader(samples_csv(reader, ID)))
    assert [float(row["rig_s"]) for row in rows] == washboard.sampled_at()
    assert sum(row["lamp"] == "1" for row in rows) == 2100
    assert {row["stage"] for row in rows if row["lamp"] == "1"} == {"PREHEAT", "SOAK"}


def test_events_come_back_as_they_were_written(tmp_path: Path) -> None:
    reader = LogReader(washboard.keep(tmp_path / "log.db"))
    rows = list(csv.DictReader(events_csv(reader, ID)))
    told = washboard.story(True)
    assert [row["text"] for row in rows] == [event.text for event in told]
    assert [json.loads(row["data"]) for row in rows] == [event.data for event in told]
    late = next(row for row in rows if row["happened_rig_s"])
    assert (late["rig_s"], late["happened_rig_s"]) == ("3280.000", "3160.000")
    assert late["at_utc"] == "2025-11-04T16:54:40.000Z"
    assert {row["damaged"] for row in rows} == {"0"}


def test_a_damaged_line_stays_a_row_and_says_so(short: Path) -> None:
    with connect(short) as connection:
        connection.execute("UPDATE event SET text = 'another'")
    connection.close()
    (row,) = csv.DictReader(events_csv(LogReader(short), ID))
    assert (row["damaged"], row["text"], row["at_utc"]) == ("1", "", "2025-11-04T16:00:00.000Z")


def test_no_text_can_be_taken_for_a_formula(short: Path) -> None:
    log = washboard.Log.open(short, throwaway=True)
    note = washboard.event(10.0, washboard.EventKind.NOTE, "PLANNED", "=1+1")
    log.write(washboard.Entry(stamp=washboard.stamp(10.0), events=(note,)))
    log.close()
    *_, row = csv.DictReader(events_csv(LogReader(short), ID))
    assert row["text"] == "'=1+1"


def test_the_made_up_calendar_is_what_the_tests_say() -> None:
    assert UTC == 1_762_272_000
