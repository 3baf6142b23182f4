"""What is true of the pretend rig: for good, and at one instant, whatever its sensors say."""

from dataclasses import dataclass, field

from controller.hardware.plant_bag import BagParameters
from controller.hardware.plant_board import BoardParameters
from controller.hardware.plant_coat import CoatParameters
from controller.hardware.plant_lamp import LampParameters
from controller.hardware.plant_shop import ShopParameters


@dataclass(frozen=True, slots=True)
class PlantParameters:
    """Everything that is true of one pretend rig and its shop."""

    board: BoardParameters = field(default_factory=BoardParameters)
    """The board."""
    lamp: LampParameters = field(default_factory=LampParameters)
    """The lamps."""
    coat: CoatParameters = field(default_factory=CoatParameters)
    """The resin and its thinner."""
    bag: BagParameters = field(default_factory=BagParameters)
    """Bag, hose and pump."""
    shop: ShopParameters = field(default_factory=ShopParameters)
    """The shop's air and weather."""


@dataclass(frozen=True, slots=True)
class PlantTruth:
    """What is so at one instant."""

    at: float
    """Rig time, [s]."""
    face: float
    """Upper face of the board, [K]."""
    mean: float
    """Board's mean, [K]."""
    back: float
    """Lower face of the board, [K]."""
    room: float
    """Shop air, [K]."""
    film: float
    """Bag film over the board; shop air while there is none, [K]."""
    bag: float
    """Pressure in the bag, absolute, [Pa]."""
    pore: float
    """Pressure of the air in the pores, absolute, [Pa]."""
    barometer: float
    """Air pressure, [Pa]."""
    lamp_lit: bool
    """A bulb burns."""
    lamp_fed: bool
    """The lamp's circuit is live, bulbs or not."""
    contactor: bool
    """The contactor behind the lamp's relay is closed."""
    cut_out_open: bool
    """The lamp's cut-out is open."""
    plate: float
    """Plate of the cut-out, in the lamp's beam at the height of the board, [K]."""
    tilted: bool
    """The lamp leans."""
    pump_running: bool
    """The pump turns."""
    trap_full: bool
    """The float in the trap is up."""
    sounding: bool
    """The sounder speaks."""
    solvent_left: float
    """Thinner still in the board, [kg]."""
    cure_age: float
    """Age of the newest coat, [s at 23 C]."""
    gel_at: float | None
    """Rig time at which the newest coat gelled, [s]; None before."""
    leak: float
    """Rise of the empty bag at full vacuum with the pump at rest, [Pa/s]."""
    under_lamp: bool
    """The board lies under the lamp."""
    coated: bool
    """Resin lies on the board."""
    sealed: bool
    """The bag is sealed."""
    film_on: bool
    """Film lies over the board."""
    moved_out: bool
    """The board was moved out to another place."""
    faults: tuple[str, ...]
    """The plant's faults that are on."""
