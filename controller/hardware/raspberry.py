"""The real rig: DS18B20 probes on 1-Wire, relays on a Raspberry Pi's lines, a gauge on the bag."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Protocol

from controller.batch.signals import Commands, Readings, Role, Sample
from controller.errors import InputError, ReadingError
from controller.hardware.raspberry_adc import Adc, Ads1115Adc, Mcp3008Adc
from controller.hardware.raspberry_barometer import Barometer
from controller.hardware.raspberry_gauge import gauge_on
from controller.hardware.raspberry_glances import Glances
from controller.hardware.raspberry_i2c import I2c
from controller.hardware.raspberry_infrared import InfraredThermometer
from controller.hardware.raspberry_pins import lgpio_pins
from controller.hardware.raspberry_probes import W1_FOLDER, Probe, readers_by_bus
from controller.hardware.raspberry_wires import Wires
from controller.hardware.rig import wired_probes
from controller.science.air import standard_pressure
from controller.settings import Settings

HUNG = 15.0
"""A read that takes this long is left behind, [s]; own: twenty conversions."""


class Gauge(Protocol):
    """Something that tells an absolute pressure: the bag's gauge, the shop's barometer."""

    def sample(self, now: float) -> Sample:
        """Absolute pressure at rig time `now`, [s], as a sample, [Pa].

        Answers within milliseconds. Raises ReadingError.
        """


class Listened:
    """A gauge's newest good sample, and why the last read gave none."""

    def __init__(self, name: str, gauge: Gauge | None) -> None:
        """name: what it is to people     gauge: None when none is wired"""
        self._name, self._gauge = name, gauge
        self._newest: Sample | None = None
        self._trouble = ""

    def read(self, now: float) -> Sample | None:
        """The newest good sample at rig time `now`, [s], absolute, [Pa]; None before the first."""
        if self._gauge is None:
            return None
        try:
            self._newest = self._gauge.sample(now)
            self._trouble = ""
        except ReadingError as error:
            self._trouble = str(error)
        return self._newest

    @property
    def newest(self) -> Sample | None:
        """The newest good sample, whatever its age; None before the first."""
        return self._newest

    def troubles(self) -> dict[str, str]:
        """Why the last read failed, by its name; empty after a good one."""
        return {self._name: self._trouble} if self._trouble else {}


