"""A pretend I2C bus and the chips on it, for the drivers of the real ones."""

import errno
import struct
from collections.abc import Sequence
from typing import Protocol

from controller.hardware.raspberry_barometer import (
    CALIBRATION,
    CONTROL,
    ID,
    READINGS,
    calibration,
    compensated,
)
from controller.hardware.raspberry_i2c import I2c
from controller.hardware.raspberry_infrared import ADDRESS, EMISSIVITY, OBJECT, UNITY, packet_check

EXAMPLE = struct.pack(
    "<HhhHhhhhhhhh",
    *(27504, 26435, -1000),
    *(36477, -10685, 3024, 2855, 140, -7, 15500, -14600, 6000),
)
"""The calibration of one BMP280: the worked example of its data sheet, Bosch Sensortec,
BST-BMP280-DS001; from memory, to be checked."""
EXAMPLE_TEMPERATURE, EXAMPLE_PRESSURE = 519888, 415148
"""The example's raw counts, which are 25.08 C and 100653.27 Pa; same source."""


class Chip(Protocol):
    """What answers at an address."""

    def read(self, register: int, length: int) -> bytes:
        """Bytes from a register on."""

    def write(self, register: int, data: bytes) -> None:
        """Bytes to a register."""


class PretendBus:
    """One bus, and the chips on it by their address."""

    fd = 99
    """Its file, as smbus2 shows it."""

    def __init__(self, chips: dict[int, Chip]) -> None:
        self.chips = chips
        """Those with supply; at any other address nobody answers."""
        self.broken: int | None = None
        """The kernel's error for every transfer, by number; None while the bus is whole."""
        self.opened = self.closed = 0
        """How often it was."""

    def open(self) -> "PretendBus":
        """Itself, once more."""
        self.opened += 1
        return self

    def i2c(self) -> I2c:
        """The drivers' own bus, leading here."""
        return I2c(self.open)

    def _at(self, address: int) -> Chip:
        if self.broken is not None:
            raise OSError(self.broken, "as asked")
        if address not in self.chips:
            raise OSError(errno.EREMOTEIO, "Remote I/O error")
        return self.chips[address]

    def read_i2c_block_data(self, i2c_addr: int, register: int, length: int) -> list[int]:
        """As smbus2. Raises OSError."""
        return list(self._at(i2c_addr).read(register, length))

    def write_i2c_block_data(self, i2c_addr: int, register: int, data: Sequence[int]) -> None:
        """As smbus2. Raises OSError."""
        self._at(i2c_addr).write(register, bytes(data))

    def close(self) -> None:
        """As smbus2."""
        self.closed += 1


class Registers:
    """A chip of plain registers."""

    def __init__(self, held: dict[int, bytes]) -> None:
        """held: what is read from each register on"""
        self.held = held
        """What is read from each register on."""
        self.written: list[tuple[int, bytes]] = []
        """All that was written, in order."""

    def read(self, register: int, length: int) -> bytes:
        """Bytes from a register on."""
        return self.held[register][:length]

    def write(self, register: int, data: bytes) -> None:
        """Kept apart, and read by nobody."""
        self.written.append((register, data))


class PretendBmp280(Registers):
    """A BMP280 in air of any pressure, its own temperature always that of the example."""

    def __init__(self, chip: int = 0x58) -> None:
        """chip: what its id register holds"""
        super().__init__({ID: bytes([chip]), CALIBRATION: EXAMPLE})
        self.control = bytearray(2)
        """Control and config."""
        self.raw_temperature, self.raw_pressure = EXAMPLE_TEMPERATURE, EXAMPLE_PRESSURE
        """What it measures, as 20 bits each."""
        self._found = calibration(EXAMPLE)
        over = 1000
        self._slope = (
            self._pressure(EXAMPLE_PRESSURE + over) - self._pressure(EXAMPLE_PRESSURE)
        ) / over

    def in_air_of(self, pressure: float) -> None:
        """Measure `pressure`, [Pa]: the count whose compensated value is nearest.

        The driver's own polynomial is all but straight: a few steps along its slope are there.
        """
        for _ in range(8):
            off = pressure - self._pressure(self.raw_pressure)
            steps = round(off / self._slope)
            if steps == 0:
                break
            self.raw_pressure = max(0, min(2**20 - 1, self.raw_pressure + steps))

    def _pressure(self, count: int) -> float:
        return compensated(self._found, self.raw_temperature, count)[1]

    def write(self, register: int, data: bytes) -> None:
        """Control and config; config is not taken while it measures."""
        if register == CONTROL or not self.control[0] & 3:
            self.control[register - CONTROL] = data[0]
        super().write(register, data)

    def read(self, register: int, length: int) -> bytes:
        """Bytes from a register on; the newest measurement among them."""
        if register != READINGS:
            return super().read(register, length)
        raw = b"".join(
            (count << 4).to_bytes(3, "big") for count in (self.raw_pressure, self.raw_temperature)
        )
        return (b"\x00" + self.control + b"\x00" + raw)[:length]


class PretendMlx90614(Registers):
    """An MLX90614 as it leaves the works, set to emissivity 1."""

    def __init__(self) -> None:
        super().__init__({EMISSIVITY: word(EMISSIVITY, UNITY)})

    def sees(self, counts: int) -> None:
        """What it is sent, [0.02 K]."""
        self.held[OBJECT] = word(OBJECT, counts)


def word(register: int, value: int) -> bytes:
    """The three bytes an MLX90614 answers with: low, high, and their check byte."""
    pair = value.to_bytes(2, "little")
    return pair + bytes((packet_check(bytes((ADDRESS << 1, register, ADDRESS << 1 | 1)) + pair),))
