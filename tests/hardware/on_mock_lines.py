"""A batch at work over gpiozero's mock lines, everything read in the caller's thread."""

from collections.abc import Callable
from pathlib import Path

from at_work import LONGER, STORY, AtWork, documented

from controller.batch.signals import Role
from controller.daemon.rigs import pretend_rig
from controller.hardware.raspberry_mock import MADE_UP_IDS, MockedRaspberryRig
from controller.settings import Settings

Tamper = Callable[[Path, int], None]
"""Does something to a probe's file in place of showing its conversion, [1/16 C]."""


class Tampered:
    """A chip whose file is what a fault makes of it."""

    def __init__(self, file: Path, tamper: Tamper) -> None:
        self._file, self._tamper = file, tamper

    def converted(self, counts: int) -> None:
        """As PretendChip."""
        self._tamper(self._file, counts)

    def garble(self) -> None:
        """As PretendChip: the world's own sensors are whole."""
        raise AssertionError("the pretend probe is silent of itself")


class OnMockLines(AtWork):
    """Over gpiozero's mock lines, everything read in this thread."""

    rig: MockedRaspberryRig

    def __init__(self, folder: Path, told: Settings | None = None) -> None:
        told = documented(folder, "mock") if told is None else told
        rig = pretend_rig(told, STORY, 1)
        assert isinstance(rig, MockedRaspberryRig)
        self.plant = rig.plant
        super().__init__(rig, told, folder, rig.person_did)

    def probe(self, role: Role) -> Path:
        """The chip's folder on the pretend bus."""
        return self.told.rig.run_folder / "w1" / MADE_UP_IDS[role]

    def tamper(self, role: Role, tamper: Tamper) -> None:
        """From now on a probe's file is what this makes of it."""
        chip = Tampered(self.probe(role) / "w1_slave", tamper)
        self.rig._chips[role] = chip  # type: ignore[assignment]

    def convert(self, fault: Callable[[int], int]) -> None:
        """From now on the gauge's converter gives what this makes of its counts."""
        whole = self.rig._converter.count
        self.rig._converter.count = lambda channel: fault(whole(channel))  # type: ignore[method-assign]

    def dies(self) -> float:
        """Nobody switches any more: how long until the lamp is dark behind its line, [s].

        The world alone goes on, in tenths of a second.
        """
        began = self.now
        while self.rig.truth().lamp_lit:
            assert self.now - began < LONGER
            self.now += 0.1
            self.rig.read(self.now)
        return self.now - began
