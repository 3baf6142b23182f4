"""A batch as columns for a spreadsheet: its samples and its events, units in the head."""

import csv
import io
import json
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from math import floor

from controller.quantities.said import ZERO_CELSIUS
from controller.report.account import read_account
from controller.store.queries import Bucket, LogReader, Span

TENTH = 0.1
"""Two samples nearer than this come out as one, [s]: a tenth of a tick. Own."""
WINDOW = 60.0
"""Asked of the log at a time, [s]: the log gives 600 stretches at most."""

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

    `at_utc` is the calendar to the millisecond; `rig_s` is to a tenth of a second, cut off. An
    empty cell is a channel without a reading. Raises InputError for a batch that is not there.
    """
    account = read_account(reader, batch_id)
    stages = [time for passage in account.passages for time in passage.stages]
    yield _line(SAMPLES_HEAD)
    for bucket in _samples(reader, batch_id):
        stage = ""
        for time in stages:
            # the stage the rig was in, whatever was told of it later
            if time.recorded <= bucket.at + bucket.width:
                stage = time.stage
        yield _line(
            (
                _iso(bucket.told_utc),
                f"{bucket.at:.1f}",
                stage,
                *(
                    _celsius(span)
                    for span in (bucket.face, bucket.back, bucket.room, bucket.film, bucket.mean)
                ),
                _pascal(bucket.bag),
                _pascal(bucket.air),
                round(bucket.lamp),
                round(bucket.pump),
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


def _samples(reader: LogReader, batch_id: str) -> Iterator[Bucket]:
    """Minute by minute; an hour without a sample is seen in one look and left out."""
    span = reader.span(batch_id)
    if span is None:
        return
    start, end = floor(span[0] / TENTH) * TENTH, span[1] + TENTH
    hour = 60 * WINDOW
    while start < end:
        there = reader.samples_thinned(batch_id, start, min(start + hour, end), 1)
        at = start if there else end
        while at < min(start + hour, end):
            yield from reader.samples_thinned(batch_id, at, at + WINDOW, round(WINDOW / TENTH))
            at += WINDOW
        start += hour


def _line(cells: Iterable[object]) -> str:
    out = io.StringIO()
    csv.writer(out).writerow(cells)
    return out.getvalue()


def _iso(utc: float) -> str:
    moment = datetime.fromtimestamp(round(utc * 1000) / 1000, UTC)
    return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _celsius(span: Span | None) -> str:
    return "" if span is None else f"{span.mean - ZERO_CELSIUS:.3f}"


def _pascal(span: Span | None) -> str:
    return "" if span is None else f"{span.mean:.0f}"


def _plain(text: str) -> str:
    """Text that no spreadsheet takes for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text
