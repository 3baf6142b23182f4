"""The tables of the log, as numbered steps: applied in order in one transaction, never edited.

A new column or table is a new step at the end of STEPS. What an old step did stays as it was
written, because files made by it are still out there.
"""

import sqlite3
from collections.abc import Sequence

from controller.errors import InputError
from controller.store.sums import checksum

APPLICATION_ID = 0x57415244
"""Marks the file as a log of this project: 'WARD' in ASCII. Own."""

Step = tuple[str, ...]
"""The statements of one step."""

FIRST: Step = (
    f"PRAGMA application_id = {APPLICATION_ID}",
    # `number` exists because a sample row carries it once a second; people use `id`.
    """CREATE TABLE batch (
        number INTEGER PRIMARY KEY,
        id TEXT NOT NULL UNIQUE,
        name TEXT NOT NULL,
        sheet TEXT NOT NULL,
        planned_at_ms INTEGER NOT NULL,
        planned_utc_ms INTEGER NOT NULL
    )""",
    """CREATE TABLE event (
        seq INTEGER PRIMARY KEY,
        at_ms INTEGER NOT NULL,
        happened_at_ms INTEGER,
        at_utc_ms INTEGER NOT NULL,
        mono_ms INTEGER NOT NULL,
        boot TEXT NOT NULL,
        clock_trusted INTEGER NOT NULL,
        batch TEXT,
        stage TEXT,
        kind TEXT NOT NULL,
        text TEXT NOT NULL,
        data TEXT NOT NULL,
        crc32 INTEGER NOT NULL
    )""",
    "CREATE INDEX event_of_batch ON event (batch, seq)",
    """CREATE TABLE answer (
        act TEXT PRIMARY KEY,
        accepted INTEGER NOT NULL,
        text TEXT NOT NULL,
        event_seq INTEGER NOT NULL
    )""",
    # Two slots, written in turn: a damaged newest one leaves the one before.
    """CREATE TABLE checkpoint (
        slot INTEGER PRIMARY KEY,
        number INTEGER NOT NULL,
        at_ms INTEGER NOT NULL,
        at_utc_ms INTEGER NOT NULL,
        mono_ms INTEGER NOT NULL,
        boot TEXT NOT NULL,
        clock_trusted INTEGER NOT NULL,
        state TEXT NOT NULL,
        crc32 INTEGER NOT NULL
    )""",
    """CREATE TABLE weigh_in (
        batch TEXT NOT NULL,
        at_ms INTEGER NOT NULL,
        what TEXT NOT NULL,
        at_utc_ms INTEGER NOT NULL,
        mass_mg INTEGER NOT NULL,
        PRIMARY KEY (batch, at_ms, what)
    )""",
    # Batch 0 is the rig with no batch at it.
    """CREATE TABLE sample (
        batch INTEGER NOT NULL,
        at_ms INTEGER NOT NULL,
        at_utc_ms INTEGER NOT NULL,
        stage INTEGER,
        coat INTEGER,
        face_mdegc INTEGER,
        back_mdegc INTEGER,
        room_mdegc INTEGER,
        film_mdegc INTEGER,
        mean_mdegc INTEGER,
        bag_pa INTEGER,
        air_pa INTEGER,
        lamp INTEGER NOT NULL,
        pump INTEGER NOT NULL,
        PRIMARY KEY (batch, at_ms)
    ) WITHOUT ROWID""",
)

