"""What a warm face loses to a still shop: by radiation, and by the air that rises from it."""

from dataclasses import dataclass
from math import exp

from controller.errors import RangeError
from controller.science.air import AIR_MOLAR_MASS
from controller.science.constants import GAS_CONSTANT, STANDARD_ATMOSPHERE, ZERO_CELSIUS

STEFAN_BOLTZMANN = 5.670374419e-8
"""[W/(m2 K4)]. [1] CODATA 2018, exact to its digits; from memory, to be checked."""
WOOD_EMISSIVITY = 0.90
"""Of planed wood at 8 to 14 um, [-]; handbooks of thermometers give 0.88 to 0.94, from memory, to
be checked. One paper that worked back from warming has a mean of 0.53."""
GRAVITY = 9.80665
"""[m/s2]. [1] standard gravity, CGPM 1901; from memory, to be checked."""
COLDEST_AIR, HOTTEST_AIR = 250.0, 400.0
"""Between these air_at holds, [K]; own: what a shop and a lit board need, well inside the laws."""
_AIR_HEAT_CAPACITY = 1006.5
"""Of air at one pressure, [J/(kg K)], within 0.3 % from 0 to 100 degC; from memory, to be
checked."""
_TURBULENT = 1e7
"""Rayleigh number from which the air over a hot face churns, [-]; with the laws of nusselt_up."""


@dataclass(frozen=True, slots=True)
class Air:
    """Dry air at one atmosphere."""

    conductivity: float
    """[W/(m K)]"""
    viscosity: float
    """[Pa s]"""
    density: float
    """[kg/m3]"""

    @property
    def kinematic_viscosity(self) -> float:
        """[m2/s]"""
        return self.viscosity / self.density

    @property
    def prandtl(self) -> float:
        """Kinematic viscosity over heat diffusivity, [-]."""
        return self.viscosity * _AIR_HEAT_CAPACITY / self.conductivity


def air_at(temperature: float) -> Air:
    """Air at this temperature and one atmosphere: conductivity [W/(m K)], viscosity, density.

    temperature: [K], 250 to 400

    Sutherland's viscosity and the like law for the conductivity [1], the ideal gas for the density.
    Conductivity within 1 % of CoolProp 8.0.0 and the Prandtl number within 1.6 %. Moisture left
    out: saturated air at 40 degC conducts about 1 % less. Raises RangeError outside the range.

    [1] US Standard Atmosphere 1976, NOAA-S/T 76-1562, eq. 51 and 53; from memory, to be checked.

    >>> air_at(300).conductivity * 1000
    26.2
    """
    if not COLDEST_AIR <= temperature <= HOTTEST_AIR:
        raise RangeError(
            f"air at {temperature - ZERO_CELSIUS:.1f} degC: its table covers -23 to 127 degC"
        )
    root = temperature**1.5
    return Air(
        conductivity=2.64638e-3 * root / (temperature + 245.4 * 10 ** (-12 / temperature)),
        viscosity=1.458e-6 * root / (temperature + 110.4),
        density=STANDARD_ATMOSPHERE * AIR_MOLAR_MASS / (GAS_CONSTANT * temperature),
    )


def radiation_loss(emissivity: float, temperature: float, surroundings: float) -> float:
    """Heat a face sends out less what it gets back from its surroundings, [W/m2].

    emissivity: of the face, [-], above 0 to 1
    temperature, surroundings: of the face and of all it sees, [K]

    eps sigma (T1^4 - T2^4): a grey face in a wide shop. A cold window or a warm lamp shade in sight
    is left out. Negative when the shop is the warmer. Raises RangeError outside the ranges.

    >>> radiation_loss(0.9, temperature=323.15, surroundings=293.15)
    179.6
    """
    _check_radiation(emissivity, temperature, surroundings)
    return emissivity * STEFAN_BOLTZMANN * (temperature**4 - surroundings**4)


def radiation_coefficient(emissivity: float, temperature: float, surroundings: float) -> float:
    """The same loss over the difference of temperature, [W/(m2 K)]; also where there is none.

    emissivity, temperature, surroundings: as in radiation_loss

    eps sigma (T1 + T2) (T1^2 + T2^2). Raises RangeError as radiation_loss does.

    >>> radiation_coefficient(0.9, temperature=323.15, surroundings=293.15)
    5.987
    """
    _check_radiation(emissivity, temperature, surroundings)
    sum_of_squares = temperature**2 + surroundings**2
    return emissivity * STEFAN_BOLTZMANN * (temperature + surroundings) * sum_of_squares


def plate_size(length: float, width: float) -> float:
    """Size of a lying board that rules the air over it: its area over its edge, [m].

    length, width: [m], above 0; RangeError otherwise

    [1] J. R. Lloyd and W. R. Moran, J. Heat Transfer 96 (1974) 443-447; from memory, to be checked.

    >>> plate_size(length=0.3, width=0.2)
    0.060
    """
    if not min(length, width) > 0:
        raise RangeError(f"board of {length:g} m by {width:g} m: both must be above 0")
    return length * width / (2 * (length + width))


