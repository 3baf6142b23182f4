"""Pretend DS18B20 chips in a pretend folder of the 1-Wire bus, as the kernel shows them."""

from pathlib import Path

from controller.hardware.raspberry_probes import STEPS

CRC_POLYNOMIAL = 0x8C
"""X^8 + X^5 + X^4 + 1, lowest bit first; Maxim application note 27, from memory, to be checked."""


class PretendChip:
    """The folder of one DS18B20, as the kernel shows it; garbled until it converts."""

    def __init__(self, folder: Path) -> None:
        """folder: named by the chip's id; made here"""
        folder.mkdir(parents=True, exist_ok=True)
        self._file = folder / "w1_slave"
        self._file.touch()
        self._pad = scratchpad(25 * STEPS)
        self.garble()

    def converted(self, counts: int) -> None:
        """Show a conversion, [1/16 C]."""
        self._pad = scratchpad(counts)
        self._show("YES")

    def garble(self) -> None:
        """Show an answer that failed its check."""
        self._show("NO")

    def _show(self, verdict: str) -> None:
        counts = int.from_bytes(self._pad[:2], "little", signed=True)
        pad = self._pad.hex(" ")
        text = f"{pad} : crc={self._pad[8]:02x} {verdict}\n{pad} t={counts * 1000 // STEPS}\n"
        # written over, not anew: a disk makes an emptied file wait until it is on the platter
        with self._file.open("r+b", buffering=0) as file:
            file.write(text.encode("ascii"))
            file.truncate()


def scratchpad(counts: int) -> bytes:
    """The nine bytes a DS18B20 holds after converting to `counts`, [1/16 C], at 12 bit.

    >>> scratchpad(25 * 16).hex(" ")
    '90 01 4b 46 7f ff 10 10 92'
    """
    low, high = counts.to_bytes(2, "little", signed=True)
    # alarm limits and set-up as the chip leaves the works; byte 6 counts down to the next 1/16
    pad = bytes((low, high, 0x4B, 0x46, 0x7F, 0xFF, 0x10 - (low & 0x0F), 0x10))
    return pad + bytes((crc8(pad),))


def crc8(data: bytes) -> int:
    """The check byte of the 1-Wire bus."""
    crc = 0
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ (CRC_POLYNOMIAL if crc & 1 else 0)
    return crc
