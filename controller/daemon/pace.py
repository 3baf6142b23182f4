"""What time it is for the rig, and when the next tick is due: as the world's, or at the pace of a
pretend one."""

import time
from typing import Protocol

from controller.batch.engine import Engine
from controller.batch.presses import open_presses
from controller.batch.stages import Stage
from controller.daemon.clock import boot_id, boottime, clock_trusted
from controller.instant import Instant

BEAT = 1.0
"""Wall time between two ticks of a real rig, and the longest on a pretend one, [s]. Own."""
STILL = 0.1
"""Wall time between two ticks while rig time stands still, [s]. Own."""
CATCH_UP = 0.25
"""How far behind its pace a pretend rig may be and still make it up, [s]. Own."""
SPEED_LOW, SPEED_HIGH = 0.01, 20.0
"""Factors on the pace that make sense: beyond them nobody can look or press in time. Own."""

PACE: dict[Stage, float] = {
    Stage.PLANNED: 60.0,
    Stage.DRYPULL: 60.0,
    Stage.PREHEAT: 60.0,
    Stage.SOAK: 60.0,
    Stage.COOLDOWN: 10.0,
    Stage.COAT: 40.0,
    Stage.BAG: 40.0,
    Stage.PULLDOWN: 60.0,
    Stage.HOLD: 1200.0,
    Stage.FLASHOFF: 6000.0,
    Stage.FINISHED: 1.0,
    Stage.STOPPED: 60.0,
    Stage.INTERRUPTED: 60.0,
}
"""Rig seconds a wall second on a pretend rig, so that three days take some four minutes. Own."""


def pace(engine: Engine, hands_on: bool, speed: float) -> float:
    """Rig seconds a wall second now; 0 while rig time waits for a person.

    hands_on: a person plays along      speed: factor on the table
    """
    run, view = engine.rig.run, engine.view
    stage = Stage.PLANNED if run is None else run.stage
    if not hands_on:
        return PACE[stage] * speed
    if stage is Stage.COOLDOWN:
        # the coat moment is lived through in its own time
        return 1.0
    presses = () if run is None or view is None else open_presses(run, engine.rig, view)
    return 0.0 if presses and presses[0].due else PACE[stage] * speed


class Time(Protocol):
    """Where the loop's time comes from."""

    @property
    def pace(self) -> float | None:
        """Rig seconds a wall second; None where they are the same seconds."""

    def instant(self) -> Instant:
        """Now, on all clocks."""

    def next_tick(self, engine: Engine, deadline: float) -> float:
        """When the tick after the one due at `deadline` is due, [s, boottime]."""


class RealTime:
    """Rig time is the machine's clock, counted on from where the record stood."""

    pace: float | None = None

    def __init__(self, rig: float) -> None:
        """rig: rig time now, [s]"""
        self._offset = rig - boottime()
        self._boot = boot_id()

    def rig(self) -> float:
        """Rig time, [s]; for any thread."""
        return boottime() + self._offset

    def instant(self) -> Instant:
        """Now, on all clocks."""
        mono = boottime()
        return Instant(mono + self._offset, time.time(), mono, self._boot, clock_trusted())

    def next_tick(self, engine: Engine, deadline: float) -> float:
        """A beat later; beats that were missed are left out, not made up for."""
        missed = max(0.0, boottime() - deadline) // BEAT
        return deadline + (missed + 1.0) * BEAT


class PretendTime:
    """Rig time and the calendar go on together, at the pace of the stage."""

    def __init__(self, rig: float, told_utc: float, *, speed: float, hands_on: bool) -> None:
        """rig: rig time now, [s]      told_utc: the calendar now, seconds since 1970 UTC"""
        self._rig = rig
        self._told = told_utc - rig
        self._speed = speed
        self._hands_on = hands_on
        self._boot = boot_id()
        self.pace: float | None = PACE[Stage.PLANNED] * speed

    def instant(self) -> Instant:
        """Now, on all clocks."""
        return Instant(self._rig, self._rig + self._told, boottime(), self._boot, True)

    def next_tick(self, engine: Engine, deadline: float) -> float:
        """When the engine's next step is due at this pace; rig time is moved on to it."""
        self.pace = pace(engine, self._hands_on, self._speed)
        wall = STILL
        if self.pace > 0:
            wall = min(engine.tick / self.pace, BEAT)
            self._rig += wall * self.pace
        return max(deadline + wall, boottime() - CATCH_UP)
