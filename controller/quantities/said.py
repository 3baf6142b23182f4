"""Says SI numbers in a person's own units, and fills them into sentences.

The phone's page does the same from the same cases, so every step here is plain arithmetic that
both languages round alike; tests/fixtures/sentences.json holds the cases.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from math import floor, isfinite
from typing import Literal, TypedDict, get_args
from zoneinfo import ZoneInfo

from controller.errors import InputError
from controller.quantities.typed import parse_time_zone, shown

ZERO_CELSIUS = 273.15
"""[K]: exact by definition."""
INCH_OF_MERCURY = 3386.388640341
"""[Pa]: an inch of mercury of 13595.1 kg/m3 under 9.80665 m/s2, both conventional."""
OUNCE = 0.028349523125
"""[kg]: avoirdupois, exact by definition."""
FLUID_OUNCE = 2.95735295625e-5
"""[m3]: a 128th of the US gallon of 231 cubic inches, exact by definition."""
INCH, FOOT = 0.0254, 0.3048
"""[m]: international, exact by definition."""
POUND = 0.45359237
"""[kg]: avoirdupois, exact by definition."""

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

Degrees = Literal["C", "F"]
VacuumUnit = Literal["inHg", "kPa", "mbar"]
MassUnit = Literal["g", "oz"]
VolumeUnit = Literal["mL", "fl oz"]
LengthUnit = Literal["mm", "in"]


@dataclass(frozen=True, slots=True)
class People:
    """The units a person chose to read. Raises InputError for one that is not offered."""

    temperature: Degrees = "C"
    """Degrees Celsius or Fahrenheit."""
    vacuum: VacuumUnit = "inHg"
    """For vacuum; absolute pressures are then in kPa, or in mbar where that was chosen."""
    mass: MassUnit = "g"
    """Grams or ounces; what is counted per area or volume goes with it."""
    volume: VolumeUnit = "mL"
    """Millilitres or US fluid ounces; air is then in litres or cubic feet."""
    zone: str = "UTC"
    """IANA time zone of the clock on the wall."""
    length: LengthUnit = "mm"
    """Millimetres or inches; what is long, metres or feet."""

    def __post_init__(self) -> None:
        """Units come from phones and files, so they are checked here."""
        for chosen, offered in (
            (self.temperature, Degrees),
            (self.vacuum, VacuumUnit),
            (self.mass, MassUnit),
            (self.volume, VolumeUnit),
            (self.length, LengthUnit),
        ):
            if chosen not in get_args(offered):
                raise InputError(f"{shown(chosen)}: say one of {', '.join(get_args(offered))}")
        parse_time_zone(self.zone)


class Figure(TypedDict):
    """A number that a sentence leaves a place for."""

    kind: str
    """One of KINDS."""
    value: float
    """In SI; a vacuum as depth below the air, a percent as 0 to 1, a clock as UTC epoch seconds, a
    ratio as B per A."""


def _number(value: float, decimals: int) -> str:
    # halves go away from zero: format() would send them to the even digit, JavaScript elsewhere
    scaled = floor(abs(value) * 10**decimals + 0.5)
    return f"{'-' if value < 0 and scaled else ''}{scaled / 10**decimals:.{decimals}f}"


def _temperature(value: float, units: People) -> str:
    celsius = value - ZERO_CELSIUS
    if units.temperature == "F":
        return f"{_number(celsius * 1.8 + 32, 0)} °F"
    return f"{_number(celsius, 1)} °C"


def _temperature_difference(value: float, units: People) -> str:
    if units.temperature == "F":
        return f"{_number(value * 1.8, 1)} °F"
    return f"{_number(value, 1)} °C"


def _vacuum(value: float, units: People) -> str:
    if units.vacuum == "inHg":
        return f"{_number(value / INCH_OF_MERCURY, 1)} inHg vacuum"
    if units.vacuum == "kPa":
        return f"{_number(value / 1000, 1)} kPa vacuum"
    return f"{_number(value / 100, 0)} mbar vacuum"


def _pressure_abs(value: float, units: People) -> str:
    if units.vacuum == "mbar":
        return f"{_number(value / 100, 0)} mbar abs"
    return f"{_number(value / 1000, 1)} kPa abs"


def _pressure_rate(value: float, units: People) -> str:
    inches = _number(value * 300 / INCH_OF_MERCURY, 2)
    return f"{_number(value * 60 / 1000, 2)} kPa/min ({inches} inHg per 5 min)"


def _duration(value: float, units: People) -> str:
    # to the second as long as a coat window may last, to the hour for flash-off
    sign = "-" if value < 0 else ""
    seconds, minutes, hours = (floor(abs(value) / each + 0.5) for each in (1, 60, 3600))
    if seconds < 120:
        return f"{sign if seconds else ''}{seconds} s"
    if seconds < 600:
        rest = f" {seconds % 60} s" if seconds % 60 else ""
        return f"{sign}{seconds // 60} min{rest}"
    if minutes < 120:
        return f"{sign}{minutes} min"
    if minutes < 48 * 60:
        rest = f" {minutes % 60} min" if minutes % 60 else ""
        return f"{sign}{minutes // 60} h{rest}"
    rest = f" {hours % 24} h" if hours % 24 else ""
    return f"{sign}{hours // 24} days{rest}"


def _mass(value: float, units: People) -> str:
    if units.mass == "oz":
        ounces = value / OUNCE
        return f"{_number(ounces, 2 if abs(ounces) < 10 else 1)} oz"
    grams = value * 1000
    return f"{_number(grams, 1 if abs(grams) < 100 else 0)} g"


def _volume(value: float, units: People) -> str:
    if units.volume == "fl oz":
        ounces = value / FLUID_OUNCE
        return f"{_number(ounces, 2 if abs(ounces) < 10 else 1)} fl oz"
    millilitres = value * 1e6
    if abs(millilitres) >= 1000:
        return f"{_number(millilitres / 1000, 1)} L"
    return f"{_number(millilitres, 1 if abs(millilitres) < 10 else 0)} mL"


def _percent(value: float, units: People) -> str:
    return f"{_number(value * 100, 0)} %"


def _scaled(value: float, *steps: tuple[float, int]) -> str:
    """The number with the decimals of the first step it is under; the last has no end."""
    for under, decimals in steps[:-1]:
        if abs(value) < under:
            return _number(value, decimals)
    return _number(value, steps[-1][1])


_END = float("inf")


def _length(value: float, units: People) -> str:
    # a room or an altitude in millimetres would be misread
    if units.length == "in":
        if abs(value) >= 10:
            return f"{_number(value / FOOT, 0)} ft"
        return f"{_scaled(value / INCH, (0.1, 3), (10, 2), (_END, 1))} in"
    if abs(value) >= 10:
        return f"{_scaled(value, (100, 1), (_END, 0))} m"
    return f"{_scaled(value * 1000, (1, 2), (10, 1), (_END, 0))} mm"


def _viscosity(value: float, units: People) -> str:
    if abs(value) >= 10:
        return f"{_number(value, 0)} Pa s"
    return f"{_scaled(value * 1000, (10, 1), (_END, 0))} mPa s"


def _coat_weight(value: float, units: People) -> str:
    if units.mass == "oz":
        return f"{_number(value / OUNCE * FOOT * FOOT, 2)} oz/ft2"
    return f"{_number(value * 1000, 0)} g/m2"


def _density(value: float, units: People) -> str:
    if units.mass == "oz":
        return f"{_number(value / POUND * FOOT * FOOT * FOOT, 0)} lb/ft3"
    return f"{_number(value, 0)} kg/m3"


def _flux(value: float, units: People) -> str:
    return f"{_number(value, 0)} W/m2"


def _flow(value: float, units: People) -> str:
    millilitres = value * 60e6
    if abs(millilitres) >= 1000:
        return f"{_number(millilitres / 1000, 1)} L/min"
    return f"{_scaled(millilitres, (10, 1), (_END, 0))} mL/min"


def _speed(value: float, units: People) -> str:
    if units.volume == "fl oz":
        cubic_feet = value * 60 / (FOOT * FOOT * FOOT)
        return f"{_scaled(cubic_feet, (10, 2), (_END, 1))} cfm"
    return f"{_scaled(value * 60000, (10, 1), (_END, 0))} L/min"


def _air(value: float, units: People) -> str:
    if units.volume == "fl oz":
        return f"{_scaled(value / (FOOT * FOOT * FOOT), (10, 1), (_END, 0))} ft3"
    if abs(value) >= 1:
        return f"{_scaled(value, (100, 1), (_END, 0))} m3"
    return f"{_scaled(value * 1000, (10, 1), (_END, 0))} L"


def _count(value: float, units: People) -> str:
    return _number(value, 0)


def _factor(value: float, units: People) -> str:
    # two digits that count; the half steps below are where rounding gains a digit
    return _scaled(value, (0.0995, 3), (0.995, 2), (9.95, 1), (_END, 0))


def _ratio(value: float, units: People) -> str:
    return f"100 : {_scaled(value * 100, (10, 1), (_END, 0))}"


_SAYERS: dict[str, Callable[[float, People], str]] = {
    "temperature": _temperature,
    "temperature_difference": _temperature_difference,
    "vacuum": _vacuum,
    "pressure_abs": _pressure_abs,
    "pressure_rate": _pressure_rate,
    "duration": _duration,
    "mass": _mass,
    "volume": _volume,
    "percent": _percent,
    "length": _length,
    "viscosity": _viscosity,
    "coat_weight": _coat_weight,
    "density": _density,
    "flux": _flux,
    "flow": _flow,
    "speed": _speed,
    "air": _air,
    "count": _count,
    "factor": _factor,
    "ratio": _ratio,
}
KINDS = (*_SAYERS, "clock")


def _clock(value: float, units: People, now: float | None) -> str:
    zone = ZoneInfo(units.zone)
    there = datetime.fromtimestamp(floor(value), UTC).astimezone(zone)
    days = None
    if now is not None:
        today = datetime.fromtimestamp(floor(now), UTC).astimezone(zone).date()
        days = abs((there.date() - today).days)
    time = f"{there.hour:02}:{there.minute:02}"
    if days == 0:
        return time
    day = WEEKDAYS[there.weekday()]
    # a week off, the weekday alone would name the wrong one
    if days is not None and days >= 7:
        return f"{day} {there.day} {MONTHS[there.month - 1]} {time}"
    return f"{day} {time}"


def say(value: float, kind: str, units: People, *, now: float | None = None) -> str:
    """A number in a person's own units, always with its unit and, for pressure, its word.

    value: SI, as Figure has it        kind: one of KINDS
    now: UTC epoch seconds; a clock on another local day than now, or with no now, names its day.
    Raises InputError for a kind that is not there and for a value that is no number or no date.

    >>> say(75855.0, "vacuum", People())
    '22.4 inHg vacuum'
    """
    if not isfinite(value):
        raise InputError(f"{value} is no {shown(kind)} to show")
    if kind == "clock":
        try:
            return _clock(value, units, now)
        except (ValueError, OverflowError, OSError) as error:
            raise InputError(f"{value} s is no date to show") from error
    if kind not in _SAYERS:
        raise InputError(f"{shown(kind)}: not a kind of number; one of {', '.join(KINDS)}")
    return _SAYERS[kind](value, units)


def fill(
    text: str, values: Mapping[str, Figure], units: People, *, now: float | None = None
) -> str:
    """The sentence with each {name} replaced by its value in the person's units.

    Raises InputError where a name has no value, and as `say` does.

    >>> fill("Holding at {bag}.", {"bag": {"kind": "vacuum", "value": 75855.0}}, People())
    'Holding at 22.4 inHg vacuum.'
    """

    def put(found: re.Match[str]) -> str:
        if found[1] not in values:
            raise InputError(f"{shown(text)}: nothing to put for {{{found[1]}}}")
        return say(values[found[1]]["value"], values[found[1]]["kind"], units, now=now)

    return re.sub(r"\{([a-z][a-z0-9_]*)\}", put, text)
