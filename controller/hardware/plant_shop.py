"""The pretend shop: its air through day and night, and the air pressure outside the bag.

Weather is drawn at knots of rig time and joined by straight lines, so that the same seed gives the
same night however long the steps are.
"""

from dataclasses import dataclass
from math import cos, exp, pi, sqrt
from random import Random

DAY = 86400.0
"""[s]"""
KNOT = 600.0
"""Time between two draws of weather, [s]; own."""
CHILLING = {"heater_off": 7200.0, "cold": 600.0}
"""Time constant with which each fault cools the shop, [s]; own."""

FRONT = 3 * 3600.0
"""Time constant with which a front that comes moves the barometer, [s]; own."""


@dataclass(frozen=True, slots=True)
class ShopParameters:
    """The shop's air and weather."""

    start: float = 292.15
    """Air when the plant starts, 19 C, [K]; own."""
    night_low: float = 285.15
    """Coldest of an ordinary night, 12 C, [K]; own."""
    day_high: float = 292.15
    """Warmest of an ordinary day, 19 C, [K]; own."""
    start_hour: float = 18.0
    """Told time of day at the start, [h]; own."""
    low_hour: float = 5.5
    """Told time of the coldest air, [h]; own."""
    forgetting: float = 5 * 3600.0
    """Time constant with which the start joins the ordinary day, [s]; own."""
    wander: float = 0.15
    """Standard deviation of slow unrest of the air, [K]; own."""
    altitude: float = 150.0
    """Above sea level, [m]; own example."""
    weather: float = 300.0
    """Air pressure at the start above the altitude's, [Pa]; own."""
    pressure_rate: float = 100.0 / 3600
    """Standard deviation of the barometer's rate, [Pa/s]; 0.1 kPa/h, own."""
    outdoors: tuple[tuple[float, float], ...] = ()
    """Air outside [K] and its pressure [Pa], hour by hour from the start; in place of the ordinary
    day and of a barometer that wanders. The last hour stays."""
    walls: float = 8 * 3600.0
    """Time constant with which the shop follows the air outside, [s]; own."""
    gain: float = 3.0
    """Shop above the air outside it follows, [K]: sun and people; own."""
    heated: float = 287.15
    """A heater keeps an outdoor shop at this at least, 14 C, [K]; own."""


class Shop:
    """Air temperature and pressure; the weather part depends on nothing but the seed."""

    def __init__(self, parameters: ShopParameters, seed: int) -> None:
        self.parameters = parameters
        self.drops = dict.fromkeys(CHILLING, 0.0)
        """How far each fault will have cooled the air in the end, [K]."""
        self.front = 0.0
        """How far a front will have lowered the air pressure in the end, [Pa]."""
        self._lowered = 0.0
        self._elapsed = 0.0
        self._chill = dict.fromkeys(CHILLING, 0.0)
        self._rng = Random(seed)
        self._unrest = [0.0]
        self._barometer = [parameters.weather]
        self._rate = self._rng.gauss(0.0, parameters.pressure_rate)
        height = 1 - 2.25577e-5 * parameters.altitude
        self._usual = 101325.0 * float(height**5.2559)
        self._hours = _followed(parameters)
        self._begun = parameters.start - self._ordinary(0.0)
        self._look()

    def step(self, seconds: float) -> None:
        """Move weather and faults on by `seconds`."""
        self._elapsed += seconds
        for name, time in CHILLING.items():
            aim, chill = self.drops[name], self._chill[name]
            if aim != chill:
                self._chill[name] = aim + (chill - aim) * exp(-seconds / time)
        if self.front != self._lowered:
            self._lowered = self.front + (self._lowered - self.front) * exp(-seconds / FRONT)
        self._look()

    def _look(self) -> None:
        """Altitude by the standard atmosphere, ICAO Doc 7488, from memory, to be checked."""
        fading = self._begun * exp(-self._elapsed / self.parameters.forgetting)
        unrest = self._between(self._unrest) - sum(self._chill.values())
        self.temperature = self._ordinary(self._elapsed) + fading + unrest
        """Air temperature, [K]."""
        wandering = self._between(self._barometer)
        outside = self._of_hour(1) if self._hours else self._usual + wandering
        self.pressure = outside - self._lowered
        """Air pressure, [Pa]."""

    def _ordinary(self, elapsed: float) -> float:
        if self._hours:
            return max(self._of_hour(0, elapsed), self.parameters.heated)
        parameters = self.parameters
        hour = parameters.start_hour - parameters.low_hour + elapsed / 3600
        middle = (parameters.day_high + parameters.night_low) / 2
        return middle - (parameters.day_high - parameters.night_low) / 2 * cos(2 * pi * hour / 24)

    def _of_hour(self, which: int, elapsed: float | None = None) -> float:
        place = (self._elapsed if elapsed is None else elapsed) / 3600
        index = min(int(place), len(self._hours) - 1)
        here, there = self._hours[index], self._hours[min(index + 1, len(self._hours) - 1)]
        return here[which] + min(place - index, 1.0) * (there[which] - here[which])

    def _between(self, knots: list[float]) -> float:
        place = self._elapsed / KNOT
        index = int(place)
        while len(knots) < index + 2:
            self._draw()
        return knots[index] + (place - index) * (knots[index + 1] - knots[index])

    def _draw(self) -> None:
        """One more knot of both kinds of weather.

        Each is an Ornstein-Uhlenbeck walk, one of the air's unrest (1.5 h), one of the
        barometer's rate (3 h) with a pull back over two days; times own.
        """
        keep = exp(-KNOT / 5400.0)
        shake = self.parameters.wander * sqrt(1 - keep * keep)
        self._unrest.append(self._unrest[-1] * keep + self._rng.gauss(0.0, shake))
        keep = exp(-KNOT / 10800.0)
        shake = self.parameters.pressure_rate * sqrt(1 - keep * keep)
        self._rate = self._rate * keep + self._rng.gauss(0.0, shake)
        back = self._barometer[-1] * KNOT / (2 * DAY)
        self._barometer.append(self._barometer[-1] + self._rate * KNOT - back)


def _followed(parameters: ShopParameters) -> tuple[tuple[float, float], ...]:
    """The shop's own air and its pressure at each hour: walls let the outside in slowly."""
    air, found = None, []
    keep = exp(-3600.0 / parameters.walls)
    for outside, pressure in parameters.outdoors:
        aim = outside + parameters.gain
        air = aim if air is None else aim + (air - aim) * keep
        found.append((air, pressure))
    return tuple(found)
