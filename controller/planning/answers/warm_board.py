"""The board of one coat as it is warmed and as it cools: its face, its mean and its back."""

from bisect import bisect_left
from dataclasses import dataclass, replace
from functools import lru_cache
from math import inf, isclose

from controller.planning.answers.case import Case
from controller.planning.heat_course import (
    BAND_WIDTH,
    BRUSHING,
    LAMP_LIMIT,
    SOAK_LIMIT,
    HeatTask,
    flux_to_settle_at,
)
from controller.planning.sheet import Heat
from controller.planning.turning import TurnForecast, turning_gain
from controller.science.slab import SlabStep, mean_temperature
from controller.science.slab_soak import soak, warming
from controller.settings import BAND_TOP_LIMIT, TRIP_LIMIT

COOLING_STEP = 20.0
"""Step of the cooling board, [s]; own: its mean is wanted, which moves slowly."""
LATE = 600.0
"""How long after lamp-off the cooling is followed at the least, [s]; own."""


@dataclass(frozen=True, slots=True)
class Moment:
    """The board at one moment."""

    face: float
    """[K]."""
    mean: float
    """[K]."""
    back: float
    """[K]."""


@dataclass(frozen=True, slots=True)
class WarmBoard:
    """The thickest board of a coat, from lamp-on until the coat is on."""

    in_band: Moment
    """When the face has just come into the band, or at the lamp's limit."""
    at_off: Moment
    """At lamp-off."""
    coated_at: float
    """From lamp-off until the face is wet all over, [s]."""
    times: tuple[float, ...]
    """Since lamp-off, [s]."""
    means: tuple[float, ...]
    """Of the board at those times, [K]."""

    def mean_after(self, seconds: float) -> float:
        """Mean of the board this long after lamp-off, [K]; held at the last one that is known."""
        i = bisect_left(self.times, seconds)
        if i == 0 or i == len(self.times):
            return self.means[min(i, len(self.means) - 1)]
        share = (seconds - self.times[i - 1]) / (self.times[i] - self.times[i - 1])
        return self.means[i - 1] + share * (self.means[i] - self.means[i - 1])

    @property
    def mean_when_coated(self) -> float:
        """Mean of the board when the face is wet all over, [K]."""
        return self.mean_after(self.coated_at)


def heat_task(case: Case) -> HeatTask:
    """What the coat's heat was planned from; the flux is the one the sheet settles with."""
    asked, rig, heat = case.description.heat, case.settings.heat, case.coat.heat
    limit = min(rig.band_top_limit, BAND_TOP_LIMIT)
    task = HeatTask(
        board=case.coat.board,
        flux=case.settings.lamp.absorbed,
        room=case.description.shop.room,
        window_low=heat.window_low,
        window_high=heat.window_high,
        band_top=limit if asked.band_top is None else asked.band_top,
        handling=heat.handling,
        trip=min(rig.trip, TRIP_LIMIT),
    )
    planned = flux_to_settle_at(task, heat.settles_at)
    # the same number, so that a heat that was reckoned before is found again
    return task if isclose(planned, task.flux) else replace(task, flux=planned)


def warm_board(case: Case) -> WarmBoard:
    """The course of the coat's board; the same heat is reckoned once."""
    return _warm_board(heat_task(case), case.coat.heat)


@lru_cache(maxsize=64)
def turn_of(task: HeatTask) -> TurnForecast:
    """What turning the board does; the same heat is reckoned once."""
    return turning_gain(task)


@lru_cache(maxsize=64)
def _warm_board(task: HeatTask, heat: Heat) -> WarmBoard:
    slab, room, thickness = task.slab, task.room, task.board.thickness
    held = heat.band_high - BAND_WIDTH / 2
    lit = warming(slab, LAMP_LIMIT)
    reached = lit.seconds_to(lit.faces, (heat.band_low - room) / task.flux)
    rises = lit.nodes_at(LAMP_LIMIT if reached == inf else reached)
    in_band = _moment([room + task.flux * rise for rise in rises], thickness)
    found = soak(
        slab, room, task.flux, heat.band_low, held, heat.target_mean, LAMP_LIMIT, SOAK_LIMIT
    )
    nodes = list(found.nodes)
    at_off = _moment(nodes, thickness)
    # the first stroke waits for the window as well as for the hands
    coated_at = max(heat.opens, heat.handling) + BRUSHING
    until = max(coated_at, heat.shuts, LATE)
    step = SlabStep(slab, COOLING_STEP)
    times, means = [0.0], [at_off.mean]
    while times[-1] < until:
        nodes = step.advance(nodes, 0.0, room)
        times.append(times[-1] + COOLING_STEP)
        means.append(mean_temperature(nodes, thickness))
    return WarmBoard(in_band, at_off, coated_at, tuple(times), tuple(means))


def _moment(nodes: list[float], thickness: float) -> Moment:
    return Moment(nodes[0], mean_temperature(nodes, thickness), nodes[-1])
