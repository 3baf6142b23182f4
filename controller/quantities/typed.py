"""Reads what people type: "95 degF", "22 inHg vacuum", "1 h 30 min".

Where a text can be read two ways it is refused, and both readings are shown.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from math import isfinite
from typing import Annotated, Any, Literal, TypeVar
from zoneinfo import ZoneInfo

from pydantic import BeforeValidator, GetCoreSchemaHandler
from pydantic_core import CoreSchema, core_schema

from controller.errors import InputError
from controller.quantities.units import (
    ALTITUDE,
    AREA,
    DENSITY,
    DURATION,
    FLOW,
    FLUX,
    FRACTION,
    LENGTH,
    MASS,
    POWER,
    PRESSURE,
    PRESSURE_DIFFERENCE,
    TEMPERATURE,
    TEMPERATURE_DIFFERENCE,
    VISCOSITY,
    VOLTAGE,
    VOLUME,
    Kind,
    to_si,
)

SEA_LEVEL = 101325.0
"""Standard air pressure at sea level, [Pa]: one standard atmosphere, exact by definition."""
DEEPEST_VACUUM = 110e3
"""More than the air pressure anywhere people live, [Pa]; own. A deeper vacuum is a wrong unit."""

# a mixed number (1 1/2), or a decimal with one point
_NUMBER = re.compile(
    r"(?P<sign>[+-]?)(?:(?P<whole>[0-9]+) )?(?P<upper>[0-9]+)/(?P<lower>[0-9]+)"
    r"|[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
)
_COMMA = re.compile(r"(?P<number>[+-]?[0-9.]*,[0-9.,]*)(?P<rest>.*)")
# "in Hg", "deg F", "L / min", "m^2" are one word; "m in" is not "min"
_JOIN = re.compile(r"(?:\b(deg|sq|fl|in) )|\^| ?(/) ?")
# what keyboards and copied data sheets put for the plain characters
_STRANGE = {"\u2212": "-", "\u00ba": "°", "\u00b2": "2", "\u00b3": "3", "\u2103": "°C"}


def shown(value: object) -> str:
    """A stranger's value as one printable line of 60 characters at most."""
    text = value if isinstance(value, str) else repr(value)
    line = "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in text)
    return line if len(line) <= 60 else line[:57] + "..."


def _tidy(text: str) -> str:
    for strange, plain in _STRANGE.items():
        text = text.replace(strange, plain)
    return " ".join(text.split())


def _refuse(text: str, why: str, kind: Kind) -> InputError:
    return InputError(f"{shown(text)}: {why}; say e.g. {kind.example}")


def _split(text: str, kind: Kind) -> tuple[float, str]:
    """The number a tidy text begins with, and the rest."""
    comma = _COMMA.match(text)
    if comma and any(c.isdigit() for c in comma["number"]):
        if comma["number"].count(",") > 1 or "." in comma["number"]:
            raise InputError(f"{shown(text)}: write the number with one point and no commas")
        either = [comma["number"].replace(",", by) + comma["rest"] for by in (".", "")]
        raise InputError(f"{shown(text)}: say '{shown(either[0])}' or '{shown(either[1])}'")
    found = _NUMBER.match(text)
    if not found and re.match(r"[+-]?(nan|inf)", text, re.IGNORECASE):
        raise _refuse(text, "not a finite number", kind)
    if not found:
        raise _refuse(text, "no number", kind)
    if found["lower"] is None:
        number = float(found[0])
    elif float(found["lower"]) == 0:
        raise _refuse(text, "divided by nothing", kind)
    else:
        number = float(found["whole"] or 0) + float(found["upper"]) / float(found["lower"])
        number = -number if found["sign"] == "-" else number
    if not isfinite(number):
        raise _refuse(text, "not a finite number", kind)
    return number, text[found.end() :].strip()


