"""How rows are put into the log's tables, and taken out as it needs them at its start.

Each function runs inside the caller's transaction. Done twice with the same rows it leaves what
once leaves, because a commit that failed may have reached the disk all the same.
"""

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

from controller.batch.acts import Answer
from controller.store.cells import CHANNELS, checkpoint_of, checkpoint_row
from controller.store.rows import Checkpoint
from controller.store.sums import Cell, Row, checksum, sound, sound_sql, sum_sql

SAMPLE_CELLS = (
    *("batch", "at_ms", "at_utc_ms", "stage", "coat"),
    *CHANNELS.values(),
    *("lamp", "pump"),
)
"""The columns of a sample before its sum."""
MINUTE_CELLS = (
    *("batch", "minute", "at_utc_ms", "n"),
    *(f"{name}_{what}" for name in CHANNELS for what in ("min", "max", "sum", "n")),
    *("lamp_n", "pump_n"),
)
"""The columns of a minute before its sum."""
DAMAGED_ANSWER = "this was pressed before and its answer is damaged in the log: look, press again"
"""What somebody is told whose press had an answer that can no longer be believed."""

_PUT_SAMPLE = (
    f"INSERT OR REPLACE INTO sample ({', '.join(SAMPLE_CELLS)}, sum31)"
    f" VALUES ({', '.join('?' * len(SAMPLE_CELLS))},"
    f" {sum_sql([f'?{place}' for place in range(1, len(SAMPLE_CELLS) + 1)])})"
)
# Computed anew from the samples each time, so that doing it twice does no harm.
_ROLL_UP = (
    f"INSERT OR REPLACE INTO minute ({', '.join(MINUTE_CELLS)}, sum31)"
    f" SELECT *, {sum_sql(MINUTE_CELLS)} FROM ("
    "SELECT batch, at_ms / 60000 AS minute, min(at_utc_ms) AS at_utc_ms, count(*) AS n, "
    + "".join(
        f"min({c}) AS {name}_min, max({c}) AS {name}_max, sum({c}) AS {name}_sum,"
        f" count({c}) AS {name}_n, "
        for name, c in CHANNELS.items()
    )
    + "sum(lamp) AS lamp_n, sum(pump) AS pump_n FROM sample"
    f" WHERE batch = ? AND at_ms >= ? AND at_ms < ? AND {sound_sql(SAMPLE_CELLS)}"
    " GROUP BY at_ms / 60000)"
)
_LAST_SAMPLE = (
    "SELECT max((SELECT at_ms FROM sample WHERE batch = number AND"
    f" {sound_sql(SAMPLE_CELLS)} ORDER BY at_ms DESC LIMIT 1))"
    " FROM (SELECT number FROM batch UNION ALL SELECT 0 AS number)"
)
_ANSWER = "SELECT act, accepted, text, event_seq, crc32 FROM answer"


@dataclass(frozen=True, slots=True)
class Newest:
    """The newest sound state, and how many states there were."""

    number: int
    """Its number, 0 when there is none."""
    checkpoint: Checkpoint | None
    """None when there is none."""
    damaged: int
    """Slots whose checksum does not agree."""


def newest_checkpoint(connection: sqlite3.Connection) -> Newest:
    """The newest checkpoint that agrees with its checksum."""
    found = Newest(0, None, 0)
    for row in connection.execute("SELECT * FROM checkpoint ORDER BY number"):
        sound = checkpoint_of(row)
        # Numbers of sound rows only, so that the next one goes over the damaged one.
        if sound is None:
            found = Newest(found.number, found.checkpoint, found.damaged + 1)
        else:
            found = Newest(row[1], sound, found.damaged)
    return found


def last_at(connection: sqlite3.Connection) -> float | None:
    """The newest rig time of a sound event or sample, [s]; None when there is none."""
    found = [connection.execute(_LAST_SAMPLE).fetchone()[0]]
    for row in connection.execute("SELECT * FROM event ORDER BY seq DESC"):
        if sound(row):
            found.append(row[1])
            break
    known = [at for at in found if at is not None]
    return max(known) / 1000 if known else None


