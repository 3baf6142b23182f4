"""When to coat: the lamp off, the face in the coat window and falling; and what waiting costs."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

from controller.batch.signals import Sample
from controller.errors import InputError
from controller.science import pores

LOOK_BACKS = (10.0, 30.0)
"""Stretches of samples that are tried for a slope, [s]; own: the short one sees the drop after
lamp-off at once, the long one a 1/16 K probe that falls half a kelvin in a minute."""
FEWEST = 5
"""Fewer different samples make no slope; own."""
LEAST_SPAN = 8.0
"""Samples closer together than this make no slope, [s]; own."""
OLDEST = 10.0
"""With nothing newer than this, nothing is known of now, [s]; a number older than 10 s is not
shown as live either."""
SLOWEST_FALL = 0.002
"""A face that falls slower than this stands still, [K/s]; own: a shop at night cools as fast."""
SURE = 4.0
"""The slope must be this many of its own standard errors below zero; own."""
LEAST_SCATTER = 0.02
"""Standard error of one sample, never taken as less: a 1/16 K step spread evenly, [K]; own."""


@dataclass(frozen=True, slots=True)
class CoatWindow:
    """Face temperatures between which thin resin is brushed on."""

    bottom: float
    """Below it the resin is thick again, [K]."""
    top: float
    """Above it the resin and its thinner are too hot to brush, [K]."""

    def __post_init__(self) -> None:
        if not self.bottom < self.top:
            raise InputError(
                f"coat window from {self.bottom:.2f} K to {self.top:.2f} K is upside down; "
                "give the lower temperature first"
            )


DEFAULT_COAT_WINDOW = CoatWindow(bottom=305.15, top=311.15)
"""32 to 38 degC, 90 to 100 degF; common practice, no source."""


class Moment(StrEnum):
    """What the person with the brush should hear."""

    NOT_YET = "not yet"
    NOW = "coat now"
    LATE = "less thin now"


@dataclass(frozen=True, slots=True)
class CoatMoment:
    """Where the board is on its way through the coat window."""

    moment: Moment
    """What to say."""
    face: float
    """Face, as judged by, [K]."""
    seconds_left: float | None
    """Until the face leaves the window, [s]; None when the forecast does not go that far."""
    draw_left: float
    """Share of the draw at lamp-off still to come, 0 to 1, [-]."""


@dataclass(frozen=True, slots=True)
class _Line:
    newest: float
    slope: float
    slope_error: float


def falling(samples: Sequence[Sample], now: float) -> bool:
    """Whether the face is falling: by the slope of its last samples and the slope's own doubt.

    samples: of the face, oldest first, values [K]; repeats of one measurement count once
    now: rig time, [s]

    A probe that lags shows a fall late, never early: while it falls, the face is below it. False
    where too few samples, or none new enough, can tell.
    """
    return any(
        line.slope < -max(SLOWEST_FALL, SURE * line.slope_error) for line in _lines(samples, now)
    )


def face_without_lag(samples: Sequence[Sample], now: float, lag: float) -> float | None:
    """The face a lagging probe is on its way to, reading + lag x slope, [K]; None if unknown.

    samples, now: as in `falling`       lag: time constant of the probe, [s]

    For a rig whose face is not modelled. Right while the slope is steady; in the first seconds
    after lamp-off it reads high, so the window opens late rather than early.
    """
    for line in _lines(samples, now):
        return line.newest + lag * line.slope
    return None


def draw_to_come(
    at_off: float, warm: float, room: float, pressure: float, moisture: float
) -> float:
    """Share of the draw at lamp-off that is still to come, 0 to 1, [-]; air and wood's vapour.

    at_off: mean of the board at lamp-off, [K]       warm: its mean now, [K]
    room: air, [K]       pressure: of the pore gas, [Pa]       moisture: of the wood, [kg/kg]

    Nothing is left of a board at the room's temperature. An upper bound, as `pores.draw` says.
    """
    # a hair above the room it may round to nothing
    if warm <= room or pores.draw(warm, room, pressure, moisture) <= 0.0:
        return 0.0
    return min(1.0, pores.draw_left(max(at_off, warm), warm, room, pressure, moisture))


def coat_moment(
    *,
    window: CoatWindow,
    lamp_commanded: bool,
    lamp_fed: bool | None,
    face: float,
    is_falling: bool,
    seconds_left: float | None,
    draw_left: float,
) -> CoatMoment:
    """What to say of this board now.

    lamp_commanded: the lamp's command       lamp_fed: its circuit is live; None: no sense line
    face: best knowledge of it, [K]          is_falling: as `falling` found it
    seconds_left: until the face is at the window's bottom, [s]; None when not foreseen
    draw_left: share of the draw at lamp-off still to come, 0 to 1, [-]

    A live lamp, commanded or not, is never a moment to coat. Under the window's bottom it is late
    whether the face still falls or not.
    """
    lamp_off = not lamp_commanded and lamp_fed is not True
    if not lamp_off:
        moment = Moment.NOT_YET
    elif face < window.bottom:
        moment, seconds_left = Moment.LATE, 0.0
    elif face <= window.top and is_falling:
        moment = Moment.NOW
    else:
        moment = Moment.NOT_YET
    return CoatMoment(
        moment=moment,
        face=face,
        seconds_left=seconds_left,
        draw_left=draw_left,
    )


def _lines(samples: Sequence[Sample], now: float) -> Iterator[_Line]:
    """The lines through the last samples, the shortest stretch first, where they carry one."""
    for look_back in LOOK_BACKS:
        recent = {s.at: s.value for s in samples if now - look_back <= s.at <= now}
        line = _line(recent, now)
        if line is not None:
            yield line


def _line(recent: dict[float, float], now: float) -> _Line | None:
    """Least squares through values by their time; None where they cannot carry a line."""
    if len(recent) < FEWEST or max(recent) < now - OLDEST:
        return None
    if max(recent) - min(recent) < LEAST_SPAN:
        return None
    count = len(recent)
    middle_at = sum(recent) / count
    middle = sum(recent.values()) / count
    width = sum((at - middle_at) ** 2 for at in recent)
    slope = sum((at - middle_at) * (value - middle) for at, value in recent.items()) / width
    misses = sum((value - middle - slope * (at - middle_at)) ** 2 for at, value in recent.items())
    scatter = max(LEAST_SCATTER, sqrt(misses / (count - 2)))
    return _Line(
        newest=middle + slope * (max(recent) - middle_at),
        slope=slope,
        slope_error=scatter / sqrt(width),
    )
