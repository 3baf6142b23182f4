"""What turning the board half-way through its heat does for the mean of the board."""

from dataclasses import dataclass
from itertools import pairwise
from math import inf

from controller.planning.heat_course import BAND_WIDTH, LAMP_LIMIT, HeatTask, plan_course
from controller.science.slab import mean_temperature
from controller.science.slab_soak import hold, soak, warming

PAYS_FROM = 1.0
"""Gain on the mean from which a turn is worth the handling, [K]; own: a tenth of what a soak of a
thick board brings, and no more than a sheet's figures are good for."""


@dataclass(frozen=True, slots=True)
class TurnForecast:
    """The same board under the same lamp for the same time, with one turn and without."""

    seconds: float
    """From lamp-on to lamp-off, the same in both, [s]."""
    turn_at: float
    """When the board is turned: half of it, [s]."""
    mean: float
    """Mean of the board at lamp-off with the turn, [K]."""
    mean_unturned: float
    """Mean without it, as the heat is planned, [K]."""
    face: float
    """Face under the lamp at lamp-off with the turn, [K]."""
    band_low: float
    """Bottom of the band that is planned, [K]."""
    sooner: float
    """How much sooner the turned board has the mean of the other one, [s]; 0 if it never has."""

    @property
    def gain(self) -> float:
        """What the turn does to the mean, [K]; below 0 where it does harm."""
        return self.mean - self.mean_unturned

    @property
    def pays(self) -> bool:
        """The turn is worth its handling, and the face it ends on is back in the band."""
        return self.gain >= PAYS_FROM and self.face >= self.band_low


def turning_gain(task: HeatTask) -> TurnForecast:
    """What one turn half-way gains on the mean of the board in its planned heat, [K].

    task: as plan_heat takes it; a band out of reach is followed to the lamp's limit

    The board's nodes are turned round at half-time and the lamp goes on: the losses of the two
    sides stay with the lamp side and the lying side (own). Leaves out the time the board is in the
    hands, when both faces cool and the lamp is off, so it errs to too great a gain. The face that
    is under the lamp at the end is the one to coat: begin with the other one up. Raises RangeError
    for a lamp of no flux.

    >>> from controller.planning.sheet import Board
    >>> oak = Board(
    ...     thickness=0.045, conductivity=0.17, density=740, heat_capacity=1570, porosity=0.48,
    ...     moisture=0.08, face_loss=11, back_loss=0.5,
    ... )
    >>> turn = turning_gain(HeatTask(oak, 600, 293.15, 305.15, 311.15, 323.15, 120, 333.15))
    >>> turn.pays
    True
    """
    found = plan_course(task)
    seconds = found.forecast.seconds_to_band + found.soak if found.reached else LAMP_LIMIT
    held, half = found.top - BAND_WIDTH / 2, seconds / 2
    slab, thickness = task.slab, task.board.thickness
    over = _half_way(task, found.low, held, half)[::-1]
    turned = [(0.0, over), *hold(slab, over, task.room, task.flux, held, half)]
    mean = found.forecast.mean_at_off
    course = [(now, mean_temperature(nodes, thickness)) for now, nodes in turned]
    return TurnForecast(
        seconds=seconds,
        turn_at=half,
        mean=course[-1][1],
        mean_unturned=mean,
        face=turned[-1][1][0],
        band_low=found.low,
        sooner=max(half - _reached(course, mean), 0.0),
    )


def _half_way(task: HeatTask, low: float, held: float, seconds: float) -> list[float]:
    """The board this long after lamp-on, face first, [K].

    low: bottom of the band, [K]      held: where the face is kept, [K]      seconds: [s]
    """
    lit = warming(task.slab, LAMP_LIMIT)
    left = seconds - lit.seconds_to(lit.faces, (low - task.room) / task.flux)
    if left <= 0:
        return [task.room + task.flux * rise for rise in lit.nodes_at(seconds)]
    # no mean is wanted: the time ends it
    found = soak(task.slab, task.room, task.flux, low, held, inf, LAMP_LIMIT, left)
    return list(found.nodes)


def _reached(course: list[tuple[float, float]], mean: float) -> float:
    """When a course of (time [s], mean [K]) is first at this mean, [s]; inf if never."""
    if course[0][1] >= mean:
        return course[0][0]
    for (before, low), (after, high) in pairwise(course):
        if high >= mean:
            return before + (after - before) * (mean - low) / (high - low)
    return inf
