"""The time axis of a trace, broken where its scale changes: minutes, then hours, then days."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from controller.batch.stages import BRISK, ORDER, Stage
from controller.report.account import Account, Passage
from controller.report.drawing import SIZE, Point, Sheet, width_of
from controller.store.queries import LogReader
from controller.store.samples import POINTS_MOST, Bucket, Span

HEAT = "heat and coating"
"""The name of the first panel."""
BEFORE = 120.0
"""Drawn before the lamp is lit, [s]. Own."""
LEFT, RIGHT = 54.0, 872.0
"""Where the plots begin and end on the sheet. Own."""
BREAK = 22.0
"""Room for the break between two panels. Own."""
NARROW = 88.0
"""Room for one label of the axis; a day and an hour fit. Own."""
STEPS = (60, 120, 300, 600, 900, 1800, 3600, 7200, 10800, 21600, 43200, 86400, 172800)
"""Times between two labels of an axis, [s]: those a clock face has."""


@dataclass(frozen=True, slots=True)
class Panel:
    """One stretch of the time axis with one scale."""

    name: str
    """What it shows, for people."""
    start: float
    """Rig time at its left edge, [s]."""
    end: float
    """Rig time at its right edge, [s]."""
    left: float
    """On the sheet."""
    right: float
    """On the sheet."""
    tick: float
    """Longest time between two samples that is no gap, [s]."""
    samples: tuple[Bucket, ...]
    """What was sampled in it."""

    def x(self, at: float) -> float:
        """Where a rig time is on the sheet; times outside are at the nearer edge."""
        share = (min(max(at, self.start), self.end) - self.start) / (self.end - self.start)
        return self.left + share * (self.right - self.left)

    def gap_after(self, i: int) -> bool:
        """Nothing was sampled for longer than a tick after the i-th stretch."""
        here = self.samples[i]
        return self.samples[i + 1].at - here.at > here.width + self.tick * 1.01


def panels(reader: LogReader, account: Account, passage: Passage) -> tuple[Panel, ...]:
    """The panels of one coat, left to right; those it did not come to are left out."""
    heat = passage.began(Stage.PREHEAT) or passage.began(Stage.COOLDOWN, Stage.COAT)
    hold, out = passage.began(Stage.HOLD), passage.began(Stage.FLASHOFF)
    span = reader.span(account.batch.id)
    ended = passage.ended if span is None else min(passage.ended, span[1])
    night = "night under vacuum" if passage.coat.bag is not None else "setting"
    planned: list[tuple[str, float, float, float, float]] = []
    if heat is not None:
        end = next((at for at in (hold, out) if at is not None), ended)
        planned.append((HEAT, heat - BEFORE, end, 0.47, BRISK))
    if hold is not None:
        planned.append(
            (night, hold, ended if out is None else out, 0.34, ORDER[Stage.HOLD].step_cap)
        )
    if out is not None:
        planned.append(("flash-off", out, ended, 0.19, ORDER[Stage.FLASHOFF].step_cap))
    planned = [plan for plan in planned if plan[2] - plan[1] >= 1.0]
    room = RIGHT - LEFT - BREAK * (len(planned) - 1)
    whole = sum(plan[3] for plan in planned)
    made: list[Panel] = []
    left = LEFT
    for name, start, end, share, tick in planned:
        right = left + room * share / whole
        points = min(POINTS_MOST, max(50, int(right - left)))
        # a stretch that begins in the panel before is left to that one
        samples = tuple(
            bucket
            for bucket in reader.samples_thinned(account.batch.id, start, end, points)
            if not made or bucket.at >= start
        )
        made.append(Panel(name, start, end, left, right, tick, samples))
        left = right + BREAK
    return tuple(made)


def spans(bucket: Bucket, channel: str) -> Span | None:
    """What a channel did in one stretch."""
    found: Span | None = getattr(bucket, channel)
    return found


def pieces_of(panel: Panel, values: Sequence[tuple[float, float] | None]) -> list[list[Point]]:
    """The line through (low, high) heights on the sheet, one for each sample, broken at gaps.

    A stretch in which the channel moved far is drawn from end to end, so that nothing short is
    lost; one with no reading breaks the line as a gap does.
    """
    pieces: list[list[Point]] = [[]]
    for i, (bucket, value) in enumerate(zip(panel.samples, values, strict=True)):
        if value is None:
            pieces.append([])
            continue
        x = panel.x(bucket.at + bucket.width / 2)
        low, high = value
        if abs(high - low) < 1.5:
            pieces[-1].append((x, (low + high) / 2))
        else:
            last = pieces[-1][-1][1] if pieces[-1] else low
            near, far = (low, high) if abs(last - low) < abs(last - high) else (high, low)
            pieces[-1] += [(x, near), (x, far)]
        if i + 1 < len(panel.samples) and panel.gap_after(i):
            pieces.append([])
    # one sample alone is a dot as wide as the line
    return [
        piece if len(piece) > 1 else [piece[0], (piece[0][0] + 1.0, piece[0][1])]
        for piece in pieces
        if piece
    ]


def time_axis(sheet: Sheet, panel: Panel, account: Account, zone: str, plots: list[Point]) -> None:
    """Ticks through the plots and the clock of `zone` under the lowest, with the days.

    plots: (top, bottom) of each plot on the sheet
    """
    place = ZoneInfo(zone)
    offset = account.utc(panel.start) - panel.start
    bottom = plots[-1][1]
    scale = (panel.right - panel.left) / (panel.end - panel.start)
    step = next((s for s in STEPS if s * scale >= NARROW / 2), STEPS[-1])
    begin = datetime.fromtimestamp(panel.start + offset, UTC).astimezone(place)
    midnight = begin.replace(hour=0, minute=0, second=0, microsecond=0)
    day_from, said_until = panel.left, panel.left - 100.0
    _day(sheet, day_from, panel.right, bottom, begin)
    first_day_ends = panel.left + width_of(_date(begin)) + 8
    count = int((panel.end - panel.start) / step) + int(86400 / step) + 2
    for n in range(count):
        moment = midnight + timedelta(seconds=n * step)
        at = moment.timestamp() - offset
        if not panel.start < at < panel.end:
            continue
        x = panel.x(at)
        for top, foot in plots:
            sheet.line(x, top, x, foot, "t-grid")
        sheet.line(x, bottom, x, bottom + 4, "t-frame")
        words = f"{moment:%H:%M}"
        half = width_of(words) / 2
        if x - half > said_until + 6 and x + half <= panel.right + 4 and x - half >= panel.left - 4:
            sheet.text(x, bottom + 17, words, anchor="middle")
            said_until = x + half
        if moment.hour == moment.minute == 0 and x > first_day_ends:
            if x + width_of(_date(moment)) <= panel.right + 8:
                sheet.text(x, bottom + 32, _date(moment), look="t-soft")
                first_day_ends = x + width_of(_date(moment)) + 8


def _day(sheet: Sheet, left: float, right: float, bottom: float, moment: datetime) -> None:
    if width_of(_date(moment)) <= right - left + 8:
        sheet.text(left, bottom + 32, _date(moment), look="t-soft")


def _date(moment: datetime) -> str:
    return f"{moment:%a} {moment.day} {moment:%b}"


def broken(sheet: Sheet, x: float, plots: list[Point]) -> None:
    """Two strokes across each edge: from here on another scale of time."""
    for _, bottom in plots:
        for shift in (-3.0, 3.0):
            middle = x + BREAK / 2 + shift
            sheet.line(middle - 3, bottom + SIZE / 2, middle + 3, bottom - SIZE / 2, "t-frame")
