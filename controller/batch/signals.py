"""What goes into a step and what comes out: readings, facts about the rig, commands.

How each output fails, written once: the lamp fails safe, so any doubt is OFF. The pump fails
soft, so a doubt leaves it as it was and raises an alarm; with the process gone it is OFF and the
bag holds on its check valve.
"""

from dataclasses import dataclass
from enum import StrEnum


class Role(StrEnum):
    """What a temperature probe is there to measure."""

    FACE = "face"
    BACK = "back"
    ROOM = "room"
    FILM = "film"


class Wiring(StrEnum):
    """Who moves an output or reads a gauge: the rig, a person, or nobody because it is absent."""

    WIRED = "wired"
    BY_HAND = "by hand"
    ABSENT = "absent"


@dataclass(frozen=True, slots=True)
class Sample:
    """One good value and when it was measured. A bad value is no sample at all."""

    value: float
    """The value, in the unit of the field that holds it."""
    at: float
    """Rig time of the measurement, [s]."""

    def age(self, now: float) -> float:
        """How old the value is at rig time `now`, [s]."""
        return now - self.at


@dataclass(frozen=True, slots=True)
class Readings:
    """The newest good sample of everything the rig reads; None where there never was one.

    A driver that fails keeps handing out its last good sample: its age is what tells.
    """

    face: Sample | None = None
    """Board surface temperature under the lamp, [K]."""
    back: Sample | None = None
    """Temperature of the board's other face, [K]."""
    room: Sample | None = None
    """Shop air temperature, [K]."""
    film: Sample | None = None
    """Temperature under or on the bag film, [K]."""
    bag: Sample | None = None
    """Absolute pressure in the bag, [Pa]."""
    barometer: Sample | None = None
    """Absolute air pressure in the shop, [Pa]."""
    infrared: Sample | None = None
    """Face temperature seen from afar, corrected for the face's emissivity, [K]; only read while
    the lamp is off, whose light it would take for the board's."""
    lamp_fed: bool | None = None
    """Lamp circuit sensed live; None when no sense line is wired."""
    tilted: bool | None = None
    """The lamp or its stand leans or fell; None when no switch is wired."""
    cut_out_open: bool | None = None
    """The lamp's thermal cut-out has opened; None when no sense line is wired."""
    trap_full: bool | None = None
    """The float in the vacuum trap is up; None when none is wired."""
    stop_pressed: bool = False
    """The wired STOP button is down."""
    next_pressed: bool = False
    """The wired NEXT button went down since the last read."""

    def role(self, role: Role) -> Sample | None:
        """The newest good sample of the probe in this role."""
        found: Sample | None = getattr(self, role)
        return found


@dataclass(frozen=True, slots=True)
class Corrections:
    """What is added to a sensor's readings; zero for one that is taken at its word."""

    face: float = 0.0
    """[K]."""
    back: float = 0.0
    """[K]."""
    room: float = 0.0
    """[K]."""
    film: float = 0.0
    """[K]."""
    bag: float = 0.0
    """[Pa]."""


AT_THEIR_WORD = Corrections()
"""Every sensor is taken at its word."""


@dataclass(frozen=True, slots=True)
class RigFacts:
    """What is true of the rig and the shop today; handed in with every step, changed by no step."""

    simulated: bool
    """The rig is pretended; shown on every screen and record."""
    lamp: Wiring
    """Who switches the lamp."""
    pump: Wiring
    """Who switches the pump."""
    gauge: Wiring
    """Who reads the bag gauge."""
    probes: frozenset[Role]
    """The probes that are wired."""
    lamp_flux: float
    """What the board is expected to absorb under the lamps, [W/m2]."""
    lamp_min_on: float
    """Shortest ON the lamp's relay is allowed, [s]."""
    lamp_min_off: float
    """Shortest OFF the lamp's relay is allowed, [s]."""
    probe_lag: float
    """Time constant of the face probe, [s]."""
    close_watch: bool
    """No independent cut-out or dead-man: presence every 5 min, trip at band top + 5 K."""
    pump_ultimate: float
    """Absolute pressure the pump reaches on a blanked port, [Pa]."""
    pump_min_off: float
    """Shortest rest between two pump starts, [s]."""
    air_pressure: float
    """Air pressure from altitude, used where no barometer is wired, [Pa]."""
    record: str | None
    """The commissioning record in force, as it is named to people; None when there is none."""
    record_in_date: bool
    """The commissioning record is younger than a year and its rig is wired as it was."""
    day_check_done: bool
    """The day's first-heat check has been made today."""
    zone_clear: bool
    """Nothing outside this batch is known to make solvent vapour in the lamp's zone."""
    clock_trusted: bool
    """The wall clock is synced or battery-backed, so an outage has a known length."""
    log_trouble: str | None
    """What keeps the record from being written; None when all is well."""
    corrections: Corrections = AT_THEIR_WORD
    """What the bench check found the sensors to read too low."""
    check_due_in: float | None = None
    """Until the bench check or its proofs run out, [d], under zero once they have; None where no
    such record counts."""
    lamp_held: bool = False
    """The lamp's last ON still waits for the disk: the output is dark."""


@dataclass(frozen=True, slots=True)
class Commands:
    """What the outputs shall be until the next step."""

    lamp: bool = False
    """Lamp energised."""
    pump: bool = False
    """Pump energised."""
    sounder: bool = False
    """Local sounder on."""
    dead_man: bool = False
    """Nothing forbids the lamp: the rig moves the line that holds the lamp's contactor. It stands
    still, and the contactor opens by itself, with any interlock and with a dead process."""


OUTPUTS_OFF = Commands()


@dataclass(frozen=True, slots=True)
class Announcements:
    """What is true this second that a person should hear or see, beside the alarms."""

    coat_now: bool = False
    """The face is in the coat window and falling, with the lamp proved off."""
