"""Which band a board is warmed in: the coolest that leaves it warm enough off the lamp."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, inf

from controller.errors import InputError
from controller.planning.sheet import Board
from controller.science.slab import Slab, mean_temperature, steady_face, steady_mean
from controller.science.slab_forecast import SoakForecast
from controller.science.slab_soak import cooling_face, soak, warming
from controller.settings.bounds import degrees

BAND_WIDTH = 4.0
"""Of the preheat band, [K]; own: a relay and a probe's lag swing by less."""
COOLEST_ABOVE = 6.0
"""Top of the coolest band that is tried, above the window's foot, [K]; own."""
STEP = 1.0
"""Spacing of the bands that are tried, [K]; own."""
BRUSHING = 60.0
"""From the first stroke until the face is wet all over, [s]; own."""
MEAN_SHARE = 0.8
"""Of the mean rise this board can reach, the part a soak is held for, [-]; own."""
LAMP_LIMIT = 2700.0
"""Most lamp-on time that is planned for one face, [s]; own: the interlocks stop at an hour, and a
weaker lamp or a draught must find room under that."""
SOAK_LIMIT = 7200.0
"""Longest time in the band that is planned, [s]; own."""
COOLING = 2400.0
"""How far the cooling face is followed, [s]; own."""
STRONG_RISE = 20.0
"""A lamp that would settle this far above the highest band is strong enough for any, [K]; own."""
COOLEST_TO_SPARE = 2.0
"""Least the shop must be under the window's foot, [K]; own."""


@dataclass(frozen=True, slots=True)
class HeatTask:
    """A board, a lamp, a shop, and what is wanted of them."""

    board: Board
    """What is warmed."""
    flux: float
    """Absorbed under the lamp, [W/m2]."""
    room: float
    """The shop and the board at first, [K]."""
    window_low: float
    """Coat window, bottom, [K]."""
    window_high: float
    """Coat window, top, [K]."""
    band_top: float
    """Highest top the band may have, [K]."""
    handling: float
    """Lamp-off to first stroke, [s]."""
    trip: float
    """Of the rig, [K]."""

    def __post_init__(self) -> None:
        """Raises InputError where no cooling face could pass the window."""
        if not self.window_low < self.window_high <= self.band_top:
            raise InputError(
                f"coat window {degrees(self.window_low)} to {degrees(self.window_high)}: it must "
                f"open upwards and end at or under the band's limit, {degrees(self.band_top)}"
            )
        if self.room > self.window_low - COOLEST_TO_SPARE:
            raise InputError(
                f"room {degrees(self.room)}: the face must cool through the coat window, from "
                f"{degrees(self.window_low)} up; wait for a cooler shop or raise the window"
            )

    @property
    def slab(self) -> Slab:
        """The board as the forecasts take it."""
        board = self.board
        return Slab(
            board.thickness,
            board.conductivity,
            board.density,
            board.heat_capacity,
            board.face_loss,
            board.back_loss,
        )

    @property
    def needed_for(self) -> float:
        """How long after lamp-off the face must still be in the window, [s]."""
        return self.handling + BRUSHING


@dataclass(frozen=True, slots=True)
class Course:
    """One band tried: how the soak goes in it, and how the face falls after it."""

    task: HeatTask
    """What was asked."""
    top: float
    """Of the band, [K]."""
    target_mean: float
    """Mean of the board the soak ends at, [K]."""
    soak: float
    """Time in the band, [s]."""
    forecast: SoakForecast
    """The course."""
    cut: bool
    """The soak ends at its limits, short of the share it should reach."""

    @property
    def low(self) -> float:
        """Bottom of the band, [K]."""
        return self.top - BAND_WIDTH

    @property
    def reached(self) -> bool:
        """The lamp gets the face into the band in the time it may burn."""
        return self.forecast.reached

    @property
    def keeps(self) -> bool:
        """The face is still in the window when the last stroke is done."""
        return self.until(self.task.window_low) >= self.task.needed_for

    def until(self, temperature: float) -> float:
        """From lamp-off until the face is at this temperature [K], COOLING at the most, [s].

        Not for one under the window: there the cooling is followed no further.
        """
        return min(self.forecast.seconds_until_below(temperature), COOLING)


