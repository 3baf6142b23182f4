"""The lines a rig uses on the Pi's 40-pin header: the one table every wiring drawing is made of."""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from controller.hardware.raspberry_adc import SPI_PINS
from controller.settings import Settings, default_settings_text, parse_settings
from controller.settings.panel import panel_lines

PINS = {
    2: 3, 3: 5, 4: 7, 14: 8, 15: 10, 17: 11, 18: 12, 27: 13, 22: 15, 23: 16,
    24: 18, 10: 19, 9: 21, 25: 22, 11: 23, 8: 24, 7: 26, 0: 27, 1: 28, 5: 29,
    6: 31, 12: 32, 13: 33, 19: 35, 16: 36, 26: 37, 20: 38, 21: 40,
}  # fmt: skip
"""BCM number to place on the header, the same on every 40-pin Pi; from memory, to be checked."""
THREE_VOLTS, FIVE_VOLTS, GROUNDS = (1, 17), (2, 4), (6, 9, 14, 20, 25, 30, 34, 39)
"""Places of the supplies and of ground; from memory, to be checked."""


class Use(StrEnum):
    """What a line does, seen from the Pi."""

    OUTPUT = "output"
    INPUT = "input"
    BUS = "bus"


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the header and what hangs on it."""

    name: str
    """As people and the settings know it."""
    bcm: int
    """Its BCM number."""
    use: Use
    """What it does."""
    goes_to: str
    """What its wire leads to."""

    @property
    def pin(self) -> int:
        """Its place on the header, 1 to 40."""
        return PINS[self.bcm]


GOES_TO = {
    "lamp relay": "relay board, input 1",
    "pump relay": "relay board, input 2",
    "STOP button": "contact, opens when pressed",
    "NEXT button": "contact, closes when tapped",
    "sounder": "its transistor",
    "dead-man": "edge detector",
    "lamp sense": "mains-sensing module, closed while live",
    "tilt switch": "contact, opens when the lamp leans",
    "cut-out sense": "low-voltage contact of the cut-out",
    "trap float": "contact, opens when the trap is full",
}
"""Where each line leads, by its name."""
OUTPUTS = ("lamp relay", "pump relay", "sounder", "dead-man")
BUSES = (
    ("I2C SDA", 2, "barometer, infrared, ADS1115"),
    ("I2C SCL", 3, "the same"),
    ("1-Wire", 4, "all board probes"),
)
"""Buses that the kernel puts where it likes."""
SPI_NAMES = {
    "miso_pin": ("SPI MISO", "MCP3008 DOUT"),
    "mosi_pin": ("SPI MOSI", "MCP3008 DIN"),
    "clock_pin": ("SPI SCLK", "MCP3008 CLK"),
    "select_pin": ("SPI CE0", "MCP3008 CS"),
}


def lines(settings: Settings) -> tuple[Line, ...]:
    """Every line these settings use, and those of the buses, by BCM number."""
    return tuple(sorted(_lines(settings), key=lambda line: line.bcm))


def example_lines() -> tuple[Line, ...]:
    """The lines of the documented example, which is a whole rig."""
    return lines(parse_settings(default_settings_text()))


def by_name(found: tuple[Line, ...]) -> dict[str, Line]:
    """The same lines, by their names."""
    return {line.name: line for line in found}


def said(line: Line) -> str:
    """A line as a drawing names it."""
    return f"GPIO{line.bcm} (pin {line.pin})"


def _lines(settings: Settings) -> Iterator[Line]:
    named = [("lamp relay", settings.lamp.gpio), ("pump relay", settings.pump.gpio)]
    named += panel_lines(settings.panel, settings.sense)
    for name, bcm in named:
        if bcm is not None:
            use = Use.OUTPUT if name in OUTPUTS else Use.INPUT
            yield Line(name, bcm, use, GOES_TO[name])
    for name, bcm, goes_to in BUSES:
        yield Line(name, bcm, Use.BUS, goes_to)
    for key, (name, goes_to) in SPI_NAMES.items():
        yield Line(name, int(SPI_PINS[key].removeprefix("GPIO")), Use.BUS, goes_to)
