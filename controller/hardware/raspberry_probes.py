"""A Raspberry Pi's DS18B20 probes: one read, what makes it no reading, and a thread per bus."""

import os
import threading
from collections import deque
from collections.abc import Callable, Sequence
from pathlib import Path
from re import fullmatch
from typing import Any

from controller.batch.signals import Role, Sample
from controller.errors import InputError, ReadingError

W1_FOLDER = Path("/sys/bus/w1/devices")
"""Where the kernel shows the probes of every 1-Wire bus."""
STEPS = 16
"""Counts per degree at 12 bit, [1/K]; DS18B20 data sheet, from memory, to be checked."""
ZERO_CELSIUS = 273.15
"""0 C, [K]; by definition."""
LEAST, MOST = -20, 110
"""What a probe in a shop can truly see, [C]; own. Outside it the wire is speaking, or the chip."""
POWER_ON = 85 * STEPS
"""Count the chip holds before its first conversion; data sheet, from memory, to be checked."""
STARVED = 0x07FF
"""Count it gives when power fails in a conversion; the kernel's w1_therm driver names it too."""
NO_CONVERSION = 0x0C
"""Scratchpad byte 6 beside those two counts; a true conversion leaves 0x10 less the low nibble."""
MEDIAN_OF, MEDIAN_AGE = 3, 5.0
"""Face samples in the median, and how old beside the newest one may be, [s]; own."""
OTHERS_EVERY = 5.0
"""Pause between two reads of a probe other than the face's, [s]; own: with three of them in turn
no value reaches the 10 s after which it may not be shown as live."""
PAUSE = 1.0
"""From the start of a round to the start of the next, when a read fails at once, [s]; own."""


class Probe:
    """One DS18B20, read through w1thermsensor.

    The library takes the probe's file apart by two bytes only and lets power faults pass, so the
    lines it read are checked here before they are a temperature.
    """

    def __init__(self, role: Role, sensor_id: str, folder: Path = W1_FOLDER) -> None:
        """role: what it measures     sensor_id: as in the folder, `28-0123456789ab`

        Raises InputError for the id of another kind of chip.
        """
        if fullmatch(r"28-[0-9a-f]{12}", sensor_id) is None:
            raise InputError(
                f"{role} probe {sensor_id!r}: no DS18B20; its id is 28- and twelve of 0-9 a-f,"
                f" as the folders in {folder} are named"
            )
        self.role = role
        """What it is there to measure."""
        self.id = sensor_id
        """The chip's own number."""
        self.folder = folder
        """Where its bus is shown."""
        self._sensor: Any = None

    def sample(self, now: float) -> Sample:
        """Its temperature now, [K], stamped `now`, the rig time the read begins, [s].

        Blocks for the conversion: 0.75 s, sometimes longer, and for ever on a hung bus. Raises
        ReadingError for everything else, with what to look at.
        """
        # a cut file, a chip that was pulled, a kernel error: whatever it is, it is no reading
        try:
            if self._sensor is None:
                self._sensor = self._found()
            counts = checked_counts(self._sensor.get_raw_sensor_strings())
        except ReadingError as error:
            raise ReadingError(f"{self.role} probe {self.id}: {error}") from error
        except Exception as error:
            raise ReadingError(f"{self.role} probe {self.id}: {_said(error)}") from error
        return Sample(counts / STEPS + ZERO_CELSIUS, now)

    def _found(self) -> Any:
        # the library would load kernel modules and wait a second for them at import
        os.environ["W1THERMSENSOR_NO_KERNEL_MODULE"] = "1"
        from w1thermsensor import Sensor, W1ThermSensor

        # the folder is a class attribute there: set on a class of our own, nobody else's moves
        kind: Any = type("FolderSensor", (W1ThermSensor,), {"BASE_DIRECTORY": self.folder})
        return kind(Sensor.DS18B20, self.id.removeprefix("28-"))


