"""What stands over and across the plots of a trace: stages, marked moments, time without data."""

from collections.abc import Sequence
from dataclasses import dataclass

from controller.batch.acts import ActKind
from controller.batch.events import EventKind
from controller.report.account import Passage, told_at
from controller.report.drawing import SIZE, Point, Sheet, width_of
from controller.report.panels import RIGHT, Panel

STRIP_TOP, STRIP_BOTTOM = 4.0, 90.0
"""The stages, high enough for the longest name upright. Own."""
ROW = 15.0
"""Height of a row of marks. Own."""
ROWS_MOST = 5
"""Rows of marks; what is left over shares the last. Own."""
MARKS_TOP = STRIP_BOTTOM + 5

Plots = Sequence[Point]
"""(top, bottom) of each plot on the sheet, from the top."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One moment with its words."""

    x: float
    """Of the moment on the sheet."""
    left: float
    """Of the words."""
    row: int
    """From 0, the top."""
    words: str
    look: str
    """Of its line."""


def stage_strip(sheet: Sheet, panel: Panel, passage: Passage, plots: Plots) -> None:
    """The stages as boxes along the top, names upright where they are narrow."""
    for i, time in enumerate(passage.stages):
        end = passage.ended if time.ended is None else time.ended
        if end <= panel.start or time.began >= panel.end:
            continue
        left, right = panel.x(time.began), panel.x(end)
        look = "t-second" if i % 2 else "t-plain"
        sheet.rect((left, STRIP_TOP, right, STRIP_BOTTOM), look, time.stage)
        middle, halfway = (left + right) / 2, (STRIP_TOP + STRIP_BOTTOM) / 2
        if right - left > width_of(time.stage) * 1.4:
            sheet.text(middle, halfway + 4, time.stage, anchor="middle", look="t-stage")
        elif right - left > SIZE - 1:
            sheet.text(middle + 4, halfway, time.stage, anchor="middle", look="t-stage", turn=-90)
        if time.began > panel.start:
            sheet.line(left, STRIP_BOTTOM, left, plots[0][1], "t-edge")
            for top, bottom in plots[1:]:
                sheet.line(left, top, left, bottom, "t-edge")


def marks_of(
    drawn: Sequence[Panel], passage: Passage, alarms: Sequence[tuple[str, float]]
) -> list[Mark]:
    """The moments that are in a panel, each on the first row that is free there."""
    found: list[Mark] = []
    taken = [0.0] * ROWS_MOST
    for at, words, look in _moments(passage, alarms):
        panel = next((panel for panel in drawn if panel.start <= at <= panel.end), None)
        if panel is None:
            continue
        x, wide = panel.x(at), width_of(words) + 6
        left = x + 3 if x + wide <= RIGHT + 6 else x - wide
        row = next((i for i, until in enumerate(taken) if until <= left), ROWS_MOST - 1)
        taken[row] = left + wide + 4
        found.append(Mark(x, left, row, words, look))
    return found


def draw_marks(sheet: Sheet, marks: Sequence[Mark], plots: Plots) -> None:
    """Lines first, so that none crosses the words of another."""
    for mark in marks:
        sheet.line(mark.x, MARKS_TOP + mark.row * ROW + 2, mark.x, plots[0][1], mark.look)
        for top, bottom in plots[1:]:
            sheet.line(mark.x, top, mark.x, bottom, mark.look)
    for mark in marks:
        foot = MARKS_TOP + mark.row * ROW + 12
        wide = width_of(mark.words) + 6
        sheet.rect((mark.left - 2, foot - 11, mark.left + wide, foot + 3.5), "t-empty")
        sheet.text(mark.left, foot, mark.words, look="t-strong")


def without_data(sheet: Sheet, panel: Panel, plots: Plots) -> None:
    """Where nothing was sampled at all, it is said, not bridged."""
    ends = [sample.at + sample.width for sample in panel.samples]
    edges = [(ends[i], panel.samples[i + 1].at) for i in range(len(ends) - 1) if panel.gap_after(i)]
    last = ends[-1] if ends else panel.start
    if panel.end - last > panel.tick * 1.01:
        edges.append((last, panel.end))
    for start, end in edges:
        left, right = panel.x(start), panel.x(end)
        if right - left < 2:
            continue
        for top, bottom in plots:
            sheet.shade((left, top + 0.5, right, bottom - 0.5), "cross")
            if right - left >= 1.2 * SIZE:
                turn = 0 if right - left > width_of("no data") + 6 else -90
                x = (left + right) / 2 + (0 if turn == 0 else 4)
                y = bottom - 34
                sheet.text(x, y, "no data", anchor="middle", look="t-soft t-halo", turn=turn)


def _moments(passage: Passage, alarms: Sequence[tuple[str, float]]) -> list[tuple[float, str, str]]:
    """(rig time, words, look of the line) of what is marked, in order."""
    found = [
        (told_at(event), words, "t-mark")
        for kind, words in (
            (EventKind.COAT_NOW, "COAT NOW"),
            (EventKind.GEL, "gelled"),
            (EventKind.MAY_OPEN, "may be opened"),
        )
        for event in passage.of_kind(kind)[:1]
    ]
    for kind, words in ((ActKind.COATING, "first stroke"), (ActKind.OPENED, "opened")):
        found += [(told_at(event), words, "t-mark") for event in passage.acts(kind)[:1]]
    return sorted(found + [(at, f"▲ {number}", "t-alarm") for number, at in alarms])
