"""The pretend rig: a plant, sensors that lag and err, and faults that can be asked for.

A workbench that ships with the product: it raises the errors of the real one and refuses what the
real one refuses.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from types import MappingProxyType

from controller.batch.signals import OUTPUTS_OFF, Commands, Readings, Role
from controller.errors import OutputError, ReadingError
from controller.hardware import hands
from controller.hardware.faults import Where, fault_named, fault_value
from controller.hardware.plant import Plant, PlantTruth
from controller.hardware.simulated_contacts import WIRES, Contacts
from controller.hardware.simulated_sensors import Sensors

DEAD_MAN = 2.0
"""How long the contactor holds after the dead-man line moved last, [s]; own."""
DARK = 2.0
"""How long the lamp is dark before the infrared thermometer is read, [s]; own."""
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
    """One lamp, one pump, their probes, a gauge and what else is wired, over one plant."""

    simulated = True

    def __init__(
        self,
        plant: Plant,
        probes: Iterable[Role] = tuple(Role),
        seed: int = 0,
        *,
        gauge: bool = True,
        barometer: bool = True,
        infrared: bool = False,
        emissivity: float = 0.93,
        lamp_sense: bool = False,
        tilt: bool = False,
        cut_out: bool = False,
        trap: bool = False,
        stop: bool = False,
        next: bool = False,
        sounder: bool = False,
        dead_man: bool = False,
        lamp: bool = True,
        pump: bool = True,
        probe_lag: float = 8.0,
    ) -> None:
        """probes: those that are wired     seed: of all sensor noise

        gauge to dead_man: wired or not      lamp, pump: wired, or switched by hand
        emissivity: the infrared thermometer is told, [-]
        probe_lag: time constant of a contact probe, [s]
        """
        self.plant = plant
        """What is sensed and switched; a person's hands act on it."""
        self.sensors = Sensors(
            plant,
            probes,
            seed,
            gauge=gauge,
            barometer=barometer,
            infrared=infrared,
            probe_lag=probe_lag,
        )
        """What measures."""
        there = {
            "stop": stop,
            "next": next,
            "lamp": lamp_sense,
            "tilt": tilt,
            "cut_out": cut_out,
            "trap": trap,
        }
        self.contacts = Contacts(plant, frozenset(name for name, on in there.items() if on))
        """Buttons and senses."""
        self._emissivity = emissivity
        self._lamp_wired, self._pump_wired = lamp, pump
        self._sounder_wired, self._dead_man_wired = sounder, dead_man
        self._commands = self._by_hand = OUTPUTS_OFF
        self._closed = False
        self._read_at: float | None = None
        self._edge_left = 0.0
        self._lit_at = float("-inf")
        if dead_man:
            plant.lamp.contactor_held = False

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
        contacts, sensors = self.contacts, self.sensors
        fed = contacts.closed("lamp")
        if fed or self._switched("lamp"):
            self._lit_at = now
        return Readings(
            face=sensors.probe(Role.FACE, now),
            back=sensors.probe(Role.BACK, now),
            room=sensors.probe(Role.ROOM, now),
            film=sensors.probe(Role.FILM, now),
            bag=sensors.bag(now),
            barometer=sensors.barometer(now),
            infrared=sensors.infrared(now, self._emissivity, now - self._lit_at >= DARK),
            lamp_fed=fed,
            tilted=contacts.opened("tilt"),
            cut_out_open=contacts.opened("cut_out"),
            trap_full=contacts.opened("trap"),
            stop_pressed=contacts.told_stop(),
            next_pressed=contacts.told_next(),
        )

    def apply(self, commands: Commands) -> None:
        """Switch the outputs; nothing goes ON before a read has told of a STOP and found it let go.

        Raises OutputError after `close`.
        """
        if self._closed:
            raise OutputError("the simulated rig is closed; open a new one to switch its outputs")
        if self.contacts.stop_bars:
            commands = replace(OUTPUTS_OFF, sounder=commands.sounder)
        self._switch(commands)

    def _switch(self, commands: Commands) -> None:
        self._commands = commands
        if commands.dead_man:
            self._edge_left = DEAD_MAN
        self.plant.sounding = commands.sounder and self._sounder_wired
        self._move(0.0)

    def _switched(self, name: str) -> bool:
        """How an output stands; one that is not wired stands as the person left it."""
        wired = self._lamp_wired if name == "lamp" else self._pump_wired
        return bool(getattr(self._commands if wired else self._by_hand, name))

    def _move(self, seconds: float) -> None:
        """Move the plant on; the contactor drops where the dead-man line has stood too long."""
        lamp, pump, held = self._switched("lamp"), self._switched("pump"), seconds
        if self._dead_man_wired:
            held = min(seconds, self._edge_left)
            self.plant.lamp.contactor_held = self._edge_left > 0.0
            self._edge_left -= held
        self.plant.advance(held, lamp, pump)
        if seconds > held:
            self.plant.lamp.contactor_held = False
            self.plant.advance(seconds - held, lamp, pump)

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

    def troubles(self) -> Mapping[str, str]:
        """Why the last read of a sensor failed: a pretend one that is silent gives no reason."""
        return {}

    def truth(self) -> PlantTruth:
        """What is so, whatever the sensors say."""
        return self.plant.truth()

    def person_did(self, kind: str) -> None:
        """Do to the rig what the act `kind` says was done; other acts are ignored.

        LAMP ON, LAMP OFF, PUMP ON and PUMP OFF move an output that is not wired, and no other.
        """
        act = hands.plain(kind)
        match act:
            case "PRESS STOP":
                self.press_stop()
            case "LET GO STOP":
                self.press_stop(down=False)
            case "TAP NEXT":
                self.press_next()
            case _ if act in SWITCHED:
                self._by_hand = replace(self._by_hand, **SWITCHED[act])
            case _:
                hands.person_did(self.plant, act)
        self._move(0.0)

    def press_stop(self, down: bool = True) -> None:
        """Hold the wired STOP button down, or let it go: outputs OFF at once, and the next read
        tells the shortest press."""
        self.contacts.press_stop(down)
        self._obey_stop()

    def _obey_stop(self) -> None:
        if self.contacts.stop_waits:
            self.off()

    def press_next(self) -> None:
        """Tap the wired NEXT button; the next read tells it once."""
        self.contacts.tap_next()

    def add_fault(self, name: str, value: float | None = None, role: Role = Role.FACE) -> None:
        """Switch a fault on, at its usual value for None.

        role: the probe, for faults of one probe

        Raises InputError for an unknown name, a value out of range or a sensor that is not wired.
        """
        fault = fault_named(name)
        if fault.where is Where.PLANT:
            self.plant.add_fault(name, value)
        elif name in WIRES:
            self.contacts.add_fault(name)
            self._obey_stop()
        else:
            amount = fault_value(name, value)
            self.sensors.add_fault(name, amount, role if fault.by_role else None)

    def clear_fault(self, name: str, role: Role = Role.FACE) -> None:
        """Switch a fault off; one that was not on stays so. Raises InputError if unknown."""
        fault = fault_named(name)
        if fault.where is Where.PLANT:
            self.plant.clear_fault(name)
        elif name in WIRES:
            self.contacts.clear_fault(name)
        else:
            self.sensors.clear_fault(name, role if fault.by_role else None)
