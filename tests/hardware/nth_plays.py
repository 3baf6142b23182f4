"""A batch from its plan into the hold on the real drivers, in which the nth call fails.

Run as a program: `python nth_plays.py MOST KIND...`, with MOST the number of calls of each kind
that shall fail, each once and from then on, spread evenly over all there are; 0 for all.
The job is played step by step; before each step a process is forked for each of its calls that
shall fail. It goes on from there, is stopped, and leaves as control does. One JSON object a line
says what was found; the first is of a play in which nothing failed.
"""

import json
import os
import sys
import tempfile
from collections.abc import Callable, Iterator
from itertools import product
from pathlib import Path
from typing import Any

import gpiozero
import pytest
from at_work import YES
from nth_calls import EBUSY, EIO, Nth, spread
from on_mock_lines import OnMockLines

from controller.batch.acts import Act, ActKind
from controller.batch.signals import Commands
from controller.batch.state import Run
from controller.errors import ControllerError, OutputError
from controller.hardware import raspberry_mock, raspberry_relays
from controller.hardware.raspberry_mock_adc import PretendConverter
from controller.hardware.raspberry_mock_i2c import PretendBus
from controller.hardware.raspberry_pins import ALLOWED_LINES, Pins
from controller.invariants import Invariants, Seen
from controller.runner import Runner, Tick
from controller.store.log import MEMORY

KINDS = ("gpio", "one-wire", "i2c", "spi")
HEATS, HOLDS = 42, 16
"""Ticks of the heat, in which the lamp is proved, and of the hold, in which the pump pulls."""
GOES_ON = 9
"""Steps after the one in which a call failed: a face too old to burn on is 4 s old."""
LEFT_ALONE = 3.0
"""How long the lamp may take to be dark once nobody moves the dead-man line, [s]."""


class Wires:
    """The lines as they are, whatever the drivers say of them."""

    def __init__(self) -> None:
        self._pins: dict[int, Any] = {}

    def of(self, pins: Pins) -> Pins:
        """From now on the lines are these."""
        self._pins = {line: pins.factory.pin(line) for line in ALLOWED_LINES}
        return pins

    def high(self, line: int | None) -> bool:
        """The line is driven high."""
        pin = None if line is None else self._pins.get(line)
        return pin is not None and pin._function == "output" and bool(pin._state)

    def edges(self, line: int | None) -> int:
        """How often it has moved."""
        pin = None if line is None else self._pins.get(line)
        return 0 if pin is None else len(pin.states)


WIRES = Wires()


class Job(OnMockLines):
    """The batch, its record in memory, and an onlooker at the wires."""

    def boot(self) -> Runner:
        """As AtWork."""
        self._path = Path(MEMORY)
        self.onlooker = Invariants()
        self._moved = 0
        self.runner = super().boot()
        self.runner.on_accepted = self._accepted
        return self.runner

    def _accepted(self, act: Act, run: Run | None) -> None:
        self.onlooker.heard(self.now, act)
        self.person_did(str(act.kind))

    def tick(self, *acts: Act) -> Tick:
        """As AtWork, under the onlooker's eyes."""
        done = super().tick(*acts)
        for event in done.step.events:
            self.onlooker.happened(event)
        run, view = self.runner.engine.rig.run, self.runner.engine.view
        edges = WIRES.edges(self.told.panel.dead_man)
        moved, self._moved = edges != self._moved, edges
        self.onlooker.see(
            Seen(
                now=self.now,
                lamp=WIRES.high(self.told.lamp.line) or self.truth().lamp_lit,
                pump=WIRES.high(self.told.pump.line),
                # that it falls to low and stays there is the one edge that is no movement
                dead_man=moved and done.applied.dead_man,
                stage="PLANNED" if run is None else str(run.stage),
                face=None if view is None else view.readings.face,
                trip=self.sheet.coats[0].heat.trip,
                band_high=self.sheet.coats[0].heat.band_high,
                record_in_date=True,
                close_watch=False,
            )
        )
        return done

    def heats(self) -> None:
        """START."""
        self.press(ActKind.START, **YES)

    def left_high(self) -> list[str]:
        """Outputs whose lines are driven high."""
        lines = {"lamp": self.told.lamp.line, "pump": self.told.pump.line}
        return [name for name, line in lines.items() if WIRES.high(line)]

    def burns_on(self) -> bool:
        """Nobody moves the dead-man line any more: whether the lamp burns on behind its line."""
        high = self.left_high()
        world = self.rig._world
        world.apply(Commands(lamp="lamp" in high, pump="pump" in high))
        world.read(self.now + LEFT_ALONE)
        return self.truth().lamp_lit


def steps(folder: Path) -> list[Callable[[Job | None], Any]]:
    """The job; the first step makes what the others are given."""
    return [
        lambda _: Job(folder),
        Job.plan,
        Job.heats,
        *([Job.tick] * HEATS),
        Job.into_hold,
        *([Job.tick] * HOLDS),
    ]


