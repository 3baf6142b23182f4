"""All that is known of one coat before the lamp is lit, handed to whoever answers a question."""

from dataclasses import dataclass

from controller.planning.answers.shop_night import ShopNight
from controller.planning.catalogue import Catalogue, ResinClass, Thinner
from controller.planning.description import Description
from controller.planning.sheet import BatchSheet, Coat, Piece
from controller.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One coat of one batch on one rig in one shop."""

    description: Description
    """What was asked for."""
    settings: Settings
    """The rig."""
    catalogue: Catalogue
    """Woods, resins and thinners by name."""
    sheet: BatchSheet
    """What the engine will work from."""
    coat: Coat
    """Of that sheet."""
    pieces: tuple[Piece, ...]
    """The pieces of this coat."""
    resin: ResinClass
    """As the tin in hand has it."""
    thinner: Thinner | None
    """What is weighed in, or what the resin comes with; None for none."""
    air_pressure: float
    """In the shop today, [Pa]."""
    night: ShopNight
    """How warm the shop will be, hour by hour."""

    @property
    def solvent_share(self) -> float:
        """Thinner and carrier in the whole mix, by mass, [-]."""
        mix = self.coat.mix
        return (mix.thinner + mix.carried) / mix.total

    @property
    def cup(self) -> float:
        """Resin and hardener as they are mixed, [K]."""
        told = self.description.bench.cup
        return self.description.shop.room if told is None else told
