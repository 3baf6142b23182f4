"""Converters that read a voltage: an MCP3008 on SPI, an ADS1115 on I2C."""

from collections.abc import Callable
from time import sleep
from typing import Any, Protocol

from controller.errors import InputError, ReadingError
from controller.hardware.raspberry_i2c import I2c

RAIL = 0.995
"""Share of a converter's range above which a value is a clipped one, [-]; own."""
MCP3008_STEPS = 1024
"""Of a 10-bit converter. [1] Microchip, MCP3004/3008, DS21295, equation 4-2; from memory, to be
checked."""
MCP3008_REFERENCE = 3.3
"""On its VREF pin, [V]: the Pi's own rail; common practice, no source."""
ADS1115_ADDRESS = 0x48
"""With its ADDR pin on ground. [1] Texas Instruments, ADS111x, SBAS444E; from memory, to be
checked."""
ADS1115_STEPS = 1 << 15
"""From zero to full scale; same source."""
ADS1115_GAINS = (
    (5, 0.256),
    (4, 0.512),
    (3, 1.024),
    (2, 2.048),
    (1, 4.096),
    (0, 6.144),
)
"""Bits 11:9 of its config register, and the full scale they stand for, [V]; same source."""
SPI_PINS = {
    "clock_pin": "GPIO11",
    "mosi_pin": "GPIO10",
    "miso_pin": "GPIO9",
    "select_pin": "GPIO8",
}
"""The header's SPI and its CE0, by BCM number; every 40-pin Pi, from memory, to be checked."""
RESULT, CONFIG = 0, 1
"""Its registers; same source."""
START_SINGLE = 0x8100
"""Bits 15 and 8: begin one conversion, then rest; same source."""
SINGLE_ENDED = 0b100
"""Of bits 14:12, above the channel: against ground; same source."""
FASTEST = 0x00E3
"""860 conversions a second (bits 7:5), no comparator (bits 1:0); same source."""
READY = 0x8000
"""Bit 15 as it is read: no conversion is going on; same source."""
CONVERSION = 1.1 / 860 + 30e-6
"""One conversion at a rate that is 10 % slow, and waking up, [s]; same source."""
LOOKS, BETWEEN_LOOKS = 4, 0.5e-3
"""How often it is asked whether it is ready, and the pause between, [s]; own. A conversion that is
not there after twice its time is none."""


class Adc(Protocol):
    """A converter with several inputs."""

    def volts(self, channel: int) -> float:
        """What stands on an input now, against ground, [V]. Answers within milliseconds.

        Raises ReadingError, also for a value at the end of its range.
        """

    def close(self) -> None:
        """Let go of the wires."""


def header_spi() -> Any:
    """A gpiozero factory for the header's SPI and nothing else.

    gpiozero's own would go on by hand where the kernel shows no SPI, with the lines of the bus as
    outputs of ours. And it notes who holds a line under a lock that it also takes when a closed bus
    is thrown away: where that falls into a claim, the thread waits for itself for good. The lines
    are kept from the outputs by the settings, so nothing is noted here.
    """
    from gpiozero.pins.lgpio import LGPIOHardwareSPI
    from gpiozero.pins.pi import PiFactory

    class HeaderSpi(PiFactory):  # type: ignore[misc]
        """One bus for all the inputs of a converter."""

        def __init__(self) -> None:
            super().__init__()
            self._bus: Any = None

        def spi(self, **wires: Any) -> Any:
            if self._bus is None or self._bus.closed:
                self._bus = LGPIOHardwareSPI(**SPI_PINS, pin_factory=self)
            return self._bus

        def reserve_pins(self, requester: Any, *names: Any) -> None:
            """Notes nothing."""

        def release_all(self, reserver: Any) -> None:
            """Nothing was noted."""

    return HeaderSpi()