def course(
    task: HeatTask, top: float, flux: float, cooling: float, share: float = MEAN_SHARE
) -> Course:
    """The course of one soak.

    top: of the band, [K]      flux: absorbed, [W/m2]      cooling: how far it is followed, [s]
    share: of the mean rise within reach that ends the soak, [-]
    """
    slab, room, held = task.slab, task.room, top - BAND_WIDTH / 2
    face = min(held, settles_at(task, flux))
    reach = steady_mean(face, room, slab.back_h, slab.conductivity, slab.thickness)
    target = room + share * (reach - room)
    found = soak(slab, room, flux, top - BAND_WIDTH, held, target, LAMP_LIMIT, SOAK_LIMIT)
    mean = mean_temperature(found.nodes, slab.thickness)
    forecast = SoakForecast(
        reached=found.seconds_to_band < inf,
        seconds_to_band=found.seconds_to_band,
        lamp_seconds=found.lamp_seconds,
        face_at_off=found.nodes[0],
        mean_at_off=mean,
        back_at_off=found.nodes[-1],
        cooling=cooling_face(slab, found.nodes, room, cooling, task.window_low),
    )
    target = min(target, mean) if found.cut else target
    return Course(task, top, target, found.seconds, forecast, found.cut)


def settles_at(task: HeatTask, flux: float) -> float:
    """Face temperature with this lamp on for ever, [K]."""
    slab = task.slab
    return steady_face(flux, task.room, slab.face_h, slab.back_h, slab.conductivity, slab.thickness)


def flux_to_settle_at(task: HeatTask, face: float) -> float:
    """Absorbed flux whose steady face this is, [W/m2]."""
    return (face - task.room) / (settles_at(task, 1.0) - task.room)


@lru_cache(maxsize=16)
def plan_course(task: HeatTask) -> Course:
    """The coolest band that keeps the face warm enough; else the one to ask for or the best had.

    Where a stronger lamp would do, the band it would need is kept, though this one cannot reach it.
    The same task is reckoned once.
    """
    ample = max(task.flux, flux_to_settle_at(task, task.band_top + STRONG_RISE))
    tops = _tops(task)

    def keeps(place: int) -> bool:
        return course(task, tops[place], ample, task.needed_for).keeps

    def keeps_or_ends(place: int) -> bool:
        tried = course(task, tops[place], task.flux, task.needed_for)
        return tried.keeps or not tried.reached

    # a hotter band leaves a hotter face
    place = _first(keeps, 0, len(tops))
    if place == len(tops):
        return hottest_reached(task)
    # a weak lamp warms otherwise than an ample one
    if ample > task.flux:
        place = min(_first(keeps_or_ends, place, len(tops)), len(tops) - 1)
    return course(task, tops[place], task.flux, COOLING)


def hottest_reached(task: HeatTask) -> Course:
    """The hottest band this lamp gets the face into; the coolest where it gets into none."""
    tops, lit = _tops(task), warming(task.slab, LAMP_LIMIT)

    def out_of_reach(place: int) -> bool:
        return task.room + task.flux * lit.faces[-1] < tops[place] - BAND_WIDTH

    place = _first(out_of_reach, 0, len(tops))
    return course(task, tops[max(place - 1, 0)], task.flux, COOLING)


def _tops(task: HeatTask) -> list[float]:
    """Tops of the bands that are tried, coolest first, [K]."""
    coolest = min(task.window_low + COOLEST_ABOVE, task.band_top)
    count = ceil((task.band_top - coolest) / STEP)
    return [min(coolest + STEP * i, task.band_top) for i in range(count + 1)]


def _first(holds: Callable[[int], bool], low: int, high: int) -> int:
    """First place from `low` on, by halving, from which on it holds; `high` where it never does."""
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle + 1, high)
    return low
