"""A stand-in for the lgpio module whose lines outlive their owner, as on a Raspberry Pi's kernel.

Put this folder first on PYTHONPATH and name a bench folder in LGPIO_STANDIN. The bench holds:

chips      one line a chip: its number and its label
line-N-G   the level of line G on chip N, "in" or "out" before it; its owner holds a lock on it, and
           the kernel lets that go when the owner dies, whatever it died of
calls      one line a call: the process, the call, the line, the level
fail       names of calls that shall raise, if the file is there
spi        the counts on the inputs of an MCP3008; without the file the kernel shows no SPI
"""

import fcntl
import os
from pathlib import Path

SET_PULL_UP, SET_PULL_DOWN, SET_PULL_NONE = 32, 64, 128
RISING_EDGE, FALLING_EDGE, BOTH_EDGES = 1, 2, 3
IS_OUT = 1 << 1

_BENCH = Path(os.environ["LGPIO_STANDIN"])
_chips: dict[int, int] = {}
_lines: dict[tuple[int, int], int] = {}


class error(Exception):  # noqa: N801, N818 (the name the real module gives it)
    """As the real one: it holds a text, and shows it in quotes."""

    def __init__(self, value: str) -> None:
        self.value = value

    def __str__(self) -> str:
        return repr(self.value)


def _labels() -> dict[int, str]:
    lines = (_BENCH / "chips").read_text().splitlines()
    return {int(number): label for number, label in (line.split() for line in lines)}


def _called(name: str, gpio: int, level: int | str = "") -> None:
    with (_BENCH / "calls").open("a") as calls:
        calls.write(f"{os.getpid()} {name} {gpio} {level}\n")
    fail = _BENCH / "fail"
    if fail.exists() and name in fail.read_text().split():
        raise error("unknown error")


def _claim(handle: int, gpio: int) -> int:
    key = (handle, gpio)
    if key not in _lines:
        file = os.open(_BENCH / f"line-{_chips[handle]}-{gpio}", os.O_RDWR | os.O_CREAT)
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            os.close(file)
            raise error("GPIO busy") from None
        _lines[key] = file
    return _lines[key]


def _held(handle: int, gpio: int) -> int:
    try:
        return _lines[handle, gpio]
    except KeyError:
        raise error("GPIO not allocated") from None


def _set(file: int, direction: str, level: int) -> None:
    os.pwrite(file, f"{direction:<3} {level}\n".encode(), 0)


def _get(file: int) -> tuple[str, int]:
    direction, level = os.pread(file, 16, 0).decode().split()
    return direction, int(level)


def gpiochip_open(chip: int) -> int:
    if chip not in _labels():
        raise error("can not open gpiochip")
    handle = len(_chips)
    _chips[handle] = chip
    return handle


def gpiochip_close(handle: int) -> int:
    for key in [key for key in _lines if key[0] == handle]:
        os.close(_lines.pop(key))
    return 0


def gpio_get_chip_info(handle: int) -> list[object]:
    return [0, 54, f"gpiochip{_chips[handle]}", _labels()[_chips[handle]]]


def gpio_get_mode(handle: int, gpio: int) -> int:
    return IS_OUT if _get(_held(handle, gpio))[0] == "out" else 0


def gpio_claim_input(handle: int, gpio: int, flags: int = 0) -> int:
    _called("gpio_claim_input", gpio, flags)
    _set(_claim(handle, gpio), "in", 0)
    return 0


def gpio_claim_output(handle: int, gpio: int, level: int = 0, flags: int = 0) -> int:
    _called("gpio_claim_output", gpio, level)
    _set(_claim(handle, gpio), "out", level)
    return 0


def gpio_free(handle: int, gpio: int) -> int:
    _called("gpio_free", gpio)
    os.close(_held(handle, gpio))
    del _lines[handle, gpio]
    return 0


def gpio_read(handle: int, gpio: int) -> int:
    _called("gpio_read", gpio)
    return _get(_held(handle, gpio))[1]


def gpio_write(handle: int, gpio: int, level: int) -> int:
    _called("gpio_write", gpio, int(level))
    _set(_held(handle, gpio), "out", int(level))
    return 0


def spi_open(device: int, channel: int, baud: int, flags: int = 0) -> int:
    if not (_BENCH / "spi").exists():
        raise error("can not open SPI device")
    return 0


def spi_close(handle: int) -> int:
    return 0


def spi_xfer(handle: int, data: list[int]) -> tuple[int, bytearray]:
    counts = (_BENCH / "spi").read_text().split()
    count = int(counts[data[1] >> 4 & 7])
    return 3, bytearray((0, count >> 8, count & 0xFF))
