"""The I2C bus on a Raspberry Pi's header: chips read by register, and what a silence means."""

import errno
import fcntl
from collections.abc import Callable, Sequence
from typing import Protocol

from controller.errors import ReadingError

HEADER_BUS = 1
"""Number of the bus on pins 3 and 5 of the header; every 40-pin Pi, from memory, to be checked."""
I2C_TIMEOUT = 0x0702
"""The call that tells the kernel how long a transfer may take. [1] Linux, uapi/linux/i2c-dev.h;
from memory, to be checked."""
PATIENCE = 2
"""How long, in the kernel's 10 ms; own. Its usual second would hold up every output."""


class Bus(Protocol):
    """What is used of smbus2, by its own names."""

    def read_i2c_block_data(self, i2c_addr: int, register: int, length: int) -> list[int]:
        """Bytes from a register on, after a repeated start. Raises OSError."""

    def write_i2c_block_data(self, i2c_addr: int, register: int, data: Sequence[int]) -> None:
        """Bytes to a register. Raises OSError."""

    def close(self) -> None:
        """Let go of the bus."""


def header_bus() -> Bus:
    """The header's bus through smbus2, with transfers that give up after 20 ms.

    Raises ReadingError without smbus2, OSError when the kernel shows no bus.
    """
    try:
        from smbus2 import SMBus
    except ImportError as error:
        raise ReadingError(f"smbus2 cannot be imported ({error}); install warmdraw[pi]") from error
    bus = SMBus(HEADER_BUS)
    try:
        fcntl.ioctl(bus.fd, I2C_TIMEOUT, PATIENCE)
    except BaseException:
        bus.close()
        raise
    opened: Bus = bus
    return opened


class I2c:
    """The bus, opened when it is first needed and anew after every failure.

    A bus that locked up with a chip holding SDA down comes back only when that chip has lost its
    supply for a moment; until then every read fails within some 20 ms.
    """

    def __init__(self, open_bus: Callable[[], Bus] = header_bus) -> None:
        """open_bus: gives the bus. Nothing is opened here."""
        self._open_bus = open_bus
        self._bus: Bus | None = None

    def read(self, address: int, register: int, length: int) -> bytes:
        """`length` bytes of the chip at `address` from `register` on.

        Raises ReadingError, with the wire to look at.
        """
        try:
            data = self._opened().read_i2c_block_data(address, register, length)
        except OSError as error:
            raise self._lost(error) from error
        if len(data) != length:
            raise ReadingError("its answer is cut short; look at its SDA and SCL wires")
        return bytes(data)

    def write(self, address: int, register: int, data: bytes) -> None:
        """Write `data` to the chip at `address` from `register` on. Raises ReadingError too."""
        try:
            self._opened().write_i2c_block_data(address, register, list(data))
        except OSError as error:
            raise self._lost(error) from error

    def close(self) -> None:
        """Let go of the bus; a later read opens it again."""
        bus, self._bus = self._bus, None
        if bus is not None:
            bus.close()

    def _opened(self) -> Bus:
        if self._bus is None:
            self._bus = self._open_bus()
        return self._bus

    def _lost(self, error: OSError) -> ReadingError:
        """What the kernel's error means at the bench; the bus is let go of."""
        if isinstance(error, ReadingError):
            return error
        self.close()
        return ReadingError(_said(error))


def _said(error: OSError) -> str:
    if error.errno in (errno.ENOENT, errno.ENODEV):
        return f"there is no /dev/i2c-{HEADER_BUS}; put dtparam=i2c_arm=on in config.txt, reboot"
    if error.errno in (errno.EACCES, errno.EPERM):
        return f"/dev/i2c-{HEADER_BUS} is not for this user; put it in the group i2c"
    if error.errno in (errno.ENXIO, errno.EREMOTEIO):
        return "nobody answers at its address; look at its supply, its plug and its address"
    if error.errno in (errno.ETIMEDOUT, errno.EAGAIN, errno.EBUSY):
        return (
            "the bus is held down; look for a short of SDA or SCL, then take the sensors' supply"
            " off for a moment"
        )
    return f"not readable ({error.strerror or error}); look at its SDA and SCL wires"
