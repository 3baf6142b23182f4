"""A stand-in for the lgpio module whose lines outlive their owner, as on a Raspberry Pi's kernel.

Put this folder first on PYTHONPATH and name a bench folder in LGPIO_STANDIN. The bench holds:

chips      one line a chip: its number and its label
line-N-G   the level of line G on chip N, "in" or "out" before it; its owner holds a lock on it, and
           the kernel lets that go when the owner dies, whatever it died of
calls      one line a call: the process, the call, the line, the level
fail       names of calls that shall raise, if the file is there; "gpio_write:17" on line 17 only
grounded   the lines whose contact to ground is closed, if the file is there; put in place whole,
           by `move_contact` here or by `Bench.contact` from outside. Edges are told from a thread,
           as the real module's are, and come within some 10 ms whoever moved the contact; how long
           one has to stand is noted and not waited for
spi        the counts on the inputs of an MCP3008; without the file the kernel shows no SPI
"""

import fcntl
import os
import threading
from collections.abc import Callable
from pathlib import Path

SET_PULL_UP, SET_PULL_DOWN, SET_PULL_NONE = 32, 64, 128
RISING_EDGE, FALLING_EDGE, BOTH_EDGES = 1, 2, 3
IS_OUT, IS_PULLED_UP = 1 << 1, 1 << 5

_BENCH = Path(os.environ["LGPIO_STANDIN"])
_chips: dict[int, int] = {}
_lines: dict[tuple[int, int], int] = {}
_flags: dict[tuple[int, int], int] = {}
_edges: dict[tuple[int, int], "callback"] = {}
_told: dict[tuple[int, int], int] = {}
_telling = threading.Lock()


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
    if fail.exists() and {name, f"{name}:{gpio}"} & set(fail.read_text().split()):
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
        _edges.pop(key, None)
        os.close(_lines.pop(key))
    return 0


def gpio_get_chip_info(handle: int) -> list[object]:
    return [0, 54, f"gpiochip{_chips[handle]}", _labels()[_chips[handle]]]


def gpio_get_mode(handle: int, gpio: int) -> int:
    pulled = IS_PULLED_UP if _flags.get((handle, gpio), 0) & SET_PULL_UP else 0
    return IS_OUT if _get(_held(handle, gpio))[0] == "out" else pulled


def _grounded() -> set[int]:
    file = _BENCH / "grounded"
    return {int(line) for line in file.read_text().split()} if file.exists() else set()


def gpio_claim_input(handle: int, gpio: int, flags: int = 0) -> int:
    _called("gpio_claim_input", gpio, flags)
    _claim(handle, gpio)
    _flags[handle, gpio] = flags
    _set(_lines[handle, gpio], "in", _sensed(handle, gpio))
    return 0


def _sensed(handle: int, gpio: int) -> int:
    pulled_up = bool(_flags[handle, gpio] & SET_PULL_UP)
    return int(pulled_up and gpio not in _grounded())


def gpio_claim_alert(handle: int, gpio: int, edges: int, flags: int = 0) -> int:
    _called("gpio_claim_alert", gpio, edges)
    return gpio_claim_input(handle, gpio, SET_PULL_UP if flags & IS_PULLED_UP else flags)


def gpio_set_debounce_micros(handle: int, gpio: int, micros: int) -> int:
    _called("gpio_set_debounce_micros", gpio, micros)
    return 0


class callback:  # noqa: N801 (the name the real module gives it)
    """Who hears of a line's edges, from a thread that is there while anybody does."""

    def __init__(
        self, handle: int, gpio: int, edges: int, func: Callable[[int, int, int, int], None]
    ) -> None:
        self.key, self.func = (handle, gpio), func
        _told[self.key] = _sensed(handle, gpio)
        alone = not _edges
        _edges[self.key] = self
        if alone:
            threading.Thread(target=_watch, name="lgpio", daemon=True).start()

    def cancel(self) -> None:
        _edges.pop(self.key, None)


def _watch() -> None:
    pause = threading.Event()
    while _edges:
        _tell()
        pause.wait(0.01)


def _tell() -> None:
    """Tell who listens what changed since they were told."""
    with _telling:
        for key, listener in list(_edges.items()):
            level = _sensed(*key)
            # one that was cancelled meanwhile is not told any more
            if level != _told[key] and _edges.get(key) is listener:
                _told[key] = level
                listener.func(_chips[key[0]], key[1], level, 0)


def move_contact(gpio: int, closed: bool) -> None:
    """For tests: close or open a line's contact to ground. Who listens has heard when it ends."""
    lines = _grounded() - {gpio} | ({gpio} if closed else set())
    half = _BENCH / "grounded.half"
    half.write_text(" ".join(map(str, sorted(lines))))
    half.replace(_BENCH / "grounded")
    teller = threading.Thread(target=_tell)
    teller.start()
    teller.join()


def gpio_claim_output(handle: int, gpio: int, level: int = 0, flags: int = 0) -> int:
    _called("gpio_claim_output", gpio, level)
    _set(_claim(handle, gpio), "out", level)
    return 0


def gpio_free(handle: int, gpio: int) -> int:
    _called("gpio_free", gpio)
    _edges.pop((handle, gpio), None)
    os.close(_held(handle, gpio))
    del _lines[handle, gpio]
    return 0


def gpio_read(handle: int, gpio: int) -> int:
    _called("gpio_read", gpio)
    direction, level = _get(_held(handle, gpio))
    return _sensed(handle, gpio) if direction == "in" else level


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
