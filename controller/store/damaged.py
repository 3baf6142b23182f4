"""Rows of a batch that do not agree with their checksum: which they are."""

from collections.abc import Iterator
from dataclasses import dataclass

from controller.store.cells import seconds
from controller.store.readonly import ReadOnly
from controller.store.samples import BATCH_NUMBER
from controller.store.sums import sound, sound_sql
from controller.store.tables import MINUTE_CELLS, SAMPLE_CELLS

ROWS = 10_000
"""Rows looked at in one statement. Own: some ten ms, so that no reader holds up the writer."""

_KEYED = {
    "batch": (
        "SELECT id, number, id, name, sheet, planned_at_ms, planned_utc_ms, crc32 FROM batch"
        " WHERE id = :batch LIMIT :rows OFFSET :done"
    ),
    "event": "SELECT seq, * FROM event WHERE batch = :batch ORDER BY seq LIMIT :rows OFFSET :done",
    "weigh_in": (
        "SELECT (at_ms / 1000) || ' s', batch, at_ms, what, at_utc_ms, mass_mg, crc32 FROM weigh_in"
        " WHERE batch = :batch ORDER BY at_ms LIMIT :rows OFFSET :done"
    ),
}
_SUMMED = {
    name: (
        f"SELECT {key}, {sound_sql(cells)} FROM {name} WHERE batch = {BATCH_NUMBER}"
        f" AND {key} > :after ORDER BY {key} LIMIT :rows"
    )
    for name, key, cells in (
        ("sample", "at_ms", SAMPLE_CELLS),
        ("minute", "minute", MINUTE_CELLS),
    )
}


@dataclass(frozen=True, slots=True)
class Damaged:
    """One row that cannot be believed."""

    table: str
    """Where: batch, event, weigh_in, sample or minute."""
    row: str
    """Which: its id or number, or its rig time."""


def damaged_rows(file: ReadOnly, batch: str) -> tuple[Damaged, ...]:
    """All damaged rows of a batch. Raises InputError when the log cannot be read."""
    return tuple(_damaged(file, batch))


def _damaged(file: ReadOnly, batch: str) -> Iterator[Damaged]:
    for table, sql in _KEYED.items():
        done = 0
        while rows := file.rows(sql, {"batch": batch, "rows": ROWS, "done": done}):
            yield from (Damaged(table, str(key)) for key, *row in rows if not sound(row))
            done += len(rows)
    for table, sql in _SUMMED.items():
        after = -1
        while rows := file.rows(sql, {"batch": batch, "rows": ROWS, "after": after}):
            unit = "s" if table == "sample" else "min"
            for key, agrees in rows:
                if not agrees:
                    at = seconds(key) if table == "sample" else key
                    yield Damaged(table, f"{at:g} {unit}")
            after = rows[-1][0]
