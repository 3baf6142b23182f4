"""Wood as the job meets it: its moisture, the vapour that holds up the bag, its weight and heat.

Moisture is mass of water over mass of dry wood, 0.08 and not 8 per cent. Specific gravity is dry
mass over volume at this moisture over the density of water. "WH" below is [1] Forest Products
Laboratory, Wood Handbook, FPL-GTR-190, 2010, chapter 4.
"""

from controller.errors import RangeError
from controller.science.constants import ZERO_CELSIUS
from controller.science.solvent import WATER, vapour_pressure

_FIBRE_SATURATION = 0.30
"""Moisture above which wood no longer swells, [kg/kg]; WH eq. 4-7 takes it for all woods."""
_DAMPEST_AIR = 0.95
"""Highest relative humidity of WH table 4-2, [-]."""


def equilibrium_moisture(relative_humidity: float, temperature: float) -> float:
    """Moisture that wood comes to in this air in the end, [kg/kg].

    relative_humidity: [-], 0 to 0.95      temperature: [K], -1 to 132 degC

    WH eq. 4-5 with its constants for degC, one curve for all woods: oily or dense heartwood, and
    wood that is drying rather than taking up water, differ by one to two per cent moisture (from
    memory, to be checked). Raises RangeError outside the table.

    >>> 100 * equilibrium_moisture(relative_humidity=0.50, temperature=294.26)  # table: 9.2 at 70 F
    9.2
    """
    celsius = temperature - ZERO_CELSIUS
    if not 0 <= relative_humidity <= _DAMPEST_AIR:
        raise RangeError(
            f"relative humidity {relative_humidity:g}: the wood table covers 0 to 0.95"
        )
    if not -1.2 <= celsius <= 132.3:
        raise RangeError(f"wood at {celsius:.1f} degC: the moisture table covers -1 to 132 degC")
    w = 349 + 1.29 * celsius + 0.0135 * celsius**2
    k = 0.805 + 0.000736 * celsius - 0.00000273 * celsius**2
    k1 = 6.27 - 0.00938 * celsius - 0.000303 * celsius**2
    k2 = 1.91 + 0.0407 * celsius - 0.000293 * celsius**2
    kh = k * relative_humidity
    first = k1 * kh
    second = k1 * k2 * kh**2
    return 18 / w * (kh / (1 - kh) + (first + 2 * second) / (1 + first + second))


def relative_humidity_over_wood(moisture: float, temperature: float) -> float:
    """Relative humidity of the air that wood of this moisture keeps beside it, [-].

    moisture: [kg/kg], 0 to 0.30      temperature: [K], -1 to 132 degC

    The inverse of equilibrium_moisture, found by halving until 1e-9 is left. From the table's end,
    about 0.24 at 20 degC, it goes straight on to 1 at fibre saturation, 0.30 (own): wetter wood
    keeps its air all but saturated, and a few per cent of humidity are all there is to be wrong by.
    Raises RangeError outside the ranges.

    >>> relative_humidity_over_wood(moisture=0.12, temperature=294.26)  # table: 12.0 at 65 % RH
    0.65
    """
    wettest = equilibrium_moisture(_DAMPEST_AIR, temperature)
    if not 0 <= moisture <= _FIBRE_SATURATION:
        raise RangeError(
            f"moisture {moisture:g} kg/kg: wood takes up vapour from 0 to {_FIBRE_SATURATION:g} "
            "(8 per cent is written 0.08); dry the board"
        )
    if moisture > wettest:
        beyond = (moisture - wettest) / (_FIBRE_SATURATION - wettest)
        return _DAMPEST_AIR + (1 - _DAMPEST_AIR) * beyond
    low, high = 0.0, _DAMPEST_AIR
    while high - low > 1e-9:
        middle = (low + high) / 2
        if equilibrium_moisture(middle, temperature) < moisture:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def vapour_floor(moisture: float, temperature: float) -> float:
    """Water vapour pressure over wood of this moisture, [Pa]; the bag cannot stay below it.

    moisture: [kg/kg], 0 to 0.30      temperature: [K], -1 to 100 degC

    Relative humidity over the wood times the vapour pressure of water (own). Reached only where
    moisture has had time to move: the bag sits between this and what the pump alone would give,
    so it errs to less vacuum. Raises RangeError outside the two ranges.

    >>> vapour_floor(moisture=0.08, temperature=303.15) / 100  # own, with CoolProp's water: 18.51
    18.5
    """
    over_wood = relative_humidity_over_wood(moisture, temperature)
    return over_wood * vapour_pressure(WATER, temperature)


