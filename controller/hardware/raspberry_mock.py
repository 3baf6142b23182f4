"""The drivers of the real rig over mock lines and a pretend 1-Wire folder, fed by the plant."""

from collections.abc import Iterable, Mapping
from pathlib import Path
from types import MappingProxyType

from controller.batch.signals import Commands, Readings, Role, Sample
from controller.errors import ReadingError
from controller.hardware.plant import Plant, PlantTruth
from controller.hardware.raspberry import Listened
from controller.hardware.raspberry_adc import Mcp3008Adc
from controller.hardware.raspberry_gauge import Line, TransducerGauge
from controller.hardware.raspberry_mock_adc import PretendConverter
from controller.hardware.raspberry_pins import mock_pins
from controller.hardware.raspberry_probes import (
    STEPS,
    ZERO_CELSIUS,
    Probe,
    ProbeReader,
)
from controller.hardware.raspberry_relays import Relays
from controller.hardware.sensors import DEAD_VOLTS, LIVE_VOLTS
from controller.hardware.simulated import SimulatedRig

MADE_UP_IDS: Mapping[Role, str] = MappingProxyType(
    {
        Role.FACE: "28-0000000000fa",
        Role.BACK: "28-0000000000ba",
        Role.ROOM: "28-0000000000aa",
        Role.FILM: "28-0000000000f1",
    }
)
"""Numbers of chips nobody made."""
SILENT_AFTER = 2.0
"""Without a conversion for this long the chip's answer is garbled, [s]; own: two conversions."""
CRC_POLYNOMIAL = 0x8C
"""X^8 + X^5 + X^4 + 1, lowest bit first; Maxim application note 27, from memory, to be checked."""


GAUGE_INPUT, GAUGE_DIVIDER = 0, 2 / 3
"""Input of the pretend converter the gauge is on, and what it sees of a volt, [-]."""
GAUGE_SPAN = 120e3
"""Pressure at which the pretend transducer gives 4.5 V, [Pa]; as in the pretend rig."""
GAUGE_LINE = Line(DEAD_VOLTS, 0.0, DEAD_VOLTS + LIVE_VOLTS, GAUGE_SPAN)
"""What the gauge's driver is told of it."""


class PretendChip:
    """The folder of one DS18B20, as the kernel shows it; garbled until it converts."""

    def __init__(self, folder: Path) -> None:
        """folder: named by the chip's id; made here"""
        folder.mkdir(parents=True, exist_ok=True)
        self._file = folder / "w1_slave"
        self._file.touch()
        self._pad = scratchpad(25 * STEPS)
        self.garble()

    def converted(self, counts: int) -> None:
        """Show a conversion, [1/16 C]."""
        self._pad = scratchpad(counts)
        self._show("YES")

    def garble(self) -> None:
        """Show an answer that failed its check."""
        self._show("NO")

    def _show(self, verdict: str) -> None:
        counts = int.from_bytes(self._pad[:2], "little", signed=True)
        pad = self._pad.hex(" ")
        text = f"{pad} : crc={self._pad[8]:02x} {verdict}\n{pad} t={counts * 1000 // STEPS}\n"
        # written over, not anew: a disk makes an emptied file wait until it is on the platter
        with self._file.open("r+b", buffering=0) as file:
            file.write(text.encode("ascii"))
            file.truncate()


def scratchpad(counts: int) -> bytes:
    """The nine bytes a DS18B20 holds after converting to `counts`, [1/16 C], at 12 bit.

    >>> scratchpad(25 * 16).hex(" ")
    '90 01 4b 46 7f ff 10 10 92'
    """
    low, high = counts.to_bytes(2, "little", signed=True)
    # alarm limits and set-up as the chip leaves the works; byte 6 counts down to the next 1/16
    pad = bytes((low, high, 0x4B, 0x46, 0x7F, 0xFF, 0x10 - (low & 0x0F), 0x10))
    return pad + bytes((crc8(pad),))


def crc8(data: bytes) -> int:
    """The check byte of the 1-Wire bus."""
    crc = 0
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ (CRC_POLYNOMIAL if crc & 1 else 0)
    return crc


class _PretendBarometer:
    """What the pretend rig's barometer told last."""

    def __init__(self) -> None:
        self.told: Sample | None = None

    def sample(self, now: float) -> Sample:
        """Absolute pressure, [Pa]. Raises ReadingError while nothing new is told."""
        if self.told is None or self.told.at < now:
            raise ReadingError("barometer: no answer; look at its wires")
        return self.told


