"""The pretend rig's contacts and coils on gpiozero's mock lines: what moves one moves the other."""

from typing import Any

from controller.hardware.simulated_contacts import Contacts
from controller.settings.panel import Panel, Sense


class PretendWires:
    """Wires between mock lines and the world: contacts to ground in, dead-man and sounder out."""

    def __init__(self, factory: Any, contacts: Contacts, panel: Panel, sense: Sense) -> None:
        """factory: gpiozero's, whose lines are claimed already      panel, sense: by BCM number"""
        lines = {
            "stop": panel.stop,
            "next": panel.next,
            "lamp": sense.lamp,
            "tilt": sense.tilt,
            "cut_out": sense.cut_out,
            "trap": sense.trap,
        }
        self._contacts = contacts
        self._inputs = {name: factory.pin(line) for name, line in lines.items() if line is not None}
        self._sounder = None if panel.sounder is None else factory.pin(panel.sounder)
        self._dead_man = None if panel.dead_man is None else factory.pin(panel.dead_man)
        self._stood = self._dead_man is not None and self._dead_man.state
        self.drive()

    def drive(self) -> None:
        """Put each input where its contact stands: a closed one pulls its line to ground."""
        for name, pin in self._inputs.items():
            if self._contacts.closed(name):
                pin.drive_low()
            else:
                pin.drive_high()

    def loud(self) -> bool:
        """The sounder's line is high."""
        return self._sounder is not None and bool(self._sounder.state)

    def moved(self) -> bool:
        """Whether the dead-man line moved since this was asked last."""
        stood, self._stood = self._stood, self._dead_man is not None and self._dead_man.state
        return bool(stood != self._stood)
