"""The two plots of a trace: temperatures over their bands, vacuum over its levels."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, floor

from controller.batch.acts import ActKind
from controller.batch.stages import Stage
from controller.quantities import People, say
from controller.quantities.said import INCH_OF_MERCURY, ZERO_CELSIUS
from controller.report.account import Passage, told_at
from controller.report.drawing import SIZE, Labels, Point, Sheet, width_of
from controller.report.panels import HEAT, LEFT, Panel, pieces_of, spans
from controller.store.samples import Bucket

WARM = (
    ("mean", "estimated mean", "t-mean"),
    ("room", "room", "t-room"),
    ("film", "film", "t-film"),
    ("face", "face probe", "t-face"),
)
"""Channels of the upper plot, the most important drawn last: name, words, look."""
LEAD = 26.0
"""How far the levels of the vacuum reach out to their names. Own."""
FEWEST = 8
"""A line of fewer samples in a panel goes without a name there. Own."""


@dataclass(frozen=True, slots=True)
class Scale:
    """An upright axis."""

    low: float
    """At the bottom, in the people's unit."""
    high: float
    """At the top."""
    step: float
    """Between two labels."""
    top: float
    """On the sheet."""
    bottom: float
    """On the sheet."""
    of: Callable[[float], float]
    """SI to the people's unit."""

    def y(self, value: float) -> float:
        """Where an SI value is on the sheet; values outside are at the nearer edge."""
        share = (self.of(value) - self.low) / (self.high - self.low)
        return self.bottom - min(max(share, 0.0), 1.0) * (self.bottom - self.top)


def warm_scale(drawn: Sequence[Panel], passage: Passage, units: People, plot: Point) -> Scale:
    """From under the coldest to over the hottest of everything drawn."""
    heat = passage.coat.heat
    found = [heat.band_high, heat.window_low]
    for panel in drawn:
        for bucket in panel.samples:
            for channel, _, _ in WARM:
                span = spans(bucket, channel)
                if span is not None and in_place(passage, channel, bucket):
                    found += [span.low, span.high]
    fahrenheit = units.temperature == "F"

    def of(kelvin: float) -> float:
        celsius = kelvin - ZERO_CELSIUS
        return celsius * 1.8 + 32 if fahrenheit else celsius

    step = 20.0 if fahrenheit else 10.0
    low = floor(of(min(found)) / step) * step
    # a little air over the hottest line, for its name
    high = ceil(of(max(found)) / step + 0.15) * step
    return Scale(low, high, step, plot[0], plot[1], of)


def in_place(passage: Passage, channel: str, bucket: Bucket) -> bool:
    """The sensor was where its name says: a face probe that came off reads the room."""
    middle = bucket.at + bucket.width / 2
    if channel == "face":
        return middle < passage.face_until
    if channel in ("film", "bag"):
        bagged = passage.stretches(Stage.PULLDOWN, Stage.HOLD)
        return any(start <= middle < end for start, end in bagged)
    return True


def bag_scale(units: People, plot: Point) -> Scale:
    """From no vacuum to a whole one."""
    unit, high, step = {
        "inHg": (INCH_OF_MERCURY, 30.0, 10.0),
        "kPa": (1000.0, 100.0, 20.0),
        "mbar": (100.0, 1000.0, 200.0),
    }[units.vacuum]
    return Scale(0.0, high, step, plot[0], plot[1], lambda pascal: pascal / unit)


def upright(sheet: Sheet, scale: Scale, words: str, drawn: Sequence[Panel]) -> None:
    """The axis with its unit, and a thin line across at each label."""
    for n in range(round((scale.high - scale.low) / scale.step) + 1):
        share = n * scale.step / (scale.high - scale.low)
        y = scale.bottom - share * (scale.bottom - scale.top)
        sheet.text(LEFT - 7, y + 4, f"{scale.low + n * scale.step:g}", anchor="end")
        for panel in drawn:
            sheet.line(panel.left, y, panel.right, y, "t-grid")
    middle = (scale.top + scale.bottom) / 2
    sheet.text(15, middle, words, anchor="middle", look="t-strong", turn=-90)


# --- temperatures


def bands(sheet: Sheet, panel: Panel, passage: Passage, scale: Scale) -> None:
    """The preheat band hatched and the coat window dotted, until the coat is on."""
    if panel.name != HEAT:
        return
    for _, low, high, pattern in _bands(passage):
        box = (panel.left, scale.y(high), _bands_end(passage, panel), scale.y(low))
        sheet.shade(box, pattern)


def warm_lines(
    sheet: Sheet, panel: Panel, labels: Labels, scale: Scale, passage: Passage, units: People
) -> None:
    """The temperatures of one panel with their names, and the names of the bands."""
    lines = []
    for channel, words, look in WARM:
        values = []
        for bucket in panel.samples:
            span = spans(bucket, channel)
            there = span is not None and in_place(passage, channel, bucket)
            values.append((scale.y(span.low), scale.y(span.high)) if span and there else None)
        pieces = pieces_of(panel, values)
        sheet.curve(pieces, look)
        labels.avoid(pieces)
        lines.append((words, pieces))
    for words, pieces in reversed(lines):
        _name_line(sheet, labels, words, pieces)
    if panel.name == HEAT:
        for words, low, high, _ in _bands(passage):
            _name_band(sheet, panel, labels, scale, (words, low, high), units)


