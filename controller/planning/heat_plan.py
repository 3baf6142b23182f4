"""How a board is warmed, and what to change where that cannot be had in full."""

from dataclasses import replace

from controller.planning.heat_course import (
    BRUSHING,
    LAMP_LIMIT,
    Course,
    HeatTask,
    course,
    flux_to_settle_at,
    hottest_reached,
    plan_course,
    settles_at,
)
from controller.planning.sheet import Heat
from controller.quantities import People, say
from controller.settings import TRIP_LIMIT
from controller.settings.bounds import degrees

FACE_LOSS = 11.0
"""Film coefficient of a face in still shop air at 40 to 50 C, radiation included, [W/m2 K]; own:
about 6 by radiation and 5 by free convection."""
OPEN_BACK = 6.0
"""The same of a back that stands free on stickers, [W/m2 K]; own."""
LINED_BACK = 0.5
"""The same of a back that lies on 50 mm of foam, [W/m2 K]; own."""
TRIP_MARGIN = 10.0
"""Trip above the band's top, [K]; own."""
ABOVE_THE_BAND = 8.0
"""How far above a band's foot a lamp should settle to get there in good time, [K]; own."""
QUICKEST_HANDLING = 30.0
"""No handling time under this is asked of anyone, [s]; own."""
LONGER_SHARE = 0.95
"""Of the mean rise within reach, what a longer soak would go to, [-]; own."""


def plan_heat(task: HeatTask) -> Heat:
    """The heat for a task; its `advice` says what to change where it cannot be had in full."""
    found = plan_course(task)
    high = found.top
    return Heat(
        band_low=found.low,
        band_high=high,
        trip=min(high + TRIP_MARGIN, task.trip, TRIP_LIMIT),
        window_low=task.window_low,
        window_high=task.window_high,
        target_mean=found.target_mean,
        settles_at=settles_at(task, task.flux),
        reachable=found.reached,
        advice=_advice(found),
        preheat=found.forecast.seconds_to_band if found.reached else LAMP_LIMIT,
        soak=found.soak,
        lamp_on=found.forecast.lamp_seconds if found.reached else LAMP_LIMIT,
        opens=found.until(task.window_high),
        shuts=found.until(task.window_low),
        handling=task.handling,
    )


def _advice(found: Course) -> str | None:
    """What to change where the band or the window cannot be had; None when all is well."""
    task = found.task
    if found.reached and found.keeps and not found.cut:
        return None
    if found.reached and found.keeps:
        return (
            f"The soak ends at the lamp's limit with the board's mean at "
            f"{degrees(found.target_mean)}: turn the board half-way, or use more lamp."
        )
    if found.reached:
        return (
            f"The face is under {degrees(task.window_low)} before the coat is on, "
            f"{_time(task.needed_for)} after lamp-off, even from this band. "
            f"{' '.join(_other_ways(found)) or _all_at_once(task)}"
        )
    slow = ""
    if settles_at(task, task.flux) > found.low:
        slow = f"It would take this lamp more than {_time(LAMP_LIMIT)}. "
    wanted = flux_to_settle_at(task, found.low + ABOVE_THE_BAND)
    lamp = (
        f"The band asks for about {wanted:.0f} W/m2 on the face and the lamp gives "
        f"{task.flux:.0f}: a second lamp would do, or a measured lamp.absorbed in the settings."
    )
    return slow + " ".join([lamp, *_other_ways(found)])


def _other_ways(found: Course) -> list[str]:
    """Back, soak, handling time: whichever would do by itself."""
    task, ways = found.task, []
    board = task.board
    if board.back_loss > LINED_BACK:
        lined = replace(task, board=replace(board, back_loss=LINED_BACK))
        tried = course(lined, found.top, task.flux, task.needed_for)
        if tried.reached and tried.keeps:
            ways.append("Lining the back would do.")
    best = found if found.reached else hottest_reached(task)
    if best.reached and not best.keeps:
        quick = best.until(task.window_low) - BRUSHING
        if quick >= QUICKEST_HANDLING:
            ways.append(
                f"Coating within {_time(quick)} of lamp-off would do: "
                f"rehearse it and set handling_time."
            )
        if course(task, best.top, task.flux, task.needed_for, LONGER_SHARE).keeps:
            ways.append("A longer soak would do: go on past the sheet's mean.")
    return ways


def _all_at_once(task: HeatTask) -> str:
    back = "line the back, " if task.board.back_loss > LINED_BACK else ""
    return f"No single change would do: {back}warm the shop and coat faster."


def _time(seconds: float) -> str:
    return say(seconds, "duration", People())
