"""Every line of one rig: what it switches and what it senses, and STOP, which joins the two."""

from dataclasses import replace
from pathlib import Path

from controller.batch.signals import Commands, Readings
from controller.errors import OutputError
from controller.hardware.raspberry_panel import Contacts
from controller.hardware.raspberry_pins import Pins, check_lines
from controller.hardware.raspberry_relays import Relays
from controller.settings.panel import Panel, Sense, panel_lines


class Wires:
    """Relays and contacts of one rig.

    A press of STOP switches lamp and pump OFF at once, in gpiozero's own thread. They then stay
    OFF, whatever was decided before the press, until a reading has told of it and found the button
    let go.
    """

    def __init__(
        self,
        pins: Pins,
        run_folder: Path,
        *,
        lamp: int | None,
        pump: int | None,
        panel: Panel,
        sense: Sense,
    ) -> None:
        """lamp, pump: BCM numbers, None when not wired      run_folder: for outputs.json

        Claims every output at OFF, then the contacts. Raises InputError for a line that must not
        be used, BusyError when another holds one, OutputError for anything else; then none stays
        claimed.
        """
        outputs = {"lamp": lamp, "pump": pump}
        lines = {name: line for name, line in outputs.items() if line is not None}
        check_lines(lines | dict(panel_lines(panel, sense)))
        self._failed: OutputError | None = None
        self._relays = Relays(
            pins,
            run_folder,
            lamp=lamp,
            pump=pump,
            sounder=panel.sounder,
            dead_man=panel.dead_man,
        )
        try:
            self._contacts = Contacts(pins, panel, sense, self._stop)
        except BaseException:
            self._relays.close()
            raise

    def _stop(self) -> None:
        try:
            self._relays.bar()
        except OutputError as error:
            # no caller here to hear it: the loop's next switching raises it, and control ends
            self._failed = error

    def sensed(self, readings: Readings) -> Readings:
        """These readings, with what the contacts tell.

        Raises OutputError when one cannot be read.
        """
        contacts = self._contacts
        pressed = contacts.told_stop()
        self._relays.unbar()
        # still down, or pressed since
        if contacts.stop_waits:
            self._stop()
        return replace(
            readings,
            lamp_fed=contacts.closed("lamp sense"),
            tilted=contacts.opened("tilt switch"),
            cut_out_open=contacts.opened("cut-out sense"),
            trap_full=contacts.opened("trap float"),
            stop_pressed=pressed,
            next_pressed=contacts.told_next(),
        )

    def apply(self, commands: Commands) -> None:
        """Switch the outputs that are wired. Raises OutputError when one does not read back as
        switched, one could not be when STOP was pressed, or after `close`."""
        if self._contacts.stop_waits:
            self._stop()
        if self._failed is not None:
            raise self._failed
        self._relays.switch(
            commands.lamp, commands.pump, sounder=commands.sounder, dead_man=commands.dead_man
        )

    def outputs(self) -> Commands:
        """The outputs as their lines read back; one that is not wired is never on.

        The dead-man line counts as on while each switching moves it.
        """
        lamp, pump = self._relays.levels()
        return Commands(lamp, pump, self._relays.sounding(), self._relays.moving)

    def off(self) -> None:
        """Every output OFF, from any thread or signal handler. Raises OutputError, after trying
        all of them, when one could not be switched."""
        self._relays.off()

    def close(self) -> None:
        """Outputs OFF, then let go of every line. Safe to call twice."""
        try:
            self._relays.off()
        finally:
            # before the relays, which close what made the lines of both
            try:
                self._contacts.close()
            finally:
                self._relays.close()