def _said(error: Exception) -> str:
    """What the library's error means at the bench."""
    kind = type(error).__name__
    if kind == "NoSensorFoundError":
        return "not on the bus; look at its plug, and for dtoverlay=w1-gpio in config.txt"
    if kind == "SensorNotReadyError":
        return "garbled or empty answer; look at its cable, the 4.7 kohm pull-up and its supply"
    return f"unreadable ({kind}); look at its cable and plug"


def checked_counts(lines: Sequence[str]) -> int:
    """The conversion in the two lines of a `w1_slave` file, [1/16 C].

    Raises ReadingError when they hold none: a cut or torn file, the power-on value, a conversion
    that lost its supply, an idle or shorted wire, or a temperature that cannot be.

    A board at a true 85.0 C is refused too, which for a lamp errs on the right side.

    >>> checked_counts(["64 02 4b 46 7f ff 0c 10 be : crc=be YES",
    ...                 "64 02 4b 46 7f ff 0c 10 be t=38250"]) / 16
    38.25
    """
    if len(lines) < 2:
        raise ReadingError("its answer is cut short; look at its cable")
    pads = [_nine_bytes(line) for line in lines[:2]]
    # the second line is the driver's copy of the last good scratchpad
    if pads[0] != pads[1] or not lines[0].rstrip().endswith("YES"):
        raise ReadingError("its answer is garbled; look at its cable and the 4.7 kohm pull-up")
    pad = pads[0]
    if pad in (bytes(9), b"\xff" * 9):
        raise ReadingError("an empty answer; look at its plug, its cable and the pull-up")
    counts = int.from_bytes(pad[:2], "little", signed=True)
    if counts == STARVED and pad[6] == NO_CONVERSION:
        raise ReadingError("it lost its supply while measuring; look at its supply wire")
    if counts == POWER_ON:
        raise ReadingError("85.0 °C, which is its power-on value; look at its supply wire")
    if not LEAST * STEPS <= counts <= MOST * STEPS:
        raise ReadingError(
            f"{counts / STEPS:.1f} °C, outside {LEAST} to {MOST} °C; look at its cable and plug"
        )
    return counts


def _nine_bytes(line: str) -> bytes:
    words = line.split()[:9]
    if len(words) < 9:
        raise ReadingError("its answer is cut short; look at its cable")
    try:
        return bytes(int(word, 16) for word in words)
    except ValueError:
        raise ReadingError("its answer is garbled; look at its cable") from None


