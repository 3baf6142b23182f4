"""One batch as the log has it: its sheet, its lines, its coats, its stages with the times told."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from controller.batch.acts import ActKind
from controller.batch.events import Event, EventKind
from controller.planning.sheet import BatchSheet, Coat
from controller.planning.sheet_json import sheet_from_json
from controller.store.queries import BatchLine, Logged, LogReader, StageTime
from controller.store.rows import WeighIn
from controller.store.samples import POINTS_MOST, Bucket

SIMULATED, NOT_SAID = "SIMULATED", "RIG NOT SAID"
"""What a record or picture is marked with when the rig was pretended, and when no line says."""
PAGE = 500
"""Lines asked of the log at a time. Own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """One coat on its way through the order of work."""

    coat: Coat
    """What the sheet says of it."""
    lines: tuple[Logged, ...]
    """Its sound lines and the rig's in its time, in order."""
    stages: tuple[StageTime, ...]
    """Its stages in order; a stage that was told late begins when it was told to have begun."""
    ended: float
    """Rig time of its newest line or sample, [s]."""

    @property
    def events(self) -> Iterator[Event]:
        """What happened, in order."""
        for line in self.lines:
            if line.event is not None:
                yield line.event

    def of_kind(self, kind: EventKind) -> list[Event]:
        """Every event of this kind, in order."""
        return [event for event in self.events if event.kind == kind]

    def acts(self, kind: ActKind) -> list[Event]:
        """Every accepted act of this kind, in order."""
        return [event for event in self.of_kind(EventKind.ACT) if event.data.get("act") == kind]

    def stretches(self, *stages: str) -> list[tuple[float, float]]:
        """Rig times the coat was in one of these stages, [s]."""
        return [
            (time.began, self.ended if time.ended is None else time.ended)
            for time in self.stages
            if time.stage in stages
        ]

    @property
    def face_until(self) -> float:
        """Rig time the face probe came off: what it read after that is no face, [s]."""
        off = self.acts(ActKind.PROBE_OFF) + self.acts(ActKind.COATING)
        return min((told_at(event) for event in off), default=float("inf"))

    def began(self, *stages: str) -> float | None:
        """Rig time one of these stages was first entered, [s]; None when none was."""
        found = self.stretches(*stages)
        return found[0][0] if found else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """Everything the log has on one batch but its samples."""

    batch: BatchLine
    """Its line in the list of batches."""
    sheet: BatchSheet
    """Its sheet."""
    lines: tuple[Logged, ...]
    """Its lines and the rig's between its first and last, damaged ones too, in order."""
    weigh_ins: tuple[WeighIn, ...]
    """Its weighings, oldest first."""
    passages: tuple[Passage, ...]
    """One for each coat that was begun, in order."""
    simulated: bool | None
    """The rig was pretended; None when no line says."""

    def utc(self, at: float) -> float:
        """The calendar at a rig time, by the nearest line before it, seconds since 1970 UTC."""
        offset = self.batch.planned_utc - self.batch.planned_at
        for line in self.lines:
            if line.event is not None and line.event.at <= at:
                offset = line.told_utc - line.event.at
        return at + offset


def read_account(reader: LogReader, batch_id: str) -> Account:
    """The batch of that id. Raises InputError when there is none, or the log cannot be read."""
    batch = reader.batch(batch_id)
    sheet = sheet_from_json(batch.sheet)
    own = {line.seq for line in _all_lines(reader, batch_id)}
    last = max(own, default=0)
    lines = tuple(
        line
        for line in _all_lines(reader, None, min(own, default=1) - 1, last)
        if line.seq in own or line.event is None or line.event.batch is None
    )
    span = reader.span(batch_id)
    newest = max(
        [line.event.at for line in lines if line.event is not None]
        + [batch.planned_at]
        + ([span[1]] if span is not None else [])
    )
    return Account(
        batch=batch,
        sheet=sheet,
        lines=lines,
        weigh_ins=reader.weigh_ins(batch_id),
        passages=tuple(_passages(batch_id, sheet, lines, newest)),
        simulated=_simulated(lines),
    )


def told_at(event: Event) -> float:
    """Rig time the event was true: the time told where it was told late, [s]."""
    return event.at if event.happened_at is None else event.happened_at


def samples_in(
    reader: LogReader, batch_id: str, start: float, end: float, width: float
) -> Iterator[Bucket]:
    """The batch's samples from `start` to before `end` [s, rig time], in stretches of `width` [s].

    width: under 60 s, the log's own limit for stretches that are not whole minutes
    """
    at = start
    while at < end:
        to = min(at + POINTS_MOST * width, end)
        points = max(1, round((to - at) / width))
        yield from reader.samples_thinned(batch_id, at, to, points)
        at = to


def _all_lines(
    reader: LogReader, batch_id: str | None, after: int = 0, last: int | None = None
) -> Iterator[Logged]:
    while True:
        found = reader.events(batch_id, after_seq=after, limit=PAGE)
        for line in found:
            if last is not None and line.seq > last:
                return
            yield line
        if len(found) < PAGE:
            return
        after = found[-1].seq


def _simulated(lines: Iterable[Logged]) -> bool | None:
    """True as soon as one line says so: a record is never half a real one."""
    said = [
        line.event.data["simulated"]
        for line in lines
        if line.event is not None and isinstance(line.event.data.get("simulated"), bool)
    ]
    return any(said) if said else None


def _passages(
    batch_id: str, sheet: BatchSheet, lines: Iterable[Logged], newest: float
) -> Iterator[Passage]:
    coats: list[list[Logged]] = [[]]
    for line in lines:
        event = line.event
        if event is None:
            continue
        following = event.kind == EventKind.ACT and event.data.get("act") == ActKind.NEXT_COAT
        if following and event.batch == batch_id and len(coats) < len(sheet.coats):
            coats.append([])
        coats[-1].append(line)
    starts = [next((line.event.at for line in coat if line.event), newest) for coat in coats]
    for coat, of_coat, ended in zip(sheet.coats, coats, [*starts[1:], newest], strict=False):
        yield Passage(
            coat=coat,
            lines=tuple(of_coat),
            stages=tuple(_stage_times(batch_id, of_coat)),
            ended=ended,
        )


def _stage_times(batch_id: str, lines: Iterable[Logged]) -> Iterator[StageTime]:
    """From the first line in each new stage: the press that led to it, where it was one.

    The line of the stage itself is written after that press and does not carry the time told.
    """
    found: list[tuple[str, float, float, float]] = []
    for line in lines:
        event = line.event
        if event is None or event.batch != batch_id or event.stage is None:
            continue
        if found and found[-1][0] == event.stage:
            continue
        began = max(told_at(event), found[-1][1]) if found else told_at(event)
        found.append((event.stage, began, line.told_utc - (event.at - began), event.at))
    ends: list[float | None] = [began for _, began, _, _ in found[1:]]
    for (stage, began, utc, recorded), ended in zip(found, [*ends, None], strict=False):
        yield StageTime(stage=stage, began=began, ended=ended, began_utc=utc, recorded=recorded)
