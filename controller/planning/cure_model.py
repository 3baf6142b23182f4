"""The kinetic model of one resin on a sheet: an ordinary shape, anchored to what its tin says."""

from dataclasses import replace
from functools import lru_cache

from controller.planning.sheet import Resin
from controller.science.kinetics import ORDINARY, Kinetics, fitted_to_gel


@lru_cache(maxsize=32)
def cure_model(resin: Resin) -> Kinetics:
    """How this resin cures, told by its thin-film gel at its reference temperature.

    The middle of the gel range is the anchor, the resin's own glass ends the cure, both reactions
    keep the resin's activation energy (own). Raises RangeError where the figures make no resin.
    """
    shape = replace(
        ORDINARY,
        e1=resin.activation_energy,
        e2=resin.activation_energy,
        uncured=resin.uncured_glass,
        cured=resin.cured_glass,
        curvature=resin.glass_curvature,
    )
    return fitted_to_gel(shape, (resin.gel_early + resin.gel_late) / 2, resin.reference)
