"""The figures of one coat, worked out from what was recorded and from nothing else."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from controller.batch.acts import ActKind
from controller.batch.bag import OUT_MARGIN
from controller.batch.events import Event, EventKind
from controller.batch.setting import credit
from controller.batch.stages import BRISK, STEADY, Stage
from controller.report.account import Account, Passage, samples_in, told_at
from controller.store.queries import LogReader
from controller.store.samples import Bucket, Span

FINE = 1.0
"""Stretch of samples looked at while the board is warm, [s]: a tick. Own."""
COARSE = 10.0
"""Stretch looked at in the hold, [s]: a simulated tick. Own."""
HOLE = 30.0
"""Time without a sample that is told, [s]. Own."""
NEAR = 10.0
"""Oldest sample that stands for a moment, [s]. Own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """What one coat came to; None where the record does not tell."""

    peak_face: float | None
    """Hottest face reading before the first stroke, [K]."""
    lamp_on: float
    """Time the lamp was on, [s]."""
    in_band: float
    """Time the face was in the preheat band, [s]."""
    lamp_off_at: float | None
    """Rig time the lamp went off for the last time before the first stroke, [s]."""
    mean_at_lamp_off: float | None
    """Estimated mean of the board then, [K]."""
    first_stroke_at: float | None
    """Rig time of the first stroke, [s]."""
    face_at_first_stroke: float | None
    """Face reading then, [K]."""
    handling: float | None
    """From lamp-off to the first stroke, [s]."""
    used: float | None
    """Mix on the board, [kg]."""
    used_on: float
    """Area it went on, [m2]."""
    pump_starts: int
    """Starts of the pump from sealing on."""
    held: float
    """Time the bag was held under vacuum, [s]."""
    held_seen: float
    """The part of it that has samples of the bag, [s]."""
    pump_duty: float | None
    """Share of the samples in the hold with the pump on, [-]."""
    deepest: float | None
    """Lowest absolute pressure in the hold, [Pa]."""
    weakest: float | None
    """Highest absolute pressure in the hold, [Pa]."""
    air: float | None
    """Mean air pressure in the hold, [Pa]; None without a barometer."""
    out_limit: float | None
    """Absolute pressure above which the bag counts as out of its band, [Pa]."""
    out_before_gel: float
    """Time above it while the resin had not gelled, [s]."""
    out_after_gel: float
    """Time above it after that, [s]."""
    gelled_at: float | None
    """Rig time the resin was told gelled, [s]."""
    may_open_at: float | None
    """Rig time the bag was told ready to be opened, [s]."""
    opened_at: float | None
    """Rig time it was opened, [s]."""
    age_at_opening: float | None
    """Equivalent age then, at the resin's reference temperature, [s]."""
    holes: tuple[tuple[float, float], ...]
    """Rig times between which nothing was sampled, from START to opening, [s]."""


def figures(reader: LogReader, account: Account, passage: Passage) -> Figures:
    """The figures of one coat. Raises InputError when the log cannot be read."""
    batch, coat = account.batch.id, passage.coat
    warm_from = passage.began(Stage.PREHEAT)
    stroke = _first(passage.acts(ActKind.COATING))
    warm_to = stroke if stroke is not None else passage.ended + FINE
    warm = () if warm_from is None else tuple(samples_in(reader, batch, warm_from, warm_to, FINE))
    lamp_off = _lamp_off(passage, warm_to)
    hold = _held(passage)
    held = [tuple(samples_in(reader, batch, start, end, COARSE)) for start, end in hold]
    seen = [pair for part in held for pair in _covered(part, STEADY) if pair[0].bag is not None]
    held_seen = sum(seconds for _, seconds in seen)
    bags = [bucket.bag for bucket, _ in seen if bucket.bag is not None]
    airs = [bucket.air.mean for bucket, _ in seen if bucket.air is not None]
    limit = None if coat.bag is None else coat.bag.restart + OUT_MARGIN
    gelled = _first(passage.of_kind(EventKind.GEL))
    before, after = _out_of_band(seen, limit, gelled)
    opened = _first(passage.acts(ActKind.OPENED))
    return Figures(
        peak_face=max(
            (b.face.high for b in warm if b.face is not None and b.at < passage.face_until),
            default=None,
        ),
        lamp_on=sum(seconds * bucket.lamp for bucket, seconds in _covered(warm, BRISK)),
        in_band=sum(
            seconds
            for bucket, seconds in _covered(warm, BRISK)
            if bucket.face is not None
            and bucket.at < passage.face_until
            and coat.heat.band_low <= bucket.face.mean <= coat.heat.band_high
        ),
        lamp_off_at=lamp_off,
        mean_at_lamp_off=_at(warm, lamp_off, "mean"),
        first_stroke_at=stroke,
        face_at_first_stroke=(
            None
            if stroke is None or stroke - passage.face_until > NEAR
            else _at(warm, passage.face_until, "face")
        ),
        handling=None if stroke is None or lamp_off is None else stroke - lamp_off,
        used=_used(passage),
        used_on=sum(account.sheet.piece(name).area for name in coat.pieces),
        pump_starts=sum(
            event.data.get("pump") is True and event.stage in (Stage.PULLDOWN, Stage.HOLD)
            for event in passage.of_kind(EventKind.OUTPUT)
        ),
        held=sum(end - start for start, end in hold),
        held_seen=held_seen,
        pump_duty=(
            sum(seconds * bucket.pump for bucket, seconds in seen) / held_seen if seen else None
        ),
        deepest=min((bag.low for bag in bags), default=None),
        weakest=max((bag.high for bag in bags), default=None),
        air=sum(airs) / len(airs) if airs else None,
        out_limit=limit,
        out_before_gel=before,
        out_after_gel=after,
        gelled_at=gelled,
        may_open_at=_first(passage.of_kind(EventKind.MAY_OPEN)),
        opened_at=opened,
        age_at_opening=None if opened is None else _age_at(reader, batch, passage, opened),
        holes=tuple(_holes(warm, BRISK)) + tuple(h for part in held for h in _holes(part, STEADY)),
    )


