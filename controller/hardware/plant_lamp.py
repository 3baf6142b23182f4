"""The pretend lamps: relay contact, plug, bulbs, and how slowly they brighten and fade."""

from dataclasses import dataclass
from math import exp


@dataclass(frozen=True, slots=True)
class LampParameters:
    """All lamps together, as they truly are."""

    flux: float = 800.0
    """Absorbed by the board when fully bright, [W/m2]; two 250 W lamps at 0.4 m, own."""
    lag: float = 1.5
    """Time constant of brightening and fading, [s]; own."""


class Lamp:
    """All lamps on one relay and one plug."""

    def __init__(self, parameters: LampParameters) -> None:
        self.parameters = parameters
        self.commanded = False
        """What the relay's coil is told."""
        self.plugged_in = True
        """The plug is in; pulled, the lamps are dark whatever the relay does."""
        self.stuck_on = False
        """The contact is welded shut."""
        self.stuck_off = False
        """The contact never closes."""
        self.dead_share = 0.0
        """Bulbs burnt out, of all, [1]."""
        self.strength = 1.0
        """Flux as a multiple of the usual, [1]."""
        self._glow = 0.0

    @property
    def fed(self) -> bool:
        """The circuit is live, bulbs or not."""
        closed = self.commanded and not self.stuck_off
        return self.plugged_in and (closed or self.stuck_on)

    @property
    def lit(self) -> bool:
        """A bulb burns."""
        return self.fed and self.dead_share < 1.0

    @property
    def aim(self) -> float:
        """Brightness it is on its way to, as a multiple of the usual, [1]."""
        return (1 - self.dead_share) * self.strength if self.lit else 0.0

    def shine(self, seconds: float) -> float:
        """Mean flux over the next `seconds`, [W/m2], which then are past. Exact for any length."""
        lag, aim = self.parameters.lag, self.aim
        behind = self._glow - aim
        fading = exp(-seconds / lag)
        self._glow = aim + behind * fading
        return self.parameters.flux * (aim + behind * (1 - fading) * lag / seconds)
