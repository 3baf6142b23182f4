"""A stand-in for an I2C bus: chips by address, and errors of the kernel when asked for."""

import errno
import struct
from collections.abc import Callable, Sequence
from typing import Protocol

from controller.hardware.raspberry_i2c import I2c


class Chip(Protocol):
    """What answers at an address."""

    def read(self, register: int, length: int) -> bytes: ...

    def write(self, register: int, data: bytes) -> None: ...


class Registers:
    """A chip of plain registers."""

    def __init__(self, held: dict[int, bytes]) -> None:
        self.held = held
        self.written: list[tuple[int, bytes]] = []

    def read(self, register: int, length: int) -> bytes:
        return self.held[register][:length]

    def write(self, register: int, data: bytes) -> None:
        self.written.append((register, data))


class FakeBus:
    """One bus. `broken` is the kernel's error for every transfer, by number."""

    fd = 99
    """Its file, as smbus2 shows it."""

    def __init__(self, chips: dict[int, Chip]) -> None:
        self.chips = chips
        self.broken: int | None = None
        self.opened = self.closed = 0

    def open(self) -> "FakeBus":
        self.opened += 1
        return self

    def i2c(self) -> I2c:
        return I2c(self.open)

    def _at(self, address: int) -> Chip:
        if self.broken is not None:
            raise OSError(self.broken, "as asked")
        if address not in self.chips:
            raise OSError(errno.EREMOTEIO, "Remote I/O error")
        return self.chips[address]

    def read_i2c_block_data(self, address: int, register: int, length: int) -> list[int]:
        return list(self._at(address).read(register, length))

    def write_i2c_block_data(self, address: int, register: int, data: Sequence[int]) -> None:
        self._at(address).write(register, bytes(data))

    def close(self) -> None:
        self.closed += 1


class FakeAds1115:
    """An ADS1115 with volts on its inputs, by the tables of its data sheet.

    Texas Instruments, SBAS444E, config register: from memory, to be checked.
    """

    FULL_SCALES = (6.144, 4.096, 2.048, 1.024, 0.512, 0.256, 0.256, 0.256)

    def __init__(self, volts: Callable[[int], float], looks: int = 0) -> None:
        """volts: on an input     looks: how often it says that it is still converting"""
        self.volts, self.looks = volts, looks
        self._config, self._count, self._left = 0x8583, 0, 0

    def write(self, register: int, data: bytes) -> None:
        assert (register, len(data)) == (1, 2)
        self._config = int.from_bytes(data, "big")
        mux, gain = self._config >> 12 & 7, self._config >> 9 & 7
        assert self._config & 0x8100 == 0x8100 and mux >= 4
        assert self._config & 0x00E3 == 0x00E3
        steps = round(self.volts(mux - 4) / self.FULL_SCALES[gain] * 32768)
        self._count, self._left = max(-32768, min(32767, steps)), self.looks

    def read(self, register: int, length: int) -> bytes:
        if register == 0:
            return self._count.to_bytes(2, "big", signed=True)[:length]
        busy, self._left = self._left > 0, self._left - 1
        return (self._config & (0x7FFF if busy else 0xFFFF)).to_bytes(2, "big")[:length]


# Bosch Sensortec, BMP280 data sheet, the worked example of its compensation formulas: these
# calibration values and raw counts give 25.08 degC and 100653.27 Pa. From memory, to be checked;
# that numbers and formulas, remembered apart, meet to the last digit speaks for both.
T = (27504, 26435, -1000)
P = (36477, -10685, 3024, 2855, 140, -7, 15500, -14600, 6000)
RAW_TEMPERATURE, RAW_PRESSURE = 519888, 415148


class FakeBmp280(Registers):
    """One that measures the example for ever."""

    def __init__(self, chip: int = 0x58) -> None:
        made = struct.pack("<HhhHhhhhhhhh", *T, *P)
        super().__init__({0xD0: bytes([chip]), 0x88: made})
        self.control = bytearray(2)
        self.raw_pressure, self.raw_temperature = RAW_PRESSURE, RAW_TEMPERATURE

    def write(self, register: int, data: bytes) -> None:
        # config is not taken while it measures
        if register == 0xF4 or not self.control[0] & 3:
            self.control[register - 0xF4] = data[0]
        super().write(register, data)

    def read(self, register: int, length: int) -> bytes:
        if register != 0xF3:
            return super().read(register, length)
        raw = b"".join(
            (n << 4).to_bytes(3, "big") for n in (self.raw_pressure, self.raw_temperature)
        )
        return (b"\x00" + self.control + b"\x00" + raw)[:length]