def _first(events: Sequence[Event]) -> float | None:
    return told_at(events[0]) if events else None


def _lamp_off(passage: Passage, before: float) -> float | None:
    offs = [
        event.at
        for event in passage.of_kind(EventKind.OUTPUT)
        if event.data.get("lamp") is False and event.at <= before
    ]
    return offs[-1] if offs else passage.began(Stage.COOLDOWN)


def _held(passage: Passage) -> list[tuple[float, float]]:
    """The stretches of the hold under vacuum: none without a bag, none after LET UP."""
    if passage.coat.bag is None:
        return []
    let_up = _first(passage.acts(ActKind.LET_UP))
    hold = passage.stretches(Stage.HOLD)
    if let_up is None:
        return hold
    return [(start, min(end, let_up)) for start, end in hold if start < let_up]


def _covered(samples: Sequence[Bucket], cap: float) -> Iterator[tuple[Bucket, float]]:
    """Each stretch with the time it stands for: up to the next, and never more than `cap` [s]."""
    for i, bucket in enumerate(samples):
        to = samples[i + 1].at if i + 1 < len(samples) else bucket.at + bucket.width
        yield bucket, min(to - bucket.at, cap)


def _holes(samples: Sequence[Bucket], cap: float) -> Iterator[tuple[float, float]]:
    for before, after in pairwise(samples):
        if after.at - before.at > max(HOLE, 2 * cap):
            yield before.at + min(before.width, cap), after.at


def _at(samples: Iterable[Bucket], moment: float | None, channel: str) -> float | None:
    """A channel's last value at or before a moment, if it is not old."""
    found: Span | None = None
    if moment is not None:
        for bucket in samples:
            span: Span | None = getattr(bucket, channel)
            if span is not None and moment - NEAR <= bucket.at <= moment:
                found = span
    return None if found is None else found.mean


def _used(passage: Passage) -> float | None:
    told = [event.data.get("told_used_g") for event in passage.acts(ActKind.SEALED)]
    masses = [mass / 1000 for mass in told if isinstance(mass, int | float) and mass > 0]
    return masses[-1] if masses else None


def _out_of_band(
    seen: Iterable[tuple[Bucket, float]], limit: float | None, gelled: float | None
) -> tuple[float, float]:
    before = after = 0.0
    for bucket, seconds in seen:
        if limit is None or bucket.bag is None or bucket.bag.mean <= limit:
            continue
        if gelled is None or bucket.at < gelled:
            before += seconds
        else:
            after += seconds
    return before, after


def _age_at(reader: LogReader, batch: str, passage: Passage, opened: float) -> float | None:
    """Equivalent age at the opening: the last one told, and what the film's readings add to it.

    Time without a temperature adds nothing, so that a hole in the record errs on the young side.
    """
    age, since = 0.0, _first(passage.acts(ActKind.MIXED) or passage.acts(ActKind.COATING))
    for event in passage.events:
        told = event.data.get("age_s")
        if event.at <= opened and isinstance(told, int | float):
            age, since = float(told), event.at
    if since is None:
        return None
    for bucket, seconds in _covered(
        tuple(samples_in(reader, batch, since, opened, COARSE)), STEADY
    ):
        warmth = bucket.film or bucket.mean or bucket.room
        if warmth is not None:
            age += credit(seconds, warmth.mean, passage.coat.resin)
    return age
