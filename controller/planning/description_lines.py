"""The tables a person fills in about a batch, each value bounded here."""

import re
from collections.abc import Callable
from datetime import datetime, time
from typing import Annotated, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationInfo,
    field_validator,
)

from controller.errors import InputError
from controller.planning.catalogue import Catalogue, built_in
from controller.planning.data_sheet import DataSheetLines
from controller.quantities import (
    Altitude,
    Duration,
    Fraction,
    Length,
    Mass,
    Pressure,
    Temperature,
    Volume,
    parse_altitude,
    parse_area,
    parse_duration,
    parse_fraction,
    parse_length,
    parse_mass,
    parse_pressure_difference,
    parse_volume,
    shown,
)
from controller.settings import BAND_TOP_LIMIT
from controller.settings.bounds import (
    Name,
    as_tuple,
    between,
    degrees,
    pressure_between,
    typed,
    warm,
)

LARGEST_BATCH = 20
"""Most pieces, and most coats, of one batch; own: a rig warms one or two at a time."""
ROOM_COLD, ROOM_HOT = 273.15 + 5.0, 273.15 + 30.0
"""Shop temperatures a batch can be planned for, [K]; own."""
NIGHT_COLD = 273.15 - 10.0
"""Coldest night in a shop that is planned for, [K]; own: unheated, and resin stops long before."""
FIRST_YEAR, LAST_YEAR = 2000, 2099
"""Years a batch can begin in; own: any other is a slip of the finger."""
WINDOW_COLD = 273.15 + 15.0
"""A window below this is a wrong unit, [K]; own, as in the rig's settings."""


def _coat_weight(value: object) -> float:
    """A coat weight, [kg/m2], from text such as "200 g/m2" or "0.6 oz/ft2"."""
    mass, slash, area = value.partition("/") if isinstance(value, str) else ("", "", "")
    if not slash:
        raise InputError(f"{shown(value)}: no coat weight; say e.g. '200 g/m2' or '0.6 oz/ft2'")
    return parse_mass(mass) / parse_area(f"1 {area}")


def _in_grams(lowest: float, highest: float) -> Callable[[float], float]:
    def check(value: float) -> float:
        if not lowest <= 1000 * value <= highest:
            raise InputError(f"allowed: {lowest:g} g/m2 to {highest:g} g/m2")
        return value

    return check


def catalogue_of(info: ValidationInfo) -> Catalogue:
    """The catalogue that names are looked up in: handed in with the text, or the built-in one."""
    found = (info.context or {}).get("catalogue")
    return found if isinstance(found, Catalogue) else built_in()


def _known(what: Literal["wood", "resin", "thinner"]) -> AfterValidator:
    def check(name: str, info: ValidationInfo) -> str:
        getattr(catalogue_of(info), what)(name)
        return name

    return AfterValidator(check)


def _without_braces(value: str) -> str:
    # sentences keep their gaps in braces
    if set("{}") & set(value):
        raise InputError("allowed: a name without { and }")
    return value


def _moment(value: object) -> datetime:
    """A day and an hour by the shop's clock, from text or from TOML's own."""
    if isinstance(value, str):
        try:
            value = datetime.fromisoformat(value)
        except ValueError as error:
            raise InputError(f"{shown(value)}: say e.g. '2026-05-02 16:00'") from error
    if not isinstance(value, datetime) or value.tzinfo is not None:
        raise InputError("allowed: a day and an hour by the shop's clock, '2026-05-02 16:00'")
    if not FIRST_YEAR <= value.year <= LAST_YEAR:
        raise InputError(f"allowed: from {FIRST_YEAR} to {LAST_YEAR}")
    return value.replace(second=0, microsecond=0)


