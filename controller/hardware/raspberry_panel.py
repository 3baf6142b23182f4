"""What a person touches on the rig, and the contacts that tell on it, on a Raspberry Pi's lines.

Each is a contact between its line and ground. Those that guard are closed while all is well, so
that a broken wire reads as the bad thing it guards against.
"""

from collections.abc import Callable
from typing import Any

from controller.errors import OutputError
from controller.hardware.raspberry_pins import (
    Pins,
    check_lines,
    claimed_button,
    claimed_contact,
    one_line,
)
from controller.settings.panel import Panel, Sense

STOP, NEXT = "STOP button", "NEXT button"
STOP_STEADY, NEXT_STEADY = 0.005, 0.05
"""How long a button has to stand for its edge to count, [s]; own. A spark's spike on a long wire is
shorter, a hand's press is longer."""
SHAKEN = frozenset({"tilt switch", "trap float"})
"""Contacts that a knock or a wave opens for a moment: open only when two readings in a row find
them so. Own."""


class Contacts:
    """The buttons and sense lines of one rig, each on a line of its own or not wired."""

    def __init__(self, pins: Pins, panel: Panel, sense: Sense, stop: Callable[[], None]) -> None:
        """stop: called at once, in a thread of gpiozero's, when STOP is pressed; raises nothing

        Raises InputError for a line that must not be used, BusyError when another holds one,
        OutputError for anything else; then none stays claimed.
        """
        buttons = {STOP: (panel.stop, STOP_STEADY), NEXT: (panel.next, NEXT_STEADY)}
        senses = {
            "lamp sense": sense.lamp,
            "tilt switch": sense.tilt,
            "cut-out sense": sense.cut_out,
            "trap float": sense.trap,
        }
        lines = {name: line for name, (line, _) in buttons.items()} | senses
        wired = {name: line for name, line in lines.items() if line is not None}
        check_lines(wired)
        self._stop = stop
        # counted, and only ever up, so that no press falls between a look at it and its taking back
        self._presses = self._presses_told = 0
        self._taps = self._taps_told = 0
        self._devices: dict[str, Any] = {}
        self._found_open: set[str] = set()
        try:
            for name, line in wired.items():
                if name in buttons:
                    device = claimed_button(pins, name, line, buttons[name][1])
                else:
                    device = claimed_contact(pins, name, line)
                self._devices[name] = device
        except BaseException:
            self.close()
            raise
        if STOP in self._devices:
            self._devices[STOP].when_deactivated = self._press_stop
        if NEXT in self._devices:
            self._devices[NEXT].when_activated = self._tap_next

    def _press_stop(self) -> None:
        self._presses += 1
        self._stop()

    def _tap_next(self) -> None:
        self._taps += 1

    def closed(self, name: str) -> bool | None:
        """Whether a contact is closed now, by its name in the messages; None when not wired.

        Raises OutputError when its line cannot be read: the chip that switches the lamp is gone.
        """
        device = self._devices.get(name)
        if device is None:
            return None
        try:
            return bool(device.value)
        except Exception as error:
            raise OutputError(f"{name} cannot be read ({one_line(error)})") from error

    def opened(self, name: str) -> bool | None:
        """Whether a contact is open; None when not wired. Raises as `closed`.

        To be asked once a reading: some count as open only at the second.
        """
        closed = self.closed(name)
        if closed is None:
            return None
        if closed:
            self._found_open.discard(name)
            return False
        before = name in self._found_open
        self._found_open.add(name)
        return before or name not in SHAKEN

    @property
    def stop_waits(self) -> bool:
        """STOP was pressed and nobody has been told yet, or it is down. Raises as `closed`."""
        return self._presses != self._presses_told or self.closed(STOP) is False

    def told_stop(self) -> bool:
        """STOP is down, or was pressed since this was asked last, however shortly."""
        presses, told = self._presses, self._presses_told
        self._presses_told = presses
        return presses != told or self.closed(STOP) is False

    def told_next(self) -> bool:
        """NEXT was tapped since this was asked last."""
        taps, told = self._taps, self._taps_told
        self._taps_told = taps
        return taps != told

    def close(self) -> None:
        """Let go of every line. Safe to call twice."""
        while self._devices:
            device = self._devices.popitem()[1]
            # gpiozero leaves its callback with lgpio, where the next rig's edge would find it dead
            device.pin.when_changed = None
            device.close()
