"""The pretend I2C bus for the drivers' tests, and an ADS1115 on it."""

from collections.abc import Callable

from controller.hardware.raspberry_mock_i2c import PretendBmp280 as FakeBmp280
from controller.hardware.raspberry_mock_i2c import PretendBus as FakeBus
from controller.hardware.raspberry_mock_i2c import Registers

__all__ = [
    "RAW_PRESSURE",
    "RAW_TEMPERATURE",
    "FakeAds1115",
    "FakeBmp280",
    "FakeBus",
    "P",
    "Registers",
    "T",
]

# Bosch Sensortec, BMP280 data sheet, the worked example of its compensation formulas: these
# calibration values and raw counts give 25.08 degC and 100653.27 Pa. From memory, to be checked;
# that numbers and formulas, remembered apart, meet to the last digit speaks for both.
T = (27504, 26435, -1000)
P = (36477, -10685, 3024, 2855, 140, -7, 15500, -14600, 6000)
RAW_TEMPERATURE, RAW_PRESSURE = 519888, 415148


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
