"""The real rig: DS18B20 probes on 1-Wire and relays on a Raspberry Pi's lines."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Protocol

from controller.batch.signals import Commands, Readings, Role, Sample
from controller.errors import InputError, ReadingError
from controller.hardware.raspberry_pins import lgpio_pins
from controller.hardware.raspberry_probes import W1_FOLDER, Probe, readers_by_bus
from controller.hardware.raspberry_relays import Relays
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

    def troubles(self) -> dict[str, str]:
        """Why the last read failed, by its name; empty after a good one."""
        return {self._name: self._trouble} if self._trouble else {}


class RaspberryRig:
    """Lamp and pump on relays, probes on 1-Wire, each where the settings say it is wired."""

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
        """clock: gives rig time, [s]      gauge, barometer: their drivers, None when not wired

        w1_folder: where the 1-Wire buses are shown

        Claims the wired outputs at OFF, then starts to read. Raises InputError for settings that
        cannot be followed, BusyError or OutputError when an output cannot be claimed.
        """
        if (settings.gauge.wired == "wired") is not (gauge is not None):
            raise InputError(
                f'[gauge] wired = "{settings.gauge.wired}", and this back end was given'
                f' {"a" if gauge else "no"} driver for one; by hand, set it to "by hand"'
            )
        wired = {
            Role.FACE: settings.probes.face,
            Role.BACK: settings.probes.back,
            Role.ROOM: settings.probes.room,
            Role.FILM: settings.probes.film,
        }
        probes = [
            Probe(role, probe.id, w1_folder) for role, probe in wired.items() if probe is not None
        ]
        self._relays = Relays(
            lgpio_pins(settings.rig.run_folder),
            settings.rig.run_folder,
            lamp=settings.lamp.gpio if settings.lamp.wired == "wired" else None,
            pump=settings.pump.gpio if settings.pump.wired == "wired" else None,
        )
        self._gauge, self._barometer = Listened("gauge", gauge), Listened("barometer", barometer)
        self._readers = readers_by_bus(probes, clock)
        self._by_role = {role: reader for reader in self._readers for role in reader.roles}
        for reader in self._readers:
            reader.start()

    def read(self, now: float) -> Readings:
        """The newest good samples at rig time `now`, [s]; waits for no probe.

        A reader that hangs in one read is left behind here, and another takes its place.
        """
        for reader in self._readers:
            since = reader.reading_since()
            if since is not None and now - since > HUNG:
                reader.restart()
        samples = {role: reader.newest(role) for role, reader in self._by_role.items()}
        return Readings(
            face=samples.get(Role.FACE),
            back=samples.get(Role.BACK),
            room=samples.get(Role.ROOM),
            film=samples.get(Role.FILM),
            bag=self._gauge.read(now),
            barometer=self._barometer.read(now),
        )

    def troubles(self) -> Mapping[str, str]:
        """Why the last read of a sensor failed, by its role, `gauge` or `barometer`."""
        told: dict[str, str] = {}
        for reader in self._readers:
            told |= reader.troubles()
        return told | self._gauge.troubles() | self._barometer.troubles()

    def apply(self, commands: Commands) -> None:
        """Switch the outputs that are wired. Raises OutputError when one does not read back as
        switched, or after `close`."""
        self._relays.switch(commands.lamp, commands.pump)

    def outputs(self) -> Commands:
        """The outputs as their lines read back; one that is not wired is never on."""
        lamp, pump = self._relays.levels()
        return Commands(lamp=lamp, pump=pump)

    def off(self) -> None:
        """Every output OFF, from any thread or signal handler. Raises OutputError, after trying
        all of them, when one could not be switched."""
        self._relays.off()

    def close(self) -> None:
        """Outputs OFF, then let go of every line and stop reading. Safe to call twice."""
        try:
            self._relays.close()
        finally:
            for reader in self._readers:
                reader.stop()