def specific_gravity_at(basic: float, shrinkage: float, moisture: float) -> float:
    """Specific gravity on the volume at this moisture, from the basic one on green volume, [-].

    basic: dry mass over green volume over water, [-]
    shrinkage: of the volume from green to oven-dry, [-]      moisture: [kg/kg], 0 to 0.30

    WH eq. 4-7 and 4-9: G = G_basic / (1 - S (1 - M / 0.30)). Raises RangeError outside the ranges.

    >>> specific_gravity_at(basic=0.56, shrinkage=0.147, moisture=0.12)  # hard maple
    0.614
    """
    if not (0 < basic < 1.5 and 0 <= shrinkage < 0.5):
        raise RangeError(f"basic gravity {basic:g}, shrinkage {shrinkage:g}: look the wood up anew")
    _check_moisture(moisture, _FIBRE_SATURATION)
    return basic / (1 - shrinkage * (1 - moisture / _FIBRE_SATURATION))


def porosity(specific_gravity: float, moisture: float) -> float:
    """Share of the wood's volume that is air, [-].

    specific_gravity: at this moisture, [-], above 0      moisture: [kg/kg], 0 to 0.30

    1 - G (0.667 + M) [1], from a cell wall 1.5 times as dense as water and its water at 1. Raises
    RangeError outside the range, and for a wood that would have no pores left.

    [1] J. F. Siau, Transport Processes in Wood, 1984; from memory, to be checked.

    >>> porosity(specific_gravity=0.63, moisture=0.12)
    0.504
    """
    _check_gravity(specific_gravity, 0)
    _check_moisture(moisture, _FIBRE_SATURATION)
    share = 1 - specific_gravity * (0.667 + moisture)
    if share < 0:
        raise RangeError(f"gravity {specific_gravity:g} at moisture {moisture:g} leaves no pores")
    return share


def density(specific_gravity: float, moisture: float) -> float:
    """Mass of the moist wood over its volume, [kg/m3].

    specific_gravity: at this moisture, [-], above 0      moisture: [kg/kg], 0 to 0.30

    1000 G (1 + M), WH eq. 4-10; its number from memory, to be checked. Raises RangeError outside
    the range.

    >>> density(specific_gravity=0.50, moisture=0.12)  # black cherry
    560.0
    """
    _check_gravity(specific_gravity, 0)
    _check_moisture(moisture, _FIBRE_SATURATION)
    return 1000 * specific_gravity * (1 + moisture)


def conductivity(specific_gravity: float, moisture: float) -> float:
    """Heat conductivity across the grain near room temperature, [W/(m K)].

    specific_gravity: at this moisture, [-], above 0.3      moisture: [kg/kg], 0 to 0.25

    G (0.1941 + 0.4064 M) + 0.01864, WH eq. 4-15, at 24 degC; the handbook gives it 20 % either
    way. It grows 2 to 3 % per 10 K, and along the grain it is 1.5 to 2.8 times as much. Raises
    RangeError outside the ranges.

    >>> conductivity(specific_gravity_at(basic=0.54, shrinkage=0.123, moisture=0.10), moisture=0.10)
    0.1567
    """
    _check_gravity(specific_gravity, 0.3)
    _check_moisture(moisture, 0.25)
    return specific_gravity * (0.1941 + 0.4064 * moisture) + 0.01864


