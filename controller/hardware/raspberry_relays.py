"""Lamp and pump relays on a Raspberry Pi's lines: claimed at OFF, read back, let go of at OFF.

A relay board is active high and on its normally open contact, so that a line that is low, or that
nobody drives, is OFF.
"""

from pathlib import Path
from typing import Any

from controller.errors import OutputError
from controller.hardware.claimed import write_outputs
from controller.hardware.raspberry_pins import Pins, check_lines, claimed_off, one_line


class Relays:
    """Lamp and pump, each on a line of its own or not wired.

    No lock anywhere, so that `off` may be called from a signal handler.
    """

    def __init__(self, pins: Pins, run_folder: Path, *, lamp: int | None, pump: int | None) -> None:
        """lamp, pump: BCM numbers, None when not wired      run_folder: for outputs.json

        Claims every line at OFF. Raises InputError for a line that must not be used, BusyError when
        another holds one, OutputError for anything else; then none stays claimed.
        """
        lines = {"lamp": lamp, "pump": pump}
        self._lines = {name: line for name, line in lines.items() if line is not None}
        check_lines(self._lines)
        self._pins = pins
        self._devices: dict[str, Any] = {}
        self._offs = 0
        self._closed = False
        from gpiozero import Device

        # gpiozero's own clean-up at exit knows the devices of this one factory
        before, Device.pin_factory = Device.pin_factory, pins.factory
        try:
            for name, line in self._lines.items():
                self._devices[name] = claimed_off(pins, name, line)
            write_outputs(run_folder, pins.label, self._lines)
        except BaseException:
            # the factory stays open: its other lines may be another's
            self._closed, Device.pin_factory = True, before
            for device in self._devices.values():
                device.close()
            raise

    def switch(self, lamp: bool, pump: bool) -> None:
        """Switch both, OFF before ON; an output that is not wired is left to the person.

        Raises OutputError, after trying both, when one does not read back as switched; also after
        `close`.
        """
        if self._closed:
            raise OutputError("the outputs are closed; open the rig again to switch them")
        wanted = {"lamp": lamp, "pump": pump}
        offs = self._offs
        failed = []
        for name in sorted(self._devices, key=lambda name: wanted[name]):
            if self._offs == offs:
                failed += self._written(name, wanted[name])
        if self._offs != offs:
            # A signal handler or another thread said OFF meanwhile: that word is the last, and an
            # ON that does not read back is as it should be.
            self.off()
        elif failed:
            raise OutputError("; ".join(failed))

    def levels(self) -> tuple[bool, bool]:
        """Lamp and pump as their lines read back; False for one not wired, and after `close`.

        What the line does, not what the relay does. Raises OutputError when one cannot be read.
        """
        if self._closed:
            return False, False
        try:
            lamp, pump = (
                name in self._devices and bool(self._devices[name].value)
                for name in ("lamp", "pump")
            )
        except Exception as error:
            raise OutputError(f"an output cannot be read back ({one_line(error)})") from error
        return lamp, pump

    def off(self) -> None:
        """Both OFF, from any thread or signal handler; also beats a `switch` it interrupts.

        Raises OutputError, after trying both, when one does not read back OFF. After `close` there
        is nothing left to do.
        """
        if self._closed:
            return
        self._offs += 1
        failed = [words for name in self._devices for words in self._written(name, False)]
        if failed:
            raise OutputError("; ".join(failed))

    def close(self) -> None:
        """Both OFF, then let go of. Safe to call twice."""
        if self._closed:
            return
        try:
            self.off()
        finally:
            self._closed = True
            self._let_go()

    def _let_go(self) -> None:
        from gpiozero import Device

        if Device.pin_factory is self._pins.factory:
            Device.pin_factory = None
        failed = []
        for part in (*self._devices.values(), self._pins.factory):
            try:
                part.close()
            except Exception as error:
                failed.append(one_line(error))
        if failed:
            raise OutputError(
                f"an output could not be let go of ({'; '.join(failed)}); pull the lamp's plug"
            )

    def _written(self, name: str, on: bool) -> list[str]:
        """What went wrong in switching one output, in words; empty when it reads back as it was
        switched."""
        where = f"{name} on GPIO{self._lines[name]}"
        asked = "ON" if on else "OFF"
        device = self._devices[name]
        # any error of gpiozero, lgpio or the kernel means the same: it was not switched
        try:
            device.value = on
            seen = bool(device.value)
        except Exception as error:
            return [f"{where} could not be switched {asked} ({one_line(error)}); pull its plug"]
        if seen is not on:
            return [
                f"{where} was switched {asked} and reads {'ON' if seen else 'OFF'}; pull its plug"
            ]
        return []
