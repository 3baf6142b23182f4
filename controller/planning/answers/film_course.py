"""How warm the film is from mixing on, and how far a rate that hangs on warmth has come by when."""

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass
from math import exp

from controller.planning.answers.shop_night import DAY, ShopNight
from controller.planning.heat_course import BRUSHING
from controller.planning.sheet import Coat

MIXING = 300.0
"""From A meeting B to the first stroke, [s]; common practice, no source: 3 to 4 min of stirring and
one for the thinner."""
COATING = 600.0
"""From the first stroke until the excess is scraped off, [s]; common practice, no source: 5 to
15 min."""
AIRING = 1200.0
"""How long a thinned coat is left open before film goes on it, [s]; common practice, no source: 10
to 30 min."""
BAGGING = 1200.0
"""Film, breather, bag, tape and pleats, rehearsed, [s]; own."""
STEP = 600.0
"""Longest step, [s]; own: halving it moves no end of a range by a minute."""
FOLLOWED = 2 * DAY
"""How far the steps go, [s]; own: the shop is the same each day from the second on."""
LONGEST = 60 * DAY
"""Nobody waits longer than this, [s]; own."""


@dataclass(frozen=True, slots=True)
class Evening:
    """When what is done, after lamp-on, if all goes as planned."""

    lamp_off: float
    """[s]."""
    mixed: float
    """A meets B, [s]."""
    stroke: float
    """The first one, [s]."""
    coated: float
    """The excess is scraped off, [s]."""
    sealed: float
    """The bag is shut, or would be, [s]."""


def evening_of(coat: Coat) -> Evening:
    """The evening of one coat.

    A resin that comes in solvent is opened and mixed only when the lamp is away, any other ahead of
    the first stroke, thinner last.
    """
    heat, mix = coat.heat, coat.mix
    lamp_off = heat.preheat + heat.soak
    # the first stroke waits for the window as well as for the hands
    stroke = lamp_off + max(heat.handling, heat.opens, MIXING if mix.carried > 0 else 0.0)
    coated = stroke + max(COATING, BRUSHING)
    airing = AIRING if mix.thinner + mix.carried > 0 else 0.0
    return Evening(
        lamp_off=lamp_off,
        mixed=max(stroke - MIXING, 0.0),
        stroke=stroke,
        coated=coated,
        sealed=coated + airing + BAGGING,
    )


@dataclass(frozen=True, slots=True)
class FilmCourse:
    """The film's temperature after lamp-on: the cup's, then the warm board's, then the shop's."""

    night: ShopNight
    """Of the shop."""
    evening: Evening
    """Of the coat."""
    cup: float
    """Of the mix before it is on the board, [K]."""
    above: float
    """How much warmer than the shop the board is at the first stroke, [K]."""
    settling: float
    """Time constant of the board's cooling, [s]."""

    def temperature(self, seconds: float) -> float:
        """Of the film this long after lamp-on, [K].

        The board cools as one lump from its face's warmth at the first stroke (own): its core is
        warmer, and the bag keeps warmth in, so this errs to cool.
        """
        if seconds < self.evening.stroke:
            return self.cup
        left = exp(-(seconds - self.evening.stroke) / self.settling)
        return self.night.temperature(seconds) + self.above * left

    def steps(self, long: float = FOLLOWED) -> list[tuple[float, float, float]]:
        """(start [s], length [s], temperature [K]) from mixing on, for so long [s]."""
        found, at = [], self.evening.mixed
        until = at + long
        while at < until:
            length = min(STEP, until - at)
            # the change of warmth at the first stroke falls between two steps
            if at < self.evening.stroke < at + length:
                length = self.evening.stroke - at
            found.append((at, length, self.temperature(at + length / 2)))
            at += length
        return found


def film_course(coat: Coat, night: ShopNight, cup: float) -> FilmCourse:
    """The film of one coat in this night.

    cup: temperature of the mix, [K]
    """
    board, heat = coat.board, coat.heat
    evening = evening_of(coat)
    face = (heat.window_low + heat.window_high) / 2
    if not heat.reachable:
        face = min(heat.settles_at, heat.window_low)
    return FilmCourse(
        night=night,
        evening=evening,
        cup=cup,
        above=max(face - night.temperature(evening.stroke), 0.0),
        settling=board.density
        * board.heat_capacity
        * board.thickness
        / (board.face_loss + board.back_loss),
    )


@dataclass(frozen=True, slots=True)
class Progress:
    """What a rate has added up to, step by step, and day by day after the second."""

    times: tuple[float, ...]
    """After lamp-on, at the ends of the steps, [s]."""
    sums: tuple[float, ...]
    """Added up by then, [s] at the rate's reference."""

    def by(self, seconds: float) -> float:
        """Added up this long after lamp-on, [s] at the rate's reference."""
        last = self.times[-1]
        if seconds > last:
            days = (seconds - last) // DAY + 1
            return days * self._each_day + self.by(seconds - days * DAY)
        i = bisect_left(self.times, seconds)
        if i == 0:
            return 0.0
        before, after = self.times[i - 1], self.times[i]
        share = (seconds - before) / (after - before)
        return self.sums[i - 1] + share * (self.sums[i] - self.sums[i - 1])

    def reached(self, amount: float, since: float = 0.0) -> float | None:
        """When this much more has been added up, after lamp-on, [s]; None: not in LONGEST.

        amount: [s] at the rate's reference      since: counted from then on, after lamp-on, [s]
        """
        wanted = self.by(since) + amount
        days = 0.0
        if wanted > self.sums[-1]:
            if self._each_day <= 0:
                return None
            days = (wanted - self.sums[-1]) // self._each_day + 1
            wanted -= days * self._each_day
        i = bisect_left(self.sums, wanted)
        if i == 0:
            return self.times[0]
        before, after = self.sums[i - 1], self.sums[i]
        share = (wanted - before) / (after - before)
        found = self.times[i - 1] + share * (self.times[i] - self.times[i - 1]) + days * DAY
        return found if found <= LONGEST else None

    @property
    def _each_day(self) -> float:
        return self.sums[-1] - self.by(self.times[-1] - DAY)


def progress(steps: list[tuple[float, float, float]], rate: Callable[[float], float]) -> Progress:
    """What a rate adds up to from mixing on.

    steps: of FilmCourse.steps, FOLLOWED of them where it is asked for what comes later
    rate: of the film's temperature [K], over the rate at its reference, [-]
    """
    times, sums = [steps[0][0]], [0.0]
    for at, length, temperature in steps:
        times.append(at + length)
        sums.append(sums[-1] + length * rate(temperature))
    return Progress(tuple(times), tuple(sums))