class RaspberryRig:
    """Lamp and pump on relays, probes on 1-Wire, gauge and barometer, each where the settings say
    it is wired."""

    simulated = False

    def __init__(
        self,
        settings: Settings,
        clock: Callable[[], float],
        *,
        gauge: Gauge | None = None,
        barometer: Gauge | None = None,
        w1_folder: Path = W1_FOLDER,
    ) -> None:
        """clock: gives rig time, [s]      w1_folder: where the 1-Wire buses are shown

        gauge, barometer: drivers of another kind, in place of those the settings name

        Claims the wired outputs at OFF, then starts to read; a gauge or barometer that does not
        answer is a trouble, no failure. Raises InputError for settings that cannot be followed,
        BusyError or OutputError when an output cannot be claimed.
        """
        told = settings.gauge
        if told.wired != "wired" and gauge is not None:
            raise InputError(
                f'[gauge] wired = "{told.wired}", and this back end was given a driver for one;'
                ' set it to "wired"'
            )
        if told.wired == "wired" and gauge is None and told.adc is None:
            raise InputError(
                '[gauge] wired = "wired", and nothing is named to read it; set adc = "mcp3008" or'
                ' adc = "ads1115", or wired = "by hand"'
            )
        probes = [Probe(role, id, w1_folder) for role, id in wired_probes(settings).items()]
        self._i2c = I2c()
        self._adc = None if gauge is not None else _converter(settings, self._i2c)
        self._altitude_air = standard_pressure(settings.shop.altitude)
        if self._adc is not None:
            gauge = gauge_on(self._adc, told, self._air)
        if barometer is None and settings.barometer.wired == "wired":
            barometer = Barometer(self._i2c, int(settings.barometer.address, 16))
        eye = None
        if settings.infrared.wired == "wired":
            eye = InfraredThermometer(self._i2c, settings.infrared.emissivity)
        self._glances, self._lit = Glances(eye), False
        # a lamp that a hand switches is seen by its sense alone
        self._lamp_known = settings.lamp.wired == "wired" or settings.sense.lamp is not None
        self._wires = Wires(
            lgpio_pins(settings.rig.run_folder),
            settings.rig.run_folder,
            lamp=settings.lamp.line,
            pump=settings.pump.line,
            panel=settings.panel,
            sense=settings.sense,
        )
        self._gauge, self._barometer = Listened("gauge", gauge), Listened("barometer", barometer)
        self._readers = readers_by_bus(probes, clock)
        self._by_role = {role: reader for reader in self._readers for role in reader.roles}
        for reader in self._readers:
            reader.start()

    def read(self, now: float) -> Readings:
        """The newest good samples at rig time `now`, [s]; waits for no probe.

        A reader that hangs in one read is left behind here, and another takes its place. Raises
        OutputError when a contact cannot be read: it is on the chip that switches the lamp.
        """
        for reader in self._readers:
            since = reader.reading_since()
            if since is not None and now - since > HUNG:
                reader.restart()
        samples = {role: reader.newest(role) for role, reader in self._by_role.items()}
        # first, so that a gauge that counts from the air counts from this one
        air = self._barometer.read(now)
        room = samples.get(Role.ROOM)
        readings = self._wires.sensed(
            Readings(
                face=samples.get(Role.FACE),
                back=samples.get(Role.BACK),
                room=room,
                film=samples.get(Role.FILM),
                bag=self._gauge.read(now),
                barometer=air,
            )
        )
        was_lit, self._lit = self._lit, self._wires.outputs().lamp
        burns = was_lit or self._lit or readings.lamp_fed is True or not self._lamp_known
        return replace(readings, infrared=self._glances.read(now, burns, room))

    def _air(self, now: float) -> float:
        """What a gauge that counts from the air counts from at rig time `now`, [Pa].

        A barometer that fell silent goes on with its last word: the weather moves less in a night
        than a step to the altitude's air would.
        """
        told = self._barometer.newest
        return self._altitude_air if told is None else told.value

    def troubles(self) -> Mapping[str, str]:
        """Why the last read of a sensor failed, by its role, `gauge`, `barometer` or `infrared`."""
        told: dict[str, str] = {}
        for reader in self._readers:
            told |= reader.troubles()
        told |= self._gauge.troubles() | self._barometer.troubles()
        return told | self._glances.troubles()

    def apply(self, commands: Commands) -> None:
        """Switch the outputs that are wired. Raises OutputError when one does not read back as
        switched, or after `close`."""
        # noted for the next read, by when STOP may have put it out again
        self._lit = self._lit or commands.lamp
        self._wires.apply(commands)

    def outputs(self) -> Commands:
        """The outputs as their lines read back; one that is not wired is never on."""
        return self._wires.outputs()

    def off(self) -> None:
        """Every output OFF, from any thread or signal handler. Raises OutputError, after trying
        all of them, when one could not be switched."""
        self._wires.off()

    def close(self) -> None:
        """Outputs OFF, then let go of every line and stop reading. Safe to call twice."""
        try:
            self._wires.close()
        finally:
            for reader in self._readers:
                reader.stop()
            if self._adc is not None:
                self._adc.close()
            self._i2c.close()


def _converter(settings: Settings, i2c: I2c) -> Adc | None:
    """What reads a wired gauge; None where none is wired. Nothing is opened here.

    Raises InputError for more volts than it reads.
    """
    gauge = settings.gauge
    if gauge.wired != "wired" or gauge.adc is None:
        return None
    return Mcp3008Adc() if gauge.adc == "mcp3008" else Ads1115Adc(i2c, gauge.most())
