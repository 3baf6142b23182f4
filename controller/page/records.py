"""The record as the page shows it: batches, thinned samples for the traces, events.

A batch is thinned to a few hundred points here; the browser draws and does not compute.
"""

import json
from typing import Annotated, Any, Literal, Protocol

from fastapi import APIRouter, Path, Query
from pydantic import BaseModel, JsonValue
from starlette.exceptions import HTTPException

from controller.page.bodies import MOST
from controller.store.queries import BatchLine, Logged, StageTime
from controller.store.rows import WeighIn
from controller.store.samples import POINTS_MOST, Bucket, Span

ZERO_C = 273.15
"""0 degC, [K]. [1] BIPM, SI Brochure, 9th edition, 2019, section 2.3.1."""

JUST = 0.001
"""The last sample is before this much after it, [s]: the record counts in ms."""
Which = Literal["low", "mean", "high"]
BatchId = Annotated[str, Path(min_length=1, max_length=64)]


class Reader(Protocol):
    """What the page reads out of the record. Each raises InputError when it cannot be read."""

    def batches(self, limit: int = 200) -> tuple[BatchLine, ...]:
        """Newest first."""

    def events(
        self, batch: str | None = None, after_seq: int = 0, limit: int = 500
    ) -> tuple[Logged, ...]:
        """Oldest first."""

    def samples_thinned(
        self, batch: str | None, start: float, end: float, points: int = 600
    ) -> tuple[Bucket, ...]:
        """Between two rig times, [s]."""

    def span(self, batch: str) -> tuple[float, float] | None:
        """First and last rig time sampled, [s]."""

    def weigh_ins(self, batch: str) -> tuple[WeighIn, ...]:
        """In order."""

    def stage_times(self, batch: str) -> tuple[StageTime, ...]:
        """In order."""


class BatchTold(BaseModel):
    """One batch in the list."""

    id: str
    name: str
    planned_s: float
    planned_utc: float
    stage: str | None
    last_utc: float


class WeighInTold(BaseModel):
    """One weigh-in."""

    at_s: float
    at_utc: float
    what: str
    mass_g: float


class StageTold(BaseModel):
    """When a stage began and ended."""

    stage: str
    began_s: float
    ended_s: float | None
    began_utc: float


class WholeBatch(BatchTold):
    """One batch with its sheet."""

    sheet: dict[str, JsonValue]
    weigh_ins: list[WeighInTold]
    stages: list[StageTold]


class Batches(BaseModel):
    """The list, newest first."""

    batches: list[BatchTold]


class Columns(BaseModel):
    """Equally long columns; None where there is no value.

    The readings are means of their stretch; what was short is kept in the lows and highs.
    """

    at_s: list[float]
    at_utc: list[float]
    face_c: list[float | None]
    back_c: list[float | None]
    room_c: list[float | None]
    film_c: list[float | None]
    mean_c: list[float | None]
    bag_pa: list[float | None]
    face_low_c: list[float | None]
    face_high_c: list[float | None]
    bag_low_pa: list[float | None]
    bag_high_pa: list[float | None]
    air_pa: list[float | None]
    lamp: list[float]
    pump: list[float]


class Samples(BaseModel):
    """The traces of one batch."""

    batch: str
    columns: Columns


class EventTold(BaseModel):
    """One line of the record."""

    seq: int
    at_s: float | None
    at_utc: float
    kind: str | None
    batch: str | None
    stage: str | None
    text: str
    data: dict[str, JsonValue]
    happened_at_s: float | None
    damaged: bool


class Events(BaseModel):
    """A stretch of the record, and where to go on."""

    events: list[EventTold]
    last: int