MINUTES: Step = (
    """CREATE TABLE minute (
        batch INTEGER NOT NULL,
        minute INTEGER NOT NULL,
        at_utc_ms INTEGER NOT NULL,
        n INTEGER NOT NULL,
        face_min INTEGER, face_max INTEGER, face_sum INTEGER, face_n INTEGER NOT NULL,
        back_min INTEGER, back_max INTEGER, back_sum INTEGER, back_n INTEGER NOT NULL,
        room_min INTEGER, room_max INTEGER, room_sum INTEGER, room_n INTEGER NOT NULL,
        film_min INTEGER, film_max INTEGER, film_sum INTEGER, film_n INTEGER NOT NULL,
        mean_min INTEGER, mean_max INTEGER, mean_sum INTEGER, mean_n INTEGER NOT NULL,
        bag_min INTEGER, bag_max INTEGER, bag_sum INTEGER, bag_n INTEGER NOT NULL,
        air_min INTEGER, air_max INTEGER, air_sum INTEGER, air_n INTEGER NOT NULL,
        lamp_n INTEGER NOT NULL,
        pump_n INTEGER NOT NULL,
        PRIMARY KEY (batch, minute)
    ) WITHOUT ROWID""",
    """INSERT INTO minute SELECT
        batch, at_ms / 60000, min(at_utc_ms), count(*),
        min(face_mdegc), max(face_mdegc), sum(face_mdegc), count(face_mdegc),
        min(back_mdegc), max(back_mdegc), sum(back_mdegc), count(back_mdegc),
        min(room_mdegc), max(room_mdegc), sum(room_mdegc), count(room_mdegc),
        min(film_mdegc), max(film_mdegc), sum(film_mdegc), count(film_mdegc),
        min(mean_mdegc), max(mean_mdegc), sum(mean_mdegc), count(mean_mdegc),
        min(bag_pa), max(bag_pa), sum(bag_pa), count(bag_pa),
        min(air_pa), max(air_pa), sum(air_pa), count(air_pa),
        sum(lamp), sum(pump)
    FROM sample GROUP BY batch, at_ms / 60000""",
)

SUMS: Step = (
    "ALTER TABLE batch ADD COLUMN crc32 INTEGER",
    """UPDATE batch SET crc32 =
        row_crc32(number, id, name, sheet, planned_at_ms, planned_utc_ms)""",
    "ALTER TABLE answer ADD COLUMN crc32 INTEGER",
    "UPDATE answer SET crc32 = row_crc32(act, accepted, text, event_seq)",
    "ALTER TABLE weigh_in ADD COLUMN crc32 INTEGER",
    "UPDATE weigh_in SET crc32 = row_crc32(batch, at_ms, what, at_utc_ms, mass_mg)",
    # Of these there may be millions, and a start must not wait for them: rows from before have
    # none, and are taken as they are.
    "ALTER TABLE sample ADD COLUMN sum31 INTEGER",
    "ALTER TABLE minute ADD COLUMN sum31 INTEGER",
)

STEPS: tuple[Step, ...] = (FIRST, MINUTES, SUMS)
"""Every step; a file's PRAGMA user_version counts how many of them it has had."""


def version(connection: sqlite3.Connection) -> int:
    """How many steps the file has had, [-].

    Raises sqlite3.DatabaseError where the file is no database.
    """
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def read_flipped_bits(connection: sqlite3.Connection) -> None:
    """Give broken text back with its gaps marked: a flipped bit must not keep the sound rows from
    being read, and a row's own checksum tells which is which."""
    connection.text_factory = lambda text: text.decode("utf-8", "replace")


def refuse_strangers(
    connection: sqlite3.Connection, name: str, steps: Sequence[Step] = STEPS
) -> None:
    """Raise InputError for a file this version must not write to, and leave it as it is.

    That is a file from a newer version, and a database that is not a log at all.
    """
    found = version(connection)
    mark = connection.execute("PRAGMA application_id").fetchone()[0]
    tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    if tables and mark != APPLICATION_ID:
        raise InputError(f"{name}: is a database of another program; name another log file")
    if found > len(steps):
        raise InputError(
            f"{name}: was written by a newer version (schema {found}, this one knows"
            f" {len(steps)}); install that version again, or name another log file"
        )


def refuse_old(connection: sqlite3.Connection, name: str) -> None:
    """Raise InputError for a file that has not had every step: only its writer may take them."""
    found = version(connection)
    if 0 < found < len(STEPS):
        raise InputError(
            f"{name}: was written by an older version (schema {found}, this one reads"
            f" {len(STEPS)}); start control on it once, which brings it up to date"
        )


def migrate(connection: sqlite3.Connection, steps: Sequence[Step] = STEPS) -> None:
    """Bring the file up to the newest step: all the missing ones or none of them.

    Raises sqlite3.Error, with nothing changed, when the file cannot be written.
    """
    done = version(connection)
    if done >= len(steps):
        return
    connection.create_function("row_crc32", -1, lambda *cells: checksum(cells), deterministic=True)
    connection.execute("BEGIN IMMEDIATE")
    try:
        for step in steps[done:]:
            for statement in step:
                connection.execute(statement)
        connection.execute(f"PRAGMA user_version = {len(steps)}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
