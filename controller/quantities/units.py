"""The units people write for each kind of quantity, and what each is in SI; all that knows pint."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pint import UnitRegistry


@dataclass(frozen=True, slots=True)
class Kind:
    """One sort of quantity, as people write it."""

    name: str
    base: str
    """pint's name of the SI unit."""
    example: str
    units: Mapping[str, str]
    """What people write, in small letters without spaces or ^, to pint's name.

    pint never sees the person's word: it takes 15 cfm for centi-fermis and knows no Torr.
    """
    lowest: float | None = 0.0
    """Least value that can be meant, in SI; None when there is none."""


# "mW" and "MW" read the same in small letters, so neither is taken; nor is "MPa". A gallon is two
# sizes, so it is not taken either.
_LENGTHS = {
    "mm": "mm", "cm": "cm", "m": "m", "in": "inch", "inch": "inch", "inches": "inch",
    "ft": "foot", "foot": "foot", "feet": "foot",
}  # fmt: skip
_MARKS = {'"': "inch", "'": "foot"}
_PRESSURES = {
    "pa": "Pa", "hpa": "hPa", "kpa": "kPa", "mbar": "mbar", "bar": "bar", "inhg": "inHg",
    '"hg': "inHg", "mmhg": "mmHg", "torr": "torr", "psi": "psi", "atm": "atm",
}  # fmt: skip
TEMPERATURE = Kind(
    "temperature", "kelvin", "'35 C' or '95 degF'",
    {"c": "degC", "°c": "degC", "degc": "degC", "celsius": "degC", "f": "degF", "°f": "degF",
     "degf": "degF", "fahrenheit": "degF", "k": "kelvin", "kelvin": "kelvin"},
)  # fmt: skip
TEMPERATURE_DIFFERENCE = Kind(
    "temperature difference", "kelvin", "'2 C' or '4 degF'",
    {key: unit.replace("deg", "delta_deg") for key, unit in TEMPERATURE.units.items()},
    lowest=None,
)  # fmt: skip
LENGTH = Kind("length", "m", "'500 mm' or '20 in'", _LENGTHS | _MARKS)
ALTITUDE = Kind("altitude", "m", "'270 m' or '900 ft'", _LENGTHS, lowest=None)
AREA = Kind(
    "area", "m**2", "'0.2 m2' or '300 in2'",
    {key + "2": f"{unit}**2" for key, unit in _LENGTHS.items()}
    | {"sq" + key: f"{unit}**2" for key, unit in _LENGTHS.items()},
)  # fmt: skip
VOLUME = Kind(
    "volume", "m**3", "'60 mL' or '2 fl oz'",
    {"ml": "mL", "cc": "mL", "cm3": "mL", "l": "L", "litre": "L", "liter": "L", "litres": "L",
     "liters": "L", "m3": "m**3", "in3": "inch**3", "ft3": "foot**3", "floz": "fluid_ounce"},
)  # fmt: skip
MASS = Kind(
    "mass", "kg", "'120 g' or '4 oz'",
    {"g": "g", "gram": "g", "grams": "g", "kg": "kg", "oz": "ounce", "lb": "pound", "lbs": "pound"},
)  # fmt: skip
POWER = Kind("power", "W", "'250 W'", {"w": "W", "watt": "W", "watts": "W", "kw": "kW"})
DURATION = Kind(
    "duration", "s", "'30 s' or '1 h 30 min'",
    {"s": "s", "sec": "s", "second": "s", "seconds": "s", "min": "minute", "mins": "minute",
     "minute": "minute", "minutes": "minute", "h": "hour", "hr": "hour", "hrs": "hour",
     "hour": "hour", "hours": "hour", "d": "day", "day": "day", "days": "day"},
)  # fmt: skip
FRACTION = Kind("share", "", "'10 %'", {"%": "percent", "percent": "percent"})
FLOW = Kind(
    "flow", "m**3/s", "'60 L/min' or '1.5 cfm'",
    {"cfm": "foot**3/minute", "ft3/min": "foot**3/minute", "l/min": "L/minute",
     "lpm": "L/minute", "ml/min": "mL/minute", "l/s": "L/s", "m3/h": "m**3/hour"},
)  # fmt: skip
FLUX = Kind("heat flux", "W/m**2", "'600 W/m2'", {"w/m2": "W/m**2", "kw/m2": "kW/m**2"})
DENSITY = Kind(
    "density", "kg/m**3", "'1.1 g/mL' or '650 kg/m3'",
    {"kg/m3": "kg/m**3", "g/cm3": "g/cm**3", "g/ml": "g/mL", "lb/ft3": "pound/foot**3"},
)  # fmt: skip
VISCOSITY = Kind(
    "viscosity", "Pa*s", "'850 mPa s' or '850 cP'",
    {"mpas": "mPa*s", "mpa.s": "mPa*s", "mpa s": "mPa*s", "mpa·s": "mPa*s", "cp": "centipoise",
     "cps": "centipoise", "pas": "Pa*s", "pa s": "Pa*s"},
)  # fmt: skip
VOLTAGE = Kind("voltage", "V", "'0.5 V'", {"v": "V", "volt": "V", "volts": "V", "mv": "mV"})
PRESSURE = Kind("pressure", "Pa", "'22 inHg vacuum' or '25.5 kPa abs'", _PRESSURES, lowest=None)
PRESSURE_DIFFERENCE = Kind("pressure difference", "Pa", "'3 inHg' or '10 kPa'", _PRESSURES)


@cache
def _registry() -> "UnitRegistry[float]":
    # importing pint and building its table takes 0.4 s, measured on two cores of an x86 server in
    # November 2026; a command that reads no typed quantity does not pay for it
    from pint import UnitRegistry

    return UnitRegistry()


@lru_cache(maxsize=1024)
def to_si(number: float, unit: str, base: str) -> float:
    """The number in pint's `unit`, in its SI `base`. Needs a unit of the table above."""
    # twelve digits: 122 degF is 50 C to the last bit, so a limit of 50 C admits it
    return float(f"{_registry().Quantity(number, unit).to(base).magnitude:.12g}")
