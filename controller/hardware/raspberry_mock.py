"""The drivers of the real rig over mock lines and pretend buses, fed by the plant."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

from controller.batch.signals import Commands, Readings, Role, Sample
from controller.hardware.plant import Plant, PlantTruth
from controller.hardware.raspberry import Listened
from controller.hardware.raspberry_adc import Mcp3008Adc
from controller.hardware.raspberry_barometer import Barometer
from controller.hardware.raspberry_gauge import Line, TransducerGauge
from controller.hardware.raspberry_glances import Glances
from controller.hardware.raspberry_infrared import ADDRESS, InfraredThermometer
from controller.hardware.raspberry_mock_adc import PretendConverter
from controller.hardware.raspberry_mock_i2c import PretendBmp280, PretendBus, PretendMlx90614
from controller.hardware.raspberry_mock_w1 import PretendChip
from controller.hardware.raspberry_mock_wires import PretendWires
from controller.hardware.raspberry_pins import mock_pins
from controller.hardware.raspberry_probes import STEPS, ZERO_CELSIUS, Probe, ProbeReader
from controller.hardware.raspberry_wires import Wires
from controller.hardware.sensors import DEAD_VOLTS, LIVE_VOLTS
from controller.hardware.simulated_wiring import simulated_rig
from controller.settings.panel import Infrared, Panel, Sense

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
GAUGE_INPUT, GAUGE_DIVIDER = 0, 2 / 3
"""Input of the pretend converter the gauge is on, and what it sees of a volt, [-]."""
GAUGE_SPAN = 120e3
"""Pressure at which the pretend transducer gives 4.5 V, [Pa]; as in the pretend rig."""
GAUGE_LINE = Line(DEAD_VOLTS, 0.0, DEAD_VOLTS + LIVE_VOLTS, GAUGE_SPAN)
"""What the gauge's driver is told of it."""
BAROMETER_ADDRESS = 0x76
"""With its SDO pin on ground; its data sheet, from memory, to be checked."""


