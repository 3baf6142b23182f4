"""The shop's air pressure, from a BMP280 or BME280 on I2C."""

import struct
from collections.abc import Callable
from dataclasses import dataclass
from time import sleep

from controller.batch.signals import Sample
from controller.errors import ReadingError
from controller.hardware.raspberry_i2c import I2c

# Everything of the chip: [1] Bosch Sensortec, BMP280 data sheet, BST-BMP280-DS001; from memory, to
# be checked. Its worked example, which the tests repeat, came out to the digits printed.
CHIPS = {0x58: "BMP280", 0x60: "BME280"}
"""What its id register holds. [1]"""
ID, CALIBRATION, CONTROL, READINGS = 0xD0, 0x88, 0xF4, 0xF3
"""Registers: its id, the works' calibration, its control, and status to data in one go. [1]"""
SETTINGS = bytes((0x2F, 0x28))
"""Control: temperature once, pressure four times, over and over; config beside it: 62.5 ms between
measurements, a filter of 4. [1]"""
FIRST = 0.015
"""Longest first measurement at these, [s]. [1]"""
NOTHING = 0x80000
"""What a data register holds before the first measurement. [1]"""
LEAST, MOST = 30e3, 110e3
"""What the chip measures, [Pa]. [1]"""


@dataclass(frozen=True, slots=True)
class Calibration:
    """The works' calibration of one chip: three numbers for temperature, nine for pressure."""

    t: tuple[int, int, int]
    """dig_T1 to dig_T3."""
    p: tuple[int, int, int, int, int, int, int, int, int]
    """dig_P1 to dig_P9."""


def calibration(data: bytes) -> Calibration:
    """The calibration in the 24 bytes of its registers. Raises ReadingError for empty ones."""
    try:
        t1, t2, t3, p1, p2, p3, p4, p5, p6, p7, p8, p9 = struct.unpack("<HhhHhhhhhhhh", data)
    except struct.error as error:
        raise ReadingError("its calibration is cut short; look at its SDA wire") from error
    if 0 in (t1, p1) or data == b"\xff" * 24:
        raise ReadingError("its calibration is empty; look at its SDA wire and its supply")
    return Calibration((t1, t2, t3), (p1, p2, p3, p4, p5, p6, p7, p8, p9))


def compensated(found: Calibration, raw_temperature: int, raw_pressure: int) -> tuple[float, float]:
    """The chip's own temperature, [K], and the air pressure, [Pa], from two raw counts.

    found: the chip's calibration      raw_temperature, raw_pressure: 20 bits each

    Two polynomials in floating point [1]; the chip errs by some 100 Pa (typical, [1]), and its
    temperature is its board's, not the room's. Raises ReadingError where the calibration leaves no
    pressure.

    [1] Bosch Sensortec, BMP280 data sheet, BST-BMP280-DS001, section 3.11.3 and appendix 8.1; from
    memory, to be checked, and its worked example comes out.

    >>> made = Calibration((27504, 26435, -1000),
    ...                    (36477, -10685, 3024, 2855, 140, -7, 15500, -14600, 6000))
    >>> compensated(made, 519888, 415148)[1]
    100653.27
    """
    t1, t2, t3 = found.t
    p1, p2, p3, p4, p5, p6, p7, p8, p9 = found.p
    above = raw_temperature / 2**14 - t1 / 2**10
    fine = t2 * above + t3 * (above / 8) ** 2
    warm = fine / 2 - 64000
    gain = p1 * (1 + (p2 * warm + p3 * warm**2 / 2**19) / 2**34)
    if not gain > 0:
        raise ReadingError("its calibration leaves no pressure; look at its SDA wire")
    offset = (p4 * 2**16 + (2 * p5 * warm + p6 * warm**2 / 2**15) / 4) / 2**12
    first = (2**20 - raw_pressure - offset) * 6250 / gain
    return fine / 5120 + 273.15, first + (p9 * first**2 / 2**31 + p8 * first / 2**15 + p7) / 16


class Barometer:
    """A BMP280 or BME280 that measures by itself; a read takes the newest of it."""

    def __init__(self, i2c: I2c, address: int, pause: Callable[[float], None] = sleep) -> None:
        """address: 0x76 or 0x77      pause: waits so long, [s]. Nothing is asked here."""
        self._i2c, self._address, self._pause = i2c, address, pause
        self._found: Calibration | None = None

    def sample(self, now: float) -> Sample:
        """Air pressure in the shop at rig time `now`, [s], as a sample, [Pa].

        Within some 5 ms; the first, and the one after a failure, set the chip up in 20. Raises
        ReadingError with what to look at.
        """
        try:
            return Sample(self._measured(), now)
        except ReadingError as error:
            self._found = None
            raise ReadingError(f"barometer at {self._address:#x}: {error}") from error

    def _measured(self) -> float:
        if self._found is None:
            self._found = self._set_up()
        # status, control, config, one unused, then pressure and temperature of one measurement
        data = self._i2c.read(self._address, READINGS, 10)
        if data[1:3] != SETTINGS:
            raise ReadingError("it has lost its settings; look at its supply")
        raw_pressure, raw_temperature = (
            int.from_bytes(data[at : at + 3], "big") >> 4 for at in (4, 7)
        )
        # one alone is a count like any other
        if raw_pressure == raw_temperature == NOTHING:
            raise ReadingError("it has measured nothing yet; look at its supply")
        _, pressure = compensated(self._found, raw_temperature, raw_pressure)
        if not LEAST <= pressure <= MOST:
            raise ReadingError(
                f"{pressure / 1e3:.1f} kPa, outside {LEAST / 1e3:.0f} to {MOST / 1e3:.0f} kPa; look"
                " at its SDA and SCL wires"
            )
        return pressure

    def _set_up(self) -> Calibration:
        chip = self._i2c.read(self._address, ID, 1)[0]
        if chip not in CHIPS:
            raise ReadingError(
                f"its id is {chip:#04x}, no {' or '.join(CHIPS.values())}; look for another chip at"
                " this address"
            )
        found = calibration(self._i2c.read(self._address, CALIBRATION, 24))
        # config is taken only while it rests, so it comes first
        self._i2c.write(self._address, CONTROL, bytes(1))
        self._i2c.write(self._address, CONTROL + 1, SETTINGS[1:])
        self._i2c.write(self._address, CONTROL, SETTINGS[:1])
        self._pause(FIRST)
        return found
