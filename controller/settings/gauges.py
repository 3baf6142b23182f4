"""How the bag's gauge and the barometer are wired, and what a live gauge can say."""

from typing import Annotated, Literal

from pydantic import Field, ValidationInfo, field_validator

from controller.errors import InputError
from controller.quantities import Pressure
from controller.settings.bounds import Ohms, Section, Volts, Wired

SUPPLY = 5.0
"""What a ratiometric gauge's volts are told for, [V]; common practice, no source."""
LEAST_SUPPLY, MOST_SUPPLY = 4.5, 5.25
"""Between these such a gauge measures as it should, [V]; common practice, no source."""
LEAST_VOLTS, MOST_VOLTS = 0.4, 4.8
"""A live 0.5-4.5 V gauge on 5 V says nothing outside these, [V]; own: 0.8 of its foot below, and
above what leaves the end of its range room."""
LEAST_CURRENT, MOST_CURRENT = 3.6e-3, 21e-3
"""Nor does a live 4-20 mA gauge outside these, [A]. [1] NAMUR NE 43; from memory, to be checked."""
REACH = {"mcp3008": 3.28, "ads1115": 6.11}
"""What the two converters tell from a clipped value, [V]: 0.995 of 3.3 V and of 6.144 V."""
INPUTS = {"mcp3008": 8, "ads1115": 4}
"""How many inputs they have."""
SPI_LINES = (9, 10, 11)
"""BCM numbers the MCP3008's bus takes from the outputs; its select line, 8, is none of theirs."""


class Gauge(Section):
    """The bag's gauge: a straight line through two points, and the converter that reads it."""

    wired: Wired = "by hand"
    low_volts: Volts | None = None
    low_pressure: Pressure | None = None
    high_volts: Volts | None = None
    high_pressure: Pressure | None = None
    adc: Literal["mcp3008", "ads1115"] | None = None
    """What reads its volts; a real rig with a wired gauge needs one."""
    output: Literal["ratiometric", "current"] = "ratiometric"
    """0.5-4.5 V that go with its 5 V supply, or 4-20 mA over a resistor."""
    resistor: Ohms | None = None
    """What a current is read over, [ohm]; the points are the volts across it."""
    channel: Annotated[int, Field(ge=0, le=7)] = 0
    """The converter's input the gauge is on."""
    supply_channel: Annotated[int, Field(ge=0, le=7)] | None = None
    """The input its supply is measured on; None takes 5 V for it."""
    divider: Annotated[float, Field(ge=0.05, le=1.0)] = 1.0
    """What an input sees of a volt, [-]; the same on both inputs."""

    @field_validator("low_volts", "low_pressure", "high_volts", "high_pressure")
    @classmethod
    def _given_where_wired(cls, value: object, info: ValidationInfo) -> object:
        if value is None and info.data.get("wired") == "wired":
            raise InputError("needed where wired = 'wired'")
        return value

    @field_validator("high_volts")
    @classmethod
    def _volts_apart(cls, value: float | None, info: ValidationInfo) -> float | None:
        low = info.data.get("low_volts")
        if value is not None and low is not None and value < low + 0.1:
            raise InputError("allowed: at least 0.1 V above low_volts")
        return value

    @field_validator("high_pressure")
    @classmethod
    def _one_kind_of_gauge(cls, value: Pressure | None, info: ValidationInfo) -> Pressure | None:
        low = info.data.get("low_pressure")
        if value is None or low is None:
            return value
        if value.kind != low.kind:
            raise InputError(f"allowed: a pressure marked {low.kind}, like low_pressure")
        if value.value == low.value:
            raise InputError("allowed: another pressure than low_pressure")
        return value

    @field_validator("output")
    @classmethod
    def _volts_of_a_live_gauge(cls, value: str, info: ValidationInfo) -> str:
        if info.data.get("adc") is not None and value == "ratiometric":
            _within(info, LEAST_VOLTS, MOST_VOLTS)
        return value

    @field_validator("resistor")
    @classmethod
    def _current_of_a_live_gauge(cls, value: float | None, info: ValidationInfo) -> float | None:
        if info.data.get("output") != "current":
            return value
        if value is None:
            raise InputError("needed where output = 'current'")
        if info.data.get("adc") is not None:
            _within(info, LEAST_CURRENT * value, MOST_CURRENT * value)
        return value

    @field_validator("channel", "supply_channel")
    @classmethod
    def _an_input_it_has(cls, value: int | None, info: ValidationInfo) -> int | None:
        adc = info.data.get("adc")
        if value is not None and adc is not None and value >= INPUTS[adc]:
            raise InputError(f"allowed: 0 to {INPUTS[adc] - 1} on an {adc}")
        return value

    @field_validator("supply_channel")
    @classmethod
    def _an_input_of_its_own(cls, value: int | None, info: ValidationInfo) -> int | None:
        if value is not None and value == info.data.get("channel"):
            raise InputError("allowed: another than channel")
        if value is not None and info.data.get("output") == "current":
            raise InputError("allowed: none where output = 'current', which no supply moves")
        return value

    @field_validator("divider")
    @classmethod
    def _in_reach_of_the_converter(cls, value: float, info: ValidationInfo) -> float:
        adc, told = info.data.get("adc"), info.data
        if adc is None or not {"output", "resistor", "supply_channel"} <= told.keys():
            return value
        most = most_volts(told["output"], told["resistor"], told["supply_channel"] is not None)
        if value * most > REACH[adc]:
            raise InputError(
                f"allowed: at most {int(100 * REACH[adc] / most) / 100} here, so that"
                f" {most:.4g} V stays under the {adc}'s {REACH[adc]} V"
            )
        return value

    def most(self) -> float:
        """The most that can stand on an input of the converter while all is well, [V]."""
        supply = self.supply_channel is not None
        return self.divider * most_volts(self.output, self.resistor, supply)


def most_volts(output: str, resistor: float | None, supply: bool) -> float:
    """The most that can stand before the divider while all is well, [V].

    output: as in the settings     resistor: of a current, [ohm]     supply: it is measured too
    """
    if output == "current":
        return MOST_CURRENT * (resistor or 0.0)
    return MOST_SUPPLY if supply else MOST_VOLTS


def _within(info: ValidationInfo, least: float, most: float) -> None:
    """Raises InputError where one of the two points is nothing a live gauge says, [V]."""
    for key in ("low_volts", "high_volts"):
        volts = info.data.get(key)
        if volts is not None and not least <= volts <= most:
            raise InputError(
                f"allowed: with low_volts and high_volts from {least:.3g} V to {most:.3g} V,"
                " where such a gauge lives"
            )


class Barometer(Section):
    """A BMP280 or BME280 on the header's I2C."""

    wired: Literal["wired", "absent"] = "absent"
    address: Literal["0x76", "0x77"] = "0x76"
    """Where it answers; its SDO pin chooses."""
