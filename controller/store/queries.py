"""What can be asked of the log: batches, events, traces, weighings, stages."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from controller.batch.events import Event, EventKind
from controller.errors import InputError
from controller.store.cells import seconds
from controller.store.damaged import Damaged, damaged_rows
from controller.store.readonly import ReadOnly
from controller.store.rows import SampleRow, WeighIn
from controller.store.samples import BATCH_NUMBER, POINTS_MOST, Bucket, each, thinned
from controller.store.sums import sound

_EVENT = (
    "seq, at_ms, happened_at_ms, at_utc_ms, mono_ms, boot, clock_trusted, batch, stage, kind,"
    " text, data, crc32"
)
_BATCH = """SELECT number, id, name, sheet, planned_at_ms, planned_utc_ms, crc32,
    (SELECT stage FROM event WHERE batch = id AND stage IS NOT NULL ORDER BY seq DESC LIMIT 1),
    (SELECT at_utc_ms FROM event WHERE batch = id ORDER BY seq DESC LIMIT 1)
    FROM batch"""


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchLine:
    """One batch in the list of them."""

    id: str
    """Its id."""
    name: str
    """What people call it."""
    sheet: str
    """Its batch sheet, JSON text."""
    planned_at: float
    """Rig time it was planned, [s]."""
    planned_utc: float
    """The calendar then, seconds since 1970 UTC."""
    stage: str | None
    """The stage of its newest event; None before it has one."""
    last_utc: float
    """The calendar at its newest event, or when it was planned."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Logged:
    """One event as it was read back."""

    seq: int
    """Its number in the log."""
    event: Event | None
    """What happened; None when the row does not agree with its checksum."""
    told_utc: float
    """The calendar when it was recorded, seconds since 1970 UTC."""
    mono: float
    """The machine's clock since it was booted, [s]."""
    boot_id: str
    """Which boot that clock belongs to."""
    clock_trusted: bool
    """The calendar was synced or battery-backed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StageTime:
    """One stretch of a batch in one stage."""

    stage: str
    """The stage."""
    began: float
    """Rig time; where it was told late, the time told, [s]."""
    ended: float | None
    """Rig time the next began; None for the present one, [s]."""
    began_utc: float
    """The calendar when it began, seconds since 1970 UTC."""
    recorded: float
    """Rig time the beginning was recorded, [s]."""


class LogReader:
    """Questions to a log that another process may be writing.

    Each raises InputError, one line, when the log cannot be read.
    """

    def __init__(self, path: Path) -> None:
        """path: of the log; it need not be there yet."""
        self._file = ReadOnly(path)

    def batches(self, limit: int = 200) -> tuple[BatchLine, ...]:
        """The batches, newest first; one whose line is damaged is left out."""
        rows = self._file.rows(f"{_BATCH} ORDER BY number DESC LIMIT ?", (limit,))
        return tuple(_batch_line(row) for row in rows if _sound_batch(row))

    def batch(self, id: str) -> BatchLine:
        """The batch of that id.

        Raises InputError when there is none, and says which there are, or when its line does not
        agree with its checksum.
        """
        rows = self._file.rows(f"{_BATCH} WHERE id = ?", (id,))
        if rows and not _sound_batch(rows[0]):
            raise InputError(
                f"batch {id!r} in {self._file.path}: its line, with the batch sheet, is damaged;"
                " put a backup back, or export what was read and done"
            )
        if rows:
            return _batch_line(rows[0])
        there = ", ".join(line.id for line in self.batches(5)) or "none"
        raise InputError(f"no batch {id!r} in {self._file.path}; the newest are: {there}")

    def events(
        self, batch: str | None = None, after_seq: int = 0, limit: int = 500
    ) -> tuple[Logged, ...]:
        """Events numbered above `after_seq`, oldest first, of one batch or of everything."""
        if batch is None:
            where: tuple[str, tuple[Any, ...]] = "WHERE seq > ?", (after_seq, limit)
        else:
            where = "WHERE batch = ? AND seq > ?", (batch, after_seq, limit)
        rows = self._file.rows(
            f"SELECT {_EVENT} FROM event {where[0]} ORDER BY seq LIMIT ?", where[1]
        )
        return tuple(_logged(row) for row in rows)

    def last_seq(self) -> int:
        """The number of the newest event, 0 when there is none."""
        return int(self._file.rows("SELECT coalesce(max(seq), 0) FROM event")[0][0])

    def span(self, batch: str) -> tuple[float, float] | None:
        """Rig times of the first and last sample of a batch, [s]; None when it has none."""
        low, high = self._file.rows(
            f"SELECT min(at_ms), max(at_ms) FROM sample WHERE batch = {BATCH_NUMBER}",
            {"batch": batch},
        )[0]
        return None if low is None else (seconds(low), seconds(high))

    def samples_thinned(
        self, batch: str | None, start: float, end: float, points: int = POINTS_MOST
    ) -> tuple[Bucket, ...]:
        """The samples from `start` to before `end` [s, rig time], in at most `points` stretches.

        Each keeps its lowest and highest value, so that a short spike stays visible. Stretches
        of a minute and more begin and end on whole minutes, so they may reach up to a minute
        beyond. batch: None for the rig with no batch at it. Raises InputError when `points` is
        not 1 to 600 or the end is not after the start.
        """
        self._must_be_there(batch)
        return thinned(self._file, batch, start, end, points)

    def samples(self, batch: str | None, start: float, end: float) -> Iterator[SampleRow]:
        """Every sample from `start` to before `end` [s, rig time], in order, as it was kept.

        Read some thousand at a time, each time in a short statement of its own, so that reading
        a whole batch is not in the writer's way. batch: None for the rig with no batch at it.
        """
        self._must_be_there(batch)
        yield from each(self._file, batch, start, end)

    def _must_be_there(self, batch: str | None) -> None:
        if batch and not self._file.rows("SELECT 1 FROM batch WHERE id = ?", (batch,)):
            self.batch(batch)

    def weigh_ins(self, batch: str) -> tuple[WeighIn, ...]:
        """The weighings of a batch, oldest first; a damaged one is left out."""
        rows = self._file.rows(
            "SELECT batch, at_ms, what, at_utc_ms, mass_mg, crc32 FROM weigh_in WHERE batch = ?"
            " ORDER BY at_ms",
            (batch,),
        )
        return tuple(
            WeighIn(batch=batch, at=seconds(at), told_utc=seconds(utc), what=what, mass=mass / 1e6)
            for _, at, what, utc, mass, _ in (row for row in rows if sound(row))
        )

    def damaged(self, batch: str) -> tuple[Damaged, ...]:
        """The rows of a batch that do not agree with their checksum, and so are never shown."""
        return damaged_rows(self._file, batch)

    def stage_times(self, batch: str) -> tuple[StageTime, ...]:
        """The stretches of a batch in its stages, in order; a damaged line is left out."""
        rows = self._file.rows(
            f"SELECT {_EVENT} FROM event WHERE batch = ? AND kind IN (?, ?) ORDER BY seq",
            (batch, EventKind.BATCH_PLANNED, EventKind.STAGE),
        )
        found: list[tuple[str, float, float, float]] = []
        for line in (_logged(row) for row in rows):
            event = line.event
            if event is None or event.stage is None or (found and found[-1][0] == event.stage):
                continue
            began = event.at if event.happened_at is None else event.happened_at
            found.append((event.stage, began, line.told_utc - (event.at - began), event.at))
        ends = [began for _, began, _, _ in found[1:]] + [None]
        return tuple(
            StageTime(stage=stage, began=began, ended=ended, began_utc=utc, recorded=recorded)
            for (stage, began, utc, recorded), ended in zip(found, ends, strict=True)
        )


def _sound_batch(row: Sequence[Any]) -> bool:
    return sound(row[:7])


def _batch_line(row: Sequence[Any]) -> BatchLine:
    _, id, name, sheet, planned_at, planned_utc, _, stage, last_utc = row
    return BatchLine(
        id=id,
        name=name,
        sheet=sheet,
        planned_at=seconds(planned_at),
        planned_utc=seconds(planned_utc),
        stage=stage,
        last_utc=seconds(planned_utc if last_utc is None else last_utc),
    )


def _logged(row: Sequence[Any]) -> Logged:
    seq, at, happened, utc, mono, boot, trusted, batch, stage, kind, text, data, _ = row
    event = None
    if sound(row):
        event = Event(
            at=seconds(at),
            kind=EventKind(kind),
            batch=batch,
            stage=stage,
            text=text,
            data=json.loads(data),
            happened_at=None if happened is None else seconds(happened),
        )
    return Logged(
        seq=seq,
        event=event,
        told_utc=seconds(utc),
        mono=seconds(mono),
        boot_id=str(boot),
        clock_trusted=bool(trusted),
    )
