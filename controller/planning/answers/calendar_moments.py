"""Moments of a coat: on the calendar where a start is told, else as time after lamp-on."""

from zoneinfo import ZoneInfo

from controller.planning.answers.case import Case
from controller.planning.answers.line import Told
from controller.planning.answers.shop_night import DAY

FAR = 6 * DAY
"""From here on a weekday alone is another week's, [s]; by the calendar, a day to spare."""


def on_the_calendar(case: Case) -> bool:
    """The start of this coat is told: it is the first one, and the description has a start.

    When a later coat is begun nobody knows yet, so its moments count from its own lamp-on.
    """
    return case.description.times.start is not None and case.coat.number == 1


def moment(case: Case, seconds_after_start: float, source: str) -> Told:
    """A moment of this coat, as a clock or as a duration.

    seconds_after_start: after this coat's lamp-on, [s]      source: of how it was reckoned
    """
    start = case.description.times.start
    if start is None or not on_the_calendar(case):
        return Told("duration", seconds_after_start, source)
    began = start.replace(tzinfo=ZoneInfo(case.settings.shop.time_zone))
    return Told("clock", began.timestamp() + seconds_after_start, source)


def after_lamp_on(case: Case) -> str:
    """What a sentence has to add after its moments: nothing where they are on the calendar."""
    return "" if on_the_calendar(case) else " after lamp-on"


def far_off(case: Case, gap: str, seconds: float, source: str) -> tuple[str, dict[str, Told]]:
    """A moment that may be weeks away, as words with gaps and their figures.

    gap: its name in the sentence      seconds: after this coat's lamp-on, [s]

    From FAR on a weekday names the wrong week, so the time until then stands behind it.
    """
    figures = {gap: moment(case, seconds, source)}
    if seconds < FAR or not on_the_calendar(case):
        return f"{{{gap}}}", figures
    figures[f"{gap}_wait"] = Told("duration", seconds, source)
    return f"{{{gap}}} (in {{{gap}_wait}})", figures


def clock_face(hour: float) -> str:
    """An hour of the day [h] as a clock shows it."""
    minutes = round(hour * 60) % (24 * 60)
    return f"{minutes // 60:02}:{minutes % 60:02}"


def if_lit_at(case: Case) -> str:
    """A short sentence before one that hangs on the hour; nothing where a start is told."""
    if on_the_calendar(case):
        return ""
    return f"Lamp lit at {clock_face(case.night.starts_at)}. "
