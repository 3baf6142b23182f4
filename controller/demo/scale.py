"""What the board weighs in the demo, as its operator reads it off a scale."""

import math

from controller.batch.snapshot import Snapshot
from controller.planning.sheet import BatchSheet

DRIES_OUT = 3.0
"""How far the solvent is gone when flash-off is: exp(-3), a twentieth left. Own."""


class Scale:
    """A scale that knows the sheet and how far the flash-off is: made up, as all of the demo."""

    def __init__(self, sheet: BatchSheet) -> None:
        coat = sheet.coats[0]
        pieces = [sheet.piece(name) for name in coat.pieces]
        thinner = coat.mix.thinner / coat.mix.total
        self._dry = sum(piece.area * piece.thickness for piece in pieces) * coat.board.density
        self._dry += coat.mix.coat * (1.0 - thinner)
        self._solvent = coat.mix.coat * thinner
        self.shown: Snapshot | None = None
        """The newest look at the page."""

    def weigh(self) -> float:
        """Boards, resin and what is left of the solvent, [g]."""
        batch = None if self.shown is None else self.shown.batch
        share = 0.0 if batch is None else batch.setting.flash_share or 0.0
        return 1000.0 * (self._dry + self._solvent * math.exp(-DRIES_OUT * share))