def routes(reader: Reader) -> APIRouter:
    """The routes that read the record."""
    router = APIRouter(prefix="/api/batches")

    def found(batch: str) -> BatchLine:
        for line in reader.batches(limit=10_000):
            if line.id == batch:
                return line
        raise HTTPException(404, "The record has no such batch: see /api/batches.")

    @router.get("")
    def batches() -> Batches:
        return Batches(batches=[BatchTold(**_head(line)) for line in reader.batches()])

    @router.get("/{batch}")
    def one(batch: BatchId) -> WholeBatch:
        line = found(batch)
        return WholeBatch(
            **_head(line),
            sheet=json.loads(line.sheet),
            weigh_ins=[
                WeighInTold(
                    at_s=weighed.at,
                    at_utc=weighed.told_utc,
                    what=weighed.what,
                    mass_g=round(1000 * weighed.mass, 3),
                )
                for weighed in reader.weigh_ins(batch)
            ],
            stages=[
                StageTold(
                    stage=time.stage,
                    began_s=time.began,
                    ended_s=time.ended,
                    began_utc=time.began_utc,
                )
                for time in reader.stage_times(batch)
            ],
        )

    @router.get("/{batch}/samples")
    def samples(
        batch: BatchId, points: Annotated[int, Query(ge=10, le=POINTS_MOST)] = POINTS_MOST
    ) -> Samples:
        found(batch)
        span = reader.span(batch)
        thinned: tuple[Bucket, ...] = ()
        if span is not None:
            thinned = reader.samples_thinned(batch, span[0], span[1] + JUST, points=points)
        return Samples(batch=batch, columns=_columns(thinned))

    @router.get("/{batch}/events")
    def events(
        batch: BatchId,
        after: Annotated[int, Query(ge=0, le=MOST)] = 0,
        limit: Annotated[int, Query(ge=1, le=1000)] = 200,
    ) -> Events:
        found(batch)
        lines = reader.events(batch, after_seq=after, limit=limit)
        return Events(
            events=[_event(line) for line in lines], last=lines[-1].seq if lines else after
        )

    return router


def _head(line: BatchLine) -> dict[str, Any]:
    return {
        "id": line.id,
        "name": line.name,
        "planned_s": line.planned_at,
        "planned_utc": line.planned_utc,
        "stage": line.stage,
        "last_utc": line.last_utc,
    }


def _columns(buckets: tuple[Bucket, ...]) -> Columns:
    return Columns(
        at_s=[bucket.at for bucket in buckets],
        at_utc=[bucket.told_utc for bucket in buckets],
        face_c=[_celsius(bucket.face) for bucket in buckets],
        back_c=[_celsius(bucket.back) for bucket in buckets],
        room_c=[_celsius(bucket.room) for bucket in buckets],
        film_c=[_celsius(bucket.film) for bucket in buckets],
        mean_c=[_celsius(bucket.mean) for bucket in buckets],
        bag_pa=[_pascal(bucket.bag) for bucket in buckets],
        face_low_c=[_celsius(bucket.face, "low") for bucket in buckets],
        face_high_c=[_celsius(bucket.face, "high") for bucket in buckets],
        bag_low_pa=[_pascal(bucket.bag, "low") for bucket in buckets],
        bag_high_pa=[_pascal(bucket.bag, "high") for bucket in buckets],
        air_pa=[_pascal(bucket.air) for bucket in buckets],
        lamp=[round(bucket.lamp, 3) for bucket in buckets],
        pump=[round(bucket.pump, 3) for bucket in buckets],
    )


def _celsius(span: Span | None, which: Which = "mean") -> float | None:
    return None if span is None else round(_of(span, which) - ZERO_C, 3)


def _pascal(span: Span | None, which: Which = "mean") -> float | None:
    return None if span is None else round(_of(span, which), 1)


def _of(span: Span, which: Which) -> float:
    return {"low": span.low, "mean": span.mean, "high": span.high}[which]


def _event(line: Logged) -> EventTold:
    event = line.event
    if event is None:
        return EventTold(
            seq=line.seq,
            at_s=None,
            at_utc=line.told_utc,
            kind=None,
            batch=None,
            stage=None,
            text="This line of the record is damaged.",
            data={},
            happened_at_s=None,
            damaged=True,
        )
    return EventTold(
        seq=line.seq,
        at_s=event.at,
        at_utc=line.told_utc,
        kind=event.kind,
        batch=event.batch,
        stage=event.stage,
        text=event.text,
        data=dict(event.data),
        happened_at_s=event.happened_at,
        damaged=False,
    )
