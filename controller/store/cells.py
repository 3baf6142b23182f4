"""How what is handed in becomes rows of whole milli-units, and back.

Encoding happens on the side of whoever hands something in, so that what cannot be stored is their
error at once and never blocks the queue behind it.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite

from controller.batch.events import Event
from controller.batch.stages import Stage
from controller.store.rows import Checkpoint, Entry, SampleRow, Stamp
from controller.store.sums import Cell, Row, sound

ZERO_CELSIUS = 273.15
"""[K]. [1] BIPM, The International System of Units, 9th ed. 2019, section 2.3.1."""

STAGE_NUMBERS: dict[Stage, int] = {
    Stage.PLANNED: 1,
    Stage.DRYPULL: 2,
    Stage.PREHEAT: 3,
    Stage.SOAK: 4,
    Stage.COOLDOWN: 5,
    Stage.COAT: 6,
    Stage.BAG: 7,
    Stage.PULLDOWN: 8,
    Stage.HOLD: 9,
    Stage.FLASHOFF: 10,
    Stage.FINISHED: 11,
    Stage.STOPPED: 12,
    Stage.INTERRUPTED: 13,
}
"""How a stage stands in a sample row. Never renumbered: files made with it are out there."""

CHANNELS: dict[str, str] = {
    "face": "face_mdegc",
    "back": "back_mdegc",
    "room": "room_mdegc",
    "film": "film_mdegc",
    "mean": "mean_mdegc",
    "bag": "bag_pa",
    "air": "air_pa",
}
"""The columns of a sample that hold a reading, by the name of the SampleRow field."""


@dataclass(frozen=True, slots=True)
class EntryRows:
    """An entry, encoded."""

    events: tuple[Row, ...]
    """Cells between number and checksum."""
    answers: tuple[Row, ...]
    """Cells before the event's number."""
    batches: tuple[Row, ...]
    """Cells before the checksum."""
    weigh_ins: tuple[Row, ...]
    """Cells before the checksum."""


def millis(value: float) -> int:
    """Seconds as whole [ms], or any unit as whole milli-units."""
    return round(value * 1000)


def seconds(cell: Cell) -> float:
    """A cell in milli-units as seconds, or in the whole unit."""
    # A damaged row may hold anything; it is still read, so that it can be told of.
    return cell / 1000 if isinstance(cell, int) else 0.0


def written(text: str) -> str:
    """The text with every character SQLite can hold; half a surrogate pair becomes '?'."""
    return text.encode("utf-8", "replace").decode()


def stamp_cells(stamp: Stamp) -> tuple[int, int, str, int]:
    """The cells at_utc_ms, mono_ms, boot, clock_trusted."""
    return (
        millis(stamp.told_utc),
        millis(stamp.mono),
        written(stamp.boot_id),
        int(stamp.clock_trusted),
    )


def event_row(event: Event, stamp: Stamp) -> Row:
    """The cells of an event between its number and its checksum.

    Raises TypeError for data that is no JSON. A figure that is not finite is stored as none.
    """
    data = {
        name: None if isinstance(value, float) and not isfinite(value) else value
        for name, value in event.data.items()
    }
    return (
        millis(event.at),
        None if event.happened_at is None else millis(event.happened_at),
        *stamp_cells(stamp),
        None if event.batch is None else written(event.batch),
        None if event.stage is None else written(event.stage),
        str(event.kind),
        written(event.text),
        json.dumps(data),
    )


def entry_rows(entry: Entry, numbers: Mapping[str, int]) -> EntryRows:
    """The rows of an entry; `numbers` has the number of each of its batches.

    Raises TypeError for an event whose data is no JSON.
    """
    stamp = entry.stamp
    return EntryRows(
        events=tuple(event_row(event, stamp) for event in entry.events),
        answers=tuple(
            (written(answer.act), int(answer.accepted), written(answer.text))
            for answer in entry.answers
        ),
        batches=tuple(
            (
                numbers[batch.id],
                written(batch.id),
                written(batch.name),
                written(batch.sheet),
                millis(stamp.at),
                millis(stamp.told_utc),
            )
            for batch in entry.batches
        ),
        weigh_ins=tuple(
            (
                written(weighed.batch),
                millis(weighed.at),
                written(weighed.what),
                millis(weighed.told_utc),
                millis(weighed.mass * 1000),
            )
            for weighed in entry.weigh_ins
        ),
    )


def checkpoint_row(checkpoint: Checkpoint) -> Row:
    """The cells of a checkpoint between its numbers and its checksum."""
    return (
        millis(checkpoint.stamp.at),
        *stamp_cells(checkpoint.stamp),
        written(checkpoint.state),
    )


def checkpoint_of(row: Row) -> Checkpoint | None:
    """A checkpoint from all the cells of its row; None when the checksum does not agree."""
    if not sound(row):
        return None
    _, _, at, utc, mono, boot, trusted, state, _ = row
    stamp = Stamp(
        at=seconds(at),
        told_utc=seconds(utc),
        mono=seconds(mono),
        boot_id=str(boot),
        clock_trusted=bool(trusted),
    )
    return Checkpoint(stamp=stamp, state=str(state))


def sample_cells(row: SampleRow) -> Row:
    """The cells of a sample after its batch."""
    return (
        millis(row.at),
        millis(row.told_utc),
        None if row.stage is None else STAGE_NUMBERS[row.stage],
        row.coat,
        _milli_celsius(row.face),
        _milli_celsius(row.back),
        _milli_celsius(row.room),
        _milli_celsius(row.film),
        _milli_celsius(row.mean),
        _whole(row.bag),
        _whole(row.air),
        int(row.lamp),
        int(row.pump),
    )


def _milli_celsius(kelvin: float | None) -> int | None:
    return None if kelvin is None else _whole((kelvin - ZERO_CELSIUS) * 1000)


def _whole(value: float | None) -> int | None:
    # Not a number is no value, and neither is what no column could hold.
    return round(value) if value is not None and abs(value) < 1e12 else None