def heat_capacity(moisture: float, temperature: float) -> float:
    """Specific heat capacity of the moist wood, [J/(kg K)]; the same for every species.

    moisture: [kg/kg], 0 to 0.30      temperature: [K], 270 to 420 K

    WH eq. 4-16 to 4-18, which the handbook gives from 280 K. From 270 K to there the same equations
    are carried on (own): they are straight in the temperature, and 10 K move them by 3 to 4 per
    cent; water that freezes in wet wood is left out. Two of the three terms for the bond of wood
    and water carry a minus, which some copies have lost. Raises RangeError outside the ranges.

    >>> heat_capacity(moisture=0.12, temperature=340) / 1000
    1.915
    """
    _check_moisture(moisture, _FIBRE_SATURATION)
    if not 270 <= temperature <= 420:
        raise RangeError(
            f"wood at {temperature - ZERO_CELSIUS:.1f} degC: its heat capacity is known from -3 to "
            "147 degC"
        )
    dry = 103.1 + 3.867 * temperature
    bond = 100_000 * moisture * (-0.06191 + 2.36e-4 * temperature - 0.0133 * moisture)
    return (dry + 4180 * moisture) / (1 + moisture) + bond


def largest_moisture(basic: float) -> float:
    """Moisture of wood whose every pore is full of water, [kg/kg].

    basic: dry mass over green volume over water, [-], above 0 to 1.5

    (1.5 - G) / (1.5 G) [1], from a cell wall 1.5 times as dense as water. An upper bound: no tree
    is that wet all through. Raises RangeError outside the range.

    [1] WH chapter 4, maximum moisture content; its wall of 1.5 from memory, to be checked, and 1.54
    in newer copies, which gives 0.02 more.

    >>> largest_moisture(basic=0.30)
    2.67
    """
    _check_gravity(basic, 0)
    return (1.5 - basic) / (1.5 * basic)


def diffusivity(conductivity: float, density: float, heat_capacity: float) -> float:
    """How fast a change of temperature spreads through wood, [m2/s].

    conductivity: [W/(m K)]      density: [kg/m3]      heat_capacity: [J/(kg K)]

    k / (rho c), the definition; as uncertain as the conductivity, 20 % either way. Raises
    RangeError for values that are not above 0.

    >>> 1e6 * diffusivity(conductivity=0.1614, density=680.4, heat_capacity=1504.4)
    0.158
    """
    if not min(conductivity, density, heat_capacity) > 0:
        raise RangeError(
            f"no diffusivity of {conductivity:g} W/(m K), {density:g} kg/m3 and "
            f"{heat_capacity:g} J/(kg K); all must be above 0"
        )
    return conductivity / (density * heat_capacity)


def permeability_of_vessels(radius: float, share: float) -> float:
    """Permeability along the grain of wood with open round vessels, [m2].

    radius: of the vessels, [m], above 0      share: of the end's area they take, [-], 0 to 1

    share r^2 / 8 (own, Poiseuille's law for a bundle of straight tubes). An upper bound: plates
    across the vessels, tyloses and gum shut many. Across the grain it is 1e4 to 1e6 times less
    ([1] Choong, Tesoro and Manwiller, 1974, abstract; title to be checked). Raises RangeError
    outside the ranges.

    >>> 1e10 * permeability_of_vessels(radius=150e-6, share=0.20)
    5.625
    """
    if not radius > 0 or not 0 <= share <= 1:
        raise RangeError(f"vessels of {radius:g} m in {share:g} of the end: above 0, and a share")
    return share * radius**2 / 8


def _check_gravity(specific_gravity: float, least: float) -> None:
    if not least < specific_gravity < 1.5:
        raise RangeError(
            f"specific gravity {specific_gravity:g}: from {least:g} to 1.5, solid cell wall; "
            "0.63, not 630"
        )


def _check_moisture(moisture: float, most: float) -> None:
    if not 0 <= moisture <= most:
        raise RangeError(
            f"moisture {moisture:g} kg/kg: the formula covers 0 to {most:g} "
            "(8 per cent is written 0.08)"
        )