def nusselt_up(rayleigh: float) -> float:
    """Loss of a hot face that looks up, or a cold one that looks down, over still air's, [-].

    rayleigh: Grashof times Prandtl on plate_size, [-], 0 to 1e11

    0.54 Ra^(1/4) from 1e4 to 1e7, 0.15 Ra^(1/3) above [1]; the step between them is 6 %. Under 1e4
    the first is carried on (own): what was measured there is some 10 % more, from memory, to be
    checked, so a small or barely warm board is reckoned to lose too little. Measured points
    scatter 10 to 20 % about the laws, other laws up to 40 % near 1e7, and a draught undoes them.
    Raises RangeError outside the range.

    [1] W. H. McAdams, Heat Transmission, 3rd ed., 1954, chapter 7; also Incropera and DeWitt eq.
    9.30 and 9.31; from memory, to be checked.

    >>> nusselt_up(rayleigh=5.54 * 3.21e8)
    181.73
    """
    _check_rayleigh(rayleigh, 1e11)
    law: float = 0.54 * rayleigh**0.25 if rayleigh < _TURBULENT else 0.15 * rayleigh ** (1 / 3)
    return law


def nusselt_down(rayleigh: float) -> float:
    """Loss of a hot face that looks down, or a cold one that looks up, over still air's, [-].

    rayleigh: as in nusselt_up, [-], 0 to 1e10

    0.27 Ra^(1/4) from 1e5 [1], carried on under it (own). Raises RangeError outside the range.

    [1] as nusselt_up; Incropera and DeWitt eq. 9.32; from memory, to be checked.

    >>> nusselt_down(rayleigh=5.54 * 3.21e8)
    55.446
    """
    _check_rayleigh(rayleigh, 1e10)
    law: float = 0.27 * rayleigh**0.25
    return law


def free_convection_up(temperature: float, air: float, size: float) -> float:
    """Film coefficient of a face that looks up into still air, [W/(m2 K)]; 0 with no difference.

    temperature, air: of the face and of the air, [K]      size: plate_size, [m]

    nusselt_up k / L with air_at the mean of the two; nusselt_down where the face is the colder.
    Errs as they do, and reckons for the sea: at 1600 m it is 9 % less. Raises RangeError outside
    their ranges and for a size that is not above 0.

    >>> free_convection_up(temperature=333.15, air=293.15, size=0.06)
    7.01
    """
    return _film(temperature, air, size, hot_side=temperature >= air)


def free_convection_down(temperature: float, air: float, size: float) -> float:
    """Film coefficient of a face that looks down into still air, [W/(m2 K)].

    temperature, air, size: as in free_convection_up, with the two laws changed about

    Raises RangeError as that does.

    >>> free_convection_down(temperature=333.15, air=293.15, size=0.06)
    3.51
    """
    return _film(temperature, air, size, hot_side=temperature < air)


def lumped_ratio(
    film: float, seconds: float, density: float, heat_capacity: float, depth: float
) -> float:
    """Share of its first excess over the air that a thin board still has, [-].

    film: film coefficient, [W/(m2 K)]      seconds: since it was let go, [s]
    density: [kg/m3]      heat_capacity: [J/(kg K)]
    depth: volume over cooled area, [m]; half the thickness where both faces cool

    exp(-h t / (rho c L)) [1], one temperature all through: for h depth / conductivity under 0.1,
    that is veneer. A thicker board's face is colder than this and its middle warmer. Raises
    RangeError for a board that is not above 0, a negative film or time.

    [1] Incropera and DeWitt, eq. 5.6; from memory, to be checked.

    >>> lumped_ratio(film=10, seconds=120, density=680.4, heat_capacity=1600, depth=0.002)
    0.5763
    """
    if min(density, heat_capacity, depth) <= 0 or min(film, seconds) < 0:
        raise RangeError(
            f"no cooling of {density:g} kg/m3, {heat_capacity:g} J/(kg K), {depth:g} m with "
            f"{film:g} W/(m2 K) for {seconds:g} s; a board above 0, the rest 0 or more"
        )
    return exp(-film * seconds / (density * heat_capacity * depth))


def _film(temperature: float, air: float, size: float, hot_side: bool) -> float:
    if not size > 0:
        raise RangeError(f"board of size {size:g} m: must be above 0")
    middle = (temperature + air) / 2
    between = air_at(middle)
    lift = GRAVITY / middle * abs(temperature - air) * size**3
    rayleigh = lift / between.kinematic_viscosity**2 * between.prandtl
    nusselt = nusselt_up(rayleigh) if hot_side else nusselt_down(rayleigh)
    return nusselt * between.conductivity / size


def _check_radiation(emissivity: float, temperature: float, surroundings: float) -> None:
    if not 0 < emissivity <= 1 or not min(temperature, surroundings) > 0:
        raise RangeError(
            f"emissivity {emissivity:g}, {temperature:g} K and {surroundings:g} K: a share from "
            "above 0 to 1, and absolute temperatures"
        )


def _check_rayleigh(rayleigh: float, most: float) -> None:
    if not 0 <= rayleigh <= most:
        raise RangeError(
            f"Rayleigh number {rayleigh:g}: the plate's law covers 0 to {most:g}; is the board's "
            "size in metres?"
        )
