"""What a face takes up under lamps whose power and distance are known: a wide band, no more."""

from dataclasses import dataclass

from controller.science.lamp import (
    ABSORPTIVITY,
    BEAM_HALF_ANGLE,
    LAMP_EFFICIENCY,
    beam_exponent,
    irradiance,
)
from controller.settings.sections import Lamp


@dataclass(frozen=True, slots=True)
class FluxBand:
    """Absorbed by the face straight under the lamps."""

    least: float
    """By pale wood, [W/m2]."""
    likely: float
    """By the mean of the woods that were measured, [W/m2]."""
    most: float
    """By dark wood, [W/m2]."""

    def holds(self, flux: float) -> bool:
        """This flux [W/m2] lies inside."""
        return self.least <= flux <= self.most


def flux_at(lamp: Lamp, distance: float) -> FluxBand:
    """What the face takes up under all lamps at this distance [m], [W/m2].

    science.lamp.irradiance of each, all on one spot, times science.lamp.ABSORPTIVITY (own): lamps
    that stand apart give less. No published figure for such a lamp was found, so it is a band to
    begin with, and the first heat tells better. Raises RangeError for a distance not above 0.
    """
    on_axis = lamp.count * irradiance(
        lamp.power, LAMP_EFFICIENCY, distance, beam_exponent(BEAM_HALF_ANGLE)
    )
    shares = ABSORPTIVITY
    return FluxBand(shares.low * on_axis, shares.likely * on_axis, shares.high * on_axis)
