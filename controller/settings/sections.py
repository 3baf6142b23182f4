"""What a rig can be told: one frozen table for each part of it, every value bounded here."""

from collections.abc import Iterator, Mapping
from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator, model_validator

from controller.errors import InputError
from controller.quantities import (
    SEA_LEVEL,
    Altitude,
    Duration,
    Flow,
    Flux,
    Power,
    Pressure,
    PressureDifference,
    Temperature,
    TimeZone,
    parse_altitude,
    parse_duration,
    parse_flow,
    parse_flux,
    parse_power,
    parse_pressure_difference,
    shown,
)
from controller.settings.bounds import (
    Folder,
    Host,
    Name,
    OutputLine,
    ProbeId,
    RelayTime,
    Section,
    Wired,
    as_tuple,
    between,
    degrees,
    pressure_between,
    typed,
    warm,
)
from controller.settings.gauges import SPI_LINES, Barometer, Gauge
from controller.settings.panel import Infrared, Panel, Sense

# The two that no setting can raise. Own, on the low side: a face probe reads late and low, and
# wood that is kept hot for long can go on to heat itself. A change here is a change of design.
BAND_TOP_LIMIT = 273.15 + 50.0
"""Highest top of the preheat band, [K]."""
TRIP_LIMIT = 273.15 + 60.0
"""Highest face temperature at which the lamp may still be on, [K]."""
ROOM_WARM = 273.15 + 15.0
"""A band, window or trip below this is a wrong unit, [K]; own."""


class RigSection(Section):
    """Which rig this is and where it keeps its things."""

    name: Name = "rig"
    backend: Literal["simulated", "mock", "raspberry"]
    state_folder: Folder = typed("/var/lib/warmdraw")
    run_folder: Folder = typed("/run/warmdraw")
    close_watch: bool = True
    """No independent cut-out or dead-man is fitted: people look more often, the trip is lower."""

    @property
    def pretended(self) -> bool:
        """No real rig is behind it, whichever drivers are."""
        return self.backend != "raspberry"


class Shop(Section):
    """The place."""

    name: Name = "shop"
    altitude: Annotated[Altitude, between(parse_altitude, "-430 m", "5000 m")]
    """Above the sea, [m]. No default: a guess would shift every vacuum."""
    time_zone: TimeZone
    """IANA name."""
    catalogue: Folder | None = None
    """Where the shop's own woods.toml, resins.toml and thinners.toml are; None for none."""


class Output(Section):
    """Something a relay switches."""

    wired: Wired = "by hand"
    gpio: OutputLine | None = None
    """BCM number."""

    @field_validator("gpio")
    @classmethod
    def _named_where_wired(cls, value: int | None, info: ValidationInfo) -> int | None:
        if value is None and info.data.get("wired") == "wired":
            raise InputError("needed where wired = 'wired'")
        return value

    @property
    def line(self) -> int | None:
        """BCM number of its relay; None where no relay switches it."""
        return self.gpio if self.wired == "wired" else None


class Lamp(Output):
    """All lamps, on one output."""

    count: Annotated[int, Field(ge=1, le=12)] = 1
    power: Annotated[Power, between(parse_power, "25 W", "2000 W")] = typed("250 W")
    """Electrical, of each lamp, [W]. Common practice, no source."""
    absorbed: Annotated[Flux, between(parse_flux, "50 W/m2", "1500 W/m2")] = typed("300 W/m2")
    """What the face is expected to take up under all of them, [W/m2]. Own."""
    min_on: RelayTime = typed("5 s")
    """Shortest ON the relay is given, [s]. Own."""
    min_off: RelayTime = typed("5 s")
    """Shortest OFF the relay is given, [s]. Own."""


class Probe(Section):
    """A temperature probe on the 1-Wire bus."""

    id: ProbeId


class FaceProbe(Probe):
    """The probe the lamp is held by."""

    lag: Annotated[Duration, between(parse_duration, "0.5 s", "120 s")] = typed("20 s")
    """Time constant against wood, [s]. Common practice, no source."""


class Probes(Section):
    """The probes by what they measure; one that is not named is not there."""

    face: FaceProbe | None = None
    back: Probe | None = None
    room: Probe | None = None
    film: Probe | None = None


class Pump(Output):
    """The vacuum pump."""

    ultimate: Annotated[Pressure, pressure_between("0 kPa", "60 kPa")] = typed("25 inHg vacuum")
    """What it reaches on a blanked port; as a vacuum, the rating at sea level. Common practice."""
    speed: Annotated[Flow, between(parse_flow, "0.5 L/min", "500 L/min")] | None = None
    """What it moves with its port open, [m3/s]; pump-down times are not told when left out."""
    min_off: RelayTime = typed("60 s")
    """Shortest rest before a start, [s]. Common practice, no source."""

    def ultimate_absolute(self) -> float:
        """The ultimate as an absolute pressure, the same at any altitude, [Pa]."""
        return self.ultimate.absolute(SEA_LEVEL)


