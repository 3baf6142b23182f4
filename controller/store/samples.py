"""Samples as they are asked of the log: each of them, or thinned into stretches of time.

A row that does not agree with its sum is left out, as if it had never been read.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from controller.batch.stages import Stage
from controller.errors import InputError
from controller.store.cells import CHANNELS, STAGE_NUMBERS, ZERO_CELSIUS, millis, seconds
from controller.store.readonly import ReadOnly
from controller.store.rows import SampleRow
from controller.store.sums import sound_sql
from controller.store.tables import MINUTE_CELLS, SAMPLE_CELLS

POINTS_MOST = 600
"""A trace on a phone has no more points than this. Own."""

ROWS = 2000
"""Samples read in one statement. Own: a few ms, so that no reader holds up the writer."""

_STAGES: dict[Any, Stage] = {number: stage for stage, number in STAGE_NUMBERS.items()}
# Nothing is found for an unknown batch; 0 is the rig with no batch at it.
BATCH_NUMBER = (
    "CASE WHEN :batch IS NULL THEN 0 ELSE (SELECT number FROM batch WHERE id = :batch) END"
)
_EACH = (
    f"SELECT at_ms, at_utc_ms, stage, coat, {', '.join(CHANNELS.values())}, lamp, pump"
    f" FROM sample WHERE batch = {BATCH_NUMBER} AND at_ms >= :start AND at_ms < :end"
    f" AND {sound_sql(SAMPLE_CELLS)} ORDER BY at_ms LIMIT :rows"
)
_FROM_SAMPLES = (
    "SELECT (at_ms - :start) / :width AS bucket, min(at_utc_ms), count(*), sum(lamp), sum(pump), "
    + ", ".join(f"min({c}), max({c}), sum({c}), count({c})" for c in CHANNELS.values())
    + f" FROM sample WHERE batch = {BATCH_NUMBER} AND at_ms >= :start AND at_ms < :end"
    f" AND {sound_sql(SAMPLE_CELLS)} GROUP BY bucket ORDER BY bucket"
)
_FROM_MINUTES = (
    "SELECT (minute * 60000 - :start) / :width AS bucket, min(at_utc_ms), sum(n), sum(lamp_n),"
    " sum(pump_n), "
    + ", ".join(f"min({c}_min), max({c}_max), sum({c}_sum), sum({c}_n)" for c in CHANNELS)
    + f" FROM minute WHERE batch = {BATCH_NUMBER} AND minute >= :start / 60000"
    f" AND minute < :end / 60000 AND {sound_sql(MINUTE_CELLS)} GROUP BY bucket ORDER BY bucket"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """What a channel did in one stretch of time, [K] or [Pa]."""

    low: float
    """Lowest value."""
    high: float
    """Highest value."""
    mean: float
    """Mean of the samples."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bucket:
    """The samples of one stretch of time."""

    at: float
    """Rig time it begins, [s]."""
    width: float
    """How long it is, [s]."""
    told_utc: float
    """The calendar at its first sample, seconds since 1970 UTC."""
    count: int
    """Samples in it."""
    face: Span | None
    """Board surface under the lamp, [K]."""
    back: Span | None
    """The board's other face, [K]."""
    room: Span | None
    """Shop air, [K]."""
    film: Span | None
    """Bag film, [K]."""
    mean: Span | None
    """Estimated mean of the board, [K]."""
    bag: Span | None
    """Absolute pressure in the bag, [Pa]."""
    air: Span | None
    """Absolute air pressure, [Pa]."""
    lamp: float
    """Share of the samples with the lamp on, [-]."""
    pump: float
    """Share of the samples with the pump on, [-]."""


def each(file: ReadOnly, batch: str | None, start: float, end: float) -> Iterator[SampleRow]:
    """Every sample from `start` to before `end` [s, rig time], in order.

    Raises InputError when the log cannot be read.
    """
    first, last = millis(start), millis(end)
    while first < last:
        values = {"batch": batch, "start": first, "end": last, "rows": ROWS}
        rows = file.rows(_EACH, values)
        for at, utc, stage, coat, face, back, room, film, mean, bag, air, lamp, pump in rows:
            yield SampleRow(
                at=at / 1000,
                told_utc=utc / 1000,
                batch=batch,
                stage=_STAGES.get(stage),
                coat=coat,
                face=None if face is None else face / 1000 + ZERO_CELSIUS,
                back=None if back is None else back / 1000 + ZERO_CELSIUS,
                room=None if room is None else room / 1000 + ZERO_CELSIUS,
                film=None if film is None else film / 1000 + ZERO_CELSIUS,
                mean=None if mean is None else mean / 1000 + ZERO_CELSIUS,
                bag=bag,
                air=air,
                lamp=lamp != 0,
                pump=pump != 0,
            )
        if len(rows) < ROWS:
            return
        first = rows[-1][0] + 1


def thinned(
    file: ReadOnly, batch: str | None, start: float, end: float, points: int
) -> tuple[Bucket, ...]:
    """The samples from `start` to before `end` [s, rig time], in at most `points` stretches.

    Raises InputError when `points` is not 1 to 600, the end is not after the start, or the log
    cannot be read.
    """
    if not 1 <= points <= POINTS_MOST or not start < end:
        raise InputError(
            f"no trace of {points} points from {start:.0f} s to {end:.0f} s; ask for 1 to"
            f" {POINTS_MOST} points, and an end after the start"
        )
    first, last = millis(start), millis(end)
    width = -(-(last - first) // points)
    sql = _FROM_SAMPLES
    if width >= 60000:
        first, last = first // 60000 * 60000, -(-last // 60000) * 60000
        width = -(-(last - first) // (60000 * points)) * 60000
        sql = _FROM_MINUTES
    rows = file.rows(sql, {"batch": batch, "start": first, "end": last, "width": width})
    return tuple(_bucket(row, first, width) for row in rows)


def _bucket(row: Sequence[Any], start: int, width: int) -> Bucket:
    bucket, utc, count, lamp, pump, *cells = row
    spans: dict[str, Span | None] = {}
    for i, (name, column) in enumerate(CHANNELS.items()):
        low, high, total, n = cells[4 * i : 4 * i + 4]
        scale, zero = (1000, ZERO_CELSIUS) if column.endswith("_mdegc") else (1, 0.0)
        spans[name] = (
            Span(low=low / scale + zero, high=high / scale + zero, mean=total / n / scale + zero)
            if n
            else None
        )
    return Bucket(
        at=seconds(start + bucket * width),
        width=seconds(width),
        told_utc=seconds(utc),
        count=count,
        lamp=lamp / count,
        pump=pump / count,
        **spans,
    )
