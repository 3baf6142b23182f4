"""Thinners and water: their vapour pressure, and when they boil out of a mix."""

from math import exp, log

from controller.errors import RangeError
from controller.science.constants import GAS_CONSTANT, ZERO_CELSIUS
from controller.science.solvent_rows import (
    ACETONE,
    ETHANOL,
    ISOPROPANOL,
    MEK,
    SOLVENTS,
    TOLUENE,
    WATER,
    XYLENE,
    Solvent,
)

__all__ = [
    "ACETONE",
    "CHI_ASSUMED",
    "ETHANOL",
    "ISOPROPANOL",
    "MEK",
    "RESIN_MOLAR_MASS",
    "SOLVENTS",
    "TOLUENE",
    "WATER",
    "XYLENE",
    "Solvent",
    "boiling_temperature",
    "mole_fraction",
    "partial_pressure_flory_huggins",
    "partial_pressure_raoult",
    "vapour_pressure",
    "vapour_volume",
    "volume_fraction",
]

CHI_ASSUMED = 0.4
"""Flory-Huggins interaction of a thinner with epoxy, [-]; own: no measured value was found, and
0.3 to 0.5 moves the pressure over a thin mix about 10 % either way."""

RESIN_MOLAR_MASS = 0.36
"""Of a liquid epoxy that has not set, for Raoult's law and mixing by moles only, [kg/mol]; own:
between pure DGEBA (0.340) and commercial liquids of equivalent 185 to 192 (0.370 to 0.384)."""


def vapour_pressure(solvent: Solvent, temperature: float) -> float:
    """Pressure of the vapour over the pure liquid, [Pa].

    solvent: a row of the table      temperature: of the liquid, [K]

    ln p = C1 + C2/T + C3 ln T + C4 T^C5. Accuracy and source stand in the row. Raises RangeError
    outside the row's temperatures.

    >>> vapour_pressure(WATER, temperature=293.15) / 1000  # 2.339 in steam tables
    2.339
    """
    if not solvent.coldest <= temperature <= solvent.hottest:
        low, high = solvent.coldest - ZERO_CELSIUS, solvent.hottest - ZERO_CELSIUS
        raise RangeError(
            f"{solvent.name} at {temperature - ZERO_CELSIUS:.1f} degC: "
            f"its vapour pressure is known from {low:.0f} to {high:.0f} degC"
        )
    c1, c2, c3, c4, c5 = solvent.vapour_terms
    return exp(c1 + c2 / temperature + c3 * log(temperature) + c4 * temperature**c5)


def boiling_temperature(solvent: Solvent, pressure: float) -> float:
    """Temperature at which the pure liquid boils under this pressure, [K].

    solvent: a row of the table      pressure: absolute, over the liquid, [Pa]

    The inverse of vapour_pressure, found by halving the row's span until 1e-6 K is left. Raises
    RangeError when the answer lies outside the row's temperatures.

    >>> boiling_temperature(ETHANOL, pressure=101_325) - 273.15  # 78.3 in handbooks
    78.3
    """
    low, high = solvent.coldest, solvent.hottest
    least, most = vapour_pressure(solvent, low), vapour_pressure(solvent, high)
    if not least <= pressure <= most:
        raise RangeError(
            f"{solvent.name} at {pressure:.0f} Pa: its boiling temperature is known from "
            f"{least:.0f} to {most:.0f} Pa"
        )
    while high - low > 1e-6:
        middle = (low + high) / 2
        if vapour_pressure(solvent, middle) < pressure:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def volume_fraction(
    solvent: Solvent, solvent_mass: float, resin_mass: float, resin_density: float
) -> float:
    """Share of the thinner in the volume of a mix, [-].

    solvent: a row of the table      solvent_mass: [kg]
    resin_mass: resin and hardener, [kg]      resin_density: of these mixed, [kg/m3]

    Adds the volumes at 20 degC, as if mixing took no room (own). Raises RangeError for a negative
    mass, an empty cup or a density that is not above zero.

    >>> volume_fraction(ACETONE, solvent_mass=5, resin_mass=95, resin_density=1150)
    0.0712
    """
    _check_masses(solvent_mass, resin_mass)
    if resin_density <= 0:
        raise RangeError(f"resin of {resin_density:g} kg/m3: a density must be above 0")
    solvent_volume = solvent_mass / solvent.density
    return solvent_volume / (solvent_volume + resin_mass / resin_density)