class Mcp3008Adc:
    """An MCP3008 through gpiozero, on the header's SPI and its CE0.

    gpiozero's own voltage is half a step, 1.6 mV, above the data sheet's; it is reckoned from the
    raw count here. Whether the chip rounds or cuts is worth as much and stays open, as its own
    error of one step does; the two points of a gauge, told by the same converter, take both up.
    """

    def __init__(
        self, open_factory: Callable[[], Any] = header_spi, reference: float = MCP3008_REFERENCE
    ) -> None:
        """open_factory: gives gpiozero's factory      reference: on its VREF pin, [V]

        Nothing is opened here.
        """
        self._open_factory, self._reference = open_factory, reference
        self._factory: Any = None
        self._devices: dict[int, Any] = {}

    def volts(self, channel: int) -> float:
        """What stands on input 0 to 7, [V]: count / 1024 of the reference. Raises ReadingError."""
        # gpiozero, lgpio and the kernel each have their own errors, and any of them is no reading
        try:
            if channel not in self._devices:
                self._devices[channel] = self._opened(channel)
            count = int(self._devices[channel].raw_value)
        except Exception as error:
            why = " ".join(str(error).split()) or type(error).__name__
            raise ReadingError(
                f"converter MCP3008: not readable ({why}); look for dtparam=spi=on in config.txt"
                " and at its SPI wires"
            ) from error
        if count >= RAIL * MCP3008_STEPS:
            raise ReadingError(
                f"converter MCP3008 input {channel}: at the end of its range,"
                f" {self._reference:g} V; look at the divider before it and at its ground"
            )
        return count * self._reference / MCP3008_STEPS

    def _opened(self, channel: int) -> Any:
        from gpiozero import MCP3008

        if self._factory is None:
            self._factory = self._open_factory()
        return MCP3008(channel=channel, pin_factory=self._factory)

    def close(self) -> None:
        """Let go of the bus."""
        devices, self._devices = self._devices, {}
        for device in devices.values():
            device.close()


class Ads1115Adc:
    """An ADS1115 on I2C, one conversion at a time at its fastest, with the gain that fits."""

    def __init__(
        self,
        i2c: I2c,
        most: float,
        address: int = ADS1115_ADDRESS,
        pause: Callable[[float], None] = sleep,
    ) -> None:
        """most: what can stand on an input, [V]; sets the gain      pause: waits so long, [s]

        Raises InputError for more than it can be set to.
        """
        fits = [(bits, full) for bits, full in ADS1115_GAINS if most < RAIL * full]
        if not fits:
            raise InputError(
                f"converter ADS1115: {most:g} V is more than it reads, 6.1 V; use a divider"
            )
        self._gain, self.full_scale = fits[0]
        """Top of the range it is set to, [V]."""
        self._i2c, self._address, self._pause = i2c, address, pause

    @property
    def step(self) -> float:
        """What one count stands for, [V]."""
        return self.full_scale / ADS1115_STEPS

    def volts(self, channel: int) -> float:
        """What stands on input 0 to 3, [V]; takes some 3 ms. Raises ReadingError."""
        try:
            count = self._converted(channel)
        except ReadingError as error:
            raise ReadingError(f"converter ADS1115: {error}") from error
        if abs(count) >= RAIL * ADS1115_STEPS:
            raise ReadingError(
                f"converter ADS1115 input {channel}: at the end of its range,"
                f" {self.full_scale:g} V; look at the divider before it and at its ground"
            )
        return count * self.step

    def _converted(self, channel: int) -> int:
        config = START_SINGLE | (SINGLE_ENDED + channel) << 12 | self._gain << 9 | FASTEST
        self._i2c.write(self._address, CONFIG, config.to_bytes(2, "big"))
        self._pause(CONVERSION)
        for _ in range(LOOKS):
            found = int.from_bytes(self._i2c.read(self._address, CONFIG, 2), "big")
            if found & READY:
                break
            self._pause(BETWEEN_LOOKS)
        else:
            raise ReadingError("no conversion in twice its time; look at its supply, SDA and SCL")
        # a bus that only ever reads ones is always ready, and another program asks other things
        if found != config:
            raise ReadingError(
                f"its settings read {found:04x}, not {config:04x}; look at its SDA wire, and for"
                " another program that uses it"
            )
        return int.from_bytes(self._i2c.read(self._address, RESULT, 2), "big", signed=True)

    def close(self) -> None:
        """The bus is others' too and is closed by its owner."""
