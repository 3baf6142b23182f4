"""The pretend rig's contacts: its buttons, and the senses of lamp, stand, cut-out and trap."""

from collections.abc import Mapping
from types import MappingProxyType

from controller.errors import InputError
from controller.hardware.plant import Plant

WIRES: Mapping[str, str] = MappingProxyType(
    {"stop_wire_broken": "stop", "lamp_sense_broken": "lamp"}
)
"""Faults of a wire, and the contact it leads to. A broken wire reads as an open contact."""


class Contacts:
    """Contacts between a line and ground, by the settings' names: stop, next, lamp, tilt, cut_out
    and trap. All but next and lamp are closed while all is well."""

    def __init__(self, plant: Plant, wired: frozenset[str]) -> None:
        """wired: those that are there; the others tell nothing"""
        self._plant = plant
        self.wired = wired
        """Those that are there."""
        self._down = self._pressed = self._tapped = self._found_down = False
        self._broken: set[str] = set()

    def press_stop(self, down: bool) -> None:
        """Hold the STOP button down, or let it go."""
        self._down = down
        self._pressed = self._pressed or down

    def tap_next(self) -> None:
        """Tap the NEXT button."""
        self._tapped = True

    @property
    def stop_waits(self) -> bool:
        """STOP is down, or was pressed and nobody has been told yet."""
        return "stop" in self.wired and (self._pressed or self.opened("stop") is True)

    @property
    def stop_bars(self) -> bool:
        """Nothing may go ON: STOP waits, or the last reading found it down."""
        return self.stop_waits or self._found_down

    def told_stop(self) -> bool:
        """STOP is down, or was since this was asked last, however shortly."""
        waits, self._pressed = self.stop_waits, False
        self._found_down = self.stop_waits
        return waits

    def told_next(self) -> bool:
        """NEXT was tapped since this was asked last."""
        tapped, self._tapped = self._tapped, False
        return tapped and "next" in self.wired

    def closed(self, name: str) -> bool | None:
        """Whether a contact is closed; None for one that is not wired."""
        if name not in self.wired:
            return None
        if name in self._broken:
            return False
        match name:
            case "stop":
                return not self._down
            case "next":
                return self._tapped
            case "lamp":
                return self._plant.lamp_fed
            case "tilt":
                return not self._plant.lamp.tilted
            case "cut_out":
                return not self._plant.lamp.cut_out_open
            case _:
                return not self._plant.trap_full

    def opened(self, name: str) -> bool | None:
        """Whether a contact is open; None for one that is not wired."""
        closed = self.closed(name)
        return None if closed is None else not closed

    def add_fault(self, name: str) -> None:
        """Break a wire. Raises InputError when it is not there."""
        if WIRES[name] not in self.wired:
            raise InputError(f"fault {name}: this rig has no such contact wired")
        self._broken.add(WIRES[name])

    def clear_fault(self, name: str) -> None:
        """Mend it; one that was whole stays so."""
        self._broken.discard(WIRES[name])