def mole_fraction(
    solvent: Solvent, solvent_mass: float, resin_mass: float, resin_molar_mass: float
) -> float:
    """Share of the thinner in the molecules of a mix, [-].

    solvent: a row of the table      solvent_mass, resin_mass: [kg]
    resin_molar_mass: of one molecule of the resin, [kg/mol]

    A count, no more (own). Raises RangeError for a negative mass, an empty cup or a molar mass
    that is not above zero.

    >>> mole_fraction(ACETONE, solvent_mass=5, resin_mass=95, resin_molar_mass=0.36)
    0.246
    """
    _check_masses(solvent_mass, resin_mass)
    if resin_molar_mass <= 0:
        raise RangeError(f"resin of {resin_molar_mass:g} kg/mol: a molar mass must be above 0")
    solvent_moles = solvent_mass / solvent.molar_mass
    return solvent_moles / (solvent_moles + resin_mass / resin_molar_mass)


def partial_pressure_flory_huggins(
    solvent: Solvent, volume_fraction: float, chi: float, temperature: float
) -> float:
    """Pressure of the thinner's vapour over a mix, [Pa]; below it the mix boils.

    solvent: a row of the table      volume_fraction: of the thinner in the mix, [-], 0 to 1
    chi: interaction of thinner and resin, [-], 0 to 0.5      temperature: of the mix, [K]

    p = p_pure phi exp((1 - phi) + chi (1 - phi)^2) [1], for endless resin molecules. Over a fresh
    mix, whose molecules are some four times the thinner's, the same theory reads a fifth lower, so
    this errs to less vacuum. Raises RangeError outside the ranges; beyond chi 0.5 they would part.

    [1] P. J. Flory, Principles of Polymer Chemistry, 1953, chapter XII; page from memory, to be
    checked.

    >>> partial_pressure_flory_huggins(ACETONE, 0.0712, chi=0.4, temperature=293.15) / 1000
    6.29
    """
    _check_share("volume", volume_fraction)
    if not 0 <= chi <= 0.5:
        raise RangeError(f"chi {chi:g}: thinner and resin mix from 0 to 0.5")
    rest = 1 - volume_fraction
    activity = volume_fraction * exp(rest + chi * rest**2)
    return activity * vapour_pressure(solvent, temperature)


def partial_pressure_raoult(solvent: Solvent, mole_fraction: float, temperature: float) -> float:
    """Pressure of the thinner's vapour over an ideal mix, [Pa]; to hold beside Flory-Huggins.

    solvent: a row of the table      mole_fraction: of the thinner in the mix, [-], 0 to 1
    temperature: of the mix, [K]

    p = x p_pure, Raoult's law (common practice, no source). It hangs on the resin's molar mass,
    which grows as the resin cures. Raises RangeError outside the ranges.

    >>> partial_pressure_raoult(ACETONE, mole_fraction=0.246, temperature=293.15) / 1000
    6.08
    """
    _check_share("mole", mole_fraction)
    return mole_fraction * vapour_pressure(solvent, temperature)


def vapour_volume(solvent: Solvent, mass: float, temperature: float, pressure: float) -> float:
    """Room that this much thinner takes once it is all vapour, [m3].

    solvent: a row of the table      mass: of the liquid, [kg]
    temperature: of the room, [K]      pressure: of the room, [Pa]

    m R T / (M P), the ideal gas. Raises RangeError for a negative mass, or a temperature or
    pressure that is not above zero.

    >>> 1000 * vapour_volume(ACETONE, mass=0.010, temperature=293.15, pressure=101_325)
    4.142
    """
    if mass < 0 or min(temperature, pressure) <= 0:
        raise RangeError(f"no vapour volume for {mass:g} kg at {temperature:g} K, {pressure:g} Pa")
    return mass * GAS_CONSTANT * temperature / (solvent.molar_mass * pressure)


def _check_masses(solvent_mass: float, resin_mass: float) -> None:
    if min(solvent_mass, resin_mass) < 0 or solvent_mass + resin_mass <= 0:
        raise RangeError(f"thinner {solvent_mass:g} kg in resin {resin_mass:g} kg: weigh them anew")


def _check_share(what: str, share: float) -> None:
    if not 0 <= share <= 1:
        raise RangeError(f"{what} fraction {share:g} of thinner: a share, 0 to 1")
