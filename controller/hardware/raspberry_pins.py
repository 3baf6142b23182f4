"""A Raspberry Pi's lines as gpiozero sees them: the right chip, and outputs that start at OFF.

gpiozero's own lgpio pin claims a floating input first and leaves one behind at the end; the pin
here is an output at OFF from claim to release. Nothing of gpiozero or lgpio is imported until a
line is asked for.
"""

import os
import threading
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from controller.errors import BusyError, InputError, OutputError

ALLOWED_LINES = frozenset(range(9, 28)) - {14, 15}
"""BCM numbers an output may have: pulled down from reset on, which 0 to 8 are not; 14 is driven
while the Pi boots, and 15 is its partner. [1] Broadcom, BCM2835 ARM Peripherals, 2012, page 102,
from memory, to be checked."""
CHIPS = ("pinctrl-rp1", "pinctrl-bcm2711", "pinctrl-bcm2835")
"""Labels of the chip behind the pin header of a Pi 5, a Pi 4, and the ones before."""
CHIP_NUMBERS = range(16)
"""Where it is looked for: the number moved with the kernel, the label did not; own."""
BOARD_REVISION = 0xA02082
"""A Pi 3B, as gpiozero's revision code. Lines are named by BCM number on a chip chosen by label,
the same on every 40-pin header: the true board, which a sandboxed unit cannot read in /proc, is not
needed."""


@dataclass(frozen=True, slots=True)
class Pins:
    """The lines of one chip, as a gpiozero pin factory."""

    label: str
    """The chip's own name."""
    factory: Any
    """What gpiozero makes its outputs from."""
    inputs: Any
    """What it makes its inputs from. Another, so that no input's set-up touches an output."""


def check_lines(lines: Mapping[str, int]) -> None:
    """Raises InputError when one of these lines must not be used, or two share one.

    lines: name to BCM number
    """
    for name, line in lines.items():
        if line not in ALLOWED_LINES:
            raise InputError(
                f"{name} on GPIO{line}: it needs a line that is low from reset on; use BCM 9 to 27"
                " but not 14 or 15"
            )
    if len(set(lines.values())) < len(lines):
        twice = next(line for line in lines.values() if [*lines.values()].count(line) > 1)
        names = " and ".join(name for name, line in lines.items() if line == twice)
        raise InputError(f"{names} are both on GPIO{twice}; give each its own line")


def mock_pins() -> Pins:
    """gpiozero's mock lines: the same devices, no wire."""
    from gpiozero.pins.mock import MockFactory, MockPin

    # both named, or gpiozero takes them from the environment
    mock = MockFactory(revision=f"{BOARD_REVISION:x}", pin_class=MockPin)
    return Pins("mock", mock, mock)


def lgpio_pins(run_folder: Path, label: str | None = None) -> Pins:
    """The Pi's own lines, through lgpio.

    run_folder: where lgpio keeps a file of its own      label: the one chip that will do, or None

    Raises OutputError when lgpio is missing or no chip has the label.
    """
    os.environ["LG_WD"] = str(run_folder)
    try:
        import lgpio
    except ImportError as error:
        raise OutputError(
            f"outputs: lgpio cannot be imported ({error}); install warmdraw[pi], or the system's"
            " python3-lgpio"
        ) from error
    from gpiozero.pins.lgpio import LGPIOFactory, LGPIOPin
    from gpiozero.pins.local import LocalPiPin

    class OffPin(LGPIOPin):  # type: ignore[misc]
        """A line that is an output from the claim on, and is let go of at OFF."""

        def __init__(self, factory: Any, info: Any) -> None:
            # Not LGPIOPin's own: it claims an input without pull, and so takes the line's reset
            # pull-down away.
            LocalPiPin.__init__(self, factory, info)
            self._pwm = self._bounce = self._callback = None
            self._edges = lgpio.BOTH_EDGES
            self._claimed = False

        def output_with_state(self, state: bool) -> None:
            lgpio.gpio_claim_output(self.factory.handle, self._number, int(state))
            self._claimed = True

        def close(self) -> None:
            if self._claimed and self.factory.handle is not None:
                self._claimed = False
                lgpio.gpio_write(self.factory.handle, self._number, 0)
                lgpio.gpio_free(self.factory.handle, self._number)

    class Lines(LGPIOFactory):  # type: ignore[misc]
        """The lines of one chip, of one kind."""

        def __init__(self, chip: int, pin_class: type) -> None:
            super().__init__(chip=chip)
            self.pin_class = pin_class
            # gpiozero shares both between its factories, and closing one would close all lines
            self.pins: dict[Any, Any] = {}
            self._reservations: defaultdict[Any, list[Any]] = defaultdict(list)
            # gpiozero's own lock would stop a thread for good in which a device is thrown away
            # while another one is claimed
            self._res_lock = threading.RLock()

        @property
        def handle(self) -> int | None:
            return self._handle  # type: ignore[no-any-return]

        def _get_revision(self) -> int:
            return BOARD_REVISION

    chip, name = _chip(lgpio, CHIPS if label is None else (label,))
    return Pins(name, Lines(chip, OffPin), Lines(chip, LGPIOPin))


