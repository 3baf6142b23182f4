"""What the scripted person measures with: a scale, an infrared gun, the dial on the bag."""

from controller.rehearsal.rig import PretendRig
from controller.science.constants import ZERO_CELSIUS


class Tools:
    """They tell what is so, and no sensor of the rig has a part in it."""

    def __init__(self, rig: PretendRig) -> None:
        """rig: the one they are held to"""
        self._rig = rig
        self.resin = 0.0
        """What was put on the boards so far, [kg]."""

    def scale(self) -> float:
        """What the boards weigh, [g]."""
        board = self._rig.plant.parameters.board
        wood = board.length * board.width * board.thickness * board.density
        return 1000.0 * (wood + self.resin + self._rig.truth().solvent_left)

    def gun(self) -> float:
        """What an infrared gun reads on the face, [degC]."""
        return self._rig.truth().face - ZERO_CELSIUS

    def dial(self) -> float:
        """What a dial gauge on the bag shows, absolute, to its finest stroke of 100 Pa, [Pa]."""
        return round(self._rig.truth().bag, -2)
