"""The infrared thermometer's glances at the face, while no lamp burns."""

from controller.batch.signals import Sample
from controller.errors import ReadingError
from controller.hardware.raspberry_infrared import InfraredThermometer

FADED = 2.0
"""A lamp's glass glows on this long after its OFF, [s]; own: its filament is dark within one."""
ROOM_TAKEN = 293.15
"""What the face mirrors where no probe tells the room, [K]; own. Ten kelvin beside the truth make
0.7 K at an emissivity of 0.93."""


class Glances:
    """An infrared thermometer's newest good sample, and why the last glance gave none."""

    def __init__(self, eye: InfraredThermometer | None) -> None:
        """eye: None when none is wired"""
        self._eye = eye
        self._burned_at = float("-inf")
        self._newest: Sample | None = None
        self._trouble = ""

    def read(self, now: float, burns: bool, room: Sample | None) -> Sample | None:
        """The newest good sample at rig time `now`, [s], of the face, [K]; None before the first.

        burns: the lamp does, or may      room: the shop's air, [K]
        """
        if self._eye is None:
            return None
        if burns:
            self._burned_at = now
        if now - self._burned_at < FADED:
            return self._newest
        try:
            reflected = ROOM_TAKEN if room is None else room.value
            self._newest = self._eye.sample(now, lamp_on=False, reflected=reflected)
            self._trouble = ""
        except ReadingError as error:
            self._trouble = str(error)
        return self._newest

    def troubles(self) -> dict[str, str]:
        """Why the last glance failed, by its name; empty after a good one."""
        return {"infrared": self._trouble} if self._trouble else {}
