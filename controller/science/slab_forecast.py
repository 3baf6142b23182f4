"""A course under the lamp and after it, as it is handed on: read a face off it, or a time."""

from dataclasses import dataclass
from math import inf

from controller.errors import RangeError

COOLING_STEP = 2.0
"""Spacing of a forecast cooling curve, [s]; own."""


@dataclass(frozen=True, slots=True)
class SoakForecast:
    """What a lamp held to a band does to a board, and how the face falls once it is off."""

    reached: bool
    """The face gets to the band's bottom within the limit."""
    seconds_to_band: float
    """From lamp-on to the band's bottom, [s]; inf when it is not reached."""
    lamp_seconds: float
    """How long the lamp burns altogether, [s]."""
    face_at_off: float
    """Face at lamp-off, [K]."""
    mean_at_off: float
    """Mean of the board at lamp-off, [K]."""
    back_at_off: float
    """Back at lamp-off, [K]."""
    cooling: tuple[float, ...]
    """Face after lamp-off, one value every COOLING_STEP, [K]."""

    def face_after(self, seconds: float) -> float:
        """Face this long after lamp-off, [K]; RangeError past the end of the forecast."""
        place = seconds / COOLING_STEP
        if not 0 <= place <= len(self.cooling) - 1:
            raise RangeError(
                f"{seconds} s after lamp-off is outside a forecast of "
                f"{COOLING_STEP * (len(self.cooling) - 1)} s"
            )
        i = min(int(place), len(self.cooling) - 2)
        return self.cooling[i] + (place - i) * (self.cooling[i + 1] - self.cooling[i])

    def seconds_until_below(self, temperature: float) -> float:
        """When the face falls to this temperature [K], [s] after lamp-off; inf if later."""
        if self.cooling[0] <= temperature:
            return 0.0
        for i, (before, after) in enumerate(zip(self.cooling, self.cooling[1:], strict=False)):
            if after <= temperature:
                return COOLING_STEP * (i + (before - temperature) / (before - after))
        return inf
