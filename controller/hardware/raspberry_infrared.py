"""The board's face seen from afar, by an MLX90614-like infrared thermometer on I2C."""

from controller.batch.signals import Sample
from controller.errors import RangeError, ReadingError
from controller.hardware.raspberry_i2c import I2c
from controller.science.infrared import true_surface

# Everything of the chip: [1] Melexis, MLX90614 family data sheet, 3901090614; from memory, to be
# checked. The check byte of its printed example, which the tests repeat, comes out.
ADDRESS = 0x5A
"""As it leaves the works. [1]"""
OBJECT, EMISSIVITY = 0x07, 0x24
"""What it sees, and, in its lasting memory, the emissivity it is set to. [1]"""
STEP = 0.02
"""One count, [K]. [1]"""
FAULTY = 0x8000
"""Set in a temperature it does not stand by. [1]"""
UNITY = 0xFFFF
"""The emissivity 1, and what it leaves the works with. [1]"""
LEAST_EMISSIVITY = 0.1
"""Smallest it can be set to, [-]. [1]"""
CRC_POLYNOMIAL = 0x07
"""X^8 + X^2 + X + 1, highest bit first. [1] SMBus specification, packet error check; from memory,
to be checked."""


def packet_check(data: bytes) -> int:
    """The check byte of an SMBus message: CRC-8 of all its bytes, addresses too.

    >>> hex(packet_check(b"123456789"))
    '0xf4'
    """
    crc = 0
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = (crc << 1 ^ (CRC_POLYNOMIAL if crc & 0x80 else 0)) & 0xFF
    return crc


class InfraredThermometer:
    """Reads the face without touching it, and only while the lamp is off.

    With the lamp on the face mirrors its glass: a face at 46 C then reads 50.
    """

    def __init__(self, i2c: I2c, emissivity: float, address: int = ADDRESS) -> None:
        """emissivity: of the face, [-]. Nothing is asked here."""
        self._i2c, self._emissivity, self._address = i2c, emissivity, address
        self._set: float | None = None

    def sample(self, now: float, *, lamp_on: bool, reflected: float) -> Sample:
        """Face temperature at rig time `now`, [s], as a sample, [K].

        lamp_on: as the caller knows it      reflected: what the face mirrors, mostly the room, [K]

        Corrected from the emissivity the chip is set to, which it is asked for, to that of the
        face. Within some 2 ms. Raises ReadingError while the lamp is on, and with what to look at
        for everything else.
        """
        if lamp_on:
            raise ReadingError("infrared: the lamp is on and would be read in the face's mirror")
        try:
            if self._set is None:
                self._set = self._emissivity_set()
            word = self._word(OBJECT)
            if word & FAULTY:
                raise ReadingError("it does not stand by its reading; look at its supply")
            face = true_surface(word * STEP, self._set, self._emissivity, reflected)
        except (ReadingError, RangeError) as error:
            # a chip that was changed may be set otherwise
            self._set = None
            raise ReadingError(f"infrared at {self._address:#x}: {error}") from error
        return Sample(face, now)

    def _emissivity_set(self) -> float:
        share = self._word(EMISSIVITY) / UNITY
        if share < LEAST_EMISSIVITY:
            raise ReadingError(f"its emissivity is set to {share:.3f}; set it anew, or change it")
        return share

    def _word(self, register: int) -> int:
        """A word of the chip, its check byte proved."""
        low, high, check = self._i2c.read(self._address, register, 3)
        sent = bytes((self._address << 1, register, self._address << 1 | 1, low, high))
        if packet_check(sent) != check:
            raise ReadingError("its answer is garbled; look at its SDA and SCL wires")
        return low | high << 8
