"""The pretend rig: a plant, sensors that lag and err, and faults that can be asked for.

A workbench that ships with the product: it raises the errors of the real one and refuses what the
real one refuses.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from random import Random
from types import MappingProxyType

from controller.batch.signals import OUTPUTS_OFF, Commands, Readings, Role, Sample
from controller.errors import InputError, OutputError, ReadingError
from controller.hardware import hands
from controller.hardware.faults import Where, fault_named, fault_value
from controller.hardware.plant import Plant, PlantTruth
from controller.hardware.sensors import ContactProbe, PressureTransducer

AIR_LAG = 25.0
"""Time constant of a probe hanging in still air, [s]; own."""
BAROMETER_NOISE = 3.0
"""Of the barometer, rms, [Pa]; own."""
SWITCHED: Mapping[str, Mapping[str, bool]] = MappingProxyType(
    {
        "LAMP ON": {"lamp": True},
        "LAMP OFF": {"lamp": False},
        "PUMP ON": {"pump": True},
        "PUMP OFF": {"pump": False},
    }
)
"""Acts that stand for a switch turned by hand, and how it stands then."""


class SimulatedRig:
    """One lamp, one pump, their probes and a gauge, over one plant."""

    simulated = True

    def __init__(
        self,
        plant: Plant,
        probes: Iterable[Role] = tuple(Role),
        seed: int = 0,
        *,
        gauge: bool = True,
        barometer: bool = True,
        lamp_sense: bool = False,
        lamp: bool = True,
        pump: bool = True,
        probe_lag: float = 8.0,
    ) -> None:
        """probes: those that are wired     seed: of all sensor noise

        gauge, barometer, lamp_sense: wired or not      lamp, pump: wired, or switched by hand
        probe_lag: time constant of a contact probe, [s]
        """
        self.plant = plant
        """What is sensed and switched; a person's hands act on it."""
        wired = frozenset(probes)
        # one stream of chance to each sensor: a silent one does not change what the others read
        self._probes = {
            role: ContactProbe(
                Random(f"{seed} {role}"), AIR_LAG if role is Role.ROOM else probe_lag
            )
            for role in Role
            if role in wired
        }
        self._gauge = PressureTransducer(Random(f"{seed} gauge")) if gauge else None
        self._barometer = (
            PressureTransducer(Random(f"{seed} barometer"), noise=BAROMETER_NOISE)
            if barometer
            else None
        )
        self._lamp_sense = lamp_sense
        self._lamp_wired, self._pump_wired = lamp, pump
        self._commands = self._by_hand = OUTPUTS_OFF
        self._closed = False
        self._stop = self._next = False
        self._faults: set[tuple[str, Role | None]] = set()
        self._last: dict[str, Sample | None] = {}
        self._read_at: float | None = None

    def read(self, now: float) -> Readings:
        """The newest good samples at rig time `now`, [s]; moves the plant on to `now`.

        The first read calls the plant's present state `now`. Raises ReadingError when time goes
        back.
        """
        if self._read_at is None:
            self.plant.start_clock(now)
        elif now < self._read_at:
            raise ReadingError(f"rig time went back from {self._read_at} s to {now} s")
        else:
            self._move(now - self._read_at)
        self._read_at = now
        pressed, self._next = self._next, False
        samples = {role: self._probe_sample(role, now) for role in Role}
        return Readings(
            face=samples[Role.FACE],
            back=samples[Role.BACK],
            room=samples[Role.ROOM],
            film=samples[Role.FILM],
            bag=self._pressure_sample("gauge", self._gauge, now, self.plant.bag),
            barometer=self._pressure_sample(
                "barometer", self._barometer, now, self.plant.barometer
            ),
            lamp_fed=self.plant.lamp_fed if self._lamp_sense else None,
            stop_pressed=self._stop,
            next_pressed=pressed,
        )

    def _probe_sample(self, role: Role, now: float) -> Sample | None:
        probe = self._probes.get(role)
        if probe is None:
            return None
        probe.follow(now, self.plant.seen_by(role))
        silent = ("bus_silent", None) in self._faults or ("probe_silent", role) in self._faults
        return self._told(role, probe.sample, silent, ("probe_frozen", role) in self._faults)

    def _pressure_sample(
        self, name: str, gauge: PressureTransducer | None, now: float, truth: float
    ) -> Sample | None:
        if gauge is None:
            return None
        gauge.follow(now, truth)
        silent = (f"{name}_silent", None) in self._faults
        return self._told(name, gauge.sample, silent, (f"{name}_frozen", None) in self._faults)

    def _told(self, name: str, sample: Sample | None, silent: bool, frozen: bool) -> Sample | None:
        """What the rig hands out: the last good sample while silent, the last value while frozen.

        A sensor that was silent from the first read has never told anything.
        """
        last = self._last.get(name)
        if silent:
            return last
        if frozen and last is not None and sample is not None:
            sample = Sample(last.value, sample.at)
        self._last[name] = sample
        return sample

    def apply(self, commands: Commands) -> None:
        """Switch the outputs. Raises OutputError after `close`."""
        if self._closed:
            raise OutputError("the simulated rig is closed; open a new one to switch its outputs")
        self._switch(commands)

    def _switch(self, commands: Commands) -> None:
        self._commands = commands
        self._move(0.0)

    def _move(self, seconds: float) -> None:
        """Move the plant on; an output that is not wired stands as the person left it."""
        lamp = self._commands.lamp if self._lamp_wired else self._by_hand.lamp
        pump = self._commands.pump if self._pump_wired else self._by_hand.pump
        self.plant.advance(seconds, lamp, pump)

    def outputs(self) -> Commands:
        """The outputs as last switched. A stuck contact does not show here, as on a real rig."""
        return self._commands

    def off(self) -> None:
        """Every output OFF, at once; also after `close`."""
        self._switch(OUTPUTS_OFF)

    def close(self) -> None:
        """Outputs OFF; `apply` is refused from here on. Safe to call twice."""
        self.off()
        self._closed = True

    def truth(self) -> PlantTruth:
        """What is so, whatever the sensors say."""
        return self.plant.truth()

    def person_did(self, kind: str) -> None:
        """Do to the plant what the act `kind` says was done; other acts are ignored.

        LAMP ON, LAMP OFF, PUMP ON and PUMP OFF move an output that is not wired, and no other.
        """
        act = hands.plain(kind)
        if act in SWITCHED:
            self._by_hand = replace(self._by_hand, **SWITCHED[act])
            self._move(0.0)
        else:
            hands.person_did(self.plant, act)

    def press_stop(self, down: bool = True) -> None:
        """Hold the wired STOP button down, or let it go."""
        self._stop = down

    def press_next(self) -> None:
        """Tap the wired NEXT button; the next read tells it once."""
        self._next = True

    def add_fault(self, name: str, value: float | None = None, role: Role = Role.FACE) -> None:
        """Switch a fault on, at its usual value for None.

        role: the probe, for faults of one probe

        Raises InputError for an unknown name, a value out of range or a probe that is not wired.
        """
        fault = fault_named(name)
        if fault.where is Where.PLANT:
            self.plant.add_fault(name, value)
            return
        amount = fault_value(name, value)
        if fault.by_role and role not in self._probes:
            raise InputError(f"fault {name}: no {role} probe is wired")
        if (name.startswith("gauge") and self._gauge is None) or (
            name.startswith("barometer") and self._barometer is None
        ):
            raise InputError(f"fault {name}: this rig has no such gauge wired")
        self._faults.add((name, role if fault.by_role else None))
        self._shift(name, role, amount)

    def clear_fault(self, name: str, role: Role = Role.FACE) -> None:
        """Switch a fault off; one that was not on stays so. Raises InputError if unknown."""
        fault = fault_named(name)
        if fault.where is Where.PLANT:
            self.plant.clear_fault(name)
            return
        self._faults.discard((name, role if fault.by_role else None))
        self._shift(name, role, 0.0)

    def _shift(self, name: str, role: Role, amount: float) -> None:
        if name == "probe_offset" and role in self._probes:
            self._probes[role].offset = amount
        if name == "gauge_offset" and self._gauge is not None:
            self._gauge.offset = amount