def _convert(text: str, number: float, written: str, kind: Kind) -> float:
    if not written:
        raise _refuse(text, "no unit", kind)
    unit = kind.units.get(_JOIN.sub(r"\1\2", written.lower()))
    if unit is None:
        raise _refuse(text, f"'{shown(written)}' is no unit of {kind.name}", kind)
    value = to_si(number, unit, kind.base)
    if not isfinite(value):
        raise _refuse(text, "not a finite number", kind)
    if kind.lowest is not None and value < kind.lowest:
        raise _refuse(text, f"less than any {kind.name} can be", kind)
    return value


def _amount(text: str, kind: Kind) -> float:
    text = _tidy(text)
    return _convert(text, *_split(text, kind), kind)


# Each takes typed text and returns a float in the unit noted; InputError says what to type instead.
parse_temperature = partial(_amount, kind=TEMPERATURE)  # [K]
parse_temperature_difference = partial(_amount, kind=TEMPERATURE_DIFFERENCE)  # [K]
parse_length = partial(_amount, kind=LENGTH)  # [m]
parse_altitude = partial(_amount, kind=ALTITUDE)  # [m], may be negative
parse_area = partial(_amount, kind=AREA)  # [m2]
parse_volume = partial(_amount, kind=VOLUME)  # [m3]
parse_mass = partial(_amount, kind=MASS)  # [kg]
parse_power = partial(_amount, kind=POWER)  # [W]
parse_flow = partial(_amount, kind=FLOW)  # [m3/s]
parse_flux = partial(_amount, kind=FLUX)  # [W/m2]
parse_density = partial(_amount, kind=DENSITY)  # [kg/m3]
parse_viscosity = partial(_amount, kind=VISCOSITY)  # [Pa s]
parse_voltage = partial(_amount, kind=VOLTAGE)  # [V]
parse_pressure_difference = partial(_amount, kind=PRESSURE_DIFFERENCE)  # [Pa]


def parse_duration(text: str) -> float:
    """A duration, [s], from one unit or several in falling order: "2 days", "1 h 30 min".

    Raises InputError.
    """
    rest, total, unit_before = _tidy(text), 0.0, float("inf")
    while True:
        number, after = _split(rest, DURATION)
        word = re.match(r"[^0-9]*", after)
        written = word[0].strip() if word else ""
        total += _convert(text, number, written, DURATION)
        unit = _convert(text, 1.0, written, DURATION)
        if unit >= unit_before:
            raise _refuse(text, "the longest unit comes first, each once", DURATION)
        rest, unit_before = after[len(written) :].strip(), unit
        if not rest:
            return total


def parse_fraction(text: str) -> float:
    """A share of a whole, 0 to 1, from per cent. Raises InputError."""
    value = _amount(text, FRACTION)
    if value > 1:
        raise _refuse(text, "more than the whole", FRACTION)
    return value


_T = TypeVar("_T")


def _from_text(parse: Callable[[str], _T], kind: Kind) -> Callable[[object], _T]:
    # a bare number in a file has no unit: 95 could be either degree
    def read(value: object) -> _T:
        if not isinstance(value, str):
            raise _refuse(shown(value), "write it as text with its unit", kind)
        return parse(value)

    return read


@dataclass(frozen=True, slots=True)
class Pressure:
    """A pressure as it was meant; as a pydantic field it reads "22 inHg vacuum", "25.5 kPa abs"."""

    value: float
    """Depth below the air for a vacuum, else the absolute pressure, [Pa]."""
    kind: Literal["vacuum", "abs"]

    def absolute(self, air_pressure: float) -> float:
        """The absolute pressure, [Pa].

        air_pressure: in the shop, [Pa]. Raises InputError when the vacuum leaves nothing of it.
        """
        if self.kind == "abs":
            return self.value
        if self.value >= air_pressure:
            raise InputError(
                f"{self.value / 1e3:.1f} kPa vacuum: the air is only {air_pressure / 1e3:.1f} kPa;"
                " ask for less"
            )
        return air_pressure - self.value

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        read = _from_text(parse_pressure, PRESSURE)
        return core_schema.no_info_plain_validator_function(
            lambda value: value if isinstance(value, cls) else read(value)
        )