def _hour(value: object) -> time:
    """An hour of the day, from text or from TOML's own."""
    if isinstance(value, str):
        try:
            # strptime and not fromisoformat, which takes 22.30 for 22:00 and a bit
            value = datetime.strptime(value, "%H:%M").time()  # noqa: DTZ007
        except ValueError as error:
            raise InputError(f"{shown(value)}: say e.g. '22:30'") from error
    if not isinstance(value, time) or value.tzinfo is not None:
        raise InputError("allowed: an hour of the day, '22:30'")
    return value.replace(second=0, microsecond=0)


def _weather(value: object) -> float:
    """A barometer's pressure, [Pa]; a vacuum is the bag's and told so."""
    text = value if isinstance(value, str) else shown(value)
    if re.search(r"\b(vac|vacuum)\s*$", text):
        raise InputError(
            "that is the bag's gauge; say the weather report's, '1016 hPa' or '30.0 inHg'"
        )
    try:
        return parse_pressure_difference(text)
    except InputError as error:
        raise InputError(f"{shown(text)}: say e.g. '1016 hPa' or '30.0 inHg'") from error


Called = Annotated[Name, AfterValidator(_without_braces)]
WoodName = Annotated[str, _known("wood")]
ResinName = Annotated[str, _known("resin")]
ThinnerName = Annotated[str, _known("thinner")]
CoatWeight = Annotated[float, BeforeValidator(_coat_weight), AfterValidator(_in_grams(20, 500))]
Board = Annotated[Length, between(parse_length, "30 mm", "3 m")]
Sealed = Literal["sealed", "bare"]
Moment = Annotated[datetime, BeforeValidator(_moment)]
Hour = Annotated[time, BeforeValidator(_hour)]
Poured = Annotated[Mass, between(parse_mass, "0.1 g", "20 kg")]


class Lines(BaseModel):
    """A table of the text: nothing unknown, nothing converted in silence."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, validate_default=True)


class PieceLines(Lines):
    """One board."""

    name: Called
    wood: WoodName
    length: Board
    """Along the grain, [m]."""
    width: Board
    """[m]."""
    thickness: Annotated[Length, between(parse_length, "3 mm", "60 mm")]
    """[m]."""
    moisture: Annotated[Fraction, between(parse_fraction, "3 %", "16 %")] = typed("8 %")
    """Of dry mass, [-]. Default: common practice, no source, for wood kept indoors."""
    mass: Annotated[Mass, between(parse_mass, "10 g", "50 kg")] | None = None
    """As weighed, [kg]; it tells this board's own density. The wood's row when left out."""
    part: Literal["sapwood", "heartwood", "mixed"] = "mixed"
    """Which part of the tree: it decides what goes in."""
    ends: Sealed = "bare"
    back: Sealed = "bare"


class CoatLines(Lines):
    """One coat of one face."""

    pieces: Annotated[
        tuple[str, ...], BeforeValidator(as_tuple), Field(min_length=1, max_length=LARGEST_BATCH)
    ]
    face: Literal["A", "B"] = "A"
    weight: CoatWeight
    """Mix that goes on the boards, thinner in it, [kg/m2]."""
    thinner: ThinnerName = "none"
    thinner_share: Fraction = typed("0 %")
    """Of the mass of the whole mix, [-]."""
    bagged: bool = True

    @field_validator("thinner_share")
    @classmethod
    def _thinner_and_share_together(cls, value: float, info: ValidationInfo) -> float:
        name = info.data.get("thinner")
        if name == "none" and value > 0:
            raise InputError("allowed: 0 % without a thinner; name it, thinner = 'ethanol'")
        if name not in (None, "none") and value <= 0:
            raise InputError(f"allowed: more than 0 % of {name}; or thinner = 'none'")
        return value


class ShopLines(Lines):
    """The shop as it is today, and as the night will be."""

    room: Annotated[Temperature, warm(ROOM_COLD, ROOM_HOT)] = typed("20 C")
    """While the boards are warmed and coated, [K]."""
    night_low: Annotated[Temperature, warm(NIGHT_COLD, ROOM_HOT)] | None = None
    """Coldest the shop is forecast to get in the night, [K]; as `room` when left out."""
    humidity: Annotated[Fraction, between(parse_fraction, "5 %", "95 %")] = typed("50 %")
    """Relative, of the shop's air, [-]. Default: common practice, no source."""
    barometer: (
        Annotated[
            float,
            BeforeValidator(_weather),
            between(parse_pressure_difference, "940 hPa", "1070 hPa"),
        ]
        | None
    ) = None
    """As a weather report gives it, reduced to the sea, [Pa]; the standard air when left out."""
    altitude: Annotated[Altitude, between(parse_altitude, "-400 m", "5000 m")] | None = None
    """Above the sea, [m]; the rig's when left out."""
    volume: Annotated[Volume, between(parse_volume, "5 m3", "5000 m3")] | None = None
    """Of the room's air, [m3]; fresh air is told without air changes when left out."""


