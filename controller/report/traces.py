"""The drawing of one coat: its temperatures above its vacuum, on one broken time axis."""

from collections.abc import Sequence

from controller.quantities import SEA_LEVEL, People
from controller.report.account import Account, Passage
from controller.report.drawing import Labels, Sheet
from controller.report.marks import MARKS_TOP, ROW, draw_marks, marks_of, stage_strip, without_data
from controller.report.panels import LEFT, Panel, broken, panels, time_axis
from controller.report.plots import (
    bag_line,
    bag_scale,
    bands,
    level_names,
    levels,
    upright,
    warm_lines,
    warm_scale,
)
from controller.store.queries import LogReader

WIDTH = 880.0
WARM_HEIGHT, BAG_HEIGHT = 235.0, 165.0
BETWEEN = 26.0
STRIP, STRIP_GAP = 13.0, 5.0
AXIS = 40.0
"""Measures of the sheet; own."""


def trace_svg(
    reader: LogReader,
    account: Account,
    passage: Passage,
    units: People,
    *,
    air_pressure: float | None = None,
    alarms: Sequence[tuple[str, float]] = (),
) -> str:
    """One coat as one SVG, well-formed by itself; empty where nothing of it was sampled.

    units: its zone is that of the clocks
    air_pressure: that the levels of vacuum are counted against, and the bag where no barometer
    was recorded, [Pa]; None for sea level
    alarms: (its number, rig time it was raised [s])

    Raises InputError when the log cannot be read.
    """
    sheet = draw(reader, account, passage, units, air_pressure, alarms)
    return "" if sheet is None else sheet.svg()


def draw(
    reader: LogReader,
    account: Account,
    passage: Passage,
    units: People,
    air_pressure: float | None,
    alarms: Sequence[tuple[str, float]],
) -> Sheet | None:
    """The sheet with one coat drawn on it; None where nothing of it was sampled."""
    drawn = panels(reader, account, passage)
    if not any(panel.samples for panel in drawn):
        return None
    marks = marks_of(drawn, passage, alarms)
    top = MARKS_TOP + ROW * (1 + max((mark.row for mark in marks), default=0)) + 6
    warm_plot = (top, top + WARM_HEIGHT)
    bag_plot = (warm_plot[1] + BETWEEN, warm_plot[1] + BETWEEN + BAG_HEIGHT)
    strips = bag_plot[1] + STRIP_GAP
    axis = strips + 2 * (STRIP + STRIP_GAP) - STRIP_GAP
    plots = (warm_plot, bag_plot)
    title = f"Coat {passage.coat.number} of {account.sheet.name}: temperatures and vacuum"
    sheet = Sheet(WIDTH, axis + AXIS + 16, f"coat{passage.coat.number}", title, _spoken(drawn))
    warm, bag = warm_scale(drawn, passage, units, warm_plot), bag_scale(units, bag_plot)
    air = SEA_LEVEL if air_pressure is None else air_pressure
    for panel in drawn:
        bands(sheet, panel, passage, warm)
        time_axis(sheet, panel, account, units.zone, [warm_plot, (bag_plot[0], axis)])
    upright(sheet, warm, f"°{units.temperature}", drawn)
    upright(sheet, bag, f"{units.vacuum} vacuum", drawn)
    rulings = []
    for panel in drawn:
        rulings.append(levels(sheet, panel, passage, bag, air))
        for upper, lower in plots:
            sheet.rect((panel.left, upper, panel.right, lower), "t-frame")
        without_data(sheet, panel, plots)
        stage_strip(sheet, panel, passage, plots)
    for before in drawn[:-1]:
        broken(sheet, before.right, list(plots))
    draw_marks(sheet, marks, plots)
    for panel, ruling in zip(drawn, rulings, strict=True):
        crossing = [[(mark.x, top), (mark.x, bag_plot[1])] for mark in marks]
        over, under = (
            Labels((panel.left + 2, upper + 1, panel.right - 1, lower - 1))
            for upper, lower in plots
        )
        over.avoid(crossing)
        warm_lines(sheet, panel, over, warm, passage, units)
        under.avoid([*crossing, *ruling])
        bag_line(sheet, panel, under, bag, passage, air)
        level_names(sheet, panel, passage, bag, air, units)
        _output(sheet, panel, strips, "lamp")
        _output(sheet, panel, strips + STRIP + STRIP_GAP, "pump")
        middle = (panel.left + panel.right) / 2
        sheet.text(middle, axis + AXIS + 10, panel.name, anchor="middle", look="t-strong")
    sheet.text(LEFT - 5, strips + 10.5, "lamp on", anchor="end")
    sheet.text(LEFT - 5, strips + STRIP + STRIP_GAP + 10.5, "pump on", anchor="end")
    return sheet


def _output(sheet: Sheet, panel: Panel, top: float, channel: str) -> None:
    """Black as high as the share of the time the output was on; one bar where that stays."""
    sheet.rect((panel.left, top, panel.right, top + STRIP), "t-frame")
    bars: list[tuple[float, float, float]] = []
    for bucket in panel.samples:
        share = round(float(getattr(bucket, channel)), 2)
        left, right = panel.x(bucket.at), panel.x(bucket.at + bucket.width)
        if bars and bars[-1][2] == share and left - bars[-1][1] < 0.5:
            bars[-1] = (bars[-1][0], right, share)
        else:
            bars.append((left, right, share))
    for left, right, share in bars:
        # a start too short to see is widened, never lost
        box = (left, top + STRIP * (1 - share), max(right, left + 0.8), top + STRIP)
        sheet.rect(box, "t-solid")


def _spoken(drawn: Sequence[Panel]) -> str:
    said = ", ".join(panel.name for panel in drawn)
    return f"Panels from left to right: {said}. The figures beside it say the same in words."
