"""Thinners and water: when they boil out of a mix, and when their vapour is dangerous."""

from dataclasses import dataclass
from math import exp, log

from controller.errors import RangeError
from controller.science.constants import GAS_CONSTANT, STANDARD_ATMOSPHERE, ZERO_CELSIUS

CHI_ASSUMED = 0.4
"""Flory-Huggins interaction of a thinner with epoxy, [-]; own: no measured value was found, and
0.3 to 0.5 moves the pressure over a thin mix about 10 % either way."""

RESIN_MOLAR_MASS = 0.36
"""Of an unmixed liquid epoxy, for Raoult's law only, [kg/mol]; own: between pure DGEBA (0.340) and
commercial liquids of epoxy equivalent 185 to 192 (0.370 to 0.384)."""


@dataclass(frozen=True, slots=True)
class Solvent:
    """One liquid that evaporates: a row of the table below."""

    name: str
    """As people write it."""
    molar_mass: float
    """[kg/mol]"""
    density: float
    """Of the liquid at 20 degC, [kg/m3]"""
    lower_flammable_limit: float | None
    """Least share of vapour in air that burns, by volume, [-]; None: does not burn"""
    vapour_terms: tuple[float, float, float, float, float]
    """C1 to C5 of ln p = C1 + C2/T + C3 ln T + C4 T^C5, p in [Pa], T in [K]"""
    coldest: float
    """Lowest temperature the vapour pressure is used at, [K]"""
    hottest: float
    """Highest temperature the vapour pressure is used at, [K]"""
    source: str
    """Where the numbers come from, and by how much they are known to miss."""


_PERRY = (
    "[1] D. W. Green, R. H. Perry, Perry's Chemical Engineers' Handbook, 8th ed. 2008, table 2-8 "
    "(vapour pressure) and table 2-32 (density, rounded to 0.1 %), coefficients as in the data "
    "files of the library chemicals 1.5.2. "
)
_NFPA = (
    "Flammable limit: [2] NFPA 497, 2008, table 4.4.2, as in the same library; the table's number "
    "from memory, to be checked. "
)
# The usual Antoine sets are a trap here: several are fitted far above room temperature and then
# miss by 7 to 97 % at 20 degC. These five-term fits run from the melting to the critical point.
WATER = Solvent(
    name="water",
    molar_mass=0.018_015,
    density=998.2,
    lower_flammable_limit=None,
    vapour_terms=(73.649, -7258.2, -7.3037, 4.1653e-6, 2.0),
    coldest=ZERO_CELSIUS - 20,
    hottest=ZERO_CELSIUS + 110,
    source=_PERRY + "Within 0.2 % of IAPWS-95 (CoolProp 8.0.0) at 0 to 100 degC; below 0 degC own "
    "extension over water that has not frozen, 0.6 % low at -20 degC. Density from CoolProp 8.0.0.",
)
ACETONE = Solvent(
    name="acetone",
    molar_mass=0.058_079,
    density=790.0,
    lower_flammable_limit=0.025,
    vapour_terms=(69.006, -5599.6, -7.0985, 6.2237e-6, 2.0),
    coldest=ZERO_CELSIUS - 10,
    hottest=ZERO_CELSIUS + 100,
    source=_PERRY + _NFPA + "Within 1 % of CoolProp 8.0.0 from 0 to 100 degC, 1.7 % at -10 degC.",
)
ETHANOL = Solvent(
    name="ethanol",
    molar_mass=0.046_068,
    density=789.0,
    lower_flammable_limit=0.033,
    vapour_terms=(73.304, -7122.3, -7.1424, 2.8853e-6, 2.0),
    coldest=ZERO_CELSIUS - 10,
    hottest=ZERO_CELSIUS + 100,
    source=_PERRY + _NFPA + "IEC 60079-20-1 (2010) puts the limit at 0.031. Within 1 % of "
    "CoolProp 8.0.0 from -10 to 100 degC.",
)
ISOPROPANOL = Solvent(
    name="isopropanol",
    molar_mass=0.060_095,
    density=786.0,
    lower_flammable_limit=0.02,
    vapour_terms=(96.094, -8575.4, -10.292, 1.6665e-17, 6.0),
    coldest=ZERO_CELSIUS - 10,
    hottest=ZERO_CELSIUS + 100,
    source=_PERRY
    + _NFPA
    + "Published fits spread 5 %: from 0 to 60 degC this one lies 2 to 4 % above "
    "Poling's Wagner set, from 25 degC on also above his Antoine set; high is the safe side for a "
    "boil limit.",
)
SOLVENTS = {solvent.name: solvent for solvent in (WATER, ACETONE, ETHANOL, ISOPROPANOL)}


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


def air_to_quarter_limit(solvent: Solvent, mass: float) -> float:
    """Air at 20 degC that thins this much thinner's vapour to a quarter of its limit, [m3].

    solvent: a row of the table that burns      mass: all of it evaporates, [kg]

    V = 4 (1 - limit) V_vapour / limit [1]. It takes perfect mixing: under a hood or at the floor
    the vapour is far richer, and breathing it is harmful at far less. Raises RangeError for
    a liquid that does not burn or a negative mass.

    [1] US OSHA, 29 CFR 1910.94(c)(6)(ii); the form from memory, to be checked.

    >>> 1000 * air_to_quarter_limit(ACETONE, mass=0.010)
    646.1
    """
    limit = solvent.lower_flammable_limit
    if limit is None:
        raise RangeError(f"{solvent.name} does not burn: it has no flammable limit to stay under")
    vapour = vapour_volume(solvent, mass, ZERO_CELSIUS + 20, STANDARD_ATMOSPHERE)
    return 4 * (1 - limit) / limit * vapour


def _check_masses(solvent_mass: float, resin_mass: float) -> None:
    if min(solvent_mass, resin_mass) < 0 or solvent_mass + resin_mass <= 0:
        raise RangeError(f"thinner {solvent_mass:g} kg in resin {resin_mass:g} kg: weigh them anew")


def _check_share(what: str, share: float) -> None:
    if not 0 <= share <= 1:
        raise RangeError(f"{what} fraction {share:g} of thinner: a share, 0 to 1")