def _bands(passage: Passage) -> tuple[tuple[str, float, float, str], ...]:
    heat = passage.coat.heat
    return (
        ("preheat band", heat.band_low, heat.band_high, "hatch"),
        ("coat window", heat.window_low, heat.window_high, "dots"),
    )


def _bands_end(passage: Passage, panel: Panel) -> float:
    coated = passage.acts(ActKind.COATED)
    return panel.x(told_at(coated[0])) if coated else panel.right


def _name_band(
    sheet: Sheet,
    panel: Panel,
    labels: Labels,
    scale: Scale,
    band: tuple[str, float, float],
    units: People,
) -> None:
    words, low, high = band
    lowest = say(low, "temperature", units).partition(" ")[0]
    full = f"{words} {lowest} to {say(high, 'temperature', units)}"
    middle = (scale.y(low) + scale.y(high)) / 2 + 4
    across = [panel.left + 5 + 6 * step for step in range(80)]
    heights = (middle, scale.y(high) - 4, scale.y(low) + SIZE)
    found = labels.place(full, [(x, y) for y in heights for x in across])
    if found is not None:
        sheet.text(*found, full, look="t-halo")


def _name_line(sheet: Sheet, labels: Labels, words: str, pieces: Sequence[Sequence[Point]]) -> None:
    """The line's name beside it, where there is room."""
    points = [point for piece in pieces for point in piece]
    if len(points) < FEWEST:
        return
    wide = width_of(words)
    near = points[len(points) // 5 :: max(1, len(points) // 24)]
    wanted = [
        (x + shift, y + rise)
        for rise in (-6.0, SIZE + 3.0, -16.0, SIZE + 14.0)
        for shift in (4.0, -wide / 2, -wide - 4.0)
        for x, y in near
    ]
    found = labels.place(words, wanted)
    if found is not None:
        sheet.text(*found, words, look="t-halo")


# --- vacuum


def levels(
    sheet: Sheet, panel: Panel, passage: Passage, scale: Scale, air: float
) -> list[list[Point]]:
    """The hold band in grey, target and possible vacuum, while the bag is under the pump.

    Returns the two lines as they were drawn.
    """
    plan, drawn = passage.coat.bag, list[list[Point]]()
    if plan is None:
        return drawn
    stretches = passage.stretches(Stage.PULLDOWN, Stage.HOLD)
    for start, end in stretches:
        if start >= panel.end or end <= panel.start:
            continue
        left, right = panel.x(start), panel.x(end)
        target, restart = scale.y(air - plan.target), scale.y(air - plan.restart)
        sheet.rect((left, target, right, restart), "t-tint")
        lead = _lead(panel, left) if (start, end) == stretches[0] else left
        for pressure, look in ((plan.target, "t-target"), (plan.possible, "t-possible")):
            y = scale.y(air - pressure)
            sheet.line(lead, y, right, y, look)
            drawn.append([(lead, y), (right, y)])
    return drawn


def level_names(
    sheet: Sheet, panel: Panel, passage: Passage, scale: Scale, air: float, units: People
) -> None:
    """What the levels are, in the empty part of the plot before the first pull-down."""
    plan = passage.coat.bag
    stretches = passage.stretches(Stage.PULLDOWN, Stage.HOLD)
    if plan is None or not stretches or not panel.start <= stretches[0][0] <= panel.end:
        return
    left = panel.x(stretches[0][0])
    lead = _lead(panel, left)
    if lead == left:
        return
    best = say(air - plan.possible, "vacuum", units)
    wanted = say(air - plan.target, "vacuum", units)
    words = (
        (f"possible that day, {best}", scale.y(air - plan.possible)),
        (f"target, {wanted}", scale.y(air - plan.target)),
        ("grey: hold band", scale.y(air - plan.restart)),
    )
    _level_words(sheet, lead - 6, words, panel.left)


def _lead(panel: Panel, left: float) -> float:
    """The levels begin a little earlier where there is room for their names before that."""
    return left - LEAD if left - 10 * LEAD > panel.left else left


def _level_words(
    sheet: Sheet, right: float, words: Sequence[tuple[str, float]], left: float
) -> None:
    """Each at its height, and never nearer to the one above than a line of letters."""
    above = float("-inf")
    for says, y in words:
        foot = max(y + 4, above + SIZE + 2)
        above = foot
        if right - width_of(says) > left:
            sheet.text(right, foot, says, anchor="end", look="t-halo")


def bag_line(
    sheet: Sheet, panel: Panel, labels: Labels, scale: Scale, passage: Passage, air: float
) -> None:
    """The bag against the air of the moment; where no barometer was read, against `air` [Pa]."""
    values = [
        _vacuum(bucket, scale, air) if in_place(passage, "bag", bucket) else None
        for bucket in panel.samples
    ]
    pieces = pieces_of(panel, values)
    sheet.curve(pieces, "t-bag")
    labels.avoid(pieces)
    _name_line(sheet, labels, "bag", pieces)


def _vacuum(bucket: Bucket, scale: Scale, air: float) -> tuple[float, float] | None:
    if bucket.bag is None:
        return None
    outside = air if bucket.air is None else bucket.air.mean
    return scale.y(outside - bucket.bag.low), scale.y(outside - bucket.bag.high)
