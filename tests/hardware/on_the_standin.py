"""A batch at work over the stand-in for lgpio, with the probes' own threads."""

import os
from pathlib import Path
from time import monotonic

import pytest
from at_work import STORY, AtWork, documented
from pretend_pi import Bench

from controller.batch.acts import Act
from controller.batch.signals import Commands, Role
from controller.hardware import raspberry_probes
from controller.hardware.raspberry import RaspberryRig
from controller.hardware.raspberry_mock import MADE_UP_IDS
from controller.hardware.raspberry_mock_w1 import PretendChip
from controller.hardware.simulated import SimulatedRig
from controller.rehearsal.rig import plant_for, sheet_for, wired_as


class OnTheStandin(AtWork):
    """Over the stand-in for lgpio, with a thread for the probes and nothing of ours in between."""

    rig: RaspberryRig

    def __init__(self, bench: Bench, patch: pytest.MonkeyPatch) -> None:
        told = documented(bench.run, "raspberry")
        absent = {"wired": "absent"}
        # what is in no plant's reach is not wired: its converter, and the contact of its lamp
        told = told.model_copy(
            update={
                "gauge": told.gauge.model_copy(update=absent),
                "sense": told.sense.model_copy(update={"lamp": None}),
            }
        )
        # a round follows on the last: rig time is this test's, and no reader waits in real time
        patch.setattr(raspberry_probes, "PAUSE", 0.0)
        self.bench = bench
        plant = plant_for(sheet_for(STORY, told), STORY, told, 1)
        self.world: SimulatedRig = wired_as(told, plant, 1)
        self.plant = plant
        self.w1 = bench.folder / "w1"
        self._chips = {role: PretendChip(self.w1 / MADE_UP_IDS[role]) for role in Role}
        self._stood, self._clock = False, 0.0
        self.hung = False
        """The face's file answers nobody, so its sample is not waited for."""
        self._show(0.0)
        rig = RaspberryRig(told, lambda: self._clock, w1_folder=self.w1)
        super().__init__(rig, told, bench.folder, self.world.person_did)

    @property
    def file(self) -> Path:
        """Of the face's probe."""
        return self.w1 / MADE_UP_IDS[Role.FACE] / "w1_slave"

    def ready(self) -> None:
        """Move the world by what the lines say, and let the threads see what it makes of it."""
        self.move(self.now)
        self._show(self.now)
        # after the files, so that what is stamped with it was read from them
        self._clock = self.now
        reader = self.rig._by_role[Role.FACE]
        late = monotonic() + 30.0
        while not self.hung:
            newest = reader.newest(Role.FACE)
            if newest is not None and newest.at >= self.now:
                return
            assert monotonic() < late, self.rig.troubles()

    def tick(self, *acts: Act) -> None:
        """As above; then the world sees what was switched."""
        super().tick(*acts)
        self.move(self.now)

    def move(self, now: float) -> None:
        """The world goes on to a rig time, [s], switched by the lines alone."""
        levels = {gpio: self.bench.line(gpio) == "out 1" for gpio in (17, 27, 25)}
        moved, self._stood = levels[25] != self._stood, levels[25]
        self.world.apply(Commands(lamp=levels[17], pump=levels[27], dead_man=moved))
        self.world.read(now)

    def _show(self, now: float) -> None:
        told = self.world.read(now)
        for role, chip in self._chips.items():
            sample = told.role(role)
            if sample is not None and not (self.hung and role is Role.FACE):
                chip.converted(round((sample.value - 273.15) * 16))

    def hang(self) -> None:
        """The face's answer hangs in the kernel: a pipe that nobody writes to."""
        self.file.unlink()
        os.mkfifo(self.file)
        self.hung = True

    def release(self, counts: int) -> None:
        """The hanging answer comes after all, and the next ones at once."""
        pipe = os.open(self.file, os.O_RDWR)
        self.file.unlink()
        self._chips[Role.FACE] = PretendChip(self.file.parent)
        self._chips[Role.FACE].converted(counts)
        self.hung = False
        os.close(pipe)