def carried_on(job: Job | None, rest: list[Callable[[Job | None], Any]]) -> dict[str, Any]:
    """The step with the call that fails, what follows it, STOP, and what is found then."""
    told, crash = [], ""
    try:
        made = rest[0](job)
        job = made if job is None else job
        for step in rest[1 : 1 + GOES_ON]:
            step(job)
        job.press(ActKind.STOP)
        job.wait(2.0)
    except ControllerError as error:
        told.append(str(error))
    except Exception as error:
        crash = f"{type(error).__name__}: {error}"
    ended = bool(told or crash)
    if job is None:
        high = [f"GPIO{line}" for line in ALLOWED_LINES if WIRES.high(line)]
        return {"opened": False, "ended": ended, "crash": crash, "told": told, "high": high}
    # as control leaves: off, whatever that says, and then away
    told += refused(job.rig._wires.off)
    kept, burns_on = job.left_high(), job.burns_on()
    told += refused(job.rig._wires.close)
    return {
        "opened": True,
        "ended": ended,
        "crash": crash,
        "told": told,
        "kept": kept,
        "burns_on": burns_on,
        "high": job.left_high(),
        "unsafe": [f"{breach.rule} {breach.what}" for breach in job.onlooker.unsafe],
        "sensors": sorted(job.troubles()),
        "alarms": job.alarms,
        "stage": "none" if job.runner.engine.rig.run is None else str(job.stage),
    }


def refused(put_away: Callable[[], None]) -> list[str]:
    """What was said against it."""
    try:
        put_away()
    except OutputError as error:
        return [str(error)]
    return []


def forked(play: Callable[[], dict[str, Any]], nth: Nth | None = None) -> dict[str, Any]:
    """What a process of its own found, and whether the call that was to fail in it did."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reader)
        with os.fdopen(writer, "w") as pipe:
            found = play()
            json.dump({"hit": nth is not None and nth.hit, **found}, pipe)
        os._exit(0)
    os.close(writer)
    with os.fdopen(reader) as pipe:
        told: dict[str, Any] = json.load(pipe)
    os.waitpid(child, 0)
    return told


def called(kind: str) -> list[tuple[Any, tuple[str, ...]]]:
    """What the drivers call, by its owner."""
    if kind == "gpio":
        return [
            (gpiozero.GPIODevice, ("__init__", "_read")),
            (gpiozero.OutputDevice, ("_write",)),
        ]
    if kind == "one-wire":
        # not at the top: as the driver does, so that no kernel module is looked for
        os.environ["W1THERMSENSOR_NO_KERNEL_MODULE"] = "1"
        from w1thermsensor import W1ThermSensor

        return [(W1ThermSensor, ("__init__", "get_raw_sensor_strings"))]
    if kind == "i2c":
        return [(PretendBus, ("open", "read_i2c_block_data", "write_i2c_block_data"))]
    return [(PretendConverter, ("factory", "answer"))]


def counted(calls: dict[str, Nth], folder: Path) -> dict[str, list[int]]:
    """By kind, how many calls there have been before each step, and at the end."""
    job = None
    before = {kind: [0] for kind in calls}
    for step in steps(folder):
        made = step(job)
        job = made if job is None else job
        for kind, nth in calls.items():
            before[kind].append(nth.calls)
    assert job is not None
    assert job.rig.outputs().pump and not job.alarms and not job.onlooker.unsafe
    job.close()
    return before


def plays(calls: dict[str, Nth], most: int, folder: Path) -> Iterator[dict[str, Any]]:
    """One play for each of the points."""
    before = counted(calls, folder)
    points = {kind: {*spread(counts[-1], most or counts[-1])} for kind, counts in before.items()}
    todo, job = steps(folder), None
    of = {kind: counts[-1] for kind, counts in before.items()}
    yield {"kind": "none", "of": of, **forked(lambda: carried_on(None, todo))}
    for at, step in enumerate(todo):
        for kind, how in product(calls, ("once", "sticky")):
            first, last = before[kind][at], before[kind][at + 1]
            for n in range(first + 1, last + 1):
                if n in points[kind]:
                    calls[kind].arm(n - first, sticky=how == "sticky")
                    found = forked(lambda: carried_on(job, todo[at:]), calls[kind])  # noqa: B023
                    yield {"kind": kind, "how": how, "n": n, **found}
            calls[kind].arm()
        made = step(job)
        job = made if job is None else job
    assert job is not None
    job.close()


def main() -> None:
    most, kinds = int(sys.argv[1]), sys.argv[2:]
    calls = {kind: Nth(EIO, EBUSY) for kind in kinds}
    with pytest.MonkeyPatch.context() as patch, tempfile.TemporaryDirectory() as folder:
        # nobody is there to let go of the sounder's line: it is not waited for
        patch.setattr(raspberry_relays, "LET_GO_WITHIN", 0.0)
        mock_pins = raspberry_mock.mock_pins

        patch.setattr(raspberry_mock, "mock_pins", lambda: WIRES.of(mock_pins()))
        for kind, nth in calls.items():
            for owner, names in called(kind):
                nth.put_over(patch, owner, *names)
        for found in plays(calls, most, Path(folder)):
            sys.stdout.write(json.dumps(found) + "\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
