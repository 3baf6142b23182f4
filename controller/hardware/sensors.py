"""Pretend sensors: probe, transducer and infrared eye, with their lag, noise and resolution."""

from math import exp, hypot
from random import Random

from controller.batch.signals import Sample

ZERO_CELSIUS = 273.15
"""0 C, [K]; by definition."""
PROBE_STEPS = 16
"""Steps per degree of a DS18B20 at 12 bit, [1/K]; its data sheet, from memory, to be checked."""
PROBE_RANGE = (-55 * PROBE_STEPS, 125 * PROBE_STEPS)
"""Counts it can give; same source."""
COUNT = 187.5e-6
"""One count of a 16-bit converter at +-6.144 V, [V]; Texas Instruments SBAS444, table of full
scales, from memory, to be checked."""
EYE_STEP = 0.02
"""One count of an infrared thermometer, [K]; Melexis MLX90614 data sheet, from memory, to be
checked."""
LAMPLIGHT = 4.0
"""What a burning lamp in the mirror of the face adds to what it sees, [K]; own."""
DEAD_VOLTS, LIVE_VOLTS = 0.5, 4.0
"""Volts at zero pressure, and volts more at full span, on 5 V; common practice, no source."""


class ContactProbe:
    """A DS18B20 under tape or in a pocket: first-order lag, noise, 1/16 K, a conversion at a time.

    It tells nothing before the first `follow`.
    """

    def __init__(
        self, rng: Random, lag: float = 8.0, noise: float = 0.04, period: float = 1.0
    ) -> None:
        """lag: time constant in its place, [s]     noise: before rounding, rms, [K]

        period: between conversions, [s]; a finished one stands until the next
        """
        self.offset = 0.0
        """Added to what it would read, [K]."""
        self.lag = lag
        """Time constant where it is now, [s]."""
        self.unrest = 0.0
        """Noise beside its own, rms, [K]."""
        self.raw = 0
        """Newest conversion, [1/16 C]."""
        self.at = float("-inf")
        """Rig time of the newest conversion, [s]."""
        self._rng, self._noise, self._period = rng, noise, period
        self._now: float | None = None
        self._place = self._tip = 0.0

    @property
    def value(self) -> float:
        """Newest conversion, [K]."""
        return self.raw / PROBE_STEPS + ZERO_CELSIUS

    @property
    def sample(self) -> Sample | None:
        """Newest conversion as a sample, [K]; None before the first."""
        return None if self._now is None else Sample(self.value, self.at)

    def follow(self, now: float, truth: float) -> bool:
        """Warm the tip on to `now`, [s], its place having gone in a straight line to `truth`, [K].

        True when a conversion finished. The lag is exact for any length of step.
        """
        if self._now is None:
            self._place = self._tip = truth
        else:
            self._tip = _lagged(self._tip, self._place, truth, now - self._now, self.lag)
        self._now, self._place = now, truth
        # the runner's ticks jitter by a few ms and must not lose every second conversion
        if now - self.at < 0.9 * self._period:
            return False
        seen = self._tip + self.offset + self._rng.gauss(0.0, hypot(self._noise, self.unrest))
        counts = round((seen - ZERO_CELSIUS) * PROBE_STEPS)
        self.raw = max(PROBE_RANGE[0], min(PROBE_RANGE[1], counts))
        self.at = now
        return True


class PressureTransducer:
    """Absolute pressure as 0.5-4.5 V on a 16-bit converter."""

    def __init__(self, rng: Random, span: float = 120e3, noise: float = 10.0) -> None:
        """span: pressure at 4.5 V, [Pa]     noise: rms, [Pa]"""
        self.span = span
        """Pressure at 4.5 V, [Pa]."""
        self.offset = 0.0
        """Added to what it would read, [Pa]."""
        self.raw = 0
        """Newest conversion, [counts]."""
        self.at = float("-inf")
        """Rig time of the newest conversion, [s]."""
        self._rng, self._noise = rng, noise

    @property
    def volts(self) -> float:
        """Newest conversion, [V]."""
        return self.raw * COUNT

    @property
    def value(self) -> float:
        """Newest conversion, absolute, [Pa]."""
        return (self.volts - DEAD_VOLTS) / LIVE_VOLTS * self.span

    @property
    def sample(self) -> Sample | None:
        """Newest conversion as a sample, absolute, [Pa]; None before the first."""
        return None if self.at == float("-inf") else Sample(self.value, self.at)

    def follow(self, now: float, truth: float) -> None:
        """Convert `truth`, absolute, [Pa], at rig time `now`, [s]. Ends of the wire clip it."""
        seen = truth + self.offset + self._rng.gauss(0.0, self._noise)
        volts = DEAD_VOLTS + LIVE_VOLTS * seen / self.span
        self.raw = round(max(0.0, min(5.0, volts)) / COUNT)
        self.at = now


class InfraredEye:
    """An infrared thermometer set to emissivity 1: it tells what a surface sends, own and mirrored.

    It tells nothing before the first `follow`.
    """

    def __init__(self, rng: Random, noise: float = 0.1) -> None:
        """noise: before rounding, rms, [K]"""
        self.offset = 0.0
        """Added to what it would read, [K]."""
        self.raw = 0
        """Newest answer, [0.02 K]."""
        self.at = float("-inf")
        """Rig time of the newest answer, [s]."""
        self._rng, self._noise = rng, noise

    def follow(
        self, now: float, surface: float, emissivity: float, mirrored: float, lit: bool
    ) -> None:
        """Look at a surface of this emissivity, [-], at rig time `now`, [s].

        surface, mirrored: temperature of it, and of what it mirrors, [K]
        lit: a lamp burns on it
        """
        sent = float(
            (emissivity * surface**4 + (1 - emissivity) * mirrored**4) ** 0.25
            + (LAMPLIGHT if lit else 0.0)
        )
        self.raw = round((sent + self.offset + self._rng.gauss(0.0, self._noise)) / EYE_STEP)
        self.at = now

    def sample(self, emissivity: float, mirrored: float) -> Sample | None:
        """The surface's temperature, [K], if it had this emissivity, [-]; None before the first.

        mirrored: what the surface is taken to mirror, [K]
        """
        if self.at == float("-inf"):
            return None
        own = (self.raw * EYE_STEP) ** 4 - (1 - emissivity) * mirrored**4
        return Sample(float((own / emissivity) ** 0.25), self.at)


def _lagged(tip: float, start: float, end: float, seconds: float, lag: float) -> float:
    """Where a first-order lag stands after its input went in a straight line from start to end."""
    if seconds <= 0.0 or lag <= 0.0:
        return tip if seconds <= 0.0 else end
    trailing = (end - start) / seconds * lag
    return end - trailing + (tip - start + trailing) * exp(-seconds / lag)