def parse_pressure(text: str) -> Pressure:
    """A pressure with its reference, from text that must say `vacuum` or `abs`.

    Raises InputError; without the word, it shows both readings at sea level.
    """
    tidy = _tidy(text)
    number, written = _split(tidy, PRESSURE)
    word = re.search(r"(?:^|\s)(vacuum|vac|absolute|abs)$", written, re.IGNORECASE)
    value = _convert(tidy, number, written[: word.start()] if word else written, PRESSURE)
    if word is None:
        readings = []
        if abs(value) < SEA_LEVEL:
            left = (SEA_LEVEL - abs(value)) / 1e3
            readings.append(f"'{shown(tidy.lstrip('-'))} vacuum' ({left:.3g} kPa abs at sea level)")
        if value >= 0:
            readings.append(f"'{shown(tidy)} abs' ({value / 1e3:.3g} kPa abs)")
        raise InputError(f"{shown(text)}: say {' or '.join(readings) or PRESSURE.example}")
    kind: Literal["vacuum", "abs"] = "vacuum" if word[1].lower().startswith("v") else "abs"
    if value < 0:
        raise _refuse(text, "no minus sign: the word says which way", PRESSURE)
    if kind == "vacuum" and value > DEEPEST_VACUUM:
        raise _refuse(text, "deeper than the air is heavy; is it another unit?", PRESSURE)
    return Pressure(value, kind)


def parse_time_zone(text: str) -> str:
    """The IANA time zone's own name, checked. Raises InputError."""
    try:
        return ZoneInfo(text).key
    except (ValueError, OSError, KeyError) as error:
        raise InputError(f"{shown(text)}: no such time zone; say e.g. 'Europe/Oslo'") from error


def _time_zone(value: object) -> str:
    return parse_time_zone(value if isinstance(value, str) else shown(value))


# pydantic's field types at the edges: text in, SI float out. A default is written as text too:
# `lag: Duration = Field("20 s", validate_default=True)`.
Temperature = Annotated[float, BeforeValidator(_from_text(parse_temperature, TEMPERATURE))]
TemperatureDifference = Annotated[
    float, BeforeValidator(_from_text(parse_temperature_difference, TEMPERATURE_DIFFERENCE))
]
Length = Annotated[float, BeforeValidator(_from_text(parse_length, LENGTH))]
Altitude = Annotated[float, BeforeValidator(_from_text(parse_altitude, ALTITUDE))]
Area = Annotated[float, BeforeValidator(_from_text(parse_area, AREA))]
Volume = Annotated[float, BeforeValidator(_from_text(parse_volume, VOLUME))]
Mass = Annotated[float, BeforeValidator(_from_text(parse_mass, MASS))]
Power = Annotated[float, BeforeValidator(_from_text(parse_power, POWER))]
Duration = Annotated[float, BeforeValidator(_from_text(parse_duration, DURATION))]
Fraction = Annotated[float, BeforeValidator(_from_text(parse_fraction, FRACTION))]
Flow = Annotated[float, BeforeValidator(_from_text(parse_flow, FLOW))]
Flux = Annotated[float, BeforeValidator(_from_text(parse_flux, FLUX))]
Density = Annotated[float, BeforeValidator(_from_text(parse_density, DENSITY))]
Viscosity = Annotated[float, BeforeValidator(_from_text(parse_viscosity, VISCOSITY))]
Voltage = Annotated[float, BeforeValidator(_from_text(parse_voltage, VOLTAGE))]
PressureDifference = Annotated[
    float, BeforeValidator(_from_text(parse_pressure_difference, PRESSURE_DIFFERENCE))
]
TimeZone = Annotated[str, BeforeValidator(_time_zone)]