class TimesLines(Lines):
    """When: for hours on the calendar instead of hours from now."""

    start: Moment | None = None
    """Lamp on, by the shop's clock."""
    bedtime: Hour = typed("22:30")
    """By which the coat should have gelled."""


class BenchLines(Lines):
    """What stands on the bench."""

    scale: Annotated[Mass, between(parse_mass, "0.01 g", "50 g")] = typed("1 g")
    """Smallest step the scale shows, [kg]."""
    cup: Annotated[Temperature, warm(ROOM_COLD, BAND_TOP_LIMIT)] | None = None
    """Resin and hardener as they are mixed, [K]; as the room when left out."""


class PouredLines(Lines):
    """What was really weighed in, where it came out wrong."""

    coat: Annotated[int, Field(ge=1, le=LARGEST_BATCH)] = 1
    """Which coat's cup."""
    a: Poured
    """[kg]."""
    b: Poured
    """[kg]."""


class HeatLines(Lines):
    """How the boards lie under the lamp, and what this batch wants otherwise than the rig."""

    back: Literal["lined", "open"] = "lined"
    distance: Annotated[Length, between(parse_length, "150 mm", "2 m")] | None = None
    """Lamp to face, [m]; what the face takes up is then reckoned from the lamp's power and this."""
    band_top: Annotated[Temperature, warm(WINDOW_COLD, BAND_TOP_LIMIT)] | None = None
    """Highest top of the preheat band, [K]; the rig's own limit when left out."""
    coat_low: Annotated[Temperature, warm(WINDOW_COLD, BAND_TOP_LIMIT)] | None = None
    """Foot of the coat window, [K]; the rig's when left out."""
    coat_high: Annotated[Temperature, warm(WINDOW_COLD, BAND_TOP_LIMIT)] | None = None
    """Its top, [K]; the rig's when left out."""
    handling_time: Annotated[Duration, between(parse_duration, "10 s", "20 min")] | None = None
    """Lamp-off to first stroke, [s]; the rig's when left out."""

    @field_validator("coat_high")
    @classmethod
    def _window_opens_upwards(cls, value: float | None, info: ValidationInfo) -> float | None:
        low = info.data.get("coat_low")
        if value is not None and low is not None and value <= low:
            raise InputError(f"allowed: above coat_low, {degrees(low)}")
        return value


class BagLines(Lines):
    """What this batch wants of the bag."""

    target: Annotated[Pressure, pressure_between("5 kPa", "90 kPa")] | None = None
    """The rig's when left out."""
    volume: Annotated[Volume, between(parse_volume, "0.1 L", "200 L")] | None = None
    """Of bag, hose, breather and trap, measured by a known dose, [m3]; a guess when left out."""


__all__ = [
    "LARGEST_BATCH",
    "BagLines",
    "BenchLines",
    "Called",
    "CoatLines",
    "DataSheetLines",
    "HeatLines",
    "Lines",
    "PieceLines",
    "PouredLines",
    "ResinName",
    "ShopLines",
    "TimesLines",
    "catalogue_of",
]
