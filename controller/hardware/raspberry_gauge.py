"""The bag's transducer behind a converter: volts to absolute pressure, and what is no pressure."""

from collections.abc import Callable
from dataclasses import dataclass

from controller.batch.signals import Sample
from controller.errors import InputError, ReadingError
from controller.hardware.raspberry_adc import Adc
from controller.settings.gauges import (
    LEAST_CURRENT,
    LEAST_SUPPLY,
    LEAST_VOLTS,
    MOST_CURRENT,
    MOST_SUPPLY,
    MOST_VOLTS,
    SUPPLY,
    Gauge,
)

MEDIAN_OF = 3
"""Conversions in a reading; own: the middle one of three lets a spike of a relay pass by."""


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line through two points, as a data sheet or a check on the bench gives it."""

    low_volts: float
    """[V]"""
    low_pressure: float
    """There: absolute, or how deep under the air, [Pa]."""
    high_volts: float
    """[V]"""
    high_pressure: float
    """There, counted the same way, [Pa]."""

    def pressure(self, volts: float) -> float:
        """Pressure at these volts, counted as its points are, [Pa].

        >>> Line(0.5, 0, 4.5, 100e3).pressure(2.5) / 1000
        50.0
        """
        slope = (self.high_pressure - self.low_pressure) / (self.high_volts - self.low_volts)
        return self.low_pressure + slope * (volts - self.low_volts)


def at_five_volts(volts: float, supply: float) -> float:
    """What a ratiometric output would be on a supply of 5 V, [V].

    volts: that it gives, [V]      supply: that it has, [V], above 0

    5 volts / supply, common practice, no source; a supply of 4.8 V taken for 5 V makes 50 kPa of
    100 read 47.5.

    >>> at_five_volts(2.4, supply=4.8)
    2.5
    """
    return SUPPLY * volts / supply


class TransducerGauge:
    """A 0.5-4.5 V ratiometric or 4-20 mA transducer on the bag.

    Its live zero tells a broken wire from a vacuum: a signal no living transducer gives is no
    reading. A transducer that counts from the air is made absolute with the air of the day, so an
    error there is one here.
    """

    def __init__(
        self,
        adc: Adc,
        channel: int,
        line: Line,
        *,
        divider: float = 1.0,
        supply_channel: int | None = None,
        resistor: float | None = None,
        air: Callable[[float], float] | None = None,
    ) -> None:
        """channel: the input it is on      line: before the divider; of a current, over `resistor`

        divider: what an input sees of a volt, [-], the same on both inputs
        supply_channel: the input its supply is on; None takes 5 V for it
        resistor: what a 4-20 mA output is read over, [ohm]; None for a ratiometric one
        air: air pressure at a rig time, [Pa], for a line that counts down from it; None for an
        absolute one
        """
        self._adc, self._channel, self._supply_channel = adc, channel, supply_channel
        self._line, self._divider, self._resistor, self._air = line, divider, resistor, air

    def sample(self, now: float) -> Sample:
        """Absolute pressure in the bag at rig time `now`, [s], as a sample, [Pa].

        The median of three conversions; within 20 ms on the slower converter. Raises ReadingError
        with the wire to look at.
        """
        try:
            volts = sorted(self._converted() for _ in range(MEDIAN_OF))[MEDIAN_OF // 2]
            if self._resistor is None:
                _live_volts(volts)
            else:
                _live_current(volts / self._resistor)
            pressure = self._line.pressure(volts)
            if self._air is not None:
                pressure = self._air(now) - pressure
            if not pressure > 0.0:
                raise ReadingError(
                    f"{pressure / 1e3:.1f} kPa abs, which nothing can have; check its two points"
                    " with the bag open"
                )
        except ReadingError as error:
            raise ReadingError(f"gauge: {error}") from error
        return Sample(pressure, now)

    def _converted(self) -> float:
        """One conversion, before the divider and on 5 V, [V]."""
        volts = self._adc.volts(self._channel) / self._divider
        if self._supply_channel is None:
            return volts
        supply = self._adc.volts(self._supply_channel) / self._divider
        if not LEAST_SUPPLY <= supply <= MOST_SUPPLY:
            raise ReadingError(
                f"its supply reads {supply:.2f} V, not {LEAST_SUPPLY:g} to {MOST_SUPPLY:g} V; look"
                " at its 5 V wire and at the divider on it"
            )
        return at_five_volts(volts, supply)


def _live_volts(volts: float) -> None:
    """Raises ReadingError for what a 0.5-4.5 V transducer on 5 V never gives, [V]."""
    # written so that a value that is no number is refused too
    if not volts >= LEAST_VOLTS:
        raise ReadingError(
            f"{volts:.2f} V, under {LEAST_VOLTS:g} V: a wire is off or it has no supply; look at"
            " its plug"
        )
    if not volts <= MOST_VOLTS:
        raise ReadingError(
            f"{volts:.2f} V, over {MOST_VOLTS:g} V: its signal touches the supply, or its ground is"
            " off; look at its wires"
        )


def _live_current(amperes: float) -> None:
    """Raises ReadingError for what a 4-20 mA transducer never gives, [A]."""
    if not amperes >= LEAST_CURRENT:
        raise ReadingError(
            f"{1e3 * amperes:.1f} mA, under {1e3 * LEAST_CURRENT:g} mA: its loop is open; look at"
            " its wires and its supply"
        )
    if not amperes <= MOST_CURRENT:
        raise ReadingError(
            f"{1e3 * amperes:.1f} mA, over {1e3 * MOST_CURRENT:g} mA: its loop is shorted; look at"
            " its wires and its resistor"
        )


def gauge_on(adc: Adc, told: Gauge, air: Callable[[float], float]) -> TransducerGauge:
    """The gauge of the settings on this converter.

    told: the settings' table      air: air pressure at a rig time, [Pa]

    Raises InputError when one of its two points is missing.
    """
    low, high = told.low_pressure, told.high_pressure
    if low is None or high is None or told.low_volts is None or told.high_volts is None:
        raise InputError("[gauge] needs low_volts, low_pressure, high_volts and high_pressure")
    return TransducerGauge(
        adc,
        told.channel,
        Line(told.low_volts, low.value, told.high_volts, high.value),
        divider=told.divider,
        supply_channel=told.supply_channel,
        resistor=told.resistor if told.output == "current" else None,
        air=air if low.kind == "vacuum" else None,
    )
