"""What a setting may be: bounds that name themselves as people write them."""

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field

from controller.errors import InputError
from controller.quantities import (
    SEA_LEVEL,
    Duration,
    People,
    Pressure,
    Voltage,
    parse_duration,
    parse_pressure_difference,
    parse_voltage,
    say,
)

LINES = tuple(line for line in range(9, 28) if line not in (14, 15))
"""BCM numbers an output may have: pulled down from reset on, as 0 to 8 are not; 14 and 15 are the
serial port and move at boot. BCM2835 ARM Peripherals, page 102: from memory, to be checked."""


class Section(BaseModel):
    """A table of the file: nothing unknown, nothing converted in silence, nothing changed later."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, validate_default=True)


def between(parse: Callable[[str], float], lowest: str, highest: str) -> AfterValidator:
    """Within these two, written as people write them."""

    # the two are read at the first check, so that an import does not wake the unit tables
    bound = cache(parse)

    def check(value: float) -> float:
        if not bound(lowest) <= value <= bound(highest):
            raise InputError(f"allowed: {lowest} to {highest}")
        return value

    return AfterValidator(check)


def degrees(value: float) -> str:
    """A temperature [K] in both degrees, so that a mixed-up unit is seen."""
    celsius, fahrenheit = People(temperature="C"), People(temperature="F")
    return f"{say(value, 'temperature', celsius)} ({say(value, 'temperature', fahrenheit)})"


def warm(lowest: float, highest: float) -> AfterValidator:
    """A temperature within these two, [K]."""

    def check(value: float) -> float:
        if not lowest <= value <= highest:
            raise InputError(f"allowed: {degrees(lowest)} to {degrees(highest)}")
        return value

    return AfterValidator(check)


def pressure_between(lowest: str, highest: str) -> AfterValidator:
    """An absolute pressure within these two; a vacuum is counted from the air at sea level."""

    bound = cache(parse_pressure_difference)

    def check(value: Pressure) -> Pressure:
        low, high = bound(lowest), bound(highest)
        if not low <= value.absolute(SEA_LEVEL) <= high:
            shallow, deep = (say(SEA_LEVEL - end, "vacuum", People()) for end in (high, low))
            raise InputError(f"allowed: {lowest} abs to {highest} abs, or {shallow} to {deep}")
        return value

    return AfterValidator(check)


def like(pattern: str, allowed: str) -> AfterValidator:
    """Text that is wholly of this pattern; `allowed` says it in words."""

    def check(value: str) -> str:
        if not re.fullmatch(pattern, value):
            raise InputError(f"allowed: {allowed}")
        return value

    return AfterValidator(check)


def output_line(value: int) -> int:
    """One of LINES. Raises InputError."""
    if value not in LINES:
        raise InputError("allowed: a BCM number from 9 to 27, but not 14 or 15")
    return value


def folder(value: object) -> Path:
    """An absolute folder, from text. Raises InputError."""
    if not isinstance(value, str) or not value.startswith("/") or not value.isprintable():
        raise InputError("allowed: a folder as text that begins with /")
    return Path(value)


def ohms(value: object) -> float:
    """A resistance, [ohm], from text like "150 ohm". Raises InputError."""
    found = re.fullmatch(r"([0-9]{1,4}(?:\.[0-9]{1,3})?) ?(?:ohm|Ω|\u2126)", str(value))
    if not isinstance(value, str) or found is None or not 1.0 <= float(found[1]) <= 1000.0:
        raise InputError("allowed: 1 ohm to 1000 ohm, as text like '150 ohm'")
    return float(found[1])


def as_tuple(value: object) -> object:
    """A list of the file as a tuple, which cannot be changed; anything else as it is."""
    return tuple(value) if isinstance(value, list) else value


def typed(text: str) -> Any:
    """A default written as a person would."""
    return Field(text, validate_default=True)


Wired = Literal["wired", "by hand", "absent"]
OutputLine = Annotated[int, AfterValidator(output_line)]
Folder = Annotated[Path, BeforeValidator(folder)]
Name = Annotated[str, like(r"[^\x00-\x1f\x7f]{1,60}", "1 to 60 characters on one line")]
Host = Annotated[str, like(r"[A-Za-z0-9:][A-Za-z0-9.:-]{0,252}", "a host's name or address")]
ProbeId = Annotated[str, like(r"28-[0-9a-f]{12}", "28- and twelve of 0-9 and a-f")]
RelayTime = Annotated[Duration, between(parse_duration, "1 s", "10 min")]
Volts = Annotated[Voltage, between(parse_voltage, "0 V", "10 V")]
Ohms = Annotated[float, BeforeValidator(ohms)]
