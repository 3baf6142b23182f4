"""The steps: in order, all or none, and no file of a stranger is touched."""

import sqlite3

import pytest
from boatworks import entry, planned, sample

from controller.batch.stages import Stage
from controller.errors import InputError
from controller.store import schema
from controller.store.cells import CHANNELS, STAGE_NUMBERS
from controller.store.log import Log


def opened(path):
    return sqlite3.connect(path, isolation_level=None)


def shape(connection):
    return connection.execute("SELECT name, sql FROM sqlite_schema ORDER BY name").fetchall()


def test_a_new_file_has_had_every_step(tmp_path):
    Log.open(tmp_path / "log.db").close()
    connection = opened(tmp_path / "log.db")
    assert schema.version(connection) == len(schema.STEPS)
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    connection.close()


def test_a_file_of_the_first_step_is_brought_up_to_date_with_what_it_holds(tmp_path):
    old = opened(tmp_path / "log.db")
    schema.migrate(old, schema.STEPS[:1])
    old.execute("BEGIN")
    old.execute("INSERT INTO batch VALUES (1, 'ash-1', 'Ash', '{}', 0, 0)")
    for at in range(0, 180_000, 1000):
        cells = ", ".join(str(at // 100 + i) for i in range(len(CHANNELS)))
        old.execute(f"INSERT INTO sample VALUES (1, {at}, {at}, 9, 1, {cells}, 0, 1)")
    old.execute("COMMIT")
    old.close()

    log = Log.open(tmp_path / "log.db")
    log.close()
    new = opened(tmp_path / "log.db")
    migrated = new.execute("SELECT * FROM minute ORDER BY minute").fetchall()
    assert [row[:4] for row in migrated] == [(1, 0, 0, 60), (1, 1, 60000, 60), (1, 2, 120000, 60)]
    assert migrated[1][4:8] == (600, 1190, sum(range(600, 1200, 10)), 60)
    assert migrated[1][-3:] == (0, 60, None)
    new.close()


def test_the_migrated_minutes_are_the_minutes_the_log_itself_would_have_made(tmp_path):
    log = Log.open(tmp_path / "log.db")
    log.write(planned())
    for at in range(150):
        log.sample(sample(at, 290 + at % 37, room=None if at % 3 else 293.0, lamp=at % 5 == 0))
    log.close()
    connection = opened(tmp_path / "log.db")
    made = connection.execute("SELECT * FROM minute ORDER BY minute").fetchall()
    connection.execute("DELETE FROM minute")
    connection.execute("ALTER TABLE minute DROP COLUMN sum31")
    connection.execute(schema.MINUTES[1])
    again = connection.execute("SELECT * FROM minute ORDER BY minute").fetchall()
    assert again == [row[:-1] for row in made]
    assert len(made) == 3
    connection.close()


def test_steps_go_in_all_or_none(tmp_path):
    connection = opened(tmp_path / "log.db")
    schema.migrate(connection, schema.STEPS[:1])
    before = shape(connection)
    broken = (*schema.STEPS, ("CREATE TABLE more (a)", "CREATE TABLE more (a)"))
    with pytest.raises(sqlite3.OperationalError, match="already exists"):
        schema.migrate(connection, broken)
    assert shape(connection) == before
    assert schema.version(connection) == 1
    connection.close()


def test_a_file_from_a_newer_version_is_refused_and_left_as_it_is(tmp_path):
    log = Log.open(tmp_path / "log.db")
    log.write(entry(1))
    log.close()
    connection = opened(tmp_path / "log.db")
    connection.execute("PRAGMA user_version = 99")
    connection.close()
    before = (tmp_path / "log.db").read_bytes()
    with pytest.raises(InputError, match="newer version") as told:
        Log.open(tmp_path / "log.db")
    assert "\n" not in str(told.value)
    assert (tmp_path / "log.db").read_bytes() == before


def test_a_database_of_another_program_is_refused(tmp_path):
    connection = opened(tmp_path / "log.db")
    connection.execute("CREATE TABLE photo (id)")
    connection.close()
    with pytest.raises(InputError, match="another program"):
        Log.open(tmp_path / "log.db")


def test_every_stage_has_its_number_and_no_two_share_one():
    assert set(STAGE_NUMBERS) == set(Stage)
    assert len(set(STAGE_NUMBERS.values())) == len(Stage)
