"""What can be made to go wrong on the pretend rig, by name, as one table."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from controller.errors import InputError


class Where(StrEnum):
    """Which part of the pretend rig carries a fault."""

    PLANT = "plant"
    SENSORS = "sensors"


@dataclass(frozen=True, slots=True)
class Fault:
    """One way to go wrong. A fault of unit "-" is on whatever its value."""

    where: Where
    """The part that carries it."""
    doc: str
    """What it does, one line."""
    unit: str
    """Unit of its value."""
    usual: float
    """The value taken when none is given; own."""
    least: float = float("-inf")
    """The smallest value that means anything."""
    by_role: bool = False
    """It is switched on for one probe role at a time."""


FAULTS: Mapping[str, Fault] = MappingProxyType(
    {
        "lamp_stuck_on": Fault(Where.PLANT, "the lamp's contact is welded shut", "-", 1.0),
        "lamp_stuck_off": Fault(Where.PLANT, "the lamp's contact never closes", "-", 1.0),
        "lamp_inverted": Fault(
            Where.PLANT, "the lamp's relay closes when it is told to open", "-", 1.0
        ),
        "bulb_out": Fault(Where.PLANT, "bulbs burnt out, as a share of all", "1", 1.0, 0.0),
        "lamp_strong": Fault(Where.PLANT, "lamp flux is this many times the usual", "1", 2.0, 0.0),
        "lamp_tilted": Fault(
            Where.PLANT, "the lamp leans: its switch is open, its light mostly beside", "-", 1.0
        ),
        "cut_out_open": Fault(Where.PLANT, "the cut-out is open and its button fails", "-", 1.0),
        "cut_out_bridged": Fault(
            Where.PLANT, "a wire goes across the cut-out, which never opens", "-", 1.0
        ),
        "dead_man_stuck": Fault(
            Where.PLANT, "the lamp's contactor is welded closed, whatever the dead-man", "-", 1.0
        ),
        "board_gone": Fault(
            Where.PLANT, "the board was carried off, its face probe left in the air", "-", 1.0
        ),
        "leak": Fault(
            Where.PLANT, "a hole: rise of the empty bag at full vacuum", "Pa/s", 20.0, 0.0
        ),
        "check_valve_fails": Fault(
            Where.PLANT, "air runs back through a resting pump, as such a rise", "Pa/s", 700.0, 0.0
        ),
        "hose_off": Fault(
            Where.PLANT, "the hose is off: pump on air, bag filling at this rise", "Pa/s", 4e3, 0.0
        ),
        "pump_dead": Fault(Where.PLANT, "the pump never turns", "-", 1.0),
        "pump_worn": Fault(
            Where.PLANT, "the pump stays this far above its ultimate pressure", "Pa", 3e3, 0.0
        ),
        "trap_full": Fault(
            Where.PLANT, "the trap is full: its float up, nothing drawn through it", "-", 1.0
        ),
        "line_pinched": Fault(
            Where.PLANT, "the hose is pinched, the gauge on the pump's side of it", "-", 1.0
        ),
        "outgassing": Fault(
            Where.PLANT, "wet wood gives off more: this rise of the closed bag", "Pa", 3e3, 0.0
        ),
        "pump_stuck_on": Fault(Where.PLANT, "the pump's contact is welded shut", "-", 1.0),
        "probe_fell": Fault(Where.PLANT, "the face probe hangs in the air of the shop", "-", 1.0),
        "probe_half_seated": Fault(
            Where.PLANT,
            "the face probe sees this share of the face's rise over room",
            "1",
            0.5,
            0.0,
        ),
        "probe_lit": Fault(
            Where.PLANT,
            "the lamp warms the face probe itself by this while it burns",
            "K",
            8.0,
            0.0,
        ),
        "exotherm": Fault(Where.PLANT, "the coat heats itself by this much", "W/m2", 1.5e3, 0.0),
        "weather": Fault(
            Where.PLANT, "a front comes: the air pressure falls by this in hours", "Pa", 4e3
        ),
        "heater_off": Fault(Where.PLANT, "the shop falls by this within hours", "K", 6.0, 0.0),
        "cold": Fault(Where.PLANT, "the shop falls by this within minutes", "K", 6.0, 0.0),
        "probe_silent": Fault(
            Where.SENSORS, "one probe gives no more readings", "-", 1.0, by_role=True
        ),
        "probe_frozen": Fault(
            Where.SENSORS, "one probe repeats its last value as new", "-", 1.0, by_role=True
        ),
        "probe_offset": Fault(
            Where.SENSORS, "one probe reads this much too high", "K", 2.0, by_role=True
        ),
        "probe_noisy": Fault(Where.SENSORS, "one probe's noise, rms", "K", 2.0, 0.0, by_role=True),
        "probe_spiky": Fault(
            Where.SENSORS,
            "one probe's next reading is this much too high when the lamp switches",
            "K",
            10.0,
            by_role=True,
        ),
        "bus_silent": Fault(Where.SENSORS, "no probe gives readings", "-", 1.0),
        "gauge_silent": Fault(Where.SENSORS, "the bag gauge gives no readings", "-", 1.0),
        "gauge_frozen": Fault(Where.SENSORS, "the bag gauge repeats its last value", "-", 1.0),
        "gauge_offset": Fault(Where.SENSORS, "the bag gauge reads this much too high", "Pa", 2e3),
        "barometer_silent": Fault(Where.SENSORS, "the barometer gives no readings", "-", 1.0),
        "barometer_offset": Fault(
            Where.SENSORS, "the barometer reads this much too high", "Pa", 2e3
        ),
        "infrared_silent": Fault(
            Where.SENSORS, "the infrared thermometer gives no readings", "-", 1.0
        ),
        "infrared_offset": Fault(
            Where.SENSORS, "the infrared thermometer reads this much too high", "K", 5.0
        ),
        "stop_wire_broken": Fault(
            Where.SENSORS, "the STOP button's wire is off: it reads as pressed", "-", 1.0
        ),
        "lamp_sense_broken": Fault(
            Where.SENSORS, "the lamp sense's wire is off: it never says live", "-", 1.0
        ),
    }
)


def fault_named(name: str) -> Fault:
    """The row of that name. Raises InputError, naming the known ones, when there is none."""
    if name not in FAULTS:
        raise InputError(f"fault {name!r} is not known; choose from: {', '.join(FAULTS)}")
    return FAULTS[name]


def fault_value(name: str, value: float | None) -> float:
    """The value a fault is switched on with, in its own unit; its usual one for None.

    Raises InputError for an unknown name or a value below the least that means anything.
    """
    fault = fault_named(name)
    if value is None:
        return fault.usual
    if not value >= fault.least:
        raise InputError(f"fault {name}: {value} {fault.unit} is below {fault.least} {fault.unit}")
    return value