def _chip(lgpio: Any, wanted: tuple[str, ...]) -> tuple[int, str]:
    """Number and label of the first chip that has one of the labels."""
    seen = []
    for number in CHIP_NUMBERS:
        try:
            handle = lgpio.gpiochip_open(number)
        except lgpio.error:
            continue
        try:
            label = str(lgpio.gpio_get_chip_info(handle)[3])
        finally:
            lgpio.gpiochip_close(handle)
        if label in wanted:
            return number, label
        seen.append(label)
    raise OutputError(
        f"outputs: no chip is named {' or '.join(wanted)} (there is: {', '.join(seen) or 'none'});"
        " is this a Raspberry Pi, and is this user in its group gpio?"
    )


def claimed_off(pins: Pins, name: str, line: int) -> Any:
    """A gpiozero output device on this line, claimed at OFF.

    Raises BusyError when another holds the line, OutputError for anything else.
    """
    from gpiozero import OutputDevice

    return _claimed(
        spoken(name),
        line,
        lambda: OutputDevice(line, active_high=True, initial_value=False, pin_factory=pins.factory),
    )


def claimed_contact(pins: Pins, name: str, line: int) -> Any:
    """A gpiozero input device on this line, active while its contact pulls it to ground.

    The Pi's own pull-up holds it up otherwise. Raises BusyError when another holds the line,
    OutputError for anything else.
    """
    from gpiozero import InputDevice

    return _claimed(name, line, lambda: InputDevice(line, pull_up=True, pin_factory=pins.inputs))


def claimed_button(pins: Pins, name: str, line: int, steady: float) -> Any:
    """The same for a contact whose edges are told, from a thread of gpiozero's.

    steady: how long an edge has to last to be told, [s]; what is read is not held back by it
    """
    from gpiozero import DigitalInputDevice

    return _claimed(
        name,
        line,
        lambda: DigitalInputDevice(line, pull_up=True, bounce_time=steady, pin_factory=pins.inputs),
    )


def _claimed(name: str, line: int, claim: Callable[[], Any]) -> Any:
    from gpiozero import GPIOPinInUse

    # lgpio, gpiozero and the kernel each have their own errors, and any of them is no claim
    try:
        return claim()
    except Exception as error:
        if isinstance(error, GPIOPinInUse) or "busy" in str(error).lower():
            raise BusyError(
                f"{name} on GPIO{line} is held by another process; stop the other `warmdraw"
                " control` or `warmdraw check` first"
            ) from error
        raise OutputError(
            f"{name} on GPIO{line} could not be claimed ({one_line(error)}); nothing was switched"
        ) from error


def spoken(name: str) -> str:
    """An output as people call it.

    >>> spoken("dead_man")
    'dead-man'
    """
    return name.replace("_", "-")


def one_line(error: Exception) -> str:
    """An error of somebody else's library on one line."""
    return " ".join(str(error).split()) or type(error).__name__
