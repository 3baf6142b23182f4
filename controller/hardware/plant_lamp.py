"""The pretend lamps: relay, contactor, plug, cut-out and bulbs, and how they brighten and fade."""

from dataclasses import dataclass
from math import exp


@dataclass(frozen=True, slots=True)
class LampParameters:
    """All lamps together, and the cut-out in their beam, as they truly are."""

    flux: float = 800.0
    """Absorbed by the board when fully bright, [W/m2]; two 250 W lamps at 0.4 m, own."""
    lag: float = 1.5
    """Time constant of brightening and fading, [s]; own."""
    tilted_share: float = 0.2
    """What still falls on the board of a lamp that leans, [1]; own."""
    plate_share: float = 1.2
    """What the cut-out's blackened plate takes up beside the board, [1]; black 0.95 against wood
    0.8, own."""
    plate_loss: float = 15.0
    """Of the plate, both sides together, to the shop, [W/m2 K]; own."""
    plate_capacity: float = 12e3
    """Of the plate and the switch on it, [J/m2 K]; 3 mm of steel, own. With these two a heat that
    holds the face at 50 C keeps the plate under 70 C, and a face that runs off opens it by 80 C."""
    cut_out_opens: float = 353.15
    """Plate temperature at which the cut-out opens, 80 C, [K]; own."""
    cut_out_cools: float = 15.0
    """How far below that the plate must be before its button holds, [K]; own."""


class Lamp:
    """All lamps on one plug: relay, contactor and cut-out in line, bulbs, and a stand."""

    def __init__(self, parameters: LampParameters, room: float) -> None:
        """room: shop air, which the plate starts at, [K]"""
        self.parameters = parameters
        self.commanded = False
        """What the relay's coil is told."""
        self.inverted = False
        """The relay closes when it is told to open."""
        self.contactor_held = True
        """The contactor's coil is fed; it is where no dead-man drops it."""
        self.contactor_welded = False
        """The contactor is closed for good."""
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
        self.leans = False
        """A person leant it over."""
        self.knocked = False
        """It leans by itself."""
        self.cut_out_bridged = False
        """A wire goes across the cut-out."""
        self.cut_out_broken = False
        """The cut-out is open for good."""
        self.plate = room
        """Temperature of the cut-out's plate, [K]."""
        self._opened = False
        self._glow = 0.0

    @property
    def tilted(self) -> bool:
        """It leans: its switch is open, and most of its light misses the board."""
        return self.leans or self.knocked

    @property
    def contactor(self) -> bool:
        """The contactor behind the relay is closed."""
        return self.contactor_held or self.contactor_welded

    @property
    def cut_out_open(self) -> bool:
        """The cut-out's contact is open."""
        return (self._opened or self.cut_out_broken) and not self.cut_out_bridged

    @property
    def fed(self) -> bool:
        """The circuit is live, bulbs or not."""
        closed = self.commanded is not self.inverted and not self.stuck_off
        in_line = self.plugged_in and self.contactor and not self.cut_out_open
        return in_line and (closed or self.stuck_on)

    @property
    def lit(self) -> bool:
        """A bulb burns."""
        return self.fed and self.dead_share < 1.0

    @property
    def aim(self) -> float:
        """Light on the board it is on its way to, as a multiple of the usual, [1]."""
        if not self.lit:
            return 0.0
        falling = self.parameters.tilted_share if self.tilted else 1.0
        return (1 - self.dead_share) * self.strength * falling

    def shine(self, seconds: float, room: float) -> float:
        """Mean flux over the next `seconds`, [W/m2], which then are past. Exact for any length.

        The cut-out's plate takes its part of that mean, and opens at the end of it.
        """
        lag, aim = self.parameters.lag, self.aim
        behind = self._glow - aim
        fading = exp(-seconds / lag)
        self._glow = aim + behind * fading
        flux = self.parameters.flux * (aim + behind * (1 - fading) * lag / seconds)
        self._warm(seconds, flux, room)
        return flux

    def _warm(self, seconds: float, flux: float, room: float) -> None:
        """First order: what the plate takes up, less what it loses."""
        parameters = self.parameters
        end = room + parameters.plate_share * flux / parameters.plate_loss
        time = parameters.plate_capacity / parameters.plate_loss
        self.plate = end + (self.plate - end) * exp(-seconds / time)
        if self.plate >= parameters.cut_out_opens:
            self._opened = True

    def sure_for(self) -> float:
        """How long the cut-out cannot open yet, whatever it loses, [s]."""
        parameters, aim = self.parameters, self.aim
        if self._opened or aim <= 0.0:
            return float("inf")
        rate = parameters.plate_share * parameters.flux * aim / parameters.plate_capacity
        return (parameters.cut_out_opens - self.plate) / rate

    def open_cut_out(self) -> None:
        """Warm the cut-out by itself until it opens; the plate stays as it is."""
        self._opened = True

    def reset_cut_out(self) -> None:
        """Press its button: it stays open while the plate is hot."""
        limit = self.parameters.cut_out_opens - self.parameters.cut_out_cools
        self._opened = self._opened and self.plate > limit
