"""How much room there is in the bag, with the air of the wood in it."""

from dataclasses import dataclass

from controller.planning.answers.case import Case
from controller.planning.answers.pore_room import pore_rooms
from controller.science.constants import STANDARD_ATMOSPHERE, ZERO_CELSIUS

ABOUT_THE_BOARD = 0.010
"""Thickness of breather and slack film on each face before it is pulled, [m]; own guess."""
HOSE_AND_TRAP = 1.0e-3
"""Hose of 8 mm bore and a small trap, [m3]; own guess: 0.1 L and 0.5 to 1 L."""
NORMAL = ZERO_CELSIUS + 20
"""Air is told as at this temperature and one standard atmosphere, [K]; own."""
_GUESS = (
    "own guess: 10 mm of breather and slack on both faces, hose and trap of 1 L; measure it once "
    "and write bag.volume"
)


@dataclass(frozen=True, slots=True)
class BagRoom:
    """What the pump has to empty."""

    bag: float
    """Bag, hose, breather and trap, [m3]."""
    wood: float
    """Air in the wood, [m3]."""
    guessed: bool
    """Nobody measured the bag."""
    source: str
    """Where its volume is from."""

    @property
    def least(self) -> float:
        """With the wood keeping its air, [m3]."""
        return self.bag

    @property
    def most(self) -> float:
        """With all of the wood's air coming along, [m3]."""
        return self.bag + self.wood


def bag_room(case: Case) -> BagRoom:
    """The room in the bag of one coat: as told, else guessed from the pieces."""
    rooms = pore_rooms(case)
    wood = sum(room.pores for room in rooms)
    told = case.description.bag.volume
    if told is not None:
        return BagRoom(told, wood, False, "told: bag.volume")
    area = sum(room.area for room in rooms)
    return BagRoom(2 * area * ABOUT_THE_BOARD + HOSE_AND_TRAP, wood, True, _GUESS)


def air_of_the_wood(case: Case, room: BagRoom, target: float) -> float:
    """Air the wood gives off when the bag goes from the shop's air to a pressure [Pa], [m3].

    Counted at NORMAL and one atmosphere, isothermal, all pores open: an upper bound (own).
    """
    drop = max(case.air_pressure - target, 0.0)
    return room.wood * drop / STANDARD_ATMOSPHERE * NORMAL / case.description.shop.room