class MockedRaspberryRig:
    """The real drivers of probes, gauges, relays and panel; a plant behind them instead of a bench.

    The pretend rig inside stands for the world: its sensors fill the files the probe driver reads,
    the inputs of the gauge's converter and the chips on I2C, its contacts stand on the mock lines,
    and the levels of the lines that are switched are what switches it. Everything is read in the
    caller's own thread, so that a seed gives one story.
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
        infrared: Infrared | None = None,
        probe_lag: float = 8.0,
        lamp_gpio: int | None = 17,
        pump_gpio: int | None = 27,
        panel: Panel | None = None,
        sense: Sense | None = None,
        ids: Mapping[Role, str] = MADE_UP_IDS,
    ) -> None:
        """folder: of its own, for the pretend bus and outputs.json     probes: those wired

        seed: of all sensor noise      gauge, barometer: wired or not
        probe_lag: of a contact probe, [s]     lamp_gpio, pump_gpio: BCM numbers, None: not wired
        infrared, panel, sense: as in the settings, where nothing is wired that is not named

        Raises as the real one does.
        """
        self.plant = plant
        """What is sensed and switched; a person's hands act on it."""
        infrared, panel, sense = infrared or Infrared(), panel or Panel(), sense or Sense()
        wired = frozenset(probes)
        self._world = simulated_rig(
            plant,
            wired,
            seed,
            panel=panel,
            sense=sense,
            infrared=infrared,
            gauge=gauge,
            barometer=barometer,
            lamp=lamp_gpio is not None,
            pump=pump_gpio is not None,
            probe_lag=probe_lag,
        )
        folder.mkdir(parents=True, exist_ok=True)
        bus = folder / "w1"
        chips = [Probe(role, ids[role], bus) for role in Role if role in wired]
        self._chips = {chip.role: PretendChip(bus / chip.id) for chip in chips}
        self._reader = ProbeReader(chips, self._now, gap=float("inf"))
        self._converter = PretendConverter()
        self._adc = Mcp3008Adc(self._converter.factory)
        driver = TransducerGauge(self._adc, GAUGE_INPUT, GAUGE_LINE, divider=GAUGE_DIVIDER)
        self._gauge = Listened("gauge", driver if gauge else None)
        self._bus, self._air, self._eye = PretendBus({}), PretendBmp280(), PretendMlx90614()
        i2c = self._bus.i2c()
        # rig time moves by whole ticks, in which the pretend chip has measured at once
        air = Barometer(i2c, BAROMETER_ADDRESS, pause=lambda seconds: None)
        self._barometer = Listened("barometer", air if barometer else None)
        eye = InfraredThermometer(i2c, infrared.emissivity)
        self._glances = Glances(eye if infrared.wired == "wired" else None)
        pins = mock_pins()
        self._wires = Wires(pins, folder, lamp=lamp_gpio, pump=pump_gpio, panel=panel, sense=sense)
        self._around = PretendWires(pins.factory, self._world.contacts, panel, sense)
        self._closed = False

    def read(self, now: float) -> Readings:
        """The newest good samples at rig time `now`, [s]; moves the plant on to `now`.

        Raises ReadingError when time goes back.
        """
        self._switch_world()
        world = self._world.read(now)
        self._around.drive()
        for role in self._reader.due(now, others=len(Role)):
            self._convert(role, world.role(role), now)
        self._convert_gauge(world.bag, now)
        self._answer_on_i2c(world.barometer, now)
        newest = self._reader.newest
        readings = self._wires.sensed(
            Readings(
                face=newest(Role.FACE),
                back=newest(Role.BACK),
                room=newest(Role.ROOM),
                film=newest(Role.FILM),
                bag=self._gauge.read(now),
                barometer=self._barometer.read(now),
            )
        )
        burns = self._wires.outputs().lamp or readings.lamp_fed is True
        return replace(readings, infrared=self._glances.read(now, burns, readings.room))

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

    def _answer_on_i2c(self, air: Sample | None, now: float) -> None:
        """Let the chips measure what the pretend sensors do; a silent one has lost its supply."""
        chips, sensors = self._bus.chips, self._world.sensors
        chips.clear()
        if air is not None and air.at >= now:
            self._air.in_air_of(air.value)
            chips[BAROMETER_ADDRESS] = self._air
        if sensors.eye is not None and not sensors.silent("infrared"):
            self._eye.sees(sensors.eye.raw)
            chips[ADDRESS] = self._eye

    def _now(self) -> float:
        return self.plant.now

    def troubles(self) -> Mapping[str, str]:
        """Why the last read of a sensor failed, by its role, `gauge`, `barometer` or `infrared`."""
        told = self._reader.troubles() | self._gauge.troubles() | self._barometer.troubles()
        return told | self._glances.troubles()

    def apply(self, commands: Commands) -> None:
        """Switch the outputs that are wired. Raises OutputError when one does not read back as
        switched, or after `close`."""
        try:
            self._wires.apply(commands)
        finally:
            self._switch_world()

    def _switch_world(self) -> None:
        """The levels of the lines are what relays and sounder see; each edge of the dead-man line
        is one of the world's."""
        if not self._closed:
            on = self._wires.outputs()
            moved = self._around.moved()
            self._world.apply(Commands(on.lamp, on.pump, self._around.loud(), moved))
        self._around.drive()

    def outputs(self) -> Commands:
        """The outputs as their lines read back; one that is not wired is never on."""
        return self._wires.outputs()

    def off(self) -> None:
        """Every output OFF, from any thread or signal handler. Raises OutputError, after trying
        all of them, when one could not be switched."""
        try:
            self._wires.off()
        finally:
            self._switch_world()

    def close(self) -> None:
        """Outputs OFF, then let go of every line. Safe to call twice."""
        try:
            self._wires.close()
        finally:
            self._closed = True
            self._adc.close()
            self._world.close()

    def truth(self) -> PlantTruth:
        """What is so, whatever the sensors say."""
        return self._world.truth()

    def person_did(self, kind: str) -> None:
        """Do to the rig what the act `kind` says was done; other acts are ignored."""
        self._world.person_did(kind)
        self._switch_world()

    def press_stop(self, down: bool = True) -> None:
        """Hold the wired STOP button down, or let it go."""
        self._world.press_stop(down)
        self._switch_world()

    def press_next(self) -> None:
        """Tap the wired NEXT button; the next read tells it once."""
        self._world.press_next()
        self._switch_world()

    def add_fault(self, name: str, value: float | None = None, role: Role = Role.FACE) -> None:
        """Switch a fault on, at its usual value for None. Raises InputError as the pretend rig."""
        self._world.add_fault(name, value, role)
        self._switch_world()

    def clear_fault(self, name: str, role: Role = Role.FACE) -> None:
        """Switch a fault off. Raises InputError if unknown."""
        self._world.clear_fault(name, role)
        self._switch_world()