class MockedRaspberryRig:
    """The real probe, gauge and relay drivers; a plant behind them instead of a bench.

    The pretend rig inside stands for the world: its sensors fill the files the probe driver reads
    and the inputs of the gauge's converter, and the levels of the mock lines are what switches it.
    Everything is read in the caller's own thread, so that a seed gives one story.
    """

    simulated = True

    def __init__(
        self,
        plant: Plant,
        folder: Path,
        probes: Iterable[Role] = tuple(Role),
        seed: int = 0,
        *,
        gauge: bool = True,
        barometer: bool = True,
        probe_lag: float = 8.0,
        lamp_gpio: int | None = 17,
        pump_gpio: int | None = 27,
        ids: Mapping[Role, str] = MADE_UP_IDS,
    ) -> None:
        """folder: of its own, for the pretend bus and outputs.json     probes: those wired

        seed: of all sensor noise      gauge, barometer: wired or not
        probe_lag: of a contact probe, [s]     lamp_gpio, pump_gpio: BCM numbers, None: not wired

        Raises as the real one does.
        """
        self.plant = plant
        """What is sensed and switched; a person's hands act on it."""
        wired = frozenset(probes)
        self._world = SimulatedRig(
            plant, wired, seed, gauge=gauge, barometer=barometer, probe_lag=probe_lag
        )
        folder.mkdir(parents=True, exist_ok=True)
        bus = folder / "w1"
        chips = [Probe(role, ids[role], bus) for role in Role if role in wired]
        self._chips = {chip.role: PretendChip(bus / chip.id) for chip in chips}
        self._reader = ProbeReader(chips, self._now, gap=float("inf"))
        self._converter, self._told_barometer = PretendConverter(), _PretendBarometer()
        self._adc = Mcp3008Adc(self._converter.factory)
        driver = TransducerGauge(self._adc, GAUGE_INPUT, GAUGE_LINE, divider=GAUGE_DIVIDER)
        self._gauge = Listened("gauge", driver if gauge else None)
        self._barometer = Listened("barometer", self._told_barometer if barometer else None)
        self._relays = Relays(mock_pins(), folder, lamp=lamp_gpio, pump=pump_gpio)
        self._closed = False

    def read(self, now: float) -> Readings:
        """The newest good samples at rig time `now`, [s]; moves the plant on to `now`.

        Raises ReadingError when time goes back.
        """
        self._switch_world()
        world = self._world.read(now)
        for role in self._reader.due(now, others=len(Role)):
            self._convert(role, world.role(role), now)
        self._convert_gauge(world.bag, now)
        self._told_barometer.told = world.barometer
        newest = self._reader.newest
        return Readings(
            face=newest(Role.FACE),
            back=newest(Role.BACK),
            room=newest(Role.ROOM),
            film=newest(Role.FILM),
            bag=self._gauge.read(now),
            barometer=self._barometer.read(now),
            stop_pressed=world.stop_pressed,
            next_pressed=world.next_pressed,
        )

    def _convert(self, role: Role, conversion: Sample | None, now: float) -> None:
        """Show the chip's newest conversion in its file and let the driver read it there."""
        chip, last = self._chips[role], self._reader.newest(role)
        if conversion is None or now - conversion.at >= SILENT_AFTER:
            chip.garble()
            self._reader.turn(role, now)
        elif last is None or conversion.at > last.at:
            chip.converted(round((conversion.value - ZERO_CELSIUS) * STEPS))
            self._reader.turn(role, conversion.at)

    def _convert_gauge(self, told: Sample | None, now: float) -> None:
        """Put the transducer's volts on the converter's input; a silent one has lost its wire."""
        self._converter.inputs.clear()
        if told is not None and told.at >= now:
            volts = DEAD_VOLTS + LIVE_VOLTS * told.value / GAUGE_SPAN
            self._converter.inputs[GAUGE_INPUT] = GAUGE_DIVIDER * volts

    def _now(self) -> float:
        return self.plant.now

    def troubles(self) -> Mapping[str, str]:
        """Why the last read of a sensor failed, by its role, `gauge` or `barometer`."""
        return self._reader.troubles() | self._gauge.troubles() | self._barometer.troubles()

    def apply(self, commands: Commands) -> None:
        """Switch the outputs that are wired. Raises OutputError when one does not read back as
        switched, or after `close`."""
        try:
            self._relays.switch(commands.lamp, commands.pump)
        finally:
            self._switch_world()

    def _switch_world(self) -> None:
        """The levels of the lines are what the relays' coils see."""
        if not self._closed:
            self._world.apply(self.outputs())

    def outputs(self) -> Commands:
        """The outputs as their lines read back; one that is not wired is never on."""
        lamp, pump = self._relays.levels()
        return Commands(lamp=lamp, pump=pump)

    def off(self) -> None:
        """Every output OFF, from any thread or signal handler. Raises OutputError, after trying
        all of them, when one could not be switched."""
        try:
            self._relays.off()
        finally:
            self._switch_world()

    def close(self) -> None:
        """Outputs OFF, then let go of every line. Safe to call twice."""
        try:
            self._relays.close()
        finally:
            self._closed = True
            self._adc.close()
            self._world.close()

    def truth(self) -> PlantTruth:
        """What is so, whatever the sensors say."""
        return self._world.truth()

    def person_did(self, kind: str) -> None:
        """Do to the plant what the act `kind` says was done; other acts are ignored."""
        self._world.person_did(kind)

    def press_stop(self, down: bool = True) -> None:
        """Hold the wired STOP button down, or let it go."""
        self._world.press_stop(down)

    def press_next(self) -> None:
        """Tap the wired NEXT button; the next read tells it once."""
        self._world.press_next()

    def add_fault(self, name: str, value: float | None = None, role: Role = Role.FACE) -> None:
        """Switch a fault on, at its usual value for None. Raises InputError as the pretend rig."""
        self._world.add_fault(name, value, role)

    def clear_fault(self, name: str, role: Role = Role.FACE) -> None:
        """Switch a fault off. Raises InputError if unknown."""
        self._world.clear_fault(name, role)
