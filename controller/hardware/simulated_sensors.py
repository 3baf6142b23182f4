"""The pretend rig's sensors over one plant: what they tell, and how each of them fails."""

from collections.abc import Iterable
from random import Random

from controller.batch.signals import Role, Sample
from controller.errors import InputError
from controller.hardware.plant import Plant
from controller.hardware.sensors import ContactProbe, InfraredEye, PressureTransducer

AIR_LAG = 25.0
"""Time constant of a probe hanging in still air, [s]; own."""
HELD_LAG = 5.0
"""The same in a hand or a bath, [s]; own."""
BAROMETER_NOISE = 3.0
"""Of the barometer, rms, [Pa]; own."""


class Sensors:
    """Probes, gauge, barometer and infrared thermometer, those that are wired."""

    def __init__(
        self,
        plant: Plant,
        probes: Iterable[Role],
        seed: int,
        *,
        gauge: bool,
        barometer: bool,
        infrared: bool,
        probe_lag: float,
    ) -> None:
        """probes: those that are wired     seed: of all noise     gauge and so on: wired or not

        probe_lag: time constant of a contact probe, [s]
        """
        self._plant = plant
        wired = frozenset(probes)
        # one stream of chance to each sensor: a silent one does not change what the others read
        self._probes = {
            role: ContactProbe(Random(f"{seed} {role}"), probe_lag)
            for role in Role
            if role in wired
        }
        self._lags = {role: AIR_LAG if role is Role.ROOM else probe_lag for role in self._probes}
        self._gauge = PressureTransducer(Random(f"{seed} gauge")) if gauge else None
        self._barometer = (
            PressureTransducer(Random(f"{seed} barometer"), noise=BAROMETER_NOISE)
            if barometer
            else None
        )
        self.eye = InfraredEye(Random(f"{seed} infrared")) if infrared else None
        """The infrared thermometer, as it is set: to emissivity 1."""
        self._faults: set[tuple[str, Role | None]] = set()
        self._last: dict[str, Sample | None] = {}
        self._lit: dict[Role, bool] = {}
        self._spike = 0.0

    def probe(self, role: Role, now: float) -> Sample | None:
        """What the probe in this role tells at rig time `now`, [s], [K]."""
        probe = self._probes.get(role)
        if probe is None:
            return None
        probe.lag = HELD_LAG if role in self._plant.probes.held else self._lags[role]
        probe.follow(now, self._plant.seen_by(role))
        sample, faults = self._spiked(role, probe.sample), self._faults
        if not faults:
            return self._told(role, sample, False, False)
        silent = ("bus_silent", None) in faults or ("probe_silent", role) in faults
        return self._told(role, sample, silent, ("probe_frozen", role) in faults)

    def _spiked(self, role: Role, sample: Sample | None) -> Sample | None:
        """The one reading in which the spark of the lamp's contact shows."""
        was, now = self._lit.get(role), self._plant.lamp_fed
        self._lit[role] = now
        if ("probe_spiky", role) not in self._faults or was in (None, now) or sample is None:
            return sample
        return Sample(sample.value + self._spike, sample.at)

    def bag(self, now: float) -> Sample | None:
        """What the bag's gauge tells, absolute, [Pa]."""
        return self._pressure("gauge", self._gauge, now, self._plant.at_gauge)

    def barometer(self, now: float) -> Sample | None:
        """What the barometer tells, [Pa]."""
        return self._pressure("barometer", self._barometer, now, self._plant.barometer)

    def infrared(self, now: float, emissivity: float, asked: bool) -> Sample | None:
        """What the infrared thermometer told last, [K]; None before the first.

        emissivity: the face is taken to have, [-]     asked: it is read now
        """
        plant = self._plant
        if self.eye is None:
            return None
        true = plant.parameters.board.emissivity
        self.eye.follow(now, plant.in_sight, true, plant.room, plant.lamp_lit)
        silent = not asked or self.silent("infrared")
        return self._told("infrared", self.eye.sample(emissivity, plant.room), silent, False)

    def silent(self, name: str) -> bool:
        """Whether the gauge, the barometer or the infrared thermometer gives no readings now."""
        return (f"{name}_silent", None) in self._faults

    def _pressure(
        self, name: str, gauge: PressureTransducer | None, now: float, truth: float
    ) -> Sample | None:
        if gauge is None:
            return None
        gauge.follow(now, truth)
        frozen = (f"{name}_frozen", None) in self._faults
        return self._told(name, gauge.sample, self.silent(name), frozen)

    def _told(self, name: str, sample: Sample | None, silent: bool, frozen: bool) -> Sample | None:
        """What the rig hands out: the last good sample while silent, the last value while frozen.

        A sensor that was silent from the first read has never told anything.
        """
        if silent:
            return self._last.get(name)
        last = self._last.get(name) if frozen else None
        if frozen and last is not None and sample is not None:
            sample = Sample(last.value, sample.at)
        self._last[name] = sample
        return sample

    def add_fault(self, name: str, amount: float, role: Role | None) -> None:
        """Switch a sensor's fault on. Raises InputError for a sensor that is not wired.

        role: the probe, for faults of one probe; None for others
        """
        if role is not None and role not in self._probes:
            raise InputError(f"fault {name}: no {role} probe is wired")
        named = {"gauge": self._gauge, "barometer": self._barometer, "infrared": self.eye}
        sensor = name.split("_")[0]
        if sensor in named and named[sensor] is None:
            raise InputError(f"fault {name}: this rig has no such sensor wired")
        self._faults.add((name, role))
        self._shift(name, role, amount)

    def clear_fault(self, name: str, role: Role | None) -> None:
        """Switch it off; one that was not on stays so."""
        self._faults.discard((name, role))
        self._shift(name, role, 0.0)

    def _shift(self, name: str, role: Role | None, amount: float) -> None:
        if role in self._probes and name == "probe_offset":
            self._probes[role].offset = amount
        if role in self._probes and name == "probe_noisy":
            self._probes[role].unrest = amount
        if name == "probe_spiky":
            self._spike = amount
        if name == "gauge_offset" and self._gauge is not None:
            self._gauge.offset = amount
        if name == "barometer_offset" and self._barometer is not None:
            self._barometer.offset = amount
        if name == "infrared_offset" and self.eye is not None:
            self.eye.offset = amount