def answer_to(connection: sqlite3.Connection, act: str) -> Answer | None:
    """The answer an act has had; None when it is new."""
    row = connection.execute(f"{_ANSWER} WHERE act = ?", (act,)).fetchone()
    return None if row is None else _answer(row)


def newest_answers(connection: sqlite3.Connection, limit: int) -> tuple[Answer, ...]:
    """The newest answers, oldest of them first."""
    rows = connection.execute(
        f"{_ANSWER} ORDER BY event_seq DESC, rowid DESC LIMIT ?", (limit,)
    ).fetchall()
    return tuple(_answer(row) for row in rows[::-1])


def put_event(connection: sqlite3.Connection, row: Row) -> None:
    """Store an event. Raises sqlite3.IntegrityError where its number stands for another."""
    crc = checksum(row)
    done = connection.execute(
        "INSERT INTO event VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
        " ON CONFLICT (seq) DO NOTHING",
        (*row, crc),
    )
    if done.rowcount:
        return
    there = connection.execute("SELECT crc32 FROM event WHERE seq = ?", (row[0],)).fetchone()
    if there != (crc,):
        raise sqlite3.IntegrityError(f"event {row[0]} is in the log with other words")


def put_batch(connection: sqlite3.Connection, row: Row) -> None:
    """Store a batch; planned anew, it keeps its number and the time it was first planned."""
    number, id, name, sheet, *planned = row
    there = connection.execute("SELECT * FROM batch WHERE id = ?", (id,)).fetchone()
    if there is not None:
        number = there[0]
        if sound(there):
            planned = there[4:6]
    crc = checksum((number, id, name, sheet, *planned))
    if there is None:
        connection.execute(
            "INSERT INTO batch (number, id, name, sheet, planned_at_ms, planned_utc_ms, crc32)"
            " VALUES (?, ?, ?, ?, ?, ?, ?)",
            (number, id, name, sheet, *planned, crc),
        )
    else:
        connection.execute(
            "UPDATE batch SET name = ?, sheet = ?, planned_at_ms = ?, planned_utc_ms = ?,"
            " crc32 = ? WHERE number = ?",
            (name, sheet, *planned, crc, number),
        )


def put_answers(connection: sqlite3.Connection, rows: Sequence[Row], seq: int) -> None:
    """Store answers that event `seq` goes with. The first answer to an act stands."""
    whole = [(*row, seq) for row in rows]
    connection.executemany(
        "INSERT OR IGNORE INTO answer (act, accepted, text, event_seq, crc32)"
        " VALUES (?, ?, ?, ?, ?)",
        [(*row, checksum(row)) for row in whole],
    )


def put_weigh_ins(connection: sqlite3.Connection, rows: Sequence[Row]) -> None:
    """Store weighings; told again for the same moment, the last one stands."""
    connection.executemany(
        "INSERT OR REPLACE INTO weigh_in (batch, at_ms, what, at_utc_ms, mass_mg, crc32)"
        " VALUES (?, ?, ?, ?, ?, ?)",
        [(*row, checksum(row)) for row in rows],
    )


def put_checkpoint(connection: sqlite3.Connection, number: int, checkpoint: Checkpoint) -> None:
    """Store a state in the older one of the two slots."""
    row = (number % 2, number, *checkpoint_row(checkpoint))
    connection.execute(
        "INSERT OR REPLACE INTO checkpoint VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (*row, checksum(row)),
    )


def put_samples(connection: sqlite3.Connection, rows: Sequence[Row]) -> None:
    """Store samples and the minutes they are in."""
    ends: dict[Cell, tuple[int, int]] = {}
    for batch, at, *_ in rows:
        minute = cast(int, at) // 60000
        low, high = ends.get(batch, (minute, minute))
        ends[batch] = min(low, minute), max(high, minute)
    connection.executemany(_PUT_SAMPLE, rows)
    for batch, (low, high) in ends.items():
        connection.execute(_ROLL_UP, (batch, low * 60000, (high + 1) * 60000))


def _answer(row: Row) -> Answer:
    act, accepted, text, *_ = row
    if not sound(row):
        return Answer(act=str(act), accepted=False, text=DAMAGED_ANSWER)
    return Answer(act=str(act), accepted=bool(accepted), text=str(text))
