"""Everything a Raspberry Pi switches: claimed at OFF, read back, let go of at OFF.

A relay board is active high and on its normally open contact, so that a line that is low, or that
nobody drives, is OFF. The dead-man line is the other way to dark: it has to be moved for the lamp's
contactor to stay closed, and it is moved here and nowhere else, once for each whole switching that
went well. Whatever hangs or dies, the line stands still.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path
from time import monotonic, sleep
from types import MappingProxyType
from typing import Any

from controller.errors import BusyError, OutputError
from controller.hardware.claimed import write_outputs
from controller.hardware.raspberry_pins import Pins, check_lines, claimed_off, one_line, spoken

DEAD_MAN = "dead_man"
"""The one line that is moved rather than switched."""
SOUNDER = "sounder"
"""The one line that another may hold: `warmdraw safe --sound`, until it sees control again."""
LET_GO_WITHIN = 2.0
"""How long it has for that, [s]; own: it looks once a second."""
REMEDY: Mapping[str, str] = MappingProxyType(
    {SOUNDER: "look at its wires", DEAD_MAN: "pull the lamp's plug"}
)
"""What to do about an output that does not follow, where it has no plug of its own."""


class Relays:
    """Lamp, pump, sounder and dead-man, each on a line of its own or not wired.

    No lock anywhere, so that `off` may be called from a signal handler.
    """

    def __init__(
        self,
        pins: Pins,
        run_folder: Path,
        *,
        lamp: int | None,
        pump: int | None,
        sounder: int | None = None,
        dead_man: int | None = None,
    ) -> None:
        """lamp, pump, sounder, dead_man: BCM numbers, None when not wired
        run_folder: for outputs.json

        Claims every line at OFF. Raises InputError for a line that must not be used, BusyError when
        another holds one, OutputError for anything else; then none stays claimed.
        """
        lines = {"lamp": lamp, "pump": pump, SOUNDER: sounder, DEAD_MAN: dead_man}
        self._lines = {name: line for name, line in lines.items() if line is not None}
        check_lines(self._lines)
        self._pins = pins
        self._devices: dict[str, Any] = {}
        self._offs = 0
        self._barred = self._failed = self._moving = False
        self._closed = False
        from gpiozero import Device

        # gpiozero's own clean-up at exit knows the devices of this one factory
        before, Device.pin_factory = Device.pin_factory, pins.factory
        try:
            for name, line in self._lines.items():
                self._devices[name] = self._claimed(name, line)
            write_outputs(run_folder, pins.label, self._lines)
        except BaseException:
            # the factory stays open: its other lines may be another's
            self._closed, Device.pin_factory = True, before
            for device in self._devices.values():
                device.close()
            raise

    def _claimed(self, name: str, line: int) -> Any:
        until = monotonic() + LET_GO_WITHIN
        while True:
            try:
                return claimed_off(self._pins, name, line)
            except BusyError:
                if name != SOUNDER or monotonic() > until:
                    raise
            sleep(0.05)

    def switch(
        self, lamp: bool, pump: bool, *, sounder: bool = False, dead_man: bool = False
    ) -> None:
        """Switch all, OFF before ON; an output that is not wired is left to the person.

        dead_man: move that line once, when all else was switched as asked; low otherwise

        Raises OutputError, after trying all, when one does not read back as switched; also after
        `close`. From then on the dead-man line is left where it stands.
        """
        if self._closed:
            raise OutputError("the outputs are closed; open the rig again to switch them")
        offs = self._offs
        # looked at after the count: a bar that comes now shows in the one or in the other
        go = not self._barred
        wanted = {"lamp": lamp and go, "pump": pump and go, SOUNDER: sounder}
        self._moving = False
        failed = []
        # the lamp is the first of the devices, and so of those that go OFF
        for name in sorted(
            (name for name in self._devices if name in wanted), key=lambda name: wanted[name]
        ):
            if self._offs == offs:
                failed += self._written(name, wanted[name])
        if self._offs == offs and not failed:
            failed += self._moved() if dead_man and go else self._stilled()
        if self._offs != offs:
            # A signal handler or another thread said OFF meanwhile: that word is the last, and an
            # ON that does not read back is as it should be.
            self.off()
        elif failed:
            self._failed = True
            raise OutputError("; ".join(failed))

    def _moved(self) -> list[str]:
        """Move the dead-man line to its other level; what went wrong in that, in words."""
        if DEAD_MAN not in self._devices or self._failed:
            return []
        try:
            stood = bool(self._devices[DEAD_MAN].value)
        except Exception as error:
            where = f"{spoken(DEAD_MAN)} on GPIO{self._lines[DEAD_MAN]}"
            return [f"{where} cannot be read ({one_line(error)}); {REMEDY[DEAD_MAN]}"]
        failed = self._written(DEAD_MAN, not stood)
        self._moving = not failed
        return failed

    def _stilled(self) -> list[str]:
        """The dead-man line low. Not once an output has failed: an edge more, and a lamp that could
        not be switched OFF burns for two seconds more."""
        self._moving = False
        wired = DEAD_MAN in self._devices
        return self._written(DEAD_MAN, False) if wired and not self._failed else []

    @property
    def moving(self) -> bool:
        """The last switching moved the dead-man line."""
        return self._moving

    def levels(self) -> tuple[bool, bool]:
        """Lamp and pump as their lines read back; False for one not wired, and after `close`.

        What the line does, not what the relay does. Raises OutputError when one cannot be read.
        """
        return self._level("lamp"), self._level("pump")

    def sounding(self) -> bool:
        """The sounder's line as it reads back; as `levels`."""
        return self._level(SOUNDER)

    def _level(self, name: str) -> bool:
        if self._closed or name not in self._devices:
            return False
        try:
            return bool(self._devices[name].value)
        except Exception as error:
            raise OutputError(f"an output cannot be read back ({one_line(error)})") from error

    def off(self) -> None:
        """All OFF, from any thread or signal handler; also beats a `switch` it interrupts.

        Raises OutputError, after trying all, when one does not read back OFF. After `close` there
        is nothing left to do.
        """
        self._all_off(("lamp", "pump", SOUNDER))

    def bar(self) -> None:
        """Lamp and pump OFF and the dead-man line low until `unbar`, whatever is asked for.

        From any thread, as `off`. Raises OutputError as `off` does.
        """
        self._barred = True
        self._all_off(("lamp", "pump"))

    def _all_off(self, names: Sequence[str]) -> None:
        if self._closed:
            return
        self._offs += 1
        failed = [
            words for name in names if name in self._devices for words in self._written(name, False)
        ]
        self._failed = self._failed or bool(failed)
        failed += self._stilled()
        if failed:
            self._failed = True
            raise OutputError("; ".join(failed))

    def unbar(self) -> None:
        """What is asked counts again."""
        self._barred = False

    def close(self) -> None:
        """All OFF, then let go of, the dead-man line low too. Safe to call twice."""
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
        for part in (*self._devices.values(), self._pins.factory, self._pins.inputs):
            try:
                part.close()
            except Exception as error:
                failed.append(one_line(error))
        if failed:
            raise OutputError(
                f"an output could not be let go of ({'; '.join(failed)}); pull the lamp's plug"
            )

    def _written(self, name: str, on: bool) -> list[str]:
        """What went wrong in switching one output, in words; empty when it reads back so."""
        where = f"{spoken(name)} on GPIO{self._lines[name]}"
        asked = "ON" if on else "OFF"
        remedy = REMEDY.get(name, "pull its plug")
        device = self._devices[name]
        # any error of gpiozero, lgpio or the kernel means the same: it was not switched
        try:
            device.value = on
            seen = bool(device.value)
        except Exception as error:
            return [f"{where} could not be switched {asked} ({one_line(error)}); {remedy}"]
        if seen is not on:
            return [f"{where} was switched {asked} and reads {'ON' if seen else 'OFF'}; {remedy}"]
        return []