class Settled:
    """The median of the last three samples that stand within 5 s of the newest.

    Of two it takes the hotter, so that a doubt errs to lamp OFF.
    """

    def __init__(self) -> None:
        self._samples: deque[Sample] = deque(maxlen=MEDIAN_OF)

    def add(self, sample: Sample) -> None:
        """Take a good sample in."""
        self._samples.append(sample)

    def newest(self) -> Sample | None:
        """The median stamped as the newest sample, whatever its age; None before the first."""
        samples = tuple(self._samples)
        if not samples:
            return None
        at = samples[-1].at
        values = sorted(one.value for one in samples if one.age(at) <= MEDIAN_AGE)
        return Sample(values[len(values) // 2], at)


class ProbeReader:
    """Reads the probes of one bus in turn, in a thread, and holds the newest good samples.

    The face is read every round, at most one other probe beside it. A read can hang in the kernel
    for ever: nothing here waits for it, and the age of the samples is what tells.
    """

    def __init__(
        self, probes: Sequence[Probe], clock: Callable[[], float], *, gap: float = MEDIAN_AGE
    ) -> None:
        """probes: of one bus     clock: gives rig time, [s]

        gap: pause after which the face's first answer is dropped, [s]: some kernels answer with
        the previous conversion (raspberrypi/linux 1582), and after a pause that one is old
        """
        self._probes = {probe.role: probe for probe in probes}
        self._clock, self._gap = clock, gap
        self._settled = Settled()
        self._newest: dict[Role, Sample] = {}
        self._tried: dict[Role, float] = {}
        self._trouble: dict[Role, str] = {}
        self._reading_since: float | None = None
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._left_behind: threading.Thread | None = None

    def troubles(self) -> dict[str, str]:
        """Why the last read of each probe failed, by its role; those that did not are left out."""
        return {str(role): text for role, text in tuple(self._trouble.items())}

    @property
    def roles(self) -> frozenset[Role]:
        """The probes it reads."""
        return frozenset(self._probes)

    def newest(self, role: Role) -> Sample | None:
        """The newest good sample, [K]; the face's is the median. None before the first."""
        return self._settled.newest() if role is Role.FACE else self._newest.get(role)

    def reading_since(self) -> float | None:
        """Rig time at which the read now going on began, [s]; None between reads."""
        return self._reading_since

    def start(self) -> None:
        """Start reading."""
        self._stop = threading.Event()
        names = " ".join(sorted(self._probes))
        self._thread = threading.Thread(
            target=self._run, args=(self._stop,), name=f"probes {names}", daemon=True
        )
        self._thread.start()

    def stop(self, wait: float = 1.0) -> None:
        """Stop reading, waiting at most `wait` for the read now going on, [s]."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join(wait)

    def restart(self) -> bool:
        """Leave a blocked thread behind and start another.

        False, and nothing done, while one left behind earlier is still blocked: a bus that hangs
        all night then costs two threads and no more.
        """
        if self._left_behind is not None and self._left_behind.is_alive():
            return False
        self._stop.set()
        self._left_behind = self._thread
        self._reading_since = None
        self.start()
        return True

    def _run(self, stop: threading.Event) -> None:
        while not stop.is_set():
            began = self._clock()
            for role in self.due(began):
                self.turn(role, self._clock(), stop)
            stop.wait(max(0.0, PAUSE - (self._clock() - began)))

    def due(self, now: float, others: int = 1) -> list[Role]:
        """The probes of the round that begins at rig time `now`, [s], in order: the face, and of
        those that have waited their time the `others` that have waited longest."""
        tried = {role: self._tried.get(role, float("-inf")) for role in self._probes}
        face = [role for role in tried if role is Role.FACE]
        waiting = [
            role for role in tried if role is not Role.FACE and now - tried[role] >= OTHERS_EVERY
        ]
        return face + sorted(waiting, key=lambda role: tried[role])[:others]

    def turn(self, role: Role, now: float, stop: threading.Event | None = None) -> None:
        """Read one probe at rig time `now`, [s]; keep what it gives, or why it gave nothing.

        stop: set while the read hung, it makes the late answer nobody's
        """
        self._reading_since = now
        sample, trouble = None, ""
        try:
            sample = self._probes[role].sample(now)
        except ReadingError as error:
            trouble = str(error)
        if stop is not None and stop.is_set():
            return
        self._reading_since = None
        paused = now - self._tried.get(role, float("-inf")) > self._gap
        self._tried[role] = now
        if sample is None:
            self._trouble[role] = trouble
            return
        self._trouble.pop(role, None)
        if role is not Role.FACE:
            self._newest[role] = sample
        elif not paused:
            self._settled.add(sample)


def readers_by_bus(probes: Sequence[Probe], clock: Callable[[], float]) -> list[ProbeReader]:
    """One reader for each 1-Wire bus that has a probe; a probe not found yet joins the first."""
    buses: dict[Path, list[Probe]] = {}
    lost: list[Probe] = []
    for probe in probes:
        device = probe.folder / probe.id
        # the folder holds links into the folder of the bus
        if device.exists():
            buses.setdefault(device.resolve().parent, []).append(probe)
        else:
            lost.append(probe)
    groups = list(buses.values()) or [[]]
    groups[0].extend(lost)
    return [ProbeReader(group, clock) for group in groups if group]
