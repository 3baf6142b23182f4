"""How warm the shop will be: from its temperature now to the forecast low and back by day."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, pi

HOUR, DAY = 3600.0, 86400.0
COLDEST_HOUR, WARMEST_HOUR = 5.0, 15.0
"""Hours of the day at which a shop is coldest and warmest, [h]; own: an hour or so after the
outdoor air, common practice, no source."""


@dataclass(frozen=True, slots=True)
class ShopNight:
    """The shop's temperature over the days from the start."""

    room: float
    """By day, as it is at the start, [K]."""
    low: float
    """Coldest of each night, [K]."""
    starts_at: float
    """Hour of the day the clock is started at, [h], 0 to 24."""

    def temperature(self, seconds: float) -> float:
        """Of the shop this long after the start, [K].

        Half waves between the warmest hour and the coldest, the same each day (own). It begins at
        `room`, which was measured: a start by day stays there until the warmest hour, a start by
        night falls from it to the coldest. A heated shop has low = room and a flat line.
        """
        hour = self.starts_at + seconds / HOUR
        falls_from = self._first_fall
        coldest = falls_from + (COLDEST_HOUR - falls_from) % 24
        if hour < falls_from:
            return self.room
        if hour < coldest:
            return self._between(1 - (hour - falls_from) / (coldest - falls_from))
        of_day, rise = (hour - coldest) % 24, (WARMEST_HOUR - COLDEST_HOUR) % 24
        if of_day < rise:
            return self._between(of_day / rise)
        return self._between(1 - (of_day - rise) / (24 - rise))

    @property
    def _first_fall(self) -> float:
        """Hour at which the shop first begins to cool, [h]."""
        by_day = COLDEST_HOUR <= self.starts_at < WARMEST_HOUR
        return WARMEST_HOUR if by_day else self.starts_at

    def _between(self, share: float) -> float:
        """Half a wave from the low (0) to the room by day (1), [K]."""
        return self.low + (self.room - self.low) * (1 - cos(pi * share)) / 2

    def steps(self, until: float, each: float = 600.0) -> Iterator[tuple[float, float]]:
        """(length [s], temperature [K] at its middle), from the start until that long after."""
        at = 0.0
        while at < until:
            length = min(each, until - at)
            yield length, self.temperature(at + length / 2)
            at += length
