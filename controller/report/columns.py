"""A batch as columns for a spreadsheet: its samples and its events, units in the head."""

import csv
import json
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from functools import lru_cache

from controller.quantities.said import ZERO_CELSIUS
from controller.report.account import read_account
from controller.store.queries import LogReader

AFTER = 1.0
"""Asked of the log beyond the last sample, [s]: it gives what lies before the end. Own."""

SAMPLES_HEAD = (
    "at_utc",
    "rig_s",
    "stage",
    "face_c",
    "back_c",
    "room_c",
    "film_c",
    "mean_c",
    "bag_pa",
    "air_pa",
    "lamp",
    "pump",
)
EVENTS_HEAD = (
    "seq",
    "at_utc",
    "rig_s",
    "happened_rig_s",
    "clock_trusted",
    "kind",
    "stage",
    "text",
    "data",
    "damaged",
)


def samples_csv(reader: LogReader, batch_id: str) -> Iterator[str]:
    """Every sample of a batch, a line each, the head first.

    `at_utc` and `rig_s` are to the millisecond they were kept with. An empty cell is a channel
    without a reading. Raises InputError for a batch that is not there.
    """
    reader.batch(batch_id)
    span = reader.span(batch_id)
    yield _line(SAMPLES_HEAD)
    if span is None:
        return
    for row in reader.samples(batch_id, span[0], span[1] + AFTER):
        yield _line(
            (
                _iso(row.told_utc),
                f"{row.at:.3f}",
                row.stage or "",
                _celsius(row.face),
                _celsius(row.back),
                _celsius(row.room),
                _celsius(row.film),
                _celsius(row.mean),
                _pascal(row.bag),
                _pascal(row.air),
                int(row.lamp),
                int(row.pump),
            )
        )


def events_csv(reader: LogReader, batch_id: str) -> Iterator[str]:
    """Every line of a batch, and the rig's in its time, the head first.

    A damaged line keeps its number and the calendar it was written at, and says so. Raises
    InputError for a batch that is not there.
    """
    account = read_account(reader, batch_id)
    yield _line(EVENTS_HEAD)
    for line in account.lines:
        event = line.event
        told = (line.seq, _iso(line.told_utc))
        if event is None:
            yield _line((*told, "", "", int(line.clock_trusted), "", "", "", "", 1))
            continue
        happened = "" if event.happened_at is None else f"{event.happened_at:.3f}"
        yield _line(
            (
                *told,
                f"{event.at:.3f}",
                happened,
                int(line.clock_trusted),
                str(event.kind),
                event.stage or "",
                _plain(event.text),
                json.dumps(dict(event.data), ensure_ascii=False),
                0,
            )
        )


class _Through:
    """A file for csv.writer that hands the line back instead of keeping it."""

    def write(self, line: str) -> str:
        """The line itself."""
        return line


_WRITER = csv.writer(_Through())


def _line(cells: Iterable[object]) -> str:
    return str(_WRITER.writerow(cells))


def _iso(utc: float) -> str:
    minute, millis = divmod(round(utc * 1000), 60_000)
    return f"{_minute(minute)}:{millis // 1000:02}.{millis % 1000:03}Z"


@lru_cache(maxsize=2)
def _minute(minute: int) -> str:
    """A minute since 1970 as ISO 8601. Kept, because a night has sixty samples in each."""
    return datetime.fromtimestamp(60 * minute, UTC).strftime("%Y-%m-%dT%H:%M")


def _celsius(kelvin: float | None) -> str:
    return "" if kelvin is None else f"{kelvin - ZERO_CELSIUS:.3f}"


def _pascal(pressure: float | None) -> str:
    return "" if pressure is None else f"{pressure:.0f}"


def _plain(text: str) -> str:
    """Text that no spreadsheet takes for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text
