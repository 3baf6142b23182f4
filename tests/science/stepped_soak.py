"""A board under a lamp, stepped the plain way: what the quick forecast is held to.

The lamp here is ideal: full on until the face is there, then dimmed so that it stays.
"""

from collections.abc import Iterator
from math import inf

from controller.errors import RangeError
from controller.science.slab import NODES, Slab, SlabStep, mean_temperature, steady_face
from controller.science.slab_forecast import COOLING_STEP, SoakForecast

FINE_STEP = 1.0
"""Step while the lamp first warms the face, [s]; own."""
COARSE_STEP = 10.0
"""Step after FINE_STEPS of warming and while the face is held, [s]; own."""
FINE_STEPS = 300
"""How many fine steps, own: by 5 min even a weak lamp moves the face under 0.02 K/s."""


class _LitBoard:
    """A board under a lamp that warms the face to `held` and keeps it there without ripple."""

    __slots__ = ("_flux", "_held", "_room", "_slab", "_steps", "lamp_seconds", "nodes", "seconds")

    def __init__(self, slab: Slab, start: float, room: float, flux: float, held: float) -> None:
        self._slab, self._room, self._flux, self._held = slab, room, flux, held
        self._steps: dict[float, tuple[SlabStep, list[float]]] = {}
        self.nodes = [start] * NODES
        self.seconds = 0.0
        self.lamp_seconds = 0.0

    def advance(self, step_seconds: float) -> None:
        # The board is linear in the flux: the excess over `held` tells how much less lamp will do.
        if step_seconds not in self._steps:
            step = SlabStep(self._slab, step_seconds)
            self._steps[step_seconds] = step, step.advance([0.0] * NODES, self._flux, 0.0)
        step, reply = self._steps[step_seconds]
        nodes = step.advance(self.nodes, self._flux, self._room)
        spared = min(1.0, max(0.0, (nodes[0] - self._held) / reply[0])) if self._flux else 1.0
        if spared:
            nodes = [node - spared * gain for node, gain in zip(nodes, reply, strict=True)]
        self.nodes = nodes
        self.seconds += step_seconds
        self.lamp_seconds += (1.0 - spared) * step_seconds

    def until(self, limit_seconds: float) -> Iterator[float]:
        """Step on to the limit, fine at first; yields each step's length, [s]."""
        while self.seconds < limit_seconds:
            length = FINE_STEP if self.seconds < FINE_STEPS * FINE_STEP else COARSE_STEP
            self.advance(length)
            yield length


def _crossing(before: float, after: float, level: float, length: float, end: float) -> float:
    """When a straight line over the step of this length that ended at `end` met the level, [s]."""
    return end if after == before else end - length * (after - level) / (after - before)


def seconds_to_reach(
    slab: Slab, start: float, room: float, flux: float, face: float, limit_seconds: float
) -> float:
    """Lamp-on time until the face is at `face`, [s]; inf when it is not within the limit.

    slab: the board                              start: its even temperature now, [K]
    room: air on both sides, [K]                 flux: absorbed under the lamp, [W/m2]
    face: temperature to reach, [K]              limit_seconds: when to give up, [s]
    """
    if start >= face:
        return 0.0
    if _settles(slab, room, flux) <= face:
        return inf
    board = _LitBoard(slab, start, room, flux, inf)
    before = start
    for length in board.until(limit_seconds):
        if board.nodes[0] >= face:
            return _crossing(before, board.nodes[0], face, length, board.seconds)
        before = board.nodes[0]
    return inf


def seconds_to_mean(
    slab: Slab,
    start: float,
    room: float,
    flux: float,
    held: float,
    mean: float,
    limit_seconds: float,
) -> float:
    """Time from lamp-on until the board's mean is at `mean`, [s]; inf if not within the limit.

    held: where the face is kept once it is there, [K]; the rest as `seconds_to_reach`.
    """
    if start >= mean:
        return 0.0
    board = _LitBoard(slab, start, room, flux, held)
    before = start
    for length in board.until(limit_seconds):
        after = mean_temperature(board.nodes, slab.thickness)
        if after >= mean:
            return _crossing(before, after, mean, length, board.seconds)
        before = after
    return inf


def forecast_soak(
    slab: Slab,
    start: float,
    room: float,
    flux: float,
    low: float,
    high: float,
    soak_seconds: float,
    cooling_seconds: float,
    limit_seconds: float,
) -> SoakForecast:
    """The course of one soak: warm, hold the middle of the band, lamp off, cool in the room.

    slab: the board                              start: its even temperature now, [K]
    room: air on both sides, [K]                 flux: absorbed under the lamp, [W/m2]
    low, high: the band, [K]                     soak_seconds: from reaching `low`, [s]
    cooling_seconds: how far the cooling is followed, [s]
    limit_seconds: when to give up reaching `low`, [s]; then the board is forecast as it is there

    Leaves out the wet coat, which cools the face further.
    """
    if not low < high:
        raise RangeError(f"a band from {low} K to {high} K is upside down")
    if min(soak_seconds, cooling_seconds, limit_seconds) < 0:
        raise RangeError(
            f"soak {soak_seconds} s, cooling {cooling_seconds} s and limit {limit_seconds} s "
            "must be 0 or more"
        )
    board = _LitBoard(slab, start, room, flux, (low + high) / 2)
    to_band = 0.0 if start >= low else inf
    if to_band and _settles(slab, room, flux) > low:
        before = start
        for length in board.until(limit_seconds):
            if board.nodes[0] >= low:
                to_band = _crossing(before, board.nodes[0], low, length, board.seconds)
                break
            before = board.nodes[0]
    reached = to_band < inf
    end = to_band + soak_seconds if reached else board.seconds
    # The first fine steps take the face from the band's bottom to its middle.
    while reached and board.seconds < end:
        fine = board.lamp_seconds == board.seconds
        board.advance(min(FINE_STEP if fine else COARSE_STEP, end - board.seconds))
    cooling = [board.nodes[0]]
    step = SlabStep(slab, COOLING_STEP)
    nodes = board.nodes
    while COOLING_STEP * (len(cooling) - 1) < cooling_seconds:
        nodes = step.advance(nodes, 0.0, room)
        cooling.append(nodes[0])
    return SoakForecast(
        reached=reached,
        seconds_to_band=to_band,
        lamp_seconds=board.lamp_seconds,
        face_at_off=board.nodes[0],
        mean_at_off=mean_temperature(board.nodes, slab.thickness),
        back_at_off=board.nodes[-1],
        cooling=tuple(cooling),
    )


def _settles(slab: Slab, room: float, flux: float) -> float:
    if slab.face_h + slab.back_h == 0:
        return inf
    return steady_face(flux, room, slab.face_h, slab.back_h, slab.conductivity, slab.thickness)