class Heat(Section):
    """How warm the face may get, and where it is coated."""

    band_top_limit: Annotated[Temperature, warm(ROOM_WARM, BAND_TOP_LIMIT)] = typed("50 C")
    """The preheat band's top is chosen at or below this, [K]."""
    trip: Annotated[Temperature, warm(ROOM_WARM, TRIP_LIMIT)] = typed("60 C")
    """The lamp goes off at this face temperature at the latest, [K]."""
    coat_low: Annotated[Temperature, warm(ROOM_WARM, BAND_TOP_LIMIT)] = typed("32 C")
    """Foot of the coat window, [K]. Common practice, no source."""
    coat_high: Annotated[Temperature, warm(ROOM_WARM, BAND_TOP_LIMIT)] = typed("38 C")
    """Top of the coat window, [K]. Common practice, no source."""
    handling_time: Annotated[Duration, between(parse_duration, "10 s", "20 min")] = typed("180 s")
    """From lamp-off to the first stroke, [s]. Own."""

    @field_validator("trip")
    @classmethod
    def _trip_above_the_band(cls, value: float, info: ValidationInfo) -> float:
        top = info.data.get("band_top_limit")
        if top is not None and value <= top:
            raise InputError(f"allowed: above band_top_limit, {degrees(top)}")
        return value

    @field_validator("coat_high")
    @classmethod
    def _window_open_and_in_reach(cls, value: float, info: ValidationInfo) -> float:
        low, top = info.data.get("coat_low"), info.data.get("band_top_limit")
        if low is not None and value <= low:
            raise InputError(f"allowed: above coat_low, {degrees(low)}")
        if top is not None and value > top:
            raise InputError(f"allowed: at most band_top_limit, {degrees(top)}")
        return value


class Bag(Section):
    """What the bag is held at."""

    target: Annotated[Pressure, pressure_between("5 kPa", "90 kPa")] = typed("22 inHg vacuum")
    """A vacuum is counted from the air of the day. Own."""
    hold_band: Annotated[
        PressureDifference, between(parse_pressure_difference, "0.3 inHg", "10 inHg")
    ] = typed("3 inHg")
    """How far the bag may rise above the target before the pump starts, [Pa]. Common practice."""


class Page(Section):
    """Where the page is served."""

    host: Host = "127.0.0.1"
    port: Annotated[int, Field(ge=1024, le=65535)] = 8420
    allowed_hosts: Annotated[
        tuple[Host, ...], BeforeValidator(as_tuple), Field(min_length=1, max_length=20)
    ] = ("127.0.0.1", "localhost")
    """Names a browser may ask this page by; any other is refused."""


def clashes(tables: Mapping[str, object]) -> Iterator[str]:
    """A line for each BCM line or probe that is given twice in a file's tables, and for each BCM
    line that is the gauge's converter's."""
    places = [(name, "gpio") for name in ("lamp", "pump")]
    places += [("panel", key) for key in Panel.model_fields]
    places += [("sense", key) for key in Sense.model_fields]
    places += [(f"probes.{role}", "id") for role in Probes.model_fields]
    seen: dict[object, str] = {}
    for place, key in places:
        table: object = tables
        for name in place.split("."):
            table = table.get(name) if isinstance(table, Mapping) else None
        value = table.get(key) if isinstance(table, Mapping) else None
        if not isinstance(value, int | str):
            continue
        if value in seen:
            yield f"{place}.{key} = {shown(value)}: allowed: another than {seen[value]}"
        seen.setdefault(value, f"{place}.{key}")
    gauge = tables.get("gauge")
    if isinstance(gauge, Mapping) and gauge.get("adc") == "mcp3008":
        for line in SPI_LINES:
            if line in seen:
                yield f"{seen[line]} = {line}: allowed: another than 9, 10 and 11, the mcp3008's"


class Settings(Section):
    """All that a rig was told, in SI."""

    rig: RigSection
    shop: Shop
    lamp: Lamp = Field(default_factory=Lamp)
    probes: Probes = Field(default_factory=Probes)
    pump: Pump = Field(default_factory=Pump)
    gauge: Gauge = Field(default_factory=Gauge)
    barometer: Barometer = Field(default_factory=Barometer)
    infrared: Infrared = Field(default_factory=Infrared)
    panel: Panel = Field(default_factory=Panel)
    sense: Sense = Field(default_factory=Sense)
    heat: Heat = Field(default_factory=Heat)
    bag: Bag = Field(default_factory=Bag)
    page: Page = Field(default_factory=Page)

    @model_validator(mode="after")
    def _nothing_given_twice(self) -> Self:
        for line in clashes(self.model_dump()):
            raise InputError(line)
        return self
